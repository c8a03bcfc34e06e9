"""The audit as a text, compared with kept texts and with what always holds."""

import re
import unicodedata
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.examples import fleet_of
from auditor.findings import NotChecked, Stage, State, Verdict
from auditor.models.places import Place
from auditor.models.words import Severity
from auditor.reports.text import SOME_OF_A_CHECK, text
from tests.reports.expected import assert_golden
from tests.reports.results import (
    ACCEPTED,
    IN_POOL,
    NOTE,
    RUNS_OUT,
    WRONG_NAME,
    ids,
    module,
    result,
    spring_term,
)

ANSI = re.compile(r"\x1b\[[0-9;]*m")
DAY = datetime(2026, 2, 1, tzinfo=UTC)


def is_visible(character: str) -> bool:
    """Say whether a terminal shows a character, and obeys nothing."""
    return unicodedata.category(character)[0] != "C" and character not in "\u2028\u2029"


def heads(report: str) -> list[str]:
    """Return the lines that begin a finding."""
    head = re.compile(r"  [a-z-]+: (fault|risk|advice) at ")
    return [line for line in report.splitlines() if head.search(line)]


def test_a_kit_with_something_of_everything() -> None:
    assert_golden("spring_term.txt", text(spring_term()))


def test_a_kit_in_colour_on_a_wide_terminal() -> None:
    assert_golden("spring_term_wide.txt", text(spring_term(), width=100, colour=True))


def test_a_kit_without_a_fault() -> None:
    assert_golden("ready.txt", text(result(*map(module, ids(1, 4)))))


def test_a_kit_without_a_plan() -> None:
    inferred = result(*map(module, ids(1, 2)), name=None, term=None, network_inferred=True)
    assert_golden("inferred.txt", text(inferred))


def test_modules_of_which_too_little_is_known() -> None:
    unknown_stages = {Stage.POWER: State.UNKNOWN, Stage.KEYS: State.UNKNOWN}
    stages = dict.fromkeys(Stage, State.CLEAR) | unknown_stages
    unknown = [
        module(id, verdict=Verdict.UNKNOWN, stages=stages, expected_indicator=None)
        for id in ids(1, 2)
    ]
    missing = NotChecked(Stage.KEYS, "[network] passphrase is not given")
    assert_golden("unknown.txt", text(result(*unknown, not_checked=(missing,))))


def test_colour_changes_nothing_but_colour() -> None:
    for width in (40, 80, 100):
        plain = text(spring_term(), width=width)
        coloured = text(spring_term(), width=width, colour=True)
        assert plain != coloured
        assert ANSI.sub("", coloured) == plain
        assert "\x1b" not in plain


def test_the_same_fault_on_29_modules_is_one_thing() -> None:
    many = [
        module(id, replace(WRONG_NAME, where=(Place("kit.csv", number, "SSID"),)))
        for number, id in enumerate(ids(1, 29), start=2)
    ]
    report = text(result(*many, module("TG-30", IN_POOL)))
    assert len(heads(report)) == 2
    assert "TG-01..TG-29 (29)  network-name-differs: fault at discovery" in report
    assert "kit.csv:2, SSID and 28 more" in report
    assert report.count("The name ends in a blank") == 1


def test_one_place_shared_by_all_is_said_once() -> None:
    report = text(result(*(module(id, WRONG_NAME) for id in ids(1, 5))))
    assert "kit.csv:5, SSID\n" in report
    assert "more" not in report


def test_messages_that_differ_stand_apart_and_side_by_side() -> None:
    other = replace(WRONG_NAME, message='"Saltmarsh-gauges" differs in letter case.')
    lesser = replace(WRONG_NAME, check="band-unsupported", message="It has no such band.")
    report = text(result(module("TG-01", WRONG_NAME, lesser), module("TG-02", other)))
    assert [re.split(r"[ :]+", head)[1] for head in heads(report)] == [
        "network-name-differs",
        "network-name-differs",
        "band-unsupported",
    ]


def test_faults_come_before_risks_and_the_ladder_orders_the_rest() -> None:
    low = replace(IN_POOL, stage=Stage.POWER, check="regulator-heat")
    fault = replace(WRONG_NAME, stage=Stage.MESSAGE, check="talker-missing")
    shortage = replace(RUNS_OUT, concerns=(0,))
    report = text(result(module("TG-01", IN_POOL, low, WRONG_NAME, fault), kit=(NOTE, shortage)))
    assert [re.split(r"  +|:", head)[1] for head in heads(report)] == [
        "network-name-differs",
        "talker-missing",
        "regulator-heat",
        "pool-runs-out",
        "static-address-in-pool",
        "waiver-unused",
    ]


def test_a_finding_of_the_kit_names_whom_it_concerns() -> None:
    report = text(result(*map(module, ids(1, 5)), kit=(RUNS_OUT,)))
    assert "the kit  pool-runs-out: risk at address" in report
    assert "This concerns TG-01..TG-03." in report
    assert report.splitlines()[2] == (
        "Group B runs out of addresses on Monday, 2026-03-02, at 13:02."
    )


