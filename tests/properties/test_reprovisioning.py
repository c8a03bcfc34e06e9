"""Laws of reprovisioning: never two on one address, and as planned at the end."""

import json
from collections import Counter
from copy import deepcopy
from datetime import datetime
from functools import partial
from itertools import combinations, pairwise
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.models.fleet_file import FleetFile
from auditor.reading.fleet import fleet_of_text
from auditor.reading.problems import UnusableError
from auditor.reports import reprovisioning as reports
from auditor.reports.redaction import redacted
from auditor.tasks.reprovisioning import Kind, Reprovisioning, reprovisioning
from tests.properties.test_comparison import KITS_OF_RADIOS
from tests.properties.test_random_kits import KITS
from tests.properties.wild import CANARY, ENVIRONMENT, text_of

Document = dict[str, Any]
Addresses = dict[str, str | None]

some = settings(
    max_examples=int(KITS or "20"), deadline=None, suppress_health_check=list(HealthCheck)
)
audited = partial(audit, checked_at=datetime(2026, 3, 1))
HOSTS = {"the gateway": "10.20.0.1", "logger": "10.20.0.10"}
PLAN = {
    "kit": {"format": 1},
    "network": {
        "name": "saltmarsh-gauges",
        "security": "open",
        "ipv4": {
            "subnet": "10.20.0.0/24",
            "gateway": HOSTS["the gateway"],
            "pool": {"first": "10.20.0.40", "last": "10.20.0.99"},
        },
        "host": [{"name": "logger", "address": HOSTS["logger"]}],
    },
    "serial": {"rate": 9600},
}
IDS = tuple(f"TG-0{n}" for n in range(1, 7))
PLACES = st.sampled_from([f"10.20.0.{last}" for last in (10, 31, 32, 33, 34, 35, 36, 50)])
RATES = st.sampled_from([4800, 9600, 19200])
OVER = st.booleans()


def _modules(ids: tuple[str, ...]) -> st.SearchStrategy[list[dict[str, Any]]]:
    """Return some of the modules, each at an address, or without one."""
    settings_of_one = st.fixed_dictionaries(
        {"serial_rate": RATES},
        optional={
            "address": PLACES,
            "listen_port": st.sampled_from([4010, 4011]),
            "network_name": st.sampled_from(["saltmarsh-gauges", "mudflat-gauges"]),
            "saved": st.booleans(),
        },
    )
    module = st.builds(lambda id, more: {"id": id, **more}, st.sampled_from(ids), settings_of_one)
    return st.lists(module, min_size=1, max_size=len(ids), unique_by=lambda each: str(each["id"]))


PLANNED = _modules(IDS[:5])
FOUND = _modules(IDS)
ALL_MOVED = st.permutations(["10.20.0.31", "10.20.0.32", "10.20.0.33", "10.20.0.34"])


def file_of(modules: list[dict[str, Any]]) -> FleetFile:
    """Return a planned kit of some modules."""
    return fleet_of_text(text_of({**deepcopy(PLAN), "module": modules}), "kit.toml", ENVIRONMENT)


def found_of(modules: list[dict[str, Any]]) -> FleetFile:
    """Return what was read out of some modules."""
    document = {"kit": {"format": 1}, "module": modules}
    return fleet_of_text(text_of(document), "found.toml", ENVIRONMENT)


def todo(
    planned: list[dict[str, Any]], found: list[dict[str, Any]], *, over_network: bool
) -> Reprovisioning:
    return reprovisioning(file_of(planned), found_of(found), audited, over_network=over_network)


def course(found: list[dict[str, Any]], result: Reprovisioning) -> list[Addresses]:
    """Return who is at which address before the first step and after each."""
    now: Addresses = {each["id"]: each.get("address") for each in found}
    states = [dict(now)]
    for step in result.steps:
        if step.kind is not Kind.READ_BACK and "address" in step.changes:
            now[step.id] = str(step.changes["address"])
        states.append(dict(now))
    return states


def crowds(addresses: Addresses) -> set[tuple[str, str]]:
    """Return the pairs that are at one address."""
    there = {**HOSTS, **{id: address for id, address in addresses.items() if address}}
    return {pair for pair in combinations(sorted(there), 2) if there[pair[0]] == there[pair[1]]}


