"""Places, leases and airtime: planted shortages, both sides of every border."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.compute.leases import Attendance, Case, occupancy
from auditor.examples import ENVIRONMENT, clean_text
from auditor.findings import AuditResult, Finding
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.survey.airtime import airtime
from auditor.survey.kit import Survey
from auditor.survey.selection import id_ranges
from auditor.survey.timetable import moment_in_words
from tests.checks.kits import TODAY, audited, findings, fired
from tests.observed.fleets import cases, write_fleet

CAPACITY_CHECKS = {
    "stations-over-limit",
    "pool-too-small",
    "pool-runs-out",
    "lease-shorter-than-session",
    "airtime-high",
    "broadcast-waits-for-beacon",
}
GROUP_A, GROUP_B = ("A", 9, 12, "A-01..A-30"), ("B", 13, 16, "B-01..B-30")


def session(name: str, start: float, end: float, modules: str) -> str:
    """Return a session on Monday, 2026-03-02; hours may be fractions."""
    return (
        f'[[session]]\nname = "Group {name}"\nmodules = ["{modules}"]\n'
        f"start = {_moment(start)}\nend = {_moment(end)}\n"
    )


def _moment(hour: float) -> str:
    return (datetime(2026, 3, 2) + timedelta(seconds=round(hour * 3600))).isoformat()


def two_groups(
    pool: int = 50, lease: str | None = "8 h", timetable: Iterable[str] = (), network: str = ""
) -> str:
    """Return a kit of two groups of 30 pooled modules, and a pool of so many addresses."""
    modules = "".join(
        f'[[module]]\nid = "{group}-{n:02}"\naddressing = "pooled"\n'
        f'hardware_address = "02:00:00:00:{index:02x}:{n:02x}"\n'
        for index, group in enumerate("AB")
        for n in range(1, 31)
    )
    lasts = "" if lease is None else f'lease_time = "{lease}"\n'
    return (
        f"[network]\n{network}\n[network.ipv4]\n"
        'subnet = "10.20.0.0/24"\ngateway = "10.20.0.1"\naddress_server = true\n'
        f'pool = {{ first = "10.20.0.100", last = "10.20.0.{99 + pool}" }}\n{lasts}'
        + "".join(timetable or (session(*GROUP_A), session(*GROUP_B)))
        + modules
    )


def _with(tables: str, text: str) -> str:
    """Return a kit with further tables before its first session."""
    return text.replace("[[session]]", tables + "[[session]]", 1)


def audit_of(text: str) -> AuditResult:
    return audit(fleet_of_text(text, "kit.toml", {}), TODAY)


def found_in(text: str, check: str) -> list[Finding]:
    return [finding for finding in audit_of(text).findings if finding.check == check]


# --- the pool over a timetable ------------------------------------------------------------------


def test_the_next_group_runs_out_of_addresses() -> None:
    """By hand from RFC 2131, section 4.4.5, as leases are held for L/2 to L after a departure.

    The 30 that leave at 12:00 hold leases of 8 h until 16:00 to 20:00; of 50 addresses 20 are
    free for the 30 that come at 13:00.
    """
    [finding] = found_in(two_groups(), "pool-runs-out")
    assert finding.message.startswith(
        "Group B runs out of addresses on Monday, 2026-03-02, at 13:00. "
        "10 of 30 pooled modules get no address: B-21..B-30."
    )
    assert finding.figures["runs_out_at"] == "2026-03-02T13:00:00"
    assert finding.figures["without"] == finding.figures["without_at_best"] == 10
    assert finding.concerns == tuple(range(30, 60))
    assert finding.severity is Severity.RISK


def test_three_ways_out_are_named_with_their_figures_and_each_works() -> None:
    """By hand: leases of at most 1 h end by 13:00, 60 addresses suffice, or 10 static ones."""
    [finding] = found_in(two_groups(), "pool-runs-out")
    assert finding.remedy == (
        "Set lease_time to 1 h or less; or make the pool 60 addresses long, "
        "10.20.0.100 to 10.20.0.159; or give 10 modules (B-21..B-30) static addresses "
        "outside of the pool."
    )
    assert not found_in(two_groups(lease="1 h"), "pool-runs-out")
    assert found_in(two_groups(lease="61 min"), "pool-runs-out")
    assert not found_in(two_groups(pool=60), "pool-runs-out")
    assert found_in(two_groups(pool=59), "pool-runs-out")
    static = two_groups()
    for n in range(21, 31):
        own = f'id = "B-{n}"\naddressing = "pooled"'
        static = static.replace(own, f'id = "B-{n}"\naddress = "10.20.0.{n}"')
    assert not found_in(static, "pool-runs-out")
    nine = static.replace('address = "10.20.0.30"', 'addressing = "pooled"')
    assert found_in(nine, "pool-runs-out")


def test_best_and_worst_case_differ_where_old_leases_end_in_between() -> None:
    """By hand from RFC 2131, section 4.4.5: held for L/2 to L after the departure at 12:00.

    Leases of 90 min end from 12:45 to 13:30, so at 13:00 all may be free, or none.
    """
    [finding] = found_in(two_groups(lease="90 min"), "pool-runs-out")
    assert (finding.figures["without"], finding.figures["without_at_best"]) == (10, 0)
    assert "(at best none: it depends on when those who left last renewed)" in finding.message


def test_other_stations_and_reservations_take_their_addresses_beforehand() -> None:
    assert not found_in(two_groups(pool=60), "pool-runs-out")
    [finding] = found_in(two_groups(pool=60, network="other_stations = 2"), "pool-runs-out")
    assert finding.figures["modules"] == ["B-29", "B-30"]
    kept = '[network.ipv4.reservations]\n"02:00:00:00:01:1e" = "10.20.0.159"\n'
    [finding] = found_in(
        _with(kept, two_groups(pool=60, network="other_stations = 1")), "pool-runs-out"
    )
    assert finding.figures["modules"] == ["B-29"]
    assert "1 of 29 pooled modules gets no address: B-29." in finding.message
    assert 59 not in finding.concerns


def test_with_an_unknown_lease_only_what_is_certain_is_said() -> None:
    result = audit_of(two_groups(lease=None))
    assert not [finding for finding in result.findings if finding.check == "pool-runs-out"]
    reasons = [gap.reason for gap in result.not_checked]
    assert "how long a lease lasts ([network.ipv4] lease_time)" in reasons
    both = [session("A", 9, 12, "A-01..A-30"), session("B", 11, 12, "B-01..B-30")]
    [finding] = found_in(two_groups(lease=None, timetable=both), "pool-runs-out")
    assert finding.figures["without"] == 10
    assert finding.figures["longest_lease_s"] is None


def test_no_lease_time_is_missed_where_the_pool_has_room_for_all() -> None:
    reasons = [gap.reason for gap in audit_of(two_groups(pool=60, lease=None)).not_checked]
    assert "how long a lease lasts ([network.ipv4] lease_time)" not in reasons


def test_a_group_that_comes_back_keeps_its_addresses() -> None:
    """RFC 2131, section 4.3.1: an old client gets its old address again."""
    again = [session(*GROUP_A), session("A again", 13, 16, "A-01..A-30")]
    assert not found_in(two_groups(pool=30, timetable=again), "pool-runs-out")


def test_leases_held_are_blamed_only_where_they_are_to_blame() -> None:
    [held] = found_in(two_groups(), "pool-runs-out")
    [crowded] = found_in(two_groups(pool=20), "pool-runs-out")
    assert "hold their leases of 8 h" in held.message
    assert "hold their leases" not in crowded.message
    assert "Group A runs out of addresses on Monday, 2026-03-02, at 09:00." in crowded.message
    assert "It is short in 2 sessions." in crowded.message
    assert crowded.concerns == tuple(range(60))
    assert crowded.figures["runs_out_at"] == "2026-03-02T09:00:00"
    assert crowded.figures["session"] == "Group A"


def test_a_pool_does_not_grow_over_an_address_that_somebody_holds() -> None:
    host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.155"\n'
    [both_ways] = found_in(_with(host, two_groups()), "pool-runs-out")
    assert "60 addresses long, 10.20.0.95 to 10.20.0.154" in both_ways.remedy
    hosts = host + '[[network.host]]\nname = "printer"\naddress = "10.20.0.96"\n'
    [nowhere] = found_in(_with(hosts, two_groups()), "pool-runs-out")
    assert "60 addresses long, for which there is no room beside it" in nowhere.remedy


@pytest.mark.parametrize("case", ["H-churn-no-release", "G-pool2-four-clients"])
def test_as_many_go_without_an_address_as_were_observed(case: str, tmp_path: Path) -> None:
    """Observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90, November 2026."""
    assert _predicted(case, "without", tmp_path) == _observed(case, "address") == 2


def test_a_static_module_in_the_pool_leaves_one_address_less(tmp_path: Path) -> None:
    """Observed with a server that pings before it offers: hostapd 2.10, dnsmasq 2.90, 2026."""
    case = "G-static-in-pool-first-ping"
    assert _predicted(case, "without", tmp_path) == _observed(case, "address") == 1


def test_a_lease_that_ends_at_once_is_a_release(tmp_path: Path) -> None:
    """Observed with release: the next four all get an address (dnsmasq 2.90, November 2026)."""
    case = "H-churn-release"
    path = write_fleet(cases()[case], cases()[case]["clients"][0], tmp_path)
    path.write_text(path.read_text().replace('lease_time = "120 s"', 'lease_time = "1 us"'))
    checks = {f.check for f in audit(read_fleet(str(path), environment={}), TODAY).findings}
    assert _observed(case, "address") == 0
    assert "pool-runs-out" not in checks


def test_as_many_are_refused_a_place_as_were_observed(tmp_path: Path) -> None:
    """Observed on hostapd 2.10 / wpa_supplicant 2.10, max_num_sta 3, November 2026."""
    case = "E-max3-five-in-turn"
    assert _predicted(case, "refused", tmp_path) == _observed(case, "admission") == 2


def _observed(case: str, stage: str) -> int:
    return sum(client["stops_at"] == stage for client in cases()[case]["clients"])


def _predicted(case: str, figure: str, folder: Path) -> int:
    path = write_fleet(cases()[case], cases()[case]["clients"][0], folder)
    result = audit(read_fleet(str(path), environment={}), TODAY)
    found = [f for f in result.kit_findings if f.check in CAPACITY_CHECKS and figure in f.figures]
    assert len(found) == 1
    number = found[0].figures[figure]
    assert isinstance(number, int)
    return number


# --- the pool without a timetable ---------------------------------------------------------------

TWO = 'session = []\n[network.ipv4]\npool = {{ first = "10.20.0.{}", last = "10.20.0.110" }}\n'


def test_a_pool_that_is_exactly_full_is_no_risk() -> None:
    """Wanted: TG-03, the address reserved for TG-04, and one other station."""
    assert fired(TWO.format(108)) == {}
    [finding] = findings(TWO.format(109), "pool-too-small")
    assert (finding.figures["wanted"], finding.figures["size"]) == (3, 2)
    assert finding.concerns == (2,)


def test_a_timetable_replaces_the_plain_count() -> None:
    assert set(fired(TWO.format(109).removeprefix("session = []\n"))) == {"pool-runs-out"}


def test_a_reservation_of_its_own_keeps_a_module_out_of_the_race() -> None:
    reserve = '[network.ipv4.reservations]\n"00:00:5e:00:53:03" = "10.20.0.109"\n'
    assert findings(TWO.format(109), "pool-too-small")
    assert not findings(TWO.format(109) + reserve, "pool-too-small")


def test_without_a_server_nothing_is_said_of_the_room() -> None:
    assert "pool-too-small" not in fired(TWO.format(109) + "address_server = false\n")
    text = two_groups().replace("address_server = true", "address_server = false")
    assert not found_in(text, "pool-runs-out")
    assert not found_in(text, "lease-shorter-than-session")


# RFC 1122, section 3.2.1.3 (d), RFC 919, RFC 3021, section 3.1 (h): no host has the
# highest or the lowest address of a subnet; RFC 3021, section 2: but in a /31 both are hosts.
@pytest.mark.parametrize(
    ("subnet", "first", "last", "room"),
    [
        ("10.20.0.0/24", "10.20.0.250", "10.20.0.254", 5),
        ("10.20.0.0/24", "10.20.0.250", "10.20.0.255", 5),
        ("10.20.0.0/29", "10.20.0.0", "10.20.0.7", 6),
        ("10.20.0.0/30", "10.20.0.3", "10.20.0.3", 0),
        ("10.20.0.6/31", "10.20.0.6", "10.20.0.7", 2),
        ("10.20.0.7/32", "10.20.0.7", "10.20.0.7", 1),
    ],
)
def test_an_address_that_no_host_may_have_is_no_room(
    subnet: str, first: str, last: str, room: int
) -> None:
    text = (
        f'[network.ipv4]\nsubnet = "{subnet}"\npool = {{ first = "{first}", last = "{last}" }}\n'
        '[[module]]\nid = "A"\naddressing = "pooled"\n'
    )
    assert Survey(fleet_of_text(text, "kit.toml", {}), TODAY.date()).pool_room == room


@pytest.mark.parametrize(("first", "fires"), [(195, False), (196, True)])
def test_a_pool_up_to_the_broadcast_address_has_one_address_less(first: int, fires: bool) -> None:
    """By hand: 60 are wanted; 10.20.0.195 to .254 are 60 addresses that hosts may have."""
    text = two_groups().replace("10.20.0.100", f"10.20.0.{first}").replace(".149", ".255")
    found = found_in(text, "pool-runs-out")
    assert bool(found) is fires
    if fires:
        assert found[0].figures["smallest_pool"] == 60
        assert "60 addresses long, 10.20.0.195 to 10.20.0.254" in found[0].remedy


def test_a_pool_from_the_network_address_on_grows_at_its_end() -> None:
    """By hand: of .0 to .49 the gateway's and the network's own address cannot be leased."""
    text = two_groups().replace("10.20.0.100", "10.20.0.0").replace(".149", ".49")
    [found] = found_in(text, "pool-runs-out")
    assert found.figures["size"] == 48
    assert "61 addresses long, 10.20.0.1 to 10.20.0.61" in found.remedy


def test_an_address_reserved_where_no_host_can_be_is_held_by_nobody() -> None:
    text = _with(
        '[network.ipv4.reservations]\n"02:00:00:00:01:1e" = "10.20.0.255"\n',
        two_groups().replace("10.20.0.100", "10.20.0.195").replace(".149", ".255"),
    )
    survey = Survey(fleet_of_text(text, "kit.toml", {}), TODAY.date())
    assert (survey.pool_room, survey.held_throughout) == (60, 0)


# --- a lease against a session ------------------------------------------------------------------


@pytest.mark.parametrize(("lease", "fires"), [("3 h", False), ("179 min", True)])
def test_a_lease_should_last_a_session(lease: str, fires: bool) -> None:
    lines = f'[network.ipv4]\nlease_time = "{lease}"\n'
    assert ("lease-shorter-than-session" in fired(lines)) is fires


def test_a_longer_lease_is_advised_only_where_the_pool_can_bear_it() -> None:
    """By hand: with 50 addresses a lease longer than 1 h makes group B run out."""
    [fits] = found_in(two_groups(pool=60, lease="1 h"), "lease-shorter-than-session")
    [tight] = found_in(two_groups(pool=50, lease="1 h"), "lease-shorter-than-session")
    assert fits.remedy == "Set lease_time to 3 h or more."
    assert tight.remedy.startswith("Let a module run past the end of its lease")
    assert "Group A, which takes 3 h, and than 1 other session." in tight.message
    assert tight.severity is Severity.ADVICE
    assert tight.concerns == ()


# --- places at the access point -----------------------------------------------------------------


def test_the_limit_is_for_everybody_who_associates() -> None:
    """Counted: four modules and one other station; a wired host takes no place."""
    assert fired("[network]\nstation_limit = 5\n") == {}
    [finding] = findings("[network]\nstation_limit = 4\n", "stations-over-limit")
    assert (finding.figures["peak"], finding.figures["refused"]) == (5, 1)
    host = '[[network.host]]\nname = "logger"\nlink = "wireless"\n'
    [more] = findings("[network]\nstation_limit = 5\n" + host, "stations-over-limit")
    assert more.figures["peak"] == 6


def test_without_a_timetable_all_modules_are_there() -> None:
    [finding] = findings("session = []\n[network]\nstation_limit = 4\n", "stations-over-limit")
    assert finding.message.startswith("With everybody there, 5 stations need a place")
    assert finding.concerns == (0, 1, 2, 3)


@pytest.mark.parametrize(("gap_s", "fires"), [(0, True), (300, True), (301, False)])
def test_a_group_that_follows_within_five_minutes_finds_places_taken(
    gap_s: int, fires: bool
) -> None:
    """hostapd.conf, ap_max_inactivity: 300 s until a silent station loses its place."""
    follows = [session(*GROUP_A), session("B", 12 + gap_s / 3600, 16, "B-01..B-30")]
    text = two_groups(pool=60, timetable=follows, network="station_limit = 59")
    found = found_in(text, "stations-over-limit")
    assert bool(found) is fires
    if fires:
        assert found[0].figures["peak"] == 60
        assert found[0].concerns == tuple(range(30, 60))
        assert "(30 modules, 30 that left a moment ago)" in found[0].message
        assert found[0].remedy.startswith("Leave more than 5 min between the sessions")


@pytest.mark.parametrize(("limit", "helps"), [(30, True), (29, False)])
def test_a_pause_helps_only_who_has_room_alone(limit: int, helps: bool) -> None:
    """By hand: after the pause there are the thirty who come, and nobody else."""
    follows = [session(*GROUP_A), session("B", 12, 16, "B-01..B-30")]
    text = two_groups(pool=60, timetable=follows, network=f"station_limit = {limit}")
    [found] = found_in(text, "stations-over-limit")
    assert found.remedy.startswith("Leave more than 5 min between the sessions") is helps


def test_a_module_in_two_sessions_takes_one_place() -> None:
    both = [session(*GROUP_A), session("A and friends", 10, 13, "A-01..A-30")]
    limit = "station_limit = {}"
    assert not found_in(two_groups(timetable=both, network=limit.format(30)), "stations-over-limit")
    assert found_in(two_groups(timetable=both, network=limit.format(29)), "stations-over-limit")


# --- airtime ------------------------------------------------------------------------------------


def _air(network: str, traffic: str, modules: int = 30) -> Survey:
    ids = "".join(f'[[module]]\nid = "TG-{n:02}"\n' for n in range(modules))
    text = f"[network]\n{network}\n[traffic]\n{traffic}\n{ids}"
    return Survey(fleet_of_text(text, "kit.toml", {}), TODAY.date())


BROADCASTS = 'intent = "broadcast"\nmessage_bytes = 20\nmessage_interval = "1 s"'
SLOW = 'security = "wpa2-personal"\nchannel = 6\nlowest_basic_rate = 1'


def test_a_kit_of_thirty_takes_what_the_frame_durations_say() -> None:
    """992 µs for 100 octets at 1 Mb/s (ns-3.37 model), DIFS 50 µs, mean backoff 310 µs.

    The way to the access point is another such frame, SIFS 10 µs and an ACK of 304 µs (ns-3
    tx-duration-test); both at 1 Mb/s.
    """
    found = airtime(_air(SLOW, BROADCASTS))
    assert found is not None
    relayed_us, uplink_us = 992 + 360, 992 + 360 + 10 + 304
    assert found.broadcasts == pytest.approx(30 * (relayed_us + uplink_us) / 1e6)
    assert found.talkers == 30


def test_a_wired_talker_takes_the_air_once() -> None:
    """992 µs for 100 octets at 1 Mb/s (ns-3.37 model), with DIFS and mean backoff 1352 µs."""
    host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.10"\n'
    traffic = BROADCASTS + '\ntalkers = ["logger"]'
    for link, duration_us in (("wired", 1352), ("wireless", 1352 + 1666)):
        found = airtime(_air(f'{SLOW}\n{host}link = "{link}"', traffic))
        assert found is not None
        assert found.broadcasts == pytest.approx(duration_us / 1e6)


@pytest.mark.parametrize(
    ("rate", "band", "duration_us"),
    [
        # A name of 30 octets makes a beacon of 400: 3392 µs at 1 Mb/s, 566 µs at ERP 6 Mb/s
        # (ns-3.37 durations for 400 octets); 6 µs less at 5 GHz, without the signal extension.
        ("", "2.4 GHz", 3392),
        ('lowest_basic_rate = "6 Mb/s"', "2.4 GHz", 566),
        ('lowest_basic_rate = "7 Mb/s"', "2.4 GHz", 566),
        ("", "5 GHz", 560),
        ('lowest_basic_rate = "2 Mb/s"', "5 GHz", 560),
    ],
)
def test_beacons_count_at_the_lowest_legal_basic_rate(
    rate: str, band: str, duration_us: int
) -> None:
    """Every 102.4 ms: hostapd.conf, beacon_int 100 of 1024 µs."""
    network = f'name = "{"n" * 30}"\nsecurity = "open"\nband = "{band}"\n{rate}'
    found = airtime(_air(network, 'intent = "unicast"\nmessage_interval = "1 s"'))
    assert found is not None
    assert found.beacons == pytest.approx(duration_us / 102_400)
    assert found.broadcasts == 0


@pytest.mark.parametrize(
    ("security", "octets"),
    [  # what a data frame grows by: IEEE 802.11 (WEP 8, TKIP 20, CCMP 16), at 1 Mb/s 8 µs each
        ("open", 0),
        ("wep-40", 8),
        ("wep-104", 8),
        ("wpa-personal", 20),
        ("wpa-wpa2-personal", 20),
        ("wpa2-personal", 16),
        ("wpa2-wpa3-personal", 16),
        ("wpa3-personal", 16),
    ],
)
def test_protection_makes_frames_longer(security: str, octets: int) -> None:
    network = f'security = "{security}"\nchannel = 6'
    found = airtime(_air(network, BROADCASTS, modules=1))
    assert found is not None
    plain_us = 2 * (864 + 360) + 314  # 84 octets at 1 Mb/s: 864 µs (ns-3.37 model)
    assert found.broadcasts == pytest.approx((plain_us + 2 * 8 * octets) / 1e6)


def test_a_message_above_one_frame_is_cut() -> None:
    """1472 bytes fill one datagram of 1500 octets (RFC 894, RFC 791, RFC 768)."""
    shares = []
    for size in (1472, 1473, 2944, 1_000_000):
        text = BROADCASTS.replace("20", str(size))
        found = airtime(_air(SLOW, text, modules=1))
        assert found is not None
        shares.append(found.broadcasts)
    full, more, double, huge = shares
    assert double == pytest.approx(2 * full)
    empty_frame = airtime(_air(SLOW, BROADCASTS.replace("20", "1"), modules=1))
    assert empty_frame is not None
    assert more == pytest.approx(full + empty_frame.broadcasts)
    assert huge > 600 * full


@pytest.mark.parametrize(
    "traffic",
    ['intent = "broadcast"\nmessage_bytes = 20', 'intent = "broadcast"\nmessage_interval = "1 s"'],
)
def test_what_is_not_known_is_not_guessed(traffic: str) -> None:
    assert airtime(_air(SLOW, traffic)) is None
    assert airtime(_air("channel = 6", BROADCASTS)) is None


def _busy(message_interval: str) -> list[Finding]:
    return findings(
        '[network]\nlowest_basic_rate = "1 Mb/s"\n[traffic]\nmessage_bytes = 4\n'
        f'message_interval = "{message_interval}"\n',
        "airtime-high",
    )


def test_airtime_is_advice_above_a_quarter_and_a_risk_above_half() -> None:
    """By hand, at 1 Mb/s with CCMP: 84 octets take 864 µs; a beacon of 386 octets 3280 µs.

    TG-01 by radio costs 2·(864 + 360) + 314 = 2762 µs, the logger by wire 1224 µs: 3986 µs an
    interval, and beacons 3.203 %. So 25 % are passed below 18.29 ms, and 50 % below 8.518 ms.
    """
    severities = {text: [f.severity for f in _busy(text)] for text in ("18.3 ms", "18.28 ms")}
    assert severities == {"18.3 ms": [], "18.28 ms": [Severity.ADVICE]}
    assert "channel: beacons 3.2%, 2 talkers every 18.28 ms 21.8%." in _busy("18.28 ms")[0].message
    assert "of the channel, more than there is: beacons" in _busy("2 ms")[0].message
    [above], [below] = _busy("8.51 ms"), _busy("8.53 ms")
    assert (below.severity, below.concerns) == (Severity.ADVICE, ())
    assert (above.severity, tuple(above.concerns)) == (Severity.RISK, (0, 1, 2, 3))


def test_the_ways_to_less_airtime_work() -> None:
    [finding] = _busy("14 ms")
    assert "every 19 ms or less often" in finding.remedy
    assert "raise lowest_basic_rate to 2 Mb/s" in finding.remedy
    assert not _busy("19 ms")
    faster = '[network]\nlowest_basic_rate = "2 Mb/s"\n[traffic]\nmessage_bytes = 4\n'
    assert not findings(faster + 'message_interval = "14 ms"\n', "airtime-high")


def test_beacons_alone_can_be_too_many() -> None:
    [finding] = findings('[network]\nbeacon_interval = "3 ms"\n', "airtime-high")
    assert finding.severity is Severity.RISK
    assert "send a message" not in finding.remedy.lower()


def test_other_stations_are_counted_beside_the_modules() -> None:
    """By hand: four modules and the other station of the clean kit are two more than three."""
    [finding] = findings("[network]\nstation_limit = 3\n", "stations-over-limit")
    assert "5 stations need a place (4 modules, 1 other station)" in finding.message
    alone = "[network]\nstation_limit = 3\nother_stations = 0\n"
    [finding] = findings(alone, "stations-over-limit")
    assert "4 stations need a place (4 modules)" in finding.message


@pytest.mark.parametrize(
    ("first", "modules", "offered"),
    [
        (3, 5, "give 1 module a static address outside of the pool"),
        (3, 6, None),
        (2, 6, None),
    ],
)
def test_static_addresses_are_a_way_out_only_where_they_are_free(
    first: int, modules: int, offered: str | None
) -> None:
    """By hand: a /29 has hosts .1 to .6; the gateway has .1, and the pool all from `first` on."""
    text = (
        '[network.ipv4]\nsubnet = "10.20.0.0/29"\ngateway = "10.20.0.1"\naddress_server = true\n'
        f'pool = {{ first = "10.20.0.{first}", last = "10.20.0.6" }}\n'
    ) + "".join(f'[[module]]\nid = "A-{n}"\naddressing = "pooled"\n' for n in range(modules))
    [finding] = found_in(text, "pool-too-small")
    static = [way for way in finding.remedy.rstrip(".").split("; or ") if "static" in way]
    assert static == ([offered] if offered else [])


# --- waiting for the beacon ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("interval", "period", "fires"),
    [  # group frames go out after the DTIM beacon: every 102.4 ms, or 204.8 ms with period 2
        ("102.4 ms", 1, False),
        ("102.3 ms", 1, True),
        ("204.8 ms", 2, False),
        ("204.7 ms", 2, True),
    ],
)
def test_broadcasts_that_come_faster_than_their_beacon(
    interval: str, period: int, fires: bool
) -> None:
    """IEEE 802.11, power management; hostapd.conf: beacon_int 100 of 1024 µs, dtim_period 2."""
    lines = f'[network]\ndtim_period = {period}\n[traffic]\nmessage_interval = "{interval}"\n'
    found = findings(lines, "broadcast-waits-for-beacon")
    assert bool(found) is fires
    assert all(("set dtim_period to 1" in each.remedy) is (period > 1) for each in found)


@pytest.mark.parametrize(("interval", "fires"), [("102.3 ms", True), ("102.4 ms", False)])
def test_a_period_that_nobody_gives_is_the_least(interval: str, fires: bool) -> None:
    """IEEE 802.11, TIM element: 1 is the least, so every beacon wakes all (from memory)."""
    text = clean_text().replace("dtim_period = 1\n", "").replace('"5 s"', f'"{interval}"')
    result = audit(fleet_of_text(text, "kit.toml", ENVIRONMENT), TODAY)
    found = [each for each in result.kit_findings if each.check == "broadcast-waits-for-beacon"]
    assert [each.figures["dtim_period"] for each in found] == [1] * fires


def test_unicast_does_not_wait() -> None:
    unicast = '[traffic]\nintent = "unicast"\ndestination = "10.20.0.10"\n'
    lines = unicast + 'message_interval = "50 ms"\n'
    assert "broadcast-waits-for-beacon" not in fired(lines)


# --- for all of them ----------------------------------------------------------------------------


def test_a_moment_is_said_in_words() -> None:
    assert moment_in_words(datetime(2026, 3, 2, 13, 2)) == "Monday, 2026-03-02, at 13:02"
    assert moment_in_words(datetime(2026, 3, 8, 7, 0, 5)) == "Sunday, 2026-03-08, at 07:00:05"


@pytest.mark.parametrize("case", Case)
@pytest.mark.parametrize("year", [1, 9999])
def test_a_lease_may_reach_beyond_either_end_of_the_calendar(case: Case, year: int) -> None:
    day = datetime(1, 1, 1) if year == 1 else datetime(9999, 12, 31)
    late = Attendance("late", day, day + timedelta(hours=23), ("one",))
    result = occupancy([late], 1, timedelta(days=3660), case)
    assert (result.peak, result.shortages) == (1, ())


def test_ids_are_listed_as_ranges_from_three_in_a_row() -> None:
    assert id_ranges(["TG-08", "TG-09", "TG-10", "TG-12", "TG-13", "x"]) == (
        "TG-08..TG-10, TG-12, TG-13, x"
    )
    assert id_ranges(["9" * 5000, "TG-1", "TG-02"]) == f"{'9' * 5000}, TG-1, TG-02"


LENGTHS = st.sampled_from(["1 us", "2 min", "3 h", "30 d", "3660 d"])
MOMENTS = st.datetimes(datetime(1, 1, 1), datetime(9999, 12, 31, 23, 59, 59))


@settings(max_examples=60, deadline=None)
@given(
    lease=LENGTHS,
    interval=LENGTHS,
    beacon=LENGTHS,
    moments=st.lists(MOMENTS, min_size=2, max_size=6, unique=True),
    pool=st.sampled_from([("0.0.0.0", "255.255.255.255"), ("10.20.0.4", "10.20.0.4")]),
    subnet=st.sampled_from(["10.20.0.4/31", "10.20.0.4/32", "0.0.0.0/0", "10.20.0.0/24"]),
    size=st.sampled_from([0, 1, 1472, 1_000_000]),
    rate=st.sampled_from(["1", "1.5", "7", "54"]),
    others=st.sampled_from([0, 1, 1_000_000]),
)
def test_no_check_breaks_on_a_valid_kit(
    lease: str,
    interval: str,
    beacon: str,
    moments: list[datetime],
    pool: tuple[str, str],
    subnet: str,
    size: int,
    rate: str,
    others: int,
) -> None:
    moments = sorted(moments)
    sessions = "".join(
        f'[[session]]\nname = "S"\nmodules = ["all"]\nstart = {start.isoformat()}\n'
        f"end = {end.isoformat()}\n"
        for start, end in pairwise(moments)
    )
    lines = (
        f'[network]\nbeacon_interval = "{beacon}"\nother_stations = {others}\n'
        f"lowest_basic_rate = {rate}\nstation_limit = 0\n"
        f'[network.ipv4]\nsubnet = "{subnet}"\nlease_time = "{lease}"\n'
        f'pool = {{ first = "{pool[0]}", last = "{pool[1]}" }}\n'
        f'[traffic]\nmessage_interval = "{interval}"\nmessage_bytes = {size}\n' + sessions
    )
    assert "stations-over-limit" in {finding.check for finding in audited(lines).findings}
