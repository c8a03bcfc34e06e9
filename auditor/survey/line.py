"""The serial line between a module and its controller: its load, and the rates of its two ends."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from functools import lru_cache
from ipaddress import IPv4Address
from typing import Literal

from auditor.compute import uart
from auditor.compute.uart import DivisorRule, RateSetting
from auditor.models.profile import ControllerProfile
from auditor.models.words import Intent, Parity
from auditor.survey.audience import planned_intent
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.traffic import Flow

USUAL_SAMPLES_PER_BIT = 16
"""What a module's own receiver, and a controller of which nobody says, takes of each bit.

Source: common practice, no source.
"""
FEWEST_DATA_BITS = 5
_UNKNOWN = ControllerProfile(title="not known")


@dataclass(frozen=True)
class LineLoad:
    """What passes a module's line one way against what it carries, in bytes per second.

    `share` is 1 where the line is full; `talkers` counts those whose messages pass it.
    """

    bytes_per_s: float
    capacity_bytes_per_s: float
    share: float
    talkers: int


def line_load(module: Module, survey: Survey) -> LineLoad | None:
    """Return what all talkers send down a module's line; None where a fact is missing for it."""
    return _load(heard(module, survey), module, survey)


def sending_load(module: Module, survey: Survey) -> LineLoad | None:
    """Return what a controller hands to its module; None where it is nothing, or not known.

    Where nobody says who talks, anyone may: whoever does has that load. A controller whose
    transmitter is off hands over nothing.
    """
    if not survey.sends(module) or module.controller.transmitter is False:
        return None
    return _load(Flow.of(module.message_bytes), module, survey)


def _load(flow: Flow, module: Module, survey: Survey) -> LineLoad | None:
    interval = survey.fleet.traffic.message_interval
    capacity = line_capacity(module)
    if capacity is None or not interval or flow.message_bytes is None:
        return None
    sent = flow.message_bytes / _seconds(interval)
    return LineLoad(float(sent), float(capacity), float(sent / capacity), flow.talkers)


def line_capacity(module: Module) -> Fraction | None:
    """Return the bytes per second that a module's line carries, frame after frame."""
    bits = frame_bits(module)
    return None if bits is None or module.serial_rate is None else module.serial_rate / bits


def frame_bits(module: Module) -> Fraction | None:
    """Return the length of a module's serial frame in bits; None where a part is not known."""
    if module.data_bits is None or module.parity is None or module.stop_bits is None:
        return None
    return uart.frame_bits(module.data_bits, module.parity is not Parity.NONE, module.stop_bits)


def heard(module: Module, survey: Survey) -> Flow:
    """Return the messages that are sent to a module, as far as the plan says to whom."""
    return survey.flow_to(module, _lasting_address(module, survey))


def _lasting_address(module: Module, survey: Survey) -> IPv4Address | None:
    """Return the address that a module keeps: its own, or the one that is reserved for it."""
    if module.is_static:
        return module.address
    return survey.ipv4.reservations.get(module.hardware_address or "")


def only_talks(module: Module, survey: Survey) -> bool:
    """Say whether a module is a named talker for which nothing is sent, nor meant by the plan.

    What another talker would send to all counts though its own destination is set wrongly.
    """
    talkers = survey.talkers
    if talkers is None or survey.traffic_sum.unaddressed or not survey.sends(module):
        return False
    others = len(talkers.indexes) + len(talkers.others) > 1
    means_all = planned_intent(module, survey) is Intent.BROADCAST
    return not (others and means_all) and heard(module, survey).talkers == 0


def bytes_between_reads(module: Module, survey: Survey) -> int | None:
    """Return what can arrive while the controller does not read; None where it is not known.

    The line brings no more than it carries, and one talker no more than one message.
    """
    gap, capacity = module.controller.longest_gap, line_capacity(module)
    flow = heard(module, survey)
    if gap is None or capacity is None or flow.talkers == 0:
        return None
    brought = math.ceil(capacity * _seconds(gap))
    one_message = flow.message_bytes if flow.talkers == 1 else None
    return brought if one_message is None else min(brought, one_message)


