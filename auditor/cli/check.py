"""`auditor check`: the audit."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import (
    AllowOption,
    AuditFormat,
    ColumnOption,
    FleetArgument,
    ForceOption,
    OutputOption,
    PolicyOption,
    WithoutSecretsOption,
)
from auditor.cli.status import Status
from auditor.models.words import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from auditor.findings import AuditResult
    from auditor.models.fleet_file import FleetFile


def check(
    fleet: FleetArgument,
    format: Annotated[AuditFormat, typer.Option(help="How it is written.")] = AuditFormat.TEXT,
    output: OutputOption = None,
    force: ForceOption = False,
    only: Annotated[
        list[str] | None, typer.Option(metavar="ID", help="Keep only this check (repeatable).")
    ] = None,
    policy: PolicyOption = None,
    fail_on: Annotated[
        Severity, typer.Option(help="The mildest finding for which the exit status is 1.")
    ] = Severity.RISK,
    column: ColumnOption = None,
    without_secrets: WithoutSecretsOption = False,
    allow_folder: AllowOption = None,
) -> None:
    """Audits a kit: where each module's climb stops and what to do.

    Exit status: 0 nothing at or above --fail-on, 1 something is, 2 the input cannot be used.
    """
    from auditor.cli.auditing import audited, chosen, read
    from auditor.cli.output import deliver, refuse_inputs
    from auditor.reading.inputs import inputs

    ids = chosen(only or ())
    file = read(
        fleet,
        column or (),
        policy=policy,
        with_secrets=not without_secrets,
        allowed=allow_folder or (),
    )
    refuse_inputs(output, inputs(file, policy))
    result = audited(file, ids)
    is_page = format is AuditFormat.HTML
    report = _page(result, file) if is_page else _report(result, format, output)
    deliver(report, output, force=force)
    raise typer.Exit(Status.FOUND if result.reaches(fail_on) else Status.CLEAN)


def _report(result: AuditResult, format: AuditFormat, output: str | None) -> str | Iterable[str]:
    if format is AuditFormat.JSON:
        from auditor.reports.as_json import as_json

        return as_json(result)
    if format is AuditFormat.CSV:
        from auditor.reports.findings_csv import findings_csv

        return findings_csv(result)
    from auditor.cli.output import line_width, takes_colour
    from auditor.reports.text import text

    return text(result, width=line_width(output), colour=takes_colour(output, os.environ))


def _page(result: AuditResult, file: FleetFile) -> str:
    from auditor.reports.page.report import page
    from auditor.reports.redaction import redacted
    from auditor.tasks.overview import overview

    return page(result, redacted(overview(file), file.secrets))
