"""Passphrases and keys out of the document, before anything else looks at it."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from auditor.models.places import Path, Places
from auditor.models.secrets import Secret, Standing
from auditor.reading.problems import Problem

LARGEST_SECRET_BYTES = 4096
_VARIABLE = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
"""Names of environment variables as shells take them; common practice, no source."""


@dataclass(frozen=True)
class Vault:
    """Where references lead: the environment, and the folder that paths are relative to."""

    environment: Mapping[str, str]
    folder: FilePath
    withheld: bool = False

    def read(self, written: object) -> Secret | None:
        """Return the secret that is written or referred to; None where the form is wrong."""
        if isinstance(written, str):
            return Secret(written, standing=self._standing)
        if not isinstance(written, dict) or len(written) != 1:
            return None
        ((form, value),) = written.items()
        if not isinstance(value, str):
            return None
        if form == "psk":
            return Secret(value, is_key=True, standing=self._standing)
        if form == "env" and _VARIABLE.fullmatch(value):
            return self._referred(self.environment.get(value), f"environment variable {value}")
        if form == "file":
            return self._referred(self._file(value), f"file {value}")
        return None

    @property
    def _standing(self) -> Standing:
        return Standing.WITHHELD if self.withheld else Standing.KNOWN

    def _referred(self, text: str | None, reference: str) -> Secret:
        text = _without_line_end(text or "")
        if text or self.withheld:
            return Secret(text, reference=reference, standing=self._standing)
        return Secret(None, reference=reference, standing=Standing.UNRESOLVED)

    def _file(self, name: str) -> str | None:
        try:
            path = self.folder / name
            if path.stat().st_size > LARGEST_SECRET_BYTES:
                return None
            return path.read_bytes().decode("utf-8-sig")
        except (OSError, ValueError):
            return None


def _without_line_end(text: str) -> str:
    return text.removesuffix("\n").removesuffix("\r")


def take_secrets(data: dict[str, Any], vault: Vault, places: Places) -> list[Problem]:
    """Replace every secret of a raw document by a `Secret`; return what is written wrongly."""
    problems = []
    for table, key, path in _secret_spots(data):
        secret = vault.read(table[key])
        if secret is None:
            problems.append(
                Problem(
                    places.of(*path),
                    'is not a text, { env = "NAME" }, { file = "path" } or { psk = "64 digits" }',
                )
            )
        table[key] = secret or Secret(None, standing=Standing.UNRESOLVED)
    return problems


def _secret_spots(data: dict[str, Any]) -> Iterator[tuple[Any, Any, Path]]:
    """Give each place of the document that may hold a secret: container, key and path."""
    for name in ("network", "defaults"):
        table = data.get(name)
        if isinstance(table, dict) and "passphrase" in table:
            yield table, "passphrase", (name, "passphrase")
    network = data.get("network")
    retired = network.get("retired_passphrases") if isinstance(network, dict) else None
    if isinstance(retired, list):
        for index in range(len(retired)):
            yield retired, index, ("network", "retired_passphrases", index)
    modules = data.get("module")
    for index, entry in enumerate(modules if isinstance(modules, list) else ()):
        if isinstance(entry, dict) and "passphrase" in entry:
            yield entry, "passphrase", ("module", index, "passphrase")
