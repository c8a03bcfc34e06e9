"""Secrets that are used nowhere else, and kits that hold one in every place where it may stand.

Each secret is made of no ordinary words, so that any six characters of it are a leak wherever
they are found.
"""

import csv
import io
import json
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit

from auditor.models.fleet import Fleet
from auditor.models.forms import Table
from auditor.reading.table import KNOWN_KEYS
from auditor.reading.trade import TRADE_WORDS

NETWORK_NAME = "saltmarsh-gauges"
OTHER = "plover-anchor-basalt-meadow-58"
"""The passphrase of the network where the canary is a module's own."""

KeyPath = tuple[str | int, ...]


@dataclass(frozen=True)
class Canary:
    """A secret, and the security mode that takes it."""

    text: str
    security: str = "wpa2-personal"


AWKWARD = Canary('Kv7q<wz"Xj&9p%Lm\\tRb')
"""It looks another way in HTML, in JSON, in a URL and in a table."""
PLAIN = Canary("Qz7wKx2vJp9hTb4n")
KEY = Canary("5b1e90c47a2fd8366c0b7e94a1d35f28e7904bc6213d8fa05e6c91b7d24803fa")
CANARIES = {
    "awkward": AWKWARD,
    "plain": PLAIN,
    "digits": Canary("8123400765"),
    "as long as it may be": Canary("Zt4" + "Gy8mVq1xRk6wPz3sHn7bJc5fLd9g" * 2 + "Xw2T"),
    "key": KEY,
    "key in capitals": Canary(KEY.text.upper()),
    "beyond ASCII": Canary("Žq7wółKx2vJþ9ħTb", "wpa3-personal"),
    "wep-40": Canary("q7#Zx", "wep-40"),
    "wep-40 in digits": Canary("a9f03c71e5", "wep-40"),
    "wep-104": Canary("Wj5#kQ0z&Lv8p", "wep-104"),
    "wep-104 in digits": Canary("d41c7be9520fa86b3e97c0145d", "wep-104"),
}


@dataclass(frozen=True)
class Kit:
    """The files of a kit by name, the one that is audited, and what a run of it needs besides."""

    files: Mapping[str, str]
    fleet: str = "kit.toml"
    environment: Mapping[str, str] = field(default_factory=dict)
    options: tuple[str, ...] = ()

    def write(self, folder: Path) -> str:
        """Write the files into a folder, and return the name of the fleet file."""
        for name, text in self.files.items():
            (folder / name).write_text(text, encoding="utf-8")
        return self.fleet


def quoted(text: str) -> str:
    """Return a text as TOML writes it: a JSON string is one."""
    return json.dumps(text)


def document(canary: Canary) -> dict[str, Any]:
    """Return a fleet whose network has the canary, with an entry in every list of tables."""
    return {
        "kit": {"name": "Tide gauges", "term": "spring"},
        "network": {
            "name": NETWORK_NAME,
            "security": canary.security,
            "passphrase": canary.text,
            "ipv4": {
                "subnet": "10.20.0.0/24",
                "pool": {"first": "10.20.0.100", "last": "10.20.0.149"},
            },
            "host": [{"name": "logger", "address": "10.20.0.10"}],
        },
        "session": [
            {
                "name": "group A",
                "start": tomlkit.datetime("2026-03-02T09:00:00"),
                "end": tomlkit.datetime("2026-03-02T12:00:00"),
                "modules": ["TG-01"],
            }
        ],
        "waiver": [{"check": "passphrase-in-clear", "reason": "a bench of our own"}],
        "module": [{"id": "TG-01", "address": "10.20.0.31"}, {"id": "TG-02"}],
    }


def kit_of(fleet: Mapping[str, Any], **more: Any) -> Kit:
    """Return a kit of one fleet file."""
    return Kit({"kit.toml": tomlkit.dumps(fleet)}, **more)


