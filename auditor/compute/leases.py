"""The address pool over a timetable: how many leases are held when, and who gets none.

Clients come at the start of an attendance and ask in the order in which they are listed; first
come, first served. While present they renew in time. They leave at the end without a word, as a
module does whose power is cut, and their leases run on. Each client has one address: one that
returns before its lease has ended keeps the old address, and one whose attendances touch or
overlap has not left in between. A client that got none waits, and takes the first address that
comes free while it is still there.

When an old lease ends depends on the last request of the client that left (RFC 2131, section
4.4.5: it renews at half the lease), which no plan tells; hence the two cases of `Case`.
"""

import heapq
from bisect import bisect_left
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import partial
from itertools import count, islice

INFINITE_LEASE_S = 0xFFFFFFFF  # RFC 2131, section 3.3
SHORTEST_LEASE_MIN = 2  # the shortest that dnsmasq 2.90 gives: dnsmasq(8), --dhcp-range
LONGEST_LEASE_MIN = 30 * 24 * 60  # a month; what is longer is as good as endless for a course


class Case(StrEnum):
    """When the last request of a leaving client was: which end of what is possible to assume.

    In the best case its last renewal fell due half a lease before it left (or it has asked only
    when it came); in the worst it asked at the very end, say because it was just switched on again.
    """

    BEST = "best"
    WORST = "worst"


@dataclass(frozen=True)
class Attendance:
    """The time from start to end during which these clients are there.

    Raises:
        ValueError: if it does not end after its start.
    """

    name: str
    start: datetime
    end: datetime
    clients: tuple[str, ...]

    def __post_init__(self) -> None:
        if self.end <= self.start:
            raise ValueError(f"end of {self.name!r} is {self.end}; it must be after {self.start}")


@dataclass(frozen=True)
class Shortage:
    """A moment at which an attendance starts and some of its clients get no address."""

    at: datetime
    attendance: str
    without: tuple[str, ...]


@dataclass(frozen=True)
class Occupancy:
    """How full the pool gets over a timetable, permanent holders included.

    `peak` is the most addresses held at once, reached first at `peak_at` (None where no client ever
    takes one); `demand_peak` is what the peak would be in a pool with room for all.
    """

    peak: int
    peak_at: datetime | None
    demand_peak: int
    shortages: tuple[Shortage, ...]

    @property
    def runs_out_at(self) -> datetime | None:
        """The first moment at which somebody gets no address; None where all get one."""
        return self.shortages[0].at if self.shortages else None

    @property
    def without(self) -> tuple[str, ...]:
        """All clients that at some time get no address, in the order in which it befalls them."""
        unlucky = (client for shortage in self.shortages for client in shortage.without)
        return tuple(dict.fromkeys(unlucky))


def renewal_time(lease: timedelta) -> timedelta:
    """Gives T1, after which a client asks its server to extend the lease.

    Raises:
        ValueError: if the lease is not above 0.

    Source: RFC 2131, section 4.4.5 (0.5 of the lease).
    """
    _require_lease(lease)
    return lease / 2


def rebinding_time(lease: timedelta) -> timedelta:
    """Gives T2, after which a client asks any server to extend the lease.

    Raises:
        ValueError: if the lease is not above 0.

    Source: RFC 2131, section 4.4.5 (0.875 of the lease).
    """
    _require_lease(lease)
    return lease * 7 / 8


