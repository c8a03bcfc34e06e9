"""`auditor capacity`: how much of each limit a kit uses."""

import typer

from auditor.cli.choices import ColumnOption, FleetArgument, Format, FormatOption, PolicyOption
from auditor.cli.status import Status


def capacity(
    fleet: FleetArgument,
    format: FormatOption = Format.TEXT,
    policy: PolicyOption = None,
    column: ColumnOption = None,
) -> None:
    """Sums up stations, leases, airtime and serial load: used, limit, margin.

    Exit status: 0 there is room for everything, 1 something is exceeded, 2 the input cannot be
    used.
    """
    from auditor.cli.auditing import read
    from auditor.cli.output import deliver
    from auditor.reports import capacity as reports
    from auditor.reports.redaction import redacted
    from auditor.tasks.capacity import capacity as used

    file = read(fleet, column or (), policy=policy, with_secrets=False)
    result = redacted(used(file), file.fleet)
    status = Status.FOUND if result.is_exceeded else Status.CLEAN
    report = reports.json(result) if format is Format.JSON else reports.text(result)
    deliver(report, None, force=False)
    raise typer.Exit(status)
