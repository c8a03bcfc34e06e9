"""Nothing that a terminal obeys is shown raw, and nothing that a person writes is touched."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.reports.escaping import on_one_line, shown


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        # General categories of UnicodeData.txt: Cc, Cf, Cs, Co, Cn, Zl, Zp.
        ("\x1b[31m", r"\x1b[31m"),
        ("\x00\t\r\x7f\x85\x9b", r"\x00\x09\x0d\x7f\x85\x9b"),
        ("a\u202eb\u200bc\u2066", r"a\u202eb\u200bc\u2066"),
        ("\ud800", r"\ud800"),
        ("\ue000", r"\ue000"),
        ("\u0378", r"\u0378"),
        ("\U000e0041", r"\U000e0041"),
        ("\u2028\u2029", r"\u2028\u2029"),
    ],
)
def test_what_is_obeyed_or_unseen_is_written_out(written: str, expected: str) -> None:
    assert shown(written) == expected


@pytest.mark.parametrize(
    "written", ["220 µF", "330 Ω", "Gezeitenküste", "é e\u0301", "潮位計", "gauge 🌊", "a\nb", ""]
)
def test_what_people_write_stays(written: str) -> None:
    assert shown(written) == written


def test_a_line_end_is_written_out_where_one_line_is_wanted() -> None:
    assert on_one_line("a\nb\x1b") == r"a\nb\x1b"


@given(st.text())
def test_nothing_of_the_kind_is_left(written: str) -> None:
    kept = shown(written).replace("\n", "")
    categories = {unicodedata.category(character) for character in kept}
    assert not {category for category in categories if category[0] == "C"}
    assert categories.isdisjoint({"Zl", "Zp"})
    assert shown(shown(written)) == shown(written)
