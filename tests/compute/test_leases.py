"""The address pool over a timetable: occupancy, shortages, smallest pool and longest lease."""

import time
from datetime import datetime, timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from auditor.compute.leases import (
    Attendance,
    Case,
    Occupancy,
    Shortage,
    levels,
    longest_lease,
    occupancy,
    rebinding_time,
    renewal_time,
    smallest_pool,
)

MONDAY = datetime(2026, 11, 30)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)
BOTH_CASES = pytest.mark.parametrize("case", list(Case))


def at(hour: int, minute: int = 0) -> datetime:
    return MONDAY + timedelta(hours=hour, minutes=minute)


def clients(prefix: str, count: int) -> tuple[str, ...]:
    return tuple(f"{prefix}{number}" for number in range(1, count + 1))


def two_groups(left_at: datetime, arrive_at: datetime) -> list[Attendance]:
    """Thirty in the morning (from 3 h 30 min before they leave), thirty others after them."""
    return [
        Attendance("group A", left_at - 3.5 * HOUR, left_at, clients("a", 30)),
        Attendance("group B", arrive_at, arrive_at + 3 * HOUR, clients("b", 30)),
    ]


# --- timers -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lease", "t1", "t2"),
    [  # RFC 2131, section 4.4.5: T1 = 0.5, T2 = 0.875 of the lease; by hand
        (HOUR, 30 * MINUTE, timedelta(minutes=52, seconds=30)),
        (8 * HOUR, 4 * HOUR, 7 * HOUR),
        (24 * HOUR, 12 * HOUR, 21 * HOUR),
    ],
)
def test_renewal_and_rebinding_times(lease: timedelta, t1: timedelta, t2: timedelta) -> None:
    assert renewal_time(lease) == t1
    assert rebinding_time(lease) == t2


@given(st.timedeltas(min_value=timedelta(seconds=1), max_value=timedelta(days=365)))
def test_a_client_renews_before_it_rebinds_before_the_end(lease: timedelta) -> None:
    """RFC 2131, section 4.4.5: "T1 MUST be earlier than T2, which, in turn, MUST be earlier"."""
    assert timedelta(0) < renewal_time(lease) < rebinding_time(lease) < lease


# --- published and observed timetables ----------------------------------------------------------


def test_a_long_lease_leaves_the_next_group_short() -> None:
    """By hand from RFC 2131, section 4.4.5: an abandoned address stays taken for L/2 to L.

    With 8 h the 30 leases of those who leave at 12:00 end at 16:00 to 20:00, so of 50 addresses
    20 are free for the 30 who arrive at 13:00.
    """
    groups = two_groups(at(12), at(13))
    for case in Case:
        result = occupancy(groups, 50, 8 * HOUR, case)
        assert result.runs_out_at == at(13)
        assert result.without == clients("b", 30)[20:]
        assert (result.peak, result.peak_at, result.demand_peak) == (50, at(13), 60)


def test_the_levels_follow_who_comes_and_whose_leases_end() -> None:
    """By hand from RFC 2131, section 4.4.5: the 30 who leave at 12:00 hold on for L/2 to L.

    With 2 h their leases end at 13:00 at best, just as the others come, and at 14:00 at worst.
    """
    groups = two_groups(at(12), at(13))
    best = levels(groups, 2 * HOUR, Case.BEST, permanent=1)
    worst = levels(groups, 2 * HOUR, Case.WORST, permanent=1)
    assert [(level.at, level.wanted) for level in best][:2] == [(at(8, 30), 31), (at(17), 1)]
    bare = levels(groups, 2 * HOUR, Case.BEST)
    assert [(level.at, level.wanted) for level in bare][:2] == [(at(8, 30), 30), (at(17), 0)]
    assert [(level.at, level.wanted) for level in worst][:3] == [
        (at(8, 30), 31),
        (at(13), 61),
        (at(14), 31),
    ]


@BOTH_CASES
def test_the_highest_level_is_the_peak_of_what_is_wanted(case: Case) -> None:
    for lease in (HOUR, 2 * HOUR, 8 * HOUR, None):
        groups = two_groups(at(12), at(13))
        found = levels(groups, lease, case, permanent=2)
        wanted = max(level.wanted for level in found)
        assert wanted == occupancy(groups, 50, lease, case, permanent=2).demand_peak


