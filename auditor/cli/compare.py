"""`auditor compare`: what of a kit is not as planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from auditor.cli.choices import (
    AllowBothOption,
    ForceOption,
    Format,
    FormatOption,
    FoundArgument,
    FoundColumnOption,
    OutputOption,
    PlannedArgument,
    PlannedColumnOption,
    WithoutSecretsOption,
)
from auditor.cli.status import Status

if TYPE_CHECKING:
    from collections.abc import Iterable

    from auditor.tasks.comparison import Comparison


def compare(
    planned: PlannedArgument,
    found: FoundArgument,
    format: FormatOption = Format.TEXT,
    output: OutputOption = None,
    force: ForceOption = False,
    column: FoundColumnOption = None,
    planned_column: PlannedColumnOption = None,
    without_secrets: WithoutSecretsOption = False,
    allow_folder: AllowBothOption = None,
) -> None:
    """Says what drifted, what is missing and what is new.

    Modules are matched by hardware address, then by id; what was not read out is not compared.

    Exit status: 0 nothing differs, 1 something does, 2 the input cannot be used.
    """
    from functools import partial

    from auditor.cli.auditing import audited
    from auditor.cli.both_kits import read_both, redacted_of_both
    from auditor.cli.output import deliver
    from auditor.tasks.comparison import comparison

    files = read_both(
        (planned, planned_column or ()),
        (found, column or ()),
        output,
        with_secrets=not without_secrets,
        allowed=allow_folder or (),
    )
    compared = redacted_of_both(partial(comparison, audited=audited), *files)
    deliver(_report(compared, format, output), output, force=force)
    raise typer.Exit(Status.FOUND if compared.differs else Status.CLEAN)


def _report(compared: Comparison, format: Format, output: str | None) -> str | Iterable[str]:
    from auditor.cli.output import line_width, say
    from auditor.reports import comparison as reports

    if format is Format.JSON:
        say(*reports.unresolved(compared))
        return reports.as_json(compared)
    return reports.text(compared, width=line_width(output))
