"""Supply, indicator and logic levels against published figures, and laws of the formulas."""

from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.compute import supply
from auditor.compute.supply import LVTTL_INPUT, LVTTL_OUTPUT, LogicInput, LogicOutput

# ATmega328P at 5 V: 0.6 VCC and 0.3 VCC, ATmega48A...328P 8271H, Table 29-1; VCC + 0.5 V, 29.1.
ATMEGA328P_INPUT = LogicInput(high_min_v=3.0, low_max_v=1.5, highest_v=5.5)
# ATmega32U4 at 5 V: 0.2 VCC + 0.9 and 0.2 VCC - 0.1, Table 29-1 of its data sheet, as quoted; the
# limit VCC + 0.5 V as above.
ATMEGA32U4_INPUT = LogicInput(high_min_v=1.9, low_max_v=0.9, highest_v=5.5)
# ATmega328PB at 5 V and 20 mA: DS40001906C, Table 33-2.
ATMEGA328PB_OUTPUT = LogicOutput(high_min_v=4.0, low_max_v=0.9)


class TestIndicator:
    # University wiki page "LED notes", table: supply V, forward V, current mA; exact ohm, and the
    # standard value (ohm) that the table prints.
    @pytest.mark.parametrize(
        ("supply_v", "forward_v", "current_ma", "exact_ohm", "printed_ohm"),
        [
            (3.3, 1.8, 2, 750, 750),
            (3.3, 2.1, 2, 600, 620),
            (3.3, 1.8, 5, 300, 300),
            (3.3, 2.1, 5, 240, 240),
            (3.3, 1.8, 10, 150, 150),
            (3.3, 2.1, 10, 120, 120),
            (3.3, 1.8, 20, 75, 75),
            (3.3, 2.1, 20, 60, 62),
            (5.0, 1.8, 10, 320, 330),
            (5.0, 2.1, 20, 145, 150),
            (3.3, 2.2, 20, 55, 56),  # "BeagleBone for Secret Agents", hardware reference
        ],
    )
    def test_series_resistor(
        self,
        supply_v: float,
        forward_v: float,
        current_ma: float,
        exact_ohm: float,
        printed_ohm: float,
    ) -> None:
        wanted_a = current_ma / 1000
        found = supply.series_resistor_ohm(supply_v, forward_v, wanted_a)
        assert found == pytest.approx(exact_ohm)
        # The next standard value of the E24 series is at most a tenth higher.
        flowing_a = supply.indicator_current_a(supply_v, forward_v, printed_ohm)
        assert wanted_a / 1.1 < flowing_a < wanted_a * 1.000001

    def test_current_through_a_given_resistor(self) -> None:
        """3.3 V, 2.0 V, 330 ohm: 3.94 mA (Ohm's law, by hand)."""
        assert supply.indicator_current_a(3.3, 2.0, 330) * 1e3 == pytest.approx(3.94, abs=0.0051)

    def test_the_books_larger_resistor(self) -> None:
        """3.3 V, 2.2 V, 100 ohm: 11 mA ("BeagleBone for Secret Agents", hardware reference)."""
        assert supply.indicator_current_a(3.3, 2.2, 100) * 1e3 == pytest.approx(11)

    @pytest.mark.parametrize("forward_v", [3.3, 3.6])
    def test_a_white_one_stays_dark(self, forward_v: float) -> None:
        """A forward voltage of 3.3 V (white, calculator page) leaves nothing of 3.3 V."""
        assert supply.indicator_current_a(3.3, forward_v, 100) == 0
        with pytest.raises(
            ValueError, match=rf"^supply_v is 3\.3; .* above forward_v, {forward_v}"
        ):
            supply.series_resistor_ohm(3.3, forward_v, 0.01)


