"""The logic levels along a module's serial line, in both directions."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from auditor.compute.supply import (
    LogicInput,
    LogicOutput,
    high_margin_v,
    low_margin_v,
    overdrive_v,
)
from auditor.models.profile import LogicLevels
from auditor.survey.module import Module
from auditor.survey.supply import DIGITS

HIGH_SHARE = 0.6  # of the supply: ATmega48A...328P 8271H, Table 29-1, least input high
LOW_SHARE = 0.3  # of the supply: the same table, highest input low
OVER_SUPPLY_V = 0.5  # the same data sheet, section 29.1, absolute maximum of a pin


@dataclass(frozen=True)
class LineEnd:
    """One end of the serial line; `supply_v` is what its pins run from. None is not known."""

    name: str
    output: LogicOutput | None
    input: LogicInput | None
    supply_v: float | None


@dataclass(frozen=True)
class Direction:
    """One direction of the serial line: what is put out at one end and taken at the other.

    `highest_v` is the highest that is put out, `wanted_v` the highest that the receiver is
    comfortable with.
    """

    driver: str
    receiver: str
    output: LogicOutput
    input: LogicInput
    highest_v: float
    wanted_v: float

    @property
    def overdrive_v(self) -> float:
        """The voltage by which the receiver is overdriven."""
        return round(overdrive_v(self.highest_v, self.input), DIGITS)

    @property
    def high_margin_v(self) -> float:
        """What is to spare for a high; below 0 it is not promised."""
        return round(high_margin_v(self.output, self.input), DIGITS)

    @property
    def low_margin_v(self) -> float:
        """What is to spare for a low; below 0 it is not promised."""
        return round(low_margin_v(self.output, self.input), DIGITS)

    @property
    def margin_v(self) -> float:
        """The smaller of the two margins."""
        return min(self.high_margin_v, self.low_margin_v)


def directions_of(module: Module) -> Iterator[Direction]:
    """Give the directions of a module's serial line whose levels are known at both ends."""
    module_end, controller_end = _module_end(module), _controller_end(module)
    for driver, receiver in ((module_end, controller_end), (controller_end, module_end)):
        if driver.output and receiver.input:
            yield _direction(driver, receiver, driver.output, receiver.input)


def _direction(
    driver: LineEnd, receiver: LineEnd, output: LogicOutput, input: LogicInput
) -> Direction:
    highest_v = output.high_min_v if driver.supply_v is None else driver.supply_v
    endured_v = input.highest_v
    wanted_v = endured_v if receiver.supply_v is None else min(endured_v, receiver.supply_v)
    return Direction(driver.name, receiver.name, output, input, highest_v, wanted_v)


def _module_end(module: Module) -> LineEnd:
    logic = module.profile.logic if module.profile else LogicLevels()
    return LineEnd("the module", _output(logic), _input(logic), _module_supply_v(module))


def _module_supply_v(module: Module) -> float | None:
    """Return what the module's pins run from: no more than it is made for."""
    made_for = module.profile.highest_supply if module.profile else None
    known = [each for each in (module.supply.output_voltage, made_for) if each is not None]
    return float(min(known)) if known else None


def _controller_end(module: Module) -> LineEnd:
    """Return the controller's end: by its profile, or by its level where the two do not fit."""
    profile, level = module.controller_profile, module.controller.logic_level
    logic = profile.logic if profile else LogicLevels()
    supply_v = None if level is None else round(float(level), DIGITS)
    if level and supply_v and not _holds_at(logic, level):
        return LineEnd("the controller", *_rail_to_rail(supply_v), supply_v)
    return LineEnd("the controller", _output(logic), _input(logic), supply_v)


def _holds_at(logic: LogicLevels, level: Fraction) -> bool:
    """Say whether the levels of a profile can be those of pins that run from this voltage."""
    lowest, highest = logic.output_high, logic.input_highest
    return lowest is not None and highest is not None and lowest <= level <= highest


def _rail_to_rail(supply_v: float) -> tuple[LogicOutput, LogicInput]:
    """Return the levels of CMOS pins.

    An output that drives one input reaches its rails: common practice, no source.
    """
    receives = LogicInput(HIGH_SHARE * supply_v, LOW_SHARE * supply_v, supply_v + OVER_SUPPLY_V)
    return LogicOutput(high_min_v=supply_v, low_max_v=0.0), receives


def _output(logic: LogicLevels) -> LogicOutput | None:
    """Return what a profile promises; levels that contradict each other promise nothing."""
    try:
        return logic.output
    except ValueError:
        return None


def _input(logic: LogicLevels) -> LogicInput | None:
    """Return what a profile takes; levels that contradict each other say nothing."""
    try:
        return logic.input
    except ValueError:
        return None
