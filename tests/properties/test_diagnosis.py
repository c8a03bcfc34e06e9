"""For each fault that stops a module: the file is right, the board is not, and the stage is found.

A student sees what the ladder says of the stage at which such a board stops. What is seen is
written here from the table of the climb and the traps of the trade, not from the code.
"""

import os
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.findings import Finding, Stage
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from auditor.tasks.diagnosis.diagnosis import Diagnosis, diagnosis
from tests.kits.clean import clean_kits
from tests.kits.faults import FAULTS
from tests.kits.faults.planting import Fault
from tests.kits.kit import TODAY, Kit

few_kits = settings(
    max_examples=int(os.environ.get("RANDOM_KITS", "2000")) // 1000 or 1,
    deadline=None,
    derandomize="RANDOM_KITS" not in os.environ,
    phases=(Phase.explicit, Phase.generate),  # a kit is too large to shrink in a sensible time
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)

AS_IT_SHOULD_BE = {
    "others-work": "yes",
    "program": "runs",
    "label": "right",
    "network": "strong",
    "restart": "same",
    "wiring": "right",
    "supply-voltage": "ok",
}
"""What is seen around a board that alone does not work."""
SEARCHES = {"associated": "no", "ping": "no", "bytes": "none", "sent": "none"}
JOINS = {"associated": "yes", "handshake": "fine"}
ARRIVES = {**JOINS, "ping": "yes", "datagram": "arrives"}
CLIMB: dict[Stage, dict[str, str]] = {
    Stage.POWER: {**SEARCHES, "handshake": "absent"},
    Stage.DISCOVERY: {**SEARCHES, "handshake": "absent"},
    Stage.ADMISSION: {**SEARCHES, "handshake": "refused"},
    Stage.KEYS: {**SEARCHES, "handshake": "failed"},
    Stage.ADDRESS: {**JOINS, "ping": "no", "datagram": "lost", "bytes": "none", "sent": "none"},
    Stage.DELIVERY: {**JOINS, "ping": "yes"},
    Stage.SERIAL: ARRIVES,
    Stage.MESSAGE: {**ARRIVES, "bytes": "whole", "sent": "whole"},
}
"""What one sees while a board cannot pass a stage: the table of the climb in the README."""

TO_NOBODY = {"datagram": "arrives", "bytes": "whole", "sent": "none"}
GARBLED = {"bytes": "garbled", "sent": "garbled"}
BY_TRAP: dict[str, dict[str, str]] = {
    "burst-current-short": {"indicator": "restarting", "supply-voltage": "ok"},
    "regulator-dropout": {"supply-voltage": "low"},
    "capacitor-reversed": {"supply-voltage": "low", "wiring": "wrong"},
    "serial-pair-not-crossed": {"wiring": "wrong", "bytes": "none", "sent": "none"},
    "no-common-ground": {"wiring": "wrong", **GARBLED},
    "logic-level-mismatch": {"wiring": "wrong", **GARBLED},
    "intent-differs": TO_NOBODY,
    "destination-is-self": TO_NOBODY,
    "destination-unreachable": TO_NOBODY,
    "destination-unassigned": TO_NOBODY,
    "broadcast-address-mismatch": TO_NOBODY,
    "broadcast-leaves-subnet": TO_NOBODY,
    "broadcast-needs-datagrams": TO_NOBODY,
    "serial-rate-differs": {**GARBLED, "datagram": "garbled"},
    "frame-differs": {**GARBLED, "datagram": "garbled"},
    "divisor-not-loadable": GARBLED,
    "controller-rate-error": GARBLED,
    "rate-out-of-reach": GARBLED,
    "reads-too-far-apart": {"bytes": "some-missing", "sent": "whole"},
    "receiver-off": {"bytes": "none", "sent": "whole"},
    "transmitter-off": {"bytes": "whole", "sent": "none"},
}
"""What is seen otherwise of some faults: common practice, no source."""
OF_ADDRESS = (Stage.ADDRESS, Stage.KEYS)
"""What is wrong at these and shows at delivery answers no ping: a wrong subnet, a WEP key."""
STOPPING = [f for f in FAULTS if f.stage != "record" and f.severity in ("fault", None)]
"""A fault of the record is one of the file; nothing is seen of it at the board."""


