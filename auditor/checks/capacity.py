"""Capacity, at three stages: places at the access point, addresses in the pool, time on the air."""

import math
from collections.abc import Iterator
from datetime import timedelta

from auditor.checks.registry import Scope, check
from auditor.compute.airtime import dtim_wait_s
from auditor.findings import Found, Stage
from auditor.models.quantities import shown_duration
from auditor.models.words import Severity
from auditor.survey.airtime import (
    Airtime,
    airtime,
    beacon_interval_s,
    faster_basic_rates_mbps,
    has_broadcasts,
)
from auditor.survey.kit import Survey
from auditor.survey.selection import id_ranges
from auditor.survey.timetable import (
    PLACE_HELD,
    Crowd,
    LeasePlan,
    crowds,
    free_outside_pool,
    grown_pool,
    lease_plan,
    moment_in_words,
    peak_of,
    session_of,
    shortage_sentence,
    without_address,
)

STATIONS = "hostapd.conf, max_num_sta and ap_max_inactivity (300 s unless set)"
FREE_ADDRESSES = "RFC 2131, section 4.3.1 (a server offers an address that is not allocated)"
LEASES = "RFC 2131, section 4.3.1 (who gets which address) and 4.4.5 (renewal at half the lease)"
RENEWAL = "RFC 2131, section 4.4.5 (renewal at half the lease)"
AIRTIME = "IEEE 802.11, frame formats and durations; the thresholds: common practice, no source"
DTIM = "IEEE 802.11, power management; hostapd.conf, dtim_period and beacon_int"


@check(Stage.ADMISSION, Severity.RISK, STATIONS, scope=Scope.KIT)
def stations_over_limit(survey: Survey) -> Iterator[Found]:
    """More stations want to associate at one moment than the access point takes.

    Whoever comes late is refused, and nobody can say beforehand who that will be. A module that
    is switched off does not say goodbye: it keeps its place for minutes, so that a group that
    follows at once finds the places of the last one taken.

    Mend: Raise the limit, leave a few minutes between the groups, or add an access point.

    Example:
        [network]
        station_limit = 4
    """
    limit = survey.network.station_limit
    if limit is None:
        return
    over = [crowd for crowd in crowds(survey) if crowd.arriving and crowd.stations > limit]
    if over:
        peak = peak_of(tuple(over))
        yield Found(
            _crowd_sentence(peak, limit),
            _crowd_remedy(peak, limit),
            (
                survey.place("network", "station_limit"),
                *(survey.place("session", number) for number in peak.sessions),
            ),
            {
                "peak": peak.stations,
                "limit": limit,
                "refused": peak.stations - limit,
                "at": peak.at.isoformat() if peak.at else None,
            },
            concerns=tuple(sorted(frozenset().union(*(crowd.arriving for crowd in over)))),
        )


def _crowd_sentence(peak: Crowd, limit: int) -> str:
    when = f"On {moment_in_words(peak.at)}, " if peak.at else "With everybody there, "
    who = [_counted(peak.present, "module")]
    who += [f"{peak.left} that left a moment ago"] if peak.left else []
    who += [_counted(peak.others, "other station")] if peak.others else []
    return (
        f"{when}{peak.stations} stations need a place ({', '.join(who)}) and the access point "
        f"takes {limit}: {peak.stations - limit} too many."
    )


def _crowd_remedy(peak: Crowd, limit: int) -> str:
    higher = f"raise station_limit to {peak.stations}, if the access point can serve so many"
    if peak.left and peak.present + peak.others <= limit:
        pause = shown_duration(PLACE_HELD)
        return _choice([f"leave more than {pause} between the sessions", higher])
    return _choice([higher, "split the groups", "add an access point"])


