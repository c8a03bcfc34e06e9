"""The roster: who is in the kit, and where everything that is said of it stood."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TypeVar

from auditor.models.fleet import Fleet
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place, Places
from auditor.models.profile import ModuleProfile, Policy, Region
from auditor.survey.module import Module, modules_of

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, eq=False)
class Roster:
    """The modules of a fleet file, by what they are known by."""

    file: FleetFile
    today: date

    @property
    def fleet(self) -> Fleet:
        """The fleet as it was read."""
        return self.file.fleet

    @property
    def places(self) -> Places:
        """Where each value of the fleet stood."""
        return self.file.places

    @property
    def policy(self) -> Policy:
        """The policy that the kit goes by."""
        return self.file.policy

    @property
    def region(self) -> Region | None:
        """What the kit's country permits, where that is known."""
        return self.file.region

    def place(self, *path: str | int) -> Place:
        """Return where a value of the plan stands."""
        return self.places.of(*path)

    @cached_property
    def modules(self) -> tuple[Module, ...]:
        """All modules, in the order of the file."""
        return modules_of(self.file)

    @cached_property
    def profiles(self) -> tuple[ModuleProfile, ...]:
        """The profiles of the kit's modules, each once."""
        named = {each.profile_name: each.profile for each in self.modules if each.profile}
        return tuple(named.values())

    @cached_property
    def by_id(self) -> Mapping[str, tuple[Module, ...]]:
        """The modules of each id."""
        return grouped(self.modules, lambda module: module.id)

    @cached_property
    def by_hardware_address(self) -> Mapping[str, tuple[Module, ...]]:
        """The modules of each hardware address."""
        return grouped(self.modules, lambda module: module.hardware_address)


def grouped(
    modules: Iterable[Module], key: Callable[[Module], Key | None]
) -> Mapping[Key, tuple[Module, ...]]:
    """Return modules by a key, in their order; one without a key is left out."""
    groups: dict[Key, list[Module]] = defaultdict(list)
    for module in modules:
        value = key(module)
        if value is not None:
            groups[value].append(module)
    return {value: tuple(members) for value, members in groups.items()}