def occupancy(
    attendances: Sequence[Attendance],
    size: int,
    lease: timedelta | None,
    case: Case,
    permanent: int = 0,
    release: bool = False,
) -> Occupancy:
    """Follows a pool of so many addresses through a timetable.

    A lease of None never ends. `permanent` counts other stations, which hold an address all the
    time; they came first and are never listed as without. With `release`, clients give their
    address back as they leave. An address that comes free at the very moment at which others join
    is free in time.

    Raises:
        ValueError: if the size or `permanent` is below 0, or the lease not above 0 (or too long
            for its 32-bit field).

    Source: RFC 2131, sections 2.2, 4.3.1 (an old client gets its old address) and 4.4.5.
    """
    _require_not_negative("size", size)
    _require_not_negative("permanent", permanent)
    _require_lease(lease)
    pool = _Pool(max(0, size - permanent), lease, case, release)
    pool.play(attendances)
    ample = _Pool(len(_clients_of(attendances)), lease, case, release)
    ample.play(attendances)
    return Occupancy(
        peak=min(size, permanent) + pool.peak,
        peak_at=pool.peak_at,
        demand_peak=permanent + ample.peak,
        shortages=tuple(pool.shortages),
    )


@dataclass(frozen=True)
class Level:
    """How many addresses are wanted from a moment on, until the next level begins."""

    at: datetime
    wanted: int


def levels(
    attendances: Sequence[Attendance],
    lease: timedelta | None,
    case: Case,
    permanent: int = 0,
    release: bool = False,
) -> tuple[Level, ...]:
    """Gives how many addresses are wanted over a timetable, in a pool with room for all.

    The arguments are those of `occupancy`. A level begins wherever the number changes.

    Raises:
        ValueError: as `occupancy`.
    """
    _require_not_negative("permanent", permanent)
    _require_lease(lease)
    ample = _Pool(len(_clients_of(attendances)), lease, case, release)
    ample.play(attendances)
    found: list[Level] = []
    for moment, held in ample.held_from.items():
        if not found or found[-1].wanted != permanent + held:
            found.append(Level(moment, permanent + held))
    return tuple(found)


def smallest_pool(
    attendances: Sequence[Attendance],
    lease: timedelta | None,
    case: Case,
    permanent: int = 0,
) -> int:
    """Gives the least number of addresses with which nobody goes without.

    Raises:
        ValueError: as `occupancy`.
    """
    _require_not_negative("permanent", permanent)
    _require_lease(lease)
    ample = _Pool(len(_clients_of(attendances)), lease, case, release=False)
    ample.play(attendances)
    return permanent + ample.peak


def longest_lease(
    attendances: Sequence[Attendance],
    size: int,
    case: Case,
    permanent: int = 0,
) -> timedelta | None:
    """Gives the longest lease, in whole minutes, with which nobody goes without.

    It is 2 minutes to 30 days long; None means that even the shortest is too long.

    Raises:
        ValueError: as `occupancy`.
    """
    _require_not_negative("size", size)

    def falls_short(minutes: int) -> bool:
        return smallest_pool(attendances, timedelta(minutes=minutes), case, permanent) > size

    # A longer lease never ends earlier, so it holds at every moment at least as many addresses.
    lengths_min = range(SHORTEST_LEASE_MIN, LONGEST_LEASE_MIN + 1)
    enough = bisect_left(lengths_min, True, key=falls_short)
    return timedelta(minutes=lengths_min[enough - 1]) if enough else None


def _require_not_negative(quantity: str, value: int) -> None:
    if value < 0:
        raise ValueError(f"{quantity} is {value}; it must be at least 0")


def _require_lease(lease: timedelta | None) -> None:
    if lease is None:
        return
    lease_s = lease.total_seconds()
    if not 0 < lease_s < INFINITE_LEASE_S:
        limits = f"above 0 s and below {INFINITE_LEASE_S} s"
        raise ValueError(f"lease is {lease_s:.12g} s; it must be {limits}")


def _later(moment: datetime, span: timedelta) -> datetime | None:
    """Gives a later moment; None past the last one of the calendar, which is as good as never."""
    return moment + span if span <= datetime.max - moment else None


def _clients_of(attendances: Sequence[Attendance]) -> set[str]:
    return {client for attendance in attendances for client in attendance.clients}


