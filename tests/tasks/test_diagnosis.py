"""What keeps one board from working: the traps of the trade, and the laws of the ranking."""

from collections.abc import Mapping
from datetime import datetime
from itertools import combinations

import pytest

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.checks.power import CAUTION
from auditor.examples import fleet_of
from auditor.findings import Stage
from auditor.models.fleet_file import FleetFile
from auditor.tasks.diagnosis import weights
from auditor.tasks.diagnosis.causes import HURTS, ON_NO_FILE, Seat
from auditor.tasks.diagnosis.diagnosis import Diagnosis, RankedCause, diagnosis
from auditor.tasks.diagnosis.found import SEEN_LATER, STOP_NOTHING, TRACES
from auditor.tasks.diagnosis.observations import OBSERVATIONS

TODAY = datetime(2026, 2, 1)
WEP = '[network]\nsecurity = "wep-104"\n'
EARLY = '[kit]\nprofile = "generic-24ghz-early"\n'
SEARCHES, JOINS = "steady", "blinking"
"""What the profile of the clean kit shows."""


def of(lines: str, id: str, **seen: str) -> Diagnosis:
    """Return the diagnosis of a module of the clean kit with some lines laid over it."""
    return of_file(fleet_of(lines), id, seen)


def of_file(file: FleetFile, id: str, seen: Mapping[str, str]) -> Diagnosis:
    """Return the diagnosis of a module of a fleet."""
    named = {name.replace("_", "-"): value for name, value in seen.items()}
    return diagnosis(file, audit(file, TODAY), list(file.entries.ids).index(id), named)


def cause(found: Diagnosis, name: str) -> RankedCause:
    """Return one of the causes by its name."""
    return next(each for each in found.causes if each.cause == name)


def first(found: Diagnosis) -> str:
    """Return the name of the likeliest cause."""
    return found.causes[0].cause


class TestFromTheFile:
    """What the audit finds on a board is likely to be what keeps it from working."""

    LINES = '[[module]]\nid = "TG-02"\nnetwork_name = "saltmarsh-gauges "\n'

    def test_a_fault_comes_first_with_its_place_and_its_remedy(self) -> None:
        found = of(self.LINES, "TG-02")
        top = found.causes[0]
        assert (top.cause, top.stage) == ("network-name-differs", Stage.DISCOVERY)
        assert top.probability > 0.5
        assert '"saltmarsh-gauges"' in top.remedy
        assert top.found_at is not None
        assert top.found_at.endswith("network_name")
        assert found.is_something_wrong

    def test_what_is_seen_can_speak_against_it(self) -> None:
        found = of(self.LINES, "TG-02", indicator=JOINS, ping="yes", bytes="garbled")
        assert found.causes[0].stage is Stage.SERIAL
        against = cause(found, "network-name-differs")
        assert against.opposing == ("indicator", "ping", "bytes")
        assert against.expected["indicator"] == (SEARCHES,)

    def test_another_board_has_it_not(self) -> None:
        found = of(self.LINES, "TG-03")
        assert {each.found_at for each in found.causes} == {None}
        assert not found.is_something_wrong

    def test_a_warning_that_stops_no_board_is_a_finding_and_no_cause(self) -> None:
        found = of('[[module]]\nid = "TG-02"\nprofile = "none-such"\n', "TG-02")
        assert "unknown-profile" in {finding.check for finding in found.findings}
        assert "unknown-profile" not in {each.cause for each in found.causes}

    def test_a_waived_finding_is_no_cause(self) -> None:
        waiver = '[[waiver]]\ncheck = "network-name-differs"\nreason = "another network"\n'
        found = of(self.LINES + waiver, "TG-02")
        assert found.findings == ()
        assert "network-name-differs" not in {each.cause for each in found.causes}

    def test_a_cause_that_the_file_shows_is_not_listed_twice(self) -> None:
        found = of('[supply]\ncapacitor_positive_to = "ground"\n', "TG-02")
        names = [each.cause for each in found.causes]
        assert len(names) == len(set(names))
        assert cause(found, "capacitor-reversed").found_at is not None

    def test_what_is_wrong_with_every_board_lets_no_other_work(self) -> None:
        lines, name = '[network]\nlowest_basic_rate = "14 Mb/s"\n', "basic-rates-unsupported"
        shared = of(lines, "TG-03", others_work="no")
        assert cause(shared, name).opposing == ()
        assert cause(of(lines, "TG-03", others_work="yes"), name).opposing == ("others-work",)

    def test_what_is_wrong_with_some_boards_lets_others_work_or_not(self) -> None:
        lines, name = "[network.ipv4]\naddress_server = false\n", "no-address-server"
        for answer in ("yes", "no"):
            assert cause(of(lines, "TG-03", others_work=answer), name).opposing == ()


