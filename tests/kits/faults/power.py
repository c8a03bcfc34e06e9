"""Faults of supply and wiring; each module that has one gets a part of a supply of its own."""

import math
from fractions import Fraction
from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, one_in, pick
from tests.kits.equipment import milliamps, milliseconds
from tests.kits.faults.planting import THE_KIT, Planted, fault
from tests.kits.kit import Kit

POWER = "power"


def _has_profile(kit: Kit, index: int) -> bool:
    return kit.profile(index) is not None


def _feed(kit: Kit, index: int, **supply: Any) -> None:
    kit.modules[index].setdefault("supply", {}).update(supply)


def _on_the_kit(check: str, severity: str, index: int) -> Planted:
    return Planted(check, severity, THE_KIT, frozenset({index}))


@fault(POWER, "supply-voltage-out-of-range", "fault", _has_profile)
def _wrong_voltage(draw: DrawFn, kit: Kit, index: int) -> None:
    _feed(kit, index, output_voltage=pick(draw, ("2.99 V", "3.61 V", "5 V", "1800 mV")))


@fault(POWER, "regulator-dropout", "fault")
def _no_headroom(draw: DrawFn, kit: Kit, index: int) -> None:
    input_mv = 3300 + between(draw, -200, 1099)
    _feed(
        kit,
        index,
        regulator="linear",
        output_voltage="3.3 V",
        input_voltage=f"{input_mv} mV",
        dropout_voltage="1.1 V",
    )


def _lacking(kit: Kit, index: int) -> tuple[int, Fraction]:
    """Return half of what a burst draws, in mA, and the µF that make up for the rest at 3.3 V."""
    profile = kit.profile(index) or {}
    half_ma = milliamps(profile) // 2
    lacking_ma = milliamps(profile) - half_ma
    return half_ma, Fraction(lacking_ma * milliseconds(profile) * 1000, 300)


@fault(POWER, "burst-current-short", "fault", _has_profile)
def _weak_supply(draw: DrawFn, kit: Kit, index: int) -> None:
    half_ma, needed_uf = _lacking(kit, index)
    enough_uf = math.ceil(needed_uf)
    _feed(
        kit,
        index,
        output_voltage="3.3 V",
        current_limit=f"{half_ma} mA",
        capacitance=f"{between(draw, 0, enough_uf - 1)} uF",
    )


@fault(POWER, "burst-current-short", "risk", _has_profile)
def _just_enough(draw: DrawFn, kit: Kit, index: int) -> Planted:
    half_ma, needed_uf = _lacking(kit, index)
    _feed(
        kit,
        index,
        output_voltage="3.3 V",
        current_limit=f"{half_ma} mA",
        capacitor_polarised=True,
        capacitance=f"{math.ceil(needed_uf)} uF",
    )
    return _on_the_kit("burst-current-short", "risk", index)


@fault(POWER, "capacitor-reversed", "fault")
def _reversed(draw: DrawFn, kit: Kit, index: int) -> None:
    _feed(kit, index, capacitor_polarised=True, capacitor_positive_to="ground")


@fault(POWER, "regulator-heat", "risk", _has_profile)
def _hot(draw: DrawFn, kit: Kit, index: int) -> Planted:
    _feed(
        kit,
        index,
        regulator="linear",
        input_voltage="12 V",
        output_voltage="3.3 V",
        dropout_voltage="1.1 V",
        current_limit="800 mA",
        thermal_resistance=between(draw, 60, 200),
        ambient=25,
        highest_junction=125,
    )
    return _on_the_kit("regulator-heat", "risk", index)


@fault(POWER, "logic-level-mismatch", "fault", _has_profile)
def _five_volts(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index].setdefault("controller", {})["logic_level"] = "5 V"


@fault(POWER, "indicator-current", "risk")
def _bright(draw: DrawFn, kit: Kit, index: int) -> Planted:
    _feed(
        kit,
        index,
        output_voltage="3.3 V",
        indicator_forward_voltage="2 V",
        indicator_resistor=between(draw, 1, 64),
    )
    return _on_the_kit("indicator-current", "risk", index)


@fault(POWER, "serial-pair-not-crossed", "fault")
def _straight(draw: DrawFn, kit: Kit, index: int) -> None:
    if one_in(draw, 2):
        _feed(kit, index, rx_wired_to="rx", tx_wired_to="tx")
    else:
        _feed(kit, index, tx_wired_to="tx")


@fault(POWER, "no-common-ground", "fault")
def _no_ground(draw: DrawFn, kit: Kit, index: int) -> None:
    _feed(kit, index, common_ground=False)
