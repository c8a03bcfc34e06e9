"""`auditor explain`: one check, with an example of what it finds."""

from typing import Annotated

import typer


def explain(
    check: Annotated[str, typer.Argument(metavar="CHECK", help="The id of a check.")],
) -> None:
    """Explains a check: why it matters, an example, how to mend it."""
    from auditor.catalogue import entry
    from auditor.cli.auditing import check_of
    from auditor.cli.output import deliver

    deliver(entry(check_of(check)), None, force=False)
    raise typer.Exit()
