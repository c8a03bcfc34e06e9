"""The mutants of a source file: its text with one thing changed."""

import ast
import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code

from tests.mutation.operators import operators

PURE = ("@dataclass", "@cache")
"""Decorators whose leaving, or whose options, change no value that a function returns."""


@dataclass(frozen=True)
class Mutant:
    """A changed source: where, by which operator, and how the lines read before and after."""

    operator: str
    line: int
    before: str
    after: str
    source: str


def mutants(source: str) -> list[Mutant]:
    """Return every mutant of a source that compiles and differs, in the order of its lines."""
    seen = {_meaning(source), ""}
    found = []
    for mutant in sorted(_changed(source), key=lambda each: each.line):
        meaning = _meaning(mutant.source)
        if meaning not in seen:
            seen.add(meaning)
            found.append(mutant)
    return found


def _changed(source: str) -> Iterator[Mutant]:
    tree = get_ast(source)
    for name, operator in operators():
        occurrence = 0
        for node in ast_nodes(tree):
            for start, _ in operator.mutation_positions(node):
                if not _is_beside_the_point(node):
                    changed = mutate_code(source, operator, occurrence)
                    yield _described(name, start[0], source, changed)
                occurrence += 1


def _described(operator: str, line: int, source: str, changed: str) -> Mutant:
    """Return a mutant with its line before and after; what was left out leaves nothing."""
    before, after = (text.splitlines()[line - 1].strip() for text in (source, changed))
    return Mutant(operator, line, before, after if after != before else "", changed)


def _meaning(source: str) -> str:
    """Return what distinguishes one source from another; nothing, if it does not compile."""
    with contextlib.suppress(SyntaxError):
        return ast.dump(ast.parse(source))
    return ""


def _is_beside_the_point(node: Any) -> bool:
    """Say whether it is part of an annotation, or of a decorator that changes no value."""
    while node.parent is not None:
        above = node.parent
        if above.type == "tfpdef" or (above.type == "annassign" and node is above.children[1]):
            return True
        if above.type == "funcdef" and node is above.annotation:
            return True
        if node.type == "decorator" and node.get_code().strip().startswith(PURE):
            return True
        node = above
    return False
