"""Voltages, currents and heat of a module's supply, indicator and logic levels, in SI units."""

import math
from dataclasses import dataclass


def _require_levels_apart(low_max_v: float, high_min_v: float) -> None:
    """Refuses levels between which low and high cannot be told apart."""
    if not low_max_v < high_min_v:
        raise ValueError(f"low_max_v is {low_max_v}; it must be below high_min_v, {high_min_v}")


@dataclass(frozen=True)
class LogicOutput:
    """The voltages that an output promises: at least this when high, at most that when low.

    Raises: ValueError where the low level is not below the high one.
    """

    high_min_v: float
    low_max_v: float

    def __post_init__(self) -> None:
        _require_levels_apart(self.low_max_v, self.high_min_v)


@dataclass(frozen=True)
class LogicInput:
    """The voltages that an input takes for high and for low, and the highest it endures.

    Raises: ValueError where the low level is not below the high one, or that not within the limit.
    """

    high_min_v: float
    low_max_v: float
    highest_v: float

    def __post_init__(self) -> None:
        _require_levels_apart(self.low_max_v, self.high_min_v)
        if not self.highest_v >= self.high_min_v:
            raise ValueError(
                f"highest_v is {self.highest_v}; it must be at least high_min_v, {self.high_min_v}"
            )


LVTTL_OUTPUT = LogicOutput(high_min_v=2.4, low_max_v=0.4)  # JEDEC JESD8C, 3.3 V LVTTL
LVTTL_INPUT = LogicInput(high_min_v=2.0, low_max_v=0.8, highest_v=3.6)  # JEDEC JESD8C, 3.3 V LVTTL


def droop_v(current_a: float, duration_s: float, capacitance_f: float) -> float:
    """Gives the voltage that a capacitor loses while it alone delivers a constant current.

    Count with the capacitance that is left: aluminium electrolytics may have 20 % less than
    printed, and less again when cold or old.

    Raises: ValueError where the capacitance is not above 0 or another argument is below 0.
    Source: charge of a capacitor, I t = C V.
    """
    _require_not_negative(current_a=current_a, duration_s=duration_s)
    _require_above_zero(capacitance_f=capacitance_f)
    return current_a * duration_s / capacitance_f


def burst_sag_v(
    burst_current_a: float, current_limit_a: float, duration_s: float, capacitance_f: float
) -> float:
    """Gives the voltage lost to the part of a burst that the regulator cannot deliver.

    Give the peak of the burst, not its average: an average over bursts hides the sag.

    Raises: ValueError where the capacitance is not above 0 or another argument is below 0.
    Source: as droop_v.
    """
    _require_not_negative(burst_current_a=burst_current_a, current_limit_a=current_limit_a)
    return droop_v(max(0.0, burst_current_a - current_limit_a), duration_s, capacitance_f)


def capacitance_for_droop_f(current_a: float, duration_s: float, permitted_droop_v: float) -> float:
    """Gives the capacitance in farads that keeps the droop at a constant current permitted.

    Raises: ValueError where the droop is not above 0 or another argument is below 0.
    Source: as droop_v.
    """
    _require_not_negative(current_a=current_a, duration_s=duration_s)
    _require_above_zero(permitted_droop_v=permitted_droop_v)
    return current_a * duration_s / permitted_droop_v


def capacitance_for_energy_f(
    power_w: float, duration_s: float, from_v: float, to_v: float
) -> float:
    """Gives the capacitance in farads that delivers a constant power between two voltages.

    This is the case before a regulator, whose load draws the more current the lower its input.

    Raises: ValueError where from_v is not above to_v, or an argument is below 0.
    Source: energy of a capacitor, P t = C (V1^2 - V2^2) / 2.
    """
    _require_not_negative(power_w=power_w, duration_s=duration_s, to_v=to_v)
    if not to_v < from_v < math.inf:
        raise ValueError(f"from_v is {from_v}; it must be above to_v, {to_v}, and finite")
    return 2 * power_w * duration_s / (from_v**2 - to_v**2)


def headroom_v(input_v: float, output_v: float) -> float:
    """Gives the voltage left across a regulator; below its dropout voltage it does not regulate.

    Raises: ValueError where a voltage is below 0.
    Source: definition of the dropout voltage of a linear regulator.
    """
    _require_not_negative(input_v=input_v, output_v=output_v)
    return input_v - output_v


