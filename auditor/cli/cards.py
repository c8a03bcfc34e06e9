"""`auditor cards`: a card for each module, to be printed and cut."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import (
    AllowOption,
    ColumnOption,
    FleetArgument,
    ForceOption,
    OutputOption,
    PolicyOption,
)
from auditor.cli.status import Status

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from auditor.models.fleet_file import FleetFile
    from auditor.reading.problems import Problem
    from auditor.survey.positions import Names

MOST_CARDS = 10_000
"""A page with more of them is more than a browser opens and prints."""
MANY_SHEETS = 25
"""From so many sheets on nobody should learn their number from the printer."""


def cards(
    fleet: FleetArgument,
    output: OutputOption = None,
    force: ForceOption = False,
    modules: Annotated[
        list[str] | None,
        typer.Option(metavar="IDS", help='Only these, as in "TG-01..TG-15" (repeatable).'),
    ] = None,
    policy: PolicyOption = None,
    column: ColumnOption = None,
    allow_folder: AllowOption = None,
) -> None:
    """Makes a page of cards to print, one to lie by each module.

    Exit status: 0 none of these modules is blocked or at risk, 1 one is, 2 the input cannot be
    used.
    """
    from auditor.cli.auditing import audited, read
    from auditor.cli.output import deliver, refuse_inputs, say
    from auditor.reading.inputs import inputs
    from auditor.reports.page.cards import cards_page, sheets_for
    from auditor.reports.redaction import redacted
    from auditor.tasks.cards import cards as cards_of

    file = read(fleet, column or (), policy=policy, allowed=allow_folder or ())
    refuse_inputs(output, inputs(file, policy))
    chosen = _chosen(modules, file)
    made = redacted(cards_of(file, audited(file), chosen), file.secrets)
    deliver(cards_page(made), output, force=force)
    sheets = sheets_for(len(chosen))
    if sheets >= MANY_SHEETS:
        say(f"{len(chosen):,} cards on {sheets:,} sheets; --modules makes those of some modules")
    raise typer.Exit(Status.CLEAN if made.are_all_to_hand_out else Status.FOUND)


def _chosen(names: Iterable[str] | None, file: FleetFile) -> Collection[int]:
    """Return the positions of the modules that ids and ranges mean, of all if none are given.

    Raises:
        UnusableError: a name means nobody, or there are more modules than cards can be made of.
    """
    from auditor.models.places import Place
    from auditor.reading.problems import UnusableError, unusable
    from auditor.reports.redaction import redacted
    from auditor.survey.positions import Names
    from auditor.survey.selection import EVERYONE, select

    known = Names(file.entries.ids)
    selection = select(_listed([EVERYONE] if names is None else names, known), known)
    if selection.unknown:
        raise UnusableError(redacted(tuple(_unknown(selection.unknown, known)), file.secrets))
    if len(selection.indexes) > MOST_CARDS:
        reason = (
            f"{len(selection.indexes):,} cards are more than a page has room for ({MOST_CARDS:,}); "
            "choose some, as in --modules TG-01..TG-15"
        )
        raise unusable(Place("--modules"), reason)
    return selection.indexes


def _listed(names: Iterable[str], known: Names) -> Iterator[str]:
    """Give names one by one; what is no id itself may hold several, with commas between them."""
    for name in names:
        parts = [name] if name in known else [part.strip() for part in name.split(",")]
        yield from filter(None, parts) if any(parts) else (name,)


def _unknown(names: Iterable[str], known: Names) -> Iterator[Problem]:
    """Say of each name that means nobody who was probably meant."""
    from auditor.models.places import Place
    from auditor.reading.problems import Problem, quoted
    from auditor.reading.quoting import named
    from auditor.survey.likely import MOST_GUESSED, likely_meant

    for number, name in enumerate(names):
        close = likely_meant(name, known) if number < MOST_GUESSED else None
        given = quoted(name) if close else named(name, "what is given")
        hint = f"did you mean {close}?" if close else "write ids or ranges, as in TG-01..TG-15"
        yield Problem(Place("--modules"), f"{given} means no module of this kit; {hint}")
