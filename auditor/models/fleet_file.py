"""A fleet as it was read: its values, where each stood, and the profiles that it names."""

from collections.abc import Mapping
from dataclasses import dataclass

from auditor.models.fleet import Fleet
from auditor.models.places import Places
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region


@dataclass(frozen=True)
class FleetFile:
    """What reading gives: a profile that was named and not found is missing from its mapping."""

    file: str
    fleet: Fleet
    places: Places
    module_profiles: Mapping[str, ModuleProfile]
    controller_profiles: Mapping[str, ControllerProfile]
    policy: Policy
    region: Region | None
    known_profiles: Mapping[str, tuple[str, ...]]
