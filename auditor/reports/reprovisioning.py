"""How a kit is brought back to its plan, as a list for the bench and as JSON."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from tabulate import tabulate

from auditor.checks.power import CAUTION
from auditor.reports.as_json import FORMAT, json_text
from auditor.reports.comparison import left_out, unresolved
from auditor.reports.layout import LEAST_WIDTH, USUAL_WIDTH, counted, listed, wrapped
from auditor.tasks.comparison import State, Value
from auditor.tasks.reprovisioning import Kind, Refused, Reprovisioning, Step

MOST_ROWS = 100
_HEADERS = ("step", "module", "at", "do")
_WIDEST_ID = 16
_COLUMN_GAP = 2
_SAVE = "Save every setting to non-volatile memory, and restart a module before you read it back."
_LEVELS = "The cable's logic levels have to be those of the module."


def text(todo: Reprovisioning, *, width: int = USUAL_WIDTH) -> str:
    """Return the numbered list of what to do, and around it what to know before and after."""
    width = max(width, LEAST_WIDTH)
    parts = (
        _head(todo, width),
        _paragraphs(_before(todo), width),
        _table(todo, width),
        _left_over(todo.refused, width),
        _paragraphs(_standings(todo), width),
        _paragraphs((*unresolved(todo.compared), *left_out(todo.compared)), width),
    )
    return "\n\n".join(part for part in parts if part) + "\n"


def as_json(todo: Reprovisioning) -> str:
    """Return the list as JSON, format 1."""
    return json_text(
        {
            "format": FORMAT,
            "over": "network" if todo.over_network else "serial",
            "parking_moves": todo.parking_moves,
            "rate_switches": todo.rate_switches,
            "refused": "; ".join(_refusals(todo.refused)) or None,
            "steps": [_step(number, step) for number, step in enumerate(todo.steps, start=1)],
        }
    )


def _step(number: int, step: Step) -> dict[str, object]:
    return {
        "step": number,
        "id": step.id,
        "kind": step.kind,
        "at_rate": step.at_rate,
        "changes": dict(step.changes),
        "why": step.why,
    }


def _head(todo: Reprovisioning, width: int) -> str:
    compared = todo.compared
    planned = sum(module.state is not State.EXTRA for module in compared.modules)
    found = len(compared.modules) - planned + compared.matched
    name = f"{compared.name}: " if compared.name else ""
    title = f"{name}{counted(planned, 'module')} planned ({compared.planned}), "
    title += f"{found} found ({compared.found})"
    return f"{wrapped(title, width)}\n{wrapped(_counts(todo), width)}"


def _counts(todo: Reprovisioning) -> str:
    if not todo.steps:
        return "Nothing to do." if todo.is_clean else "Nothing that can be done in this run."
    way = "Over the network" if todo.over_network else "Over the serial line"
    numbers = [
        counted(len({step.id for step in todo.steps}), "module"),
        counted(len(todo.steps), "step"),
        counted(todo.parking_moves, "parking move"),
    ]
    if not todo.over_network:
        switches = todo.rate_switches
        numbers.append(f"{switches} rate switch{'' if switches == 1 else 'es'}")
    return f"{way}: {', '.join(numbers)}."


def _before(todo: Reprovisioning) -> Iterator[str]:
    """Give what to know before the first step."""
    sets = [step for step in todo.steps if step.kind is Kind.SET]
    cable = not todo.over_network and any(not step.is_by_hand for step in sets)
    if any(not step.is_by_hand for step in sets):
        yield _SAVE
    if cable or any(step.touches_wiring for step in sets):
        yield f"{CAUTION} {_LEVELS}" if cable else CAUTION


class _Row(NamedTuple):
    """A line of the list: the numbers of its steps, whom it is about, at which rate, and what."""

    numbers: str
    module: str
    at: str
    what: str


def _table(todo: Reprovisioning, width: int) -> str:
    rows = list(_rows(todo))
    if not rows:
        return ""
    shown = rows[:MOST_ROWS]
    lines = [_drawn(shown, width)]
    if len(rows) > MOST_ROWS:
        left = len(todo.steps) - int(shown[-1].numbers.rpartition("-")[2])
        lines.append(wrapped(f"and {counted(left, 'step')} more; --format json has all", width))
    return "\n".join(lines)


def _rows(todo: Reprovisioning) -> Iterator[_Row]:
    """Give a row for each step; a read-back goes with the step before it."""
    steps = iter(enumerate(todo.steps, start=1))
    following = [*todo.steps[1:], None]
    for number, step in steps:
        after = following[number - 1]
        if after is None or after.kind is not Kind.READ_BACK or after.id != step.id:
            yield _Row(str(number), step.id, _way(todo, step), _what(step))
            continue
        next(steps)
        other = after.at_rate != step.at_rate and after.at_rate is not None
        rate = f" at {after.at_rate} Bd" if other else ""
        what = f"{_what(step)}; then read back{rate}"
        yield _Row(f"{number}-{number + 1}", step.id, _way(todo, step), what)


def _way(todo: Reprovisioning, step: Step) -> str:
    if step.is_by_hand:
        return "by hand"
    if todo.over_network:
        return "network"
    return f"{step.at_rate} Bd" if step.at_rate is not None else "its rate"


def _what(step: Step) -> str:
    values = [f"{key} to {_shown(key, value)}" for key, value in step.changes.items()]
    if step.kind is Kind.READ_BACK:
        return f"read back: {_lower(step.why)}"
    if step.kind is Kind.PARK:
        return f"park: set {', '.join(values)} for now; {_lower(step.why)}"
    if "id" in step.changes:
        return f"stick on the label {step.id}: {_lower(step.why.partition(': ')[2])}"
    if step.is_by_hand:
        return f"put right at the board: {', '.join(values)}"
    return f"set {', '.join(values)}"


def _lower(sentence: str) -> str:
    return f"{sentence[0].lower()}{sentence[1:]}".removesuffix(".")


def _shown(key: str, value: Value) -> str:
    """Return a value as it is written; in quotes where blanks matter."""
    if key == "passphrase":
        return "that of the plan"
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return f'"{text}"' if not text or " " in text else text


def _drawn(rows: Sequence[_Row], width: int) -> str:
    left = [(row.numbers, wrapped(row.module, _WIDEST_ID), row.at) for row in rows]
    columns = zip(_HEADERS, *left, strict=False)  # the last header has its column still to come
    room = width - sum(_breadth(column) + _COLUMN_GAP for column in columns)
    right = [wrapped(row.what, room, hanging="  ") for row in rows]
    cells = [(*names, what) for names, what in zip(left, right, strict=True)]
    drawn = tabulate([_HEADERS, *cells], tablefmt="plain", disable_numparse=True)
    return "\n".join(line.rstrip() for line in drawn.splitlines())


def _breadth(cells: Iterable[str]) -> int:
    return max(len(line) for cell in cells for line in cell.splitlines())


def _left_over(refused: Sequence[Refused], width: int) -> str:
    if not refused:
        return ""
    refusals = list(_refusals(refused))
    lines = [wrapped(each, width, "  ", "    ") for each in refusals[:MOST_ROWS]]
    more = len(refusals) - MOST_ROWS
    lines += [f"  and {more} more; --format json has all"] if more > 0 else []
    return "\n".join(["Not in this run:", *lines])


def _refusals(refused: Sequence[Refused]) -> Iterator[str]:
    """Give each reason once, with the modules that it holds for."""
    whom: dict[str, list[str]] = {}
    for each in refused:
        whom.setdefault(each.why, []).append(each.id)
    yield from (f"{listed(ids)}: {why}" for why, ids in whom.items())


def _standings(todo: Reprovisioning) -> Iterator[str]:
    """Give who has last term's passphrase, who is missing or not planned, and who is as planned."""
    ids: Mapping[State, list[str]] = {state: [] for state in State}
    retired: list[str] = []
    for module in todo.compared.modules:
        ids[module.state].append(module.id)
        retired += [module.id] if any(change.is_retired for change in module.changes) else []
    if retired:
        yield f"last term's passphrase is still in: {listed(retired)} ({len(retired)})"
    for state, said in (
        (State.MISSING, "missing, so nothing to do"),
        (State.EXTRA, "not planned, so left alone at their addresses"),
        (State.SAME, "as planned"),
    ):
        if ids[state]:
            yield f"{said}: {listed(ids[state])} ({len(ids[state])})"


def _paragraphs(sentences: Iterable[str], width: int) -> str:
    return "\n".join(wrapped(each, width, hanging="  ") for each in sentences)