class TestCapacitor:
    # Current in A, duration in s, capacitance in F; droop in V, and half its last printed digit.
    @pytest.mark.parametrize(
        ("current_a", "duration_s", "capacitance_f", "droop_v", "slack_v"),
        [
            (0.010, 200, 1, 2, 1e-9),  # question-and-answer page: 1 F from 5 to 3 V at 10 mA
            (0.300, 5, 15, 0.1, 1e-9),  # question-and-answer page: 300 mA for 5 s, 0.1 V
            (0.300, 1000e-6, 470e-6, 0.6383, 5e-5),  # arithmetic
            (0.250, 1000e-6, 100e-6, 2.5000, 5e-5),  # arithmetic
            (0.310, 2192e-6, 1000e-6, 0.6795, 5e-5),  # arithmetic
            (0.310, 832e-6, 100e-6, 2.5792, 5e-5),  # arithmetic
            (2.000, 200e-6, 4000e-6, 0.1000, 5e-5),  # arithmetic
            (1.8, 2e-3, 4700e-6, 4 - 3.23, 5e-3),  # question-and-answer page on a cellular modem
        ],
    )
    def test_droop(
        self,
        current_a: float,
        duration_s: float,
        capacitance_f: float,
        droop_v: float,
        slack_v: float,
    ) -> None:
        found = supply.droop_v(current_a, duration_s, capacitance_f)
        assert found == pytest.approx(droop_v, abs=slack_v)

    @pytest.mark.parametrize(
        ("current_a", "duration_s", "droop_v", "capacitance_uf"),
        [(0.250, 2e-3, 0.3, 1666.7), (0.310, 1e-3, 0.2, 1550.0)],  # C = I t / V, arithmetic
    )
    def test_capacitance_for_droop(
        self, current_a: float, duration_s: float, droop_v: float, capacitance_uf: float
    ) -> None:
        found = supply.capacitance_for_droop_f(current_a, duration_s, droop_v)
        assert found * 1e6 == pytest.approx(capacitance_uf, abs=0.051)

    @pytest.mark.parametrize(
        ("power_w", "duration_s", "from_v", "to_v", "capacitance_uf", "slack_uf"),
        [
            (3.3 * 0.5, 4e-3, 5.0, 4.0, 1466, 1),  # question-and-answer page (cut off: 1466.67)
            (100, 20e-3, 400, 300, 57.1, 0.051),  # two calculator pages
            (200, 20e-3, 400, 300, 114, 0.51),  # two calculator pages
        ],
    )
    def test_capacitance_for_energy(
        self,
        power_w: float,
        duration_s: float,
        from_v: float,
        to_v: float,
        capacitance_uf: float,
        slack_uf: float,
    ) -> None:
        found = supply.capacitance_for_energy_f(power_w, duration_s, from_v, to_v)
        assert found * 1e6 == pytest.approx(capacitance_uf, abs=slack_uf)

    def test_only_the_part_over_the_limit_sags(self) -> None:
        """310 mA peak against 190 mA average (ESP32-S2 module data sheet V1.1, Table 7): the
        average passes a limit of 250 mA, the peak lacks 60 mA; 60 mA for 1 ms from 100 uF is 0.6 V.
        """
        assert supply.burst_sag_v(0.190, 0.250, 1e-3, 100e-6) == 0
        assert supply.burst_sag_v(0.250, 0.250, 1e-3, 100e-6) == 0
        assert supply.burst_sag_v(0.310, 0.250, 1e-3, 100e-6) == pytest.approx(0.6)

    def test_a_fifth_less_capacitance_droops_a_quarter_more(self) -> None:
        """-20 % is the tolerance of aluminium electrolytics (calculator page)."""
        full, worn = (supply.droop_v(0.3, 1e-3, c) for c in (470e-6, 0.8 * 470e-6))
        assert worn / full == pytest.approx(1.25)


