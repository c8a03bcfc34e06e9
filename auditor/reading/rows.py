"""The cells of a table as the modules of a kit: what many rows share is looked at once."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from auditor.compute.addresses import address_number
from auditor.models.entries import Combinations, Entries
from auditor.models.fleet import Defaults
from auditor.models.forms import read_address, read_hardware_address
from auditor.models.places import Place, Places
from auditor.reading.problems import Problem, UnusableError
from auditor.reading.secrets import Vault, take_secrets
from auditor.reading.table import RawTable
from auditor.reading.validation import MayQuote, misfit, validated

Value = TypeVar("Value")
Cells = Sequence[str | None]


def take_row_secrets(table: RawTable, vault: Vault) -> list[Problem]:
    """Replace every secret of a raw table by a `Secret`; return what is written wrongly."""
    return take_secrets({"module": table.settings}, vault, _places_of_settings(table))


def entries_of_rows(table: RawTable, may_quote: MayQuote) -> Entries:
    """Return the modules of a table whose secrets are taken.

    Raises:
        UnusableError: with every cell that does not fit, in the order of the lines; what many
            rows say is named where it stands first.
    """
    settings: Sequence[Defaults] = ()
    problems: list[Problem] = []
    try:
        settings = _settings(table, may_quote)
    except UnusableError as failure:
        problems += failure.problems
    blank: Cells = [None] * len(table.lines)
    own = {key: table.own.get(key, blank) for key in ("id", "hardware_address", "address")}
    ids = [id or "" for id in own["id"]]
    problems += _nameless(table, own["id"])
    hardware, wrong = _read(table, "hardware_address", own, read_hardware_address, may_quote)
    problems += wrong
    addresses, wrong = _read(table, "address", own, _number, may_quote)
    problems += wrong
    if problems:
        raise UnusableError(sorted(problems, key=lambda problem: problem.place.line or 0))
    holders, notes = (table.own.get(key, blank) for key in ("holder", "note"))
    return Entries(ids, hardware, addresses, holders, notes, settings, table.kinds)


def _settings(table: RawTable, may_quote: MayQuote) -> Sequence[Defaults]:
    raw = {"module": list(table.settings)}
    try:
        return validated(Combinations, raw, _places_of_settings(table), may_quote).module
    except UnusableError as failure:
        raise UnusableError(_counted(failure.problems, table)) from None


def _places_of_settings(table: RawTable) -> Places:
    return Places(table.file, {}, table.places_of_settings())


def _counted(problems: Sequence[Problem], table: RawTable) -> Iterator[Problem]:
    """Give problems of shared settings with the number of further rows that have them."""
    rows = Counter(table.kinds)
    kind_at = {line: kind for kind, line in enumerate(table.first_lines)}
    for problem in problems:
        further = rows[kind_at[problem.place.line or 0]] - 1
        more = f" (and so in {further} more row{'s' if further > 1 else ''})" if further else ""
        yield Problem(problem.place, problem.message + more)


def _nameless(table: RawTable, ids: Cells) -> list[Problem]:
    return [
        Problem(Place(table.file, line, "id"), "is missing")
        for line, id in zip(table.lines, ids, strict=True)
        if id is None
    ]


def _read(
    table: RawTable,
    key: str,
    own: dict[str, Cells],
    read: Callable[[str], Value],
    may_quote: MayQuote,
) -> tuple[list[Value | None], list[Problem]]:
    """Return the values of a column, and what is wrong with those that cannot be read."""
    values: list[Value | None] = []
    problems = []
    for row, cell in enumerate(own[key]):
        try:
            values.append(None if cell is None else read(cell))
        except ValueError as reason:
            place = Place(table.file, table.lines[row], table.headers[(key,)])
            problems.append(misfit(str(reason), cell, place, (key,), may_quote))
    return values, problems


def _number(cell: str) -> int:
    number = address_number(cell)
    return int(read_address(cell)) if number is None else number
