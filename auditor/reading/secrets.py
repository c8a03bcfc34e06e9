"""Passphrases and keys out of the document, before anything else looks at it."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from auditor.models.places import Path, Places
from auditor.models.secrets import Secret, Standing
from auditor.reading.files import MissingFileError, Reach, UnreadableError, content
from auditor.reading.problems import Problem
from auditor.reading.quoting import may_be_secret

LARGEST_SECRET_BYTES = 4096
_VARIABLE = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
"""Names of environment variables as shells take them; common practice, no source."""
_FORMS = 'is not a text, { env = "NAME" }, { file = "path" } or { psk = "64 digits" }'


@dataclass(frozen=True)
class Vault:
    """Where references lead: the environment, and the folders that paths may lead into."""

    environment: Mapping[str, str]
    reach: Reach
    withheld: bool = False

    def read(self, written: object) -> Secret | None:
        """Return the secret that is written or referred to; None where the form is wrong.

        Raises:
            UnreadableError: it is in a file to which no path may lead.
        """
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
            return self._in_environment(value)
        return self._in_file(value) if form == "file" else None

    @property
    def _standing(self) -> Standing:
        return Standing.WITHHELD if self.withheld else Standing.KNOWN

    def _in_environment(self, name: str) -> Secret:
        text = self.environment.get(name)
        return self._referred("environment variable", name, text, "is not set")

    def _in_file(self, name: str) -> Secret:
        try:
            path = self.reach.path(name)
        except UnreadableError:
            if self.withheld:
                return Secret(None, standing=Standing.WITHHELD)
            raise
        text, reason = _read(path)
        return self._referred("file", name, text, reason, path)

    def _referred(
        self, kind: str, name: str, text: str | None, reason: str, path: FilePath | None = None
    ) -> Secret:
        """Return what a reference leads to; where it leads nowhere, with the reason."""
        is_named = text is not None or not may_be_secret(name)  # people write the secret itself
        reference = f"{kind} {name}" if is_named else f"the {kind} that it names"
        if text is not None:
            text, reason = _without_line_end(text), "is empty"
        if text or self.withheld:
            return Secret(text, reference=reference, standing=self._standing, file=path)
        standing = Standing.UNRESOLVED
        return Secret(None, reference=reference, standing=standing, reason=reason, file=path)


def _read(path: FilePath) -> tuple[str | None, str]:
    """Return the text of a file with a secret, or the reason why there is none."""
    try:
        return content(path, LARGEST_SECRET_BYTES).decode("utf-8-sig"), ""
    except MissingFileError:
        return None, "is not there"
    except UnreadableError as reason:
        return None, str(reason)
    except UnicodeDecodeError:
        return None, "is no text in UTF-8"


def _without_line_end(text: str) -> str:
    return text.removesuffix("\n").removesuffix("\r")


def take_secrets(data: dict[str, Any], vault: Vault, places: Places) -> list[Problem]:
    """Replace every secret of a raw document by a `Secret`; return what is written wrongly."""
    problems = []
    for table, key, path in _secret_spots(data):
        written, reason = table[key], _FORMS
        table[key] = Secret(None, standing=Standing.UNRESOLVED)
        try:
            secret = vault.read(written)
        except UnreadableError as outside:
            secret, reason = None, f"the file that it names {outside}"
        if secret is None:
            problems.append(Problem(places.of(*path), reason))
        else:
            table[key] = secret
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
