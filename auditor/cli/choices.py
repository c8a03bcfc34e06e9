"""The words that options take, and the options that several commands have."""

from enum import StrEnum
from typing import Annotated

import typer

FleetArgument = Annotated[
    str, typer.Argument(metavar="FLEET", help="A fleet file (TOML), or a table of modules (CSV).")
]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option(metavar='"THEIRS=OURS"', help="What a header of the table means (repeatable)."),
]
PolicyOption = Annotated[
    str | None, typer.Option(metavar="P", help="A policy by name or path, instead of the file's.")
]


class Format(StrEnum):
    """How a report is written."""

    TEXT = "text"
    JSON = "json"


class AuditFormat(StrEnum):
    """How the report of an audit is written."""

    TEXT = "text"
    JSON = "json"
    CSV = "csv"


FormatOption = Annotated[Format, typer.Option(help="How the answer is written.")]