class TestRegulator:
    # LDO calculator page: 5 to 3.3 V, 50 K/W, 25 degrees Celsius. Current A; heat W, junction C.
    @pytest.mark.parametrize(
        ("current_a", "heat_w", "hottest_c"), [(0.5, 0.85, 67.5), (1.0, 1.7, 110)]
    )
    def test_heat_and_junction(self, current_a: float, heat_w: float, hottest_c: float) -> None:
        found = supply.regulator_heat_w(5.0, 3.3, current_a)
        assert found == pytest.approx(heat_w)
        assert supply.junction_c(found, 50, 25) == pytest.approx(hottest_c)

    def test_heat_at_a_radio_peak(self) -> None:
        """Board design page: 5 to 3.3 V at 550 mA is 0.935 W (printed 0.94 W)."""
        assert supply.regulator_heat_w(5.0, 3.3, 0.550) == pytest.approx(0.935)

    def test_a_derated_package(self) -> None:
        """Toshiba e-learning, LDO basics, section 4-2: 600 mW at 25 degrees Celsius and 150 at most
        are 208.3 K/W; 3.6 to 1.8 V at 100 mA, 40 degrees Celsius: 0.18 W, 77.5 degrees Celsius.
        """
        thermal_resistance = (150 - 25) / 0.6
        heat_w = supply.regulator_heat_w(3.6, 1.8, 0.100)
        assert supply.permitted_heat_w(150, 25, 208.3) == pytest.approx(0.6, abs=0.001)
        assert heat_w == pytest.approx(0.18)
        assert supply.junction_c(heat_w, thermal_resistance, 40) == pytest.approx(77.5)

    @pytest.mark.parametrize(("ambient_c", "heat_w"), [(85, 1.0), (25, 2.5)])
    def test_permitted_heat(self, ambient_c: float, heat_w: float) -> None:
        """Nisshinbo Micro Devices, LDO FAQ 029: 125 degrees Celsius at most, 40 K/W."""
        assert supply.permitted_heat_w(125, ambient_c, 40) == pytest.approx(heat_w)

    def test_a_printed_headroom_that_is_too_much(self) -> None:
        """LDO FAQ 029 prints 2.5 W / 1.5 A = 1.68 V; it is 1.67 V (arithmetic)."""
        permitted_w = supply.permitted_heat_w(125, 25, 40)
        assert supply.regulator_heat_w(3.3 + 1.68, 3.3, 1.5) > permitted_w
        assert supply.regulator_heat_w(3.3 + 1.66, 3.3, 1.5) < permitted_w

    def test_nothing_is_permitted_where_the_ambient_is_too_hot(self) -> None:
        assert supply.permitted_heat_w(85, 90, 40) == 0

    def test_headroom_after_a_cable(self) -> None:
        """5.0 V less 0.7 V of cable, 3.3 V out: 1.0 V, under a dropout of 1.1 V (definition)."""
        assert supply.headroom_v(5.0 - 0.7, 3.3) == pytest.approx(1.0)

    def test_no_heat_without_headroom(self) -> None:
        assert supply.headroom_v(3.0, 3.3) == pytest.approx(-0.3)
        assert supply.regulator_heat_w(3.0, 3.3, 0.5) == 0


class TestLogicLevels:
    def test_lvttl(self) -> None:
        """JEDEC JESD8C: 2.0, 0.8, 2.4, 0.4 V, so each level has a margin of 0.4 V."""
        assert LogicOutput(2.4, 0.4) == LVTTL_OUTPUT
        assert LogicInput(2.0, 0.8, 3.6) == LVTTL_INPUT
        assert supply.high_margin_v(LVTTL_OUTPUT, LVTTL_INPUT) == pytest.approx(0.4)
        assert supply.low_margin_v(LVTTL_OUTPUT, LVTTL_INPUT) == pytest.approx(0.4)

    def test_another_makers_input_has_more_margin(self) -> None:
        """Intel single-ended I/O specifications: 3.3 V LVTTL, high from 1.7 V."""
        receiver = LogicInput(high_min_v=1.7, low_max_v=0.8, highest_v=3.6)
        assert supply.high_margin_v(LVTTL_OUTPUT, receiver) == pytest.approx(0.7)

    def test_a_3_v_3_output_promises_too_little_to_a_5_v_controller(self) -> None:
        assert supply.high_margin_v(LVTTL_OUTPUT, ATMEGA328P_INPUT) == pytest.approx(-0.6)
        assert supply.low_margin_v(LVTTL_OUTPUT, ATMEGA328P_INPUT) == pytest.approx(1.1)
        assert supply.overdrive_v(3.3, ATMEGA328P_INPUT) == 0

    def test_but_enough_to_another(self) -> None:
        assert supply.high_margin_v(LVTTL_OUTPUT, ATMEGA32U4_INPUT) == pytest.approx(0.5)
        assert supply.low_margin_v(LVTTL_OUTPUT, ATMEGA32U4_INPUT) == pytest.approx(0.5)

    def test_a_5_v_output_overdrives_a_3_v_3_input(self) -> None:
        assert supply.overdrive_v(5.0, LVTTL_INPUT) == pytest.approx(1.4)
        assert supply.high_margin_v(ATMEGA328PB_OUTPUT, LVTTL_INPUT) == pytest.approx(2.0)
        assert supply.low_margin_v(ATMEGA328PB_OUTPUT, LVTTL_INPUT) == pytest.approx(-0.1)

    def test_a_divider_brings_it_within_the_limit(self) -> None:
        """5 V, 1.8 kilohm over 3.3 kilohm: 3.235 V (Ohm's law, arithmetic)."""
        found = supply.divider_v(5.0, 1800, 3300)
        assert found == pytest.approx(3.235, abs=0.00051)
        assert supply.overdrive_v(found, LVTTL_INPUT) == 0


