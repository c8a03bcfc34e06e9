"""The findings as a table for spreadsheets, a row a finding."""

import csv
import io

from auditor.findings import AuditResult, Finding, ModuleResult
from auditor.models.places import Place
from auditor.reports.escaping import on_one_line
from auditor.reports.summary import with_owners

COLUMNS = (
    "module",
    "verdict",
    "check",
    "severity",
    "stage",
    "shows_at",
    "message",
    "remedy",
    "file",
    "line",
    "column",
    "source",
    "waived",
)
KIT = "kit"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula: common practice, no source."""


def findings_csv(result: AuditResult) -> str:
    """Return the findings as comma-separated values in UTF-8, without anything that runs."""
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(map(_cell, _row(*owned)) for owned in with_owners(result))
    return table.getvalue()


def _row(module: ModuleResult | None, finding: Finding) -> tuple[str | int | None, ...]:
    place = finding.where[0] if finding.where else Place("")
    return (
        module.id if module else KIT,
        module.verdict if module else None,
        finding.check,
        finding.severity,
        finding.stage,
        finding.shows_at,
        finding.message,
        finding.remedy,
        place.file,
        place.line,
        place.column,
        finding.source,
        finding.waived.reason if finding.waived else None,
    )


def _cell(value: str | int | None) -> str:
    """Return a cell that shows what it holds, and nothing else."""
    text = "" if value is None else str(value)
    return on_one_line(f"'{text}" if text.startswith(FORMULA_STARTS) else text)
