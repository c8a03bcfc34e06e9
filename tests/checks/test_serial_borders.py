"""Serial: figures told to their last place, and remedies whose value stands just on a border."""

from typing import Any

import pytest

from tests.checks.kits import findings, fired
from tests.checks.profiles import found_in, with_profile
from tests.checks.test_serial import bare

TOO_FAST = '[serial]\nrate = 115200\n[controller]\nclock = "16 MHz"\noversampling = 16\ndivisor = 8'


def limited_to_255(clock_khz: str) -> str:
    """Return lines of a controller that divides its clock by 16 and by 255 at most."""
    return (
        f'[controller]\nclock = "{clock_khz} kHz"\noversampling = 16\n'
        'divisor_rule = "n"\ndivisor_bits = 8\n'
    )


class TestWayOut:
    CHECK = "controller-rate-error"

    @pytest.mark.parametrize(
        "able", [{"slowest": 57_600, "fastest": 57_600}, {"slowest": None, "fastest": 57_600}]
    )
    def test_a_module_may_be_set_to_its_slowest_and_its_fastest_rate(
        self, able: dict[str, Any]
    ) -> None:
        """57600 Bd from 16 MHz: n 34 with 8 samples (ATmega48/88/168 2545D, Table 84)."""
        (found, *_) = found_in(with_profile(TOO_FAST, serial_rates=(), **able), self.CHECK)
        assert found.remedy.startswith("Set both ends to 57600 Bd. Load 34 with 8 samples per bit")

    def test_a_module_of_one_rate_has_no_other_to_be_set_to(self) -> None:
        """115200 Bd from 16 MHz is +2.1 % at best (2545D, Table 84)."""
        file = with_profile(TOO_FAST, serial_rates=(), slowest=115_200, fastest=115_200)
        (found, *_) = found_in(file, self.CHECK)
        assert found.remedy == "Give the controller a clock that makes the rate."

    @pytest.mark.parametrize(
        ("rates", "nearest"), [((76_800, 200_000), 76_800), ((66_667, 166_667), 166_667)]
    )
    def test_the_nearest_rate_is_the_one_of_the_smallest_ratio(
        self, rates: tuple[int, int], nearest: int
    ) -> None:
        """By hand, to 115200: 1.50 and 1.74; 1.73 and 1.45. All are within 0.2 % of 16 MHz."""
        (found, *_) = found_in(with_profile(TOO_FAST, serial_rates=rates), self.CHECK)
        assert found.remedy.startswith(f"Set both ends to {nearest} Bd. Load ")

    # The fastest sender that 16 samples and 8 bits follow is 160/153 as fast (ATmega48A...328P
    # DS40002061A, Table 20-2: 104.58 %), and half of that tolerance is 156.5/153; the module is
    # 0.2 % slow; 255 is the highest divisor of 8 bits by the rule n. Clocks by arithmetic.
    @pytest.mark.parametrize(("clock_khz", "fits"), [("39983.872", True), ("39983.873", False)])
    def test_a_setting_that_uses_just_what_the_policy_permits(
        self, clock_khz: str, fits: bool
    ) -> None:
        lines = f"{limited_to_255(clock_khz)}divisor = 200"
        (found, *_) = findings(lines, self.CHECK)
        assert found.remedy.startswith("Load 255 with 16 samples per bit") is fits

    def test_all_that_is_tolerated_is_a_hundred_per_cent_of_it(self) -> None:
        """160/153 of 0.998 times 9600 Bd, by n + 1 = 153 (as above)."""
        lines = '[controller]\nclock = "24526.848 kHz"\noversampling = 16\ndivisor = 152'
        (found, *_) = findings(lines, self.CHECK)
        assert found.message.endswith("so 100 % of that is used.")
        assert found.figures["share_percent"] == 100.0

    def test_whole_figures_are_whole_numbers_and_others_keep_their_fraction(self) -> None:
        (found, *_) = findings(TOO_FAST, self.CHECK)
        whole = [found.figures[key] for key in ("clock_hz", "divisor")]
        assert [(type(each), each) for each in whole] == [(int, 16_000_000), (int, 8)]
        lines = (
            '[controller]\nprofile = "generic-32bit-fraction"\nclock = "8 MHz"\n'
            "oversampling = 16\ndivisor = 49.5"
        )
        (found, *_) = findings(lines, self.CHECK)
        assert found.figures["divisor"] == 49.5

    def test_a_module_at_another_rate_is_not_compared_with_the_divisor_besides(self) -> None:
        lines = '[controller]\ndivisor = 103\n[[module]]\nid = "TG-02"\nserial_rate = 19200'
        assert fired(lines) == {"serial-rate-differs": {"TG-02"}}