@BOTH_CASES
def test_a_short_lease_ends_before_the_next_group(case: Case) -> None:
    """By hand: with 1 h the leases of those who leave at 12:00 end at 12:30 to 13:00."""
    result = occupancy(two_groups(at(12), at(13)), 50, HOUR, case)
    assert result == Occupancy(peak=30, peak_at=at(8, 30), demand_peak=30, shortages=())
    assert result.runs_out_at is None
    assert result.without == ()


@pytest.mark.parametrize(
    ("case", "lease", "short"),
    [  # by hand: who leave at 12:00 free their addresses at 12:00 + L/2 (best) or + L (worst)
        (Case.BEST, 2 * HOUR, False),
        (Case.BEST, 2 * HOUR + 2 * MINUTE, True),
        (Case.WORST, HOUR, False),
        (Case.WORST, HOUR + MINUTE, True),
    ],
)
def test_an_address_that_ends_as_others_join_is_free_in_time(
    case: Case, lease: timedelta, short: bool
) -> None:
    result = occupancy(two_groups(at(12), at(13)), 50, lease, case)
    assert (result.runs_out_at == at(13)) is short
    assert len(result.without) == (10 if short else 0)


def churn() -> list[Attendance]:
    """Four stations join and leave; 5 s later four others join."""
    left = at(9) + timedelta(seconds=20)
    back = left + timedelta(seconds=5)
    return [
        Attendance("first four", at(9), left, ("a1", "a2", "a3", "a4")),
        Attendance("next four", back, back + timedelta(seconds=60), ("b1", "b2", "b3", "b4")),
    ]


@BOTH_CASES
def test_observed_churn_without_release(case: Case) -> None:
    """Observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90, November 2026.

    Six addresses, lease 120 s: b1 and b2 got one, b3 and b4 none within 30 s.
    """
    result = occupancy(churn(), 6, timedelta(seconds=120), case)
    assert result.without == ("b3", "b4")
    assert [shortage.attendance for shortage in result.shortages] == ["next four"]


@BOTH_CASES
def test_observed_churn_with_release(case: Case) -> None:
    """Observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90, November 2026."""
    result = occupancy(churn(), 6, timedelta(seconds=120), case, release=True)
    assert result.without == ()
    assert result.peak == 4


@BOTH_CASES
def test_observed_pool_of_two_for_four(case: Case) -> None:
    """Observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90, November 2026.

    First come, first served: m1 and m2 got an address, m3 and m4 none.
    """
    four = [Attendance("four", at(9), at(10), ("m1", "m2", "m3", "m4"))]
    assert occupancy(four, 2, HOUR, case).without == ("m3", "m4")


@BOTH_CASES
@pytest.mark.parametrize("lease", [timedelta(minutes=10), 8 * HOUR, None])
def test_a_client_that_returns_gets_its_old_address(case: Case, lease: timedelta | None) -> None:
    """Observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90, November 2026.

    RFC 2131, section 4.3.1: the server gives an old client its old address.
    """
    days = [
        Attendance("morning", at(9), at(12), clients("a", 30)),
        Attendance("afternoon", at(13), at(16), clients("a", 30)),
    ]
    result = occupancy(days, 30, lease, case)
    assert (result.peak, result.demand_peak, result.without) == (30, 30, ())


@BOTH_CASES
def test_a_pool_may_be_smaller_than_the_number_of_devices(case: Case) -> None:
    """A common study question on DHCP: 4000 laptops share 800 addresses, 800 at a time."""
    crowds = [
        Attendance(f"crowd {n}", at(8 + 2 * n), at(9 + 2 * n), clients(f"c{n}-", 800))
        for n in range(5)
    ]
    assert smallest_pool(crowds, HOUR, case) == 800
    assert occupancy(crowds, 800, HOUR, case).without == ()


# --- the model, piece by piece (by hand, from the docstrings of the module) ---------------------


