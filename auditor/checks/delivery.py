"""Delivery: what is sent reaches who it is meant for."""

from collections.abc import Iterator
from ipaddress import IPv4Address

from auditor.checks.registry import check
from auditor.compute.addresses import special_use
from auditor.findings import Found, Stage
from auditor.models.fleet import Host
from auditor.models.words import Intent, Severity, Transport
from auditor.survey.audience import (
    LINK_WIDE,
    Reach,
    needs_gateway,
    own_gateway,
    reach_of,
    unicast_destination,
)
from auditor.survey.kit import Survey
from auditor.survey.module import Module

BROADCASTS = "RFC 919; RFC 922; RFC 1122, section 3.3.6"
NEXT_HOP = "RFC 1122, section 3.3.1"
FORWARDED = "RFC 1812, section 4.2.2.11; RFC 2644: a router does not forward it"
DATAGRAMS = "RFC 1122, section 4.2.3.10: no connection to a broadcast address"
ISOLATION = "hostapd.conf(5), ap_isolate: frames between stations are not passed on"
PORTS = "RFC 768 (UDP), RFC 9293 (TCP): a datagram goes to the listener of its port"
POOL = "RFC 2131, section 2.2: the next lease may be for another address"
PRACTICE = "common practice, no source"


def _reach(module: Module, survey: Survey) -> Reach | None:
    """Return what a module's destination means, for a module that sends."""
    if module.destination is None or not survey.sends(module):
        return None
    return reach_of(module.destination, module, survey)


def planned_intent(survey: Survey, module: Module) -> Intent | None:
    """Return for how many a message is meant: as planned, or by the planned destination."""
    traffic = survey.fleet.traffic
    if traffic.intent is not None or traffic.destination is None:
        return traffic.intent
    return reach_of(traffic.destination, module, survey).intent


