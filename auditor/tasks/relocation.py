"""What the modules of a kit are to be set to, and from which address to which each of them goes."""

from collections import defaultdict
from collections.abc import Mapping
from functools import cached_property
from ipaddress import IPv4Address

from auditor.compute.addresses import FreeAddresses
from auditor.compute.ordering import Move
from auditor.models.fleet_file import FleetFile
from auditor.models.words import Addressing
from auditor.survey.kit import Survey
from auditor.tasks.comparison import Compared, Comparison, Value, matched
from auditor.tasks.differences import KEYS, Sides


class Relocation:
    """A planned kit beside what was found of it; a module is known by its position in the plan.

    Raises:
        UnusableError: an entry stands twice, so that nobody can say which module it is.
    """

    def __init__(self, planned: FleetFile, found: FleetFile, compared: Comparison) -> None:
        self.sides = Sides(planned, found)
        self.pairs = matched(self.sides, planned, found)
        self.compared = compared
        known = set(self.pairs.values())
        self._extras = [at for at in range(len(found.entries)) if at not in known]

    def __getitem__(self, at: int) -> Compared:
        """Return how a module stands beside its plan."""
        return self.compared.modules[at]

    @property
    def survey(self) -> Survey:
        """The survey of the planned kit."""
        return self.sides.survey

    def id(self, at: int) -> str:
        """Return the planned id of a module."""
        return self[at].id

    @cached_property
    def changes(self) -> Mapping[int, Mapping[str, Value]]:
        """What each module that is not as planned is to be set to, by key in their usual order."""
        changes = {at: self._changes(at) for at in self.pairs}
        return {at: each for at, each in changes.items() if each}

    def _changes(self, at: int) -> Mapping[str, Value]:
        """Return the new values; whoever becomes static needs an address too."""
        values = {change.key: change.planned for change in self[at].changes}
        address = self.sides.planned.static_addresses[at]
        if values.get("addressing") == Addressing.STATIC and address is not None:
            values["address"] = str(IPv4Address(address))
        return {key: values[key] for key in KEYS if key in values}

    @cached_property
    def moves(self) -> Mapping[int, Move]:
        """From which address to which each module goes that is not as planned."""
        return {at: Move(self.held(at), self._wanted(at), *self._rates(at)) for at in self.changes}

    def held(self, at: int) -> int | None:
        """Return the number of the address at which a module was found, leased or not."""
        return self.sides.found.addresses[self.pairs[at]]

    def _wanted(self, at: int) -> int | None:
        if self.changes[at].keys().isdisjoint(("address", "addressing")):
            return self.held(at)
        return self.sides.planned.static_addresses[at]

    def _rates(self, at: int) -> tuple[int | None, int | None]:
        """Return the serial rates of now and then; what was not read out is as planned."""
        planned = self.sides.planned[at].serial_rate
        found = self.sides.found[self.pairs[at]].serial_rate
        return found or planned, planned or found

    @cached_property
    def holders(self) -> Mapping[int, list[int]]:
        """The planned modules that were found at each address."""
        holders: dict[int, list[int]] = defaultdict(list)
        for at in self.pairs:
            number = self.held(at)
            if number is not None:
                holders[number].append(at)
        return holders

    @cached_property
    def extras(self) -> Mapping[int, list[str]]:
        """The ids of the modules at each address that are not planned."""
        extras: dict[int, list[str]] = defaultdict(list)
        for at in self._extras:
            number = self.sides.found.addresses[at]
            if number is not None:
                extras[number].append(self.sides.found[at].id)
        return {number: sorted(ids) for number, ids in sorted(extras.items())}

    @cached_property
    def hosts(self) -> Mapping[int, str]:
        """Who holds an address in the plan and is no module, in words."""
        gateway, hosts = self.survey.gateway_address, self.survey.hosts
        there = {} if gateway is None else {int(gateway): "the gateway"}
        return {**there, **{int(host.address): f"the host {host.name}" for host in hosts}}

    def parking_address(self, near: int) -> IPv4Address | None:
        """Return a free address at which nobody is, nor is to be, nor comes by a lease."""
        subnet, pool = self.survey.subnet, self.survey.pool
        if subnet is None:
            return None
        taken = (*self.survey.modules.addresses, *self.sides.found.addresses)
        fixed = (*self.hosts, *map(int, self.survey.reserved))
        numbers = (each for each in (*taken, *fixed) if each is not None)
        free = FreeAddresses(subnet, numbers, [pool] if pool else ())
        return free.take_nearest(IPv4Address(near))
