"""The rates that a serial clock makes for a wanted one, and how well a receiver takes them."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from auditor.compute.uart import (
    RateSetting,
    bytes_per_second,
    frame_bits,
    mismatch,
    mismatch_share,
    settings,
)
from auditor.models.uart import RateQuestion
from auditor.models.words import Parity


class RateVerdict(StrEnum):
    """How a rate suits a receiver, from what it tolerates over one frame."""

    EXACT = "exact"
    GOOD = "good"
    MARGINAL = "marginal"
    UNUSABLE = "unusable"


@dataclass(frozen=True)
class Choice:
    """One way to make a rate: what to load, the rate in Bd, its error in per cent."""

    samples_per_bit: int
    divisor: Fraction
    actual_rate: Fraction
    error_percent: Fraction
    verdict: RateVerdict


@dataclass(frozen=True)
class RateTable:
    """Every way to make a rate with a clock, and the best one."""

    clock_hz: Fraction
    rate: int
    frame_bits: Fraction
    bytes_per_s: float
    choices: tuple[Choice, ...]
    best: Choice


def rate_table(asked: RateQuestion) -> RateTable:
    """Return the best divisor for each number of samples per bit that has the rate in reach.

    The best of all is the one that leaves a receiver the most of its tolerance.

    Raises:
        ValueError: the rate is out of reach of them all.
    """
    how = (asked.oversampling, asked.rule, asked.multiplier, asked.bits)
    frame = frame_bits(asked.data_bits, asked.parity is not Parity.NONE, asked.stop_bits)
    made = settings(asked.clock, asked.rate, *how)
    return RateTable(
        clock_hz=asked.clock,
        rate=asked.rate,
        frame_bits=frame,
        bytes_per_s=bytes_per_second(asked.rate, frame),
        choices=tuple(_choice(each, asked) for each in made),
        best=_choice(
            min(made, key=lambda each: (_share(each, asked), -each.samples_per_bit)), asked
        ),
    )


def rate_verdict(made: RateSetting, asked: RateQuestion) -> RateVerdict:
    """Return how a receiver at an actual rate (Bd) takes a sender at the rate that was asked for.

    Up to half of its tolerance is good, since the other end may be off by as much.

    Source: the tolerance is that of `compute.uart.receiver_range`; half of it for each end is
    common practice, no source.
    """
    share = _share(made, asked)
    if share == 0:
        return RateVerdict.EXACT
    if share <= Fraction(1, 2):
        return RateVerdict.GOOD
    return RateVerdict.MARGINAL if share <= 1 else RateVerdict.UNUSABLE


def _share(made: RateSetting, asked: RateQuestion) -> Fraction:
    """Return how much of a receiver's tolerance a rate uses up; 1 is all of it."""
    off = mismatch(asked.rate, made.actual_rate)
    return mismatch_share(off, asked.data_and_parity_bits, made.samples_per_bit)


def _choice(made: RateSetting, asked: RateQuestion) -> Choice:
    return Choice(
        samples_per_bit=made.samples_per_bit,
        divisor=made.divisor,
        actual_rate=made.actual_rate,
        error_percent=made.error * 100,
        verdict=rate_verdict(made, asked),
    )
