"""Laws of the comparison: itself, the other way round, one key, the order of rows, and secrets."""

from collections import Counter
from copy import deepcopy
from datetime import datetime
from functools import partial
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.findings import ModuleResult, Stage
from auditor.models.fleet_file import FleetFile
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from auditor.reading.problems import UnusableError
from auditor.reports import comparison as reports
from auditor.reports.redaction import redacted
from auditor.tasks.comparison import Comparison, State, comparison
from tests.properties.test_random_kits import KITS
from tests.properties.wild import ADDRESS, CANARY, DOCUMENTS, ENVIRONMENT, MODULE_KEYS, text_of

Document = dict[str, Any]

some = settings(
    max_examples=int(KITS or "20"), deadline=None, suppress_health_check=list(HealthCheck)
)
audited = partial(audit, checked_at=datetime(2026, 3, 1))
BESIDES = ("holder", "note", "hardware_address", "passphrase", "addressing", "address")
SETTINGS = {key: MODULE_KEYS[key] for key in MODULE_KEYS if key not in BESIDES}
ONE_KEY = st.sampled_from([key for key in SETTINGS if key not in ("controller", "supply")])


def _with_own_addresses(document: Document, known: list[bool]) -> Document:
    """Return a document in which no two radios have one hardware address, and some have none."""
    document.get("defaults", {}).pop("hardware_address", None)
    for number, (module, is_known) in enumerate(zip(document["module"], known, strict=False)):
        module.pop("hardware_address", None)
        module.update({"hardware_address": f"02:00:5e:00:53:0{number}"} if is_known else {})
    return document


KITS_OF_RADIOS = st.builds(
    _with_own_addresses, DOCUMENTS, st.lists(st.booleans(), min_size=5, max_size=5)
)


def _file(document: Document) -> FleetFile:
    return fleet_of_text(text_of(document), "kit.toml", ENVIRONMENT)


def compared(planned: Document, found: Document) -> Comparison:
    """Return the comparison of two documents; there is none where a radio stands twice."""
    try:
        return comparison(_file(planned), _file(found), audited)
    except UnusableError:
        assume(False)
        raise


def in_brief(result: Comparison) -> Counter[tuple[object, ...]]:
    """Return what is said of each module, in whatever order."""
    return Counter((m.id, m.hardware_address, m.state, m.changes) for m in result.modules)


def those(result: Comparison, state: State) -> Counter[tuple[object, ...]]:
    """Return the modules of a state by what they are known by."""
    return Counter((m.id, m.hardware_address) for m in result.modules if m.state is state)


@some
@given(KITS_OF_RADIOS)
def test_a_kit_beside_itself_is_all_the_same(document: Document) -> None:
    result = compared(document, document)
    assert {module.state for module in result.modules} == {State.SAME}
    assert not result.differs


@some
@given(KITS_OF_RADIOS, KITS_OF_RADIOS)
def test_what_is_missing_is_extra_the_other_way_round(one: Document, other: Document) -> None:
    there, back = compared(one, other), compared(other, one)
    assert those(there, State.MISSING) == those(back, State.EXTRA)
    assert those(there, State.EXTRA) == those(back, State.MISSING)
    assert there.matched == back.matched


@some
@given(KITS_OF_RADIOS, KITS_OF_RADIOS, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(
    planned: Document, found: Document, random: Any
) -> None:
    shuffled = [{**each, "module": list(each["module"])} for each in (planned, found)]
    for document in shuffled:
        random.shuffle(document["module"])
    assert in_brief(compared(planned, found)) == in_brief(compared(*shuffled))


def _stops(module: ModuleResult) -> dict[str, Stage]:
    faults = (f for f in module.findings if f.counts and f.severity is Severity.FAULT)
    return {finding.check: finding.stage for finding in faults}


@some
@given(KITS_OF_RADIOS, ONE_KEY, st.data())
def test_one_key_that_changed_is_named_with_what_a_kit_of_it_stops_at(
    planned: Document, key: str, data: st.DataObject
) -> None:
    value, other = data.draw(SETTINGS[key]), data.draw(SETTINGS[key])
    assume(value != other)
    _only_this_is_named(planned, key, value, other)


@some
@given(KITS_OF_RADIOS, ADDRESS, ADDRESS)
def test_an_address_that_changed_is_named_with_what_a_kit_of_it_stops_at(
    planned: Document, value: str, other: str
) -> None:
    assume(value != other)
    planned["module"][0]["addressing"] = "static"
    _only_this_is_named(planned, "address", value, other)


def _only_this_is_named(planned: Document, key: str, value: Any, other: Any) -> None:
    """Set a key of the first module to a value, and in what was found to another."""
    planned["module"][0][key] = value
    found = deepcopy(planned)
    found["module"][0][key] = other
    first, *others = compared(planned, found).modules
    assert {module.state for module in others} <= {State.SAME}
    (change,) = first.changes
    assert (first.state, change.key) == (State.DRIFTED, key)
    old, new = (_stops(audited(_file(each)).modules[0]) for each in (planned, found))
    stages = [new[check] for check in new.keys() - old.keys()]
    assert change.breaks == min(stages, key=lambda stage: stage.step, default=None)


@some
@given(KITS_OF_RADIOS, KITS_OF_RADIOS)
def test_no_report_holds_a_passphrase(planned: Document, found: Document) -> None:
    planned["module"][0]["passphrase"] = {"env": "CANARY"}
    found["module"][-1]["passphrase"] = {"psk": "c0ffee" * 10 + "beef"}
    secrets = [secret for each in (planned, found) for secret in _file(each).secrets]
    result = redacted(compared(planned, found), secrets)
    for report in (reports.text(result), reports.as_json(result)):
        assert CANARY not in report
        assert "c0ffeec0ffee" not in report
