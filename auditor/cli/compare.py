"""`auditor compare`: what of a kit is not as planned."""

from __future__ import annotations

from functools import partial
from itertools import chain
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import ForceOption, Format, FormatOption, OutputOption
from auditor.cli.status import Status

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from auditor.models.fleet_file import FleetFile
    from auditor.reading.problems import Problem
    from auditor.tasks.comparison import Comparison


def compare(
    planned: Annotated[
        str, typer.Argument(metavar="PLANNED", help="The planned kit: a fleet file or a table.")
    ],
    found: Annotated[
        str, typer.Argument(metavar="FOUND", help="What was read out: a table or a fleet file.")
    ],
    format: FormatOption = Format.TEXT,
    output: OutputOption = None,
    force: ForceOption = False,
    column: Annotated[
        list[str] | None,
        typer.Option(metavar='"THEIRS=OURS"', help="What a header of FOUND means (repeatable)."),
    ] = None,
    planned_column: Annotated[
        list[str] | None,
        typer.Option(metavar='"THEIRS=OURS"', help="The same for PLANNED's table (repeatable)."),
    ] = None,
    without_secrets: Annotated[
        bool, typer.Option("--without-secrets", help="Leave passphrases and keys unread.")
    ] = False,
    allow_folder: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FOLDER",
            help="Paths in PLANNED and FOUND may also lead into this folder (repeatable).",
        ),
    ] = None,
) -> None:
    """Says what drifted, what is missing and what is new.

    Modules are matched by hardware address, then by id; what was not read out is not compared.

    Exit status: 0 nothing differs, 1 something does, 2 the input cannot be used.
    """
    from auditor.cli.auditing import read
    from auditor.cli.output import deliver, refuse_inputs
    from auditor.reading.inputs import inputs

    read_in = partial(read, with_secrets=not without_secrets, allowed=allow_folder or ())
    readers = {
        "--planned-column": partial(read_in, planned, planned_column or ()),
        "--column": partial(read_in, found, column or ()),
    }
    files = _both(readers)
    refuse_inputs(output, chain.from_iterable(map(inputs, files)))
    compared = _compared(*files)
    deliver(_report(compared, format, output), output, force=force)
    raise typer.Exit(Status.FOUND if compared.differs else Status.CLEAN)


def _both(readers: Mapping[str, Callable[[], FleetFile]]) -> list[FleetFile]:
    """Return both files, or all that cannot be read of either; each has its option for headers."""
    from dataclasses import replace

    from auditor.models.places import Place
    from auditor.reading.problems import UnusableError
    from auditor.reports.redaction import redacted

    files: list[FleetFile] = []
    problems: list[Problem] = []
    for option, read in readers.items():
        try:
            files.append(read())
        except UnusableError as failure:
            problems += (
                replace(each, place=Place(option)) if each.place == Place("--column") else each
                for each in failure.problems
            )
    if problems:
        secrets = chain.from_iterable(file.secrets for file in files)
        raise UnusableError(redacted(tuple(problems), secrets))
    return files


def _compared(planned: FleetFile, found: FleetFile) -> Comparison:
    from auditor.cli.auditing import audited
    from auditor.reading.problems import UnusableError
    from auditor.reports.redaction import redacted
    from auditor.tasks.comparison import comparison

    secrets = [*planned.secrets, *found.secrets]
    try:
        return redacted(comparison(planned, found, audited), secrets)
    except UnusableError as failure:
        raise UnusableError(redacted(failure.problems, secrets)) from None


def _report(compared: Comparison, format: Format, output: str | None) -> str | Iterable[str]:
    from auditor.cli.output import line_width, say
    from auditor.reports import comparison as reports

    if format is Format.JSON:
        say(*reports.unresolved(compared))
        return reports.as_json(compared)
    return reports.text(compared, width=line_width(output))
