"""Who cannot be brought back to the plan: out of reach, kept out, or in a ring without room."""

from collections import defaultdict
from collections.abc import Mapping
from ipaddress import IPv4Address

from auditor.compute.ordering import Move, hopeless, in_rings
from auditor.findings import Stage
from auditor.models.fleet_file import FleetFile
from auditor.tasks.comparison import Audited
from auditor.tasks.relocation import Relocation
from auditor.tasks.substitution import with_found

OF_NETWORK = ("network_name", "security", "passphrase")
_REACHING = (Stage.DISCOVERY, Stage.ADMISSION, Stage.KEYS, Stage.ADDRESS)
Reasons = Mapping[int, str]
"""Why something cannot be done, by the position of the module in the plan."""


def out_of_reach(
    kit: Relocation, asked: list[int], planned: FleetFile, found: FleetFile, audited: Audited
) -> Reasons:
    """Return which of some modules cannot be spoken to over the network today, and why."""
    if not asked:
        return {}
    modules = audited(_as_found(kit, planned, found)).modules
    reasons = {at: _out_of_reach(kit, at, modules[at].stages) for at in asked}
    return {at: f"{why}; set it --over serial" for at, why in reasons.items() if why}


def _out_of_reach(kit: Relocation, at: int, stages: Mapping[Stage, object]) -> str | None:
    differs = [key for key in OF_NETWORK if key in kit.changes[at]]
    if differs:
        return f"is not on the network today: it differs in {', '.join(differs)}"
    blocked = next((stage for stage in _REACHING if stages[stage] == "blocked"), None)
    if blocked:
        return f"is not on the network today: as found, it is blocked at {blocked}"
    number = kit.held(at)
    if number is not None and (number in kit.extras or number in kit.hosts):
        return f"does not answer alone: somebody else has {IPv4Address(number)} too"
    return None


def _as_found(kit: Relocation, planned: FleetFile, found: FleetFile) -> FleetFile:
    """Return the planned kit with everything in it that was found otherwise."""
    whom: dict[str, dict[int, int]] = defaultdict(dict)
    for at in kit.changes:
        for change in kit[at].changes:
            whom[change.key][at] = kit.pairs[at]
    for key, pairs in whom.items():
        planned = with_found(planned, found, key, pairs)
    return planned


class Obstacles:
    """What stands in the way of the moves of a kit.

    `refused` says of each module that does not move why; `moves` are those of the others, and
    `standing` the addresses that nobody leaves. `parking` is an address on which to stand aside,
    where that is needed.
    """

    def __init__(self, kit: Relocation, away: Reasons) -> None:
        self._kit = kit
        self.refused: dict[int, str] = dict(away)
        self._refuse(self._kept_out())
        self.parking: IPv4Address | None = None
        self._refuse(self._without_parking())

    @property
    def moves(self) -> Mapping[int, Move]:
        """The moves that can be made."""
        return {at: move for at, move in self._kit.moves.items() if at not in self.refused}

    @property
    def standing(self) -> frozenset[int]:
        """The numbers of the addresses that are held for good, as nobody leaves them."""
        kit, moves = self._kit, self.moves
        kept = (number for number, here in kit.holders.items() if not moves.keys() >= set(here))
        return frozenset((*kit.hosts, *kit.extras, *kept))

    def _refuse(self, reasons: Reasons) -> None:
        self.refused.update(reasons)

    def _kept_out(self) -> Reasons:
        """Return whose new address never becomes free, and who holds it."""
        lost = hopeless(self.moves, self.standing)
        return {at: self._why_kept_out(at, lost) for at in lost}

    def _why_kept_out(self, at: int, lost: frozenset[int]) -> str:
        kit, number = self._kit, self._kit.moves[at].wanted or 0
        rivals = sorted(each for each in lost if kit.moves[each].wanted == number)
        if len(rivals) > 1:
            names = " and ".join(map(kit.id, rivals))
            return f"{IPv4Address(number)} is planned for {names}; plan another for one of them"
        return f"its address {IPv4Address(number)} is held by {self._holder(number)}"

    def _holder(self, number: int) -> str:
        """Return who holds an address for good, in words."""
        kit = self._kit
        if number in kit.hosts:
            return kit.hosts[number]
        if number in kit.extras:
            return f"{kit.extras[number][0]}, which is not planned; take that off the network"
        here, moves = kit.holders[number], kit.moves
        keeper = next((at for at in here if at not in moves or moves[at].stays), None)
        if keeper is None:
            return f"{kit.id(here[0])}, which cannot leave it"
        leases = kit.sides.planned[keeper].is_pooled
        return f"{kit.id(keeper)}, which {'leases' if leases else 'keeps'} it"

    def _without_parking(self) -> Reasons:
        """Return who stands in a ring where nobody can stand aside."""
        rings = in_rings(self.moves, self.standing)
        if not rings:
            return {}
        self.parking = self._kit.parking_address(self._kit.moves[min(rings)].wanted or 0)
        if self.parking is not None:
            return {}
        subnet = self._kit.survey.subnet
        full = f"every address of {subnet} is in the pool, or somebody's in plan or fact"
        reason = full if subnet else "no subnet is planned in which there could be one"
        return dict.fromkeys(rings, f"needs a free address to stand aside on, and {reason}")