@some
@given(PLANNED, FOUND, OVER)
def test_at_no_step_do_two_share_an_address_that_did_not_before(
    planned: list[dict[str, Any]], found: list[dict[str, Any]], over_network: bool
) -> None:
    states = course(found, todo(planned, found, over_network=over_network))
    assert all(crowds(after) <= crowds(before) for before, after in pairwise(states))


@some
@given(PLANNED, FOUND, OVER)
def test_in_the_end_whoever_was_not_refused_is_as_planned(
    planned: list[dict[str, Any]], found: list[dict[str, Any]], over_network: bool
) -> None:
    result = todo(planned, found, over_network=over_network)
    after = {each["id"]: dict(each) for each in found}
    for step in result.steps:
        if step.kind is Kind.SET:
            after[step.id].update(step.changes)
        elif step.kind is Kind.READ_BACK:
            assert step.changes.items() <= after[step.id].items()
    refused = {each.id for each in result.refused}
    rest = todo(planned, list(after.values()), over_network=over_network)
    assert {step.id for step in rest.steps} <= refused
    assert {each.id for each in rest.refused} <= refused
    read_back = Counter(step.id for step in result.steps if step.kind is Kind.READ_BACK)
    assert read_back == Counter({step.id for step in result.steps})
    assert not refused & read_back.keys()


@some
@given(ALL_MOVED, OVER)
def test_an_exchange_takes_one_parking_move_a_ring_and_refuses_nobody(
    places: list[str], over_network: bool
) -> None:
    planned = [{"id": id, "address": at} for id, at in zip(IDS, sorted(places), strict=False)]
    found = [{"id": id, "address": at} for id, at in zip(IDS, places, strict=False)]
    result = todo(planned, found, over_network=over_network)
    assert result.refused == ()
    follows = dict(zip(sorted(places), places, strict=True))
    rings = 0
    while follows:
        first = at = next(iter(follows))
        rings += follows[first] != first
        while at in follows:
            at = follows.pop(at)
    assert result.parking_moves == rings


@some
@given(PLANNED, FOUND)
def test_a_module_is_spoken_to_at_the_rate_that_it_has(
    planned: list[dict[str, Any]], found: list[dict[str, Any]]
) -> None:
    rates = {each["id"]: each["serial_rate"] for each in found}
    steps = todo(planned, found, over_network=False).steps
    switches, last = 0, None
    for step in steps:
        assert step.at_rate == rates[step.id]
        switches += last not in (None, step.at_rate)
        last = step.at_rate
        if step.kind is Kind.SET:
            rates[step.id] = step.changes.get("serial_rate", rates[step.id])
            assert "serial_rate" not in list(step.changes)[:-1]
    assert todo(planned, found, over_network=False).rate_switches == switches


@some
@given(PLANNED, FOUND, OVER, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_that_were_found_changes_nothing(
    planned: list[dict[str, Any]], found: list[dict[str, Any]], over_network: bool, random: Any
) -> None:
    before = reports.as_json(todo(planned, found, over_network=over_network))
    assert reports.as_json(todo(planned, found, over_network=over_network)) == before
    random.shuffle(found)
    assert reports.as_json(todo(planned, found, over_network=over_network)) == before


@some
@given(KITS_OF_RADIOS, KITS_OF_RADIOS, OVER)
def test_any_two_kits_give_a_list_without_a_passphrase(
    planned: Document, found: Document, over_network: bool
) -> None:
    planned["module"][0]["passphrase"] = {"env": "CANARY"}
    found["module"][-1]["passphrase"] = {"psk": "c0ffee" * 10 + "beef"}
    files = [fleet_of_text(text_of(each), "kit.toml", ENVIRONMENT) for each in (planned, found)]
    try:
        result = reprovisioning(files[0], files[1], audited, over_network=over_network)
    except UnusableError:
        assume(False)
    result = redacted(result, [secret for file in files for secret in file.secrets])
    for report in (reports.text(result), reports.as_json(result)):
        assert CANARY not in report
        assert "c0ffeec0ffee" not in report
    assert max(map(len, reports.text(result).splitlines())) <= 80
    assert len(json.loads(reports.as_json(result))["steps"]) == len(result.steps)
