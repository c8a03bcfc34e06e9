"""Capacity: figures to their last place, and ways out whose value stands just on a border."""

import re

import pytest

from auditor.findings import Finding
from tests.checks.kits import findings
from tests.checks.test_capacity import GROUP_A, found_in, session, two_groups


class TestPlaces:
    CHECK = "stations-over-limit"

    def test_the_way_out_is_said_in_full(self) -> None:
        """By hand: four modules and one other station."""
        (found,) = findings("[network]\nstation_limit = 4\n", self.CHECK)
        assert found.message.endswith("and the access point takes 4: 1 too many.")
        assert found.remedy == (
            "Raise station_limit to 5, if the access point can serve so many; or split the groups; "
            "or add an access point."
        )
        assert found.figures == {"peak": 5, "limit": 4, "refused": 1, "at": "2026-03-02T09:00:00"}
        assert [place.column for place in found.where] == ["station_limit", "session"]

    def test_without_a_timetable_there_is_no_moment(self) -> None:
        (found,) = findings("session = []\n[network]\nstation_limit = 4\n", self.CHECK)
        assert found.figures["at"] is None
        assert [place.column for place in found.where] == ["station_limit"]

    def test_a_pause_that_leaves_other_stations_no_room_is_no_way_out(self) -> None:
        """By hand: thirty who come and one other station are 31."""
        follows = [session(*GROUP_A), session("B", 12, 16, "B-01..B-30")]
        for limit, helps in ((31, True), (30, False)):
            network = f"station_limit = {limit}\nother_stations = 1"
            (found,) = found_in(two_groups(pool=61, timetable=follows, network=network), self.CHECK)
            assert found.figures["peak"] == 61
            assert found.remedy.startswith("Leave more than 5 min between") is helps


class TestPoolWithoutTimetable:
    CHECK = "pool-too-small"

    @staticmethod
    def kit(first: str, last: str, modules: int, network: str = "") -> list[Finding]:
        """Return what is said of a pool, for so many pooled modules beside a static one."""
        text = (
            f"[network]\n{network}\n[network.ipv4]\n"
            'subnet = "10.20.0.0/24"\ngateway = "10.20.0.1"\naddress_server = true\n'
            f'pool = {{ first = "{first}", last = "{last}" }}\n'
        ) + "".join(f'[[module]]\nid = "A-{n}"\naddressing = "pooled"\n' for n in range(modules))
        static = '[[module]]\nid = "S-0"\naddressing = "static"\naddress = "10.20.0.50"\n'
        return found_in(text + static, "pool-too-small")

    def test_figures_and_the_way_out(self) -> None:
        (found,) = self.kit("10.20.0.100", "10.20.0.102", 5)
        assert found.figures == {"wanted": 5, "size": 3, "without": 2, "smallest_pool": 5}
        assert found.remedy == (
            "Make the pool 5 addresses long, 10.20.0.100 to 10.20.0.104; "
            "or give 2 modules static addresses outside of the pool."
        )

    def test_an_address_in_the_pool_that_the_gateway_holds_is_counted_besides(self) -> None:
        """By hand: of .1 to .3 two are free, so a pool for five has six addresses."""
        (found,) = self.kit("10.20.0.1", "10.20.0.3", 5)
        assert (found.figures["size"], found.figures["smallest_pool"]) == (2, 6)
        assert "6 addresses long, 10.20.0.1 to 10.20.0.6" in found.remedy

    def test_a_pool_that_has_no_room_at_all(self) -> None:
        (found,) = self.kit("10.20.0.1", "10.20.0.1", 2)
        assert found.figures == {"wanted": 2, "size": 0, "without": 2, "smallest_pool": 3}
        assert found.remedy.startswith("Make the pool 3 addresses long, 10.20.0.1 to 10.20.0.3;")

    def test_no_more_go_without_than_compete(self) -> None:
        """By hand: four other stations of five wanted have three addresses before the module."""
        (found,) = self.kit("10.20.0.100", "10.20.0.102", 1, "other_stations = 4")
        assert (found.figures["wanted"], found.figures["without"]) == (5, 1)
        assert "1 module will get none" in found.message

    @pytest.mark.parametrize(("last", "short"), [(103, True), (104, False), (105, False)])
    def test_a_pool_with_room_to_spare_is_no_risk(self, last: int, short: bool) -> None:
        assert bool(self.kit("10.20.0.100", f"10.20.0.{last}", 5)) is short

    def test_where_no_module_competes_nobody_goes_without(self) -> None:
        assert not self.kit("10.20.0.100", "10.20.0.100", 0, "other_stations = 4")


