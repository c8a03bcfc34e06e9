"""What of a kit is not as planned, as a text and as JSON."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from tabulate import tabulate

from auditor.reports.as_json import FORMAT, json_text
from auditor.reports.layout import LEAST_WIDTH, USUAL_WIDTH, counted, listed, wrapped
from auditor.tasks.comparison import Change, Compared, Comparison, State, Value

_HEADERS = ("module", "state", "planned -> found")
_WIDEST_ID = 16
_COLUMN_GAP = 2
_FEWEST_ALIKE = 3
"""So many modules in a row that drifted alike are easier to read as one."""
MOST_ROWS = 100
SOME_IDS = 3
_BREAKS = " breaks\N{NO-BREAK SPACE}"
"""So that no line ends before the stage that is broken."""


def text(comparison: Comparison, *, width: int = USUAL_WIDTH) -> str:
    """Return the counts, a row for each module that is not as planned, and what was left out."""
    width = max(width, LEAST_WIDTH)
    notes = [wrapped(note, width) for note in (*unresolved(comparison), *left_out(comparison))]
    parts = (_head(comparison, width), _table(comparison, width), "\n".join(notes))
    return "\n\n".join(part for part in parts if part) + "\n"


def unresolved(comparison: Comparison) -> Iterator[str]:
    """Give the sentence that says which passphrases could not be read, so not compared."""
    if comparison.unresolved:
        yield f"Passphrases were not all compared: {'; '.join(comparison.unresolved)}."


def left_out(comparison: Comparison) -> Iterator[str]:
    """Give a sentence for what was left unread on purpose, and one for what was not read out."""
    if comparison.without_secrets:
        yield "Passphrases were not read: a wrong one is not found here."
    unread = [
        key if number == comparison.matched else f"{key} ({number} of {comparison.matched})"
        for key, number in comparison.not_read.items()
    ]
    if unread:
        yield f"Planned and not read out, so not compared: {', '.join(unread)}."


def as_json(comparison: Comparison) -> str:
    """Return the comparison as JSON, format 1."""
    modules = [_module(module) for module in comparison.modules]
    return json_text({"format": FORMAT, "modules": modules})


def _module(module: Compared) -> dict[str, object]:
    return {
        "id": module.id,
        "hardware_address": module.hardware_address,
        "state": module.state,
        "changes": [
            {
                "key": change.key,
                "planned": change.planned,
                "found": change.found,
                "breaks": change.breaks,
            }
            for change in module.changes
        ],
    }


def _head(comparison: Comparison, width: int) -> str:
    states = Counter(module.state for module in comparison.modules)
    planned = len(comparison.modules) - states[State.EXTRA]
    name = f"{comparison.name}: " if comparison.name else ""
    title = f"{name}{counted(planned, 'module')} planned ({comparison.planned}), "
    title += f"{comparison.matched + states[State.EXTRA]} found ({comparison.found})"
    counts = ", ".join(f"{states[state]} {state}" for state in State if states[state])
    return f"{wrapped(title, width)}\n{counts}."


class _Row(NamedTuple):
    """Modules of which the same is told, and what it is."""

    ids: Sequence[str]
    state: State
    told: Sequence[str]


def _table(comparison: Comparison, width: int) -> str:
    """Return a row for each module that is not as planned, and one line for all that are."""
    same = [module.id for module in comparison.modules if module.state is State.SAME]
    rows = _rows(comparison)
    lines = list(_drawn(rows[:MOST_ROWS], width))
    left = sum(len(row.ids) for row in rows[MOST_ROWS:])
    lines += [wrapped(f"and {left} more; --format json has all", width)] if left else []
    lines += [wrapped(f"same: {listed(same)} ({len(same)})", width, hanging="  ")] if same else []
    return "\n".join(lines)


def _drawn(rows: Sequence[_Row], width: int) -> Iterator[str]:
    if not rows:
        return
    left = [(wrapped(_whom(row.ids), _WIDEST_ID), str(row.state)) for row in rows]
    columns = zip(_HEADERS, *left, strict=False)  # the last header has its column still to come
    room = width - sum(_breadth(column) + _COLUMN_GAP for column in columns)
    right = ["\n".join(_in_lines(line, room) for line in row.told) for row in rows]
    cells = [(*names, told) for names, told in zip(left, right, strict=True)]
    drawn = tabulate([_HEADERS, *cells], tablefmt="plain", disable_numparse=True)
    yield from (line.rstrip() for line in drawn.splitlines())


def _in_lines(told: str, room: int) -> str:
    return wrapped(told, room, hanging="  ").replace(_BREAKS, " breaks ")


def _breadth(cells: Iterable[str]) -> int:
    return max(len(line) for cell in cells for line in cell.splitlines())


def _whom(ids: Sequence[str]) -> str:
    return ids[0] if len(ids) == 1 else f"{listed(ids, SOME_IDS)} ({len(ids)})"


def _rows(comparison: Comparison) -> list[_Row]:
    """Return the rows; modules of which the same is told share one.

    They do so where they are next to each other, and in a large kit wherever they are.
    """
    labels = _labels(comparison.modules)
    rows = [
        _Row((module.id,), module.state, tuple(_told(module, labels)))
        for module in comparison.modules
        if module.state is not State.SAME
    ]
    if len(rows) > MOST_ROWS:
        return _joined(rows)
    neighbours = (list(group) for _, group in groupby(rows, key=lambda row: row[1:]))
    return [
        row
        for group in neighbours
        for row in (group if len(group) < _FEWEST_ALIKE else _joined(group))
    ]


def _joined(rows: Iterable[_Row]) -> list[_Row]:
    alike: dict[tuple[State, Sequence[str]], list[str]] = {}
    for row in rows:
        alike.setdefault((row.state, row.told), []).extend(row.ids)
    return [_Row(ids, state, told) for (state, told), ids in alike.items()]


def _labels(modules: Iterable[Compared]) -> dict[str, str]:
    """Return on which board each id was found, in words, that is not on the planned one."""
    labels: dict[str, str] = {}
    for module in modules:
        if module.state is State.RELABELLED:
            labels.setdefault(str(module.changes[0].found), f"on the board planned as {module.id}")
        elif module.state is State.EXTRA:
            labels.setdefault(module.id, "on a board that is not planned")
    return labels


def _told(module: Compared, labels: dict[str, str]) -> Iterator[str]:
    if module.state is State.MISSING:
        spot = labels.get(module.id)
        yield f"not found; its label is {spot}" if spot else "not found"
    elif module.state is State.EXTRA:
        address = f", {module.hardware_address}" if module.hardware_address else ""
        yield f"not planned ({module.where}{address})"
    yield from map(_change, module.changes)


def _change(change: Change) -> str:
    """Return a change in a line; in quotes where blanks matter."""
    retired = " (from last term)" if change.is_retired else ""
    breaks = f",{_BREAKS}{change.breaks}" if change.breaks else ""
    values = (_shown(change.planned), _shown(change.found))
    if any(not text or " " in text for text in values):
        values = (f'"{values[0]}"', f'"{values[1]}"')
    return f"{change.key}: {values[0]} -> {values[1]}{retired}{breaks}"


def _shown(value: Value) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)
