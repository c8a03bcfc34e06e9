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
    """Sums up stations, leases, airtime and serial load of a kit.

    Each with its limit, and the margin that is left.

    Exit status: 0 there is room for everything, 1 something is exceeded, 2 the input cannot be
    used.
    """
    from auditor.cli.auditing import read
    from auditor.cli.output import deliver, refuse_inputs
    from auditor.reading.inputs import inputs

    file = read(fleet, column or (), policy=policy, with_secrets=False, allowed=allow_folder or ())
    refuse_inputs(output, inputs(file, policy))
    report, used = _page(file) if format is PageFormat.HTML else _report(file, format)
    deliver(report, output, force=force)
    raise typer.Exit(Status.FOUND if used.is_exceeded else Status.CLEAN)


def _report(file: FleetFile, format: PageFormat) -> tuple[str, Capacity]:
    from auditor.reports import capacity as reports
    from auditor.reports.redaction import redacted
    from auditor.tasks.capacity import capacity as used_by

    used = redacted(used_by(file), file.secrets)
    return reports.json(used) if format is PageFormat.JSON else reports.text(used), used


def _page(file: FleetFile) -> tuple[str, Capacity]:
    from auditor.reports.page.capacity import capacity_page
    from auditor.reports.redaction import redacted
    from auditor.tasks.overview import overview

    shown = redacted(overview(file), file.secrets)
    return capacity_page(shown), shown.capacity
