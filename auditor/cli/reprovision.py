"""`auditor reprovision`: a kit brought back to its plan, step by step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import (
    AllowBothOption,
    ForceOption,
    Format,
    FormatOption,
    FoundArgument,
    FoundColumnOption,
    OutputOption,
    Over,
    PlannedArgument,
    PlannedColumnOption,
    WithoutSecretsOption,
)
from auditor.cli.status import Status

if TYPE_CHECKING:
    from auditor.tasks.reprovisioning import Reprovisioning


def reprovision(
    planned: PlannedArgument,
    found: FoundArgument,
    over: Annotated[Over, typer.Option(help="By which way modules are set.")] = Over.SERIAL,
    format: FormatOption = Format.TEXT,
    output: OutputOption = None,
    force: ForceOption = False,
    column: FoundColumnOption = None,
    planned_column: PlannedColumnOption = None,
    without_secrets: WithoutSecretsOption = False,
    allow_folder: AllowBothOption = None,
) -> None:
    """Lists, step by step, how to bring a kit back to its plan.

    At no step do two live modules share an address that did not before; those that exchange
    theirs stand aside on a free one.

    Exit status: 0 nothing to do, 1 there are steps or something is left over, 2 the input cannot
    be used.
    """
    from functools import partial

    from auditor.cli.auditing import audited
    from auditor.cli.both_kits import read_both, redacted_of_both
    from auditor.cli.output import deliver
    from auditor.tasks.reprovisioning import reprovisioning

    files = read_both(
        (planned, planned_column or ()),
        (found, column or ()),
        output,
        with_secrets=not without_secrets,
        allowed=allow_folder or (),
    )
    task = partial(reprovisioning, audited=audited, over_network=over is Over.NETWORK)
    todo = redacted_of_both(task, *files)
    deliver(_report(todo, format, output), output, force=force)
    raise typer.Exit(Status.CLEAN if todo.is_clean else Status.FOUND)


def _report(todo: Reprovisioning, format: Format, output: str | None) -> str:
    from auditor.cli.output import line_width, say
    from auditor.reports import reprovisioning as reports
    from auditor.reports.comparison import unresolved

    if format is Format.JSON:
        say(*unresolved(todo.compared))
        return reports.as_json(todo)
    return reports.text(todo, width=line_width(output))
