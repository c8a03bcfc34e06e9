"""A kit brought back to its plan, step by step, so that no two modules ever share an address."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from ipaddress import IPv4Address
from itertools import chain, pairwise

from auditor.checks.power import CAUTION
from auditor.compute.ordering import Turn, in_order
from auditor.models.fleet_file import FleetFile
from auditor.tasks.comparison import Audited, Change, Comparison, Value, comparison
from auditor.tasks.obstacles import OF_NETWORK, Obstacles, out_of_reach
from auditor.tasks.relocation import Relocation

_CUTS_OFF = (*OF_NETWORK, "addressing", "address", "prefix_length", "gateway")
"""After these a module is found elsewhere on the network, or not at all."""
_LAST = ("saved", "serial_rate")
"""What is set last over a serial line: at a new rate nothing is heard at the old one."""
_AT_THE_BOARD = ("profile", "antenna_gain", "talks", "message_bytes")
"""What is no setting of the module: which part it is, and what the controller's program does."""
_WIRING = frozenset({"supply", "rx_pin", "tx_pin", "antenna_gain", "profile"})


class Kind(StrEnum):
    """What is done in a step."""

    SET = "set"
    PARK = "park"
    READ_BACK = "read-back"


@dataclass(frozen=True)
class Step:
    """Something to do with one module; of a read-back, `changes` is what it should say.

    `at_rate` is the serial rate in Bd at which it is spoken to; None over the network, by hand,
    and where nobody knows it.
    """

    id: str
    kind: Kind
    at_rate: int | None
    changes: Mapping[str, Value]
    why: str

    @property
    def is_by_hand(self) -> bool:
        """Whether it is done at the board itself: its label, its wiring, its program."""
        return self.kind is Kind.SET and all(map(_is_by_hand, self.changes))

    @property
    def touches_wiring(self) -> bool:
        """Whether wires or parts are changed."""
        return self.is_by_hand and any(map(_is_wiring, self.changes))


@dataclass(frozen=True)
class Refused:
    """A module that this run does not bring back to the plan, and why."""

    id: str
    why: str


@dataclass(frozen=True)
class Reprovisioning:
    """What to do, in this order, and the comparison that it follows from."""

    over_network: bool
    steps: tuple[Step, ...]
    refused: tuple[Refused, ...]
    compared: Comparison

    @property
    def parking_moves(self) -> int:
        """How often a module stands aside for another."""
        return sum(step.kind is Kind.PARK for step in self.steps)

    @property
    def rate_switches(self) -> int:
        """How often the terminal is set to another serial rate between two steps."""
        rates = [step.at_rate for step in self.steps if step.at_rate is not None]
        return sum(before != after for before, after in pairwise(rates))

    @property
    def is_clean(self) -> bool:
        """Whether there is nothing to do, and nothing that cannot be done."""
        return not self.steps and not self.refused


def reprovisioning(
    planned: FleetFile, found: FleetFile, audited: Audited, *, over_network: bool
) -> Reprovisioning:
    """Return how a kit is brought back to its plan; `audited` audits a kit, to tell what breaks.

    Modules that are not planned are left alone, at the addresses that they have.

    Raises:
        UnusableError: an entry stands twice, so that nobody can say which module it is.
    """
    compared = comparison(planned, found, audited)
    kit = Relocation(planned, found, compared)
    asked = [at for at, changes in kit.changes.items() if not all(map(_is_by_hand, changes))]
    away = out_of_reach(kit, asked, planned, found, audited) if over_network else {}
    obstacles = Obstacles(kit, away)
    refused = [Refused(kit.id(at), why) for at, why in sorted(obstacles.refused.items())]
    return Reprovisioning(
        over_network=over_network,
        steps=(*_labels(kit), *_Bench(kit, obstacles, over_network=over_network).steps()),
        refused=(*refused, *_intruders(kit, obstacles)),
        compared=compared,
    )


def _is_by_hand(key: str) -> bool:
    return key == "id" or key in _AT_THE_BOARD or "." in key


def _is_wiring(key: str) -> bool:
    return not _WIRING.isdisjoint(key.split("."))


def _labels(kit: Relocation) -> Iterator[Step]:
    """Give the labels to put right; they come first, so that the rest of the list can be read."""
    for at, changes in kit.changes.items():
        if "id" in changes:
            old = next(change.found for change in kit[at].changes if change.key == "id")
            why = (
                f"A label, by hand: the radio {kit[at].hardware_address} is labelled {old} and "
                f"planned as {kit.id(at)}."
            )
            yield Step(kit.id(at), Kind.SET, None, {"id": changes["id"]}, why)


