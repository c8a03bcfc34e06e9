"""The audit as a text: what a person reads in a terminal."""

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import NamedTuple

from tabulate import tabulate

from auditor.findings import (
    NETWORK_CLIMB,
    AuditResult,
    Finding,
    ModuleResult,
    NotChecked,
    Stage,
    Standing,
    State,
    Verdict,
    concerning,
)
from auditor.models.words import Severity
from auditor.reports.colours import painted
from auditor.reports.grouping import Group, groups, waived_groups
from auditor.reports.layout import (
    LEAST_WIDTH,
    USUAL_WIDTH,
    counted,
    headline,
    listed,
    wrapped,
)
from auditor.reports.sentences import in_words, partial, shortage, title
from auditor.reports.summary import severity_counts, verdict_counts
from auditor.survey.selection import MOST_RUNS

_HEADERS = ("module", "verdict", "stops at", "indicator", "findings")
_WIDEST_ID = 16
_WIDEST_INDICATOR = 15
_LEAST_FINDINGS = 20
_COLUMN_GAP = 2
MOST_ROWS = 100
MOST_PARAGRAPHS = 100
SOME_OF_A_CHECK = 10
SOME_IDS = 3
_FEWEST_ALIKE = 3
"""So many modules in a row that stand alike are easier to read as one."""


def text(result: AuditResult, *, width: int = USUAL_WIDTH, colour: bool = False) -> str:
    """Return the report as lines of at most `width` characters, where their content allows it.

    `colour` puts verdicts and severities in colour, with the sequences that terminals obey.
    """
    width = max(width, LEAST_WIDTH)
    parts = (
        _summary(result, width, colour),
        _table(result, width, colour),
        _not_checked(result.not_checked, width),
        _found(result, width, colour),
        _accepted(result, width),
    )
    return "\n\n".join(part for part in parts if part) + "\n"


def _summary(result: AuditResult, width: int, colour: bool) -> str:
    counts = ((each, number) for each, number in verdict_counts(result).items() if number)
    verdicts = ", ".join(
        f"{number} {painted(in_words(each), each, colour=colour)}" for each, number in counts
    )
    lines = [wrapped(title(result), width), f"{verdicts}."]
    lines += [wrapped(sentence, width) for sentence in (*partial(result), *shortage(result))]
    return "\n".join(lines)


def _table(result: AuditResult, width: int, colour: bool) -> str:
    """Return a row for each module that is not ready, and one line for all that are.

    Modules in a row that stand alike share one.
    """
    ready = [module.id for module in result.modules if module.standing.verdict is Verdict.READY]
    lines = [*_rows_in_columns(result, width, colour)]
    if ready:
        lines.append(wrapped(f"ready: {listed(ready)} ({len(ready)})", width, hanging="  "))
    return "\n".join(lines)


def _rows_in_columns(result: AuditResult, width: int, colour: bool) -> Iterator[str]:
    rows = list(_rows(result))
    if not rows:
        return
    room = _room_for_findings([row.module for row in rows], width)
    cells = [_HEADERS, *(_cells(row.module, row.names, room, colour) for row in rows)]
    drawn = tabulate(cells, tablefmt="plain", disable_numparse=True)
    yield from (line.rstrip() for line in drawn.splitlines())


class _Row(NamedTuple):
    """A module that is not ready, or some that stand alike, and the names of the findings."""

    module: ModuleResult
    names: str


def _rows(result: AuditResult) -> Iterator[_Row]:
    """Give each module that is not ready; those that stand alike share a row.

    They do so where they are next to each other, and in a large kit wherever they are.
    """
    rows = _unready(result)
    looks = _Looks()
    if len(rows) > MOST_ROWS:
        alike: dict[tuple[object, ...], list[_Row]] = {}
        for row in rows:
            alike.setdefault(looks.of(row), []).append(row)
        yield from (_joined(group, SOME_IDS) for group in alike.values())
        return
    for _, neighbours in groupby(rows, key=looks.of):
        group = list(neighbours)
        yield from group if len(group) < _FEWEST_ALIKE else [_joined(group)]


def _joined(group: list[_Row], most: int = MOST_RUNS) -> _Row:
    """Return rows that look the same but for the id as one."""
    first, ids = group[0], [row.module.id for row in group]
    if len(ids) == 1:
        return first
    return _Row(first.module._replace(id=f"{listed(ids, most)} ({len(ids)})"), first.names)


class _Looks:
    """What rows share that look the same but for the id, asked once of what stands alike."""

    def __init__(self) -> None:
        self._of_standing: dict[int, tuple[object, ...]] = {}

    def of(self, row: _Row) -> tuple[object, ...]:
        """Return the look of a row."""
        standing = row.module.standing
        look = self._of_standing.get(id(standing))
        if look is None:
            look = self._of_standing[id(standing)] = _look(standing)
        return row.names, look


def _look(standing: Standing) -> tuple[object, ...]:
    unknown = frozenset(stage for stage, at in standing.stages.items() if at is State.UNKNOWN)
    return standing.verdict, standing.stops_at, standing.expected_indicator, unknown


def _unready(result: AuditResult) -> list[_Row]:
    """Return every module that is not ready, with the names of its findings and the kit's."""
    of_kit = [f"{finding.check} (kit)" for finding in result.kit_findings]
    known: dict[tuple[int, tuple[int, ...]], str] = {}
    rows = []
    shared = concerning(result.kit_findings, len(result.modules))
    for module, numbers in zip(result.modules, shared, strict=True):
        standing = module.standing
        if standing.verdict is not Verdict.READY:
            names = known.get((id(standing), numbers))
            if names is None:
                of_all = [of_kit[number] for number in numbers]
                names = known[id(standing), numbers] = _names(standing, of_all)
            rows.append(_Row(module, names))
    return rows


