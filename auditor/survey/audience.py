"""Who hears what: what a destination means to its sender, and who receives a datagram."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from ipaddress import IPv4Address, IPv4Network
from typing import Literal

from auditor.compute.addresses import (
    LIMITED_BROADCAST,
    directed_broadcast,
    is_multicast,
    network_of,
    special_use,
)
from auditor.models.words import Intent, Link
from auditor.survey.kit import Survey
from auditor.survey.module import Module

WIDEST_PREFIX, NARROWEST_PREFIX = 8, 30
"""The prefix lengths among which a broadcast address is looked for."""


class Reach(StrEnum):
    """What a destination address means in the planned subnet."""

    LIMITED = "limited broadcast"
    DIRECTED = "directed broadcast of the subnet"
    OTHER_PREFIX = "directed broadcast by another prefix length"
    OTHER_SUBNET = "directed broadcast of another subnet"
    MULTICAST = "multicast"
    UNICAST = "unicast"

    @property
    def intent(self) -> Intent:
        """What somebody who writes such a destination means."""
        return Intent.UNICAST if self is Reach.UNICAST else Intent.BROADCAST


@dataclass(frozen=True)
class Endpoint:
    """Anything on the network that can send or receive: a module or a host.

    `network` is the subnet that it believes to be in. A gateway of None sends nothing beyond it.
    """

    name: str
    address: IPv4Address | None
    network: IPv4Network | None
    gateway: IPv4Address | None
    is_wireless: bool
    listen_port: int | None = None

    @property
    def broadcast(self) -> IPv4Address | None:
        """The directed broadcast of its own subnet, as it sees it."""
        return directed_broadcast(self.network) if self.network else None


def own_address(module: Module, survey: Survey) -> IPv4Address | None:
    """Return the address that a module is known to have: a static one, or one reserved for it."""
    if module.is_static:
        return module.address
    owner = module.hardware_address if module.is_pooled else None
    return survey.ipv4.reservations.get(owner) if owner else None


def own_network(module: Module, survey: Survey) -> IPv4Network | None:
    """Return the subnet that a module believes to be in; a pooled one is told the planned one."""
    return module.network if module.is_static else survey.subnet


def home_subnet(module: Module, survey: Survey) -> IPv4Network | None:
    """Return the subnet in which a module should be: the planned one, or else its own."""
    return survey.subnet or own_network(module, survey)


def own_gateway(module: Module, survey: Survey) -> IPv4Address | Literal["none"] | None:
    """Return the gateway that a module uses; a pooled one is told the planned one."""
    return module.gateway if module.is_static else survey.gateway


def endpoint_of(module: Module, survey: Survey) -> Endpoint:
    """Return a module as an endpoint."""
    gateway = own_gateway(module, survey)
    return Endpoint(
        name=module.id,
        address=own_address(module, survey),
        network=own_network(module, survey),
        gateway=gateway if isinstance(gateway, IPv4Address) else None,
        is_wireless=True,
        listen_port=module.listen_port,
    )


def endpoints(survey: Survey) -> Iterator[Endpoint]:
    """Give every host and module of the kit as an endpoint."""
    for host in survey.hosts:
        yield Endpoint(
            name=host.name,
            address=host.address,
            network=survey.subnet,
            gateway=survey.gateway_address,
            is_wireless=host.link is Link.WIRELESS,
            listen_port=host.port,
        )
    for module in survey.modules:
        yield endpoint_of(module, survey)


def receivers(
    sender: Endpoint,
    destination: IPv4Address,
    port: int | None,
    others: Iterable[Endpoint],
    *,
    isolated: bool = False,
    router: IPv4Address | None = None,
) -> frozenset[str]:
    """Return the names of those to whom a datagram gets, and who listen on its port.

    `isolated` says that the access point passes nothing between wireless stations; `router` is
    the address that forwards for the subnet. Where two hold one address, only one of them
    receives a unicast to it: both are named.

    Source: RFC 919, RFC 922 (broadcast), RFC 1122, section 3.3.1 (choice of the next hop).
    """
    others = [each for each in others if each.name != sender.name]
    if destination == LIMITED_BROADCAST or is_multicast(destination):
        reached = _on_link(sender, others, isolated)
    elif destination == sender.broadcast:
        reached = [
            each for each in _on_link(sender, others, isolated) if each.broadcast == destination
        ]
    else:
        reached = _unicast(sender, destination, others, isolated, router)
    return frozenset(
        each.name for each in reached if port is None or each.listen_port in (None, port)
    )


def _on_link(sender: Endpoint, others: Iterable[Endpoint], isolated: bool) -> list[Endpoint]:
    blocked = isolated and sender.is_wireless
    return [each for each in others if not (blocked and each.is_wireless)]


def _unicast(
    sender: Endpoint,
    destination: IPv4Address,
    others: list[Endpoint],
    isolated: bool,
    router: IPv4Address | None,
) -> list[Endpoint]:
    """Deliver directly inside the sender's own subnet, and by the gateway beyond it."""
    if sender.network is None or destination == sender.address:
        return []
    if destination in sender.network:
        near = _on_link(sender, others, isolated)
        return [each for each in near if _answers(each, destination, sender)]
    if sender.gateway is None or sender.gateway not in sender.network or sender.gateway != router:
        return []
    forwarding = [each for each in others if each.address == router]
    if any(each.broadcast == destination for each in forwarding):
        return forwarding
    inside = any(each.network and destination in each.network for each in forwarding)
    return [each for each in others if inside and each.address == destination]


