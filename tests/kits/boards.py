"""The serial line, the controller and the supply of a kit that works, by plain arithmetic."""

import math
from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, one_in, pick, thinned
from tests.kits.equipment import (
    milliamps,
    milliseconds,
    module_profiles,
    shared,
    shared_rates_bd,
    tables,
)

SMALL_ERROR = Fraction(5, 1000)
"""A rate error that every receiver follows: printed bold in ATmega48/88/168 2545D, Table 83."""
CLOCKS_HZ = (8_000_000, 16_000_000, 7_372_800, 11_059_200, 12_000_000, 20_000_000, 48_000_000)
LOWEST_MV = 3000
"""The lowest supply of all shipped module profiles; the highest is 3600."""
ELECTROLYTIC = Fraction(4, 5)
"""What may be left of a printed capacitance: aluminium electrolytics, -20 %."""


@dataclass(frozen=True)
class Generator:
    """How a controller makes its rate."""

    clock_hz: int
    samples: int
    rule: str
    bits: int

    def divisor(self, rate_bd: int) -> Fraction | None:
        """Return the value to load for a rate; None where none makes it well."""
        step = Fraction(1, self.samples) if self.rule == "fraction" else Fraction(1)
        divides_by = Fraction(self.clock_hz, self.samples * rate_bd)
        below = math.floor(divides_by / step) * step
        near = [by for by in (below, below + step) if self._holds(by)]
        best = min(near, key=lambda by: abs(self._error(by, rate_bd)), default=None)
        if best is None or abs(self._error(best, rate_bd)) > SMALL_ERROR:
            return None
        return best - (self.rule == "n+1")

    def _holds(self, divides_by: Fraction) -> bool:
        return divides_by >= 1 and int(divides_by) >> self.bits == 0

    def _error(self, divides_by: Fraction, rate_bd: int) -> Fraction:
        return self.clock_hz / (self.samples * divides_by) / rate_bd - 1


def _megahertz(text: str) -> int:
    return int(Fraction(text.removesuffix(" MHz")) * 10**6)


def _shipped(name: str) -> list[Generator]:
    profile = tables("controllers")[name]
    return [
        Generator(
            _megahertz(profile["clock"]), samples, profile["divisor_rule"], profile["divisor_bits"]
        )
        for samples in profile["oversampling"]
    ]


