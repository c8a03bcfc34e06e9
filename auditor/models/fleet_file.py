"""A fleet as it was read: its values, where each stood, and the profiles that it names."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from auditor.models.entries import Entries
from auditor.models.fleet import Fleet
from auditor.models.places import Places
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region
from auditor.models.secrets import Secret


@dataclass(frozen=True)
class FleetFile:
    """What reading gives: a profile that was named and not found is missing from its mapping.

    `entries` holds every module, those of the table after those of the file itself.
    """

    file: str
    fleet: Fleet
    entries: Entries
    places: Places
    module_profiles: Mapping[str, ModuleProfile]
    controller_profiles: Mapping[str, ControllerProfile]
    policy: Policy
    region: Region | None
    known_profiles: Mapping[str, tuple[str, ...]]

    @property
    def secrets(self) -> Iterator[Secret]:
        """Every passphrase and key that the file or its table gives."""
        fleet = self.fleet
        if fleet.network:
            yield from fleet.network.retired_passphrases
        for table in (fleet.network, fleet.defaults, *self.entries.settings):
            if table and table.passphrase:
                yield table.passphrase
