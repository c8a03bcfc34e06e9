"""Choices, drawn through Hypothesis so that it can make a failing kit smaller."""

from collections.abc import Sequence
from functools import cache
from typing import Any, TypeVar

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

Option = TypeVar("Option")


@cache
def _between(low: int, high: int) -> SearchStrategy[int]:
    return st.integers(low, high)


def between(draw: DrawFn, low: int, high: int) -> int:
    """Draw a whole number, both ends included."""
    return draw(_between(low, high)) if low < high else low


def pick(draw: DrawFn, options: Sequence[Option]) -> Option:
    """Draw one of some options; the first is the simplest."""
    return options[between(draw, 0, len(options) - 1)]


def one_in(draw: DrawFn, number: int) -> bool:
    """Draw true once in so many times."""
    return between(draw, 1, number) == number


def some(draw: DrawFn, options: Sequence[Option]) -> list[Option]:
    """Draw a part of some options, each kept one time in four."""
    bits = between(draw, 0, 2 ** len(options) - 1) & between(draw, 0, 2 ** len(options) - 1)
    return [option for place, option in enumerate(options) if bits >> place & 1]


def thinned(draw: DrawFn, table: dict[str, Any], optional: Sequence[str]) -> dict[str, Any]:
    """Leave out some of the optional keys of a table, in half of the kits."""
    if not one_in(draw, 2):
        return table
    left_out = set(some(draw, optional))
    return {key: value for key, value in table.items() if key not in left_out}


def shuffled(draw: DrawFn, options: Sequence[Option]) -> list[Option]:
    """Draw an order."""
    left, order = list(options), []
    while left:
        order.append(left.pop(between(draw, 0, len(left) - 1)))
    return order
