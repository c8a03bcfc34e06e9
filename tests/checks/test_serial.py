"""Serial: each check against a planted fault, both sides of its border, and published figures."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.compute import uart
from auditor.compute.uart import DivisorRule, RateSetting
from auditor.examples import fleet_of
from auditor.findings import Finding, Stage, State, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from auditor.survey.kit import Survey
from auditor.survey.line import ModuleEnd, RateGenerator, best_setting, heard, line_load, mismatch
from tests.checks.kits import THE_KIT, TODAY, audited, findings, fired

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}
LISTENERS = EVERYONE - {"TG-01"}
FAULT, RISK, ADVICE = Severity.FAULT, Severity.RISK, Severity.ADVICE


def severity_of(lines: str, check: str) -> Severity | None:
    """Return how grave a check is on TG-02; None where it finds nothing there."""
    found = of_module(audit(fleet_of(lines), TODAY).modules[1].findings, check)
    return found[0].severity if found else None


def of_module(found: tuple[Finding, ...], check: str) -> list[Finding]:
    return [finding for finding in found if finding.check == check]


def whom(lines: str, check: str) -> set[str]:
    """Return on whom a check fires."""
    return fired(lines).get(check, set())


def bare(lines: str) -> dict[str, list[Finding]]:
    """Return the findings at the serial stage in a kit that says nothing but the lines."""
    result = audit(fleet_of_text(f"{lines}\n[[module]]\nid = 'TG-01'\n", "kit.toml", {}), TODAY)
    found: dict[str, list[Finding]] = {}
    for finding in result.findings:
        if finding.stage is Stage.SERIAL:
            found.setdefault(finding.check, []).append(finding)
    return found


def survey_of(lines: str) -> Survey:
    return Survey(fleet_of(lines), TODAY.date())


class TestSerialRate:
    def test_another_rate_is_the_one_finding_and_blocks_the_module(self) -> None:
        lines = '[[module]]\nid = "TG-02"\nserial_rate = 115200'
        assert fired(lines) == {"serial-rate-differs": {"TG-02"}}
        module = audited(lines).modules[1]
        assert (module.verdict, module.stops_at) == (Verdict.BLOCKED, Stage.SERIAL)
        assert module.stages[Stage.SERIAL] is State.BLOCKED

    def test_the_exact_rate_is_named_with_both_places(self) -> None:
        (found,) = findings('[[module]]\nid = "TG-02"\nserial_rate = 9601', "serial-rate-differs")
        assert found.remedy == "Set serial_rate to 9600."
        assert [place.column for place in found.where] == ["serial_rate", "rate"]

    def test_the_planned_rate_said_again_is_fine(self) -> None:
        assert fired('[[module]]\nid = "TG-02"\nserial_rate = 9600') == {}

    def test_nothing_is_said_without_a_plan(self) -> None:
        assert bare("[defaults]\nserial_rate = 9600") == {}


# Oscillator, rate in Bd, samples per bit, loaded n; the error printed in %; what we say of it.
# ATmega48/88/168 2545D, Tables 83 and 84. The limits: +4.58/-4.64 % (16 samples) and
# +3.90/-4.00 % (8 samples) for 8 bits, ATmega48A...328P DS40002061A, Tables 20-2 and 20-3, of
# which the module's own clock takes 0.2 %.
RATES = [
    ("16 MHz", 9600, 16, 103, 0.2, None),
    ("8 MHz", 38_400, 16, 12, 0.2, None),
    ("16 MHz", 57_600, 8, 34, -0.8, None),
    ("20 MHz", 115_200, 16, 10, -1.4, None),
    ("16 MHz", 57_600, 16, 16, 2.1, RISK),
    ("16 MHz", 115_200, 8, 16, 2.1, RISK),
    ("16 MHz", 115_200, 16, 8, -3.5, RISK),
    ("8 MHz", 115_200, 8, 8, -3.5, RISK),
    ("8 MHz", 115_200, 16, 3, 8.5, FAULT),
    ("16 MHz", 230_400, 16, 3, 8.5, FAULT),
]


def controller(clock: str, rate: int, samples: int, divisor: float, **keys: str) -> str:
    """Return the lines of a serial rate and of a controller that makes it."""
    more = "\n".join(f'{key} = "{value}"' for key, value in keys.items())
    return (
        f'[serial]\nrate = {rate}\n[controller]\nclock = "{clock}"\noversampling = {samples}\n'
        f"divisor = {divisor}\n{more}"
    )


class TestControllerRate:
    @pytest.mark.parametrize(("clock", "rate", "samples", "n", "error", "severity"), RATES)
    def test_published_settings(
        self,
        clock: str,
        rate: int,
        samples: int,
        n: int,
        error: float,
        severity: Severity | None,
    ) -> None:
        lines = controller(clock, rate, samples, n)
        assert severity_of(lines, "controller-rate-error") is severity
        assert whom(lines, "rate-out-of-reach") == set()
        for found in findings(lines, "controller-rate-error"):
            assert float(str(found.figures["error_percent"])) == pytest.approx(error, abs=0.051)
            assert found.figures["divisor"] == n

    def test_too_fast_and_too_slow_are_told_with_their_figures(self) -> None:
        """By hand from the tables above: 1.002 * 115200 / 111111.1 is 3.89 % of at most 4.58 %;
        0.998 * 115200 / 117647.1 is 2.28 % below 1, of at most 4.00 %.
        """
        (fast, *_) = findings(controller("16 MHz", 115_200, 16, 8), "controller-rate-error")
        assert fast.message == (
            "The divisor loaded for 115200 Bd is 8: from 16 MHz with 16 samples per bit it makes "
            "111111.1 Bd (-3.55 %). To the controller the module is 3.89 % too fast, with the "
            "module's own clock 0.2 % off; a receiver with 16 samples per bit follows 4.58 % over "
            "8 data and parity bits, so 85 % of that is used."
        )
        shares = ("mismatch_percent", "tolerated_percent", "share_percent")
        assert [fast.figures[key] for key in shares] == [3.89, 4.58, 85.0]
        assert fast.figures["actual_rate"] == 111_111.1
        (slow, *_) = findings(controller("16 MHz", 115_200, 8, 16), "controller-rate-error")
        assert "To the controller the module is 2.28 % too slow" in slow.message
        assert [slow.figures[key] for key in shares] == [-2.28, 4.0, 56.9]
        (back, *_) = findings(controller("8 MHz", 115_200, 16, 3), "controller-rate-error")
        assert "To the module the controller is 8.72 % too fast" in back.message
        assert "bits, so this is 1.9 times what it follows." in back.message  # 8.72 / 4.58

    def test_a_parity_bit_takes_tolerance(self) -> None:
        """8 samples per bit: +3.90 % with 8 bits, +3.53 % with 9 (DS40002061A, Table 20-3)."""
        lines = controller("8 MHz", 115_200, 8, 8)
        with_parity = lines.replace("[controller]", 'parity = "even"\n[controller]')
        assert severity_of(lines, "controller-rate-error") is RISK
        assert severity_of(with_parity, "controller-rate-error") is FAULT

    def test_the_modules_own_clock_counts(self) -> None:
        """-3.5 % (ATmega48/88/168 2545D, Table 83) and a module 0.5 % off pass +3.90 %."""
        lines = controller("8 MHz", 115_200, 8, 8)
        worse = f'[kit]\nprofile = "generic-24ghz-early"\n{lines}'
        assert severity_of(worse, "controller-rate-error") is FAULT

    # The fastest sender that 16 samples and 8 bits follow is 160/153 as fast (DS40002061A,
    # Table 20-2: 104.58 %); the module is 0.2 % slow. Clocks in kHz by arithmetic.
    @pytest.mark.parametrize(
        ("clock_khz", "n", "severity"),
        [
            ("24526.848", 152, RISK),
            ("24526.849", 152, FAULT),
            ("47980.6464", 305, None),
            ("47980.6465", 305, RISK),
        ],
    )
    def test_both_sides_of_both_borders(
        self, clock_khz: str, n: int, severity: Severity | None
    ) -> None:
        lines = controller(f"{clock_khz} kHz", 9600, 16, n)
        assert severity_of(lines, "controller-rate-error") is severity

    def test_a_policy_moves_the_lower_border(self) -> None:
        """+1.7 % (ATmega48/88/168 2545D, Table 84) is 42 %; strict asks for 40, the lab for 50."""
        lines = controller("20 MHz", 76_800, 16, 15)
        assert severity_of(lines, "controller-rate-error") is None
        strict = f'[kit]\npolicy = "strict"\n{lines}'
        assert severity_of(strict, "controller-rate-error") is RISK

    @pytest.mark.parametrize(
        ("divisor", "severity"),
        [(12, None), (11, FAULT)],  # TL16C550C SLLS177I, Table 7-9: 12 makes 9600 Bd exactly
    )
    def test_a_divisor_loaded_as_itself(self, divisor: int, severity: Severity | None) -> None:
        lines = controller("1.8432 MHz", 9600, 16, divisor, divisor_rule="n")
        assert severity_of(lines, "controller-rate-error") is severity

    @pytest.mark.parametrize(
        ("divisor", "severity"),
        [
            (52.0625, None),  # RM0090 rev 11, Table 133: 9603.8 Bd
            (50, RISK),  # 10000 Bd, +4.17 % (arithmetic)
            (49.5, FAULT),  # 10101 Bd, +5.22 % (arithmetic)
        ],
    )
    def test_a_fraction(self, divisor: float, severity: Severity | None) -> None:
        lines = controller("8 MHz", 9600, 16, divisor, profile="generic-32bit-fraction")
        assert severity_of(lines, "controller-rate-error") is severity

    def test_a_clock_multiplier_counts(self) -> None:
        """8 MHz times 4, 16 samples and n 16 make 117647 Bd, +2.1 % of 115200 (arithmetic)."""
        lines = controller("8 MHz", 115_200, 16, 16) + "\nclock_multiplier = 4"
        assert severity_of(lines, "controller-rate-error") is RISK
        assert severity_of(lines.replace("= 4", "= 1"), "controller-rate-error") is FAULT

    def test_samples_that_nobody_gives_are_those_of_the_profile_that_fit(self) -> None:
        """n 103 with 16 (2545D, Table 84) and n 207 with 8 (arithmetic) both make 9615.4 Bd."""
        plan = "[serial]\nrate = 9600\n[controller]\nprofile = 'generic-8bit-16mhz'\ndivisor = "
        assert bare(f"{plan}103") == {}
        assert bare(f"{plan}207") == {}
        assert set(bare(f"{plan}51")) == {"controller-rate-error"}

    def test_the_remedy_is_the_best_divisor(self) -> None:
        """115200 Bd from 16 MHz is +2.1 % at best (2545D, Table 84): another rate is named."""
        (found, *_) = findings(controller("16 MHz", 115_200, 16, 8), "controller-rate-error")
        assert found.remedy.startswith("Set both ends to 57600 Bd. Load 34 with 8 samples per bit")
        (found, *_) = findings("[controller]\ndivisor = 51", "controller-rate-error")
        assert found.remedy.startswith("Load 103 with 16 samples per bit: from 16 MHz")

    def test_an_unknown_frame_is_given_all_that_any_frame_tolerates(self) -> None:
        """5 bits, 16 samples: +6.67 % (DS40002061A, Table 20-2)."""
        plan = "[serial]\nrate = 9600\n[controller]\nclock = '16 MHz'\ndivisor = "
        assert bare(f"{plan}97")["controller-rate-error"][0].severity is RISK  # +6.29 %
        assert bare(f"{plan}96")["controller-rate-error"][0].severity is FAULT  # +7.39 %

    def test_a_clock_that_is_not_known_gives_nothing(self) -> None:
        assert bare("[serial]\nrate = 9600\n[controller]\ndivisor = 7") == {}

    def test_ends_that_agree_are_no_mismatch(self) -> None:
        end = ModuleEnd(9600, Fraction(0), 8)
        setting = RateSetting(16, Fraction(103), Fraction(9600), Fraction(0))
        assert mismatch(end, setting).share == mismatch(end, setting).tolerated == 0

    @pytest.mark.parametrize("samples", [8, 16])
    def test_two_ends_that_are_each_nearly_fine_fail_together(self, samples: int) -> None:
        """-3.5 % and +2.1 % (2545D, Table 84) are 17/18: under 96.00 and 95.36 % (DS40002061A)."""
        slow = uart.best_divisor(16_000_000, 115_200, 16)
        fast = uart.best_divisor(16_000_000, 115_200, 8)
        end = ModuleEnd(round(fast.actual_rate), Fraction(0), 8)
        apart = mismatch(end, RateSetting(samples, slow.divisor, slow.actual_rate, slow.error))
        assert apart.share > 1

    def test_each_direction_has_the_sampling_of_its_receiver(self) -> None:
        """With 8 samples the controller follows less than the module with 16 (DS40002061A)."""
        coarse = uart.best_divisor(8_000_000, 115_200, 8)
        apart = mismatch(ModuleEnd(115_200, Fraction(0), 8), coarse)
        assert (apart.sender, apart.samples_per_bit) == ("module", 8)
        assert float(100 * apart.tolerated) == pytest.approx(3.90, abs=0.005)
        fine = uart.best_divisor(8_000_000, 115_200, 16)
        apart = mismatch(ModuleEnd(115_200, Fraction(0), 8), fine)
        assert (apart.sender, apart.samples_per_bit) == ("controller", 16)
        assert float(100 * apart.tolerated) == pytest.approx(4.58, abs=0.005)

    def test_the_module_is_taken_to_sample_sixteen_times_whatever_the_controller_does(self) -> None:
        """+2.1 % (2545D, Table 84) uses 46 % of the module's 4.58 %, 52 of the controller's."""
        apart = mismatch(
            ModuleEnd(115_200, Fraction(0), 8), uart.best_divisor(16_000_000, 115_200, 8)
        )
        assert (apart.sender, apart.samples_per_bit) == ("module", 8)
        assert float(apart.share) == pytest.approx(0.52, abs=0.005)

    def test_of_settings_that_fit_equally_the_finest_sampling_is_best(self) -> None:
        """1.8432 MHz makes 9600 Bd exactly: n 11 with 16 samples (2545E, Table 17-9), 23 with 8."""
        ways = tuple(
            RateGenerator(Fraction(1_843_200), samples, DivisorRule.N_PLUS_ONE, None)
            for samples in (8, 16)
        )
        _, setting = best_setting(ways, ModuleEnd(9600, Fraction(0), 8))
        assert (setting.samples_per_bit, setting.divisor) == (16, Fraction(11))

    def test_a_clock_that_may_stand_still_is_compared_where_it_runs(self) -> None:
        setting = RateSetting(16, Fraction(103), Fraction(9600), Fraction(0))
        assert mismatch(ModuleEnd(9600, Fraction(1), 8), setting).share > 1


class TestRateOutOfReach:
    @pytest.mark.parametrize(
        ("clock", "rate", "profile", "best"),
        [
            # ATmega48/88/168 2545D, Tables 83 and 84: -3.5 % is the best with 8 samples, a risk
            # that only a loaded divisor is blamed for; +8.5 % with both samplings is too far.
            ("8 MHz", 115_200, "generic-8bit-16mhz", None),
            ("8 MHz", 230_400, "generic-8bit-16mhz", 1),
            ("16 MHz", 230_400, "generic-8bit-16mhz", None),
            # RM0090 rev 11, Table 135: 460800 Bd from 8 MHz is +2.12 % with 1.0625.
            ("8 MHz", 460_800, "generic-32bit-fraction", None),
            ("8 MHz", 1_500_000, "generic-32bit-fraction", 1),  # 1 MBd at most with 8 samples
        ],
    )
    def test_published_settings(
        self, clock: str, rate: int, profile: str, best: float | None
    ) -> None:
        found = bare(
            f"[serial]\nrate = {rate}\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
            f"[controller]\nprofile = '{profile}'\nclock = '{clock}'"
        )
        assert [each.figures["divisor"] for each in found.pop("rate-out-of-reach", [])] == (
            [] if best is None else [best]
        )
        assert found == {}

    def test_one_sampling_that_is_set_is_the_only_one(self) -> None:
        plan = (
            "[serial]\nrate = 115200\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
            "[controller]\nprofile = 'generic-8bit-16mhz'\nclock = '8 MHz'\noversampling = "
        )
        assert bare(f"{plan}8") == {}
        (found,) = bare(f"{plan}16")["rate-out-of-reach"]
        assert found.severity is FAULT
        assert (found.figures["divisor"], found.figures["error_percent"]) == (3, 8.51)
        assert found.remedy.startswith("Set both ends to 76800 Bd. Load 12 with 8 samples per bit")

    def test_a_rate_too_slow_for_the_bits_of_the_divisor(self) -> None:
        """16 MHz, 16 samples, 8 bits: 3906.25 Bd at the least (n 255, arithmetic)."""
        plan = "[serial]\nrate = {}\n[controller]\nclock = '16 MHz'\ndivisor_bits = 8"
        assert bare(plan.format(3906)) == {}
        (found,) = bare(plan.format(2400))["rate-out-of-reach"]
        assert found.figures["divisor"] == 255

    def test_a_clock_far_too_slow_has_no_way_out_but_another(self) -> None:
        found = bare("[serial]\nrate = 9600\n[controller]\nclock = '100 Hz'")
        assert found["rate-out-of-reach"][0].remedy.startswith("Give the controller a clock")

    def test_a_module_at_another_rate_is_not_blamed_twice(self) -> None:
        lines = '[controller]\ndivisor = 4096\n[[module]]\nid = "TG-02"\nserial_rate = 230400'
        assert "TG-02" in whom(lines, "serial-rate-differs")
        assert "TG-02" not in whom(lines, "rate-out-of-reach")


class TestDivisorNotLoadable:
    @pytest.mark.parametrize(
        ("profile", "divisor", "loadable"),
        [
            ("generic-8bit-16mhz", 0, True),
            ("generic-8bit-16mhz", 4095, True),
            ("generic-8bit-16mhz", 4096, False),
            ("generic-8bit-16mhz", 103.5, False),
            ("generic-32bit-fraction", 0.9375, False),
            ("generic-32bit-fraction", 1, True),
            ("generic-32bit-fraction", 39.0625, True),  # RM0008 rev 12, Table 191
            ("generic-32bit-fraction", 39.07, False),
            ("generic-32bit-fraction", 4095.9375, True),
            ("generic-32bit-fraction", 4096, False),
        ],
    )
    def test_both_sides_of_what_can_be_loaded(
        self, profile: str, divisor: float, loadable: bool
    ) -> None:
        lines = f'[controller]\nprofile = "{profile}"\ndivisor = {divisor}'
        assert whom(lines, "divisor-not-loadable") == (set() if loadable else EVERYONE)
        assert loadable or not whom(lines, "controller-rate-error")

    def test_the_rule_n_divides_by_no_zero(self) -> None:
        lines = '[controller]\ndivisor_rule = "n"\ndivisor = 0'
        assert whom(lines, "divisor-not-loadable") == EVERYONE

    def test_the_value_that_fits_is_named(self) -> None:
        (found, *_) = findings("[controller]\ndivisor = 103.5", "divisor-not-loadable")
        assert found.remedy.startswith("Load 103 with 16 samples per bit")
        assert "whole number, 0 to 4095" in found.message

    def test_the_steps_are_those_of_the_finest_sampling(self) -> None:
        """RM0008 rev 12, section USART: a fraction in sixteenths with 16 samples."""
        lines = '[controller]\nprofile = "generic-32bit-fraction"\ndivisor = 39.07'
        (found, *_) = findings(lines, "divisor-not-loadable")
        assert found.figures["loadable"] == "it can be 1 to 4095.9375 in steps of 1/16"

    def test_no_value_is_named_that_would_not_be_received(self) -> None:
        """ATmega48/88/168 2545D, Table 83: 115200 Bd from 8 MHz is 8.5 % off with 16 samples."""
        lines = "[serial]\nrate = 115200\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
        lines += "[controller]\nclock = '8 MHz'\noversampling = 16\ndivisor = 3.5"
        (found,) = bare(lines)["divisor-not-loadable"]
        assert found.remedy.startswith("Load a value that fits: ")

    def test_without_a_rate_what_can_be_loaded_is_named(self) -> None:
        (found,) = bare("[controller]\nclock = '8 MHz'\ndivisor = 1.5")["divisor-not-loadable"]
        assert "a whole number, at least 0" in found.remedy

    @given(
        st.fractions(0, 2**32),
        st.sampled_from([4, 8, 16, 64]),
        st.sampled_from(DivisorRule),
        st.none() | st.integers(1, 32),
    )
    def test_what_is_taken_is_what_the_rate_can_be_computed_of(
        self, divisor: Fraction, samples: int, rule: DivisorRule, bits: int | None
    ) -> None:
        divisor = divisor.limit_denominator(16)
        generator = RateGenerator(Fraction(16_000_000), samples, rule, bits)
        if generator.takes(divisor):
            assert generator.loaded(divisor, 9600).actual_rate > 0
        elif bits is None:
            with pytest.raises(ValueError, match=r"^divisor is "):
                generator.loaded(divisor, 9600)


class TestFrame:
    @pytest.mark.parametrize(
        ("setting", "severity"),
        [
            ("data_bits = 7", FAULT),
            ('parity = "odd"', FAULT),
            ("stop_bits = 2", ADVICE),  # the receiver takes the second one for a pause
            ('stop_bits = 2\nparity = "odd"', FAULT),
            ("stop_bits = 1", None),
            ('parity = "none"\ndata_bits = 8', None),
        ],
    )
    def test_settings(self, setting: str, severity: Severity | None) -> None:
        """Bits taken for others garble; extra stop bits are idle line (common practice)."""
        lines = f'[[module]]\nid = "TG-02"\n{setting}'
        assert severity_of(lines, "frame-differs") is severity
        assert set(fired(lines)) <= {"frame-differs"}

    def test_fewer_stop_bits_than_expected_are_a_risk(self) -> None:
        lines = '[serial]\nstop_bits = 2\n[[module]]\nid = "TG-02"\nstop_bits = 1'
        assert severity_of(lines, "frame-differs") is RISK

    def test_more_stop_bits_are_a_risk_where_the_controller_answers_with_fewer(self) -> None:
        lines = '[[module]]\nid = "TG-01"\nstop_bits = 2'
        (found,) = findings(lines, "frame-differs")
        assert found.severity is RISK
        assert found.remedy == "Set stop_bits to 1."

    def test_everything_that_differs_is_one_finding(self) -> None:
        lines = '[[module]]\nid = "TG-02"\ndata_bits = 7\nparity = "even"'
        (found,) = findings(lines, "frame-differs")
        assert found.remedy == "Set data_bits to 8 and parity to none."
        assert [place.column for place in found.where] == ["data_bits", "parity"]

    def test_flow_control(self) -> None:
        lines = '[[module]]\nid = "TG-02"\nflow_control = "{}"'
        assert fired(lines.format("none")) == {}
        (found,) = findings(lines.format("rts-cts"), "flow-control-differs")
        assert (found.severity, found.remedy) == (RISK, "Set flow_control to none.")


class TestOverrun:
    # Two talkers of 24 bytes; 9600 Bd with 10 bits a frame carry 960 bytes a second, with 11 bits
    # 872.73 (Maxim AN2141, UART Timing). 48 bytes in 62.5 ms are 768, in 50 ms 960 a second.
    @pytest.mark.parametrize(
        ("interval_ms", "parity", "severity"),
        [
            ("62.5", "none", None),
            ("62.4", "none", RISK),
            ("50", "none", RISK),
            ("49.9", "none", FAULT),
            ("68.75", "even", None),
            ("68.7", "even", RISK),
            ("55", "even", RISK),
            ("54.9", "even", FAULT),
        ],
    )
    def test_both_sides_of_both_borders(
        self, interval_ms: str, parity: str, severity: Severity | None
    ) -> None:
        lines = f'[traffic]\nmessage_interval = "{interval_ms} ms"\n[serial]\nparity = "{parity}"'
        assert severity_of(lines, "serial-overrun") is severity

    def test_a_talker_does_not_hear_itself(self) -> None:
        survey = survey_of("")
        assert [heard(module, survey).talkers for module in survey.modules] == [1, 2, 2, 2]
        lines = '[traffic]\nmessage_interval = "49 ms"'
        assert whom(lines, "serial-overrun") == LISTENERS
        assert whom('[traffic]\nmessage_interval = "24 ms"', "serial-overrun") == EVERYONE

    def test_each_talker_counts_with_its_own_message(self) -> None:
        lines = '[[module]]\nid = "TG-01"\nmessage_bytes = 100'
        loads = [line_load(module, survey_of(lines)) for module in survey_of(lines).modules]
        assert [load.bytes_per_s if load else None for load in loads] == [4.8, 24.8, 24.8, 24.8]

    @pytest.mark.parametrize(
        ("destination", "listeners"),
        [
            ("10.20.0.32", {"TG-02"}),  # static
            ("10.20.0.110", {"TG-04"}),  # pooled, with a reservation
            ("10.20.0.10", set()),  # a host
            ("10.20.0.31", {"TG-01"}),  # a talker: it hears the host, and not itself
            ("10.20.0.255", EVERYONE),  # the directed broadcast
            ("239.1.2.3", EVERYONE),  # multicast
        ],
    )
    def test_only_whom_it_is_for_gets_it(self, destination: str, listeners: set[str]) -> None:
        survey = survey_of(f'[traffic]\ndestination = "{destination}"')
        hearing = {module.id for module in survey.modules if heard(module, survey).talkers}
        assert hearing == listeners

    def test_the_interval_that_leaves_room_is_named(self) -> None:
        lines = '[traffic]\nmessage_interval = "60 ms"'
        (found, *_) = findings(lines, "serial-overrun")
        assert 'message_interval to "63 ms" or more' in found.remedy
        assert severity_of(lines.replace("60", "63"), "serial-overrun") is None

    def test_the_load_and_the_interval_are_told_with_their_figures(self) -> None:
        """By hand: 2 * 1000 bytes in 2.5 s of 960 are 83.3 %; 2000 / (0.8 * 960) s are 2605 ms."""
        lines = '[traffic]\nmessage_bytes = 1000\nmessage_interval = "2500 ms"'
        (found, *_) = findings(lines, "serial-overrun")
        assert found.figures == {
            "talkers": 2,
            "bytes_per_s": 800.0,
            "capacity_bytes_per_s": 960.0,
            "share_percent": 83.3,
        }
        assert found.message == (
            "The talkers it hears (2) send 800.0 bytes a second; its line carries 960.0: "
            "that is 83.3 %."
        )
        assert 'Set message_interval to "2605 ms" or more' in found.remedy

    def test_no_interval_is_named_where_a_policy_permits_no_load(self) -> None:
        file = fleet_of("")
        thresholds = file.policy.thresholds.model_copy(update={"serial_load_risk": Fraction(0)})
        policy = file.policy.model_copy(update={"thresholds": thresholds})
        found = audit(replace(file, policy=policy), TODAY).modules[1].findings
        (overrun,) = of_module(found, "serial-overrun")
        assert overrun.remedy.startswith("Send less often, name fewer talkers")

    def test_anyone_may_talk_where_no_talker_is_named(self) -> None:
        text = (
            "[serial]\nrate = 9600\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n[traffic]\n"
            "intent = 'broadcast'\nmessage_bytes = 320\nmessage_interval = '1 s'\n"
        ) + "".join(f"[[module]]\nid = 'TG-0{n}'\n" for n in range(1, 6))
        survey = Survey(fleet_of_text(text, "kit.toml", {}), TODAY.date())
        load = line_load(survey.modules[0], survey)
        assert load is not None
        assert (load.talkers, load.bytes_per_s) == (4, 1280.0)
        assert load.share == pytest.approx(1280 / 960)
        silent = Survey(fleet_of_text(f"{text}talks = false\n", "kit.toml", {}), TODAY.date())
        assert [heard(module, silent).talkers for module in silent.modules] == [3, 3, 3, 3, 4]

    @pytest.mark.parametrize("missing", ["message_bytes = 0", "talkers = []"])
    def test_nothing_is_said_of_no_load(self, missing: str) -> None:
        assert whom(f"[traffic]\n{missing}", "serial-overrun") == set()

    def test_a_message_of_unknown_length_gives_no_load(self) -> None:
        survey = survey_of("")
        flow = heard(survey.modules[1], survey)
        assert flow.message_bytes == 48
        assert (flow + type(flow).of(None)).message_bytes is None
        assert (flow + type(flow).of(None) - type(flow).of(None)) == flow


class TestTalkersLine:
    """9600 Bd carry 960 bytes a second in frames of 10 bits (Maxim AN2141, UART Timing)."""

    CHECK = "talker-line-too-slow"

    def lines(self, interval_ms: float) -> str:
        """Return lines in which TG-01 sends 960 bytes at an interval to the logger."""
        return (
            '[traffic]\nintent = "unicast"\ndestination = "10.20.0.10"\ntalkers = ["TG-01"]\n'
            f'message_bytes = 960\nmessage_interval = "{interval_ms} ms"\n'
        )

    # 960 bytes are one second of the line; 80 % and 100 % of it are 1250 and 1000 ms.
    @pytest.mark.parametrize(
        ("interval_ms", "severity"),
        [(1250, None), (1249, RISK), (1000, RISK), (999, FAULT)],
    )
    def test_both_sides_of_both_borders(self, interval_ms: int, severity: Severity | None) -> None:
        found = findings(self.lines(interval_ms), self.CHECK)
        assert [each.severity for each in found] == ([severity] if severity else [])
        assert fired(self.lines(interval_ms)) == ({self.CHECK: {"TG-01"}} if severity else {})

    def test_the_figures_and_both_ways_out(self) -> None:
        """By hand: 960 bytes of 10 bits in 0.8 * 0.5 s need 24000 Bd.

        The module's profile lists 38400 next; 960 bytes in 0.8 of 960 a second take 1250 ms.
        """
        (found,) = findings(self.lines(500), self.CHECK)
        assert found.message == (
            "Its controller hands over 1920.0 bytes a second; the line between them carries "
            "960.0: that is 200.0 %."
        )
        assert found.figures == {
            "bytes_per_s": 1920.0,
            "capacity_bytes_per_s": 960.0,
            "share_percent": 200.0,
        }
        columns = [place.column for place in found.where]
        assert columns == ["rate", "message_bytes", "message_interval"]
        ways = 'Set both ends to 38400 Bd, or set message_interval to "1250 ms" or more.'
        assert found.remedy == ways
        faster = self.lines(500) + "[serial]\nrate = 38400\n"
        assert whom(faster, self.CHECK) == whom(self.lines(1250), self.CHECK) == set()

    def test_no_rate_is_named_that_the_controller_cannot_make(self) -> None:
        """16 MHz makes 230400 Bd 3.5 % off at the best: ATmega48/88/168 2545D, Table 84."""
        (found,) = findings(self.lines(60), self.CHECK)
        assert found.remedy == 'Set message_interval to "1250 ms" or more.'
        exact = '[controller]\nclock = "18.432 MHz"\n'
        (found,) = findings(self.lines(60) + exact, self.CHECK)
        assert found.remedy.startswith("Set both ends to 230400 Bd, or ")

    def test_a_longer_frame_takes_longer(self) -> None:
        parity = '[serial]\nparity = "even"\n'
        assert whom(self.lines(1374) + parity, self.CHECK) == {"TG-01"}
        assert whom(self.lines(1375) + parity, self.CHECK) == set()

    def test_no_way_out_has_a_figure_where_a_policy_permits_no_load(self) -> None:
        file = fleet_of(self.lines(5000))
        thresholds = file.policy.thresholds.model_copy(update={"serial_load_risk": Fraction(0)})
        policy = file.policy.model_copy(update={"thresholds": thresholds})
        found = audit(replace(file, policy=policy), TODAY).modules[0].findings
        (slow,) = of_module(found, self.CHECK)
        assert slow.remedy == "Set a faster rate at both ends, or send less often."

    @pytest.mark.parametrize(
        ("lines", "on"),
        [
            ("", {"TG-01"}),
            ("rate = 9600\n", {"TG-01"}),
            ("[controller]\ntransmitter = false\n", {"TG-01"}),  # its own is on
            ('[[module]]\nid = "TG-01"\ntalks = false\n', set()),
            ('[[module]]\nid = "TG-01"\nserial_rate = 19200\n', set()),
            ('[[module]]\nid = "TG-01"\nmessage_bytes = 480\n', set()),
            ('[[module]]\nid = "TG-02"\ntalks = true\n', {"TG-01"}),  # unplanned
        ],
    )
    def test_it_is_said_of_those_who_may_talk(self, lines: str, on: set[str]) -> None:
        start = "[serial]\n" if lines.startswith("rate") else ""
        assert whom(self.lines(999) + start + lines, self.CHECK) == on

    def test_where_no_talker_is_named_it_is_said_of_all_whose_transmitter_is_not_off(self) -> None:
        plan = (
            "[serial]\nrate = 9600\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
            "[traffic]\nintent = 'unicast'\nmessage_bytes = 960\nmessage_interval = '{}'\n"
        )
        assert self.CHECK in bare(plan.format("999 ms"))
        assert self.CHECK not in bare(plan.format("2 s"))
        off = "[controller]\ntransmitter = false\n"
        assert self.CHECK not in bare(plan.format("999 ms") + off)

    def test_what_is_not_known_gives_nothing(self) -> None:
        plan = (
            "[serial]\nrate = 9600\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
            "[traffic]\nmessage_bytes = 960\nmessage_interval = '999 ms'\n"
        )
        assert self.CHECK in bare(plan)
        for line in ("rate = 9600", "parity = 'none'", "message_bytes = 960"):
            assert self.CHECK not in bare(plan.replace(line, ""))
        assert self.CHECK not in bare(plan.replace("message_interval = '999 ms'", ""))


class TestReads:
    # 1041.67 µs a byte at 9600 Bd, 1145.83 µs with parity (Maxim AN2141, UART Timing): 64 bytes
    # take 66.67 and 73.33 ms.
    @pytest.mark.parametrize(
        ("gap_ms", "parity", "fires"),
        [
            ("66.6", "none", False),
            ("66.7", "none", True),
            ("73.3", "even", False),
            ("73.4", "even", True),
            ("0", "none", False),
        ],
    )
    def test_both_sides_of_the_border(self, gap_ms: str, parity: str, fires: bool) -> None:
        lines = f'[controller]\nlongest_gap = "{gap_ms} ms"\n[serial]\nparity = "{parity}"'
        assert whom(lines, "reads-too-far-apart") == (LISTENERS if fires else set())

    def test_the_exact_end_of_the_gap_is_survived(self) -> None:
        """96 bytes at 9600 Bd take 100 ms exactly, as compute.uart.longest_gap_s says."""
        assert uart.longest_gap_s(96, 9600, 10) == pytest.approx(0.1)
        lines = '[controller]\nreceive_buffer = {}\nlongest_gap = "100 ms"'
        assert whom(lines.format(96), "reads-too-far-apart") == set()
        assert whom(lines.format(95), "reads-too-far-apart") == LISTENERS

    @pytest.mark.parametrize(("message_bytes", "fires"), [(64, False), (65, True)])
    def test_one_talker_brings_no_more_than_one_message(
        self, message_bytes: int, fires: bool
    ) -> None:
        lines = (
            '[controller]\nlongest_gap = "1 s"\n[traffic]\ntalkers = ["TG-01"]\n'
            f"message_bytes = {message_bytes}"
        )
        assert whom(lines, "reads-too-far-apart") == (LISTENERS if fires else set())

    def test_a_buffer_and_a_gap_that_would_do_are_named(self) -> None:
        (found, *_) = findings('[controller]\nlongest_gap = "80 ms"', "reads-too-far-apart")
        assert found.severity is FAULT
        assert found.remedy.endswith("at least 77 bytes, or read every 66.666 ms at the latest.")
        none = '[controller]\nlongest_gap = "80 ms"\nreceive_buffer = 0'
        (*_, found) = findings(none, "reads-too-far-apart")
        assert found.remedy == "Give the controller a receive buffer of at least 77 bytes."

    def test_the_buffer_may_be_that_of_the_profile(self) -> None:
        """Two bytes at 9600 Bd take 2.08 ms (Maxim AN2141, UART Timing)."""
        plan = (
            "[serial]\nrate = 9600\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
            "[traffic]\nintent = 'broadcast'\ntalkers = ['logger']\nmessage_bytes = 9\n"
            "[[network.host]]\nname = 'logger'\naddress = '10.20.0.10'\n"
            "[controller]\nprofile = 'generic-8bit-16mhz'\nlongest_gap = '{} ms'"
        )
        assert bare(plan.format("2.08")) == {}
        assert set(bare(plan.format("2.09"))) == {"reads-too-far-apart"}


class TestReceiver:
    def test_an_overrun_that_all_ignore_is_one_finding_of_the_kit(self) -> None:
        lines = "[controller]\nclears_overrun = false"
        assert fired(lines) == {"overrun-not-cleared": {THE_KIT}}
        result = audited(lines)
        assert result.kit_findings[0].concerns == (0, 1, 2, 3)
        assert {module.stages[Stage.SERIAL] for module in result.modules} == {State.AT_RISK}

    def test_an_overrun_that_the_defaults_ignore_is_shared_too(self) -> None:
        lines = "[defaults]\ncontroller = { clears_overrun = false }"
        assert fired(lines) == {"overrun-not-cleared": {THE_KIT}}

    def test_an_overrun_that_one_board_ignores_is_its_own(self) -> None:
        lines = '[[module]]\nid = "TG-02"\ncontroller = { clears_overrun = false }'
        assert fired(lines) == {"overrun-not-cleared": {"TG-02"}}

    def test_a_receiver_that_is_off_overruns_nothing(self) -> None:
        lines = "[controller]\nclears_overrun = false\nreceiver = false"
        assert fired(lines) == {"receiver-off": EVERYONE}

    def test_a_board_that_clears_is_left_out(self) -> None:
        lines = (
            '[controller]\nclears_overrun = false\n[[module]]\nid = "TG-02"\n'
            "controller = { clears_overrun = true }"
        )
        assert audited(lines).kit_findings[0].concerns == (0, 2, 3)

    def test_a_receiver_that_is_off_blocks_whoever_is_sent_something(self) -> None:
        assert fired("[controller]\nreceiver = false") == {"receiver-off": EVERYONE}
        one_talker = '[controller]\nreceiver = false\n[traffic]\ntalkers = ["TG-01"]'
        assert fired(one_talker) == {"receiver-off": LISTENERS}

    def test_a_receiver_is_needed_where_nobody_says_who_talks_to_whom(self) -> None:
        assert set(bare("[controller]\nreceiver = false")) == {"receiver-off"}
        named = "[controller]\nreceiver = false\n[traffic]\ntalkers = ['TG-01']"
        assert set(bare(named)) == {"receiver-off"}

    def test_a_transmitter_is_noted_on_listeners_alone(self) -> None:
        assert fired("[controller]\ntransmitter = true") == {"transmitter-on-listener": LISTENERS}
        (found, *_) = findings("[controller]\ntransmitter = true", "transmitter-on-listener")
        assert found.severity is ADVICE

    def test_a_transmitter_is_in_place_where_anyone_may_talk(self) -> None:
        assert bare("[controller]\ntransmitter = true") == {}

    def test_an_unplanned_talker_is_not_told_of_its_transmitter(self) -> None:
        lines = '[[module]]\nid = "TG-02"\ntalks = true\ncontroller = { transmitter = true }'
        assert whom(lines, "transmitter-on-listener") == set()


class TestPins:
    @pytest.mark.parametrize(
        ("id", "pin", "setting", "check"),
        [
            ("TG-02", "rx_pin", "digital = false", "pin-not-digital"),
            ("TG-02", "rx_pin", 'direction = "out"', "pin-direction"),
            ("TG-02", "rx_pin", 'digital = true, direction = "in"', None),
            ("TG-02", "tx_pin", "digital = false", None),  # a listener
            ("TG-02", "tx_pin", 'direction = "in"', None),
            ("TG-01", "tx_pin", "digital = false", "pin-not-digital"),
            ("TG-01", "tx_pin", 'direction = "in"', "pin-direction"),
            ("TG-01", "tx_pin", 'digital = true, direction = "out"', None),
        ],
    )
    def test_pins_count_where_they_are_used(
        self, id: str, pin: str, setting: str, check: str | None
    ) -> None:
        talks = "transmitter = true, " if id == "TG-01" else ""
        lines = f'[[module]]\nid = "{id}"\ncontroller = {{ {talks}{pin} = {{ {setting} }} }}'
        assert fired(lines) == ({check: {id}} if check else {})

    def test_a_transmit_pin_that_is_given_up_on_purpose_is_free(self) -> None:
        lines = (
            '[[module]]\nid = "TG-01"\ncontroller = { transmitter = false, '
            'tx_pin = { direction = "in" } }'
        )
        assert whom(lines, "pin-direction") == set()

    def test_both_pins_of_a_talker_are_two_findings_with_their_places(self) -> None:
        lines = (
            '[[module]]\nid = "TG-01"\ncontroller = { transmitter = true, '
            'rx_pin = { direction = "out" }, tx_pin = { direction = "in" } }'
        )
        found = findings(lines, "pin-direction")
        assert [each.figures["pin"] for each in found] == ["rx", "tx"]
        assert {each.severity for each in found} == {FAULT}
        assert "data sheet" in found[0].remedy

    def test_a_board_that_only_talks_needs_no_receive_pin(self) -> None:
        lines = '[controller]\nrx_pin = {{ digital = false }}\n[traffic]\ntalkers = ["{}"]'
        assert whom(lines.format("TG-01"), "pin-not-digital") == LISTENERS
        assert whom(lines.format("logger"), "pin-not-digital") == EVERYONE

    def test_a_talker_that_is_sent_nothing_by_another_s_mistake_needs_its_receive_pin(self) -> None:
        lines = (
            '[traffic]\ntalkers = ["TG-01", "TG-02"]\n'
            '[[module]]\nid = "TG-01"\ncontroller = { rx_pin = { digital = false } }\n'
            '[[module]]\nid = "TG-02"\ndestination = "10.20.0.10"'
        )
        assert whom(lines, "intent-differs") == {"TG-02"}
        assert whom(lines, "pin-not-digital") == {"TG-01"}


def quoted(unit: str) -> st.SearchStrategy[str]:
    return st.integers(1, 10**6).map(lambda number: f'"{number} {unit}"')


KEYS: dict[str, dict[str, st.SearchStrategy[object]]] = {
    "serial": {
        "rate": st.integers(1, 20_000_000),
        "data_bits": st.integers(5, 9),
        "parity": st.sampled_from(['"none"', '"even"', '"mark"']),
        "stop_bits": st.sampled_from([1, 1.5, 2]),
    },
    "controller": {
        "clock": st.integers(1, 10**10).map(lambda hertz: f'"{hertz} Hz"'),
        "clock_multiplier": st.integers(1, 1000),
        "oversampling": st.sampled_from([4, 8, 16, 64]),
        "divisor": st.integers(0, 2**32) | st.sampled_from([0.5, 1.0625, 103.5]),
        "divisor_rule": st.sampled_from(['"n"', '"n+1"', '"fraction"']),
        "divisor_bits": st.integers(1, 32),
        "receive_buffer": st.integers(0, 10**6),
        "longest_gap": quoted("µs"),
        "clears_overrun": st.sampled_from(["true", "false"]),
        "receiver": st.sampled_from(["true", "false"]),
        "transmitter": st.sampled_from(["true", "false"]),
        "rx_pin": st.sampled_from(["{}", '{ direction = "out" }', "{ digital = false }"]),
        "tx_pin": st.sampled_from(["{}", '{ direction = "in" }', "{ digital = false }"]),
    },
    "traffic": {
        "talkers": st.sampled_from(["[]", '["all"]', '["TG-02"]', '["TG-99", "logger"]']),
        "message_bytes": st.integers(0, 10**6),
        "message_interval": quoted("ms"),
        "framing": st.sampled_from(['"fixed"', '"delimited"']),
        "destination": st.sampled_from(['"10.20.0.32"', '"10.20.0.255"', '"224.0.0.1"']),
    },
}


@st.composite
def plans(draw: st.DrawFn) -> str:
    """Give tables with some of the keys, whatever their values mean together."""
    lines: list[str] = []
    for table, keys in KEYS.items():
        lines.append(f"[{table}]")
        for key in draw(st.sets(st.sampled_from(sorted(keys)))):
            lines.append(f"{key} = {draw(keys[key])}")
    return "\n".join(lines)


class TestLaws:
    @settings(deadline=None, max_examples=150)
    @given(plans())
    def test_no_check_breaks_on_a_valid_plan(self, lines: str) -> None:
        ours = {id for id, check in CHECKS.items() if check.stage is Stage.SERIAL}
        assert set(bare(lines)) <= ours
        for module in audited(lines).modules:
            faults = [each for each in module.findings if each.severity is FAULT]
            blocked = module.stages[Stage.SERIAL] is State.BLOCKED
            assert blocked == any(each.check in ours for each in faults)

    @settings(deadline=None, max_examples=50)
    @given(st.integers(1, 10**5), st.integers(1, 10**4))
    def test_sending_less_often_never_loads_more(self, interval_ms: int, more_ms: int) -> None:
        shares = []
        for milliseconds in (interval_ms, interval_ms + more_ms):
            survey = survey_of(f'[traffic]\nmessage_interval = "{milliseconds} ms"')
            interval = survey.fleet.traffic.message_interval
            assert interval == timedelta(milliseconds=milliseconds)
            load = line_load(survey.modules[1], survey)
            assert load is not None
            shares.append(load.share)
        assert shares[0] > shares[1]


def test_a_talker_needs_its_transmitter_and_a_listener_does_not() -> None:
    off = "controller = { transmitter = false }"
    assert fired(f'[[module]]\nid = "TG-01"\n{off}') == {"transmitter-off": {"TG-01"}}
    assert fired(f'[[module]]\nid = "TG-02"\n{off}') == {}


@pytest.mark.parametrize(
    ("talkers", "talks", "fires"),
    [
        ("", "", False),
        ("talkers = ['TG-01']\n", "", True),
        ("", "talks = true\n", True),
        ("", "talks = false\n", False),
    ],
)
def test_a_transmitter_is_missed_only_where_somebody_says_that_the_module_talks(
    talkers: str, talks: str, fires: bool
) -> None:
    text = f"[traffic]\ndestination = '255.255.255.255'\n{talkers}[[module]]\nid = 'TG-01'\n"
    file = fleet_of_text(f"{text}{talks}controller.transmitter = false\n", "kit.toml", {})
    found = [finding.check for finding in audit(file, TODAY).findings]
    assert ("transmitter-off" in found) is fires
