"""The findings as a table: its columns, and that no cell does anything."""

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.findings import AuditResult
from auditor.models.places import Place
from auditor.reports.findings_csv import COLUMNS, findings_csv
from tests.reports.expected import assert_golden
from tests.reports.results import ACCEPTED, NOTE, WRONG_NAME, module, result, spring_term


def rows(audited: AuditResult) -> list[dict[str, str]]:
    """Return the table as a spreadsheet reads it."""
    return list(csv.DictReader(io.StringIO(findings_csv(audited))))


def test_a_table_with_something_of_everything() -> None:
    assert_golden("spring_term.csv", findings_csv(spring_term()))


def test_a_row_of_a_module() -> None:
    waived = replace(WRONG_NAME, waived=ACCEPTED)
    (row,) = rows(result(module("TG-04", waived)))
    assert tuple(row) == COLUMNS
    assert row == {
        "module": "TG-04",
        "verdict": "ready",
        "check": "network-name-differs",
        "severity": "fault",
        "stage": "discovery",
        "shows_at": "discovery",
        "message": WRONG_NAME.message,
        "remedy": WRONG_NAME.remedy,
        "file": "kit.csv",
        "line": "5",
        "column": "SSID",
        "source": WRONG_NAME.source,
        "waived": "the old hut has no better receiver",
    }


def test_a_row_of_the_kit() -> None:
    (row,) = rows(result(module("TG-01"), kit=(replace(NOTE, where=()),)))
    assert (row["module"], row["verdict"], row["file"], row["line"]) == ("kit", "", "", "")


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_begins_as_a_formula(start: str) -> None:
    nasty = f"{start}cmd|' /C calc'!A0"
    place = Place(nasty, 1, nasty)
    finding = replace(WRONG_NAME, message=nasty, remedy=nasty, where=(place,), source=nasty)
    (row,) = rows(result(module(nasty, finding)))
    for column in ("module", "message", "remedy", "file", "column", "source"):
        assert row[column].startswith("'")
        assert row[column][1:].startswith(start if start.isprintable() else "\\x")


@given(st.text())
def test_a_row_is_a_line_whatever_is_in_it(written: str) -> None:
    finding = replace(WRONG_NAME, message=written)
    table = findings_csv(result(module(written, finding)))
    assert table.count("\n") == 2
    assert len(table.splitlines()) == 2
    (row,) = rows(result(module("TG-01", finding)))
    assert not row["message"].startswith(("=", "+", "-", "@", "\t", "\r"))