class TestTraps:
    """Where a simple predictor is wrong; each is named beside."""

    def test_a_secured_board_does_not_join_an_open_network_of_the_same_name(self) -> None:
        """IEEE 802.11: a station compares the security of a network with its own (from memory,
        unverified); observed on hostapd 2.10 and wpa_supplicant 2.10, November 2026."""
        seen = {"indicator": SEARCHES, "network": "strong", "handshake": "refused"}
        found = of("", "TG-02", **seen, settings="one-differs")
        assert first(found) == "wrong-security-mode"
        found = of("", "TG-02", **seen, settings="as-in-file", others_work="no")
        assert first(found) == "access-point-mode-changed"

    def test_a_wrong_wep_key_associates_and_shows_as_a_missing_lease(self) -> None:
        """Observed on hostapd 2.10 and wpa_supplicant 2.10, November 2026."""
        seen = {"indicator": "blinking", "associated": "yes", "lease": "none", "ping": "no"}
        found = of(WEP + EARLY, "TG-03", **seen, settings="one-differs")
        assert (first(found), found.causes[0].stage) == ("wrong-wep-key", Stage.KEYS)
        with_handshake = of("", "TG-03", **seen, settings="one-differs")
        assert "wrong-wep-key" not in {each.cause for each in with_handshake.causes}
        assert cause(with_handshake, "wrong-passphrase").opposing == ("indicator",)

    def test_isolation_keeps_broadcasts_and_lets_the_wired_side_through(self) -> None:
        """Observed on hostapd 2.10, November 2026."""
        found = of(
            "",
            "TG-02",
            indicator=JOINS,
            others_work="no",
            ping="yes",
            datagram="arrives",
            bytes="none",
            sent="whole",
        )
        assert "client-isolation" in [each.cause for each in found.causes[:2]]
        assert cause(found, "client-isolation").opposing == ()
        assert cause(found, "wired-side-unplugged").opposing != ()

    def test_a_wrong_subnet_answers_no_ping_and_still_hears_a_broadcast_to_all(self) -> None:
        """Observed on the Linux 6.1 IPv4 stack, November 2026."""
        found = of("", "TG-02", indicator=JOINS, ping="no", bytes="whole", settings="one-differs")
        assert found.causes[0].stage is Stage.ADDRESS
        assert cause(found, "wrong-address").opposing == ()
        directed = of(
            '[traffic]\nintent = "unicast"\ndestination = "10.20.0.32"\n',
            "TG-02",
            ping="no",
            bytes="whole",
        )
        assert "bytes" in cause(directed, "wrong-address").opposing

    def test_a_static_address_in_the_pool_works_until_somebody_leases_it(self) -> None:
        lines = '[[module]]\nid = "TG-02"\naddress = "10.20.0.120"\n'
        quiet = of(lines, "TG-02")
        assert quiet.findings[0].check == "static-address-in-pool"
        assert not quiet.is_something_wrong
        seen = {"ping": "yes", "datagram": "lost", "settings": "as-in-file", "swap": "works"}
        assert first(of(lines, "TG-02", indicator=JOINS, **seen)) == "static-address-in-pool"


class TestRanking:
    """Laws of the whole."""

    def test_probabilities_sum_to_1_and_fall(self) -> None:
        for seen in ({}, {"indicator": "dark"}, {"indicator": JOINS, "bytes": "garbled"}):
            chances = [each.probability for each in of("", "TG-02", **seen).causes]
            assert sum(chances) == pytest.approx(1)
            assert chances == sorted(chances, reverse=True)

    def test_the_order_in_which_things_are_seen_does_not_matter(self) -> None:
        one = of("", "TG-02", indicator=SEARCHES, others_work="yes", ping="no")
        other = of("", "TG-02", ping="no", others_work="yes", indicator=SEARCHES)
        assert [each.probability for each in one.causes] == [
            each.probability for each in other.causes
        ]
        assert one.next == other.next

    def test_only_what_can_be_is_a_cause(self) -> None:
        static = {each.cause for each in of("", "TG-02").causes}
        pooled = {each.cause for each in of("", "TG-03").causes}
        assert {"address-taken", "set-to-pooled", "wrong-address"} <= static - pooled
        assert {"address-server-off", "pool-exhausted", "set-to-static"} <= pooled - static

    def test_a_remedy_names_the_value_that_is_right(self) -> None:
        found = of("", "TG-02")
        assert "10.20.0.32" in cause(found, "wrong-address").remedy
        assert "9600 Bd" in cause(found, "wrong-serial-rate").remedy
        assert '"saltmarsh-gauges"' in cause(found, "wrong-network-name").remedy
        nothing = of_file(fleet_of(""), "TG-03", {})
        assert not any("{" in each.remedy for each in nothing.causes)

    def test_a_board_of_no_known_profile_shows_any_light(self) -> None:
        lines = '[[module]]\nid = "TG-02"\nprofile = "none-such"\n'
        steady, blinking = (
            of(lines, "TG-02", indicator="steady"),
            of(lines, "TG-02", indicator="blinking"),
        )
        assert cause(steady, "wrong-passphrase").probability == pytest.approx(
            cause(blinking, "wrong-passphrase").probability, rel=0.02
        )


