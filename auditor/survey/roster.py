"""The roster: who is in the kit, and where everything that is said of it stood."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from auditor.models.entries import Entries
from auditor.models.fleet import Fleet
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place, Places
from auditor.models.profile import ModuleProfile, Policy, Region
from auditor.survey.module import Module, Modules
from auditor.survey.positions import Names, Positions


@dataclass(frozen=True)
class Kind:
    """A combination of settings, the first module that has it, and how many have it."""

    module: Module
    count: int


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
    def entries(self) -> Entries:
        """The modules as they were read."""
        return self.file.entries

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
    def modules(self) -> Modules:
        """All modules, in the order of the file."""
        return Modules(self.file)

    @cached_property
    def kinds(self) -> tuple[Kind, ...]:
        """The combinations of settings, in the order in which they come first."""
        first: dict[int, int] = {}
        counts: dict[int, int] = {}
        for index, kind in enumerate(self.entries.kinds):
            first.setdefault(kind, index)
            counts[kind] = counts.get(kind, 0) + 1
        return tuple(Kind(self.modules[index], counts[kind]) for kind, index in first.items())

    @cached_property
    def profiles(self) -> tuple[ModuleProfile, ...]:
        """The profiles of the kit's modules, each once."""
        modules = [kind.module for kind in self.kinds]
        named = {each.profile_name: each.profile for each in modules if each.profile}
        return tuple(named.values())

    @cached_property
    def by_id(self) -> Names:
        """The modules of each id."""
        return Names(self.entries.ids)

    @cached_property
    def by_hardware_address(self) -> Positions[str]:
        """The modules of each hardware address."""
        return Positions(self.modules.hardware_addresses)

    def at(self, indexes: Iterable[int]) -> tuple[Module, ...]:
        """Return the modules at some positions."""
        return tuple(self.modules[index] for index in indexes)

    def ids(self, indexes: Iterable[int]) -> list[str]:
        """Return the ids of the modules at some positions."""
        ids = self.entries.ids
        return [ids[index] for index in indexes]

    @property
    def everyone(self) -> Sequence[int]:
        """The position of every module."""
        return range(len(self.entries))
