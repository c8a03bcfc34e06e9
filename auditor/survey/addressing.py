"""Addressing: who holds which address, and which are left to lease."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address

from auditor.compute.addresses import AddressRange
from auditor.models.words import Link
from auditor.survey.module import Module
from auditor.survey.plan import Plan
from auditor.survey.roster import grouped


@dataclass(frozen=True, eq=False)
class Addressing(Plan):
    """The addresses of a kit: held, leased and reserved."""

    @cached_property
    def holders(self) -> Mapping[IPv4Address, tuple[Module, ...]]:
        """The static modules that hold each address."""
        return grouped(self.modules, lambda module: module.address if module.is_static else None)

    @cached_property
    def pooled(self) -> tuple[Module, ...]:
        """The modules that lease their address."""
        return tuple(module for module in self.modules if module.is_pooled)

    @cached_property
    def pool(self) -> AddressRange | None:
        """The range of leased addresses."""
        pool = self.ipv4.pool
        return AddressRange(pool.first, pool.last) if pool else None

    @property
    def has_address_server(self) -> bool | None:
        """Whether addresses are leased; None where the file does not say."""
        if self.ipv4.address_server is not None:
            return self.ipv4.address_server
        return True if self.pool else None

    @property
    def leased_range(self) -> AddressRange | None:
        """The pool, unless the plan says that no server leases from it."""
        return None if self.has_address_server is False else self.pool

    @cached_property
    def fixed_addresses(self) -> frozenset[IPv4Address]:
        """Every address that somebody holds without leasing it."""
        held = {*self.holders, *(host.address for host in self.hosts)}
        return frozenset(held | ({self.gateway_address} if self.gateway_address else set()))

    @cached_property
    def reserved(self) -> Mapping[IPv4Address, tuple[str, ...]]:
        """The hardware addresses for which each address is reserved."""
        owners: dict[IPv4Address, list[str]] = defaultdict(list)
        for hardware_address, address in self.ipv4.reservations.items():
            owners[address].append(hardware_address)
        return {address: tuple(listed) for address, listed in owners.items()}

    @cached_property
    def reserved_for_others(self) -> frozenset[IPv4Address]:
        """Reserved addresses whose owner is no pooled module of this kit."""
        own = {module.hardware_address for module in self.pooled}
        return frozenset(
            address
            for hardware_address, address in self.ipv4.reservations.items()
            if hardware_address not in own
        )

    @cached_property
    def pool_room(self) -> int | None:
        """The addresses of the pool that a lease can use."""
        if self.pool is None:
            return None
        taken = self.fixed_addresses | self.reserved_for_others
        return len(self.pool) - self.pool.count_of(taken)

    @cached_property
    def competing(self) -> tuple[Module, ...]:
        """The pooled modules to which no reservation ties an address: first come, first served."""
        reserved = self.ipv4.reservations
        return tuple(module for module in self.pooled if module.hardware_address not in reserved)

    @cached_property
    def held_throughout(self) -> int:
        """The leases that are never free: of other stations, and reserved for pooled modules."""
        owners = {module.hardware_address for module in self.pooled}
        reserved = {at for owner, at in self.ipv4.reservations.items() if owner in owners}
        lasting = reserved - self.fixed_addresses - self.reserved_for_others
        return self.network.other_stations + (self.pool.count_of(lasting) if self.pool else 0)

    @cached_property
    def has_room_for_all(self) -> bool | None:
        """Whether the pool has an address for everybody at once; None where no pool is given."""
        if self.pool_room is None:
            return None
        return self.held_throughout + len(self.competing) <= self.pool_room

    def owners_of(self, address: IPv4Address) -> tuple[Module, ...]:
        """Return the modules that have an address: static ones, and those it is reserved for."""
        owners = self.holders.get(address, ())
        for hardware_address in self.reserved.get(address, ()):
            known = self.by_hardware_address.get(hardware_address, ())
            owners += tuple(module for module in known if module.is_pooled)
        return owners

    def rival_for(self, address: IPv4Address, module: Module) -> str | None:
        """Return for whose hardware address, if not the module's own, an address is reserved.

        An unknown owner may be the module itself, where its hardware address is not given.
        """
        own = module.hardware_address
        rivals = (owner for owner in self.reserved.get(address, ()) if owner != own)
        return next((each for each in rivals if own or each in self.by_hardware_address), None)

    def wireless_holder(self, address: IPv4Address) -> str | None:
        """Return who holds an address by radio: a wireless host or a module."""
        host = self.host_at.get(address)
        if host is not None:
            return host.name if host.link is Link.WIRELESS else None
        owners = self.owners_of(address)
        return owners[0].id if owners else None
