"""What was seen of the observed clients leads back to the fault that each of them had.

Source of every expectation: observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90,
November 2026.
"""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from auditor.audit import audit
from auditor.reading.fleet import read_fleet
from auditor.tasks.diagnosis.diagnosis import diagnosis
from tests.observed.fleets import cases, write_fleet

STOPPED = [
    (case["id"], client)
    for case in cases().values()
    for client in case["clients"]
    if client["stops_at"] is not None
]


def seen_of(client: dict[str, Any]) -> dict[str, str]:
    """Return what somebody would have read in the lists and logs about a client."""
    stages, settings = client["stages"], client["settings"]
    associated = bool(stages["authenticated_associated"])
    seen = {"associated": "yes" if associated else "no"}
    if stages["network_found"] and not associated:
        seen["handshake"] = "refused"
    if stages["keys_agreed"] is False:
        seen["handshake"] = "failed"
    if settings.get("addressing") == "pooled" and associated:
        seen["lease"] = "given" if stages["address_acquired"] else "none"
    if stages["address_acquired"] is False:
        seen["ping"] = "no"
    return seen


@pytest.mark.parametrize(
    ("case_id", "client"), STOPPED, ids=[f"{id}/{each['settings']['name']}" for id, each in STOPPED]
)
def test_what_is_seen_does_not_speak_against_the_fault(
    case_id: str, client: dict[str, Any], tmp_path: Path
) -> None:
    """The likeliest cause is one of the file, and predicts all that was observed."""
    file = read_fleet(str(write_fleet(cases()[case_id], client, tmp_path)), environment={})
    index = list(file.entries.ids).index(client["settings"]["name"])
    found = diagnosis(file, audit(file, datetime(2026, 3, 1)), index, seen_of(client))
    assert found.causes[0].found_at is not None
    assert found.causes[0].opposing == ()
    assert found.contradiction is None
