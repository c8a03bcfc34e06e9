"""The kits of which the pages are made: the demo, and those that strain a page."""

import csv
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import tomlkit

from tests.bench.kits import COLUMNS, FAULTS, FLEET, PLAN, SHARED, TABLE, write_kit
from tests.cli.running import run

MANY, HUGE = 300, 10_000
"""Modules."""

MARKUP = "<script>alert(1)</script>"
HOSTILE_IDS = (
    'TG "01"',
    "TG '02'",
    "TG-03<img src=x onerror=alert(3)>",
    "\x1b[31mTG-04\x1b[0m",
    "TG-\u202e50\u202c",
    "</title></style></script>",
    "{{ 7 * 7 }}{% raw %}",
    "&lt;TG-08&gt;",
    "TG-09",
    "TG-09",
    "tg 09",
    "#findings",
    "javascript:alert(13)",
    "TG-\u200e14\u2067",
)
"""Ids that a page could take for its own markup, script, template, link or reading direction."""


def demo(folder: Path) -> Path:
    """Write the demo's kit, and return its fleet file."""
    done = run("demo", ".", folder=folder)
    assert done.stderr == ""
    return folder / "tide-gauges.toml"


def hostile(folder: Path) -> Path:
    """Write a kit whose every free text attacks the page, and return its fleet file."""
    modules = [
        {"id": id, "address": "10.20.0.31", "holder": MARKUP, "note": f"{MARKUP}\x1b[2J\u202e"}
        for id in HOSTILE_IDS
    ]
    modules[0]["network_name"] = "\x1b[31m<b>salt</b>\u202emarsh"
    return _written(folder, _plan(MARKUP, modules, host='"><svg onload=alert(2)>'))


def long_names(folder: Path) -> Path:
    """Write a kit with very long names that have no place to break, and return its fleet file."""
    modules = [
        {"id": f"TG{number:02}" + "W" * 60, "address": "10.20.0.31", "holder": "M" * 200}
        for number in range(1, 13)
    ]
    return _written(folder, _plan("W" * 32, modules, host="Q" * 60))


def many(folder: Path) -> Path:
    """Write a kit of 300 modules, and return its fleet file."""
    return _of_size(folder, MANY)


def huge(folder: Path) -> Path:
    """Write a kit of 10,000 modules, and return its fleet file."""
    return _of_size(folder, HUGE)


def varied(folder: Path) -> Path:
    """Write a kit of 10,000 modules of which few stand alike, and return its fleet file."""
    (folder / FLEET).write_text(PLAN, encoding="utf-8")
    with (folder / TABLE).open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, COLUMNS)
        table.writeheader()
        table.writerows(map(_cells_by_bits, range(1, HUGE + 1)))
    return folder / FLEET


KITS: Mapping[str, Callable[[Path], Path]] = {
    kit.__name__: kit for kit in (demo, hostile, long_names, many, huge, varied)
}


def _of_size(folder: Path, size: int) -> Path:
    write_kit(folder, size)
    return folder / FLEET


def _cells_by_bits(number: int) -> dict[str, str]:
    """Return the cells of a module that has the faults at which its number has a one."""
    address = f"10.1.{number >> 8}.{number & 255}"
    cells = {**SHARED, "id": f"TG-{number:07}", "address": address}
    faults = [fault.cells(number) for fault in FAULTS]
    for place, fault in enumerate([*faults, {"transport": "tcp"}, {"message_bytes": "33"}]):
        cells.update(fault if number >> place & 1 else {})
    return cells


def _written(folder: Path, fleet: Mapping[str, Any]) -> Path:
    file = folder / FLEET
    file.write_text(tomlkit.dumps(fleet), encoding="utf-8")
    return file


def _plan(name: str, modules: list[dict[str, str]], host: str) -> dict[str, Any]:
    return {
        "kit": {"name": name, "term": name, "profile": "generic-24ghz-wpa2", "region": "GB"},
        "network": {
            "name": name,
            "security": "open",
            "band": "2.4 GHz",
            "channel": 6,
            "ipv4": {
                "subnet": "10.20.0.0/24",
                "gateway": "10.20.0.1",
                "pool": {"first": "10.20.0.100", "last": "10.20.0.104"},
            },
            "host": [{"name": host, "address": "10.20.0.10", "port": 4010}],
        },
        "traffic": {"destination": "10.20.0.10", "port": 4010, "talkers": [modules[0]["id"]]},
        "defaults": {"addressing": "static", "saved": True},
        "module": modules,
    }