def _answers(each: Endpoint, destination: IPv4Address, sender: Endpoint) -> bool:
    """Say whether an endpoint of that address has a way back to whoever asks for it."""
    if each.address != destination:
        return False
    if each.network is None or sender.address is None or sender.address in each.network:
        return True
    return each.gateway is not None and each.gateway in each.network


def reach_of(destination: IPv4Address, module: Module, survey: Survey) -> Reach:
    """Return what a destination means, seen from a module in the planned subnet."""
    if destination == LIMITED_BROADCAST:
        return Reach.LIMITED
    if is_multicast(destination):
        return Reach.MULTICAST
    subnet = home_subnet(module, survey)
    if subnet is None:
        return _reach_without_subnet(destination, survey)
    if destination == directed_broadcast(subnet):
        return Reach.DIRECTED
    if survey.is_held(destination):
        return Reach.UNICAST
    if _is_by_another_prefix(destination, module, subnet, survey):
        return Reach.OTHER_PREFIX
    alike = directed_broadcast(network_of(destination, subnet.prefixlen))
    return Reach.OTHER_SUBNET if destination == alike else Reach.UNICAST


def _reach_without_subnet(destination: IPv4Address, survey: Survey) -> Reach:
    """Return what a plan means by a destination that nobody can tell from the broadcast address."""
    means_all = survey.fleet.traffic.intent is Intent.BROADCAST and _ends_in_ones(destination)
    return Reach.DIRECTED if means_all and not survey.is_held(destination) else Reach.UNICAST


def _is_by_another_prefix(
    destination: IPv4Address, module: Module, subnet: IPv4Network, survey: Survey
) -> bool:
    """Say whether a destination is the broadcast of a subnet of another length around a module.

    Inside the subnet many addresses of hosts look like that, so there only the module's own
    prefix length counts, or a plan that means to broadcast.
    """
    own = own_network(module, survey)
    if own is not None and destination == directed_broadcast(own):
        return True
    if destination in subnet:
        return survey.fleet.traffic.intent is Intent.BROADCAST and _ends_in_ones(destination)
    address = module.address if module.is_static and module.address else subnet.network_address
    return any(
        destination == directed_broadcast(network_of(address, length))
        for length in range(WIDEST_PREFIX, NARROWEST_PREFIX + 1)
    )


def _ends_in_ones(destination: IPv4Address) -> bool:
    return int(destination) & 0b11 == 0b11


LINK_WIDE = frozenset({Reach.LIMITED, Reach.MULTICAST})
"""What every station of the link gets, whatever subnet it believes to be in."""


