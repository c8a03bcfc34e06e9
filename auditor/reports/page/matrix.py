"""The ladder as a matrix: modules that stand alike in a row, a stage in a column."""

from collections.abc import Container, Iterable
from dataclasses import dataclass

from auditor.findings import Stage, State
from auditor.reports.page.alike import Kind
from auditor.reports.sentences import in_words

COLUMNS = tuple(Stage)


@dataclass(frozen=True)
class Cell:
    """How a module stands at a stage, as a symbol of the page and as words."""

    symbol: str
    words: str


@dataclass(frozen=True)
class Row:
    """A line of the matrix, with what sorts it, filters it and leads to its section."""

    label: str
    count: int
    href: str | None
    verdict: Cell
    cells: tuple[Cell, ...]
    position: int
    searched: str


def matrix(kinds: Iterable[Kind], linked: Container[str]) -> tuple[Row, ...]:
    """Return a row for each kind of modules; `linked` has the places that a link may lead to."""
    return tuple(
        Row(
            label=kind.short_label,
            count=len(kind.modules),
            href=f"#{kind.anchor}" if kind.anchor in linked else None,
            verdict=Cell(kind.first.verdict, in_words(kind.first.verdict)),
            cells=tuple(map(cell, kind.first.stages.values())),
            position=kind.positions[0],
            searched=kind.searched,
        )
        for kind in kinds
    )


def cell(state: State) -> Cell:
    """Return how a state is drawn and said."""
    return Cell(state, state.value.replace("-", " "))
