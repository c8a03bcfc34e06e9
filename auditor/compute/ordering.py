"""In which order modules move to other addresses, so that no two are ever at one.

A module waits until whoever holds its new address has left it. Where each address is wanted by
one module, those that wait for one another form chains, and rings such as a swap. A chain is
gone through from its free end; a ring has none, so one of its modules has to stand aside on a
parking address for as long as the others move.
"""

from collections import Counter, defaultdict, deque
from collections.abc import Collection, Iterable, Mapping
from heapq import heappop, heappush
from typing import NamedTuple


class Move(NamedTuple):
    """The address that a module holds and the one it is to have, as numbers; None is none.

    `rate_before` and `rate_after` are the serial rates in Bd at which it is spoken to before and
    after it is set.
    """

    held: int | None
    wanted: int | None
    rate_before: int | None = None
    rate_after: int | None = None

    @property
    def stays(self) -> bool:
        """Whether the module keeps its address, so that it waits for nobody."""
        return self.held == self.wanted


class Turn(NamedTuple):
    """Whose turn it is, and whether it only stands aside and has another turn later."""

    mover: int
    is_parking: bool = False


def hopeless(moves: Mapping[int, Move], standing: Iterable[int]) -> frozenset[int]:
    """Return the movers that can never have their address, in whatever order the others go.

    It is one of the addresses `standing`, which are held for good, or a mover keeps it, or two
    want it, or whoever holds it is hopeless too.
    """
    wanting: dict[int, list[int]] = defaultdict(list)
    for mover, move in moves.items():
        if move.wanted is not None and not move.stays:
            wanting[move.wanted].append(mover)
    kept = {*standing, *(move.held for move in moves.values() if move.stays)}
    lost = [each for at, rivals in wanting.items() if len(rivals) > 1 or at in kept
            for each in rivals]  # fmt: skip
    found: set[int] = set()
    while lost:
        mover = lost.pop()
        if mover not in found:
            found.add(mover)
            held = moves[mover].held
            lost += [] if held is None else wanting.get(held, [])
    return frozenset(found)


def in_rings(moves: Mapping[int, Move], standing: Collection[int] = ()) -> frozenset[int]:
    """Return the movers that wait for one another in a ring, so that none of them can be first.

    Raises:
        ValueError: somebody can never have its address.
    """
    board = _Board(moves, standing)
    free = [mover for mover in moves if board.is_free_for(mover)]
    gone: set[int] = set()
    while free:
        gone.add(free[-1])
        follower = board.leave(free.pop())
        free += [] if follower is None else [follower]
    return frozenset(moves.keys() - gone)


def in_order(moves: Mapping[int, Move], standing: Collection[int] = ()) -> list[Turn]:
    """Return whose turn it is, one by one, so that a mover never comes where somebody is.

    Those that share an address now, with each other or with one of those `standing`, come first,
    with whatever they wait for. For the rest the serial rate is changed only where nobody can be
    set at the present one: that makes few changes, not always the fewest. There is one parking
    move a ring, which is the least, and the parked one leaves before another is parked: one
    parking address is enough for all.

    Raises:
        ValueError: somebody can never have its address.
    """
    bench = _Bench(moves, standing)
    first = _pressing(moves, standing)
    bench.serve(sorted(first))
    bench.serve(sorted(moves.keys() - first))
    return bench.turns


def _pressing(moves: Mapping[int, Move], standing: Collection[int]) -> frozenset[int]:
    """Return the movers that share an address now, and all that these wait for."""
    holders: dict[int, list[int]] = defaultdict(list)
    for mover, move in moves.items():
        if move.held is not None:
            holders[move.held].append(mover)
    shared = [here for at, here in holders.items() if len(here) > 1 or at in standing]
    waiting = [mover for here in shared for mover in here if not moves[mover].stays]
    found: set[int] = set()
    while waiting:
        mover = waiting.pop()
        if mover not in found:
            found.add(mover)
            wanted = moves[mover].wanted
            waiting += [] if wanted is None else holders.get(wanted, [])
    return frozenset(found)