def _departures(attendances: Collection[Attendance]) -> dict[datetime, list[str]]:
    """Lists who leaves when; attendances of a client that touch or overlap count as one."""
    ends_of: dict[str, list[datetime]] = {}
    for attendance in sorted(attendances, key=lambda each: each.start):
        for client in attendance.clients:
            ends = ends_of.setdefault(client, [])
            if ends and attendance.start <= ends[-1]:
                ends[-1] = max(ends[-1], attendance.end)
            else:
                ends.append(attendance.end)
    departures: dict[datetime, list[str]] = {}
    for client, ends in ends_of.items():
        for end in ends:
            departures.setdefault(end, []).append(client)
    return departures


# What happens first at one and the same moment: an address that comes free is free in time for
# those who join, and who leaves at that moment no longer waits for it.
_LEAVING, _ENDING, _JOINING = range(3)


class _Pool:
    """Plays a timetable, moment by moment, and notes the peak and the shortages."""

    def __init__(self, size: int, lease: timedelta | None, case: Case, release: bool) -> None:
        self.peak = 0
        self.peak_at: datetime | None = None
        self.shortages: list[Shortage] = []
        self.held_from: dict[datetime, int] = {}  # in order; the last of a moment is what stays
        self._size = size
        self._lease = lease
        self._case = case
        self._release = release
        self._present: dict[str, datetime] = {}  # who is there with an address, since when
        self._abandoned: dict[str, datetime | None] = {}  # who left with one, held until when
        self._waiting: dict[str, None] = {}  # who is there without one, in order
        self._events: list[tuple[datetime, int, int, Callable[[datetime], None]]] = []
        self._serial = count()

    def play(self, attendances: Collection[Attendance]) -> None:
        for attendance in attendances:
            self._expect(attendance.start, _JOINING, partial(self._join, attendance))
        for end, clients in _departures(attendances).items():
            self._expect(end, _LEAVING, partial(self._leave, clients))
        while self._events:
            moment, _, _, happen = heapq.heappop(self._events)
            happen(moment)
            self.held_from[moment] = len(self._present) + len(self._abandoned)

    def _expect(self, moment: datetime, kind: int, happen: Callable[[datetime], None]) -> None:
        heapq.heappush(self._events, (moment, kind, next(self._serial), happen))

    def _join(self, attendance: Attendance, moment: datetime) -> None:
        for client in attendance.clients:
            if client in self._abandoned:
                del self._abandoned[client]
                self._present[client] = moment
            elif client not in self._present:
                self._waiting[client] = None
        self._serve_waiting(moment)
        clients = dict.fromkeys(attendance.clients)
        without = tuple(client for client in clients if client in self._waiting)
        if without:
            self.shortages.append(Shortage(moment, attendance.name, without))

    def _leave(self, clients: Sequence[str], moment: datetime) -> None:
        ending: dict[datetime, list[str]] = {}
        for client in clients:
            self._waiting.pop(client, None)
            since = self._present.pop(client, None)
            if since is None or self._release:
                continue
            until = self._abandoned[client] = self._lease_end(since, moment)
            if until is not None:
                ending.setdefault(until, []).append(client)
        for until, holders in ending.items():
            self._expect(until, _ENDING, partial(self._end_leases, holders))
        self._serve_waiting(moment)

    def _lease_end(self, since: datetime, left: datetime) -> datetime | None:
        if self._lease is None:
            return None
        if self._case is Case.WORST:
            return _later(left, self._lease)
        return _later(left - min(renewal_time(self._lease), left - since), self._lease)

    def _end_leases(self, holders: Sequence[str], moment: datetime) -> None:
        for client in holders:
            if self._abandoned.get(client) == moment:  # otherwise it came back, and renewed
                del self._abandoned[client]
        self._serve_waiting(moment)

    def _serve_waiting(self, moment: datetime) -> None:
        held = len(self._present) + len(self._abandoned)
        served = list(islice(self._waiting, self._size - held))
        for client in served:
            del self._waiting[client]
            self._present[client] = moment
        if held + len(served) > self.peak:
            self.peak, self.peak_at = held + len(served), moment