def seen_of(finding: Finding, kit: Kit, clean: Kit, index: int) -> dict[str, str]:
    """Return what a student sees of a board that has a planted fault."""
    seen = {
        **AS_IT_SHOULD_BE,
        **CLIMB[finding.shows_at],
        **_traces_of_delivery(finding, kit, index),
        **BY_TRAP.get(finding.check, {}),
        **_where(kit.modules[index], clean.modules[index]),
    }
    if "indicator" not in seen:
        seen["indicator"] = _indicator(finding.shows_at, kit, index)
    if finding.check == "supply-voltage-out-of-range":
        volts = float(finding.figures["output_voltage_v"])  # type: ignore[arg-type]
        seen["supply-voltage"] = "low" if volts < 3 else "high"
    for name, those in (("bytes", kit.facts.hearers), ("sent", kit.facts.senders)):
        if index not in those:
            seen.pop(name, None)
    return seen


def _traces_of_delivery(finding: Finding, kit: Kit, index: int) -> dict[str, str]:
    """Return what is seen where something is associated and not everything arrives."""
    if finding.shows_at is not Stage.DELIVERY:
        return {}
    if finding.check.startswith("gateway"):
        return {**TO_NOBODY, "far-ping": "no"}
    if finding.stage in OF_ADDRESS:
        is_limited = kit.plan("traffic", "destination") == "255.255.255.255"
        return {"ping": "no", "datagram": "lost", "bytes": "whole" if is_limited else "none"}
    own = kit.modules[index]
    if finding.check == "port-mismatch" and own.get("listen_port") == kit.plan("traffic", "port"):
        return TO_NOBODY
    return {"datagram": "lost", "bytes": "none", "sent": "none"}


def _where(planted: dict[str, Any], clean: dict[str, Any]) -> dict[str, str]:
    """Return what tells whether a fault is one of the settings, or of the bench around it."""
    changed = {key for key in planted.keys() | clean.keys() if planted.get(key) != clean.get(key)}
    if changed & {"supply", "controller"}:
        return {"swap": "fails", "settings": "as-in-file"}
    if changed:
        return {"swap": "works", "settings": "one-differs"}
    return {"swap": "works", "settings": "as-in-file"}


def _indicator(shows_at: Stage, kit: Kit, index: int) -> str:
    looks = (kit.profile(index) or {}).get("indicator", {})
    state = "joined"
    if shows_at.step <= Stage.KEYS.step:
        state = "unpowered" if shows_at is Stage.POWER else "searching"
    look = looks.get(state, "dark" if state == "unpowered" else "steady")
    return str(look["state"] if isinstance(look, dict) else look)


def diagnosed(kit: Kit, index: int, seen: dict[str, str]) -> Diagnosis:
    """Return the diagnosis of a module of a kit."""
    file = fleet_of_text(kit.text, "kit.toml", kit.environment)
    return diagnosis(file, audit(file, TODAY), index, seen)


@few_kits
@pytest.mark.parametrize("chosen", STOPPING, ids=lambda chosen: chosen.plant.__name__.strip("_"))
@given(data=st.data())
def test_the_stage_of_a_fault_that_no_file_shows_is_found(chosen: Fault, data: Any) -> None:
    kit = data.draw(clean_kits())
    places = chosen.places(kit)
    assume(places)
    clean, index = kit.copied(), data.draw(st.sampled_from(places))
    chosen.planted(data.draw, kit, index)
    for finding in _faults(chosen.check, kit, index):
        seen = seen_of(finding, kit, clean, index)
        found = diagnosed(clean, index, seen)
        assert found.causes[0].stage is finding.stage, (seen, found.causes[:3])


def _faults(check: str, kit: Kit, index: int) -> list[Finding]:
    """Return the fault that a check finds on a module, if it finds one: not a risk or advice.

    A wrong gateway is harmless inside the subnet: observed on the Linux 6.1 IPv4 stack, November
    2026.
    """
    if check.startswith("gateway") and not (kit.facts.is_beyond and index in kit.facts.senders):
        return []
    found = kit.audited().modules[index].findings
    return [f for f in found if f.check == check and f.severity is Severity.FAULT][:1]