currents = st.floats(1e-3, 5)
durations = st.floats(1e-6, 10)
capacitances = st.floats(1e-7, 1)
voltages = st.floats(0.1, 24)
resistances = st.floats(0.1, 1e6)
temperatures = st.floats(-40, 150)


class TestLaws:
    @given(currents, durations, capacitances)
    def test_the_capacitance_for_a_droop_droops_so_far(
        self, current_a: float, duration_s: float, capacitance_f: float
    ) -> None:
        droop = supply.droop_v(current_a, duration_s, capacitance_f)
        assert isclose(supply.capacitance_for_droop_f(current_a, duration_s, droop), capacitance_f)

    @given(currents, durations, voltages, st.floats(0.01, 0.9))
    def test_the_capacitance_for_an_energy_holds_it(
        self, power_w: float, duration_s: float, from_v: float, share: float
    ) -> None:
        to_v = from_v * share
        found = supply.capacitance_for_energy_f(power_w, duration_s, from_v, to_v)
        assert isclose(found * (from_v**2 - to_v**2) / 2, power_w * duration_s)

    @given(currents, currents, durations, capacitances)
    def test_a_burst_sags_no_more_than_without_a_regulator(
        self, burst_a: float, limit_a: float, duration_s: float, capacitance_f: float
    ) -> None:
        sag = supply.burst_sag_v(burst_a, limit_a, duration_s, capacitance_f)
        assert 0 <= sag <= supply.droop_v(burst_a, duration_s, capacitance_f)
        assert (sag > 0) is (burst_a > limit_a)

    @given(temperatures, st.floats(0.1, 500), st.floats(0, 100))
    def test_permitted_heat_reaches_the_highest_junction(
        self, ambient_c: float, thermal_resistance: float, rise_k: float
    ) -> None:
        heat_w = supply.permitted_heat_w(ambient_c + rise_k, ambient_c, thermal_resistance)
        found_c = supply.junction_c(heat_w, thermal_resistance, ambient_c)
        assert isclose(found_c, ambient_c + rise_k, abs_tol=1e-9)

    @given(voltages, st.floats(0.01, 0.99), currents)
    def test_the_series_resistor_lets_the_wanted_current_flow(
        self, supply_v: float, share: float, current_a: float
    ) -> None:
        ohm = supply.series_resistor_ohm(supply_v, supply_v * share, current_a)
        assert isclose(supply.indicator_current_a(supply_v, supply_v * share, ohm), current_a)

    @given(voltages, resistances, resistances)
    def test_a_divider_and_its_mirror_share_the_voltage(
        self, input_v: float, upper_ohm: float, lower_ohm: float
    ) -> None:
        lower = supply.divider_v(input_v, upper_ohm, lower_ohm)
        upper = supply.divider_v(input_v, lower_ohm, upper_ohm)
        assert isclose(lower + upper, input_v)


