"""What a module's supply has to bear: bursts, heat, an indicator; None where a fact is missing."""

import math
from dataclasses import dataclass

from auditor.compute.supply import (
    burst_sag_v,
    capacitance_for_droop_f,
    indicator_current_a,
    junction_c,
    permitted_heat_w,
    regulator_heat_w,
)
from auditor.models.fleet import Supply
from auditor.models.words import RegulatorKind
from auditor.survey.module import Module

ELECTROLYTIC_SHARE = 0.8  # aluminium electrolytics: -20 %, calculator page
DIGITS = 6
"""Quantities are compared to a millionth of their unit, so that borders do not hang on floats."""


def is_linear(supply: Supply) -> bool:
    """Say whether the regulator is a linear one; only of those one tells a dropout voltage."""
    if supply.regulator is None:
        return supply.dropout_voltage is not None
    return supply.regulator is RegulatorKind.LINEAR


@dataclass(frozen=True)
class Burst:
    """A burst of sending, and what is there to feed it; `held_uf` is None where not told."""

    burst_a: float
    limit_a: float
    duration_s: float
    output_v: float
    lowest_v: float
    held_uf: float | None
    is_polarised: bool

    @property
    def needed_uf(self) -> float:
        """The capacitance that keeps the voltage up; infinite where it must not fall at all."""
        excess_a = max(0.0, self.burst_a - self.limit_a)
        permitted_v = round(self.output_v - self.lowest_v, DIGITS)
        if not excess_a * self.duration_s:
            return 0.0
        if permitted_v <= 0:
            return math.inf
        needed_f = capacitance_for_droop_f(excess_a, self.duration_s, permitted_v)
        return round(needed_f * 1e6, DIGITS)

    @property
    def printed_uf(self) -> int | None:
        """The capacitance to look for, so that enough is left of it; None where none helps."""
        if math.isinf(self.needed_uf):
            return None
        return math.ceil(round(self.needed_uf / ELECTROLYTIC_SHARE, DIGITS))

    @property
    def sure_uf(self) -> float:
        """What is there for certain: nothing where it is not told, less of an electrolytic."""
        share = ELECTROLYTIC_SHARE if self.is_polarised else 1.0
        return round((self.held_uf or 0.0) * share, DIGITS)

    @property
    def left_v(self) -> float:
        """The voltage at the end of the burst, with what is printed on the capacitor."""
        if not self.held_uf:
            return 0.0
        sag_v = burst_sag_v(self.burst_a, self.limit_a, self.duration_s, self.held_uf / 1e6)
        return max(0.0, round(self.output_v - sag_v, DIGITS))


def burst_of(module: Module) -> Burst | None:
    """Return a module's burst of sending."""
    supply, profile = module.supply, module.profile
    if profile is None or profile.burst_current is None or profile.burst_duration is None:
        return None
    if profile.lowest_supply is None:
        return None
    if supply.current_limit is None or supply.output_voltage is None:
        return None
    held = supply.capacitance
    return Burst(
        burst_a=float(profile.burst_current) / 1000,
        limit_a=float(supply.current_limit) / 1000,
        duration_s=profile.burst_duration.total_seconds(),
        output_v=float(supply.output_voltage),
        lowest_v=float(profile.lowest_supply),
        held_uf=None if held is None else round(float(held), DIGITS),
        is_polarised=supply.capacitor_polarised is not False,
    )


@dataclass(frozen=True)
class Heat:
    """What a linear regulator takes away at a current, and how well it is cooled."""

    input_v: float
    output_v: float
    dropout_v: float
    current_a: float
    thermal_resistance_k_per_w: float
    ambient_c: float
    highest_c: float

    @property
    def heat_w(self) -> float:
        """What it turns into heat."""
        return regulator_heat_w(self.input_v, self.output_v, self.current_a)

    @property
    def hottest_c(self) -> float:
        """The temperature of its junction."""
        hottest_c = junction_c(self.heat_w, self.thermal_resistance_k_per_w, self.ambient_c)
        return round(hottest_c, DIGITS)

    @property
    def permitted_w(self) -> float:
        """The heat at which the junction is just as hot as it may be."""
        return permitted_heat_w(self.highest_c, self.ambient_c, self.thermal_resistance_k_per_w)


def heat_of(module: Module) -> Heat | None:
    """Return the heat of a module's regulator, were the current that of a burst all the time.

    A profile does not tell the average current, so this is an upper bound; the regulator's own
    limit bounds it too.
    """
    supply, profile = module.supply, module.profile
    if not is_linear(supply) or profile is None or profile.burst_current is None:
        return None
    if supply.input_voltage is None or supply.output_voltage is None:
        return None
    if supply.ambient is None or supply.highest_junction is None:
        return None
    thermal_resistance = round(float(supply.thermal_resistance or 0), DIGITS)
    if not thermal_resistance:
        return None
    bounds = [profile.burst_current, supply.current_limit]
    return Heat(
        input_v=float(supply.input_voltage),
        output_v=float(supply.output_voltage),
        dropout_v=float(supply.dropout_voltage or 0),
        current_a=float(min(bound for bound in bounds if bound is not None)) / 1000,
        thermal_resistance_k_per_w=thermal_resistance,
        ambient_c=float(supply.ambient),
        highest_c=float(supply.highest_junction),
    )


@dataclass(frozen=True)
class IndicatorCircuit:
    """An indicator and its resistor across the supply; 0 ohm is none, None is not told."""

    supply_v: float
    forward_v: float
    resistor_ohm: float | None

    @property
    def current_a(self) -> float | None:
        """The current: 0 where the supply cannot light it, infinite where nothing limits it."""
        if self.supply_v <= self.forward_v:
            return 0.0
        if self.resistor_ohm is None:
            return None
        if not self.resistor_ohm:
            return math.inf
        return round(indicator_current_a(self.supply_v, self.forward_v, self.resistor_ohm), 9)


def indicator_circuit_of(module: Module) -> IndicatorCircuit | None:
    """Return the indicator of a module."""
    supply = module.supply
    if supply.output_voltage is None or supply.indicator_forward_voltage is None:
        return None
    resistor = supply.indicator_resistor
    return IndicatorCircuit(
        supply_v=float(supply.output_voltage),
        forward_v=float(supply.indicator_forward_voltage),
        resistor_ohm=None if resistor is None else round(float(resistor), DIGITS),
    )