def test_who_left_before_the_first_renewal_holds_a_lease_from_the_start_at_best() -> None:
    """There for 10 min of a lease of 8 h: it asked at 9:00, so the lease ends at 17:00 at best."""
    short_visit = [
        Attendance("visit", at(9), at(9, 10), ("a",)),
        Attendance("in time", at(17), at(18), ("b",)),
    ]
    assert occupancy(short_visit, 1, 8 * HOUR, Case.BEST).without == ()
    assert occupancy(short_visit, 1, 8 * HOUR + MINUTE, Case.BEST).without == ("b",)


@BOTH_CASES
def test_an_endless_lease_is_never_given_back(case: Case) -> None:
    """RFC 2131, section 3.3: a lease may be infinite."""
    terms = [
        Attendance("this year", at(9), at(12), ("a", "b")),
        Attendance("next year", at(9) + timedelta(days=365), at(10) + timedelta(days=365), ("c",)),
    ]
    assert occupancy(terms, 2, None, case).without == ("c",)
    assert smallest_pool(terms, None, case) == 3
    assert occupancy(terms, 2, None, case, release=True).without == ()


@BOTH_CASES
def test_overlapping_and_touching_attendances_are_one_stay(case: Case) -> None:
    """a never leaves before 13:00, so b, although listed first, gets nothing at 12:00."""
    stays = [
        Attendance("lecture", at(9), at(12), ("a",)),
        Attendance("question time", at(10), at(11), ("a",)),
        Attendance("practice", at(12), at(13), ("b", "a")),
        Attendance("report", at(13), at(14), ("c",)),
    ]
    result = occupancy(stays, 1, 2 * MINUTE, case, release=True)
    assert result.shortages == (Shortage(at(12), "practice", ("b",)),)
    assert (result.peak, result.peak_at, result.demand_peak) == (1, at(9), 2)


@BOTH_CASES
@pytest.mark.parametrize(("first_ends", "second_ends"), [(at(12), at(14)), (at(14), at(12))])
def test_of_two_attendances_that_overlap_the_later_end_counts(
    case: Case, first_ends: datetime, second_ends: datetime
) -> None:
    """By hand: a1 was there before; at 12:30 it still holds the only address."""
    attendances = [
        Attendance("before", at(8), at(9), ("a1",)),
        Attendance("first", at(10), first_ends, ("a1",)),
        Attendance("second", at(11), second_ends, ("a1",)),
        Attendance("other", at(12, 30), at(16), ("b1",)),
    ]
    pool = occupancy(attendances, 1, HOUR, case, release=True)
    assert pool.shortages == (Shortage(at(12, 30), "other", ("b1",)),)


def test_who_returns_asks_again_and_holds_the_address_longer() -> None:
    """a returns at 10:00 for 10 min, before its lease ends: the new one ends at 12:00 at best."""
    visits = [
        Attendance("first visit", at(9), at(9, 10), ("a",)),
        Attendance("second visit", at(10), at(10, 10), ("a",)),
        Attendance("too early", at(11, 59), at(11, 59) + MINUTE, ("b",)),
        Attendance("in time", at(12), at(13), ("c",)),
    ]
    result = occupancy(visits, 1, 2 * HOUR, Case.BEST)
    assert result.shortages == (Shortage(at(11, 59), "too early", ("b",)),)


@BOTH_CASES
def test_who_leaves_as_an_address_comes_free_no_longer_takes_it(case: Case) -> None:
    """The lease of a ends at 11:10 in both cases; b has waited for it, and leaves at 11:10."""
    left = at(10, 10) if case is Case.WORST else at(10, 40)
    queue = [
        Attendance("first", at(9), left, ("a",)),
        Attendance("second", at(10), at(11, 10), ("b",)),
        Attendance("third", at(11, 10), at(12), ("c",)),
    ]
    assert occupancy(queue, 1, HOUR, case).without == ("b",)


