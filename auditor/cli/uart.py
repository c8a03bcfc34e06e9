"""`auditor uart`: what to load for a serial rate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import Format, FormatOption

if TYPE_CHECKING:
    from auditor.tasks.uart import RateTable

_COMMAND = "auditor uart"


def uart(
    clock: Annotated[str, typer.Option(metavar="HZ", help='The clock with its unit: "8 MHz".')],
    rate: Annotated[str, typer.Option(metavar="BD", help="The wanted rate in Bd.")],
    multiplier: Annotated[str, typer.Option(help="A factor before the rate generator.")] = "1",
    oversampling: Annotated[
        str, typer.Option(metavar="S,S", help="Samples per bit to try: 4, 8, 16, 64.")
    ] = "16,8",
    rule: Annotated[
        str, typer.Option(help="How the loaded value divides: n+1, n or fraction.")
    ] = "n+1",
    bits: Annotated[str | None, typer.Option(metavar="N", help="Width of the divisor.")] = None,
    data_bits: Annotated[str, typer.Option(help="5 to 9.")] = "8",
    parity: Annotated[str, typer.Option(help="none, even, odd, mark or space.")] = "none",
    stop_bits: Annotated[str, typer.Option(help="1, 1.5 or 2.")] = "1",
    format: FormatOption = Format.TEXT,
) -> None:
    """Tabulates what to load for a serial rate.

    With each divisor, the rate that it makes and its error.

    A rate is good up to half of what a receiver tolerates, and marginal up to all of it.
    """
    from auditor.cli.output import deliver
    from auditor.reports import uart as reports

    asked: dict[str, str | list[str] | None] = {
        "clock": clock,
        "rate": rate,
        "multiplier": multiplier,
        "oversampling": oversampling.split(","),
        "rule": rule,
        "bits": bits,
        "data_bits": data_bits,
        "parity": parity,
        "stop_bits": stop_bits,
    }
    table = _table(asked)
    report = reports.json(table) if format is Format.JSON else reports.text(table)
    deliver(report, None, force=False)
    raise typer.Exit()


def _table(asked: Mapping[str, str | list[str] | None]) -> RateTable:
    from auditor.models.places import Path, Place, Places
    from auditor.models.uart import RateQuestion
    from auditor.reading.problems import unusable
    from auditor.reading.validation import validated
    from auditor.tasks.uart import rate_table

    options: dict[Path, Place] = {(key,): Place(_COMMAND, None, _option(key)) for key in asked}
    places = Places(_COMMAND, options)
    try:
        return rate_table(validated(RateQuestion, dict(asked), places, lambda _: True))
    except ValueError as problem:
        raise unusable(Place(_COMMAND), str(problem)) from None


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"