@check(Stage.ADDRESS, Severity.RISK, FREE_ADDRESSES, scope=Scope.KIT)
def pool_too_small(survey: Survey) -> Iterator[Found]:
    """The pool has fewer free addresses than there are stations that lease one.

    First come, first served: the last ones associate and get no address. Counted are all pooled
    modules and other stations at once, since there is no timetable; the addresses that static
    modules, hosts, the gateway or strangers' reservations hold are no room, nor are the network
    and broadcast addresses.

    Mend: Make the pool larger, or give some modules static addresses outside of it.

    Example:
        session = []
        [network.ipv4]
        pool = { first = "10.20.0.109", last = "10.20.0.110" }
    """
    room, competing, held = survey.pool_room, survey.competing, survey.held_throughout
    wanted = held + len(competing)
    if room is None or survey.sessions or survey.has_address_server is False:
        return
    if competing and wanted > room:
        short = min(wanted - room, len(competing))
        larger = f"make the pool {_pool_words(survey, wanted)}"
        static = _static_words(short, None, survey)
        yield Found(
            f"{wanted} addresses are wanted ({_counted(len(competing), 'pooled module')}, "
            f"{held} for other stations and reservations) and the pool has room for {room}: "
            f"{_counted(short, 'module')} will get none.",
            _choice([larger, *static]),
            (survey.place("network", "ipv4", "pool"),),
            {
                "wanted": wanted,
                "size": room,
                "without": short,
                "smallest_pool": _pool_length(survey, wanted),
            },
            concerns=competing,
        )


@check(Stage.ADDRESS, Severity.RISK, LEASES, scope=Scope.KIT)
def pool_runs_out(survey: Survey) -> Iterator[Found]:
    """The pool runs out of addresses in the course of the timetable.

    A module that is switched off keeps its lease to the end. The next group then finds the
    addresses of the last one taken, and its late comers associate and get none. How many
    depends on when each module last renewed, so there is a best and a worst case.

    Mend: Shorten the lease, enlarge the pool, or give some modules static addresses.

    Example:
        [network.ipv4]
        pool = { first = "10.20.0.108", last = "10.20.0.110" }
        [[session]]
        name = "Monday morning"
        modules = ["TG-01..TG-04"]
        [[session]]
        name = "Monday afternoon"
        start = 2026-03-02T13:00:00
        end = 2026-03-02T16:00:00
        modules = ["TG-05"]
        [[module]]
        id = "TG-05"
        hardware_address = "00:00:5e:00:53:05"
        addressing = "pooled"
    """
    plan = lease_plan(survey)
    if not survey.sessions or plan.room is None or survey.has_address_server is False:
        return
    if plan.judged.shortages:
        first = plan.judged.shortages[0]
        short = {int(each.attendance) for each in plan.judged.shortages}
        yield Found(
            _shortage_words(plan, len(short), survey),
            _choice(_ways_out(plan, survey)),
            (
                survey.place("network", "ipv4", "pool"),
                survey.place("network", "ipv4", "lease_time"),
                survey.place("session", int(first.attendance)),
            ),
            {
                "runs_out_at": first.at.isoformat(),
                "session": session_of(first, survey).name,
                "without": len(first.without),
                "without_at_best": _without_at_best(plan),
                "modules": survey.ids(without_address(first)),
                "best_peak": plan.best.demand_peak,
                "worst_peak": plan.judged.demand_peak,
                "size": plan.room,
                "longest_lease_s": _seconds(plan.longest_lease),
                "smallest_pool": _pool_length(survey, plan.judged.demand_peak),
                "static_modules": len(plan.judged.without),
            },
            concerns=_attending(plan, short),
        )


def _shortage_words(plan: LeasePlan, short_sessions: int, survey: Survey) -> str:
    first = plan.judged.shortages[0]
    clients = next(each.clients for each in plan.attendances if each.name == first.attendance)
    without, at_best = len(first.without), _without_at_best(plan)
    of = f"of {len(clients)} pooled modules"
    if at_best < without:
        of += f" (at best {at_best or 'none'}: it depends on when those who left last renewed)"
    names = id_ranges(survey.ids(without_address(first)))
    held = ""
    if plan.lease and not plan.is_short_at_once(first):
        held = f" Those who left hold their leases of {shown_duration(plan.lease)} to the end."
    more = f" It is short in {short_sessions} sessions." if short_sessions > 1 else ""
    verb = "gets" if without == 1 else "get"
    return (
        f"{shortage_sentence(first, survey)} {without} {of} {verb} no address: {names}.{held}{more}"
    )


def _without_at_best(plan: LeasePlan) -> int:
    """Return how many go without in the best case where it is first short in the worst."""
    first = plan.judged.shortages[0]
    return next(
        (len(each.without) for each in plan.best.shortages if each.attendance == first.attendance),
        0,
    )


