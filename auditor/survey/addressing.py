"""Addressing: who holds which address, and which are left to lease."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address

from auditor.compute.addresses import AddressRange, directed_broadcast, network_address
from auditor.models.words import Link
from auditor.survey.module import Module
from auditor.survey.plan import Plan
from auditor.survey.positions import Positions


@dataclass(frozen=True, eq=False)
class Addressing(Plan):
    """The addresses of a kit: held, leased and reserved."""

    @cached_property
    def holders(self) -> Positions[int]:
        """The static modules that hold each address, by its number."""
        return Positions(self.modules.static_addresses)

    @cached_property
    def pooled(self) -> tuple[int, ...]:
        """The positions of the modules that lease their address."""
        return tuple(self.modules.pooled)

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
    def fixed_addresses(self) -> frozenset[int]:
        """The number of every address that somebody holds without leasing it."""
        others = [host.address for host in self.hosts]
        others += [self.gateway_address] if self.gateway_address else []
        return frozenset((*self.holders, *map(int, others)))

    @cached_property
    def reserved(self) -> Mapping[IPv4Address, tuple[str, ...]]:
        """The hardware addresses for which each address is reserved."""
        owners: dict[IPv4Address, list[str]] = defaultdict(list)
        for hardware_address, address in self.ipv4.reservations.items():
            owners[address].append(hardware_address)
        return {address: tuple(listed) for address, listed in owners.items()}

    @cached_property
    def reserved_for_others(self) -> frozenset[int]:
        """The numbers of reserved addresses whose owner is no pooled module of this kit."""
        return self._reserved_for(own=False)

    def _reserved_for(self, *, own: bool) -> frozenset[int]:
        """Return the numbers of the addresses that are reserved for pooled modules, or others."""
        return frozenset(
            int(address)
            for hardware_address, address in self.ipv4.reservations.items()
            if self._leases(hardware_address) is own
        )

    def _leases(self, hardware_address: str) -> bool:
        """Say whether a hardware address is that of a pooled module of this kit."""
        return any(
            self.modules[at].is_pooled for at in self.by_hardware_address.of(hardware_address)
        )

    @cached_property
    def pool_room(self) -> int | None:
        """The addresses of the pool that a lease can use."""
        if self.pool is None:
            return None
        return len(self.pool) - self.pool.count_of(self._never_leased)

    @property
    def _never_leased(self) -> frozenset[int]:
        """The numbers of the addresses that no lease can use, in the pool or not."""
        return self.fixed_addresses | self.reserved_for_others | self.no_stations

    @cached_property
    def no_stations(self) -> frozenset[int]:
        """The numbers of the addresses of the subnet that no station may have."""
        subnet = self.subnet
        ends = (network_address(subnet), directed_broadcast(subnet)) if subnet else ()
        return frozenset(int(address) for address in ends if address is not None)

    @cached_property
    def competing(self) -> tuple[int, ...]:
        """The positions of the pooled modules to which no reservation ties an address.

        They are served as they come.
        """
        reserved, owners = self.ipv4.reservations, self.modules.hardware_addresses
        return tuple(index for index in self.pooled if owners[index] not in reserved)

    @cached_property
    def held_throughout(self) -> int:
        """The leases that are never free: of other stations, and reserved for pooled modules."""
        lasting = self._reserved_for(own=True) - self._never_leased
        return self.network.other_stations + (self.pool.count_of(lasting) if self.pool else 0)

    @cached_property
    def has_room_for_all(self) -> bool | None:
        """Whether the pool has an address for everybody at once; None where no pool is given."""
        if self.pool_room is None:
            return None
        return self.held_throughout + len(self.competing) <= self.pool_room

    def holders_of(self, address: IPv4Address) -> tuple[Module, ...]:
        """Return the static modules that hold an address."""
        return self.at(self.holders.of(int(address)))

    def owners_of(self, address: IPv4Address) -> tuple[Module, ...]:
        """Return the modules that have an address: static ones, and those it is reserved for."""
        owners = self.holders_of(address)
        for hardware_address in self.reserved.get(address, ()):
            known = self.at(self.by_hardware_address.of(hardware_address))
            owners += tuple(module for module in known if module.is_pooled)
        return owners

    def is_held(self, address: IPv4Address) -> bool:
        """Say whether somebody has an address for good: static, as a host, or reserved."""
        return int(address) in self.fixed_addresses or address in self.reserved

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
