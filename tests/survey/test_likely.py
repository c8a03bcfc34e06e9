"""What a misspelt range of modules means: always a range that selects somebody."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.survey.likely import likely_meant, likely_range
from auditor.survey.positions import Names
from auditor.survey.selection import select

GAUGES = Names([f"TG-{number:02}" for number in range(1, 31)])
NUMBERS = Names([str(number) for number in range(1, 31)])
WORDS = Names([f"tide {number:03}" for number in range(1, 31)])
TWO_ROWS = Names([f"{row}-{number:02}" for row in ("TG", "TH") for number in range(1, 31)])


@pytest.mark.parametrize(
    "written",
    [
        "TG-01...TG-15",
        "TG-01 … TG-15",
        "TG-15..TG-01",
        "TG-01-TG-15",
        "TG-01\u2013TG-15",
        "TG-01:TG-15",
        "TG-01.TG-15",
        "TG-01 to TG-15",
        "TG-01..15",
        "TG-01-15",
        "TG-O1..TG-15",
        "TG-01..TG-l5",
        "tg-01..tg-15",
        "TG01..TG15",
        "TG-01..TH-15",
        "..TG-15",
    ],
)
def test_the_range_that_was_meant(written: str) -> None:
    assert likely_meant(written, GAUGES) == "TG-01..TG-15"


@pytest.mark.parametrize(
    ("written", "known", "meant"),
    [
        ("TG-01..TG-3O", GAUGES, "TG-01..TG-30"),
        ("TG-07..", GAUGES, "TG-07..TG-30"),
        ("1-15", NUMBERS, "1..15"),
        ("1...15", NUMBERS, "1..15"),
        ("1..3O", NUMBERS, "1..30"),
        ("9..", NUMBERS, "9..30"),
        ("tide 001 - tide 015", WORDS, "tide 001..tide 015"),
        ("tide 001..tide 0l5", WORDS, "tide 001..tide 015"),
        ("TG-01..TH-15", TWO_ROWS, "TG-01..TG-15"),
        ("TH-1..TH-1S", TWO_ROWS, "TH-01..TH-10"),
    ],
)
def test_the_range_that_was_meant_in_other_kits(written: str, known: Names, meant: str) -> None:
    assert likely_meant(written, known) == meant


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("TG-1O", "TG-10"),
        ("TG-0-1", "TG-01"),
        ("TG-07.", "TG-07"),
        ("loger", "logger"),
        ("heron", None),
    ],
)
def test_a_name_that_is_no_range(written: str, meant: str | None) -> None:
    assert likely_meant(written, GAUGES, ["logger"]) == meant


@pytest.mark.parametrize(
    "written",
    ["TG-40..TG-44", "TG-44..TG-40", "TG-01, TG-03", "heron..egret", "..", "-", "", "9" * 5000],
)
def test_no_range_is_guessed_of_one_that_is_well_written_or_of_none(written: str) -> None:
    assert likely_range(written, GAUGES) is None


@given(st.text("TGH-0123456789.lO ,", max_size=16), st.sampled_from([GAUGES, NUMBERS, TWO_ROWS]))
def test_whatever_is_named_selects_somebody(written: str, known: Names) -> None:
    meant = likely_meant(written, known)
    assert meant is None or select([meant], known).indexes
