"""The survey of a kit: everything that more than one check asks for, computed once."""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from ipaddress import IPv4Address, IPv4Network
from typing import Literal, TypeVar

from auditor.compute.addresses import AddressRange, directed_broadcast
from auditor.compute.near_misses import nearest
from auditor.compute.radio import Band, band_of
from auditor.models.fleet import Fleet, Host, IPv4, Network
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place, Places
from auditor.models.profile import ModuleProfile, Policy, Region
from auditor.models.secrets import Secret
from auditor.models.words import Link, Security
from auditor.survey.majority import STAGE_OF, Vote, vote
from auditor.survey.module import Module, modules_of
from auditor.survey.selection import Selection, select
from auditor.survey.traffic import TrafficSum, traffic_sum

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, eq=False)
class Survey:
    """A fleet file and what follows from it for the kit as a whole."""

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
        return _grouped(self.modules, lambda module: module.id)

    @cached_property
    def by_hardware_address(self) -> Mapping[str, tuple[Module, ...]]:
        """The modules of each hardware address."""
        return _grouped(self.modules, lambda module: module.hardware_address)

    @cached_property
    def holders(self) -> Mapping[IPv4Address, tuple[Module, ...]]:
        """The static modules that hold each address."""
        return _grouped(
            self.modules, lambda module: module.address if module.is_static else None
        )

    @cached_property
    def is_inferred(self) -> bool:
        """Whether no network is planned, so that the kit is compared with itself."""
        return self.fleet.network is None

    @cached_property
    def network(self) -> Network:
        """The planned network; an empty one where none is planned."""
        return self.fleet.network or Network()

    @property
    def ipv4(self) -> IPv4:
        """The planned subnet, pool and address server."""
        return self.network.ipv4

    @cached_property
    def votes(self) -> Mapping[str, Vote]:
        """How the modules divide over each setting that they share."""
        return {key: vote(key, self.modules) for key in STAGE_OF}

    @cached_property
    def network_name(self) -> str | None:
        """The name of the network: planned, or what most modules say."""
        if not self.is_inferred:
            return self.network.name
        name: str | None = self.votes["network_name"].winner
        return name

    @cached_property
    def security(self) -> Security | None:
        """The security of the network: planned, or what most modules say."""
        if not self.is_inferred:
            return self.network.security
        security: Security | None = self.votes["security"].winner
        return security

    @cached_property
    def passphrase(self) -> Secret | None:
        """The passphrase of the network: planned, or what most modules say."""
        if not self.is_inferred:
            return self.network.passphrase
        secret: Secret | None = self.votes["passphrase"].winner
        return secret

    @cached_property
    def subnet(self) -> IPv4Network | None:
        """The subnet: planned, or that of most modules."""
        if not self.is_inferred:
            return self.ipv4.subnet
        subnet: IPv4Network | None = self.votes["subnet"].winner
        return subnet

    @cached_property
    def broadcast_address(self) -> IPv4Address | None:
        """The directed broadcast of the subnet."""
        return directed_broadcast(self.subnet) if self.subnet else None

    @cached_property
    def gateway(self) -> IPv4Address | Literal["none"] | None:
        """The gateway: planned, or what most modules say."""
        if not self.is_inferred:
            return self.ipv4.gateway
        gateway: IPv4Address | Literal["none"] | None = self.votes["gateway"].winner
        return gateway

    @property
    def gateway_address(self) -> IPv4Address | None:
        """The address of the gateway, where there is one."""
        return self.gateway if isinstance(self.gateway, IPv4Address) else None

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
    def bands(self) -> frozenset[Band]:
        """The bands on which the network is open, as far as the plan says."""
        planned = frozenset(self.network.band)
        return planned or (frozenset({self.channel_band}) if self.channel_band else frozenset())

    @cached_property
    def channel_band(self) -> Band | None:
        """The band of the planned channel: the planned one, or the only one that it fits."""
        bands = self.network.band
        if len(bands) == 1:
            return bands[0]
        return band_of(self.network.channel) if self.network.channel is not None else None

    @property
    def hosts(self) -> tuple[Host, ...]:
        """The hosts of the plan."""
        return self.network.host

    @cached_property
    def host_at(self) -> Mapping[IPv4Address, Host]:
        """The host at each address."""
        return {host.address: host for host in reversed(self.hosts)}

    @cached_property
    def pooled(self) -> tuple[Module, ...]:
        """The modules that lease their address."""
        return tuple(module for module in self.modules if module.is_pooled)

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
    def _broadcast_views(self) -> Counter[IPv4Address | None]:
        """How many hosts and modules take each address as the broadcast of their subnet."""
        views: Counter[IPv4Address | None] = Counter()
        views[self.broadcast_address] += len(self.hosts)
        views.update(self._broadcast_view(module) for module in self.modules)
        return views

    def _broadcast_view(self, module: Module) -> IPv4Address | None:
        return module.directed_broadcast if module.is_static else self.broadcast_address

    def all_others_take(self, destination: IPv4Address, sender: Module) -> bool:
        """Say whether there are others, and all of them take an address as their broadcast."""
        others = len(self.hosts) + len(self.modules) - 1
        own = self._broadcast_view(sender) == destination
        return others > 0 and self._broadcast_views[destination] - own == others

    def wireless_holder(self, address: IPv4Address) -> str | None:
        """Return who holds an address by radio: a wireless host or a module."""
        host = self.host_at.get(address)
        if host is not None:
            return host.name if host.link is Link.WIRELESS else None
        owners = self.owners_of(address)
        return owners[0].id if owners else None

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

    @cached_property
    def _listening(self) -> Counter[int]:
        """How many modules and hosts listen on each port."""
        ports = [module.listen_port for module in self.modules]
        ports += [host.port for host in self.hosts]
        return Counter(port for port in ports if port is not None)

    def ports_of_others(self, module: Module) -> Counter[int]:
        """Return how many modules and hosts, not counting one module, listen on each port."""
        own = [] if module.listen_port is None else [module.listen_port]
        return self._listening - Counter(own)

    @cached_property
    def accepted(self) -> frozenset[str] | None:
        """The hardware addresses that the access point takes; None where it takes any."""
        listed = self.network.accept_list
        return None if listed is None else frozenset(listed)

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

    @cached_property
    def stations(self) -> int:
        """The stations that associate when everybody is there at once."""
        wireless = sum(host.link is Link.WIRELESS for host in self.hosts)
        return len(self.modules) + self.network.other_stations + wireless

    @cached_property
    def sessions(self) -> tuple[tuple[int, Selection], ...]:
        """The sessions by their number, with the modules that attend."""
        return tuple(
            (number, select(session.modules, self.by_id))
            for number, session in enumerate(self.fleet.session)
        )

    @cached_property
    def talkers(self) -> Selection | None:
        """Who is meant to talk, by the traffic table; None means anyone may."""
        names = self.fleet.traffic.talkers
        if names is None:
            return None
        return select(names, self.by_id, also={host.name for host in self.hosts})

    @cached_property
    def likely_talkers(self) -> Mapping[str, str]:
        """What the names among the talkers that mean nobody probably stand for."""
        known = [*self.by_id, *(host.name for host in self.hosts)]
        unknown = self.talkers.unknown if self.talkers else ()
        close = ((name, nearest(name, known)) for name in unknown)
        return {name: right for name, right in close if right is not None}

    @cached_property
    def traffic_sum(self) -> TrafficSum:
        """What all talkers send, by whom it is for."""
        senders = [module for module in self.modules if self.sends(module)]
        hosts = len(self.talkers.others) if self.talkers else 0
        return traffic_sum(senders, hosts, self.fleet.traffic, self.broadcast_address)

    def may_talk(self, module: Module) -> bool:
        """Say whether a module is meant to send: it is a talker, or anyone may."""
        return self.talkers is None or module.index in self.talkers.indexes

    def sends(self, module: Module) -> bool:
        """Say whether a module is taken to send: it may talk, and is not said to keep silent."""
        return self.may_talk(module) and module.talks is not False


def most_common(ports: Counter[int]) -> int | None:
    """Return the port that is counted most often, of several the lowest."""
    return min(ports, key=lambda port: (-ports[port], port), default=None)


def _grouped(
    modules: Iterable[Module], key: Callable[[Module], Key | None]
) -> Mapping[Key, tuple[Module, ...]]:
    groups: dict[Key, list[Module]] = defaultdict(list)
    for module in modules:
        value = key(module)
        if value is not None:
            groups[value].append(module)
    return {value: tuple(members) for value, members in groups.items()}