def _names(standing: Standing, of_kit: Iterable[str]) -> str:
    own = [finding for finding in standing.findings if finding.counts]
    own.sort(key=lambda finding: -finding.severity.rank)
    return ", ".join(dict.fromkeys((*(finding.check for finding in own), *of_kit)))


def _room_for_findings(modules: Iterable[ModuleResult], width: int) -> int:
    """Return the characters that the other columns leave to the last one."""
    rows = [_left_cells(module) for module in modules]
    left = [
        max(len(header), *(len(line) for row in rows for line in row[column].splitlines() or [""]))
        for column, header in enumerate(_HEADERS[:-1])
    ]
    return max(_LEAST_FINDINGS, width - sum(left) - _COLUMN_GAP * len(left))


def _left_cells(module: ModuleResult) -> tuple[str, str, str, str]:
    return (
        wrapped(module.id, _WIDEST_ID),
        in_words(module.verdict),
        module.stops_at or "",
        wrapped(module.expected_indicator or "", _WIDEST_INDICATOR),
    )


def _cells(module: ModuleResult, names: str, room: int, colour: bool) -> tuple[str, ...]:
    id, verdict, stops_at, indicator = _left_cells(module)
    verdict = painted(verdict, module.verdict, colour=colour)
    return id, verdict, stops_at, indicator, _findings_cell(module, names, room)


def _findings_cell(module: ModuleResult, names: str, room: int) -> str:
    """Return the names where two lines hold them, how many of each severity where not."""
    if module.verdict is Verdict.UNKNOWN:
        unknown = [stage for stage in NETWORK_CLIMB if module.stages[stage] is State.UNKNOWN]
        return wrapped(f"not known: {', '.join(unknown)}", room)
    in_lines = wrapped(names, room)
    return in_lines if in_lines.count("\n") < 2 else _tally(module)


def _tally(module: ModuleResult) -> str:
    severities = [finding.severity for finding in module.findings if finding.counts]
    return ", ".join(
        counted(severities.count(severity), severity)
        for severity in Severity
        if severity in severities
    )


def _not_checked(entries: Iterable[NotChecked], width: int) -> str:
    lines = [wrapped(_gap(entry), width, "  ", "    ") for entry in entries]
    return "\n".join(["not checked:", *lines]) if lines else ""


def _gap(entry: NotChecked) -> str:
    whom = f" ({listed(entry.modules)})" if entry.modules else ""
    return f"{entry.stage}: {entry.reason}{whom}"


def _found(result: AuditResult, width: int, colour: bool) -> str:
    """Return every finding that counts, with its way out, under a line that counts them."""
    counts = severity_counts(result)
    if not counts:
        extent = ", as far as it was checked" if result.not_checked else ""
        return "" if result.findings else f"Nothing found{extent}."
    tally = ", ".join(counted(number, severity) for severity, number in counts.items())
    ids = [module.id for module in result.modules]
    shown, left = _folded(groups(result))
    paragraphs = [_paragraph(group, ids, width, colour) for group in shown]
    paragraphs += [_left_out(left, width)] if left else []
    return "\n\n".join([f"{tally}:", *paragraphs])


def _folded(found: list[Group]) -> tuple[list[Group], Counter[str]]:
    """Return what is shown of the findings, and how many of each check are left out.

    A few of each check are, where all together are more than anybody reads.
    """
    if len(found) <= MOST_PARAGRAPHS:
        return found, Counter()
    seen: Counter[str] = Counter()
    shown, left = [], Counter[str]()
    for group in found:
        seen[group.finding.check] += 1
        if seen[group.finding.check] <= SOME_OF_A_CHECK:
            shown.append(group)
        else:
            left[group.finding.check] += max(1, len(group.modules))
    return shown, left


def _left_out(left: Counter[str], width: int) -> str:
    counts = ", ".join(f"{number} {check}" for check, number in left.items())
    return wrapped(f"and more of the same: {counts}; --format csv or json has all", width)


def _paragraph(group: Group, ids: list[str], width: int, colour: bool) -> str:
    finding = group.finding
    head = headline(f"{_whom(group)}  {_what(finding)}", _where(group), width)
    if colour:
        severity = painted(finding.severity, finding.severity, colour=True)
        head = head.replace(f": {finding.severity} at", f": {severity} at", 1)
    concerned = [ids[index] for index in finding.concerns]
    lines = [finding.message]
    lines += [f"This concerns {listed(concerned)}."] if concerned else []
    lines.append(f"{finding.remedy}  [{finding.source}]")
    return "\n".join([head, *(wrapped(line, width, "  ") for line in lines)])


def _whom(group: Group) -> str:
    if not group.modules:
        return "the kit"
    count = f" ({len(group.modules)})" if len(group.modules) > 1 else ""
    return listed(group.modules) + count


def _what(finding: Finding) -> str:
    return f"{finding.check}: {finding.severity} at {finding.stage}{_later(finding)}"


def _later(finding: Finding) -> str:
    shows_at: Stage = finding.shows_at
    return "" if shows_at is finding.stage else f", shows at {shows_at}"


def _where(group: Group) -> str:
    places = [str(place) for place in group.places]
    if not places:
        return ""
    return places[0] if len(places) == 1 else f"{places[0]} and {len(places) - 1} more"


def _accepted(result: AuditResult, width: int) -> str:
    lines = [wrapped(_acceptance(group), width, "  ", "    ") for group in waived_groups(result)]
    return "\n".join(["accepted on purpose:", *lines]) if lines else ""


def _acceptance(group: Group) -> str:
    waived = group.finding.waived
    until = f" (until {waived.until})" if waived and waived.until else ""
    reason = waived.reason if waived else ""
    return f"{_whom(group)}  {group.finding.check}: {reason}{until}"
