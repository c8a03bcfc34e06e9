"""`auditor profiles`: what ships, and a profile whole."""

from typing import Annotated

import typer

from auditor.cli.choices import Format, FormatOption, ProfileKind


def profiles(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="A profile by name or path.")
    ] = None,
    kind: Annotated[ProfileKind | None, typer.Option(help="Only profiles of this kind.")] = None,
    format: FormatOption = Format.TEXT,
) -> None:
    """Lists the profiles that ship, or shows the one called NAME.

    Each value with its unit and what it means, and where the values come from. With a / in it,
    or ending in .toml, NAME is the path to a profile of your own; it is checked as it is read.

    Exit status: 0 done, 2 there is no such profile, or it cannot be used.
    """
    from auditor.cli.output import deliver
    from auditor.reports import profiles as reports
    from auditor.tasks.profiles import entries, shipped

    if name is None:
        found = shipped(kind)
        as_text, as_json = reports.listing, reports.listing_json
    else:
        found = entries(name, kind)
        as_text, as_json = reports.text, reports.json
    deliver((as_json if format is Format.JSON else as_text)(found), None, force=False)
    raise typer.Exit()