def _ways_out(plan: LeasePlan, survey: Survey) -> Iterator[str]:
    if plan.longest_lease:
        yield f"set lease_time to {shown_duration(plan.longest_lease)} or less"
    yield f"make the pool {_pool_words(survey, plan.judged.demand_peak)}"
    names = id_ranges(survey.ids(map(int, plan.judged.without)))
    yield from _static_words(len(plan.judged.without), names, survey)


def _attending(plan: LeasePlan, sessions: set[int]) -> tuple[int, ...]:
    """Return the modules that compete for an address in some of the sessions."""
    clients = {
        int(client)
        for each in plan.attendances
        if int(each.name) in sessions
        for client in each.clients
    }
    return tuple(sorted(clients))


@check(Stage.ADDRESS, Severity.ADVICE, RENEWAL, scope=Scope.KIT)
def lease_shorter_than_session(survey: Survey) -> Iterator[Found]:
    """A lease is shorter than a session, so modules must renew it while they are in use.

    A module renews at half its lease. One whose program does not, or that misses the server
    then, loses its address in the middle of the session.

    Mend: Make the lease as long as the longest session where the pool allows it; else try a
    module past the end of its lease.

    Example:
        [network.ipv4]
        lease_time = "2 h"
    """
    lease = survey.ipv4.lease_time
    if lease is None or survey.has_address_server is False:
        return
    lengths = _lengths_of_pooled_sessions(survey)
    longer = [number for number, length in lengths.items() if length > lease]
    if longer:
        longest = max(longer, key=lambda number: lengths[number])
        length, more = lengths[longest], len(longer) - 1
        others = f", and than {_counted(more, 'other session')}" if more else ""
        yield Found(
            f"A lease of {shown_duration(lease)} is shorter than "
            f"{survey.fleet.session[longest].name}, which takes {shown_duration(length)}"
            f"{others}.",
            _lease_remedy(length, survey),
            (
                survey.place("network", "ipv4", "lease_time"),
                *(survey.place("session", number) for number in longer),
            ),
            {"lease_s": _seconds(lease), "longest_session_s": _seconds(length)},
        )


def _lengths_of_pooled_sessions(survey: Survey) -> dict[int, timedelta]:
    """Return how long each session takes that a pooled module attends, by its number."""
    pooled, sessions = frozenset(survey.pooled), survey.fleet.session
    return {
        number: sessions[number].end - sessions[number].start
        for number, chosen in survey.sessions
        if chosen.indexes & pooled
    }


def _lease_remedy(length: timedelta, survey: Survey) -> str:
    plan = lease_plan(survey)
    if plan.room is not None and plan.longest_lease and length <= plan.longest_lease:
        return f"Set lease_time to {shown_duration(length)} or more."
    return "Let a module run past the end of its lease and see that it keeps its address."


@check(Stage.DELIVERY, Severity.ADVICE, AIRTIME, scope=Scope.KIT)
def airtime_high(survey: Survey) -> Iterator[Found]:
    """Beacons and broadcasts take a large part of the channel.

    A broadcast goes out at the lowest basic rate, unacknowledged and never repeated; one of a
    wireless talker takes the air twice, to the access point and from there to all. What is
    lost in a crowd is lost. Neighbours on the channel need their share, too.

    Mend: Send less often, or raise the lowest basic rate where every station supports it.

    Example:
        [network]
        lowest_basic_rate = "1 Mb/s"
        [traffic]
        message_bytes = 4
        message_interval = "14 ms"
    """
    found, thresholds = airtime(survey), survey.policy.thresholds
    if found is None or found.share * 100 <= thresholds.airtime_advice:
        return
    is_risk = found.share * 100 > thresholds.airtime_risk
    yield Found(
        _airtime_words(found),
        _airtime_remedy(found, float(thresholds.airtime_advice) / 100, survey),
        (
            survey.place("traffic", "message_interval"),
            survey.place("network", "lowest_basic_rate"),
        ),
        {
            "share": round(found.share, 4),
            "beacons": round(found.beacons, 4),
            "broadcasts": round(found.broadcasts, 4),
            "talkers": found.talkers,
            "basic_rate_mbps": found.basic_rate_mbps,
        },
        severity=Severity.RISK if is_risk else None,
        concerns=survey.everyone if is_risk else (),
    )