class TestRefusals:
    @pytest.mark.parametrize("value", [0, -1.0, float("nan"), float("inf")])
    def test_what_must_be_above_zero(self, value: float) -> None:
        limit = f"is {value}; it must be above 0"
        with pytest.raises(ValueError, match=f"^capacitance_f {limit}"):
            supply.droop_v(0.3, 1e-3, value)
        with pytest.raises(ValueError, match=f"^permitted_droop_v {limit}"):
            supply.capacitance_for_droop_f(0.3, 1e-3, value)
        with pytest.raises(ValueError, match=f"^thermal_resistance_k_per_w {limit}"):
            supply.junction_c(1.0, value, 25)
        with pytest.raises(ValueError, match=f"^thermal_resistance_k_per_w {limit}"):
            supply.permitted_heat_w(125, 25, value)
        with pytest.raises(ValueError, match=f"^current_a {limit}"):
            supply.series_resistor_ohm(3.3, 2.0, value)
        with pytest.raises(ValueError, match=f"^resistor_ohm {limit}"):
            supply.indicator_current_a(3.3, 2.0, value)
        with pytest.raises(ValueError, match=f"^upper_ohm {limit}"):
            supply.divider_v(5.0, value, 3300)
        with pytest.raises(ValueError, match=f"^lower_ohm {limit}"):
            supply.divider_v(5.0, 1800, value)

    @pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
    def test_what_must_not_be_negative(self, value: float) -> None:
        limit = f"is {value}; it must be at least 0"
        with pytest.raises(ValueError, match=f"^current_a {limit}"):
            supply.droop_v(value, 1e-3, 1e-3)
        with pytest.raises(ValueError, match=f"^duration_s {limit}"):
            supply.droop_v(0.3, value, 1e-3)
        with pytest.raises(ValueError, match=f"^current_a {limit}"):
            supply.capacitance_for_droop_f(value, 1e-3, 0.1)
        with pytest.raises(ValueError, match=f"^duration_s {limit}"):
            supply.capacitance_for_droop_f(0.3, value, 0.1)
        with pytest.raises(ValueError, match=f"^burst_current_a {limit}"):
            supply.burst_sag_v(value, 0.3, 1e-3, 1e-3)
        with pytest.raises(ValueError, match=f"^current_limit_a {limit}"):
            supply.burst_sag_v(0.3, value, 1e-3, 1e-3)
        with pytest.raises(ValueError, match=f"^power_w {limit}"):
            supply.capacitance_for_energy_f(value, 1e-3, 5.0, 4.0)
        with pytest.raises(ValueError, match=f"^duration_s {limit}"):
            supply.capacitance_for_energy_f(1.0, value, 5.0, 4.0)
        with pytest.raises(ValueError, match=f"^to_v {limit}"):
            supply.capacitance_for_energy_f(1.0, 1e-3, 5.0, value)
        with pytest.raises(ValueError, match=f"^input_v {limit}"):
            supply.headroom_v(value, 3.3)
        with pytest.raises(ValueError, match=f"^output_v {limit}"):
            supply.headroom_v(5.0, value)
        with pytest.raises(ValueError, match=f"^current_a {limit}"):
            supply.regulator_heat_w(5.0, 3.3, value)
        with pytest.raises(ValueError, match=f"^heat_w {limit}"):
            supply.junction_c(value, 50, 25)
        with pytest.raises(ValueError, match=f"^forward_v {limit}"):
            supply.indicator_current_a(3.3, value, 330)
        with pytest.raises(ValueError, match=f"^supply_v {limit}"):
            supply.indicator_current_a(value, 2.0, 330)
        with pytest.raises(ValueError, match=f"^forward_v {limit}"):
            supply.series_resistor_ohm(3.3, value, 0.01)
        with pytest.raises(ValueError, match=f"^input_v {limit}"):
            supply.divider_v(value, 1800, 3300)

    @pytest.mark.parametrize("from_v", [4.0, 3.9, float("nan"), float("inf")])
    def test_a_capacitor_delivers_energy_only_while_it_falls(self, from_v: float) -> None:
        with pytest.raises(ValueError, match=rf"^from_v is {from_v}; .* above to_v, 4\.0"):
            supply.capacitance_for_energy_f(1.0, 1e-3, from_v, 4.0)

    def test_a_supply_is_finite(self) -> None:
        with pytest.raises(ValueError, match=r"^supply_v is inf; it must be above forward_v, 2\.0"):
            supply.series_resistor_ohm(float("inf"), 2.0, 0.01)

    def test_an_input_may_endure_no_more_than_a_high_level(self) -> None:
        assert LogicInput(high_min_v=2.0, low_max_v=0.8, highest_v=2.0).highest_v == 2.0

    def test_levels_in_order(self) -> None:
        with pytest.raises(ValueError, match=r"^low_max_v is 2\.4; .* below high_min_v, 2\.4$"):
            LogicOutput(high_min_v=2.4, low_max_v=2.4)
        with pytest.raises(ValueError, match=r"^low_max_v is 2\.1; .* below high_min_v, 2\.0$"):
            LogicInput(high_min_v=2.0, low_max_v=2.1, highest_v=3.6)
        with pytest.raises(ValueError, match=r"^highest_v is 1\.9; .* at least high_min_v, 2\.0$"):
            LogicInput(high_min_v=2.0, low_max_v=0.8, highest_v=1.9)
