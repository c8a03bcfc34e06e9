"""The rate table of a serial clock, as text and as JSON."""

from fractions import Fraction
from typing import Any

from tabulate import tabulate

from auditor.models.quantities import shown_frequency
from auditor.reports.as_json import json_text
from auditor.tasks.uart import Choice, RateTable, RateVerdict

_HEADERS = ("samples per bit", "divisor", "actual rate", "error", "verdict")
_ALIGNED = ("right", "right", "right", "right", "left")
_EXPLANATION = (
    "exact: no error; good: up to half of what a receiver tolerates over one frame;\n"
    "marginal: up to all of it; unusable: more. The other end's error adds to this."
)


def text(table: RateTable) -> str:
    """Return the table, and a line that says what each verdict rests on."""
    rows = [_HEADERS, *map(_cells, table.choices)]
    drawn = tabulate(rows, tablefmt="plain", disable_numparse=True, colalign=_ALIGNED)
    parts = (_heading(table), drawn, _advice(table), _EXPLANATION)
    return "\n\n".join("\n".join(map(str.rstrip, part.splitlines())) for part in parts) + "\n"


def json(table: RateTable) -> str:
    """Return the table as a JSON text: rates in Bd, errors in per cent of the wanted rate."""
    return json_text(
        {
            "clock_hz": _number(table.clock_hz),
            "rate": table.rate,
            "rows": [_row(choice) for choice in table.choices],
            "best": _row(table.best),
        }
    )


def _heading(table: RateTable) -> str:
    return (
        f"{table.rate} Bd from {shown_frequency(table.clock_hz)}, "
        f"{float(table.frame_bits):g} bits a frame: {table.bytes_per_s:.6g} bytes a second"
    )


def _advice(table: RateTable) -> str:
    best = table.best
    way = f"{_divisor(best.divisor)} with {best.samples_per_bit} samples per bit"
    if best.verdict is RateVerdict.UNUSABLE:
        return f"none is usable, not even {way}: choose another rate or clock"
    return f"best: load {way}"


def _cells(choice: Choice) -> tuple[str, ...]:
    return (
        str(choice.samples_per_bit),
        _divisor(choice.divisor),
        f"{float(choice.actual_rate):.6g} Bd",
        f"{float(choice.error_percent):+.2f} %" if choice.error_percent else "0 %",
        choice.verdict,
    )


def _divisor(divisor: Fraction) -> str:
    return f"{float(divisor):.12g}"


def _row(choice: Choice) -> dict[str, Any]:
    return {
        "samples_per_bit": choice.samples_per_bit,
        "divisor": _number(choice.divisor),
        "actual_rate": round(float(choice.actual_rate), 3),
        "error_percent": round(float(choice.error_percent), 4),
        "verdict": choice.verdict,
    }


def _number(value: Fraction) -> int | float:
    return int(value) if value.denominator == 1 else float(value)