def _airtime_words(found: Airtime) -> str:
    interval = shown_duration(timedelta(seconds=found.interval_s))
    excess = ", more than there is" if found.share > 1 else ""
    return (
        f"At {found.basic_rate_mbps:g} Mb/s beacons and broadcasts take {found.share:.1%} of the "
        f"channel{excess}: beacons {found.beacons:.1%}, {_counted(found.talkers, 'talker')} every "
        f"{interval} {found.broadcasts:.1%}."
    )


def _airtime_remedy(found: Airtime, wanted: float, survey: Survey) -> str:
    ways = []
    interval_s = found.interval_for_s(wanted)
    if interval_s and found.broadcasts:
        longer = timedelta(milliseconds=math.ceil(interval_s * 1000))
        ways.append(f"send a message every {shown_duration(longer)} or less often")
    for rate_mbps in faster_basic_rates_mbps(survey):
        faster = airtime(survey, rate_mbps)
        if faster and faster.share <= wanted:
            ways.append(
                f"raise lowest_basic_rate to {rate_mbps:g} Mb/s, if every station supports it "
                "and is near enough"
            )
            break
    return _choice(ways or ["let fewer modules talk, or space the beacons out"])


@check(Stage.DELIVERY, Severity.ADVICE, DTIM, scope=Scope.KIT)
def broadcast_waits_for_beacon(survey: Survey) -> Iterator[Found]:
    """Broadcasts come faster than the beacons after which dozing stations hear them.

    As soon as one station dozes, the access point keeps every broadcast back until the beacon
    that wakes them all, and then sends what has gathered. Messages arrive late and in bunches.

    Mend: Switch power saving off on every station, or take a DTIM period of 1 and expect bunches.

    Example:
        [traffic]
        message_interval = "100 ms"
    """
    interval = survey.fleet.traffic.message_interval
    if not interval or not has_broadcasts(survey):
        return
    period = survey.network.dtim_period or 1
    wait_s = dtim_wait_s(beacon_interval_s(survey), period)
    interval_s = interval.total_seconds()
    if interval_s < wait_s:
        shorter = "set dtim_period to 1, and " if period > 1 else ""
        yield Found(
            f"Messages come every {shown_duration(interval)}; while a station dozes they wait up "
            f"to {shown_duration(timedelta(seconds=wait_s))} for a beacon.",
            f"Switch power saving off on every station; {shorter}let receivers cope with "
            f"{math.ceil(wait_s / interval_s)} messages of each talker at once.",
            (
                survey.place("traffic", "message_interval"),
                survey.place("network", "dtim_period"),
            ),
            {"interval_s": interval_s, "wait_s": round(wait_s, 6), "dtim_period": period},
        )


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _seconds(span: timedelta | None) -> float | None:
    return None if span is None else span.total_seconds()


def _choice(ways: Iterator[str] | list[str]) -> str:
    """Return ways out of which one is enough, as one sentence."""
    text = "; or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."


def _pool_length(survey: Survey, room: int) -> int:
    """Return how many addresses that stations may have the pool has to span to have that room."""
    pool = survey.pool
    present = len(pool) - pool.count_of(survey.no_stations) if pool else 0
    return room + present - (survey.pool_room or 0)


def _pool_words(survey: Survey, room: int) -> str:
    """Return the pool that has that room, by its ends where it can grow as it stands."""
    grown = grown_pool(survey, room)
    if grown is None:
        return f"{_pool_length(survey, room)} addresses long, for which there is no room beside it"
    return f"{len(grown)} addresses long, {grown.first} to {grown.last}"


def _static_words(number: int, names: str | None, survey: Survey) -> list[str]:
    """Return the way out by static addresses, if the subnet has enough outside of the pool."""
    free = free_outside_pool(survey)
    if free is not None and free < number:
        return []
    which = f" ({names})" if names else ""
    noun = "a static address" if number == 1 else "static addresses"
    return [f"give {_counted(number, 'module')}{which} {noun} outside of the pool"]
