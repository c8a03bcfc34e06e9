"""The table of ratios, and where it was measured."""

import os
import platform
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version

from tabulate import tabulate

HEADERS = ("measured", "modules", "ours", "beside it", "ratio", "at most", "")
PACKAGES = ("pydantic", "pydantic-core", "typer", "tabulate", "pandas", "numpy", "netaddr")


@dataclass(frozen=True)
class Ratio:
    """Two quantities of one unit, and what their ratio should be at most, if anything."""

    what: str
    modules: int
    ours: float
    beside: float
    unit: str
    at_most: float | None = None

    @property
    def ratio(self) -> float | None:
        """Ours by the other, None where the other is too small to be measured."""
        return self.ours / self.beside if self.beside else None

    @property
    def cells(self) -> tuple[str, ...]:
        """The row of the table."""
        values = (f"{value:,.1f} {self.unit}" for value in (self.ours, self.beside))
        ratio = "" if self.ratio is None else f"{self.ratio:.2f}"
        limit = "" if self.at_most is None else f"{self.at_most:.2f}"
        return self.what, f"{self.modules:,}", *values, ratio, limit, self._judgement

    @property
    def _judgement(self) -> str:
        if self.at_most is None or self.ratio is None:
            return ""
        return "kept" if self.ratio <= self.at_most else "missed"


@dataclass(frozen=True)
class Refusal:
    """A kit that the auditor does not read, why, and what the other takes where that is known."""

    what: str
    modules: int
    reason: str
    beside: str = ""

    @property
    def cells(self) -> tuple[str, ...]:
        """The row of the table."""
        return self.what, f"{self.modules:,}", "refused", self.beside, "", "", self.reason


Row = Ratio | Refusal


def table(rows: Iterable[Row]) -> str:
    """Return the rows in columns."""
    sides = ("left", *["right"] * 5, "left")
    cells = [row.cells for row in rows]
    return tabulate(cells, headers=HEADERS, colalign=sides, disable_numparse=True)


def where() -> str:
    """Return on what the rows were measured: Python, packages, system, processor cores."""
    packages = ", ".join(f"{name} {_version(name)}" for name in PACKAGES)
    return (
        f"Measured with {platform.python_implementation()} {platform.python_version()}, "
        f"{packages}; {platform.system()} {platform.machine()}, {os.cpu_count()} cores."
    )


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "(absent)"
