"""A section for modules that stand alike: their climb, what was found, and what to do."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from auditor.findings import AuditResult, Figure, Finding, ModuleResult, Stage, State
from auditor.models.words import Severity
from auditor.reports.grouping import Group, groups, waived_groups
from auditor.reports.layout import listed
from auditor.reports.page.alike import Kind, Member
from auditor.reports.page.matrix import Cell, cell
from auditor.reports.sentences import in_words

MOST_OF_A_CHECK = 10
"""So many findings of one check in a section; more of the same are counted."""
MOST_FINDINGS = 400
"""So many findings on modules are written out; of the others the matrix tells."""
MOST_PLACES = 5
MOST_FIGURES_IN_A_LIST = 12


@dataclass(frozen=True)
class Entry:
    """A finding as the page shows it; `whom` names the modules where that is not clear."""

    check: str
    severity: Severity
    stage: Stage
    shows_at: Stage | None
    whom: str
    message: str
    remedy: str
    source: str
    figures: tuple[tuple[str, str], ...]
    places: tuple[str, ...]
    more_places: int


@dataclass(frozen=True)
class Acceptance:
    """A finding that was accepted on purpose, whose, why, and until when."""

    check: str
    whom: str
    reason: str
    until: str | None


@dataclass(frozen=True)
class Link:
    """A place on the page, and what it is called."""

    href: str
    text: str


@dataclass(frozen=True)
class Section:
    """Modules that stand alike, with all that is known of them.

    `climb` is empty where every stage is clear; `more` counts, by check, the findings that are
    left out.
    """

    anchor: str
    heading: str
    label: str
    count: int
    members: tuple[Member, ...]
    verdict: Cell
    stops_at: Stage | None
    indicator: str | None
    climb: tuple[tuple[Stage, Cell], ...]
    entries: tuple[Entry, ...]
    more: tuple[tuple[str, int], ...]
    accepted: tuple[Acceptance, ...]
    shared: tuple[Link, ...]
    searched: str


def sections(kinds: Iterable[Kind], result: AuditResult) -> tuple[Section, ...]:
    """Return the sections of modules that stand alike; of very many findings the first are shown.

    What has no findings is shown in any case.
    """
    written: list[Section] = []
    findings = 0
    for kind in kinds:
        if findings < MOST_FINDINGS or not kind.checks:
            written.append(section(kind, result))
            findings += len(written[-1].entries)
    return tuple(written)


def section(kind: Kind, result: AuditResult) -> Section:
    """Return the section of modules that stand alike."""
    own = replace(result, modules=kind.modules, kit_findings=())
    entries, more = _folded(groups(own))
    module = kind.first
    return Section(
        anchor=kind.anchor,
        heading=module.id if len(kind.modules) == 1 else f"{len(kind.modules):,} modules alike",
        label=kind.label,
        count=len(kind.modules),
        members=kind.members,
        verdict=Cell(module.verdict, in_words(module.verdict)),
        stops_at=module.stops_at,
        indicator=module.expected_indicator,
        climb=_climb(module),
        entries=tuple(entry(group, len(kind.modules)) for group in entries),
        more=tuple(more.items()),
        accepted=acceptances(own),
        shared=tuple(
            Link(kit_anchor(number), result.kit_findings[number].check) for number in kind.shared
        ),
        searched=kind.searched,
    )


def _climb(module: ModuleResult) -> tuple[tuple[Stage, Cell], ...]:
    """Return how a module stands at each stage; nothing where all of them are clear."""
    if set(module.stages.values()) == {State.CLEAR}:
        return ()
    return tuple((stage, cell(state)) for stage, state in module.stages.items())


def kit_entries(result: AuditResult) -> tuple[tuple[str, Entry], ...]:
    """Return the findings of the kit that count, gravest first, with their places on the page."""
    counting = [pair for pair in enumerate(result.kit_findings) if pair[1].counts]
    gravest_first = sorted(counting, key=lambda pair: -pair[1].severity.rank)
    return tuple(
        (kit_anchor(number).removeprefix("#"), _of_kit(finding, result))
        for number, finding in gravest_first
    )


def kit_anchor(number: int) -> str:
    """Return a link to a finding of the kit, by its position among them."""
    return f"#kit-{number + 1}"


def acceptances(result: AuditResult) -> tuple[Acceptance, ...]:
    """Return what was accepted on purpose."""
    return tuple(map(_acceptance, waived_groups(result)))


def entry(group: Group, of: int) -> Entry:
    """Return a finding as it is shown in a section of so many modules."""
    some = len(group.modules) < of
    return _entry(group.finding, listed(group.modules) if some else "", map(str, group.places))


def _of_kit(finding: Finding, result: AuditResult) -> Entry:
    everyone = len(finding.concerns) == len(result.modules)
    ids = (result.modules[position].id for position in finding.concerns)
    whom = "all modules" if everyone and finding.concerns else listed(ids)
    return _entry(finding, whom, map(str, finding.where))


def _entry(finding: Finding, whom: str, places: Iterable[str]) -> Entry:
    known = tuple(dict.fromkeys(places))
    return Entry(
        check=finding.check,
        severity=finding.severity,
        stage=finding.stage,
        shows_at=None if finding.shows_at is finding.stage else finding.shows_at,
        whom=whom,
        message=finding.message,
        remedy=finding.remedy,
        source=finding.source,
        figures=tuple((_name(key), figure(value)) for key, value in finding.figures.items()),
        places=known[:MOST_PLACES],
        more_places=len(known[MOST_PLACES:]),
    )


def _name(key: str) -> str:
    return key.replace("_", " ")


def figure(value: Figure) -> str:
    """Return a figure as people read it."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        left = len(value) - MOST_FIGURES_IN_A_LIST
        shown = ", ".join(map(str, value[:MOST_FIGURES_IN_A_LIST]))
        return f"{shown} and {left:,} more" if left > 0 else shown
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _folded(found: Iterable[Group]) -> tuple[list[Group], Counter[str]]:
    """Return the first few findings of each check, and how many more there are."""
    seen: Counter[str] = Counter()
    shown, left = [], Counter[str]()
    for group in found:
        check = group.finding.check
        seen[check] += 1
        if seen[check] <= MOST_OF_A_CHECK:
            shown.append(group)
        else:
            left[check] += len(group.modules)
    return shown, left


def _acceptance(group: Group) -> Acceptance:
    waived = group.finding.waived
    return Acceptance(
        check=group.finding.check,
        whom=listed(group.modules) or "the kit",
        reason=waived.reason if waived else "",
        until=waived.until.isoformat() if waived and waived.until else None,
    )