def forms(canary: Canary) -> dict[str, tuple[Any, Kit]]:
    """Return each way to write a secret, with the files and the environment that it rests on."""
    text = canary.text
    return {
        "in clear": (text, Kit({})),
        "env": ({"env": "GAUGE_SECRET"}, Kit({}, environment={"GAUGE_SECRET": text})),
        "file": ({"file": "secret.txt"}, Kit({"secret.txt": text + "\n"})),
        "psk": ({"psk": text}, Kit({})),
    }


def proper_kits(canary: Canary) -> Iterator[tuple[str, Kit]]:
    """Give a kit for every place that is meant for a secret, in every form."""
    for form, (written, beside) in forms(canary).items():
        for place in ("network", "retired", "defaults", "module"):
            fleet = document(canary)
            _put_secret(fleet, place, written)
            files = {"kit.toml": tomlkit.dumps(fleet), **beside.files}
            yield f"{place}, {form}", Kit(files, environment=beside.environment)


def _put_secret(fleet: dict[str, Any], place: str, written: Any) -> None:
    if place != "network":
        fleet["network"]["passphrase"] = OTHER
    if place == "retired":
        fleet["network"]["retired_passphrases"] = [written]
        fleet["module"][0]["passphrase"] = written
    elif place == "module":
        fleet["module"][1]["passphrase"] = written
    else:
        fleet.setdefault(place, {})["passphrase"] = written


def tables(canary: Canary) -> Iterator[tuple[str, Kit]]:
    """Give a table of modules for every header that means a passphrase, planned or not."""
    headers = ["passphrase", *(key for key, ours in TRADE_WORDS.items() if ours == "passphrase")]
    for header in headers:
        yield header, Kit({"kit.csv": table(("id", header), canary)}, fleet="kit.csv")
    mapped = table(("id", "Losung"), canary)
    options = ("--column", "Losung=passphrase")
    yield "a header that is mapped", Kit({"kit.csv": mapped}, fleet="kit.csv", options=options)
    fleet = document(Canary(OTHER))
    fleet["kit"]["modules"] = "kit.csv"
    files = {"kit.toml": tomlkit.dumps(fleet), "kit.csv": table(("id", "Password"), canary)}
    yield "a table beside the fleet file", Kit(files)


def table(header: tuple[str, ...], canary: Canary, separator: str = ",") -> str:
    """Return a table of three modules, all of whose cells but the ids are the canary."""
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=separator, lineterminator="\n")
    writer.writerow((*header, "network_name", "security"))
    for number in (31, 32, 33):
        cells = [f"TG-{number}" if key == "id" else canary.text for key in header]
        writer.writerow((*cells, NETWORK_NAME, canary.security))
    return stream.getvalue()


def columns() -> tuple[str, ...]:
    """Return the keys that a column can have, and that are meant for something else."""
    return tuple(key for key in KNOWN_KEYS if key not in ("id", "passphrase", "security"))


def keys_of(model: type[Table] = Fleet, before: KeyPath = ()) -> Iterator[KeyPath]:
    """Give the path of every key of a fleet file, the first entry of each list of tables."""
    for name, about in model.model_fields.items():
        inner, is_list = _inner(about.annotation)
        path = (*before, name, 0) if is_list else (*before, name)
        if inner is None:
            yield (*before, name)
        else:
            yield from keys_of(inner, path)


def _inner(annotation: Any) -> tuple[type[Table] | None, bool]:
    """Return the table that an annotation speaks of, and whether it speaks of a list of them."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation, False
    is_list = getattr(annotation, "__origin__", None) is tuple
    for argument in getattr(annotation, "__args__", ()):
        inner, _ = _inner(argument)
        if inner is not None:
            return inner, is_list
    return None, False


def misplaced(canary: Canary, path: KeyPath, written: Any) -> Kit:
    """Return a kit whose network has the canary, and which has something at a path besides."""
    fleet = deepcopy(document(canary))
    table: Any = fleet
    for part in path[:-1]:
        table = table[part] if isinstance(part, int) else table.setdefault(part, {})
    table[path[-1]] = written
    return kit_of(fleet)
