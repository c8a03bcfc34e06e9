"""`auditor capacity`: how much of each limit a kit uses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import (
    AllowOption,
    ColumnOption,
    FleetArgument,
    ForceOption,
    OutputOption,
    PageFormat,
    PolicyOption,
)
from auditor.cli.status import Status

if TYPE_CHECKING:
    from auditor.models.fleet_file import FleetFile
    from auditor.tasks.capacity import Capacity


def capacity(
    fleet: FleetArgument,
    format: Annotated[PageFormat, typer.Option(help="How it is written.")] = PageFormat.TEXT,
    output: OutputOption = None,
    force: ForceOption = False,
    policy: PolicyOption = None,
    column: ColumnOption = None,
    allow_folder: AllowOption = None,
) -> None:
    """Sums up stations, leases, airtime and serial load: used, limit, margin.

    Exit status: 0 there is room for everything, 1 something is exceeded, 2 the input cannot be
    used.
    """
    from auditor.cli.auditing import read
    from auditor.cli.output import deliver, refuse_inputs
    from auditor.reading.inputs import inputs
    from auditor.reports.redaction import redacted
    from auditor.tasks.capacity import capacity as used

    file = read(fleet, column or (), policy=policy, with_secrets=False, allowed=allow_folder or ())
    refuse_inputs(output, inputs(file, policy))
    result = redacted(used(file), file.secrets)
    deliver(_report(result, file, format), output, force=force)
    raise typer.Exit(Status.FOUND if result.is_exceeded else Status.CLEAN)


def _report(result: Capacity, file: FleetFile, format: PageFormat) -> str:
    from auditor.reports import capacity as reports

    if format is PageFormat.HTML:
        return _page(file)
    return reports.json(result) if format is PageFormat.JSON else reports.text(result)


def _page(file: FleetFile) -> str:
    from auditor.reports.page.capacity import capacity_page
    from auditor.reports.redaction import redacted
    from auditor.tasks.overview import overview

    return capacity_page(redacted(overview(file), file.secrets))