class _Board:
    """Who is still at which address, and who waits for it."""

    def __init__(self, moves: Mapping[int, Move], standing: Collection[int]) -> None:
        lost = hopeless(moves, standing)
        if lost:
            raise ValueError(f"mover {min(lost)} waits in vain; leave out whoever is hopeless")
        self._moves = moves
        self._there = Counter(move.held for move in moves.values() if move.held is not None)
        self._follower = {
            move.wanted: mover
            for mover, move in moves.items()
            if move.wanted is not None and not move.stays
        }

    def is_free_for(self, mover: int) -> bool:
        """Say whether nobody is in a mover's way."""
        move = self._moves[mover]
        return move.wanted is None or move.stays or not self._there[move.wanted]

    def leave(self, mover: int) -> int | None:
        """Take a mover from the address that it held, and return who can come there now."""
        move = self._moves[mover]
        if move.held is None or move.stays:
            return None
        self._there[move.held] -= 1
        return None if self._there[move.held] else self._follower.get(move.held)


class _Bench:
    """Modules are served here one by one; `turns` is whose turn it was."""

    def __init__(self, moves: Mapping[int, Move], standing: Collection[int]) -> None:
        self.turns: list[Turn] = []
        self._moves = moves
        self._board = _Board(moves, standing)
        self._rate: int | None = None
        self._ready: dict[int | None, list[tuple[bool, int]]] = defaultdict(list)
        self._left: set[int] = set()
        self._parked: set[int] = set()
        self._surplus = Counter(move.rate_before for move in moves.values())
        self._surplus.subtract(move.rate_after for move in moves.values())

    def serve(self, movers: Iterable[int]) -> None:
        """Give every one of some movers its turn; they wait for nobody else."""
        self._left = set(movers)
        rings: dict[int | None, deque[int]] = defaultdict(deque)
        for mover in movers:
            if self._board.is_free_for(mover):
                self._open(mover)
            else:
                rings[self._moves[mover].rate_before].append(mover)
        self._serve_ready()
        while self._left:
            self._park(self._one_left(rings))
            self._serve_ready()

    def _open(self, mover: int) -> None:
        move = self._moves[mover]
        changes_rate = move.rate_before != move.rate_after
        heappush(self._ready[move.rate_before], (changes_rate, mover))

    def _serve_ready(self) -> None:
        while any(self._ready.values()):
            self._serve(heappop(self._ready[self._next_rate()])[1])

    def _next_rate(self) -> int | None:
        """Return the present rate while somebody is ready at it, and then the one to go on with.

        That is the one at which more begin than end: it will have to be changed to anyway.
        """
        if self._ready[self._rate]:
            return self._rate
        rates = {rate: ready for rate, ready in self._ready.items() if ready}
        return min(rates, key=lambda rate: (-self._surplus[rate], -len(rates[rate]), rates[rate]))

    def _serve(self, mover: int) -> None:
        move = self._moves[mover]
        self.turns.append(Turn(mover))
        self._left.discard(mover)
        self._surplus[move.rate_before] -= 1
        self._surplus[move.rate_after] += 1
        self._rate = move.rate_after
        if mover not in self._parked:
            self._follow(mover)

    def _park(self, mover: int) -> None:
        self.turns.append(Turn(mover, is_parking=True))
        self._parked.add(mover)
        self._rate = self._moves[mover].rate_before
        self._follow(mover)

    def _follow(self, mover: int) -> None:
        """Let whoever waited for a mover's address come next."""
        follower = self._board.leave(mover)
        if follower is not None and follower in self._left:
            self._open(follower)

    def _one_left(self, rings: Mapping[int | None, deque[int]]) -> int:
        """Return one that stands in a ring still, at the present rate if there is one."""
        for queue in rings.values():
            while queue and queue[0] not in self._left:
                queue.popleft()
        here = rings.get(self._rate)
        return here[0] if here else min(queue[0] for queue in rings.values() if queue)