FOR_THE_SUBNET = LINK_WIDE | {Reach.DIRECTED}
"""What every station gets that is set as planned."""


def concerning(module: Module, survey: Survey) -> frozenset[IPv4Address]:
    """Return the destinations that matter to a module: where it sends, and what is for it too.

    It waits for broadcasts where they are planned, and where it sends nothing and no plan says
    for whom a message is meant.
    """
    sends, intent = survey.sends(module), planned_intent(module, survey)
    waits = intent is Intent.BROADCAST or (intent is None and not sends)
    matter = {module.destination if sends else None} | (_for_all(survey) if waits else set())
    matter |= _destinations(survey) & {own_address(module, survey)}
    return frozenset(address for address in matter if address is not None)


@lru_cache(maxsize=1)
def _destinations(survey: Survey) -> frozenset[IPv4Address]:
    """Return every destination to which somebody sends, or is planned to."""
    sent = {group.module.destination for group in survey.groups if survey.sends(group.module)}
    sent.add(survey.fleet.traffic.destination)
    return frozenset(address for address in sent if address is not None)


@lru_cache(maxsize=1)
def _for_all(survey: Survey) -> frozenset[IPv4Address]:
    """Return those of the destinations that mean everybody in the subnet."""
    everybody = (LIMITED_BROADCAST, survey.broadcast_address)
    return frozenset(
        address
        for address in _destinations(survey)
        if address in everybody or is_multicast(address)
    )


def needs_only_link_wide(module: Module, survey: Survey) -> bool:
    """Say whether all that matters to a module reaches every station of the link."""
    reaches = [reach_of(address, module, survey) for address in concerning(module, survey)]
    return bool(reaches) and LINK_WIDE.issuperset(reaches)


def unicast_destination(module: Module, survey: Survey) -> IPv4Address | None:
    """Return where a sending module sends to one receiver."""
    destination = module.destination
    if destination is None or not survey.sends(module):
        return None
    return destination if reach_of(destination, module, survey) is Reach.UNICAST else None


def needs_gateway(module: Module, survey: Survey) -> bool:
    """Say whether a module sends to somebody beyond the subnet whom a gateway can reach."""
    destination, subnet = unicast_destination(module, survey), home_subnet(module, survey)
    if destination is None or subnet is None or destination in subnet:
        return False
    return not is_set_aside(destination)


def is_set_aside(address: IPv4Address) -> bool:
    """Say whether an address is one that no station may have, so that nothing gets to it."""
    use = special_use(address)
    return use is not None and not use.host_may_have_it


def planned_intent(module: Module, survey: Survey) -> Intent | None:
    """Return for how many a message is meant: as planned, or by the planned destination."""
    traffic = survey.fleet.traffic
    if traffic.intent is not None or traffic.destination is None:
        return traffic.intent
    return reach_of(traffic.destination, module, survey).intent


def takes_part(module: Module, survey: Survey) -> bool:
    """Say whether a module sends, or is among those for whom the messages are meant."""
    if survey.sends(module) or planned_intent(module, survey) is not Intent.UNICAST:
        return True
    return is_receiver(module, survey)


def is_receiver(module: Module, survey: Survey) -> bool:
    """Say whether the planned destination is this very module."""
    planned = survey.fleet.traffic.destination
    return planned is not None and planned == own_address(module, survey)


@lru_cache(maxsize=1)
def broadcast_ports(survey: Survey) -> Counter[int]:
    """Return to which ports the modules broadcast, and how many to each."""
    ports: Counter[int] = Counter()
    for group in survey.groups:
        module = group.module
        if module.port is None or module.destination is None or not survey.sends(module):
            continue
        if reach_of(module.destination, module, survey) is not Reach.UNICAST:
            ports[module.port] += len(group.indexes)
    return ports


def has_usable_gateway(module: Module, survey: Survey) -> bool:
    """Say whether a module has a gateway that it can reach on the link, and no wrong one."""
    gateway, network = own_gateway(module, survey), own_network(module, survey)
    if not isinstance(gateway, IPv4Address) or network is None or gateway not in network:
        return False
    return survey.gateway_address in (None, gateway)
