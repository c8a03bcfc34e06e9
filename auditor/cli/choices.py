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
OutputOption = Annotated[
    str | None, typer.Option(metavar="FILE", help="Write the report here, whole or not at all.")
]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace FILE where it exists.")]

AllowOption = Annotated[
    list[str] | None,
    typer.Option(
        metavar="FOLDER", help="Paths in FLEET may also lead into this folder (repeatable)."
    ),
]

PlannedArgument = Annotated[
    str, typer.Argument(metavar="PLANNED", help="The planned kit: a fleet file or a table.")
]
FoundArgument = Annotated[
    str, typer.Argument(metavar="FOUND", help="What was read out: a table or a fleet file.")
]
FoundColumnOption = Annotated[
    list[str] | None,
    typer.Option(metavar='"THEIRS=OURS"', help="What a header of FOUND means (repeatable)."),
]
PlannedColumnOption = Annotated[
    list[str] | None,
    typer.Option(metavar='"THEIRS=OURS"', help="The same for PLANNED's table (repeatable)."),
]
WithoutSecretsOption = Annotated[
    bool, typer.Option("--without-secrets", help="Leave passphrases and keys unread.")
]
AllowBothOption = Annotated[
    list[str] | None,
    typer.Option(
        metavar="FOLDER",
        help="Paths in PLANNED and FOUND may also lead into this folder (repeatable).",
    ),
]


class Format(StrEnum):
    """How a report is written."""

    TEXT = "text"
    JSON = "json"


class PageFormat(StrEnum):
    """How a report is written of which there is a page too."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"


class AuditFormat(StrEnum):
    """How the report of an audit is written."""

    TEXT = "text"
    JSON = "json"
    CSV = "csv"
    HTML = "html"


class Over(StrEnum):
    """By which way modules are set."""

    SERIAL = "serial"
    NETWORK = "network"


class ProfileKind(StrEnum):
    """What a profile is of."""

    MODULE = "module"
    CONTROLLER = "controller"
    POLICY = "policy"
    REGION = "region"


class DocumentKind(StrEnum):
    """What a document is of."""

    FLEET = "fleet"
    MODULE = "module"
    CONTROLLER = "controller"
    POLICY = "policy"
    REGION = "region"


FormatOption = Annotated[Format, typer.Option(help="How the answer is written.")]
