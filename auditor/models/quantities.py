"""Quantities as people write them: a number with a unit of the SI, "8 MHz", "8h", "100 uF"."""

import re
from datetime import timedelta
from fractions import Fraction

_WRITTEN = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*(\S*)\s*", re.ASCII)

FREQUENCY = {"Hz": Fraction(1), "kHz": Fraction(1000), "MHz": Fraction(10**6)}
DURATION = {
    "us": Fraction(1, 10**6),
    "µs": Fraction(1, 10**6),
    "ms": Fraction(1, 1000),
    "s": Fraction(1),
    "min": Fraction(60),
    "h": Fraction(3600),
    "d": Fraction(86400),
}
VOLTAGE = {"V": Fraction(1), "mV": Fraction(1, 1000)}
CURRENT = {"mA": Fraction(1), "A": Fraction(1000), "µA": Fraction(1, 1000), "uA": Fraction(1, 1000)}
CAPACITANCE = {
    "µF": Fraction(1),
    "uF": Fraction(1),
    "mF": Fraction(1000),
    "nF": Fraction(1, 1000),
}
RESISTANCE = {"Ω": Fraction(1), "ohm": Fraction(1), "kΩ": Fraction(1000), "kohm": Fraction(1000)}
DATA_RATE = {"Mb/s": Fraction(1), "kb/s": Fraction(1, 1000)}
SYMBOL_RATE = {"Bd": Fraction(1), "kBd": Fraction(1000)}
POWER_LEVEL = {"dBm": Fraction(1)}
GAIN = {"dBi": Fraction(1)}
BYTES = {"bytes": Fraction(1), "byte": Fraction(1), "B": Fraction(1)}
TEMPERATURE = {"°C": Fraction(1), "C": Fraction(1)}
SHARE = {"%": Fraction(1)}
THERMAL_RESISTANCE = {"K/W": Fraction(1), "°C/W": Fraction(1)}

_LONGEST = timedelta(days=3660)
LONGEST_WRITTEN = 100
"""Characters of a quantity; the longest that makes sense needs a fifth of them."""


def quantity(written: object, units: dict[str, Fraction], example: str, *, bare: bool) -> Fraction:
    """Return a written quantity in the unit whose factor is 1.

    A number without a unit is taken only where `bare` allows it.

    Raises:
        ValueError: it is no number, or its unit is none of `units`.
    """
    if isinstance(written, bool) or not isinstance(written, int | float | str):
        raise ValueError(f'is not a quantity; write it like "{example}"')
    text = str(written)
    text = text.replace("\u03bc", "µ").replace("\u2126", "Ω")
    match = _WRITTEN.fullmatch(text) if len(text) <= LONGEST_WRITTEN else None
    if match is None or match[2].startswith(","):
        what = "has a comma for a point" if "," in text else "is not a number with a unit"
        raise ValueError(f'{what}; write it like "{example}"')
    number, unit = match.groups()
    if not unit and not bare:
        raise ValueError(f'has no unit; write it like "{example}"')
    if unit and unit not in units:
        known = ", ".join(units)
        are = "are" if len(units) > 1 else "is"
        raise ValueError(f'has the unit "{unit}"; known here {are} {known}, as in "{example}"')
    return Fraction(number) * (units[unit] if unit else 1)


def duration(written: object, example: str = "8 h", *, over_zero: bool = False) -> timedelta:
    """Return a written duration.

    Raises:
        ValueError: it has no unit, is negative, is longer than ten years, or is zero where it
            must be `over_zero`.
    """
    seconds = quantity(written, DURATION, example, bare=False)
    if seconds < 0:
        raise ValueError(f'is negative; write it like "{example}"')
    if seconds > _LONGEST.total_seconds():
        raise ValueError(f'is longer than ten years; write it like "{example}"')
    span = timedelta(microseconds=round(seconds * 10**6))
    if over_zero and not span:
        raise ValueError(f'is zero, and this takes some time; write it like "{example}"')
    return span


def shown(value: object) -> str:
    """Return a value as people write it: a fraction as a decimal number."""
    return f"{float(value):g}" if isinstance(value, Fraction) else str(value)


def shown_duration(span: timedelta) -> str:
    """Return a duration in the largest unit that leaves it a short number."""
    seconds = Fraction(round(span.total_seconds() * 10**6), 10**6)
    for unit in ("d", "h", "min", "s", "ms"):
        value = seconds / DURATION[unit]
        if value >= 1 and (value * 2).denominator == 1:
            return f"{float(value):g} {unit}"
    return f"{float(seconds):g} s" if seconds >= 1 else f"{float(seconds * 1000):g} ms"


def shown_frequency(hertz: Fraction | int) -> str:
    """Return a frequency in MHz, or kHz below 1 MHz."""
    unit, factor = ("MHz", 10**6) if hertz >= 10**6 else ("kHz", 1000)
    return f"{float(hertz / Fraction(factor)):.10g} {unit}"
