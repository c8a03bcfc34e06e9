"""What was repaired in a kit and what is left for a person, as a text and as JSON."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from typing import TypeVar

from auditor.reading.edits import Plain
from auditor.reports.as_json import FORMAT, json_text
from auditor.reports.layout import LEAST_WIDTH, USUAL_WIDTH, counted, headline, listed, wrapped
from auditor.tasks.repair.repair import Changed, Left, Repair

MOST_ROWS = 100
SOME_IDS = 3
KIT = "the kit"
FILE = "the file"
Item = TypeVar("Item", Changed, Left)


def text(repair: Repair, written: Sequence[str], *, width: int = USUAL_WIDTH) -> str:
    """Return what was changed and what is left; `written` names the new files, none is no file."""
    width = max(width, LEAST_WIDTH)
    parts = [_head(repair, written, width)]
    parts += [_changes(repair.changes, width)] if repair.changes else []
    parts += [_left(repair.left, width)] if repair.left else []
    if any(change.id is not None for change in repair.changes):
        parts.append(wrapped(_NOT_THE_MODULES, width))
    return "\n\n".join(parts) + "\n"


_NOT_THE_MODULES = (
    "This mends the file and no module: set every changed module up from it, save, and read back."
)


def as_json(repair: Repair) -> str:
    """Return the repair as JSON, format 1."""
    changes = [
        {
            **({"kit": repair.title} if change.id is None else {"id": change.id}),
            "key": change.key,
            "from": change.before,
            "to": change.after,
            "check": change.check,
        }
        for change in repair.changes
    ]
    left = [{"id": each.id, "check": each.check, "why": each.why} for each in repair.left]
    return json_text({"format": FORMAT, "changes": changes, "left": left})


def _head(repair: Repair, written: Sequence[str], width: int) -> str:
    of_modules = sum(change.id is not None for change in repair.changes)
    changes = counted(of_modules, "change") if of_modules else "nothing to change"
    left = f"{len(repair.left)} left for a person" if repair.left else "nothing left"
    title = f"{repair.title}: {counted(repair.modules, 'module')}, {changes}, {left}."
    said = f"Written: {' and '.join(written)}." if written else _NOT_WRITTEN
    lines = (title, said) if written or repair.changes else (title,)
    return "\n".join(wrapped(line, width) for line in lines)


_NOT_WRITTEN = "Nothing is written: name a new file with --output NEW."


def _changes(changes: Iterable[Changed], width: int) -> str:
    rows = _alike(changes, lambda change: (change.key, change.before, change.after, change.check))
    return "\n".join(["changed:", *_folded(rows, lambda ids, each: _row(ids, each, width))])


def _row(ids: str, change: Changed, width: int) -> str:
    how = " (inherited)" if change.inherits else ""
    told = f"{ids}  {change.key}: {_values(change)}{how}"
    return headline(told, change.check or "", width)


def _left(left: Iterable[Left], width: int) -> str:
    rows = _alike(left, lambda each: (each.check, each.why, each.remedy))
    return "\n".join(
        ["left for a person:", *_folded(rows, lambda ids, each: _rest(ids, each, width))]
    )


def _rest(ids: str, left: Left, width: int) -> str:
    said = f"{left.why} {left.remedy}"
    return f"{wrapped(f'{ids}  {left.check}', width, hanging='  ')}\n{wrapped(said, width, '  ')}"


def _alike(items: Iterable[Item], told: Callable[[Item], Hashable]) -> list[tuple[str, Item]]:
    """Return the items, those of which the same is told once, with the ids that they are of."""
    groups: dict[Hashable, list[Item]] = defaultdict(list)
    for item in items:
        groups[item.id is None, told(item)].append(item)
    return [(_whom(group), group[0]) for group in groups.values()]


def _whom(items: Sequence[Changed | Left]) -> str:
    ids = [item.id for item in items if item.id is not None]
    if not ids:
        return FILE if isinstance(items[0], Changed) else KIT
    return ids[0] if len(ids) == 1 else f"{listed(ids, SOME_IDS)} ({len(ids)})"


def _folded(rows: Sequence[tuple[str, Item]], drawn: Callable[[str, Item], str]) -> Iterator[str]:
    yield from (drawn(ids, item) for ids, item in rows[:MOST_ROWS])
    if len(rows) > MOST_ROWS:
        yield f"and {len(rows) - MOST_ROWS} more; --format json has all"


def _values(change: Changed) -> str:
    """Return old and new value; in quotes where blanks matter."""
    values = _shown(change.before), _shown(change.after)
    if any(not value or " " in value for value in values):
        values = f'"{values[0]}"', f'"{values[1]}"'
    return f"{values[0]} -> {values[1]}"


def _shown(value: Plain | None) -> str:
    if value is None:
        return "none"
    return str(value).lower() if isinstance(value, bool) else str(value)