class TestOutOfReach:
    @pytest.mark.parametrize(("clock_khz", "fires"), [("40878.08", False), ("40878.081", True)])
    def test_a_rate_that_is_just_within_reach(self, clock_khz: str, fires: bool) -> None:
        """160/153 of 0.998 times 9600 Bd, by 16 times 255 (as above)."""
        lines = limited_to_255(clock_khz)
        assert bool(findings(lines, "rate-out-of-reach")) is fires
        (found, *_) = findings(f"{lines}divisor = 1.5", "divisor-not-loadable")
        assert found.remedy.startswith("Load a value that fits" if fires else "Load 255 with 16")


class TestSamplings:
    PLAN = (
        "[serial]\nrate = 9600\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
        "[controller]\nprofile = 'generic-32bit-fraction'\nclock = '8 MHz'\ndivisor = "
    )

    def test_what_one_of_two_samplings_can_load_is_loadable(self) -> None:
        """RM0090 rev 11, Table 133: 52.0625 with 16 samples; with 8 the steps are 1/8."""
        assert bare(f"{self.PLAN}52.0625") == {}

    def test_of_two_samplings_the_steps_of_the_finer_are_told(self) -> None:
        """RM0008 rev 12, section USART: a fraction in sixteenths with 16 samples."""
        (found,) = bare(f"{self.PLAN}52.07")["divisor-not-loadable"]
        assert found.figures["loadable"] == "it can be 1 to 4095.9375 in steps of 1/16"


class TestReads:
    def test_a_buffer_of_which_nobody_tells_is_not_judged(self) -> None:
        plan = (
            "[serial]\nrate = 9600\ndata_bits = 8\nparity = 'none'\nstop_bits = 1\n"
            "[traffic]\nintent = 'broadcast'\ntalkers = ['logger']\nmessage_bytes = 9\n"
            "[[network.host]]\nname = 'logger'\naddress = '10.20.0.10'\n"
            "[controller]\nlongest_gap = '1 s'\n"
        )
        assert bare(plan) == {}
        assert set(bare(f"{plan}receive_buffer = 8")) == {"reads-too-far-apart"}


class TestOverrun:
    def test_figures_have_one_place(self) -> None:
        """By hand: 48 bytes in 62.4 ms are 769.23 a second; 9600 Bd with 11 bits carry 872.73."""
        lines = '[traffic]\nmessage_interval = "62.4 ms"\n[serial]\nparity = "even"'
        (found, *_) = findings(lines, "serial-overrun")
        assert found.figures == {
            "talkers": 2,
            "bytes_per_s": 769.2,
            "capacity_bytes_per_s": 872.7,
            "share_percent": 88.1,
        }

    def test_a_line_at_another_rate_is_not_said_to_be_full_besides(self) -> None:
        """48 bytes in 300 ms are 160 a second; 1200 Bd carry 120 (Maxim AN2141, UART Timing)."""
        lines = '[traffic]\nmessage_interval = "300 ms"\n[[module]]\nid = "TG-02"\n'
        assert fired(f"{lines}serial_rate = 1200") == {"serial-rate-differs": {"TG-02"}}
        assert set(fired(f"{lines}[serial]\nrate = 1200")) == {"serial-overrun"}