@check(Stage.DELIVERY, Severity.FAULT, BROADCASTS)
def intent_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The message is meant for everybody and is sent to one, or the other way round.

    With a unicast destination one receiver gets it and the others wait; with a broadcast one
    every board is woken by what only one of them needs.

    Mend: Set the planned destination.

    Example:
        [[module]]
        id = "TG-01"
        destination = "10.20.0.10"
    """
    intent = planned_intent(survey, module)
    if module.destination is None or intent is None:
        return
    reach = reach_of(module.destination, module, survey)
    silent = not survey.sends(module)
    if reach.intent is intent or (silent and not module.says("destination")):
        return
    yield Found(
        f"The message is meant as {intent}, and {module.destination} is {_as_sent(reach)}.",
        _set_destination(intent, survey),
        (module.place("destination"), survey.place("traffic", "intent")),
        {"intent": intent.value, "destination": str(module.destination), "reach": reach.value},
        severity=Severity.ADVICE if silent else None,
    )


def _as_sent(reach: Reach) -> str:
    return "one receiver" if reach is Reach.UNICAST else f"a {reach.value}"


def _set_destination(intent: Intent, survey: Survey) -> str:
    planned = survey.fleet.traffic.destination
    if intent is Intent.BROADCAST:
        return f"Set destination to {_broadcast_destination(survey)}."
    if planned is not None and (planned in survey.host_at or planned in survey.holders):
        return f"Set destination to {planned}."
    if survey.hosts:
        return f'Set destination to the receiver, such as {survey.hosts[0].address} ("' + (
            f'{survey.hosts[0].name}").'
        )
    return "Set destination to the address of the receiver."


def _broadcast_destination(survey: Survey) -> IPv4Address | str:
    """Return the planned broadcast, or the one that reaches the whole subnet."""
    planned = survey.fleet.traffic.destination
    if planned is not None and planned in (survey.broadcast_address, _LIMITED):
        return planned
    return survey.broadcast_address or _LIMITED


_LIMITED = IPv4Address("255.255.255.255")


@check(Stage.DELIVERY, Severity.FAULT, NEXT_HOP, after=("intent-differs",))
def destination_is_self(module: Module, survey: Survey) -> Iterator[Found]:
    """The module sends to its own address.

    Everything looks joined, and nothing leaves the module.

    Mend: Set the destination to the receiver's address.

    Example:
        [traffic]
        intent = "unicast"
        destination = "10.20.0.31"
        talkers = ["TG-01"]
    """
    if _reach(module, survey) and module.is_static and module.destination == module.address:
        yield Found(
            f"The destination {module.destination} is the module's own address.",
            _set_destination(Intent.UNICAST, survey),
            (module.place("destination"), module.place("address")),
            {"destination": str(module.destination)},
        )


@check(
    Stage.DELIVERY,
    Severity.FAULT,
    NEXT_HOP,
    after=("intent-differs", "static-address-off-subnet", "gateway-missing", "prefix-mismatch"),
)
def destination_unreachable(module: Module, survey: Survey) -> Iterator[Found]:
    """No way leads from the module to its destination.

    The destination is beyond the subnet and there is no gateway, or it is an address to which
    nothing is ever sent over a network.

    Mend: Set a destination in the subnet, or name the gateway that leads to it.

    Example:
        [network.ipv4]
        gateway = "none"
        [traffic]
        intent = "unicast"
        destination = "10.30.0.10"
        talkers = ["TG-01"]
    """
    destination = unicast_destination(module, survey)
    if destination is None:
        return
    use = special_use(destination)
    inside = survey.subnet is not None and destination in survey.subnet
    if use and not use.host_may_have_it and not inside:
        reason = f"it is set aside: {use.name} ({use.block})"
    elif needs_gateway(module, survey) and own_gateway(module, survey) == "none":
        reason = f"it is outside the subnet {survey.subnet}, and there is no gateway"
    else:
        return
    yield Found(
        f"{destination} cannot be reached: {reason}.",
        _set_destination(Intent.UNICAST, survey),
        (module.place("destination"),),
        {"destination": str(destination)},
    )


@check(
    Stage.DELIVERY,
    Severity.RISK,
    PRACTICE,
    after=("intent-differs", "destination-unreachable", "destination-is-self"),
)
def destination_unassigned(module: Module, survey: Survey) -> Iterator[Found]:
    """Nobody is planned at the destination.

    What is sent to an address that nobody has is dropped without a word. In a plan that lists
    its hosts, nothing can stand outside the pool that the plan does not name.

    Mend: Set the destination to the receiver's address, or list the host that has it.

    Example:
        [traffic]
        intent = "unicast"
        destination = "10.20.0.77"
        talkers = ["TG-01"]
    """
    destination = unicast_destination(module, survey)
    if destination is None or survey.subnet is None or destination not in survey.subnet:
        return
    if destination in survey.fixed_addresses or destination in survey.reserved:
        return
    if survey.pool and destination in survey.pool:
        return
    empty = bool(survey.hosts) and (survey.pool is not None or not survey.has_address_server)
    yield Found(
        f"Nobody is planned at {destination}.",
        f"{_set_destination(Intent.UNICAST, survey)[:-1]}, or list the host that has it.",
        (module.place("destination"),),
        {"destination": str(destination)},
        severity=Severity.FAULT if empty else None,
    )


@check(Stage.DELIVERY, Severity.RISK, POOL, after=("intent-differs", "destination-is-self"))
def destination_is_pooled(module: Module, survey: Survey) -> Iterator[Found]:
    """The destination is an address that is leased.

    Today's owner may have another address tomorrow, and somebody else this one.

    Mend: Give the receiver a static address, or reserve this one for it.

    Example:
        [traffic]
        intent = "unicast"
        destination = "10.20.0.120"
        talkers = ["TG-01"]
    """
    destination, pool = unicast_destination(module, survey), survey.pool
    if destination is None or pool is None or destination not in pool:
        return
    if destination in survey.fixed_addresses or destination in survey.reserved:
        return
    yield Found(
        f"The destination {destination} is leased: it is inside the pool "
        f"{pool.first} to {pool.last}.",
        f"Reserve {destination} for the receiver, or give the receiver a static address.",
        (module.place("destination"), survey.place("network", "ipv4", "pool")),
        {"destination": str(destination), "first": str(pool.first), "last": str(pool.last)},
    )


@check(Stage.DELIVERY, Severity.FAULT, BROADCASTS, after=("intent-differs",))
def broadcast_address_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """The destination is the directed broadcast address of another prefix length.

    The receivers take a directed broadcast only by their own prefix length; to them this one is
    a host that does not exist, or a subnet elsewhere.

    Mend: Set the broadcast address of the subnet, or the limited broadcast 255.255.255.255.

    Example:
        [[module]]
        id = "TG-01"
        destination = "10.20.0.127"
    """
    destination = module.destination
    if destination is None or _reach(module, survey) is not Reach.OTHER_PREFIX:
        return
    if survey.subnet is None or survey.all_others_take(destination, module):
        return
    yield Found(
        f"{destination} is a broadcast address by another prefix length; that of "
        f"{survey.subnet} is {survey.broadcast_address}.",
        f"Set destination to {_broadcast_destination(survey)}.",
        (module.place("destination"), survey.place("network", "ipv4", "subnet")),
        {"destination": str(destination), "broadcast": str(survey.broadcast_address)},
    )


@check(Stage.DELIVERY, Severity.FAULT, FORWARDED, after=("intent-differs",))
def broadcast_leaves_subnet(module: Module, survey: Survey) -> Iterator[Found]:
    """The destination is the directed broadcast of another subnet.

    A router passes no such broadcast on, and in the module's own subnet nobody takes it.

    Mend: Set the broadcast address of the subnet, or the limited broadcast 255.255.255.255.

    Example:
        [[module]]
        id = "TG-01"
        destination = "10.21.0.255"
    """
    if _reach(module, survey) is Reach.OTHER_SUBNET and _means_broadcast(module, survey):
        yield Found(
            f"{module.destination} is the broadcast address of another subnet than "
            f"{survey.subnet}.",
            f"Set destination to {_broadcast_destination(survey)}.",
            (module.place("destination"), survey.place("network", "ipv4", "subnet")),
            {"destination": str(module.destination), "subnet": str(survey.subnet)},
        )


def _means_broadcast(module: Module, survey: Survey) -> bool:
    return planned_intent(survey, module) is not Intent.UNICAST


@check(Stage.DELIVERY, Severity.FAULT, DATAGRAMS, after=("intent-differs",))
def broadcast_needs_datagrams(module: Module, survey: Survey) -> Iterator[Found]:
    """A broadcast is to be sent over a stream.

    TCP connects two ends; to a broadcast or multicast address there is nothing to connect to.

    Mend: Set the transport to udp.

    Example:
        [[module]]
        id = "TG-01"
        transport = "tcp"
    """
    reach = _reach(module, survey)
    if module.transport is Transport.TCP and reach is not None and reach is not Reach.UNICAST:
        yield Found(
            f"{module.destination} is a {reach.value}, and tcp connects to one receiver only.",
            'Set transport to "udp".',
            (module.place("transport"), module.place("destination")),
            {"destination": str(module.destination), "transport": "tcp"},
        )


@check(Stage.DELIVERY, Severity.FAULT, ISOLATION, after=("intent-differs",))
def isolation_blocks_peers(module: Module, survey: Survey) -> Iterator[Found]:
    """The access point passes nothing between its stations, and a module talks to another.

    Isolation blocks unicast, broadcast and multicast between wireless stations. The wired side
    and the access point itself still reach and are reached.

    Mend: Switch client isolation off, or let a wired host talk.

    Example:
        [network]
        client_isolation = true
    """
    if not survey.network.client_isolation:
        return
    blocked = _blocked_peers(module, survey)
    if blocked:
        yield Found(
            f"Client isolation is on: {blocked}.",
            "Set client_isolation = false, here and at the access point.",
            (survey.place("network", "client_isolation"), module.place("destination")),
            {"destination": str(module.destination)},
        )


def _blocked_peers(module: Module, survey: Survey) -> str | None:
    reach = _reach(module, survey)
    if reach is Reach.UNICAST and module.destination is not None:
        peer = survey.wireless_holder(module.destination)
        return f"what it sends to {peer} is not passed on" if peer else None
    if reach is not None and len(survey.modules) > 1:
        return "its broadcast does not reach the other modules"
    return "all that it waits for comes from other modules" if _hears_only_modules(survey) else None


def _hears_only_modules(survey: Survey) -> bool:
    """Say whether the talkers are named and none of them is a wired host."""
    talkers = survey.talkers
    return talkers is not None and bool(talkers.indexes) and not talkers.others


@check(Stage.DELIVERY, Severity.FAULT, PORTS, after=("intent-differs",))
def port_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """Messages are sent to a port on which the receiver does not listen.

    They arrive at the receiver, which drops them: everything looks joined.

    Mend: Set the port on which the receiver listens.

    Example:
        [[module]]
        id = "TG-02"
        listen_port = 4011
    """
    yield from _wrong_port_sent(module, survey)
    yield from _wrong_port_heard(module, survey)


def _wrong_port_sent(module: Module, survey: Survey) -> Iterator[Found]:
    silent = not survey.sends(module)
    wanted = _port_of_receiver(module, survey)
    if module.port is None or wanted is None or module.port == wanted[0]:
        return
    if silent and not module.says("port"):
        return
    yield Found(
        f"Messages go to port {module.port}, and {wanted[1]} listens on {wanted[0]}.",
        f"Set port to {wanted[0]}.",
        (module.place("port"),),
        {"port": module.port, "listens_on": wanted[0]},
        severity=Severity.ADVICE if silent else None,
    )


def _port_of_receiver(module: Module, survey: Survey) -> tuple[int, str] | None:
    """Return the port on which the receiver of a module's messages listens, and who that is."""
    destination = module.destination
    if destination is None:
        return None
    if reach_of(destination, module, survey) is Reach.UNICAST:
        return _listener_at(destination, survey)
    planned = survey.fleet.traffic.port
    if planned is not None:
        return planned, "the kit"
    other = survey.port_unlike(module)
    return (other, "another") if other is not None else None