def test_who_waits_takes_the_first_address_that_comes_free() -> None:
    """b waits at 9:30; a leaves at 10:00 and its lease ends at 11:00; b holds it until 13:00."""
    queue = [
        Attendance("first", at(9), at(10), ("a",)),
        Attendance("second", at(9, 30), at(12), ("b",)),
        Attendance("third", at(12, 30), at(12, 45), ("c",)),
        Attendance("fourth", at(13), at(14), ("d",)),
    ]
    result = occupancy(queue, 1, HOUR, Case.WORST)
    assert result.shortages == (
        Shortage(at(9, 30), "second", ("b",)),
        Shortage(at(12, 30), "third", ("c",)),
    )
    assert result.peak == 1


def test_who_still_waits_is_short_in_each_of_its_attendances() -> None:
    day = [
        Attendance("all day", at(8), at(18), ("a",)),
        Attendance("morning", at(9), at(12), ("b",)),
        Attendance("afternoon", at(12), at(15), ("b", "c")),
    ]
    result = occupancy(day, 1, HOUR, Case.BEST)
    assert result.shortages == (
        Shortage(at(9), "morning", ("b",)),
        Shortage(at(12), "afternoon", ("b", "c")),
    )
    assert result.without == ("b", "c")
    assert result.runs_out_at == at(9)


@BOTH_CASES
def test_permanent_stations_come_first(case: Case) -> None:
    group = [Attendance("group", at(9), at(12), clients("a", 5))]
    result = occupancy(group, 6, HOUR, case, permanent=3)
    assert result == Occupancy(6, at(9), 8, (Shortage(at(9), "group", ("a4", "a5")),))
    crowded_out = occupancy(group, 2, HOUR, case, permanent=3)
    assert crowded_out == Occupancy(2, None, 8, (Shortage(at(9), "group", clients("a", 5)),))


def test_an_empty_timetable_needs_what_is_permanent() -> None:
    assert occupancy([], 10, HOUR, Case.WORST, permanent=4) == Occupancy(4, None, 4, ())
    assert smallest_pool([], HOUR, Case.WORST, permanent=4) == 4


def test_a_client_listed_twice_is_one_client() -> None:
    doubled = [Attendance("group", at(9), at(12), ("a", "b", "a", "b"))]
    result = occupancy(doubled, 1, HOUR, Case.WORST)
    assert (result.demand_peak, result.without) == (2, ("b",))
    assert result.shortages[0].without == ("b",)


def test_the_order_of_the_attendances_does_not_matter() -> None:
    groups = two_groups(at(12), at(13))
    forward = occupancy(groups, 50, 8 * HOUR, Case.BEST)
    assert occupancy(groups[::-1], 50, 8 * HOUR, Case.BEST) == forward


# --- the longest lease --------------------------------------------------------------------------


def test_longest_lease_between_two_groups() -> None:
    """By hand: the addresses must be free an hour after the first group left: L, or L/2, is 1 h."""
    groups = two_groups(at(12), at(13))
    assert longest_lease(groups, 50, Case.WORST) == HOUR
    assert longest_lease(groups, 50, Case.BEST) == 2 * HOUR


def test_longest_lease_ends_at_thirty_days() -> None:
    groups = two_groups(at(12), at(13))
    assert longest_lease(groups, 60, Case.WORST) == timedelta(days=30)
    assert longest_lease(groups, 60, Case.WORST, permanent=1) == HOUR


def test_there_is_no_longest_lease_where_the_shortest_is_too_long() -> None:
    """The shortest lease is 2 min: dnsmasq(8) 2.90."""
    assert longest_lease(two_groups(at(12), at(13)), 29, Case.BEST) is None
    assert longest_lease(two_groups(at(12), at(12, 1)), 50, Case.WORST) is None
    assert longest_lease(two_groups(at(12), at(12, 2)), 50, Case.WORST) == 2 * MINUTE


# --- bad arguments ------------------------------------------------------------------------------


@pytest.mark.parametrize("end", [at(9), at(8)])
def test_an_attendance_ends_after_its_start(end: datetime) -> None:
    with pytest.raises(ValueError, match=r"^end of 'group A' is 2026-11-30 0[89]:00:00; it"):
        Attendance("group A", at(9), end, ("a",))


