"""Which entries of two lists are the same radio: by hardware address first, then by id."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Literal, NamedTuple, TypeVar

Key = TypeVar("Key", bound=Hashable)


class Identity(NamedTuple):
    """What an entry is known by: the radio's own address, where it is given, and the label."""

    hardware_address: str | None
    id: str


class Doubt(NamedTuple):
    """Entries of which nobody can say who is who: the key that they share, and their positions."""

    key: Literal["hardware_address", "id"]
    planned: Sequence[int]
    found: Sequence[int]


class Matching(NamedTuple):
    """The position of the found entry for each planned one that has one, and what is in doubt."""

    pairs: Mapping[int, int]
    doubts: Sequence[Doubt]


def match(planned: Sequence[Identity], found: Sequence[Identity]) -> Matching:
    """Return which planned and found entries are the same radio.

    The hardware address decides wherever both sides give it, whatever the ids say. What is left
    goes by id, except for two that both have an address: these are two radios. An address that
    stands twice on one side, and an id for which several pairs are possible, are doubts; they
    pair nobody. Swapping the sides swaps the answer.
    """
    pairs: dict[int, int] = {}
    doubts: list[Doubt] = []
    for doubt in _of_one_address(planned, found):
        _decide(doubt, pairs, doubts)
    taken = set(pairs.values()).union(*(doubt.found for doubt in doubts))
    left = set(pairs).union(*(doubt.planned for doubt in doubts))
    for doubt in _of_one_id(_without(planned, left), _without(found, taken)):
        _decide(doubt, pairs, doubts)
    return Matching(dict(sorted(pairs.items())), doubts)


def _decide(candidates: Doubt, pairs: dict[int, int], doubts: list[Doubt]) -> None:
    """Pair two that stand alone; of more nobody can say who is who."""
    if len(candidates.planned) == len(candidates.found) == 1:
        pairs[candidates.planned[0]] = candidates.found[0]
    else:
        doubts.append(candidates)


def _of_one_address(planned: Sequence[Identity], found: Sequence[Identity]) -> Iterator[Doubt]:
    """Give who has the same hardware address, where it stands on both sides or twice on one."""
    there = _positions((at, each.hardware_address) for at, each in enumerate(found))
    here = _positions((at, each.hardware_address) for at, each in enumerate(planned))
    for address in dict.fromkeys((*here, *there)):
        of_planned, of_found = here.get(address, []), there.get(address, [])
        if max(len(of_planned), len(of_found)) > 1 or (of_planned and of_found):
            yield Doubt("hardware_address", of_planned, of_found)


def _of_one_id(planned: Mapping[int, Identity], found: Mapping[int, Identity]) -> Iterator[Doubt]:
    """Give who has the same id and may be the same radio."""
    there = _positions((at, each.id) for at, each in found.items())
    for id, of_planned in _positions((at, each.id) for at, each in planned.items()).items():
        of_found = there.get(id, [])
        here = _possible(of_planned, planned, of_found, found)
        if here:
            yield Doubt("id", here, _possible(of_found, found, of_planned, planned))


def _possible(
    own: Iterable[int],
    sides: Mapping[int, Identity],
    others: Sequence[int],
    other_side: Mapping[int, Identity],
) -> list[int]:
    """Return which of some entries may be one of the others: not both have an address."""
    nameless = any(other_side[at].hardware_address is None for at in others)
    return [at for at in own if nameless or (others and sides[at].hardware_address is None)]


def _positions(keyed: Iterable[tuple[int, Key | None]]) -> dict[Key, list[int]]:
    positions: dict[Key, list[int]] = defaultdict(list)
    for at, key in keyed:
        if key is not None:
            positions[key].append(at)
    return dict(positions)


def _without(entries: Sequence[Identity], taken: set[int]) -> dict[int, Identity]:
    return {at: each for at, each in enumerate(entries) if at not in taken}
