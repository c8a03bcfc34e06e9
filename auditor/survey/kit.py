"""The survey of a kit: everything that more than one check asks for, computed once."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from ipaddress import IPv4Address, IPv4Network
from typing import Literal, TypeVar

from auditor.compute.addresses import AddressRange, directed_broadcast
from auditor.compute.radio import Band, band_of
from auditor.models.fleet import Fleet, Host, IPv4, Network
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place, Places
from auditor.models.profile import Policy, Region
from auditor.models.secrets import Secret
from auditor.models.words import Link, Security
from auditor.survey.majority import Vote, vote
from auditor.survey.module import Module, modules_of
from auditor.survey.selection import Selection, select

Key = TypeVar("Key", bound=Hashable)

VOTED = (
    "network_name",
    "security",
    "passphrase",
    "subnet",
    "prefix_length",
    "gateway",
    "destination",
    "port",
    "listen_port",
    "transport",
    "serial_rate",
    "data_bits",
    "parity",
    "stop_bits",
    "flow_control",
    "message_bytes",
)
"""The settings that modules of one kit share."""


@dataclass(frozen=True)
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
        return {key: vote(key, self.modules) for key in VOTED}

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

    @cached_property
    def channel_band(self) -> Band | None:
        """The band of the planned channel: the one band that is planned, or the only one it fits."""
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

    def may_talk(self, module: Module) -> bool:
        """Say whether a module is meant to send: it is a talker, or anyone may."""
        return self.talkers is None or module.index in self.talkers.indexes

    def sends(self, module: Module) -> bool:
        """Say whether a module is taken to send: it may talk, and is not said to keep silent."""
        return self.may_talk(module) and module.talks is not False


def _grouped(
    modules: Iterable[Module], key: Callable[[Module], Key | None]
) -> Mapping[Key, tuple[Module, ...]]:
    groups: dict[Key, list[Module]] = defaultdict(list)
    for module in modules:
        value = key(module)
        if value is not None:
            groups[value].append(module)
    return {value: tuple(members) for value, members in groups.items()}
