"""What a template writes: visible, and apart from the words around it."""

import pytest

from auditor.reports.page.document import apart, bounded, prose, rendered


def test_a_quoted_value_stands_by_itself() -> None:
    assert prose('It looks for "a <b>", not "c".') == (
        'It looks for <bdi class="value">&#34;a &lt;b&gt;&#34;</bdi>, '
        'not <bdi class="value">&#34;c&#34;</bdi>.'
    )


def test_a_sentence_without_values_stays_one() -> None:
    assert prose("Nothing & nobody") == "Nothing &amp; nobody"


@pytest.mark.parametrize("mark", ["\x1b", "\u202e", "\u2028", "\x00", "\ud800"])
def test_what_cannot_be_seen_is_written_out(mark: str) -> None:
    for shown in (prose(f'"{mark}"'), apart(f"TG{mark}-1, TG-2")):
        assert mark not in shown
        assert "\\" in shown


def test_ids_break_apart_from_each_other() -> None:
    assert apart("TG-01..TG-03, <b>") == (
        '<span class="id"><bdi>TG-01..TG-03</bdi>,</span> '
        '<span class="id"><bdi>&lt;b&gt;</bdi></span>'
    )


@pytest.mark.parametrize(
    ("value", "shown"), [("a b", "a b"), ("a ", '"a "'), (" a", '" a"'), ("", '""'), (" ", '" "')]
)
def test_blanks_at_an_end_get_quotes(value: str, shown: str) -> None:
    assert bounded(value) == shown


def test_a_part_that_is_missing_is_a_fault_of_ours() -> None:
    with pytest.raises(Exception, match="undefined"):
        rendered("report.html", title="x")