def _seconds(span: timedelta) -> Fraction:
    return Fraction(span // timedelta(microseconds=1), 10**6)


def receive_buffer(module: Module) -> int | None:
    """Return the bytes that the controller keeps until they are read."""
    own = module.controller.receive_buffer
    return _profile(module).receive_buffer if own is None else own


def _profile(module: Module) -> ControllerProfile:
    return module.controller_profile or _UNKNOWN


@dataclass(frozen=True)
class RateGenerator:
    """One way in which a controller makes its rate; the clock, in Hz, is the multiplied one."""

    clock_hz: Fraction
    samples_per_bit: int
    rule: DivisorRule
    divisor_bits: int | None

    @property
    def step(self) -> Fraction:
        """The distance between two values that can be loaded."""
        return self.rule.step(self.samples_per_bit)

    @property
    def highest_divisor(self) -> Fraction | None:
        """The highest value that its bits hold; None where their number is not known."""
        return None if self.divisor_bits is None else 2**self.divisor_bits - self.step

    def takes(self, divisor: Fraction) -> bool:
        """Say whether a value can be loaded."""
        highest = divisor if self.highest_divisor is None else self.highest_divisor
        return self.rule.least_divisor <= divisor <= highest and divisor % self.step == 0

    def loaded(self, divisor: Fraction, rate: int) -> RateSetting:
        """Return what a value that it takes makes, and the error against a rate in Bd."""
        actual = uart.actual_rate(self.clock_hz, self.samples_per_bit, divisor, self.rule)
        error = uart.rate_error(actual, rate)
        return RateSetting(self.samples_per_bit, divisor, actual, error)

    def best(self, rate: int) -> RateSetting:
        """Return the value that makes the rate nearest to one in Bd, however far off that is."""
        highest = uart.highest_rate(self.clock_hz, self.samples_per_bit, self.rule)
        nearest = uart.best_divisor(
            self.clock_hz,
            min(Fraction(rate), highest),
            self.samples_per_bit,
            self.rule,
            divisor_bits=self.divisor_bits,
        )
        return self.loaded(nearest.divisor, rate)


def generators_as_set(module: Module) -> tuple[RateGenerator, ...]:
    """Return the ways in which the controller may make its rate as it is set; none known: none.

    Where neither the controller nor its profile fixes the multiplier or the samples per bit, each
    that the profile lists is a way.
    """
    controller = module.controller
    multiplier, samples = controller.clock_multiplier, controller.oversampling
    return _generators(
        module,
        _multipliers(module) if multiplier is None else (multiplier,),
        _oversamplings(module) if samples is None else (samples,),
    )


def generators_to_choose(module: Module) -> tuple[RateGenerator, ...]:
    """Return every way in which the controller could be set to make its rate."""
    return _generators(module, _multipliers(module), _oversamplings(module))


def _multipliers(module: Module) -> tuple[Fraction, ...]:
    listed = _profile(module).clock_multipliers
    return listed or (module.controller.clock_multiplier or Fraction(1),)


def _oversamplings(module: Module) -> tuple[int, ...]:
    listed = _profile(module).oversampling
    return listed or (module.controller.oversampling or USUAL_SAMPLES_PER_BIT,)


def _generators(
    module: Module, multipliers: Iterable[Fraction], oversamplings: tuple[int, ...]
) -> tuple[RateGenerator, ...]:
    controller, profile = module.controller, _profile(module)
    clock = controller.clock or profile.clock
    if clock is None:
        return ()
    rule = controller.divisor_rule or profile.divisor_rule or DivisorRule.N_PLUS_ONE
    bits = controller.divisor_bits or profile.divisor_bits
    return tuple(
        RateGenerator(clock * multiplier, samples, rule, bits)
        for multiplier in multipliers
        for samples in oversamplings
    )


@dataclass(frozen=True)
class ModuleEnd:
    """The module's end of the line: its rate in Bd, how true its clock is, its data and parity.

    A `tolerance` of 0.01 is one per cent to either side.
    """

    rate: int
    tolerance: Fraction
    data_and_parity_bits: int


def module_end(module: Module) -> ModuleEnd | None:
    """Return the module's end of the line; None where its rate is not known.

    Of a frame that is not known the shortest is taken: it is the one that tolerates most.
    """
    if module.serial_rate is None:
        return None
    percent = module.profile.serial_tolerance if module.profile else None
    has_parity = module.parity not in (None, Parity.NONE)
    bits = (module.data_bits or FEWEST_DATA_BITS) + has_parity
    return ModuleEnd(module.serial_rate, (percent or Fraction(0)) / 100, bits)


@dataclass(frozen=True)
class Mismatch:
    """The two ends of a line compared in the worse direction: who sends, who samples how often.

    `deviation` is the sender's, 0.01 being one per cent too fast; a `share` of 1 is all that the
    receiver tolerates of it.
    """

    sender: Literal["module", "controller"]
    samples_per_bit: int
    deviation: Fraction
    share: Fraction

    @property
    def tolerated(self) -> Fraction:
        """The deviation, without its sign, that the receiver just tolerates."""
        return abs(self.deviation) / self.share if self.share else Fraction(0)


@lru_cache(maxsize=4096)
def mismatch(end: ModuleEnd, setting: RateSetting) -> Mismatch:
    """Return how far a module and a controller with a setting are apart, in the worse direction.

    Source: as compute.uart.receiver_range.
    """
    return max(_mismatches(end, setting), key=lambda each: each.share)


def _mismatches(end: ModuleEnd, setting: RateSetting) -> Iterator[Mismatch]:
    """Give both directions, for a module's clock as slow and as fast as it may be."""
    for off in (-end.tolerance, end.tolerance):
        rate, controller = end.rate * (1 + off), setting.actual_rate
        if rate > 0:
            in_, out = uart.mismatch(rate, controller), uart.mismatch(controller, rate)
            yield _mismatch("module", in_, end, setting.samples_per_bit)
            yield _mismatch("controller", out, end, USUAL_SAMPLES_PER_BIT)


def _mismatch(
    sender: Literal["module", "controller"], deviation: Fraction, end: ModuleEnd, samples: int
) -> Mismatch:
    share = uart.mismatch_share(deviation, end.data_and_parity_bits, samples)
    return Mismatch(sender, samples, deviation, share)


@lru_cache(maxsize=4096)
def best_setting(
    generators: tuple[RateGenerator, ...], end: ModuleEnd
) -> tuple[RateGenerator, RateSetting]:
    """Return the way and the setting by which a controller comes nearest to a module."""
    return _nearest(((each, each.best(end.rate)) for each in generators), end)


@lru_cache(maxsize=4096)
def loaded_setting(
    generators: tuple[RateGenerator, ...], divisor: Fraction, end: ModuleEnd
) -> tuple[RateGenerator, RateSetting] | None:
    """Return the way and what a loaded divisor makes; of several ways the one that fits best.

    It is None where the divisor can be loaded in none of them.
    """
    able = [each for each in generators if each.takes(divisor)]
    settings = ((each, each.loaded(divisor, end.rate)) for each in able)
    return _nearest(settings, end) if able else None


def _nearest(
    settings: Iterable[tuple[RateGenerator, RateSetting]], end: ModuleEnd
) -> tuple[RateGenerator, RateSetting]:
    """Return the setting of the smallest mismatch; of equals the one that samples finest."""
    return min(
        settings,
        key=lambda each: (mismatch(end, each[1]).share, -each[1].samples_per_bit),
    )