class TestPoolOverATimetable:
    CHECK = "pool-runs-out"

    def test_figures(self) -> None:
        """By hand: thirty leases of 8 h are held as thirty more are wanted from 50 addresses."""
        (found,) = found_in(two_groups(), self.CHECK)
        assert found.figures == {
            "runs_out_at": "2026-03-02T13:00:00",
            "session": "Group B",
            "without": 10,
            "without_at_best": 10,
            "modules": [f"B-{n}" for n in range(21, 31)],
            "best_peak": 60,
            "worst_peak": 60,
            "size": 50,
            "longest_lease_s": 3600.0,
            "smallest_pool": 60,
            "static_modules": 10,
        }
        assert [place.column for place in found.where] == ["pool", "lease_time", "session"]
        assert "It is short in" not in found.message

    def test_the_best_case_is_that_of_the_session_that_is_told(self) -> None:
        """By hand: leases of 90 min end from 12:45 to 13:30; at 20:30 sixty are there at once."""
        times = [
            session(*GROUP_A),
            session("B", 13, 16, "B-01..B-30"),
            session("A again", 20, 22, "A-01..A-30"),
            session("B again", 20.5, 22, "B-01..B-30"),
        ]
        (found,) = found_in(two_groups(lease="90 min", timetable=times), self.CHECK)
        assert found.figures["session"] == "Group B"
        assert (found.figures["without"], found.figures["without_at_best"]) == (10, 0)
        assert "It is short in 2 sessions." in found.message


class TestLease:
    CHECK = "lease-shorter-than-session"

    def test_figures_and_places_of_the_longest_session(self) -> None:
        three = [
            session(*GROUP_A),
            session("B", 13, 17, "B-01..B-30"),
            session("short", 18, 18.5, "B-01..B-30"),
        ]
        (found,) = found_in(two_groups(pool=60, lease="1 h", timetable=three), self.CHECK)
        assert found.figures == {"lease_s": 3600.0, "longest_session_s": 14400.0}
        assert [place.column for place in found.where] == ["lease_time", "session", "session"]
        assert "than Group B, which takes 4 h, and than 1 other session." in found.message

    @pytest.mark.parametrize(("pause_h", "longer"), [(3, True), (2.9, False)])
    def test_a_lease_as_long_as_the_session_is_named_where_it_just_ends_in_time(
        self, pause_h: float, longer: bool
    ) -> None:
        """By hand from RFC 2131, section 4.4.5: a lease of 3 h is held for 3 h at most."""
        times = [session(*GROUP_A), session("B", 12 + pause_h, 15 + pause_h, "B-01..B-30")]
        (found,) = found_in(two_groups(pool=50, lease="1 h", timetable=times), self.CHECK)
        assert (found.remedy == "Set lease_time to 3 h or more.") is longer

    def test_a_session_of_static_modules_alone_asks_for_no_lease(self) -> None:
        lines = '[network.ipv4]\nlease_time = "2 h"\n[[session]]\nname = "Monday morning"\n'
        assert findings(f'{lines}modules = ["TG-02", "TG-03"]\n', self.CHECK)
        assert not findings(f'{lines}modules = ["TG-01", "TG-02"]\n', self.CHECK)


