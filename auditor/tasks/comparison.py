"""What drifted: a planned kit beside what was read out of its modules."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from fractions import Fraction
from ipaddress import IPv4Address
from typing import Any

from auditor.compute.matching import Doubt, Identity, match
from auditor.findings import AuditResult, ModuleResult, Stage
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place
from auditor.models.quantities import shown_duration
from auditor.models.secrets import Secret, Standing
from auditor.models.words import Severity
from auditor.reading.problems import Problem, UnusableError, quoted
from auditor.survey.module import Modules
from auditor.tasks.differences import Difference, Sides
from auditor.tasks.substitution import with_found

Value = str | int | float | bool
Audited = Callable[[FleetFile], AuditResult]
Breaks = Mapping[tuple[str, int], Stage]
"""The stage at which a key stops the planned module at a position."""


class State(StrEnum):
    """How a module stands beside its plan."""

    SAME = "same"
    DRIFTED = "drifted"
    RELABELLED = "relabelled"
    MISSING = "missing"
    EXTRA = "extra"


@dataclass(frozen=True)
class Change:
    """A key that was found otherwise than planned; of a secret no more than that it differs.

    `breaks` is the stage at which the found value stops the module in the planned network, None
    where it stops nothing; `is_retired` says that it is a passphrase of the planned network that
    was retired.
    """

    key: str
    planned: Value
    found: Value
    breaks: Stage | None = None
    is_retired: bool = False


@dataclass(frozen=True)
class Compared:
    """A module under its planned id, or under the one that was found where it is not planned.

    `where` is its line among those that were found; that of the plan where it is missing.
    """

    id: str
    hardware_address: str | None
    state: State
    changes: tuple[Change, ...]
    where: Place


@dataclass(frozen=True)
class Comparison:
    """The planned modules in their order, after them those that were found and not planned.

    `not_read` counts by key from how many of the `matched` modules something that is planned was
    not read out; `unresolved` says why passphrases could not be compared, `without_secrets` that
    they were left unread on purpose.
    """

    name: str | None
    planned: str
    found: str
    modules: tuple[Compared, ...]
    matched: int
    not_read: Mapping[str, int]
    unresolved: tuple[str, ...]
    without_secrets: bool

    @property
    def differs(self) -> bool:
        """Whether anything is not as planned."""
        return any(module.state is not State.SAME for module in self.modules)


def comparison(planned: FleetFile, found: FleetFile, audited: Audited) -> Comparison:
    """Return what of a kit is not as planned; `audited` audits a kit, to tell what breaks.

    Raises:
        UnusableError: an entry stands twice, so that nobody can say which module it is.
    """
    sides = Sides(planned, found)
    pairs = matched(sides, planned, found)
    differences = {p: sides.differences(p, f) for p, f in pairs.items()}
    breaks = _breaks(planned, found, pairs, differences, audited)
    known, unread = frozenset(pairs.values()), sides.unread_secrets(pairs)
    modules = [
        _planned(sides, p, pairs.get(p), _changes(sides, p, differences.get(p, ()), breaks))
        for p in range(len(planned.entries))
    ]
    modules += [_extra(sides.found, f) for f in range(len(found.entries)) if f not in known]
    return Comparison(
        name=planned.fleet.kit.name,
        planned=planned.file,
        found=found.file,
        modules=tuple(modules),
        matched=len(pairs),
        not_read=sides.not_read(pairs),
        unresolved=tuple(dict.fromkeys(_whence(each) for each in unread if each.reason)),
        without_secrets=any(each.standing is Standing.WITHHELD for each in unread),
    )


def _whence(secret: Secret) -> str:
    return f"{secret.reference} {secret.reason}"


def _planned(
    sides: Sides, planned: int, found: int | None, changes: tuple[Change, ...]
) -> Compared:
    module = sides.planned[planned]
    if found is None:
        return Compared(module.id, module.hardware_address, State.MISSING, (), module.line)
    other = sides.found[found]
    address = module.hardware_address or other.hardware_address
    return Compared(module.id, address, _state(changes), changes, other.line)


def _state(changes: tuple[Change, ...]) -> State:
    if any(change.key == "id" for change in changes):
        return State.RELABELLED
    return State.DRIFTED if changes else State.SAME


def _extra(found: Modules, index: int) -> Compared:
    module = found[index]
    return Compared(module.id, module.hardware_address, State.EXTRA, (), module.line)


def _changes(
    sides: Sides, planned: int, differences: tuple[Difference, ...], breaks: Breaks
) -> tuple[Change, ...]:
    return tuple(
        Change(
            each.key,
            "set" if isinstance(each.planned, Secret) else _plain(each.planned),
            "differs" if isinstance(each.found, Secret) else _plain(each.found),
            breaks.get((each.key, planned)),
            isinstance(each.found, Secret) and sides.is_retired(each.found),
        )
        for each in differences
    )


def _plain(value: Any) -> Value:
    """Return a value as plain data, numbers in the unit of the file format."""
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    if isinstance(value, timedelta):
        return shown_duration(value)
    return str(value) if isinstance(value, str | IPv4Address) else value


def _breaks(
    planned: FleetFile,
    found: FleetFile,
    pairs: Mapping[int, int],
    differences: Mapping[int, tuple[Difference, ...]],
    audited: Audited,
) -> Breaks:
    """Return which changes stop a module, by an audit a key.

    The planned kit is audited with what was found of that key in all modules that differ in it:
    two that have exchanged their addresses are in nobody's way, two that share one are.
    """
    whom: dict[str, dict[int, int]] = defaultdict(dict)
    for p, changes in differences.items():
        for change in changes:
            whom[change.key][p] = pairs[p]
    if not whom:
        return {}
    breaks: dict[tuple[str, int], Stage] = {}
    before = audited(planned).modules
    for key, changed in whom.items():
        after = audited(with_found(planned, found, key, changed)).modules
        for p in changed:
            old, new = _faults(before[p]), _faults(after[p])
            stages = [stage for check, stage in new.items() if check not in old]
            if stages:
                breaks[key, p] = min(stages, key=lambda stage: stage.step)
    return breaks


def _faults(module: ModuleResult) -> Mapping[str, Stage]:
    """Return the checks that stop a module, each with its stage."""
    faults = (f for f in module.findings if f.counts and f.severity is Severity.FAULT)
    return {finding.check: finding.stage for finding in faults}


def matched(sides: Sides, planned: FleetFile, found: FleetFile) -> Mapping[int, int]:
    """Return the position of the found module for each planned one that was found.

    Raises:
        UnusableError: an entry stands twice, so that nobody can say which module it is.
    """
    matching = match(
        [*map(Identity, sides.planned.hardware_addresses, planned.entries.ids)],
        [*map(Identity, sides.found.hardware_addresses, found.entries.ids)],
    )
    if matching.doubts:
        raise UnusableError(
            problem for doubt in matching.doubts for problem in _problems(doubt, sides)
        )
    return matching.pairs


WAYS_OUT = {
    "hardware_address": "one radio has one row: keep the one that was read last, or correct it",
    "id": "nothing tells the two apart: give hardware_address in both files, or keep one of them",
}


def _problems(doubt: Doubt, sides: Sides) -> Iterator[Problem]:
    """Give what stands twice, each time with the line on which it stands first."""
    for modules, positions in ((sides.planned, doubt.planned), (sides.found, doubt.found)):
        if len(positions) > 1:
            first, second = modules[positions[0]], modules[positions[1]]
            value = first.id if doubt.key == "id" else first.hardware_address
            more = f" and {len(positions) - 2} times more" if len(positions) > 2 else ""
            reason = f"{quoted(value)} stands on line {first.line.line} too{more}"
            yield Problem(second.place(doubt.key), f"{reason}; {WAYS_OUT[doubt.key]}")