def _listener_at(address: IPv4Address, survey: Survey) -> tuple[int, str] | None:
    host = survey.host_at.get(address)
    if host is not None:
        return (host.port, f'"{host.name}"') if host.port is not None else None
    for holder in survey.holders.get(address, ()):
        if holder.listen_port is not None:
            return holder.listen_port, holder.id
    return None


def _wrong_port_heard(module: Module, survey: Survey) -> Iterator[Found]:
    planned = survey.fleet.traffic.port
    heard = module.listen_port
    waits = planned_intent(survey, module) is Intent.BROADCAST
    if waits and planned is not None and heard is not None and heard != planned:
        yield Found(
            f"The module listens on port {heard}, and messages go to {planned}.",
            f"Set listen_port to {planned}.",
            (module.place("listen_port"), survey.place("traffic", "port")),
            {"listen_port": heard, "port": planned},
        )


@check(
    Stage.DELIVERY, Severity.FAULT, PORTS, after=("intent-differs", "broadcast-needs-datagrams")
)
def transport_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """One end sends datagrams, and the other waits for a stream.

    UDP and TCP have ports of their own each: what is sent over one is never seen on the other.

    Mend: Set both ends to the same transport.

    Example:
        [[module]]
        id = "TG-02"
        transport = "tcp"
    """
    wanted = _transport_of_receiver(module, survey)
    if module.transport is None or wanted is None or module.transport is wanted[0]:
        return
    yield Found(
        f"The module uses {module.transport}, and {wanted[1]} {wanted[0]}.",
        f'Set transport to "{wanted[0]}".',
        (module.place("transport"),),
        {"transport": module.transport.value, "other": wanted[0].value},
    )


def _transport_of_receiver(module: Module, survey: Survey) -> tuple[Transport, str] | None:
    """Return the transport of the other end of a module's messages, and who that is."""
    destination = unicast_destination(module, survey)
    host: Host | None = survey.host_at.get(destination) if destination is not None else None
    if host is not None and host.transport is not None:
        return host.transport, f'"{host.name}"'
    holders = survey.holders.get(destination, ()) if destination is not None else ()
    for holder in holders:
        if holder.transport is not None and holder is not module:
            return holder.transport, holder.id
    planned = survey.fleet.traffic.transport
    return (planned, "the kit") if planned is not None and destination is None else None
