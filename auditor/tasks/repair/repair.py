"""The smallest set of changes with which a kit audits clean, and what is left for a person."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from ipaddress import IPv4Address, IPv4Network
from typing import Any

from auditor.findings import AuditResult, Finding
from auditor.models.fleet_file import FleetFile
from auditor.models.secrets import Secret
from auditor.models.words import Severity
from auditor.reading.edits import Plain
from auditor.survey.kit import Survey
from auditor.tasks.repair.mending import effective, mended
from auditor.tasks.repair.reasons import why_left
from auditor.tasks.repair.trial import Change, Changes, Spot, with_changes, without

MOST_ROUNDS = 8
"""What is mended may show what it hid, and so on; no kit needs so many rounds."""
MOST_SINGLE = 24
"""Up to so many changes are tried one by one; of more, equal ones together."""

Audited = Callable[[FleetFile], AuditResult]
Trouble = tuple[int | None, str]
"""A check that fires on the module at a position, or on the kit."""
Troubles = Mapping[Trouble, int]
"""How grave each is."""


@dataclass(frozen=True)
class Changed:
    """A key that gets another value; `inherits` says that its own was taken out for that.

    It is of a module by its id, or of the file itself: then there is neither an id nor a check.
    """

    id: str | None
    key: str
    before: Plain | None
    after: Plain | None
    inherits: bool
    check: str | None


@dataclass(frozen=True)
class Left:
    """A fault or risk that stays, on a module or (no id) the kit, and why it is for a person."""

    id: str | None
    check: str
    why: str
    remedy: str


@dataclass(frozen=True)
class Edited:
    """What is to be written of a key of the module at a position; None is nothing."""

    index: int
    key: str
    value: Plain | None


@dataclass(frozen=True)
class Repair:
    """What is changed, what is left, and the new values as they are to be written."""

    title: str
    modules: int
    changes: tuple[Changed, ...]
    left: tuple[Left, ...]
    edits: tuple[Edited, ...]


def repair(file: FleetFile, audited: Audited) -> Repair:
    """Return the changes that mend what can be mended of a kit, none of which could be spared.

    `audited` says what is found of a fleet.
    """
    bench = _Bench(file, audited)
    changes = bench.settled()
    last = bench.result(changes)
    before, after = (Survey(each, last.checked_at.date()) for each in (file, bench.file(changes)))
    return Repair(
        title=last.title,
        modules=len(last.modules),
        changes=tuple(_changed(spot, change, before, after) for spot, change in _ordered(changes)),
        left=tuple(_left(last, after, bench.brought)),
        edits=tuple(
            Edited(spot.at, spot.key, plain(spot.key, change.value))
            for spot, change in _ordered(changes)
        ),
    )


class _Bench:
    """A kit on which changes are tried: every trial is a whole audit."""

    def __init__(self, file: FleetFile, audited: Audited) -> None:
        self._file = file
        self._audited = audited
        self._known: dict[frozenset[tuple[Spot, Change]], Troubles] = {}
        self._before = self._troubles({})
        self.brought: dict[Spot, frozenset[str]] = {}

    def file(self, changes: Changes) -> FleetFile:
        """Return the kit with some changes."""
        return with_changes(self._file, changes) if changes else self._file

    def result(self, changes: Changes) -> AuditResult:
        """Return what is found of the kit with some changes."""
        return self._audited(self.file(changes))

    def _troubles(self, changes: Changes) -> Troubles:
        key = frozenset(changes.items())
        if key not in self._known:
            self._known[key] = troubles(self.result(changes))
        return self._known[key]

    def settled(self) -> dict[Spot, Change]:
        """Return the changes after which nothing more could be mended.

        What was taken back may leave another way out, and without a plan each change moves what
        most say.
        """
        changes: dict[Spot, Change] = {}
        for _ in range(MOST_ROUNDS):
            before = changes
            changes = self.smallest(self.harmless(self.proposed(before)))
            if changes == before:
                break
        return changes

    def proposed(self, start: Changes) -> dict[Spot, Change]:
        """Return everything that would mend a finding, and those that come up behind it."""
        changes = dict(start)
        for _ in range(MOST_ROUNDS):
            result = self.result(changes)
            survey = Survey(self.file(changes), result.checked_at.date())
            known = len(changes)
            for spot, change in mended(result, survey):
                changes.setdefault(spot, change)
            if len(changes) == known:
                break
        return changes

    def harmless(self, changes: dict[Spot, Change]) -> dict[Spot, Change]:
        """Return the changes that bring no fault and no risk that was not there before."""
        whole = dict(changes)
        while changes and (harm := self._harm(changes)):
            harmed = {index for index, _ in harm}
            guilty = [spot for spot in changes if spot.at in harmed] or list(changes)
            changes = without(changes, guilty)
        for unit in _units(without(whole, changes)):
            more = changes | {spot: whole[spot] for spot in unit}
            harm = self._harm(more)
            if harm:
                checks = frozenset(check for _, check in harm)
                self.brought.update(dict.fromkeys(unit, checks))
            elif self._worse(changes, than=more):
                changes = more
        return changes

    def smallest(self, changes: dict[Spot, Change]) -> dict[Spot, Change]:
        """Return the changes without each of which something more would be found."""
        for unit in (*_by_check(changes), *_units(changes)):
            fewer = without(changes, unit)
            if not self._worse(fewer, than=changes):
                changes = fewer
        return changes

    def _harm(self, changes: Changes) -> set[Trouble]:
        """Return the faults and risks that there are with changes, and were not without."""
        return {
            trouble
            for trouble, rank in self._troubles(changes).items()
            if rank >= Severity.RISK.rank and rank > self._before.get(trouble, 0)
        }

    def _worse(self, changes: Changes, *, than: Changes) -> bool:
        """Say whether something is found with changes that is not, or is less, with others."""
        other, found = self._troubles(than), self._troubles(changes).items()
        return any(rank > other.get(trouble, 0) for trouble, rank in found)


def troubles(result: AuditResult) -> Troubles:
    """Return what counts of all that was found, each check on each module once."""
    ranks: dict[Trouble, int] = defaultdict(int)
    of_modules = (
        (index, finding)
        for index, module in enumerate(result.modules)
        for finding in module.standing.findings
    )
    for index, finding in (*of_modules, *((None, each) for each in result.kit_findings)):
        if finding.counts:
            spot = index, finding.check
            ranks[spot] = max(ranks[spot], finding.severity.rank)
    return ranks


def _units(changes: Changes) -> list[tuple[Spot, ...]]:
    """Return the changes that are tried together, in the order of the file."""
    if len(changes) <= MOST_SINGLE:
        return [(spot,) for spot, _ in _ordered(changes)]
    alike: dict[tuple[str, Any, str], list[Spot]] = defaultdict(list)
    for spot, change in _ordered(changes):
        value = None if spot.key == "address" else change.value
        alike[spot.key, value, change.check].append(spot)
    return [tuple(spots) for spots in alike.values()]


def _by_check(changes: Changes) -> list[tuple[Spot, ...]]:
    """Return the changes for each check, which together may come to nothing: two who swap."""
    alike: dict[str, list[Spot]] = defaultdict(list)
    for spot, change in _ordered(changes):
        alike[change.check].append(spot)
    return [tuple(spots) for spots in alike.values()]


def _ordered(changes: Changes) -> list[tuple[Spot, Change]]:
    return sorted(changes.items(), key=lambda item: item[0])


def plain(key: str, value: Any) -> Plain | None:
    """Return a value as a file holds it."""
    if key == "netmask" and value is not None:
        return str(IPv4Network((0, value)).netmask)
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    return str(value) if isinstance(value, str | IPv4Address) else value


def _changed(spot: Spot, change: Change, before: Survey, after: Survey) -> Changed:
    old, new = (effective(spot.key, survey.modules[spot.at]) for survey in (before, after))
    is_secret = spot.key == "passphrase"
    return Changed(
        id=before.entries.ids[spot.at],
        key=spot.key,
        before="differs" if is_secret else plain(spot.key, old),
        after=("set" if isinstance(new, Secret) else None) if is_secret else plain(spot.key, new),
        inherits=change.value is None,
        check=change.check,
    )


def _left(
    result: AuditResult, survey: Survey, brought: dict[Spot, frozenset[str]]
) -> Iterator[Left]:
    """Give the faults and risks that are left, those of the kit first."""
    for finding in filter(_stays, result.kit_findings):
        yield Left(None, finding.check, why_left(finding, None, survey, brought), finding.remedy)
    for index, module in enumerate(result.modules):
        for finding in filter(_stays, module.standing.findings):
            why = why_left(finding, survey.modules[index], survey, brought)
            yield Left(module.id, finding.check, why, finding.remedy)


def _stays(finding: Finding) -> bool:
    return finding.counts and finding.severity is not Severity.ADVICE
