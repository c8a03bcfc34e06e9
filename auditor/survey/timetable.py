"""The timetable: what its sessions ask of the address pool and of the access point, and when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from ipaddress import IPv4Address

from auditor.compute.addresses import AddressRange, usable_hosts
from auditor.compute.leases import (
    Attendance,
    Case,
    Level,
    Occupancy,
    Shortage,
    levels,
    longest_lease,
    occupancy,
)
from auditor.models.fleet import Session
from auditor.survey.kit import Survey

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
PLACE_HELD = timedelta(seconds=300)
"""So long an access point keeps the place of a station that left without a word.

Source: hostapd.conf, ap_max_inactivity (300 s unless set).
"""


def moment_in_words(moment: datetime) -> str:
    """Return a moment as people say it, "Monday, 2026-03-02, at 13:00", in every locale."""
    time = moment.time()
    precision = "minutes" if time.second == time.microsecond == 0 else "seconds"
    shown = time.isoformat(precision)
    return f"{WEEKDAYS[moment.weekday()]}, {moment.date().isoformat()}, at {shown}"


@dataclass(frozen=True)
class LeasePlan:
    """What the sessions ask of the pool.

    Attendances carry the number of their session as a name, and their clients, the index of a
    module each, compete for what `permanent` leases leave of the room. A room or a lease of None
    is not known.
    """

    attendances: tuple[Attendance, ...]
    permanent: int
    room: int | None
    lease: timedelta | None

    @cached_property
    def best(self) -> Occupancy:
        """The pool if those who leave last renewed as early as they may.

        A lease that is not known ends at once at best, and never at worst.
        """
        return self._released if not self.lease else self._occupancy(Case.BEST)

    @cached_property
    def worst(self) -> Occupancy:
        """The pool if those who leave last renewed at the very end."""
        return self._released if self.lease == timedelta(0) else self._occupancy(Case.WORST)

    @property
    def judged(self) -> Occupancy:
        """The worst that is known to be possible: without a lease time, the best case."""
        return self.best if self.lease is None else self.worst

    @property
    def worst_peak_at(self) -> datetime | None:
        """When most addresses are wanted in the worst case; None where no module comes."""
        return replace(self, room=None).worst.peak_at

    @property
    def best_levels(self) -> tuple[Level, ...]:
        """How many leases are wanted from each moment on, in the best case."""
        return self._levels(Case.BEST, ends_at_once=not self.lease)

    @property
    def worst_levels(self) -> tuple[Level, ...]:
        """How many leases are wanted from each moment on, in the worst case."""
        return self._levels(Case.WORST, ends_at_once=self.lease == timedelta(0))

    def is_short_at_once(self, shortage: Shortage) -> bool:
        """Say whether a session would be short even if all who left gave their address back."""
        return any(each.attendance == shortage.attendance for each in self._released.shortages)

    @cached_property
    def _released(self) -> Occupancy:
        return self._occupancy(Case.BEST, ends_at_once=True)

    @cached_property
    def longest_lease(self) -> timedelta | None:
        """The longest lease with which nobody goes without, in whole minutes."""
        return longest_lease(self.attendances, self.room or 0, Case.WORST, self.permanent)

    def _occupancy(self, case: Case, *, ends_at_once: bool = False) -> Occupancy:
        """Follow the pool; it has room for all where its room is not known."""
        return occupancy(
            self.attendances,
            self.permanent + len(self._clients) if self.room is None else self.room,
            self.lease or None,
            case,
            self.permanent,
            release=ends_at_once,
        )

    def _levels(self, case: Case, *, ends_at_once: bool) -> tuple[Level, ...]:
        lease = self.lease or None
        return levels(self.attendances, lease, case, self.permanent, release=ends_at_once)

    @cached_property
    def _clients(self) -> frozenset[str]:
        return frozenset(client for each in self.attendances for client in each.clients)


def lease_plan(survey: Survey) -> LeasePlan:
    """Return what the sessions ask of the pool; a kit without an address server has no room."""
    competing = frozenset(survey.competing)
    sessions = survey.fleet.session
    return LeasePlan(
        attendances=tuple(
            Attendance(
                str(number),
                sessions[number].start,
                sessions[number].end,
                tuple(str(index) for index in sorted(chosen.indexes & competing)),
            )
            for number, chosen in survey.sessions
        ),
        permanent=survey.held_throughout,
        room=0 if survey.has_address_server is False else survey.pool_room,
        lease=survey.ipv4.lease_time,
    )


def session_of(shortage: Shortage, survey: Survey) -> Session:
    """Return the session in which somebody gets no address."""
    return survey.fleet.session[int(shortage.attendance)]


def without_address(shortage: Shortage) -> list[int]:
    """Return the positions of the modules that get no address."""
    return [int(client) for client in shortage.without]


def shortage_sentence(shortage: Shortage, survey: Survey) -> str:
    """Return the sentence that says who runs out of addresses, and when."""
    name = session_of(shortage, survey).name
    return f"{name} runs out of addresses on {moment_in_words(shortage.at)}."


def grown_pool(survey: Survey, room: int) -> AddressRange | None:
    """Return the pool, made larger at its end and then at its beginning until it has that room.

    It grows over no address that somebody holds and ends where the hosts of the subnet do; None
    where that does not suffice, or where subnet or pool are not known.
    """
    pool, subnet = survey.pool, survey.subnet
    if pool is None or subnet is None or not pool.inside(subnet):
        return None
    hosts = usable_hosts(subnet)
    taken = survey.fixed_addresses | survey.reserved_for_others
    highest = min((at - 1 for at in taken if at > int(pool.last)), default=int(hosts.last))
    lowest = max((at + 1 for at in taken if at < int(pool.first)), default=int(hosts.first))
    missing = max(0, room - (survey.pool_room or 0))
    start, end = max(int(pool.first), int(hosts.first)), min(int(pool.last), int(hosts.last))
    last = max(end, min(end + missing, highest))
    first = start - (missing - (last - end))
    fits = lowest <= first <= last
    return AddressRange(IPv4Address(first), IPv4Address(last)) if fits else None


def free_outside_pool(survey: Survey) -> int | None:
    """Return how many addresses of the subnet are left for static modules; None if not known."""
    if survey.subnet is None:
        return None
    hosts = usable_hosts(survey.subnet)
    taken = survey.fixed_addresses.union(map(int, survey.reserved))
    pool = survey.pool
    if pool is None or not pool.overlaps(hosts):
        return len(hosts) - hosts.count_of(taken)
    inside = AddressRange(max(pool.first, hosts.first), min(pool.last, hosts.last))
    return len(hosts) - len(inside) - (hosts.count_of(taken) - inside.count_of(taken))


@dataclass(frozen=True)
class DoubleBooking:
    """Modules that a session wants while others, which want them too, still run.

    Sessions go by their numbers, and modules by their positions.
    """

    session: int
    others: tuple[int, ...]
    modules: tuple[int, ...]


def double_bookings(survey: Survey) -> Iterator[DoubleBooking]:
    """Give for each session who is still in another as it begins, in the order of time.

    Of several other sessions of one module the one that ends last is named.
    """
    sessions, chosen = survey.fleet.session, dict(survey.sessions)
    in_order = sorted(chosen, key=lambda number: sessions[number].start)
    if not _do_any_overlap([sessions[number] for number in in_order]):
        return
    busy_in: dict[int, int] = {}
    for number in in_order:
        clashes: dict[int, int] = {}
        for index in chosen[number].indexes:
            other = busy_in.get(index)
            if other is None or sessions[other].end <= sessions[number].start:
                busy_in[index] = number
                continue
            clashes[index] = other
            busy_in[index] = max(other, number, key=lambda each: sessions[each].end)
        if clashes:
            others = tuple(sorted(set(clashes.values())))
            yield DoubleBooking(number, others, tuple(sorted(clashes)))


def _do_any_overlap(in_order: Iterable[Session]) -> bool:
    """Say whether one of the sessions, in the order of their starts, begins while another runs."""
    ends = datetime.min
    for session in in_order:
        if session.start < ends:
            return True
        ends = session.end
    return False


@dataclass(frozen=True)
class Crowd:
    """The stations that hold a place at the access point at one moment.

    `arriving` are the modules of the sessions that begin then, `sessions` their numbers;
    `left` modules are gone and still hold a place, `others` are no modules. Without a timetable
    there is no moment, and all arrive.
    """

    at: datetime | None
    sessions: tuple[int, ...]
    arriving: frozenset[int]
    present: int
    left: int
    others: int

    @property
    def stations(self) -> int:
        """All of them."""
        return self.present + self.left + self.others


def crowds(survey: Survey) -> tuple[Crowd, ...]:
    """Return who is there at every moment at which a session begins; the first is the earliest."""
    others = survey.stations - len(survey.modules)
    if not survey.sessions:
        everyone = frozenset(survey.everyone)
        return (Crowd(None, (), everyone, len(everyone), 0, others),)
    return tuple(_crowds(survey, others))


def peak_of(gatherings: tuple[Crowd, ...]) -> Crowd:
    """Return the largest crowd, the first of several."""
    return max(gatherings, key=lambda crowd: crowd.stations)


def _crowds(survey: Survey, others: int) -> Iterator[Crowd]:
    sessions, chosen = survey.fleet.session, dict(survey.sessions)
    starting: dict[datetime, list[int]] = {}
    for number in sorted(chosen, key=lambda number: sessions[number].start):
        starting.setdefault(sessions[number].start, []).append(number)
    recent: list[int] = []
    for moment, numbers in starting.items():
        recent = [each for each in recent if moment - sessions[each].end <= PLACE_HELD] + numbers
        members = {each: chosen[each].indexes for each in recent}
        present = _union(members[each] for each in recent if sessions[each].end > moment)
        yield Crowd(
            at=moment,
            sessions=tuple(numbers),
            arriving=_union(members[each] for each in numbers),
            present=len(present),
            left=len(_union(members.values()) - present),
            others=others,
        )


def _union(groups: Iterable[frozenset[int]]) -> frozenset[int]:
    return frozenset(index for group in groups for index in group)
