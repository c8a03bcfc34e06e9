"""The ladder's own words, and what a result says of itself as a whole."""

from dataclasses import replace

import pytest

from auditor.findings import JOINING, AuditResult, Stage, concerning
from auditor.models.words import Severity
from tests.checks.kits import audited, module
from tests.reports.results import ACCEPTED, RUNS_OUT

RISK = module("TG-01", saved=False)
ADVICE = module("TG-02", gateway="none")


def test_a_module_has_joined_once_the_keys_are_agreed() -> None:
    """IEEE 802.11i-2004, 8.4.1: the key handshake comes last (from memory, unverified)."""
    assert JOINING == (Stage.DISCOVERY, Stage.ADMISSION, Stage.KEYS)


@pytest.mark.parametrize(
    ("lines", "reached"),
    [
        ("", set()),
        (ADVICE, {Severity.ADVICE}),
        (RISK, {Severity.ADVICE, Severity.RISK}),
        (ADVICE + RISK, {Severity.ADVICE, Severity.RISK}),
        (ADVICE + module("TG-01", address="10.20.0.1"), set(Severity)),
    ],
)
def test_the_gravest_finding_says_how_far_it_reaches(lines: str, reached: set[Severity]) -> None:
    result = audited(lines)
    assert {each for each in Severity if result.reaches(each)} == reached


def titled(name: str | None, term: str | None) -> AuditResult:
    return replace(audited(""), name=name, term=term)


def test_a_kit_is_called_by_its_name_and_term_or_else_by_its_file() -> None:
    assert titled("Tide gauges", "spring term").title == "Tide gauges, spring term"
    assert titled("Tide gauges", None).title == "Tide gauges"
    assert titled(None, "spring term").title == "spring term"
    assert titled(None, None).title == "kit.toml"


def test_a_module_is_told_the_numbers_of_the_kits_findings_in_their_order() -> None:
    some = replace(RUNS_OUT, concerns=(0, 2))
    everyone = replace(RUNS_OUT, concerns=range(3))
    harmless = replace(everyone, severity=Severity.ADVICE)
    accepted = replace(everyone, waived=ACCEPTED)
    of_kit = (some, harmless, everyone, accepted, some)
    assert concerning(of_kit, 3) == [(0, 2, 4), (2,), (0, 2, 4)]