def test_what_shows_later_says_where() -> None:
    late = replace(WRONG_NAME, shows_at=Stage.DELIVERY)
    assert "fault at discovery, shows at delivery" in text(result(module("TG-01", late)))
    assert "shows at" not in text(result(module("TG-01", WRONG_NAME))).partition("1 fault")[2]


def test_what_was_accepted_is_listed_and_not_counted() -> None:
    report = text(result(module("TG-01", replace(WRONG_NAME, waived=ACCEPTED))))
    assert heads(report) == []
    assert "Nothing found" not in report
    assert report.endswith(
        "accepted on purpose:\n"
        "  TG-01  network-name-differs: the old hut has no better receiver (until\n"
        "    2026-06-30)\n"
    )


def test_names_of_any_input_are_escaped() -> None:
    nasty = "TG\x1b[2J\u202e\n1"
    finding = replace(
        WRONG_NAME,
        message=f'"{nasty}" is wrong.',
        remedy=f"{nasty}",
        where=(Place(f"{nasty}.csv", 1, nasty),),
        waived=None,
    )
    report = text(
        result(module(nasty, finding), module(f"{nasty}2"), name=nasty, network_name=nasty)
    )
    assert all(character == "\n" or is_visible(character) for character in report)
    assert r"TG\x1b[2J\u202e\n1" in report


def test_a_long_list_of_findings_is_a_count() -> None:
    many = [replace(WRONG_NAME, check=f"a-rather-long-name-{letter}") for letter in "abcd"]
    row = text(result(module("TG-01", *many, IN_POOL))).splitlines()[4]
    assert row.endswith("4 faults, 1 risk")


def test_the_gravest_finding_of_a_module_is_named_first() -> None:
    row = text(result(module("TG-01", IN_POOL, WRONG_NAME))).splitlines()[3:]
    names = " ".join(" ".join(row[1:3]).split())
    assert names.index(WRONG_NAME.check) < names.index(IN_POOL.check)


def test_that_passphrases_were_not_read_is_said_beside_the_verdicts() -> None:
    kit = result(module("TG-01"))
    said = "Passphrases were not read: a wrong one is not found here."
    assert said not in text(kit)
    assert text(replace(kit, without_secrets=True)).splitlines()[2] == said


def test_nothing_found_is_not_said_of_what_was_not_checked() -> None:
    kit = result(module("TG-01"))
    unchecked = replace(kit, not_checked=(NotChecked(Stage.KEYS, "[network] passphrase"),))
    assert text(kit).endswith("Nothing found.\n")
    assert text(unchecked).endswith("Nothing found, as far as it was checked.\n")


def test_the_ready_are_one_line() -> None:
    report = text(result(*map(module, [*ids(1, 3), *ids(5, 6), "spare"])))
    assert "ready: TG-01..TG-03, TG-05, TG-06, spare (6)\n" in report


@pytest.mark.parametrize("id", CHECKS)
def test_no_line_is_longer_than_80_characters(id: str) -> None:
    report = text(audit(fleet_of(CHECKS[id].example), DAY))
    assert max(map(len, report.splitlines())) <= 80
    assert f"  {id}: " in report


@given(
    names=st.lists(st.text(max_size=60), min_size=1, max_size=4),
    message=st.text(max_size=300),
    width=st.integers(40, 120),
)
def test_no_line_is_longer_than_the_width(names: list[str], message: str, width: int) -> None:
    finding = replace(
        WRONG_NAME, message=message, severity=Severity.FAULT, where=(Place(message, 1, message),)
    )
    report = text(result(*(module(name, finding) for name in names), name=message), width=width)
    below_table = report.split("\n\n")[2:]
    assert all(len(line) <= width for part in below_table for line in part.splitlines())
    assert all(character == "\n" or is_visible(character) for character in report)


def test_in_a_large_kit_modules_that_stand_alike_share_a_row_wherever_they_are() -> None:
    modules = [module(id, *[WRONG_NAME] * (number % 2)) for number, id in enumerate(ids(1, 1000))]
    report = text(result(*modules))
    rows = report.partition("ready: ")[0]
    assert rows.count("blocked  discovery") == 1
    assert "TG-02, TG-04" in rows
    assert "497 more (500)" in " ".join(rows.split())
    assert "ready: TG-01, TG-03, " in report
    assert "460 more (500)" in " ".join(report.split())
    assert report.count("\n") < 60


def test_of_very_many_findings_some_of_each_check_are_shown_and_the_rest_is_counted() -> None:
    modules = [module(id, replace(WRONG_NAME, message=f"{id} differs.")) for id in ids(1, 400)]
    report = text(result(*modules, module("TG-999", IN_POOL)))
    assert report.count("network-name-differs: fault") == SOME_OF_A_CHECK
    assert report.count("static-address-in-pool: risk") == 1
    assert f"more of the same: {400 - SOME_OF_A_CHECK} network-name-differs;" in report
    assert "400 faults, 1 risk" in report
