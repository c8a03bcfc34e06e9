"""Which files a fleet was read from: no report may ever take the place of one of them."""

from collections.abc import Iterator
from pathlib import Path

from auditor.models.fleet_file import FleetFile
from auditor.reading.profiles import is_path


def inputs(file: FleetFile, policy: str | None = None) -> Iterator[Path]:
    """Give the fleet file, and every file that it or the command line names, as far as it was read.

    `policy` is the one that was named on the command line.
    """
    folder, kit = Path(file.file).parent, file.fleet.kit
    profiles = (kit.policy, kit.region, *file.module_profiles, *file.controller_profiles)
    yield Path(file.file)
    yield from (folder / kit.modules,) if kit.modules else ()
    yield from (folder / name for name in profiles if name and is_path(name))
    yield from (secret.file for secret in file.secrets if secret.file)
    yield from (Path(policy),) if policy and is_path(policy) else ()
