"""The plan: the network as it is written down, or what most modules say where it is not."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address, IPv4Network
from typing import Literal

from auditor.compute.addresses import directed_broadcast
from auditor.compute.radio import Band, band_of
from auditor.models.fleet import Host, IPv4, Network
from auditor.models.secrets import Secret
from auditor.models.words import Security
from auditor.survey.majority import STAGE_OF, Vote, vote
from auditor.survey.roster import Roster


@dataclass(frozen=True, eq=False)
class Plan(Roster):
    """What is planned for the kit as a whole."""

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
        return {key: vote(key, self.modules, self.kinds) for key in STAGE_OF}

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
    def accepted(self) -> frozenset[str] | None:
        """The hardware addresses that the access point takes; None where it takes any."""
        listed = self.network.accept_list
        return None if listed is None else frozenset(listed)