@pytest.mark.parametrize("lease_s", [0, -60, 0xFFFFFFFF, 2**33])  # 0xffffffff: RFC 2131, 3.3
def test_a_lease_out_of_its_limits_is_refused(lease_s: int) -> None:
    lease = timedelta(seconds=lease_s)
    refusal = rf"^lease is {lease_s} s; it must be above 0 s and below 4294967295 s$"
    with pytest.raises(ValueError, match=refusal):
        occupancy([], 1, lease, Case.BEST)
    with pytest.raises(ValueError, match=refusal):
        smallest_pool([], lease, Case.BEST)
    with pytest.raises(ValueError, match=refusal):
        levels([], lease, Case.BEST)
    with pytest.raises(ValueError, match=refusal):
        renewal_time(lease)
    with pytest.raises(ValueError, match=refusal):
        rebinding_time(lease)


def test_counts_below_zero_are_refused() -> None:
    with pytest.raises(ValueError, match=r"^size is -1; it must be at least 0$"):
        occupancy([], -1, HOUR, Case.BEST)
    with pytest.raises(ValueError, match=r"^size is -1; it must be at least 0$"):
        longest_lease([], -1, Case.BEST)
    with pytest.raises(ValueError, match=r"^permanent is -1; it must be at least 0$"):
        occupancy([], 1, HOUR, Case.BEST, permanent=-1)
    with pytest.raises(ValueError, match=r"^permanent is -1; it must be at least 0$"):
        smallest_pool([], HOUR, Case.BEST, permanent=-1)
    with pytest.raises(ValueError, match=r"^permanent is -1; it must be at least 0$"):
        levels([], HOUR, Case.BEST, permanent=-1)


# --- laws ---------------------------------------------------------------------------------------


@st.composite
def attendance(draw: st.DrawFn) -> Attendance:
    """Some of four clients, for some minutes of half an hour."""
    start = draw(st.integers(0, 25))
    end = start + draw(st.integers(1, 12))
    there = draw(st.lists(st.sampled_from("abcd"), min_size=1, max_size=4, unique=True))
    return Attendance(f"{start}-{end}", at(9, start), at(9, end), tuple(there))


timetables = st.lists(attendance(), min_size=1, max_size=6)
cases = st.sampled_from(Case)
leases = st.one_of(st.none(), st.integers(1, 15).map(lambda half: timedelta(minutes=2 * half)))
sizes = st.integers(0, 5)


class PlainPool:
    """The same rules in the plainest way: one look at everybody each minute."""

    def __init__(
        self, timetable: list[Attendance], size: int, lease: timedelta | None, case: Case
    ) -> None:
        self.timetable, self.size, self.lease, self.case = timetable, size, lease, case
        self.since: dict[str, datetime] = {}
        self.until: dict[str, datetime] = {}
        self.queue: list[str] = []
        self.shortages: list[Shortage] = []
        self.peak = 0
        for minute in range(40):
            self.look(at(9, minute))

    def look(self, now: datetime) -> None:
        there = {c for each in self.timetable if each.start <= now < each.end for c in each.clients}
        self.queue = [client for client in self.queue if client in there]
        for client in self.since.keys() - there:
            self.until[client] = self.lease_end(self.since.pop(client), now)
        self.until = {client: until for client, until in self.until.items() if until > now}
        self.serve(now)
        for each in self.timetable:
            if each.start == now:
                self.admit(each, now)
        self.peak = max(self.peak, len(self.since) + len(self.until))

    def lease_end(self, since: datetime, left: datetime) -> datetime:
        if self.lease is None:
            return datetime.max
        if self.case is Case.WORST:
            return left + self.lease
        return max(since + self.lease, left + self.lease / 2)

    def admit(self, attendance: Attendance, now: datetime) -> None:
        for client in attendance.clients:
            if self.until.pop(client, None):
                self.since[client] = now
            elif client not in self.since and client not in self.queue:
                self.queue.append(client)
                self.serve(now)
        without = tuple(client for client in attendance.clients if client in self.queue)
        if without:
            self.shortages.append(Shortage(now, attendance.name, without))

    def serve(self, now: datetime) -> None:
        while self.queue and len(self.since) + len(self.until) < self.size:
            self.since[self.queue.pop(0)] = now