def serial_line(draw: DrawFn, names: Collection[str]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Draw a serial line for modules of some profiles, and the controller that makes its rate."""
    serial = {
        "data_bits": pick(draw, shared(names, "data_bits")[::-1]),
        "parity": pick(draw, shared(names, "parity")),
        "stop_bits": pick(draw, shared(names, "stop_bits")),
        "flow_control": pick(draw, shared(names, "flow_control")),
    }
    rates = shared_rates_bd(names)
    controller: dict[str, Any] = {}
    if not one_in(draw, 6):
        make = _own_controller if one_in(draw, 2) else _shipped_controller
        rate, controller = make(draw, rates)
        controller |= _program(draw, rate)
    else:
        rate = pick(draw, rates)
    return {"rate": rate, **thinned(draw, serial, list(serial))}, controller


def _shipped_controller(draw: DrawFn, rates_bd: list[int]) -> tuple[int, dict[str, Any]]:
    name = pick(draw, list(tables("controllers")))
    made = [
        (rate, generator, divisor)
        for generator in _shipped(name)
        for rate in rates_bd
        if (divisor := generator.divisor(rate)) is not None
    ]
    rate, generator, divisor = pick(draw, made)
    setting = {"oversampling": generator.samples, "divisor": _number(divisor)}
    return rate, {"profile": name, **thinned(draw, setting, list(setting))}


def _own_controller(draw: DrawFn, rates_bd: list[int]) -> tuple[int, dict[str, Any]]:
    multiplier = pick(draw, (1, 1, 2, 4))
    clock_hz, bits = pick(draw, CLOCKS_HZ), pick(draw, (16, 12))
    samples, rule = pick(draw, (16, 8, 64)), pick(draw, ("n+1", "n", "fraction"))
    generator = Generator(clock_hz * multiplier, samples, rule, bits)
    able = [rate for rate in rates_bd if generator.divisor(rate) is not None]
    if not able:
        return _shipped_controller(draw, rates_bd)
    rate = pick(draw, able)
    controller = {
        "clock": f"{clock_hz / 10**6:g} MHz",
        "clock_multiplier": multiplier,
        "oversampling": samples,
        "divisor_rule": rule,
        "divisor_bits": bits,
    }
    if one_in(draw, 2):
        controller["divisor"] = _number(generator.divisor(rate) or Fraction(0))
    return rate, controller


def _number(divisor: Fraction) -> int | float:
    return int(divisor) if divisor.denominator == 1 else float(divisor)


def _program(draw: DrawFn, rate_bd: int) -> dict[str, Any]:
    """Draw how the controller's program uses the line: it reads before its buffer is full."""
    gap_ms = between(draw, 1, 60)
    shortest_frame_bits = 8
    settings = {
        "receiver": True,
        "transmitter": False,
        "clears_overrun": True,
        "rx_pin": {"direction": "in", "digital": True},
        "tx_pin": {"direction": "out", "digital": True},
        "logic_level": "3.3 V",
    }
    reading = {
        "longest_gap": f"{gap_ms} ms",
        "receive_buffer": math.ceil(rate_bd * gap_ms / 1000 / shortest_frame_bits) + 1,
    }
    return thinned(draw, settings, list(settings)) | ({} if one_in(draw, 4) else reading)


def supply(draw: DrawFn, names: Collection[str]) -> dict[str, Any]:
    """Draw a supply that carries the hungriest of some module profiles through its bursts."""
    profiles = module_profiles(names)
    burst_ma, burst_ms = max(map(milliamps, profiles)), max(map(milliseconds, profiles))
    output_mv = 3100 + 50 * between(draw, 0, 8)
    lacking_ma = between(draw, 0, burst_ma // 2) if one_in(draw, 2) else 0
    limit_ma = burst_ma - lacking_ma + (0 if lacking_ma else between(draw, 0, 500))
    table = {
        "output_voltage": f"{output_mv} mV",
        "current_limit": f"{limit_ma} mA",
        "capacitance": f"{_enough_uf(lacking_ma, burst_ms, output_mv) + between(draw, 0, 99)} uF",
        "capacitor_polarised": True,
        "capacitor_positive_to": "output",
        "common_ground": True,
        "rx_wired_to": "tx",
        "tx_wired_to": "rx",
    }
    table |= _regulator(draw, output_mv, min(burst_ma, limit_ma)) | _indicator(draw, output_mv)
    needed = ("output_voltage", "current_limit", "capacitance") if lacking_ma else ()
    return thinned(draw, table, [key for key in table if key not in needed])


def _enough_uf(lacking_ma: int, burst_ms: int, output_mv: int) -> int:
    """Return the printed capacitance of which enough is left: C = I t / V, mA ms / mV = mF."""
    least_uf = Fraction(lacking_ma * burst_ms * 1000, output_mv - LOWEST_MV)
    return math.ceil(least_uf / ELECTROLYTIC)


def _regulator(draw: DrawFn, output_mv: int, current_ma: int) -> dict[str, Any]:
    """Draw a linear regulator that stays cool: its junction is at ambient + R V I."""
    if one_in(draw, 3):
        return {"regulator": "switching", "input_voltage": f"{between(draw, 5, 24)} V"}
    dropout_mv = 50 * between(draw, 2, 24)
    input_mv = output_mv + dropout_mv + 100 * between(draw, 0, 15)
    ambient_c = between(draw, 10, 40)
    heat_mw = Fraction((input_mv - output_mv) * current_ma, 1000)
    coolest_k_per_w = min(200, math.floor((125 - ambient_c) * 1000 / heat_mw))
    return {
        "regulator": "linear",
        "input_voltage": f"{input_mv} mV",
        "dropout_voltage": f"{dropout_mv} mV",
        "thermal_resistance": between(draw, 1, coolest_k_per_w),
        "ambient": ambient_c,
        "highest_junction": 125,
    }


def _indicator(draw: DrawFn, output_mv: int) -> dict[str, Any]:
    """Draw an indicator that gets 10 mA at most."""
    forward_mv = 1800 + 50 * between(draw, 0, 12)
    least_ohm = math.ceil(Fraction(output_mv - forward_mv, 10))
    return {
        "indicator_forward_voltage": f"{forward_mv} mV",
        "indicator_resistor": least_ohm + between(draw, 0, 900),
    }
