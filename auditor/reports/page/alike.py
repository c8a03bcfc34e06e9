"""Modules that stand alike, as one: a row of the matrix, and a section of the page."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from auditor.findings import AuditResult, ModuleResult, Verdict, concerning
from auditor.reports.layout import listed

FEWEST_ALIKE = 3
"""So many modules that stand alike are easier to read as one."""
MOST_KINDS = 300
"""So many rows and sections anybody still looks through."""
MOST_READY_KINDS = 30
"""So many more for modules that are ready, however many others there are."""
MOST_NAMED = 100
"""So many members of a kind are named one by one; of more, the ranges of their ids are."""
MOST_SEARCHED = 20_000
"""So many ids the page can be searched for: they are written in it for that alone."""
LONGEST_LABEL = 48
"""So long, in characters, a row may be called without filling several lines."""
_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,60}", re.ASCII)


@dataclass(frozen=True)
class Member:
    """A module by its id, and the place on the page that a link to it leads to."""

    id: str
    anchor: str


@dataclass(frozen=True)
class Kind:
    """Modules that stand alike, the first of them for all; `positions` are those in the file.

    `shared` has the positions, among the findings of the kit, of those that put them at risk.
    """

    modules: tuple[ModuleResult, ...]
    positions: tuple[int, ...]
    anchors: tuple[str, ...]
    shared: tuple[int, ...]

    @property
    def first(self) -> ModuleResult:
        """The module that stands for all."""
        return self.modules[0]

    @property
    def anchor(self) -> str:
        """The place on the page that a link to them leads to."""
        return self.anchors[0]

    @property
    def label(self) -> str:
        """What they are called: an id, or ranges of ids."""
        return self.first.id if len(self.modules) == 1 else listed(each.id for each in self.modules)

    @property
    def short_label(self) -> str:
        """What they are called where there is little room."""
        if len(self.label) <= LONGEST_LABEL:
            return self.label
        ids = [module.id for module in self.modules]
        named = next((n for n in (12, 8, 5, 3) if len(listed(ids[:n])) <= LONGEST_LABEL), 2)
        left = len(ids) - named
        return f"{listed(ids[:named])} and {left:,} more" if left > 0 else self.label

    @property
    def members(self) -> tuple[Member, ...]:
        """The modules one by one; nobody where there are too many to be named."""
        if not 1 < len(self.modules) <= MOST_NAMED:
            return ()
        named = zip(self.modules, self.anchors, strict=True)
        return tuple(Member(module.id, anchor) for module, anchor in named)

    @property
    def checks(self) -> tuple[str, ...]:
        """The checks that found something on them."""
        return tuple(dict.fromkeys(f.check for f in self.first.findings if f.counts))

    @property
    def searched(self) -> str:
        """What a reader finds them by: ids, checks and verdict, in lower case."""
        ids = (module.id for module in self.modules)
        known = ids if len(self.modules) <= MOST_SEARCHED else [self.label]
        return " ".join((*known, *self.checks, self.first.verdict)).lower()


@dataclass(frozen=True)
class Kinds:
    """The kinds of modules that a page shows, gravest first, and the ids that it leaves out."""

    shown: tuple[Kind, ...]
    left: tuple[str, ...]


def kinds(result: AuditResult) -> Kinds:
    """Return the modules of a kit by how they stand; of very many kinds the first are shown."""
    found = sorted(_kinds(result), key=_gravity)
    ready = [kind for kind in found if kind.first.verdict is Verdict.READY]
    others = [kind for kind in found if kind.first.verdict is not Verdict.READY]
    left = others[MOST_KINDS:] + ready[MOST_READY_KINDS:]
    return Kinds(
        shown=(*others[:MOST_KINDS], *ready[:MOST_READY_KINDS]),
        left=tuple(module.id for kind in left for module in kind.modules),
    )


def anchors(ids: Sequence[str]) -> list[str]:
    """Return a safe and unique place on the page for each id, whatever the ids hold.

    It is made of the id where that is plain and no other module has it, and else of its number.
    """
    repeated = Counter(ids)
    return [
        f"module-{id}" if _PLAIN.fullmatch(id) and repeated[id] == 1 else f"entry-{number}"
        for number, id in enumerate(ids, start=1)
    ]


def _gravity(kind: Kind) -> tuple[int, int, int]:
    """Return what sorts kinds: the verdict, how early the climb stops, the order of the file."""
    stops_at = kind.first.stops_at
    step = 0 if stops_at is None else stops_at.step
    return tuple(Verdict).index(kind.first.verdict), step, kind.positions[0]


def _kinds(result: AuditResult) -> Iterator[Kind]:
    places = anchors([module.id for module in result.modules])
    shared = concerning(result.kit_findings, len(result.modules))
    alike: dict[tuple[object, ...], list[int]] = {}
    for position, module in enumerate(result.modules):
        key = (_look(module), shared[position])
        alike.setdefault(key, []).append(position)
    for positions in alike.values():
        for group in [positions] if len(positions) >= FEWEST_ALIKE else [[p] for p in positions]:
            yield Kind(
                modules=tuple(result.modules[position] for position in group),
                positions=tuple(group),
                anchors=tuple(places[position] for position in group),
                shared=shared[group[0]],
            )


def _look(module: ModuleResult) -> tuple[object, ...]:
    """Return what two modules share that look the same but for their ids and figures."""
    names = tuple(dict.fromkeys((f.check, f.severity, f.waived) for f in module.findings))
    return (
        module.verdict,
        module.shows_at,
        module.expected_indicator,
        tuple(module.stages.values()),
        names,
    )
