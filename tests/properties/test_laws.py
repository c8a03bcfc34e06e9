"""Laws of the whole: order, strangers, odd values and secrets, on fleets of any kind."""

from collections import Counter
from datetime import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.examples import ENVIRONMENT as EXAMPLE_ENVIRONMENT
from auditor.examples import spoiled_text
from auditor.findings import AuditResult, Finding, ModuleResult, Stage, State, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from auditor.reports.as_json import as_json
from auditor.reports.findings_csv import findings_csv
from auditor.reports.redaction import redacted
from auditor.reports.text import text
from tests.properties.wild import CANARY, DOCUMENTS, ENVIRONMENT, text_of

TODAY = datetime(2026, 3, 1)
STRANGER = """
[[module]]
id = "TG-99"
hardware_address = "00:00:5e:00:53:99"
address = "10.20.0.240"
"""


def audited(document: dict[str, Any]) -> AuditResult:
    """Return the audit of a document."""
    return audit(fleet_of_text(text_of(document), "kit.toml", ENVIRONMENT), TODAY)


def in_brief(findings: tuple[Finding, ...]) -> Counter[tuple[object, ...]]:
    """Return what was found, in whatever order."""
    return Counter((f.check, f.stage, f.severity, f.shows_at, bool(f.waived)) for f in findings)


def standing(module: ModuleResult) -> tuple[object, ...]:
    """Return how a module stands, and what was found on it."""
    return module.verdict, module.stops_at, dict(module.stages), in_brief(module.findings)


@given(DOCUMENTS)
def test_no_check_breaks_and_every_finding_is_whole(document: dict[str, Any]) -> None:
    for finding in audited(document).findings:
        assert finding.message.endswith((".", "?"))
        assert finding.remedy.endswith(".")
        assert " None" not in finding.message + finding.remedy
        assert finding.where


@given(DOCUMENTS)
def test_a_verdict_follows_from_the_states_of_the_stages(document: dict[str, Any]) -> None:
    for module in audited(document).modules:
        states = module.stages.values()
        assert (module.verdict is Verdict.BLOCKED) == (State.BLOCKED in states)
        if module.verdict is Verdict.READY:
            assert State.AT_RISK not in states
        blocked = [stage for stage in Stage if module.stages[stage] is State.BLOCKED]
        assert module.stops_at == (blocked[0] if blocked else None)
        faults = {f.stage for f in module.findings if f.counts and f.severity is Severity.FAULT}
        assert set(blocked) == faults


@given(DOCUMENTS, st.randoms(use_true_random=False))
def test_the_order_of_the_modules_changes_nothing(document: dict[str, Any], random: Any) -> None:
    shuffled = list(document["module"])
    random.shuffle(shuffled)
    before, after = audited(document), audited({**document, "module": shuffled})
    assert {m.id: standing(m) for m in after.modules} == {m.id: standing(m) for m in before.modules}
    assert in_brief(after.kit_findings) == in_brief(before.kit_findings)


@pytest.mark.parametrize("id", [id for id in CHECKS if not CHECKS[id].example.startswith("id,")])
def test_a_stranger_changes_no_other_module(id: str) -> None:
    """The clean kit has room to spare; one static module more, in nobody's way."""
    spoiled = spoiled_text(CHECKS[id].example)
    kits = (spoiled, spoiled + STRANGER)
    files = (fleet_of_text(kit, "kit.toml", EXAMPLE_ENVIRONMENT) for kit in kits)
    old, new = (audit(file, TODAY).modules for file in files)
    assert [standing(module) for module in new[: len(old)]] == [standing(m) for m in old]
    assert len(new) == len(old) + 1


@given(DOCUMENTS)
def test_no_report_holds_a_passphrase(document: dict[str, Any]) -> None:
    file = fleet_of_text(text_of(document), "kit.toml", ENVIRONMENT)
    result = redacted(audit(file, TODAY), file.secrets)
    is_secret = any(secret == CANARY for secret in _secrets(document))
    for report in (text(result), "".join(as_json(result)), findings_csv(result)):
        assert report
        assert not is_secret or CANARY not in report
        assert "c0ffeec0ffee" not in report


def _secrets(document: dict[str, Any]) -> list[object]:
    """Return the passphrases that a document holds or refers to."""
    network = document.get("network", {})
    tables = [network, document.get("defaults", {}), *document["module"]]
    written = [*network.get("retired_passphrases", ()), *(t.get("passphrase") for t in tables)]
    return [CANARY if secret == {"env": "CANARY"} else secret for secret in written]
