"""Modules that stand alike as one, and places on the page whatever an id holds."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.findings import Verdict
from auditor.reports.page import alike
from auditor.reports.page.alike import anchors, kinds
from tests.reports.results import IN_POOL, NOTE, RUNS_OUT, WRONG_NAME, ids, module, result


@given(st.lists(st.text(), max_size=20))
def test_places_are_safe_and_unique(given_ids: list[str]) -> None:
    places = anchors(given_ids)
    assert len(set(places)) == len(given_ids)
    assert all(re.fullmatch(r"[a-z]+-[A-Za-z0-9_-]+", place) for place in places)


def test_a_plain_id_is_its_own_place_and_a_repeated_one_is_not() -> None:
    assert anchors(["TG-01", "a b", "x", "x"]) == ["module-TG-01", "entry-2", "entry-3", "entry-4"]


def test_three_that_stand_alike_are_one_and_two_are_two() -> None:
    three = kinds(result(*(module(id, WRONG_NAME) for id in ids(1, 3)))).shown
    two = kinds(result(*(module(id, WRONG_NAME) for id in ids(1, 2)))).shown
    assert [kind.label for kind in three] == ["TG-01..TG-03"]
    assert [kind.label for kind in two] == ["TG-01", "TG-02"]


def test_the_gravest_come_first_by_how_early_they_stop() -> None:
    late = replace(WRONG_NAME, check="late", stage=IN_POOL.stage)
    shown = kinds(
        result(
            module("ready"),
            module("risky", IN_POOL),
            module("late", late),
            module("early", WRONG_NAME),
        )
    ).shown
    assert [kind.label for kind in shown] == ["early", "late", "risky", "ready"]


def test_who_is_concerned_by_a_finding_of_the_kit_stands_apart() -> None:
    """RUNS_OUT concerns the first three; advice concerns nobody's verdict."""
    every = [module(id, verdict=Verdict.AT_RISK) for id in ids(1, 6)]
    note = replace(NOTE, concerns=tuple(range(6)))
    first, second = kinds(result(*every, kit=(note, RUNS_OUT))).shown
    assert (first.label, first.shared) == ("TG-01..TG-03", (1,))
    assert (second.label, second.shared) == ("TG-04..TG-06", ())


def test_members_are_named_up_to_a_number() -> None:
    few, many = (
        kinds(result(*(module(id) for id in ids(1, number)))).shown[0]
        for number in (alike.MOST_NAMED, alike.MOST_NAMED + 1)
    )
    assert [member.anchor for member in few.members][:2] == ["module-TG-01", "module-TG-02"]
    assert many.members == ()
    assert many.label == "TG-01..TG-101"


def test_a_short_label_says_how_many_it_leaves_out() -> None:
    odd = kinds(result(*(module(f"TG-{n}") for n in range(1, 100, 2)))).shown[0]
    assert odd.short_label == "TG-1, TG-3, TG-5, TG-7, TG-9 and 45 more"
    assert len(odd.label) > alike.LONGEST_LABEL


def test_all_ids_can_be_searched_for() -> None:
    (kind,) = kinds(result(*(module(f"TG-{n}", WRONG_NAME) for n in range(1, 100, 2)))).shown
    words = kind.searched.split()
    assert {"tg-99", "network-name-differs", "blocked"} <= set(words)


@pytest.mark.parametrize("verdict", [Verdict.BLOCKED, Verdict.READY])
def test_of_very_many_kinds_the_first_are_shown(verdict: Verdict) -> None:
    most = alike.MOST_READY_KINDS if verdict is Verdict.READY else alike.MOST_KINDS
    odd = (module(id, verdict=verdict, expected_indicator=id) for id in ids(1, most + 2))
    found = kinds(result(*odd))
    assert len(found.shown) == most
    assert len(found.left) == 2


def test_ten_thousand_ready_modules_are_one() -> None:
    found = kinds(result(*(module(id) for id in ids(1, 10_000)), module("odd", WRONG_NAME)))
    assert [kind.label for kind in found.shown] == ["odd", "TG-01..TG-10000"]
    assert found.left == ()