class TestNext:
    """What to look at next."""

    def test_the_first_look_is_a_quick_one(self) -> None:
        following = of("", "TG-02").next
        assert following is not None
        assert following.observation == "indicator"
        assert set(following.meanings) == set(OBSERVATIONS["indicator"].values)
        assert following.information_bits > 0

    def test_what_was_seen_is_not_asked_again_until_nothing_is_left(self) -> None:
        seen: dict[str, str] = {}
        while (following := of_file(fleet_of(""), "TG-02", seen).next) is not None:
            assert following.observation not in seen
            seen[following.observation] = OBSERVATIONS[following.observation].values[0]
        assert len(seen) > 3

    def test_a_board_that_hears_nothing_is_not_asked_what_it_hears(self) -> None:
        seen = {"indicator": JOINS, "ping": "yes"}
        for _ in range(len(OBSERVATIONS)):
            following = of_file(fleet_of(""), "TG-02", seen).next
            if following is None:
                break
            assert following.observation != "sent"
            seen[following.observation] = OBSERVATIONS[following.observation].values[0]

    @pytest.mark.parametrize("seen", [{}, {"network": "strong"}, {"others_work": "yes"}])
    def test_a_board_that_may_be_hurt_stays_off(self, seen: dict[str, str]) -> None:
        lines = '[[module]]\nid = "TG-02"\nsupply = { capacitor_positive_to = "ground" }\n'
        following = of(lines, "TG-02", **seen).next
        assert following is not None
        assert OBSERVATIONS[following.observation].is_cold


class TestContradiction:
    """What no cause explains."""

    def test_two_things_that_do_not_fit_together_are_named(self) -> None:
        said = of("", "TG-02", network="strong", indicator="dark", ping="yes").contradiction
        assert said is not None
        assert said.startswith("No cause explains indicator=dark and ping=yes together: ")
        assert "goes with ping=no" in said
        assert "goes with indicator=blinking" in said
        assert "or the indicator itself is broken" in said

    def test_things_of_which_any_two_fit_are_held_against_the_nearest_cause(self) -> None:
        seen = {"ping": "no", "datagram": "lost", "bytes": "garbled", "settings": "one-differs"}
        found = of("", "TG-02", indicator=JOINS, associated="yes", **seen)
        assert found.contradiction is not None
        assert found.causes

    def test_what_one_cause_explains_is_none(self) -> None:
        seen = {"indicator": SEARCHES, "associated": "no", "handshake": "failed", "ping": "no"}
        assert of("", "TG-02", **seen).contradiction is None
        assert of("", "TG-02").contradiction is None


class TestTables:
    """The tables of causes and weights are whole."""

    def test_each_cause_has_a_weight_and_each_weight_a_cause(self) -> None:
        names = [each.name for each in ON_NO_FILE]
        assert len(names) == len(set(names))
        assert set(names) == set(weights.ON_NO_FILE)
        assert min(weights.ON_NO_FILE.values()) > 0
        assert len(names) >= 60

    def test_names_leave_room_for_what_speaks_for_and_against(self) -> None:
        """As long as the longest check, 29 characters, and 14 for an observation: 80 columns."""
        assert max(len(name) for name in (*weights.ON_NO_FILE, *CHECKS)) <= 29
        assert max(map(len, OBSERVATIONS)) <= 14

    def test_each_stage_has_causes(self) -> None:
        assert {each.stage for each in ON_NO_FILE} == set(Stage)

    def test_each_trace_is_of_an_observation(self) -> None:
        words = {"unpowered", "searching", "joined", "as a broadcast"}
        tables = [each.traces for each in ON_NO_FILE] + list(TRACES.values())
        for name, values in ((n, v) for table in tables for n, v in table.items()):
            assert set(values) <= {*OBSERVATIONS[name].values, *words}
            assert values

    def test_each_check_that_is_named_exists(self) -> None:
        assert set(CHECKS).issuperset(TRACES)
        assert set(CHECKS).issuperset(SEEN_LATER)
        assert set(CHECKS).issuperset(STOP_NOTHING)
        assert STOP_NOTHING.isdisjoint(TRACES)
        assert set(CHECKS) | {each.name for each in ON_NO_FILE} >= HURTS

    def test_where_hands_touch_wires_the_caution_stands(self) -> None:
        """Practice of checks/power.py: whoever changes the wiring is told to unplug first."""
        for each in ON_NO_FILE:
            if each.stage is Stage.POWER and each.seat is Seat.BENCH:
                assert CAUTION in each.remedy or "Do not switch on" in each.remedy, each.name
        for name in ("wiring", "supply-voltage", "datagram"):
            assert CAUTION in OBSERVATIONS[name].how

    def test_each_observation_tells_two_things_apart(self) -> None:
        for each in OBSERVATIONS.values():
            assert len(set(each.values)) == len(each.values) >= 2
            assert each.minutes > 0

    def test_causes_are_told_apart_by_what_they_predict_or_stand_together(self) -> None:
        """No two causes of different stages and seats predict the same of everything."""
        same = [
            (one.name, other.name)
            for one, other in combinations(ON_NO_FILE, 2)
            if (one.seat, one.shows_at, one.traces, one.needs, one.stage is other.stage)
            == (other.seat, other.shows_at, other.traces, other.needs, False)
        ]
        assert same == []
