"""Serial rates against data sheets, reference manuals, and laws that hold for every clock."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import isclose
from typing import Any

import pytest
import serial  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from auditor.compute import uart
from auditor.compute.uart import DivisorRule, Quantity, RateSetting

PRINTED_TO_0_1 = Fraction(1, 20)  # half a unit of the last printed digit, in per cent
PRINTED_TO_0_01 = Fraction(1, 200)
CUT_OFF = Fraction(1, 100)

# Oscillator in Hz, wanted rate in Bd, samples per bit; loaded n, rate in Bd, printed error in %.
N_PLUS_ONE_TABLES = {
    "ATmega48/88/168 2545E, Table 17-9": [
        (1_000_000, 2400, 16, 25, 2403.8, 0.2),
        (1_000_000, 4800, 16, 12, 4807.7, 0.2),
        (1_000_000, 9600, 16, 6, 8928.6, -7.0),
        (1_000_000, 14400, 16, 3, 15625.0, 8.5),
        (1_000_000, 38400, 16, 1, 31250.0, -18.6),
        (1_000_000, 57600, 16, 0, 62500.0, 8.5),
        (1_000_000, 9600, 8, 12, 9615.4, 0.2),
        (1_000_000, 14400, 8, 8, 13888.9, -3.5),
        (1_000_000, 19200, 8, 6, 17857.1, -7.0),
        (1_000_000, 76800, 8, 1, 62500.0, -18.6),
        (1_000_000, 115200, 8, 0, 125000.0, 8.5),
        (1_843_200, 9600, 16, 11, 9600.0, 0.0),
        (1_843_200, 76800, 16, 1, 57600.0, -25.0),
        (1_843_200, 115200, 16, 0, 115200.0, 0.0),
        (1_843_200, 230400, 8, 0, 230400.0, 0.0),
        (2_000_000, 9600, 16, 12, 9615.4, 0.2),
        (2_000_000, 19200, 16, 6, 17857.1, -7.0),
        (2_000_000, 14400, 8, 16, 14705.9, 2.1),
        (2_000_000, 28800, 8, 8, 27777.8, -3.5),
        (2_000_000, 250000, 8, 0, 250000.0, 0.0),
    ],
    "ATmega8(L) 2486M, Table 61": [
        (4_000_000, 9600, 16, 25, 9615.4, 0.2),
        (4_000_000, 38400, 16, 6, 35714.3, -7.0),
        (4_000_000, 38400, 8, 12, 38461.5, 0.2),
        (4_000_000, 57600, 8, 8, 55555.6, -3.5),
    ],
    "ATmega48/88/168 2545D, Table 83": [
        (8_000_000, 2400, 16, 207, 2403.8, 0.2),
        (8_000_000, 9600, 16, 51, 9615.4, 0.2),
        (8_000_000, 14400, 16, 34, 14285.7, -0.8),
        (8_000_000, 19200, 16, 25, 19230.8, 0.2),
        (8_000_000, 28800, 16, 16, 29411.8, 2.1),
        (8_000_000, 38400, 16, 12, 38461.5, 0.2),
        (8_000_000, 57600, 16, 8, 55555.6, -3.5),
        (8_000_000, 76800, 16, 6, 71428.6, -7.0),
        (8_000_000, 115200, 16, 3, 125000.0, 8.5),
        (8_000_000, 230400, 16, 1, 250000.0, 8.5),
        (8_000_000, 250000, 16, 1, 250000.0, 0.0),
        (8_000_000, 500000, 16, 0, 500000.0, 0.0),
        (8_000_000, 2400, 8, 416, 2398.1, -0.1),
        (8_000_000, 14400, 8, 68, 14492.8, 0.6),
        (8_000_000, 57600, 8, 16, 58823.5, 2.1),
        (8_000_000, 115200, 8, 8, 111111.1, -3.5),
        (8_000_000, 230400, 8, 3, 250000.0, 8.5),
        (8_000_000, 1000000, 8, 0, 1000000.0, 0.0),
        (11_059_200, 115200, 16, 5, 115200.0, 0.0),
        (11_059_200, 250000, 16, 2, 230400.0, -7.8),
        (11_059_200, 230400, 8, 5, 230400.0, 0.0),
        (11_059_200, 500000, 8, 2, 460800.0, -7.8),
        (14_745_600, 115200, 16, 7, 115200.0, 0.0),
        (14_745_600, 250000, 16, 3, 230400.0, -7.8),
        (14_745_600, 250000, 8, 6, 263314.3, 5.3),
        (14_745_600, 1000000, 16, 0, 921600.0, -7.8),
    ],
    "ATmega48/88/168 2545D, Table 84": [
        (16_000_000, 2400, 16, 416, 2398.1, -0.1),
        (16_000_000, 9600, 16, 103, 9615.4, 0.2),
        (16_000_000, 14400, 16, 68, 14492.8, 0.6),
        (16_000_000, 57600, 16, 16, 58823.5, 2.1),
        (16_000_000, 115200, 16, 8, 111111.1, -3.5),
        (16_000_000, 230400, 16, 3, 250000.0, 8.5),
        (16_000_000, 1000000, 16, 0, 1000000.0, 0.0),
        (16_000_000, 2400, 8, 832, 2401.0, 0.0),
        (16_000_000, 14400, 8, 138, 14388.5, -0.1),
        (16_000_000, 57600, 8, 34, 57142.9, -0.8),
        (16_000_000, 115200, 8, 16, 117647.1, 2.1),
        (16_000_000, 230400, 8, 8, 222222.2, -3.5),
        (18_432_000, 9600, 16, 119, 9600.0, 0.0),
        (18_432_000, 115200, 16, 9, 115200.0, 0.0),
        (18_432_000, 250000, 16, 4, 230400.0, -7.8),
        (18_432_000, 250000, 8, 8, 256000.0, 2.4),
        (20_000_000, 9600, 16, 129, 9615.4, 0.2),
        (20_000_000, 14400, 16, 86, 14367.8, -0.2),
        (20_000_000, 28800, 16, 42, 29069.8, 0.9),
        (20_000_000, 38400, 16, 32, 37878.8, -1.4),
        (20_000_000, 76800, 16, 15, 78125.0, 1.7),
        (20_000_000, 115200, 16, 10, 113636.4, -1.4),
        (20_000_000, 230400, 16, 4, 250000.0, 8.5),
        (20_000_000, 38400, 8, 64, 38461.5, 0.2),
        (20_000_000, 115200, 8, 21, 113636.4, -1.4),
        (20_000_000, 500000, 8, 4, 500000.0, 0.0),
    ],
}

# Oscillator in Hz, samples per bit, rate in Bd at n = 0.
HIGHEST_RATES = {
    "ATmega48/88/168 2545E, Table 17-9": [
        (1_000_000, 16, 62500),
        (1_000_000, 8, 125000),
        (1_843_200, 16, 115200),
    ],
    "ATmega48/88/168 2545D, Table 83": [
        (8_000_000, 16, 500000),
        (8_000_000, 8, 1000000),
    ],
    "ATmega48/88/168 2545D, Table 84": [
        (16_000_000, 16, 1000000),
        (16_000_000, 8, 2000000),
        (18_432_000, 16, 1152000),
        (20_000_000, 16, 1250000),
        (20_000_000, 8, 2500000),
    ],
}

# From 1.8432 MHz: wanted rate in Bd; loaded N, rate in Bd; error in % (the sign is ours).
N_TABLES = {
    "TL16C550C SLLS177I, Table 7-9 (same in TL16C750E SLLSF10)": [
        (50, 2304, 50.000, "+0"),
        (110, 1047, 110.029, "+0.026"),
        (134.5, 857, 134.422, "-0.058"),
        (150, 768, 150.000, "+0"),
        (2000, 58, 1986.207, "-0.69"),
        (9600, 12, 9600.000, "+0"),
        (19200, 6, 19200.000, "+0"),
        (38400, 3, 38400.000, "+0"),
        (56000, 2, 57600.000, "+2.86"),
    ],
}

# Oscillator in Hz, wanted rate in Bd, samples per bit; divisor, rate in Bd; printed error in %
# (RM0090, RM0390: the sign is ours).
FRACTION_TABLES = {
    "RM0008 (STM32F10x) rev 12, Table 191 / rev 15, Table 192": [
        (36_000_000, 2400, 16, 937.5, 2400.0, "+0"),
        (36_000_000, 9600, 16, 234.375, 9600.0, "+0"),
        (36_000_000, 57600, 16, 39.0625, 57600.0, "+0"),
        (36_000_000, 230400, 16, 9.75, 230769.2, "+0.16"),
        (36_000_000, 921600, 16, 2.4375, 923076.9, "+0.16"),
        (36_000_000, 2250000, 16, 1, 2250000.0, "+0"),
        (72_000_000, 115200, 16, 39.0625, 115200.0, "+0"),
        (72_000_000, 4500000, 16, 1, 4500000.0, "+0"),
    ],
    "RM0090 (STM32F4) rev 11, Tables 133-135; RM0390 rev 4, Tables 148-152": [
        (8_000_000, 9600, 16, 52.0625, 9603.8, "+0.04"),
        (8_000_000, 19200, 16, 26.0625, 19184.7, "-0.08"),
        (8_000_000, 115200, 16, 4.3125, 115942.0, "+0.64"),
        (8_000_000, 230400, 16, 2.1875, 228571.4, "-0.79"),
        (8_000_000, 460800, 16, 1.0625, 470588.2, "+2.12"),
        (12_000_000, 115200, 16, 6.5, 115384.6, "+0.16"),
        (16_000_000, 115200, 16, 8.6875, 115107.9, "-0.08"),
        (8_000_000, 115200, 8, 8.625, 115942.0, "+0.64"),
        (8_000_000, 921600, 8, 1.125, 888888.9, "-3.55"),
        (16_000_000, 115200, 8, 17.375, 115107.9, "-0.08"),
    ],
}

# Data and parity bits, samples per bit; slowest, fastest in %; printed total +, -; recommended +-
# per end, all in %. The totals for 8 bits at 16 samples are printed +4.58/-4.54 in every edition;
# 95.36 - 100 is -4.64.
AVR_RECEIVER_RANGES = [  # formula ATmega640...2561 2549A, p. 220
    # ATmega48A...328P DS40002061A, Table 20-2
    (5, 16, "93.20", "106.67", "6.67", "6.80", 3.0),
    (6, 16, "94.12", "105.79", "5.79", "5.88", 2.5),
    (7, 16, "94.81", "105.11", "5.11", "5.19", 2.0),
    (8, 16, "95.36", "104.58", "4.58", "4.64", 2.0),
    (9, 16, "95.81", "104.14", "4.14", "4.19", 1.5),
    (10, 16, "96.17", "103.78", "3.78", "3.83", 1.5),
    # ATmega48A...328P DS40002061A, Table 20-3
    (5, 8, "94.12", "105.66", "5.66", "5.88", 2.5),
    (6, 8, "94.92", "104.92", "4.92", "5.08", 2.0),
    (7, 8, "95.52", "104.35", "4.35", "4.48", 1.5),
    (8, 8, "96.00", "103.90", "3.90", "4.00", 1.5),
    (9, 8, "96.39", "103.53", "3.53", "3.61", 1.5),
    (10, 8, "96.70", "103.23", "3.23", "3.30", 1.0),
]


def flat(tables: Mapping[str, Sequence[tuple[object, ...]]]) -> list[Any]:
    """Gives every row of the tables as a test case that is named for its source."""
    return [
        pytest.param(*row, id=f"{source}: {' '.join(map(str, row))}")
        for source, rows in tables.items()
        for row in rows
    ]


def assert_printed(exact: Fraction, printed: object, slack: Fraction) -> None:
    """Asserts that a value, in per cent, rounds to what is printed."""
    assert abs(exact * 100 - Fraction(str(printed))) <= slack


class TestPublishedTables:
    @pytest.mark.parametrize(
        ("clock_hz", "rate", "samples", "n", "actual", "error_percent"), flat(N_PLUS_ONE_TABLES)
    )
    def test_n_plus_one(
        self,
        clock_hz: int,
        rate: int,
        samples: int,
        n: int,
        actual: float,
        error_percent: float,
    ) -> None:
        setting = uart.best_divisor(clock_hz, rate, samples)
        assert (setting.samples_per_bit, setting.divisor) == (samples, Fraction(n))
        assert float(setting.actual_rate) == pytest.approx(actual, abs=0.051)
        assert_printed(setting.error, error_percent, PRINTED_TO_0_1)
        assert setting.actual_rate == uart.actual_rate(clock_hz, samples, n)

    @pytest.mark.parametrize(("clock_hz", "samples", "rate"), flat(HIGHEST_RATES))
    def test_highest_rate(self, clock_hz: int, samples: int, rate: int) -> None:
        assert uart.highest_rate(clock_hz, samples) == rate

    @pytest.mark.parametrize(("rate", "n", "actual", "error_percent"), flat(N_TABLES))
    def test_n(self, rate: float, n: int, actual: float, error_percent: str) -> None:
        setting = uart.best_divisor(1_843_200, rate, 16, DivisorRule.N, divisor_bits=16)
        assert setting.divisor == n
        assert float(setting.actual_rate) == pytest.approx(actual, abs=0.00051)
        assert_printed(setting.error, error_percent, PRINTED_TO_0_01)

    @pytest.mark.parametrize(
        ("clock_hz", "rate", "samples", "divisor", "actual", "error_percent"), flat(FRACTION_TABLES)
    )
    def test_fraction(
        self,
        clock_hz: int,
        rate: int,
        samples: int,
        divisor: float,
        actual: float,
        error_percent: str,
    ) -> None:
        setting = uart.best_divisor(clock_hz, rate, samples, DivisorRule.FRACTION, divisor_bits=12)
        assert setting.divisor == Fraction(divisor)
        assert float(setting.actual_rate) == pytest.approx(actual, abs=0.051)
        assert_printed(setting.error, error_percent, PRINTED_TO_0_01)

    def test_a_published_fraction_that_is_not_quite_the_best(self) -> None:
        """RM0008 rev 12, Table 191: 36 MHz, 115200 Bd: 19.5, +0.16 % (printed 0.15).

        The quotient is 19.53125, halfway between two steps; 19.5625 is -0.1597 % (arithmetic).
        """
        published = uart.actual_rate(36_000_000, 16, 19.5, DivisorRule.FRACTION)
        assert float(published) == pytest.approx(115_384.6, abs=0.051)
        assert_printed(uart.rate_error(published, 115_200), "0.16", PRINTED_TO_0_01)
        best = uart.best_divisor(36_000_000, 115_200, 16, DivisorRule.FRACTION)
        assert best.divisor == Fraction("19.5625")
        assert abs(best.error) < uart.rate_error(published, 115_200)

    def test_a_fraction_carries_into_the_whole_part(self) -> None:
        """RM0008 rev 12, section USART, example 3: 50.99 becomes 51.000."""
        clock_hz = Fraction("50.99") * 16 * 9600
        setting = uart.best_divisor(clock_hz, 9600, 16, DivisorRule.FRACTION)
        assert setting.divisor == 51

    @pytest.mark.parametrize(
        ("clock_hz", "rate", "divisor"),
        [(8_000_000, 9600, 833), (48_000_000, 921_600, 52)],  # RM0440 rev 4, 37.5.7, examples 1, 2
    )
    def test_a_clock_divided_without_oversampling(
        self, clock_hz: int, rate: int, divisor: int
    ) -> None:
        assert uart.best_divisor(clock_hz, rate, 1, DivisorRule.N).divisor == divisor

    def test_a_fractional_divider_before_the_clock_is_a_multiplier(self) -> None:
        """UM10360, 14.4.12: f / (16 N (1 + a/m)); N 4 and a/m 5/8 from memory, unverified."""
        setting = uart.best_divisor(12_000_000, 115_200, 16, DivisorRule.N, Fraction(8, 13))
        assert setting.divisor == 4
        assert float(setting.actual_rate) == pytest.approx(115_384.6, abs=0.051)
        assert_printed(setting.error, "0.16", PRINTED_TO_0_01)

    def test_sixty_fourths_are_the_steps_of_a_clock_four_times_as_fast(self) -> None:
        """TL16C750E SLLSF10, fractional divisors: 24 MHz, 57600 Bd: 26 3/64, -0.02 %."""
        setting = uart.best_divisor(24_000_000, 57_600, 64, DivisorRule.FRACTION, 4)
        assert setting.divisor == 26 + Fraction(3, 64)
        assert float(setting.actual_rate) == pytest.approx(57_588.5, abs=0.051)
        assert_printed(setting.error, "-0.02", PRINTED_TO_0_01)


# Oscillator in Hz, wanted rate in Bd; n, half the samples needed at 2 %, still over 2 % even so.
# avr-libc 2.0.0, util/setbaud.h (default tolerance 2 %) as evaluated by the C preprocessor.
SETBAUD = [
    (4_000_000, 9600, 25, False, False),
    (4_000_000, 38_400, 12, True, False),
    (8_000_000, 9600, 51, False, False),
    (16_000_000, 57_600, 34, True, False),
    (16_000_000, 115_200, 16, True, True),
    (8_000_000, 115_200, 8, True, True),
    (20_000_000, 115_200, 10, False, False),
    (1_000_000, 9600, 12, True, False),
    (18_432_000, 115_200, 9, False, False),
]


class TestPublishedHeader:
    @pytest.mark.parametrize(("clock_hz", "rate", "n", "needs_half", "_warns"), SETBAUD)
    def test_half_the_samples_where_the_full_ones_miss(
        self, clock_hz: int, rate: int, n: int, needs_half: bool, _warns: bool
    ) -> None:
        full, half = uart.settings(clock_hz, rate, (16, 8))
        assert (abs(full.error) > Fraction("0.02")) is needs_half
        assert (half if needs_half else full).divisor == n

    @pytest.mark.parametrize(("clock_hz", "rate", "_n", "_needs_half", "warns"), SETBAUD)
    def test_a_rate_the_header_warns_of_is_not_reachable(
        self, clock_hz: int, rate: int, _n: int, _needs_half: bool, warns: bool
    ) -> None:
        reachable = dict(uart.reachable_rates(clock_hz, (16, 8), 0.02))
        assert (rate not in reachable) is warns


class TestBestSetting:
    def test_rounding_the_quotient_is_not_enough(self) -> None:
        """1 MHz, 45000 Bd: quotient 1.389; rounded, n 0, +38.9 %; n 1 is -30.6 % (arithmetic)."""
        setting = uart.best_divisor(1_000_000, 45_000, 16)
        assert setting.divisor == 1
        assert_printed(setting.error, "-30.6", PRINTED_TO_0_1)

    def test_one_setting_for_each_oversampling(self) -> None:
        """ATmega48/88/168 2545D, Table 83: 8 MHz, 115200 Bd: n 3, +8.5 %; n 8, -3.5 %."""
        found = uart.settings(8_000_000, 115_200, (16, 8))
        assert [s.samples_per_bit for s in found] == [16, 8]
        assert [s.divisor for s in found] == [3, 8]
        assert uart.best_setting(8_000_000, 115_200, (16, 8)) == found[1]

    def test_an_oversampling_out_of_reach_is_left_out(self) -> None:
        """ATmega48/88/168 2545D, Table 83: 8 MHz makes 1 MBd with 8 samples only."""
        (only,) = uart.settings(8_000_000, 1_000_000, (16, 8))
        assert only == RateSetting(8, Fraction(0), Fraction(1_000_000), Fraction(0))

    @pytest.mark.parametrize("oversamplings", [(16, 8), (8, 16)])
    def test_equal_errors_go_to_more_samples(self, oversamplings: tuple[int, ...]) -> None:
        coarse, fine = sorted(
            uart.settings(8_000_000, 9600, oversamplings), key=lambda s: s.samples_per_bit
        )
        assert coarse.error == fine.error  # n 103 and n 51, 2545D, Table 83: +0.2 % both
        assert uart.best_setting(8_000_000, 9600, oversamplings) == fine

    def test_equal_errors_go_to_the_faster_rate(self) -> None:
        """At 3/4 of the highest rate n 0 is a third above and n 1 a third below (arithmetic)."""
        setting = uart.best_divisor(16_000_000, 750_000, 16)
        assert (setting.divisor, setting.error) == (Fraction(0), Fraction(1, 3))

    @pytest.mark.parametrize(
        ("rule", "bits", "largest"),
        [
            (DivisorRule.N_PLUS_ONE, 8, Fraction(255)),
            (DivisorRule.N, 8, Fraction(255)),
            (DivisorRule.FRACTION, 8, 256 - Fraction(1, 16)),
        ],
    )
    def test_a_slow_rate_gets_the_largest_divisor(
        self, rule: DivisorRule, bits: int, largest: Fraction
    ) -> None:
        """2400 Bd from 16 MHz needs n 416 (ATmega48/88/168 2545D, Table 84): over 8 bits."""
        setting = uart.best_divisor(16_000_000, 2400, 16, rule, divisor_bits=bits)
        assert setting.divisor == largest
        assert setting.error > Fraction("0.6")

    def test_a_multiplied_clock_is_a_faster_clock(self) -> None:
        slow = uart.best_divisor(4_000_000, 38_400, 16, multiplier=4)
        assert slow == uart.best_divisor(16_000_000, 38_400, 16)
        assert uart.highest_rate(4_000_000, 16, multiplier=4) == 1_000_000  # 2545D, Table 84

    @pytest.mark.parametrize("rule", DivisorRule)
    def test_a_rate_is_in_reach_up_to_three_halves_of_the_highest(self, rule: DivisorRule) -> None:
        setting = uart.best_divisor(8_000_000, 750_000, 16, rule)
        assert (setting.divisor, setting.error) == (Fraction(rule.least_divisor), Fraction(-1, 3))
        with pytest.raises(ValueError, match=r"^rate is 750001 Bd; .* 750000 Bd, .* 500000 Bd$"):
            uart.best_divisor(8_000_000, 750_001, 16, rule)

    def test_a_rate_out_of_reach_of_all_names_the_highest_of_all(self) -> None:
        with pytest.raises(ValueError, match=r"^rate is 2000000 Bd; .* 1500000 Bd, .* 1000000 Bd$"):
            uart.settings(8_000_000, 2_000_000, (16, 8))


class TestReachableRates:
    def test_8_mhz_at_two_per_cent(self) -> None:
        """The rates that ATmega48/88/168 2545D, Table 83, prints with at most 2.0 %, and not."""
        reachable = dict(uart.reachable_rates(8_000_000, (16, 8), 0.02))
        assert {2400, 9600, 14_400, 19_200, 38_400, 250_000, 500_000, 1_000_000} <= set(reachable)
        assert {57_600, 115_200, 230_400}.isdisjoint(reachable)
        assert reachable[38_400] == uart.best_divisor(8_000_000, 38_400, 16)

    def test_a_rate_just_at_the_tolerance_is_reachable(self) -> None:
        error = abs(uart.best_divisor(8_000_000, 57_600, 8).error)
        assert uart.reachable_rates(8_000_000, (8,), error, rates=[57_600])
        assert not uart.reachable_rates(8_000_000, (8,), error * Fraction("0.999"), rates=[57_600])

    def test_narrow_divisors_lose_the_slow_rates(self) -> None:
        """16 MHz, 2400 Bd needs n 416 (ATmega48/88/168 2545D, Table 84)."""
        assert not uart.reachable_rates(16_000_000, (16,), 0.02, divisor_bits=8, rates=[2400])
        assert uart.reachable_rates(16_000_000, (16,), 0.02, divisor_bits=9, rates=[2400])

    def test_the_rule_and_the_multiplier_count(self) -> None:
        """36 MHz, 921600 Bd: d 2.4375, 0.16 % (RM0008 rev 12, Table 191); whole: +22 % or -19 %."""
        found = uart.reachable_rates(
            9_000_000, (16,), 0.01, DivisorRule.FRACTION, 4, rates=[921_600]
        )
        assert [(rate, setting.divisor) for rate, setting in found] == [(921_600, Fraction(39, 16))]
        assert not uart.reachable_rates(9_000_000, (16,), 0.01, DivisorRule.N, 4, rates=[921_600])


class TestStandardRates:
    def test_they_are_pyserials_and_the_data_sheets(self) -> None:
        """pyserial 3.5, SerialBase.BAUDRATES, an outside list equal to the terminal constants."""
        others = set(uart.STANDARD_RATES) - set(serial.SerialBase.BAUDRATES)
        assert set(serial.SerialBase.BAUDRATES) < set(uart.STANDARD_RATES)
        # ATmega48/88/168 2545D, Tables 83, 84; 2545E, Table 17-9; 128000 from memory, unverified.
        assert others == {14_400, 28_800, 31_250, 76_800, 128_000, 250_000, 256_000}

    def test_they_ascend_without_a_double(self) -> None:
        assert list(uart.STANDARD_RATES) == sorted(set(uart.STANDARD_RATES))


class TestReceiverRange:
    @pytest.mark.parametrize(
        ("bits", "samples", "slowest", "fastest", "above", "below", "per_end"), AVR_RECEIVER_RANGES
    )
    def test_printed_ranges(
        self,
        bits: int,
        samples: int,
        slowest: str,
        fastest: str,
        above: str,
        below: str,
        per_end: float,
    ) -> None:
        found = uart.receiver_range(bits, samples)
        assert_printed(found[0], slowest, PRINTED_TO_0_01)
        assert_printed(found[1], fastest, PRINTED_TO_0_01)
        assert_printed(found[1] - 1, above, PRINTED_TO_0_01)
        assert_printed(1 - found[0], below, PRINTED_TO_0_01)
        # The recommendation presumes that both ends share the total equally (same section).
        assert 2 * per_end <= 100 * min(found[1] - 1, 1 - found[0])

    @pytest.mark.parametrize(
        ("bits", "slowest", "fastest"),
        [(5, "94.12", "107.69"), (8, "96.00", "105.26"), (10, "96.70", "104.35")],
    )
    def test_another_receiver_that_votes_earlier(
        self, bits: int, slowest: str, fastest: str
    ) -> None:
        """SERCOM USART, Asynchronous Operational Range, Table 34-3: 16(D+1)/(16(D+1)+6) and
        16(D+2)/(16(D+1)+8), which is a vote about the eighth sample.
        """
        found = uart.receiver_range(bits, 16, first_sample=7, middle_sample=8)
        assert_printed(found[0], slowest, PRINTED_TO_0_01)
        assert_printed(found[1], fastest, PRINTED_TO_0_01)

    # Frame bits; 16 samples, vote of three; 16, one; 8, three; 8, one, in %, mostly cut off.
    # RM0351 rev 3, Table 194, whole divisors (first two columns also RM0091, Table 86).
    @pytest.mark.parametrize(
        ("bits", "printed"),
        [
            (10, ["3.75", "4.375", "2.50", "3.75"]),
            (11, ["3.41", "3.97", "2.27", "3.41"]),
            (9, ["4.16", "4.86", "2.77", "4.16"]),
        ],
    )
    def test_tolerated_deviation(self, bits: int, printed: list[str]) -> None:
        receivers = [(16, 3), (16, 1), (8, 3), (8, 1)]
        for (samples, voted), percent in zip(receivers, printed, strict=True):
            assert_printed(uart.tolerated_deviation(bits, samples, voted), percent, CUT_OFF)

    def test_one_sample_at_the_eighth_of_sixteen_clocks(self) -> None:
        """H8S/2138 hardware manual, technical Q&A, receive margins: -7/160 = -4.375 %."""
        assert uart.tolerated_deviation(10, 16, 1) == Fraction(7, 160)

    def test_half_a_bit_over_a_frame_is_the_outer_bound(self) -> None:
        """+-5 % over 10 bits: common practice, no source."""
        assert uart.tolerated_deviation(10, 16, 1) < Fraction(1, 20)
        assert uart.tolerated_deviation(10, 10**6, 1) == pytest.approx(0.05, abs=1e-6)

    def test_a_normal_link_is_within_the_tolerance_and_a_difficult_one_within_that(self) -> None:
        """Maxim AN2141: of 152 clocks to the last sample (8N1, 16 per bit) a normal link may lose
        +-5 (printed +-3.3 %), a difficult one +-3 (printed +-2 %).
        """
        frame = uart.frame_bits(8, False, 1)
        clocks = (frame - Fraction(1, 2)) * 16
        assert clocks == 152
        slowest, fastest = uart.receiver_range(8, 16)
        assert 3 / clocks < 5 / clocks < uart.tolerated_deviation(frame, 16)
        assert 5 / clocks < min(fastest - 1, 1 - slowest)


class TestMismatch:
    def test_two_resonators(self) -> None:
        """Maxim AN2141: +-0.5 % accuracy and +-0.5 % drift at each end are 2 % together."""
        assert_printed(uart.mismatch(101, 99), "2.0", PRINTED_TO_0_1)

    def test_two_ends_that_are_each_nearly_fine_fail_together(self) -> None:
        """-3.5 % at one end and +2.1 % at the other (ATmega48/88/168 2545D, Table 84, 115200 Bd
        from 16 MHz): the ratio 0.9444 is under the 0.9600 of DS40002061A, Table 20-3.
        """
        sender = uart.best_divisor(16_000_000, 115_200, 16).actual_rate
        receiver = uart.best_divisor(16_000_000, 115_200, 8).actual_rate
        found = uart.mismatch(sender, receiver)
        assert 1 + found == Fraction(17, 18)
        assert uart.mismatch_share(found, 8, 8) > 1
        assert uart.mismatch_share(uart.mismatch(sender, 115_200), 8, 8) < 1

    @pytest.mark.parametrize(("bits", "samples"), [(row[0], row[1]) for row in AVR_RECEIVER_RANGES])
    def test_each_direction_is_measured_by_its_own_limit(self, bits: int, samples: int) -> None:
        slowest, fastest = uart.receiver_range(bits, samples)
        assert uart.mismatch_share(slowest - 1, bits, samples) == 1
        assert uart.mismatch_share(fastest - 1, bits, samples) == 1
        assert uart.mismatch_share((fastest - 1) / 4, bits, samples) == Fraction(1, 4)
        assert uart.mismatch_share(0, bits, samples) == 0


# Rate in Bd, data bits, parity, stop bits; frame in bits, time per byte in us, bytes per second.
# Asynchronous frame, Maxim AN2141, UART Timing; the times by arithmetic.
FRAMES = [
    (9600, 8, False, 1, 10, 1041.67, 960.00),
    (19_200, 8, False, 1, 10, 520.83, 1920.00),
    (57_600, 8, False, 1, 10, 173.61, 5760.00),
    (115_200, 8, False, 1, 10, 86.81, 11_520.00),
    (9600, 8, True, 1, 11, 1145.83, 872.73),
    (9600, 8, False, 2, 11, 1145.83, 872.73),
    (9600, 7, True, 1, 10, 1041.67, 960.00),
    (1200, 8, False, 1, 10, 8333.33, 120.00),
]


class TestTime:
    @pytest.mark.parametrize(
        ("rate", "data", "parity", "stop", "bits", "byte_us", "per_second"), FRAMES
    )
    def test_frames(
        self,
        rate: int,
        data: int,
        parity: bool,
        stop: int,
        bits: int,
        byte_us: float,
        per_second: float,
    ) -> None:
        assert uart.frame_bits(data, parity, stop) == bits
        assert uart.byte_time_s(rate, bits) * 1e6 == pytest.approx(byte_us, abs=0.0051)
        assert uart.bytes_per_second(rate, bits) == pytest.approx(per_second, abs=0.0051)

    def test_one_and_a_half_stop_bits(self) -> None:
        """5 data bits with 1.5 stop bits: 7.5 bits (common practice, no source)."""
        assert uart.frame_bits(5, False, 1.5) == Fraction(15, 2)

    def test_longest_gap(self) -> None:
        """64 bytes at 9600 Bd, 10 bits each: 64 x 1041.67 us (arithmetic)."""
        assert uart.longest_gap_s(64, 9600, 10) == pytest.approx(0.0666667, abs=1e-7)


clocks = st.integers(100_000, 50_000_000)
samples_per_bit = st.sampled_from([4, 8, 16, 64])
rules = st.sampled_from(DivisorRule)
bit_counts = st.integers(5, 10)


class TestLaws:
    @hypothesis_settings(deadline=None)
    @given(clocks, samples_per_bit, rules, st.integers(1, 6), st.floats(0.001, 1.5))
    def test_no_other_divisor_beats_the_one_found(
        self, clock_hz: int, samples: int, rule: DivisorRule, bits: int, share: float
    ) -> None:
        rate = uart.highest_rate(clock_hz, samples, rule) * Fraction(share)
        found = uart.best_divisor(clock_hz, rate, samples, rule, divisor_bits=bits)
        steps = samples if rule is DivisorRule.FRACTION else 1
        all_loadable = range(rule.least_divisor * steps, 2**bits * steps)
        errors = {
            Fraction(k, steps): abs(
                uart.actual_rate(clock_hz, samples, Fraction(k, steps), rule) / rate - 1
            )
            for k in all_loadable
        }
        assert abs(found.error) == min(errors.values()) == errors[found.divisor]

    @given(clocks, samples_per_bit, rules, st.floats(1e-6, 1.5))
    def test_no_rate_in_reach_is_more_than_one_third_off(
        self, clock_hz: int, samples: int, rule: DivisorRule, share: float
    ) -> None:
        rate = uart.highest_rate(clock_hz, samples, rule) * Fraction(share)
        assert abs(uart.best_divisor(clock_hz, rate, samples, rule).error) <= Fraction(1, 3)

    @given(clocks, samples_per_bit, rules, st.floats(0.001, 1.5))
    def test_a_setting_describes_itself(
        self, clock_hz: int, samples: int, rule: DivisorRule, share: float
    ) -> None:
        rate = uart.highest_rate(clock_hz, samples, rule) * Fraction(share)
        found = uart.best_divisor(clock_hz, rate, samples, rule)
        assert found.actual_rate == uart.actual_rate(clock_hz, samples, found.divisor, rule)
        assert found.error == uart.rate_error(found.actual_rate, rate)

    @hypothesis_settings(deadline=None)
    @given(clocks, rules, st.floats(0, 0.5), st.floats(0, 0.5))
    def test_a_wider_tolerance_never_loses_a_rate(
        self, clock_hz: int, rule: DivisorRule, one: float, other: float
    ) -> None:
        narrow, wide = sorted((one, other))
        kept = dict(uart.reachable_rates(clock_hz, (16, 8), narrow, rule))
        assert kept.items() <= dict(uart.reachable_rates(clock_hz, (16, 8), wide, rule)).items()

    @given(st.integers(5, 8), st.booleans(), st.sampled_from([1, 1.5, 2]))
    def test_a_frame_never_shortens_when_a_bit_is_added(
        self, data: int, parity: bool, stop: float
    ) -> None:
        bits = uart.frame_bits(data, parity, stop)
        assert uart.frame_bits(data + 1, parity, stop) == bits + 1
        assert uart.frame_bits(data, True, stop) >= bits
        assert uart.frame_bits(data, parity, 2) >= bits

    @given(bit_counts, samples_per_bit)
    def test_a_longer_frame_tolerates_less(self, bits: int, samples: int) -> None:
        slowest, fastest = uart.receiver_range(bits, samples)
        slower, faster = uart.receiver_range(bits + 1, samples)
        assert slowest < slower < 1 < faster < fastest
        assert uart.tolerated_deviation(bits + 1, 16) < uart.tolerated_deviation(bits, 16)

    @given(st.integers(1, 4_000_000), st.integers(7, 12))
    def test_time_and_throughput_are_inverse(self, rate: int, bits: int) -> None:
        assert isclose(uart.byte_time_s(rate, bits) * uart.bytes_per_second(rate, bits), 1)


class TestRefusals:
    @pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf")])
    @pytest.mark.parametrize("quantity", ["clock_hz", "rate", "multiplier"])
    def test_what_must_be_above_zero(self, quantity: str, value: float) -> None:
        given_: dict[str, Quantity] = {"clock_hz": 1, "rate": 1, "multiplier": 1, quantity: value}
        with pytest.raises(ValueError, match=f"^{quantity} is {value}; it must be above 0"):
            uart.best_divisor(
                given_["clock_hz"], given_["rate"], 16, multiplier=given_["multiplier"]
            )

    @pytest.mark.parametrize(
        ("rule", "divisor", "limit"),
        [
            (DivisorRule.N_PLUS_ONE, -1, "a multiple of 1, at least 0"),
            (DivisorRule.N_PLUS_ONE, 2.5, "a multiple of 1, at least 0"),
            (DivisorRule.N, 0, "a multiple of 1, at least 1"),
            (DivisorRule.FRACTION, 0.9375, "a multiple of 1/16, at least 1"),
            (DivisorRule.FRACTION, 4.3, "a multiple of 1/16, at least 1"),
            (DivisorRule.N, float("nan"), "a multiple of 1, at least 1"),
            (DivisorRule.N, float("inf"), "a multiple of 1, at least 1"),
        ],
    )
    def test_divisors_that_cannot_be_loaded(
        self, rule: DivisorRule, divisor: float, limit: str
    ) -> None:
        with pytest.raises(ValueError, match=f"^divisor is {divisor}; it must be {limit}$"):
            uart.actual_rate(1_000_000, 16, divisor, rule)

    def test_samples_divisor_bits_and_tolerance(self) -> None:
        with pytest.raises(ValueError, match=r"^samples_per_bit is 0; it must be at least 1$"):
            uart.actual_rate(1_000_000, 0, 1)
        with pytest.raises(ValueError, match=r"^samples_per_bit is 0; it must be at least 1$"):
            uart.settings(1_000_000, 9600, (16, 0))
        with pytest.raises(ValueError, match=r"^divisor_bits is 0; it must be at least 1$"):
            uart.best_divisor(1_000_000, 9600, 16, divisor_bits=0)
        with pytest.raises(ValueError, match=r"^oversamplings is empty; "):
            uart.settings(1_000_000, 9600, ())
        with pytest.raises(ValueError, match=r"^tolerance is -0\.1; it must be at least 0$"):
            uart.reachable_rates(1_000_000, (16,), -0.1)

    def test_frames_and_times(self) -> None:
        for data_bits in (4, 10):
            with pytest.raises(ValueError, match=f"^data_bits is {data_bits}; it must be 5 to 9$"):
                uart.frame_bits(data_bits, False, 1)
        with pytest.raises(ValueError, match=r"^stop_bits is 0; it must be 1, 1\.5 or 2$"):
            uart.frame_bits(8, False, 0)
        with pytest.raises(ValueError, match=r"^rate is 0; "):
            uart.byte_time_s(0, 10)
        with pytest.raises(ValueError, match=r"^bits is 0; "):
            uart.bytes_per_second(9600, 0)
        with pytest.raises(ValueError, match=r"^buffer_bytes is 0; it must be at least 1$"):
            uart.longest_gap_s(0, 9600, 10)

    def test_receivers(self) -> None:
        with pytest.raises(ValueError, match=r"^data_and_parity_bits is 0; "):
            uart.receiver_range(0, 16)
        with pytest.raises(ValueError, match=r"^samples_per_bit is 3; it must be at least 4$"):
            uart.receiver_range(8, 3)
        with pytest.raises(ValueError, match=r"^first_sample is 0; it must be at least 1$"):
            uart.receiver_range(8, 16, first_sample=0)
        with pytest.raises(ValueError, match=r"^middle_sample is 7; it must be at least 8$"):
            uart.receiver_range(8, 16, middle_sample=7)
        with pytest.raises(ValueError, match=r"^middle_sample is 17; it must be at most 16$"):
            uart.receiver_range(8, 16, middle_sample=17)

    def test_a_vote_at_the_end_of_the_bit_follows_no_faster_sender(self) -> None:
        # ATmega640...2561 2549A, p. 220, (D + 2) S / ((D + 1) S + SM): by hand, 160 / 160
        assert uart.receiver_range(8, 16, middle_sample=16)[1] == 1

    def test_a_single_bit_is_enough(self) -> None:
        # the same, with D = 1, S = 16, SF = 8 and SM = 9: by hand
        assert uart.receiver_range(1, 16) == (Fraction(32, 39), Fraction(48, 41))

    def test_deviations_and_mismatches(self) -> None:
        with pytest.raises(ValueError, match=r"^frame_bits is 0; "):
            uart.tolerated_deviation(0, 16)
        with pytest.raises(ValueError, match=r"^samples_voted is 2; it must be odd$"):
            uart.tolerated_deviation(10, 16, 2)
        with pytest.raises(ValueError, match=r"^samples_voted is 0; it must be at least 1$"):
            uart.tolerated_deviation(10, 16, 0)
        with pytest.raises(ValueError, match=r"^samples_per_bit is 2; it must be at least 4$"):
            uart.tolerated_deviation(10, 2)
        with pytest.raises(ValueError, match=r"^sender_rate is 0; "):
            uart.mismatch(0, 9600)
        with pytest.raises(ValueError, match=r"^receiver_rate is -1; "):
            uart.mismatch(9600, -1)
        with pytest.raises(ValueError, match=r"^mismatch is -1; it must be above -1"):
            uart.mismatch_share(-1, 8, 16)
        with pytest.raises(ValueError, match=r"^mismatch is -2; it must be above -1"):
            uart.mismatch_share(-2, 8, 16)
        with pytest.raises(ValueError, match=r"^mismatch is inf; it must be above -1 and finite$"):
            uart.mismatch_share(float("inf"), 8, 16)
        with pytest.raises(ValueError, match=r"^wanted is 0; "):
            uart.rate_error(9600, 0)