def _intruders(kit: Relocation, obstacles: Obstacles) -> Iterator[Refused]:
    """Give the modules that are not planned and whose address is in the end somebody's too."""
    moves = obstacles.moves
    ends = {number: at for number, here in kit.holders.items() for at in here
            if at not in moves or moves[at].stays}  # fmt: skip
    for number, ids in kit.extras.items():
        if number in ends:
            why = f"is not planned and shares {IPv4Address(number)} with {kit.id(ends[number])}"
            yield from (Refused(id, f"{why}; take it off the network") for id in ids)


class _Bench:
    """The modules of a kit as they are set one after another."""

    def __init__(self, kit: Relocation, obstacles: Obstacles, *, over_network: bool) -> None:
        self._kit = kit
        self._moves = obstacles.moves
        self._turns = in_order(obstacles.moves, obstacles.standing)
        self._parking = obstacles.parking
        self._over_network = over_network
        self._next = {move.wanted: at for at, move in self._moves.items() if not move.stays}
        self._left_by: dict[int | None, int] = {}

    def steps(self) -> Iterator[Step]:
        """Give the steps; a module is read back as soon as it is set, still on the cable."""
        for turn in self._turns:
            yield from self._park(turn) if turn.is_parking else self._visit(turn.mover)
            self._left_by.setdefault(self._moves[turn.mover].held, turn.mover)

    def _park(self, turn: Turn) -> Iterator[Step]:
        kit, held = self._kit, self._moves[turn.mover].held
        address, follower = IPv4Address(held or 0), kit.id(self._next[held])
        why = f"It stands aside so that {address} is free for {follower}."
        changes = {"address": str(self._parking)}
        yield Step(kit.id(turn.mover), Kind.PARK, self._rate(turn.mover), changes, why)

    def _rate(self, at: int, *, is_set: bool = False) -> int | None:
        if self._over_network:
            return None
        return self._moves[at].rate_after if is_set else self._moves[at].rate_before

    def _visit(self, at: int) -> Iterator[Step]:
        changes = {key: value for key, value in self._kit.changes[at].items() if key != "id"}
        by_hand = {key: value for key, value in changes.items() if _is_by_hand(key)}
        settings = {key: value for key, value in changes.items() if key not in by_hand}
        if by_hand:
            yield Step(self._kit.id(at), Kind.SET, None, by_hand, self._why_by_hand(at, by_hand))
        parts = list(self._parts(settings))
        for part in parts:
            yield Step(self._kit.id(at), Kind.SET, self._rate(at), part, self._why(at, part))
        yield self._read_back(at, dict(chain.from_iterable(part.items() for part in parts)))

    def _parts(self, settings: Mapping[str, Value]) -> Iterator[Mapping[str, Value]]:
        """Give what is set at once: over the network, what cuts a module off comes after the rest.

        Over a serial line it is all one step, with its rate at the end.
        """
        last = _CUTS_OFF if self._over_network else _LAST
        ends = {key: settings[key] for key in last if key in settings}
        before = {key: value for key, value in settings.items() if key not in ends}
        parts = (before, ends) if self._over_network else ({**before, **ends},)
        yield from filter(None, parts)

    def _why_by_hand(self, at: int, changes: Mapping[str, Value]) -> str:
        caution = f" {CAUTION}" if any(map(_is_wiring, changes)) else ""
        return f"By hand, at the board: {self._found(at, changes)}{caution}"

    def _why(self, at: int, changes: Mapping[str, Value]) -> str:
        """Return what was found, and who has left the address that a module gets."""
        before = self._left_by.get(self._moves[at].wanted)
        if before is None or before == at or "address" not in changes:
            return self._found(at, changes)
        left = f"{self._kit.id(before)} has left {changes['address']}."
        return f"{self._found(at, changes)} {left}"

    def _found(self, at: int, changes: Mapping[str, Value]) -> str:
        found = [_as_found(each) for each in self._kit[at].changes if each.key in changes]
        return f"It was found with {', '.join(found)}."

    def _read_back(self, at: int, settings: Mapping[str, Value]) -> Step:
        address = self._kit[at].hardware_address
        said = [f"{key} {_shown(value)}" for key, value in settings.items() if value != "set"]
        said += [f"hardware_address {address}"] if address else []
        why = f"It should say {', '.join(said)}." if said else "It should answer."
        rate = self._rate(at, is_set=True)
        return Step(self._kit.id(at), Kind.READ_BACK, rate, settings, why)


def _as_found(change: Change) -> str:
    """Return what was found of a key in words, and what that stops."""
    value = "another" if change.key == "passphrase" else _shown(change.found)
    retired = " from last term" if change.is_retired else ""
    stops = f" (which stops it at {change.breaks})" if change.breaks else ""
    return f"{change.key} {value}{retired}{stops}"


def _shown(value: Value) -> str:
    """Return a value as it is written; in quotes where blanks matter."""
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return f'"{text}"' if not text or " " in text else text
