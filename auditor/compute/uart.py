"""Rates, tolerances and times of an asynchronous serial line, as exact fractions.

A rate generator divides its clock by the samples per bit and by a loaded divisor, so it meets few
rates exactly. What a receiver then tolerates is a matter between the two ends of the line: compare
them with each other, not each with the nominal rate.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TypeAlias

Quantity: TypeAlias = Fraction | float

STANDARD_RATES: tuple[int, ...] = (
    # Bd. The constants of POSIX and Linux terminals (Linux termbits headers; "134" means 134.5 Bd);
    # 14400, 28800, 76800, 250000 wanted and 31250, 256000 made in ATmega48/88/168 2545D, Tables 83
    # and 84, and 2545E, Table 17-9; 128000 in data sheets of PC ports (from memory, unverified).
    50, 75, 110, 134, 150, 200, 300, 600, 1200, 1800, 2400, 4800, 9600, 14400, 19200, 28800, 31250,
    38400, 57600, 76800, 115200, 128000, 230400, 250000, 256000, 460800, 500000, 576000, 921600,
    1000000, 1152000, 1500000, 2000000, 2500000, 3000000, 3500000, 4000000,
)  # fmt: skip

# Below the highest rate a clock makes, the worst served one (3/4 of the highest) is one third off.
# A rate above 3/2 of the highest would be served worse than that: it is out of reach.
_REACH = Fraction(3, 2)

_STOP_BITS = (1, 1.5, 2)


class DivisorRule(StrEnum):
    """The loaded value divides the clock by this, beside the samples per bit.

    Source: n + 1 in ATmega48/88/168 2545D, section USART; n in TL16C550C SLLS177I, Table 7-9;
    a fraction in steps of one sample in RM0008 rev 12, section USART.
    """

    N_PLUS_ONE = "n+1"
    N = "n"
    FRACTION = "fraction"

    @property
    def least_divisor(self) -> int:
        """Gives the smallest value that can be loaded; each rule then divides by one."""
        return 0 if self is DivisorRule.N_PLUS_ONE else 1

    def step(self, samples_per_bit: int) -> Fraction:
        """Gives the distance between two loadable values."""
        return Fraction(1, samples_per_bit if self is DivisorRule.FRACTION else 1)


@dataclass(frozen=True)
class RateSetting:
    """One way to set a rate generator: the rate (Bd) it makes and its signed relative error."""

    samples_per_bit: int
    divisor: Fraction
    actual_rate: Fraction
    error: Fraction


def actual_rate(
    clock_hz: Quantity,
    samples_per_bit: int,
    divisor: Quantity,
    rule: DivisorRule = DivisorRule.N_PLUS_ONE,
    multiplier: Quantity = 1,
) -> Fraction:
    """Gives the rate in Bd that a loaded divisor makes.

    Raises: ValueError where the clock, multiplier or samples are not above 0, or where the divisor
    cannot be loaded (a fraction has steps of one sample).
    Source: rate = f / (S (n + 1)), ATmega48/88/168 2545D, section USART; f / (16 N), TL16C550C
    SLLS177I, Table 7-9; f / (S d), RM0090 rev 11, section USART.
    """
    clock = _clock(clock_hz, multiplier)
    _require_at_least("samples_per_bit", samples_per_bit, 1)
    loaded = _loadable(divisor, samples_per_bit, rule)
    return clock / (samples_per_bit * (loaded - rule.least_divisor + 1))


def rate_error(actual: Quantity, wanted: Quantity) -> Fraction:
    """Gives the signed relative error of a rate: 0.01 is one per cent too fast.

    Raises: ValueError where a rate is not above 0.
    Source: error = actual / wanted - 1, ATmega48/88/168 2545D, section USART.
    """
    return _above_zero("actual", actual) / _above_zero("wanted", wanted) - 1


def best_divisor(
    clock_hz: Quantity,
    rate: Quantity,
    samples_per_bit: int,
    rule: DivisorRule = DivisorRule.N_PLUS_ONE,
    multiplier: Quantity = 1,
    divisor_bits: int | None = None,
) -> RateSetting:
    """Gives the setting with the smallest error of all that can be loaded; of equals the faster.

    A rate (Bd) too slow for the divisor's bits gets the slowest setting, however far off it is.
    The whole part of a fraction has the divisor's bits.

    Raises: ValueError where the rate is above 3/2 of the highest rate, or an argument is not
    above 0.
    Source: as actual_rate; 3/2 because no rate below it is ever more than one third off.
    """
    one = (samples_per_bit,)
    return settings(clock_hz, rate, one, rule, multiplier, divisor_bits)[0]


def settings(
    clock_hz: Quantity,
    rate: Quantity,
    oversamplings: Sequence[int],
    rule: DivisorRule = DivisorRule.N_PLUS_ONE,
    multiplier: Quantity = 1,
    divisor_bits: int | None = None,
) -> tuple[RateSetting, ...]:
    """Gives the best setting for each of the oversamplings that has the rate (Bd) in its reach.

    Raises: ValueError where none has (see best_divisor), or an argument is not above 0.
    Source: as best_divisor.
    """
    clock = _clock(clock_hz, multiplier)
    reaching = _reaching(clock, rate, oversamplings, rule)
    if not reaching:
        highest = highest_rate(clock, min(oversamplings), rule)
        raise ValueError(
            f"rate is {_plain(rate)} Bd; it must be at most {_plain(_REACH * highest)} Bd,"
            f" 3/2 of the highest rate, {_plain(highest)} Bd"
        )
    return tuple(_nearest(clock, rate, samples, rule, divisor_bits) for samples in reaching)


def best_setting(
    clock_hz: Quantity,
    rate: Quantity,
    oversamplings: Sequence[int],
    rule: DivisorRule = DivisorRule.N_PLUS_ONE,
    multiplier: Quantity = 1,
    divisor_bits: int | None = None,
) -> RateSetting:
    """Gives the setting with the smallest error over all oversamplings; of equals the finest.

    Raises: ValueError as settings does.
    Source: as best_divisor.
    """
    found = settings(clock_hz, rate, oversamplings, rule, multiplier, divisor_bits)
    return min(found, key=lambda setting: (abs(setting.error), -setting.samples_per_bit))


def highest_rate(
    clock_hz: Quantity,
    samples_per_bit: int,
    rule: DivisorRule = DivisorRule.N_PLUS_ONE,
    multiplier: Quantity = 1,
) -> Fraction:
    """Gives the rate in Bd that the smallest loadable divisor makes.

    Raises: ValueError where an argument is not above 0.
    Source: last line ("Max.") of ATmega48/88/168 2545D, Tables 83 and 84.
    """
    return actual_rate(clock_hz, samples_per_bit, rule.least_divisor, rule, multiplier)


def reachable_rates(
    clock_hz: Quantity,
    oversamplings: Sequence[int],
    tolerance: Quantity,
    rule: DivisorRule = DivisorRule.N_PLUS_ONE,
    multiplier: Quantity = 1,
    divisor_bits: int | None = None,
    rates: Iterable[Quantity] = STANDARD_RATES,
) -> tuple[tuple[Quantity, RateSetting], ...]:
    """Gives the rates (Bd) that a clock makes within a relative tolerance, with the settings.

    Raises: ValueError where the tolerance is below 0 or another argument is not above 0.
    Source: tolerances in use are 0.005 (printed bold in ATmega48/88/168 2545D, Tables 83 and 84)
    and 0.02 (default of avr-libc 2.0.0, util/setbaud.h).
    """
    _require_at_least("tolerance", tolerance, 0)
    clock = _clock(clock_hz, multiplier)
    best = (
        (rate, best_setting(clock, rate, oversamplings, rule, divisor_bits=divisor_bits))
        for rate in rates
        if _reaching(clock, rate, oversamplings, rule)
    )
    return tuple((rate, setting) for rate, setting in best if abs(setting.error) <= tolerance)


def frame_bits(data_bits: int, has_parity: bool, stop_bits: Quantity) -> Fraction:
    """Gives the length of one frame in bits: start bit, data, parity and stop bits.

    Raises: ValueError where there are not 5 to 9 data bits, or not 1, 1.5 or 2 stop bits.
    Source: asynchronous frame, Maxim AN2141, UART Timing; 5 to 9 data bits, ATmega48/88/168 2545D.
    """
    if not 5 <= data_bits <= 9:
        raise ValueError(f"data_bits is {data_bits}; it must be 5 to 9")
    if stop_bits not in _STOP_BITS:
        raise ValueError(f"stop_bits is {stop_bits}; it must be 1, 1.5 or 2")
    return 1 + data_bits + has_parity + Fraction(stop_bits)


def byte_time_s(rate: Quantity, bits: Quantity) -> float:
    """Gives the time in seconds that one frame of so many bits takes at a rate in Bd.

    Raises: ValueError where an argument is not above 0.
    Source: asynchronous frame, Maxim AN2141, UART Timing.
    """
    return float(_above_zero("bits", bits) / _above_zero("rate", rate))


def bytes_per_second(rate: Quantity, bits: Quantity) -> float:
    """Gives the bytes per second that frames of so many bits carry back to back at a rate in Bd.

    Raises: ValueError where an argument is not above 0.
    Source: asynchronous frame, Maxim AN2141, UART Timing.
    """
    return float(_above_zero("rate", rate) / _above_zero("bits", bits))


def receiver_range(
    data_and_parity_bits: int,
    samples_per_bit: int,
    first_sample: int | None = None,
    middle_sample: int | None = None,
) -> tuple[Fraction, Fraction]:
    """Gives the slowest and the fastest sender that a receiver follows, as shares of its own rate.

    The samples are the first and the middle one of the majority vote, counted from 1; by default
    half the samples per bit and the one after.

    Raises: ValueError where there are no bits, fewer than 4 samples per bit, or the vote does not
    lie within the bit.
    Source: ATmega640...2561 2549A, p. 220; ATmega48A...328P DS40002061A, Tables 20-2 and 20-3.
    """
    _require_at_least("data_and_parity_bits", data_and_parity_bits, 1)
    _require_at_least("samples_per_bit", samples_per_bit, 4)
    first = samples_per_bit // 2 if first_sample is None else first_sample
    middle = samples_per_bit // 2 + 1 if middle_sample is None else middle_sample
    _require_vote_in_bit(first, middle, samples_per_bit)
    clocks = (data_and_parity_bits + 1) * samples_per_bit
    return Fraction(clocks, clocks - 1 + first), Fraction(clocks + samples_per_bit, clocks + middle)


def tolerated_deviation(
    frame_bits: Quantity, samples_per_bit: int, samples_voted: int = 3
) -> Fraction:
    """Gives the relative deviation of both ends together that a receiver tolerates over one frame.

    Half a bit, less one clock for finding the start edge, less the votes on one side of the
    middle, spread over the frame. Against it count the sender's error, the receiver's rounding and
    oscillator, and the asymmetry of the line.

    Raises: ValueError where the frame is not above 0, the votes are not odd, or they and the start
    edge leave nothing of half a bit.
    Source: RM0351 rev 3, Table 194 (whole divisors); RM0090 rev 11, section 26.3.5, for the sum.
    """
    frame = _above_zero("frame_bits", frame_bits)
    _require_at_least("samples_voted", samples_voted, 1)
    if samples_voted % 2 == 0:
        raise ValueError(f"samples_voted is {samples_voted}; it must be odd")
    _require_at_least("samples_per_bit", samples_per_bit, samples_voted + 1)
    spare_clocks = Fraction(samples_per_bit - samples_voted - 1, 2)
    return spare_clocks / (samples_per_bit * frame)


def mismatch(sender_rate: Quantity, receiver_rate: Quantity) -> Fraction:
    """Gives the signed relative mismatch of two ends: positive where the sender is the faster.

    Raises: ValueError where a rate is not above 0.
    Source: ratio of incoming rate to receiver rate, ATmega640...2561 2549A, p. 220.
    """
    sender = _above_zero("sender_rate", sender_rate)
    return sender / _above_zero("receiver_rate", receiver_rate) - 1


def mismatch_share(mismatch: Quantity, data_and_parity_bits: int, samples_per_bit: int) -> Fraction:
    """Gives the share of a receiver's tolerance that a mismatch uses up; 1 is the limit.

    The tolerance is that of the mismatch's own direction: a receiver does not follow a slow sender
    exactly as far as a fast one.

    Raises: ValueError where the mismatch is not above -1, or as receiver_range does.
    Source: as receiver_range.
    """
    if not -1 < mismatch < math.inf:
        raise ValueError(f"mismatch is {mismatch}; it must be above -1 and finite")
    slowest, fastest = receiver_range(data_and_parity_bits, samples_per_bit)
    limit = fastest - 1 if mismatch > 0 else 1 - slowest
    return abs(Fraction(mismatch)) / limit


def longest_gap_s(buffer_bytes: int, rate: Quantity, bits: Quantity) -> float:
    """Gives the longest pause in seconds between two reads that a receive buffer survives.

    Counted from a read that empties it just before the next byte is complete, on a full line.

    Raises: ValueError where an argument is not above 0.
    Source: common practice, no source.
    """
    _require_at_least("buffer_bytes", buffer_bytes, 1)
    return buffer_bytes * byte_time_s(rate, bits)


def _nearest(
    clock: Fraction, rate: Quantity, samples_per_bit: int, rule: DivisorRule, bits: int | None
) -> RateSetting:
    """Gives the best of the two loadable settings around the exact quotient.

    Both are tried: rounding the quotient is not enough, since the error goes with 1 / divisor.
    """
    step = rule.step(samples_per_bit)
    exact = clock / (samples_per_bit * Fraction(rate)) + rule.least_divisor - 1
    below = math.floor(exact / step) * step
    candidates = (_within(divisor, step, rule, bits) for divisor in (below, below + step))
    return min(
        (_setting(clock, rate, samples_per_bit, divisor, rule) for divisor in candidates),
        key=lambda setting: abs(setting.error),
    )


def _within(divisor: Fraction, step: Fraction, rule: DivisorRule, bits: int | None) -> Fraction:
    """Gives the divisor, or the end of the loadable values that is nearest to it."""
    if bits is not None:
        _require_at_least("divisor_bits", bits, 1)
        divisor = min(divisor, 2**bits - step)
    return max(divisor, Fraction(rule.least_divisor))


def _setting(
    clock: Fraction, rate: Quantity, samples_per_bit: int, divisor: Fraction, rule: DivisorRule
) -> RateSetting:
    """Gives the rate and the error that one divisor gives."""
    actual = actual_rate(clock, samples_per_bit, divisor, rule)
    return RateSetting(samples_per_bit, divisor, actual, rate_error(actual, rate))


def _reaching(
    clock: Fraction, rate: Quantity, oversamplings: Sequence[int], rule: DivisorRule
) -> tuple[int, ...]:
    """Gives the oversamplings whose highest rate is near enough to the wanted one, or above it."""
    wanted = _above_zero("rate", rate)
    if not oversamplings:
        raise ValueError("oversamplings is empty; it must hold at least one number of samples")
    return tuple(
        samples
        for samples in oversamplings
        if wanted <= _REACH * highest_rate(clock, samples, rule)
    )


def _clock(clock_hz: Quantity, multiplier: Quantity) -> Fraction:
    """Gives the clock in Hz that reaches the rate generator."""
    return _above_zero("clock_hz", clock_hz) * _above_zero("multiplier", multiplier)


def _loadable(divisor: Quantity, samples_per_bit: int, rule: DivisorRule) -> Fraction:
    """Gives the divisor as an exact number, refused where it cannot be loaded."""
    least, step = rule.least_divisor, rule.step(samples_per_bit)
    if not least <= divisor < math.inf or Fraction(divisor) % step:
        raise ValueError(f"divisor is {divisor}; it must be a multiple of {step}, at least {least}")
    return Fraction(divisor)


def _require_vote_in_bit(first_sample: int, middle_sample: int, samples_per_bit: int) -> None:
    """Refuses a vote that does not lie within the bit."""
    _require_at_least("first_sample", first_sample, 1)
    _require_at_least("middle_sample", middle_sample, first_sample)
    if middle_sample > samples_per_bit:
        raise ValueError(f"middle_sample is {middle_sample}; it must be at most {samples_per_bit}")


def _above_zero(quantity: str, value: Quantity) -> Fraction:
    """Gives the value as an exact number, refused where it is not above 0 or not finite."""
    if not 0 < value < math.inf:
        raise ValueError(f"{quantity} is {value}; it must be above 0 and finite")
    return Fraction(value)


def _require_at_least(quantity: str, value: Quantity, least: int) -> None:
    """Refuses a value below its limit, and one that is no number."""
    if not value >= least:
        raise ValueError(f"{quantity} is {value}; it must be at least {least}")


def _plain(value: Quantity) -> str:
    """Gives a number as people write it, without an exponent."""
    return f"{float(value):.12g}"
