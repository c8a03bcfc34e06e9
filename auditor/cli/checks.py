"""`auditor checks`: the list of all checks."""

import typer

from auditor.cli.choices import Format, FormatOption


def checks(format: FormatOption = Format.TEXT) -> None:
    """Lists every check with its stage, severity and source."""
    from auditor import catalogue
    from auditor.cli.output import deliver

    listing = catalogue.as_json() if format is Format.JSON else catalogue.listing()
    deliver(listing, None, force=False)
    raise typer.Exit()
