"""Record: how many entries are named, figures to their last place, and values on a border."""

from dataclasses import replace

import pytest

from tests.checks.kits import audited, findings, fired
from tests.checks.profiles import found_in, with_profile
from tests.checks.test_record import module


def entries(number: int, settings: str) -> str:
    """Return lines of so many more modules; settings may use their number."""
    return "".join(
        f'[[module]]\naddressing = "pooled"\n{settings.format(each)}\n' for each in range(number)
    )


class TestMany:
    @pytest.mark.parametrize(("number", "others"), [(20, 19), (21, 20), (22, 20)])
    def test_an_id_that_stands_many_times(self, number: int, others: int) -> None:
        lines = entries(number - 1, 'id = "X"') + '[[module]]\nid = "X"\naddressing = "pooled"\n'
        same = [f for f in findings(lines, "duplicate-module-id") if f.figures["id"] == "X"]
        assert len(same) == number
        assert {each.figures["times"] for each in same} == {number}
        assert {len(each.where) for each in same} == {1 + others}
        assert all(len(set(each.where)) == len(each.where) for each in same)

    @pytest.mark.parametrize(("number", "others"), [(20, 19), (21, 20), (22, 20)])
    def test_a_hardware_address_that_many_have(self, number: int, others: int) -> None:
        own = 'id = "X-{0:02}"\nhardware_address = "00:00:5e:00:53:99"'
        found = findings(entries(number, own), "duplicate-hardware-address")
        assert len(found) == number
        assert {len(each.where) for each in found} == {1 + others}
        listed = found[-1].figures["with"]
        assert listed == [f"X-{each:02}" for each in range(others)]

    def test_of_several_the_first_is_told(self) -> None:
        own = 'id = "X-{0}"\nhardware_address = "00:00:5e:00:53:99"'
        told = [each.message for each in findings(entries(3, own), "duplicate-hardware-address")]
        named = [each.rpartition(" ")[2] for each in told]
        assert named == ["X-1.", "X-0.", "X-0."]
        same = findings(entries(3, 'id = "X"'), "duplicate-module-id")
        assert [str(each.where[1]) in each.message for each in same] == [True] * 3
        assert same[0].where[0] == same[1].where[1] == same[2].where[1]

    @pytest.mark.parametrize(("number", "named"), [(20, 20), (21, 20)])
    def test_many_who_attend_no_session(self, number: int, named: int) -> None:
        session = '[[session]]\nname = "Monday morning"\nmodules = ["TG-01..TG-04"]\n'
        (found,) = findings(session + entries(number, 'id = "X-{0:02}"'), "not-in-any-session")
        assert found.message.startswith(f"{number} of {number + 4} modules attend no session")
        assert len(found.where) == named


class TestBeyondTheProfile:
    CHECK = "setting-beyond-profile"

    def test_of_two_values_that_are_equally_near_the_first_is_named(self) -> None:
        """14400 is 4800 from 9600 and from 19200."""
        (found,) = findings(module(serial_rate=14_400), self.CHECK)
        assert found.remedy == "Set serial_rate to 9600, or correct the profile."
        assert found.figures["serial_rate"] == "14400"
        assert str(found.figures["allowed"]).startswith("it can be 1200, 2400, 4800, 9600, 19200,")

    # IEEE 802.11, SSID element: a name has 32 octets at most.
    @pytest.mark.parametrize(("octets", "checks"), [(32, {CHECK}), (33, {"network-name-invalid"})])
    def test_a_name_that_is_too_long_for_all_is_said_once(
        self, octets: int, checks: set[str]
    ) -> None:
        lines = f'[network]\nname = "{"n" * octets}"\n'
        file = with_profile(lines, network_name_octets=31)
        assert {check for check in checks if found_in(file, check)} == checks
        assert len(found_in(file, self.CHECK)) == (4 if self.CHECK in checks else 0)


class TestRadiatedPower:
    CHECK = "radiated-power-over-limit"

    # EN 300 328: 20 dBm EIRP at 2.4 GHz.
    @pytest.mark.parametrize(
        ("power", "gain", "radiated_dbm", "lower"),
        [("18.001", "2", 20.001, "18 dBm"), ("24", "-3", 21.0, "23 dBm")],
    )
    def test_figures_and_the_power_that_is_permitted(
        self, power: str, gain: str, radiated_dbm: float, lower: str
    ) -> None:
        lines = module(transmit_power=power, antenna_gain=gain)
        (found,) = findings(lines, self.CHECK)
        assert found.figures == {"radiated_dbm": radiated_dbm, "limit_dbm": 20.0}
        assert found.remedy.startswith(f"Lower transmit_power to {lower}. Limits change")
        assert [place.column for place in found.where] == ["transmit_power", "antenna_gain"]

    @pytest.mark.parametrize(("power", "fires"), [("17", False), ("20", False), ("20.5", True)])
    def test_an_antenna_of_which_nobody_tells_has_no_gain(self, power: str, fires: bool) -> None:
        file = with_profile(f'[defaults]\ntransmit_power = "{power} dBm"\n', transmit_power=None)
        plain = file.fleet.defaults.model_copy(update={"antenna_gain": None})
        file = replace(file, fleet=file.fleet.model_copy(update={"defaults": plain}))
        found = found_in(file, self.CHECK)
        assert [each.figures["radiated_dbm"] for each in found] == [20.5] * (4 * fires)


class TestWaivers:
    # TODAY is 2026-02-01.
    @pytest.mark.parametrize(("until", "over"), [("2026-01-31", True), ("2026-02-01", False)])
    def test_the_last_day_counts(self, until: str, over: bool) -> None:
        waiver = f'[[waiver]]\ncheck = "hidden-network"\nreason = "a trial"\nuntil = {until}\n'
        hidden = "[network]\nhidden = true\n"
        assert ("waiver-expired" in fired(hidden + waiver)) is over
        assert "waiver-unused" not in fired(hidden + waiver)
        if over:
            (found,) = findings(hidden + waiver, "waiver-expired")
            assert found.figures == {"check": "hidden-network", "until": until}

    def test_one_past_its_date_is_not_said_to_be_unused_besides(self) -> None:
        old = '[[waiver]]\ncheck = "hidden-network"\nreason = "a trial"\nuntil = 2026-01-31\n'
        assert {each.check for each in audited(old).findings} == {"waiver-expired"}

    def test_each_waiver_is_shown_at_its_own_place(self) -> None:
        used = '[[waiver]]\ncheck = "hidden-network"\nreason = "a trial"\n'
        wrong = '[[waiver]]\ncheck = "hiden-network"\nreason = "a trial"\nmodules = ["TG-09"]\n'
        lines = f"[network]\nhidden = true\n{used}{wrong}"
        (unused,) = findings(lines, "waiver-unused")
        assert unused.remedy == "Write hidden-network, or remove it."
        (named,) = findings(lines, "unknown-module-named")
        assert named.figures == {"name": "TG-09"}
        check, modules = unused.where[0], named.where[0]
        assert check.line
        assert (modules.column, modules.line) == ("modules", check.line + 2)