def regulator_heat_w(input_v: float, output_v: float, current_a: float) -> float:
    """Gives the heat of a linear regulator; 0 where the input is no higher than the output.

    Without headroom the output follows the input, and what is left across the regulator is small.

    Raises: ValueError where an argument is below 0.
    Source: P = (Vin - Vout) I, Toshiba e-learning, LDO basics, section 4-2.
    """
    _require_not_negative(current_a=current_a)
    return max(0.0, headroom_v(input_v, output_v)) * current_a


def junction_c(heat_w: float, thermal_resistance_k_per_w: float, ambient_c: float) -> float:
    """Gives the temperature, in degrees Celsius, of a junction that heats its surroundings.

    Raises: ValueError where the heat is below 0 or the thermal resistance is not above 0.
    Source: Tj = Ta + P theta, Toshiba e-learning, LDO basics, section 4-2.
    """
    _require_not_negative(heat_w=heat_w)
    _require_above_zero(thermal_resistance_k_per_w=thermal_resistance_k_per_w)
    return ambient_c + heat_w * thermal_resistance_k_per_w


def permitted_heat_w(
    highest_junction_c: float, ambient_c: float, thermal_resistance_k_per_w: float
) -> float:
    """Gives the heat that a junction may give off; 0 where the ambient alone is too hot.

    Raises: ValueError where the thermal resistance is not above 0.
    Source: P = (Tj - Ta) / theta, Nisshinbo Micro Devices, LDO FAQ 029.
    """
    _require_above_zero(thermal_resistance_k_per_w=thermal_resistance_k_per_w)
    return max(0.0, highest_junction_c - ambient_c) / thermal_resistance_k_per_w


def series_resistor_ohm(supply_v: float, forward_v: float, current_a: float) -> float:
    """Gives the resistance in series with an indicator that lets the wanted current flow.

    Raises: ValueError where the supply is not above the forward voltage, the current is not above
    0 or the forward voltage is below 0.
    Source: Ohm's law, R = (Vs - Vf) / I.
    """
    _require_not_negative(forward_v=forward_v)
    _require_above_zero(current_a=current_a)
    if not forward_v < supply_v < math.inf:
        raise ValueError(f"supply_v is {supply_v}; it must be above forward_v, {forward_v}")
    return (supply_v - forward_v) / current_a


def indicator_current_a(supply_v: float, forward_v: float, resistor_ohm: float) -> float:
    """Gives the current through an indicator and its resistor; 0 where the supply cannot light it.

    Raises: ValueError where the resistance is not above 0 or a voltage is below 0.
    Source: Ohm's law, I = (Vs - Vf) / R.
    """
    _require_not_negative(supply_v=supply_v, forward_v=forward_v)
    _require_above_zero(resistor_ohm=resistor_ohm)
    return max(0.0, supply_v - forward_v) / resistor_ohm


def divider_v(input_v: float, upper_ohm: float, lower_ohm: float) -> float:
    """Gives the voltage across the lower resistor of an unloaded divider.

    Raises: ValueError where a resistance is not above 0 or the voltage is below 0.
    Source: Ohm's law, V R2 / (R1 + R2).
    """
    _require_not_negative(input_v=input_v)
    _require_above_zero(upper_ohm=upper_ohm, lower_ohm=lower_ohm)
    return input_v * lower_ohm / (upper_ohm + lower_ohm)


def high_margin_v(driver: LogicOutput, receiver: LogicInput) -> float:
    """Gives the voltage by which a promised high is above the least high; below 0: no promise.

    Source: definition of the noise margin of two logic levels.
    """
    return driver.high_min_v - receiver.high_min_v


def low_margin_v(driver: LogicOutput, receiver: LogicInput) -> float:
    """Gives the voltage by which a promised low is below the highest low; below 0: no promise.

    Source: definition of the noise margin of two logic levels.
    """
    return receiver.low_max_v - driver.low_max_v


def overdrive_v(output_high_v: float, receiver: LogicInput) -> float:
    """Gives the voltage by which a high exceeds what the input endures; 0 where it does not.

    Take the highest voltage of the output, its supply, not the least that it promises.

    Source: absolute maximum ratings, e.g. ATmega48A...328P 8271H, section 29.1.
    """
    return max(0.0, output_high_v - receiver.highest_v)


def _require_above_zero(**quantities: float) -> None:
    """Refuses the first quantity that is not above 0 or not finite."""
    for quantity, value in quantities.items():
        if not 0 < value < math.inf:
            raise ValueError(f"{quantity} is {value}; it must be above 0 and finite")


def _require_not_negative(**quantities: float) -> None:
    """Refuses the first quantity that is below 0 or not finite."""
    for quantity, value in quantities.items():
        if not 0 <= value < math.inf:
            raise ValueError(f"{quantity} is {value}; it must be at least 0 and finite")
