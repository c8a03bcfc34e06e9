"""The order of moves: chains from their free end, one parking move a ring, few changes of rate."""

from collections import Counter, deque
from collections.abc import Iterator, Mapping
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.compute.ordering import Move, Turn, hopeless, in_order, in_rings

PARKING = 1000
SOMEWHERE = st.integers(1, 6)
RATES = st.sampled_from([9600, 19200, 4800])
MOVES = st.dictionaries(
    st.integers(0, 9),
    st.builds(Move, st.none() | SOMEWHERE, st.none() | SOMEWHERE, RATES, RATES),
    max_size=5,
)
STANDING = st.frozensets(SOMEWHERE, max_size=2)


def order(moves: Mapping[int, Move], standing: frozenset[int] = frozenset()) -> list[int]:
    """Return whose turn it is; who only stands aside is written below 0."""
    return [~turn.mover if turn.is_parking else turn.mover for turn in in_order(moves, standing)]


def feasible(moves: Mapping[int, Move], standing: frozenset[int]) -> dict[int, Move]:
    """Return the moves that can be made; the others stay, which changes nothing for them."""
    lost = hopeless(moves, standing)
    return {mover: move for mover, move in moves.items() if mover not in lost}


def test_a_chain_is_gone_through_from_its_free_end() -> None:
    assert order({1: Move(31, 32), 2: Move(32, 33), 3: Move(33, 34)}) == [3, 2, 1]


def test_two_that_exchange_their_addresses_need_one_parking_move() -> None:
    moves = {1: Move(31, 32), 2: Move(32, 31)}
    assert in_rings(moves) == {1, 2}
    assert order(moves) == [~1, 2, 1]


def test_a_ring_of_three_needs_one_parking_move_and_two_rings_two() -> None:
    ring = {1: Move(31, 32), 2: Move(32, 33), 3: Move(33, 31)}
    assert order(ring) == [~1, 3, 2, 1]
    both = {**ring, 4: Move(41, 42), 5: Move(42, 41), 6: Move(43, 44)}
    assert in_rings(both) == {1, 2, 3, 4, 5}
    assert order(both) == [6, ~1, 3, 2, 1, ~4, 5, 4]


def test_who_stays_or_has_no_address_waits_for_nobody() -> None:
    assert order({1: Move(31, 31), 2: Move(None, None), 3: Move(33, None)}) == [1, 2, 3]


def test_one_that_leaves_the_address_of_another_gets_no_parking_move() -> None:
    """Two are at 31, and one of them exchanges with 32; the other is to leave for 33."""
    moves = {1: Move(31, 32), 2: Move(32, 31), 3: Move(31, 33)}
    assert order(moves) == [3, ~1, 2, 1]


def test_those_that_share_an_address_come_first_with_what_they_wait_for() -> None:
    moves = {0: Move(20, 21), 1: Move(31, 31), 2: Move(31, 32), 3: Move(32, 33)}
    assert order(moves) == [3, 2, 0, 1]
    assert order({0: Move(20, 21), 1: Move(31, 32)}, frozenset({31})) == [1, 0]


def test_those_at_one_rate_are_set_together() -> None:
    moves = {
        number: Move(None, None, rate, 9600)
        for number, rate in enumerate((9600, 19200, 9600, 19200, 9600))
    }
    assert order(moves) == [1, 0, 2, 4, 3]
    same = {number: Move(None, None, rate, rate) for number, rate in enumerate((1, 2, 1, 2))}
    assert order(same) == [0, 2, 1, 3]


def test_the_one_at_the_present_rate_stands_aside() -> None:
    moves = {
        0: Move(None, None, 4800, 4800),
        1: Move(31, 32, 9600, 9600),
        2: Move(32, 31, 4800, 4800),
    }
    assert order(moves) == [0, ~2, 1, 2]


def test_what_can_never_be_is_told_apart() -> None:
    assert hopeless({1: Move(31, 32)}, {32}) == {1}
    assert hopeless({1: Move(31, 32), 2: Move(32, 32)}, ()) == {1}
    assert hopeless({1: Move(31, 33), 2: Move(32, 33)}, ()) == {1, 2}
    assert hopeless({1: Move(31, 32), 2: Move(32, 33), 3: Move(33, 34)}, {34}) == {1, 2, 3}
    assert hopeless({1: Move(31, 32), 2: Move(32, None), 3: Move(None, 33)}, {34, 31}) == set()


