"""Lines and lists as a report writes them."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.reports.layout import counted, headline, listed, wrapped


@pytest.mark.parametrize(
    ("ids", "expected"),
    [
        ([], ""),
        (["TG-01"], "TG-01"),
        (["TG-02", "TG-01"], "TG-01, TG-02"),
        (["TG-03", "TG-01", "TG-02"], "TG-01..TG-03"),
        (["TG-9", "TG-11", "TG-10"], "TG-9..TG-11"),
        (["TG-09", "TG-10", "TG-11"], "TG-09..TG-11"),
        (["TG-08", "TG-9", "TG-10"], "TG-08, TG-9, TG-10"),
        (["A1", "A2", "A3", "B1", "spare"], "A1..A3, B1, spare"),
        (["TG-01", "TG-01", "TG-02"], "TG-01, TG-01, TG-02"),
        (["9" * 30, "1" + "0" * 30], "1" + "0" * 30 + ", " + "9" * 30),
    ],
)
def test_ids_are_compressed_to_ranges(ids: list[str], expected: str) -> None:
    assert listed(ids) == expected


def test_the_order_of_ids_changes_nothing() -> None:
    ids = ["TG-01", "TG-02", "TG-03", "TG-05", "x"]
    assert {listed(order) for order in permutations(ids)} == {"TG-01..TG-03, TG-05, x"}


def test_a_blank_in_quotes_is_no_place_to_break() -> None:
    lines = wrapped('it is "saltmarsh gauges " and not "saltmarsh"', 20).splitlines()
    assert any('"saltmarsh gauges "' in line for line in lines)


@given(st.text(), st.integers(20, 100))
def test_a_line_is_never_longer_than_the_width(text: str, width: int) -> None:
    assert all(len(line) <= width for line in wrapped(text, width, "  ", "    ").split("\n"))


def test_two_texts_share_a_line_where_they_fit() -> None:
    assert headline("left", "right", 11) == "left  right"
    assert headline("left", "right", 10) == "left\n  right"
    assert headline("left", "", 10) == "left"


@pytest.mark.parametrize(
    ("number", "noun", "expected"),
    [
        (1, "fault", "1 fault"),
        (2, "fault", "2 faults"),
        (0, "risk", "0 risks"),
        (2, "advice", "2 advice"),
    ],
)
def test_nouns_follow_their_number(number: int, noun: str, expected: str) -> None:
    assert counted(number, noun) == expected
