"""The example of each check: a clean kit of four modules, and the lines that spoil it."""

from functools import cache
from importlib.resources import files
from typing import Any

import tomlkit

from auditor.models.fleet_file import FleetFile
from auditor.reading.fleet import fleet_of_text

FILE = "kit.toml"
ENVIRONMENT = {
    "GAUGE_PASSPHRASE": "heron-tidal-ledger-quartz-41",
    "OTHER_PASSPHRASE": "plover-anchor-basalt-meadow-58",
    "LAST_TERM_PASSPHRASE": "curlew-brackish-lantern-harbour-77",
    "SHORT_PASSPHRASE": "heron-1",
    "WEAK_PASSPHRASE": "saltmarsh2026",
}
"""What the references of the examples lead to: example passphrases, used nowhere."""


@cache
def clean_text() -> str:
    """Return the fleet file of the clean kit."""
    return (files("auditor.examples") / "kit.toml").read_text(encoding="utf-8")


def spoiled_text(lines: str) -> str:
    """Return the clean kit with some lines laid over it.

    Tables are laid over tables key by key; modules go by their id, hosts and sessions by their
    name, and one that the clean kit does not have is added.
    """
    document = tomlkit.parse(clean_text())
    _lay_over(document, tomlkit.parse(lines))
    return tomlkit.dumps(document)


def fleet_of(lines: str) -> FleetFile:
    """Return the fleet of the clean kit with some lines laid over it; a table stands alone."""
    if lines.startswith("id,"):
        return fleet_of_text(lines, "kit.csv", ENVIRONMENT)
    return fleet_of_text(spoiled_text(lines), FILE, ENVIRONMENT)


def _lay_over(table: Any, lines: Any) -> None:
    for key, value in lines.items():
        if isinstance(value, tomlkit.items.AoT):
            _lay_over_list(table, key, value)
        elif isinstance(value, dict) and not _is_inline(value) and key in table:
            _lay_over(table[key], value)
        else:
            table[key] = value


def _is_inline(value: Any) -> bool:
    """Say whether a table is written as one value, which stands instead of the present one."""
    return isinstance(value, tomlkit.items.InlineTable)


def _lay_over_list(table: Any, key: str, elements: Any) -> None:
    """Lay each element over the one of the same id or name, once, or add it."""
    present = table.setdefault(key, tomlkit.aot())
    free = {_name(each): each for each in present}
    for element in elements:
        match = free.pop(_name(element), None)
        if match is None:
            present.append(element)
        else:
            _lay_over(match, element)


def _name(element: Any) -> str:
    return str(element.get("id") or element.get("name"))