def test_what_can_never_be_is_not_ordered() -> None:
    with pytest.raises(ValueError, match="mover 1 waits in vain"):
        in_order({1: Move(31, 32)}, {32})
    with pytest.raises(ValueError, match="mover 1 waits in vain"):
        in_rings({1: Move(31, 33), 2: Move(32, 33)})


def crowds(places: Mapping[int, int | None], standing: frozenset[int]) -> int:
    """Return how many pairs are at one address."""
    counts = Counter([*standing, *(at for at in places.values() if at is not None)])
    return sum(count * (count - 1) // 2 for count in counts.values())


def course(
    moves: Mapping[int, Move], turns: list[Turn], free: int = PARKING
) -> Iterator[dict[int, int | None]]:
    """Give who is where before and after each turn, where there is one parking address."""
    places = {mover: move.held for mover, move in moves.items()}
    yield dict(places)
    for mover, is_parking in turns:
        places[mover] = free if is_parking else moves[mover].wanted
        yield dict(places)


@given(MOVES, STANDING)
def test_nobody_ever_comes_where_somebody_is_and_all_arrive(
    moves: dict[int, Move], standing: frozenset[int]
) -> None:
    moves = feasible(moves, standing)
    turns = in_order(moves, standing)
    pairs = [crowds(places, standing) for places in course(moves, turns)]
    assert all(after <= before for before, after in pairwise(pairs))
    *_, last = course(moves, turns)
    assert last == {mover: move.wanted for mover, move in moves.items()}
    assert sorted(turn.mover for turn in turns if not turn.is_parking) == sorted(moves)


def fewest_parkings(moves: Mapping[int, Move], standing: frozenset[int]) -> int | None:
    """Return the least number of parking moves, by trying everything; None if nothing does.

    Whatever is allowed is tried: anybody may stand aside at any time, on an address of its own.
    """
    movers = [mover for mover, move in moves.items() if not move.stays]
    keepers = frozenset(move.held for move in moves.values() if move.stays)
    start = tuple(moves[mover].held for mover in movers)
    goal = tuple(moves[mover].wanted for mover in movers)
    costs, waiting = {start: 0}, deque([start])
    while waiting:
        state = waiting.popleft()
        for at, mover in enumerate(movers):
            wanted = moves[mover].wanted
            taken = {*standing, *keepers, *(state[:at] + state[at + 1 :])}
            targets: list[tuple[int | None, int]] = [(PARKING + mover, 1)]
            targets += [(wanted, 0)] if wanted is None or wanted not in taken else []
            for target, cost in targets:
                new = (*state[:at], target, *state[at + 1 :])
                if costs[state] + cost < costs.get(new, 99):
                    costs[new] = costs[state] + cost
                    waiting.append(new)
    return costs.get(goal)


@settings(max_examples=100, deadline=None)
@given(MOVES, STANDING)
def test_no_order_has_fewer_parking_moves(moves: dict[int, Move], standing: frozenset[int]) -> None:
    moves = feasible(moves, standing)
    parkings = sum(turn.is_parking for turn in in_order(moves, standing))
    assert parkings == fewest_parkings(moves, standing)


@settings(max_examples=100, deadline=None)
@given(MOVES, STANDING)
def test_what_is_hopeless_is_so_in_every_order(
    moves: dict[int, Move], standing: frozenset[int]
) -> None:
    assert (fewest_parkings(moves, standing) is None) == bool(hopeless(moves, standing))


@given(MOVES, STANDING, st.randoms(use_true_random=False))
def test_the_order_in_which_the_moves_are_named_changes_nothing(
    moves: dict[int, Move], standing: frozenset[int], random: object
) -> None:
    moves = feasible(moves, standing)
    turned = dict(reversed(moves.items()))
    assert in_order(turned, standing) == in_order(moves, standing)


@given(st.permutations(range(7)))
def test_there_is_one_parking_move_a_ring(places: list[int]) -> None:
    moves = {mover: Move(mover, wanted) for mover, wanted in enumerate(places)}
    left, rings = set(moves), 0
    while left:
        first = at = min(left)
        rings += places[first] != first
        while at in left:
            left.remove(at)
            at = places[at]
    assert sum(turn.is_parking for turn in in_order(moves)) == rings
    assert in_rings(moves) == {mover for mover, move in moves.items() if not move.stays}