@settings(max_examples=500)
@given(timetables, sizes, leases, cases)
def test_a_pool_goes_as_a_look_at_every_minute_shows(
    timetable: list[Attendance], size: int, lease: timedelta | None, case: Case
) -> None:
    expected = PlainPool(timetable, size, lease, case)
    result = occupancy(timetable, size, lease, case)
    assert list(result.shortages) == expected.shortages
    assert result.peak == expected.peak
    assert result.demand_peak == PlainPool(timetable, 4, lease, case).peak


@given(timetables, sizes, leases, cases, st.integers(0, 3), st.booleans())
def test_occupancy_exceeds_neither_the_clients_nor_the_pool(
    timetable: list[Attendance],
    size: int,
    lease: timedelta | None,
    case: Case,
    permanent: int,
    release: bool,
) -> None:
    result = occupancy(timetable, size, lease, case, permanent, release)
    everybody = {client for each in timetable for client in each.clients}
    assert result.peak == min(size, result.demand_peak)
    assert result.demand_peak <= len(everybody) + permanent
    assert set(result.without) <= everybody


@given(timetables, sizes, leases)
def test_the_best_case_is_never_above_the_worst(
    timetable: list[Attendance], size: int, lease: timedelta | None
) -> None:
    best = occupancy(timetable, size, lease, Case.BEST)
    worst = occupancy(timetable, size, lease, Case.WORST)
    assert best.demand_peak <= worst.demand_peak
    assert best.peak <= worst.peak
    if best.runs_out_at is not None:
        assert worst.runs_out_at is not None
        assert worst.runs_out_at <= best.runs_out_at


@given(timetables, sizes, leases, cases)
def test_releasing_never_needs_more(
    timetable: list[Attendance], size: int, lease: timedelta | None, case: Case
) -> None:
    held = occupancy(timetable, size, lease, case)
    released = occupancy(timetable, size, lease, case, release=True)
    assert released.demand_peak <= held.demand_peak


@given(timetables, leases, cases, st.integers(0, 3))
def test_the_smallest_pool_suffices_and_one_less_does_not(
    timetable: list[Attendance], lease: timedelta | None, case: Case, permanent: int
) -> None:
    size = smallest_pool(timetable, lease, case, permanent)
    assert occupancy(timetable, size, lease, case, permanent).shortages == ()
    assert occupancy(timetable, size - 1, lease, case, permanent).shortages != ()


@given(timetables, st.integers(1, 5), cases, st.integers(0, 3))
def test_the_longest_lease_works_and_a_minute_more_does_not(
    timetable: list[Attendance], size: int, case: Case, permanent: int
) -> None:
    longest = longest_lease(timetable, size, case, permanent)
    if longest is None:
        assert occupancy(timetable, size, 2 * MINUTE, case, permanent).shortages != ()
        return
    assert occupancy(timetable, size, longest, case, permanent).shortages == ()
    if longest < timedelta(days=30):
        longer = longest + MINUTE
        assert occupancy(timetable, size, longer, case, permanent).shortages != ()


@given(timetables, sizes, leases, cases)
def test_a_client_is_listed_only_while_the_pool_is_full(
    timetable: list[Attendance], size: int, lease: timedelta | None, case: Case
) -> None:
    result = occupancy(timetable, size, lease, case)
    assume(result.shortages)
    assert result.peak == size
    assert (result.peak_at or at(0)) <= result.shortages[0].at
    moments = [shortage.at for shortage in result.shortages]
    assert moments == sorted(moments)
    starts = {(each.name, each.start) for each in timetable}
    assert {(shortage.attendance, shortage.at) for shortage in result.shortages} <= starts


def test_thousands_of_clients_take_well_under_a_second() -> None:
    week = [
        Attendance(f"day {day}", at(9 + 24 * day), at(12 + 24 * day), clients(f"{day % 2}-", 2000))
        for day in range(5)
    ]
    began = time.perf_counter()
    assert smallest_pool(week, None, Case.WORST) == 4000
    assert longest_lease(week, 2000, Case.WORST) == 21 * HOUR
    assert time.perf_counter() - began < 2  # about a tenth of it on an ordinary machine
