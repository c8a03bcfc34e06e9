"""What a mutant changes: operators of cosmic-ray, and a few more of the same form.

Of the comparisons only those stay that the others follow from (the border moved by one, and the
order widened to inequality or narrowed to equality); of the arithmetic, one neighbour for each
operator. More would raise the share of killed mutants without asking more of the tests.
"""

from collections.abc import Iterator
from typing import Any

from cosmic_ray.ast import get_ast
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator
from parso.python.tree import Name, PythonNode

Position = tuple[tuple[int, int], tuple[int, int]]

CORE = (
    "AddNot",
    "ExceptionReplacer",
    "NumberReplacer",
    "RemoveDecorator",
    "ReplaceAndWithOr",
    "ReplaceBinaryOperator_Add_Sub",
    "ReplaceBinaryOperator_BitAnd_BitOr",
    "ReplaceBinaryOperator_BitOr_BitAnd",
    "ReplaceBinaryOperator_BitXor_BitAnd",
    "ReplaceBinaryOperator_Div_FloorDiv",
    "ReplaceBinaryOperator_Div_Mul",
    "ReplaceBinaryOperator_FloorDiv_Div",
    "ReplaceBinaryOperator_LShift_RShift",
    "ReplaceBinaryOperator_Mod_FloorDiv",
    "ReplaceBinaryOperator_Mul_Div",
    "ReplaceBinaryOperator_Pow_Mul",
    "ReplaceBinaryOperator_RShift_LShift",
    "ReplaceBinaryOperator_Sub_Add",
    "ReplaceBreakWithContinue",
    "ReplaceComparisonOperator_Eq_NotEq",
    "ReplaceComparisonOperator_GtE_Eq",
    "ReplaceComparisonOperator_GtE_Gt",
    "ReplaceComparisonOperator_Gt_GtE",
    "ReplaceComparisonOperator_Gt_NotEq",
    "ReplaceComparisonOperator_IsNot_Is",
    "ReplaceComparisonOperator_Is_IsNot",
    "ReplaceComparisonOperator_LtE_Eq",
    "ReplaceComparisonOperator_LtE_Lt",
    "ReplaceComparisonOperator_Lt_LtE",
    "ReplaceComparisonOperator_Lt_NotEq",
    "ReplaceComparisonOperator_NotEq_Eq",
    "ReplaceContinueWithBreak",
    "ReplaceFalseWithTrue",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceUnaryOperator_Delete_USub",
    "ZeroIterationForLoop",
)

OPPOSITES = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil"}
OPPOSITES |= {"ceil": "floor"}


class _Own(Operator):  # type: ignore[misc]
    """An operator that finds at most one thing to change in a node."""

    def mutation_positions(self, node: Any) -> Iterator[Position]:
        """Give the place of what it would change in a node."""
        if self.fits(node):
            yield node.start_pos, node.end_pos

    def fits(self, node: Any) -> bool:
        """Say whether the node is what it changes."""
        raise NotImplementedError

    @classmethod
    def examples(cls) -> tuple[()]:
        """Give none; cosmic-ray asks for them in its own tests only."""
        return ()


class SwapOpposites(_Own):
    """Takes `max` for `min`, `all` for `any`, `ceil` for `floor`, and the other way round."""

    def fits(self, node: Any) -> bool:
        """Say whether one of them is called, or handed on."""
        return isinstance(node, Name) and node.value in OPPOSITES and _is_read(node)

    def mutate(self, node: Any, index: int) -> Any:
        """Put the opposite in its place."""
        node.value = OPPOSITES[node.value]
        return node


class SwapMembership(_Own):
    """Takes `not in` for `in`, and the other way round."""

    def fits(self, node: Any) -> bool:
        """Say whether it is a comparison with one `in`."""
        return node.type == "comparison" and _code(node.children[1]) in ("in", "not in")

    def mutate(self, node: Any, index: int) -> Any:
        """Put the other in its place."""
        other = " not in" if _code(node.children[1]) == "in" else " in"
        node.children[1] = get_ast(other)
        return node


class NegateFilter(_Own):
    """Negates the condition of a comprehension."""

    def fits(self, node: Any) -> bool:
        """Say whether it is such a condition."""
        return node.type in ("comp_if", "old_comp_if")

    def mutate(self, node: Any, index: int) -> Any:
        """Wrap what it asks in a `not`."""
        node.children[1] = get_ast(f" (not ({_code(node.children[1])}))")
        return node


class DropStatement(_Own):
    """Leaves out a statement that does something: a call, a yield, a raise, a sum that grows."""

    def fits(self, node: Any) -> bool:
        """Say whether it is such a statement."""
        if node.type == "expr_stmt":
            return node.children[1].type == "operator" and bool(node.children[1].value != "=")
        acts = node.type in ("atom_expr", "yield_expr", "raise_stmt")
        return acts and bool(node.parent.type == "simple_stmt")

    def mutate(self, node: Any, index: int) -> Any:
        """Do nothing instead; what was a generator stays one."""
        instead = "yield from ()" if node.type == "yield_expr" else "pass"
        return get_ast(node.get_first_leaf().prefix + instead)


class DropKeyword(Operator):  # type: ignore[misc]
    """Leaves out an argument that is given by its name."""

    def mutation_positions(self, node: Any) -> list[Position]:
        """Return the place of each such argument of a call."""
        arguments = [node.children[place] for place in _keywords(node)]
        return [(argument.start_pos, argument.end_pos) for argument in arguments]

    def mutate(self, node: Any, index: int) -> Any:
        """Leave out one of them, with the comma behind it or before it."""
        place = _keywords(node)[index]
        comma = 1 if place + 1 < len(node.children) else -1
        doomed = {place, place + comma} if node.type == "arglist" else {place}
        kept = [each for spot, each in enumerate(node.children) if spot not in doomed]
        node.children = kept
        return node

    @classmethod
    def examples(cls) -> tuple[()]:
        """Give none; cosmic-ray asks for them in its own tests only."""
        return ()


def operators() -> Iterator[tuple[str, Operator]]:
    """Give every operator with its name."""
    for name in CORE:
        yield name, get_operator(f"core/{name}")()
    for own in (SwapOpposites, SwapMembership, NegateFilter, DropStatement, DropKeyword):
        yield own.__name__, own()


def _code(node: Any) -> str:
    return str(node.get_code()).strip()


def _is_read(name: Any) -> bool:
    """Say whether it is the built-in function, and neither an attribute nor a keyword."""
    before, after = name.get_previous_leaf(), name.get_next_leaf()
    is_attribute = before is not None and before.value == "."
    return not is_attribute and after is not None and after.value in ("(", ",", ")")


def _keywords(node: Any) -> list[int]:
    """Return which children of a call are arguments by name."""
    if node.type not in ("arglist", "trailer") or not isinstance(node, PythonNode):
        return []
    return [
        place
        for place, child in enumerate(node.children)
        if child.type == "argument" and child.children[1] == "="
    ]