class TestAirtime:
    CHECK = "airtime-high"
    SLOW = '[network]\nlowest_basic_rate = "1 Mb/s"\nbeacon_interval = "90 ms"\n'

    def test_figures(self) -> None:
        """By hand: 3280 µs in 90 ms for beacons, 3986 µs in 14 ms for the two talkers."""
        traffic = '[traffic]\nmessage_bytes = 4\nmessage_interval = "14 ms"\n'
        (found,) = findings(self.SLOW + traffic, self.CHECK)
        assert found.figures == {
            "share": 0.3212,
            "beacons": 0.0364,
            "broadcasts": 0.2847,
            "talkers": 2,
            "basic_rate_mbps": 1.0,
        }
        assert [place.column for place in found.where] == ["message_interval", "lowest_basic_rate"]

    def busy(self, interval: str, message_bytes: int = 4) -> list[Finding]:
        """Return what is said of messages at 1 Mb/s, with beacons as in the clean kit."""
        return findings(
            '[network]\nlowest_basic_rate = "1 Mb/s"\n[traffic]\n'
            f'message_bytes = {message_bytes}\nmessage_interval = "{interval}"\n',
            self.CHECK,
        )

    def test_the_interval_that_is_named_is_the_shortest_that_does(self) -> None:
        (found,) = self.busy("1 s", 20_000)
        told = re.search(r"every (\d+) ms or less often", found.remedy)
        assert told
        assert not self.busy(f"{told[1]} ms", 20_000)
        assert self.busy(f"{int(told[1]) - 1} ms", 20_000)

    @pytest.mark.parametrize(("interval", "more"), [("3.9 ms", True), ("4.2 ms", False)])
    def test_more_than_the_channel_has(self, interval: str, more: bool) -> None:
        """By hand: 3986 µs in 3.9 ms and 3.2 % of beacons are 105.4 %; in 4.2 ms 98.1 %."""
        (found,) = self.busy(interval)
        assert ("of the channel, more than there is:" in found.message) is more

    @pytest.mark.parametrize(
        ("interval", "rate"), [("14 ms", "2"), ("9.5 ms", "5.5"), ("7 ms", "6")]
    )
    def test_the_lowest_basic_rate_that_suffices_is_named_alone(
        self, interval: str, rate: str
    ) -> None:
        """By hand: 84 octets take 528 µs at 2 Mb/s, 314 at 5.5 and 142 at 6 (OFDM)."""
        (found,) = self.busy(interval)
        assert re.findall(r"lowest_basic_rate to (\S+) Mb/s", found.remedy) == [rate]


class TestBeacons:
    CHECK = "broadcast-waits-for-beacon"

    @pytest.mark.parametrize(("interval", "messages"), [("25.6 ms", 4), ("25.5 ms", 5)])
    def test_as_many_gather_as_come_between_two_beacons(self, interval: str, messages: int) -> None:
        """hostapd.conf: beacon_int 100 of 1024 µs, which are 4 times 25.6 ms."""
        (found,) = findings(f'[traffic]\nmessage_interval = "{interval}"\n', self.CHECK)
        assert found.remedy.endswith(f"cope with {messages} messages of each talker at once.")

    def test_figures_and_places(self) -> None:
        """By hand: a period of 3 beacons every 99.999 ms is 299.997 ms."""
        lines = '[network]\nbeacon_interval = "99.999 ms"\ndtim_period = 3\n'
        (found,) = findings(f'{lines}[traffic]\nmessage_interval = "200 ms"\n', self.CHECK)
        assert found.figures == {"interval_s": 0.2, "wait_s": 0.299997, "dtim_period": 3}
        assert [place.column for place in found.where] == ["message_interval", "dtim_period"]
        assert found.message == (
            "Messages come every 200 ms; while a station dozes they wait up to 299.997 ms for "
            "a beacon."
        )
