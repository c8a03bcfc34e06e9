"""`auditor schema`: the form of each kind of file, for editors."""

from typing import Annotated

import typer

from auditor.cli.choices import DocumentKind, ForceOption, OutputOption


def schema(
    kind: Annotated[
        DocumentKind, typer.Argument(metavar="KIND", help="The kind of file that it is for.")
    ] = DocumentKind.FLEET,
    output: OutputOption = None,
    force: ForceOption = False,
) -> None:
    """Writes the JSON Schema by which editors help with a file.

    KIND is fleet, module, controller, policy or region.

    Exit status: 0 it was written, 2 it could not be.
    """
    from auditor.cli.output import deliver
    from auditor.reports.as_json import json_text
    from auditor.tasks.schema import schema as schema_of

    deliver(json_text(schema_of(kind)), output, force=force)
    raise typer.Exit()
