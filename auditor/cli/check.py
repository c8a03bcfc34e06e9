"""`auditor check`: the audit."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import AuditFormat, ColumnOption, FleetArgument, PolicyOption
from auditor.cli.status import Status
from auditor.models.words import Severity

if TYPE_CHECKING:
    from auditor.findings import AuditResult


def check(
    fleet: FleetArgument,
    format: Annotated[AuditFormat, typer.Option(help="How it is written.")] = AuditFormat.TEXT,
    output: Annotated[
        str | None, typer.Option(metavar="FILE", help="Write the report here, whole or not at all.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace FILE where it exists.")] = False,
    only: Annotated[
        list[str] | None, typer.Option(metavar="ID", help="Keep only this check (repeatable).")
    ] = None,
    policy: PolicyOption = None,
    fail_on: Annotated[
        Severity, typer.Option(help="The mildest finding for which the exit status is 1.")
    ] = Severity.RISK,
    column: ColumnOption = None,
    without_secrets: Annotated[
        bool, typer.Option("--without-secrets", help="Leave passphrases and keys unread.")
    ] = False,
) -> None:
    """Audits a kit: every module's climb, where it stops, and what to do.

    Exit status: 0 nothing at or above --fail-on, 1 something is, 2 the input cannot be used.
    """
    from auditor.cli.auditing import audited, chosen, read
    from auditor.cli.output import deliver

    ids = chosen(only or ())
    file = read(fleet, column or (), policy=policy, with_secrets=not without_secrets)
    result = audited(file, ids)
    deliver(_report(result, format, output), output, force=force)
    raise typer.Exit(Status.FOUND if result.reaches(fail_on) else Status.CLEAN)


def _report(result: AuditResult, format: AuditFormat, output: str | None) -> str:
    from auditor.cli.output import line_width, takes_colour
    from auditor.reports import as_json, findings_csv, text

    if format is AuditFormat.JSON:
        return as_json.as_json(result)
    if format is AuditFormat.CSV:
        return findings_csv.findings_csv(result)
    colour = takes_colour(output, os.environ)
    return text.text(result, width=line_width(output), colour=colour)
