"""Delivery: what is sent reaches who it is meant for."""

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from ipaddress import IPv4Address

from auditor.checks.registry import Scope, check
from auditor.compute.addresses import LIMITED_BROADCAST, special_use
from auditor.compute.datagrams import (
    LARGEST_MESSAGE_BYTES,
    LARGEST_WHOLE_MESSAGE_BYTES,
    fragments,
)
from auditor.findings import Found, Stage
from auditor.models.fleet import Host
from auditor.models.places import Place
from auditor.models.words import Intent, Link, Severity, Transport
from auditor.survey.audience import (
    FOR_THE_SUBNET,
    Reach,
    broadcast_ports,
    home_subnet,
    is_receiver,
    is_set_aside,
    needs_gateway,
    own_address,
    own_gateway,
    own_network,
    planned_intent,
    reach_of,
    takes_part,
    unicast_destination,
)
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.selection import id_ranges
from auditor.survey.traffic import Target

BROADCASTS = "RFC 919; RFC 922; RFC 1122, section 3.3.6"
NEXT_HOP = "RFC 1122, section 3.3.1"
FORWARDED = "RFC 1812, section 4.2.2.11; RFC 2644: a router does not forward it"
DATAGRAMS = "RFC 1122, section 4.2.3.10: no connection to a broadcast address"
ISOLATION = "hostapd.conf(5), ap_isolate: frames between stations are not passed on"
PORTS = "RFC 768 (UDP), RFC 9293 (TCP): a datagram goes to the listener of its port"
DATAGRAM = "RFC 791, section 3.1 (a total length of 16 bits); RFC 768"
FRAGMENTS = "RFC 8085, section 3.2; RFC 791, section 3.2; RFC 894 (1500 octets, as IEEE 802.3)"
POOL = "RFC 2131, section 2.2: the next lease may be for another address"
PRACTICE = "common practice, no source"


def _destination(module: Module, survey: Survey) -> IPv4Address | None:
    """Return the destination by which a module takes part in the talk.

    It is its own where it sends, and that of the hosts where it waits for a broadcast of theirs.
    """
    if survey.sends(module):
        return module.destination
    waits = planned_intent(module, survey) is Intent.BROADCAST
    hosts_talk = survey.talkers is not None and survey.talkers.others
    return survey.fleet.traffic.destination if waits and hosts_talk else None


def _place(module: Module, survey: Survey) -> Place:
    """Return where the destination stands by which a module takes part in the talk."""
    sends = survey.sends(module)
    return module.place("destination") if sends else survey.place("traffic", "destination")


def _reach(module: Module, survey: Survey) -> Reach | None:
    """Return what the destination means by which a module takes part in the talk."""
    destination = _destination(module, survey)
    return None if destination is None else reach_of(destination, module, survey)


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
    destination = _destination(module, survey)
    yield from _other_intent(destination, _place(module, survey), module, survey)
    if not survey.sends(module) and module.says("destination"):
        place = module.place("destination")
        for found in _other_intent(module.destination, place, module, survey):
            yield replace(found, severity=Severity.ADVICE)


def _other_intent(
    destination: IPv4Address | None, place: Place, module: Module, survey: Survey
) -> Iterator[Found]:
    intent = planned_intent(module, survey)
    if destination is None or intent is None:
        return
    reach = reach_of(destination, module, survey)
    if reach.intent is not intent:
        sent = "the address of one receiver" if reach is Reach.UNICAST else f"a {reach.value}"
        yield Found(
            f"The message is meant for {_MEANT[intent]}, and {destination} is {sent}.",
            _set_destination(intent, module, survey),
            (place, survey.place("traffic", "intent")),
            {"intent": intent.value, "destination": str(destination), "reach": reach.value},
        )


_MEANT = {Intent.BROADCAST: "everybody (broadcast)", Intent.UNICAST: "one receiver (unicast)"}


def _set_destination(intent: Intent, module: Module, survey: Survey) -> str:
    """Return the advice to set a destination that fits, and is not the present one."""
    if intent is Intent.BROADCAST:
        return f"Set destination to {_broadcast_destination(module, survey)}."
    unfit = (module.destination, own_address(module, survey))
    planned = survey.fleet.traffic.destination
    if planned is not None and survey.is_held(planned) and planned not in unfit:
        return f"Set destination to {planned}."
    hosts = (host for host in survey.hosts if host.address not in unfit)
    for host in hosts:
        return f'Set destination to the receiver, such as {host.address} ("{host.name}").'
    return "Set destination to the address of the receiver."


def _broadcast_destination(module: Module, survey: Survey) -> IPv4Address:
    """Return the planned broadcast, or the one that reaches the whole subnet."""
    planned = survey.fleet.traffic.destination
    if planned is not None and reach_of(planned, module, survey) in FOR_THE_SUBNET:
        return planned
    return survey.broadcast_address or LIMITED_BROADCAST


@check(Stage.DELIVERY, Severity.FAULT, NEXT_HOP, after=("intent-differs", "reserved-address"))
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
    destination = unicast_destination(module, survey)
    if destination is not None and destination == own_address(module, survey):
        yield Found(
            f"The destination {destination} is the module's own address.",
            _set_destination(Intent.UNICAST, module, survey),
            (module.place("destination"), module.place("address")),
            {"destination": str(destination)},
        )


@check(
    Stage.DELIVERY,
    Severity.FAULT,
    NEXT_HOP,
    after=("intent-differs", "static-address-off-subnet", "gateway-missing"),
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
    remedy = _set_destination(Intent.UNICAST, module, survey)
    use = special_use(destination)
    inside = survey.subnet is not None and destination in survey.subnet
    if use and is_set_aside(destination) and not inside:
        reason = f"it is set aside: {use.name} ({use.block})"
    elif needs_gateway(module, survey) and own_gateway(module, survey) == "none":
        subnet = home_subnet(module, survey)
        reason = f"it is outside the subnet {subnet}, and there is no gateway"
        remedy = f"{remedy[:-1]}, or name the gateway that leads to {destination}."
    else:
        return
    yield Found(
        f"{destination} cannot be reached: {reason}.",
        remedy,
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
    if survey.is_held(destination) or survey.is_inferred:  # no plan says who else there is
        return
    if survey.leased_range and destination in survey.leased_range:
        return
    leases_elsewhere = survey.pool is not None or survey.has_address_server is False
    empty = bool(survey.hosts) and leases_elsewhere
    yield Found(
        f"Nobody is planned at {destination}.",
        f"{_set_destination(Intent.UNICAST, module, survey)[:-1]}, or list the host that has it.",
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
    destination, pool = unicast_destination(module, survey), survey.leased_range
    if destination is None or pool is None or destination not in pool:
        return
    if survey.is_held(destination) or survey.is_inferred:  # no plan says who else there is
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
    destination = _destination(module, survey)
    if destination is None or _reach(module, survey) is not Reach.OTHER_PREFIX:
        return
    if survey.subnet is None or survey.all_others_take(destination, module):
        return
    own = survey.broadcast_address
    right = f"that of {survey.subnet} is {own}" if own else f"{survey.subnet} has none"
    yield Found(
        f"{destination} is a broadcast address by another prefix length; {right}.",
        f"Set destination to {_broadcast_destination(module, survey)}.",
        (_place(module, survey), survey.place("network", "ipv4", "subnet")),
        {"destination": str(destination), "broadcast": str(own) if own else None},
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
    if _reach(module, survey) is Reach.OTHER_SUBNET:
        destination, subnet = _destination(module, survey), home_subnet(module, survey)
        yield Found(
            f"{destination} is the broadcast address of another subnet than {subnet}.",
            f"Set destination to {_broadcast_destination(module, survey)}.",
            (_place(module, survey), survey.place("network", "ipv4", "subnet")),
            {"destination": str(destination), "subnet": str(subnet)},
        )


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
    destination, reach = _destination(module, survey), _reach(module, survey)
    sends = survey.sends(module)
    transport = module.transport if sends else survey.fleet.traffic.transport
    if transport is Transport.TCP and reach is not None and reach is not Reach.UNICAST:
        place = module.place("transport") if sends else survey.place("traffic", "transport")
        yield Found(
            f"{destination} is a {reach.value}, and tcp connects to one receiver only.",
            'Set transport to "udp".',
            (place, _place(module, survey)),
            {"destination": str(destination), "transport": transport.value},
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
            (survey.place("network", "client_isolation"), module.line),
        )


def _blocked_peers(module: Module, survey: Survey) -> str | None:
    """Return what isolation keeps from its receiver, of all that a module sends or waits for."""
    if not survey.sends(module):
        waits = planned_intent(module, survey) is Intent.BROADCAST or is_receiver(module, survey)
        cut_off = waits and _hears_only_stations(survey)
        return "all that it waits for comes from other wireless stations" if cut_off else None
    destination = unicast_destination(module, survey)
    if destination is not None:
        peer = _direct_peer(destination, module, survey)
        return f"what it sends to {peer} is not passed on" if peer else None
    if module.destination is None or survey.stations < 2:
        return None
    return "its broadcast does not reach the other wireless stations"


def _direct_peer(destination: IPv4Address, module: Module, survey: Survey) -> str | None:
    """Return the wireless station to which a module sends on the link, not by way of a gateway."""
    network = own_network(module, survey)
    if destination == own_address(module, survey) or (network and destination not in network):
        return None
    return survey.wireless_holder(destination)


def _hears_only_stations(survey: Survey) -> bool:
    """Say whether the talkers are named and none of them is a wired host."""
    talkers = survey.talkers
    if talkers is None or not (talkers.indexes or talkers.others):
        return False
    wired = {host.name for host in survey.hosts if host.link is Link.WIRED}
    return wired.isdisjoint(talkers.others)


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
    port, who = wanted
    yield Found(
        f"Messages go to port {module.port}, and {who} listens on {port}.",
        f"Set port to {port}.",
        (module.place("port"),),
        {"port": module.port, "listens_on": port},
        severity=Severity.ADVICE if silent else None,
    )


def _port_of_receiver(module: Module, survey: Survey) -> tuple[int, str] | None:
    """Return the port on which the receiver of a module's messages listens, and who that is.

    A module that listens elsewhere than planned is found itself, and not whoever sends to it.
    """
    host, peer = _receiver(module, survey)
    planned = survey.fleet.traffic.port
    if host is not None and host.port is not None:
        return host.port, f'"{host.name}"'
    if planned is not None:
        return planned, "the kit"
    if peer is not None and peer.listen_port is not None:
        return peer.listen_port, peer.id
    if module.destination is None or unicast_destination(module, survey) is not None:
        return None
    usual = survey.usual_port_of_others(module)
    if usual is None or survey.others_on(module.port, module) == survey.others_on(usual, module):
        return None
    return usual, "most of the kit"


def _receiver(module: Module, survey: Survey) -> tuple[Host | None, Module | None]:
    """Return the host or the other module at the unicast destination of a module that sends.

    Of several modules with one address it is the first by its id, wherever it stands in the file.
    """
    destination = unicast_destination(module, survey)
    if destination is None:
        return None, None
    peers = (peer for peer in survey.owners_of(destination) if peer is not module)
    return survey.host_at.get(destination), min(peers, key=lambda peer: peer.id, default=None)


def _wrong_port_heard(module: Module, survey: Survey) -> Iterator[Found]:
    sent = _port_awaited(module, survey)
    heard = module.listen_port
    if None not in (heard, sent) and heard != sent:
        yield Found(
            f"The module listens on port {heard}, and messages go to {sent}.",
            f"Set listen_port to {sent}.",
            (module.place("listen_port"),),
            {"listen_port": heard, "port": sent},
        )


def _port_awaited(module: Module, survey: Survey) -> int | None:
    """Return the port to which messages for a module go: as planned, or as all others have it."""
    planned = survey.fleet.traffic.port
    if planned is not None:
        broadcast = planned_intent(module, survey) is Intent.BROADCAST
        return planned if broadcast or is_receiver(module, survey) else None
    sent = broadcast_ports(survey)
    usual = survey.usual_port_of_others(module)
    return usual if usual in sent and module.listen_port not in sent else None


@check(Stage.DELIVERY, Severity.FAULT, PORTS, after=("intent-differs", "broadcast-needs-datagrams"))
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
    transport, who = wanted
    yield Found(
        f"The module uses {module.transport}, and {who} uses {transport}.",
        f'Set transport to "{transport}".',
        (module.place("transport"),),
        {"transport": module.transport.value, "other": transport.value},
        severity=None if takes_part(module, survey) else Severity.ADVICE,
    )


def _transport_of_receiver(module: Module, survey: Survey) -> tuple[Transport, str] | None:
    """Return the transport of the other end of a module's messages, and who that is.

    A module with another transport than planned is found itself, and not whoever sends to it.
    """
    host, peer = _receiver(module, survey)
    planned = survey.fleet.traffic.transport
    if host is not None and host.transport is not None:
        return host.transport, f'"{host.name}"'
    if planned is not None:
        return planned, "the kit"
    return (peer.transport, peer.id) if peer is not None and peer.transport is not None else None


@check(Stage.DELIVERY, Severity.FAULT, DATAGRAM)
def message_over_datagram(module: Module, survey: Survey) -> Iterator[Found]:
    """A message is longer than any UDP datagram.

    The length of an IPv4 packet is written in 16 bits, and its headers count: 65,507 bytes are
    left for the message. What is longer is refused where it is sent, or cut off.

    Mend: Send it as several messages, or over TCP where there is one receiver.

    Example:
        [traffic]
        message_bytes = 70000
        message_interval = "10 min"
    """
    size = _datagram_bytes(module, survey)
    if size is not None and size > LARGEST_MESSAGE_BYTES:
        sends = survey.sends(module)
        place = module.place("message_bytes") if sends else survey.place("traffic", "message_bytes")
        yield Found(
            f"A message of {size} bytes is to go over udp, and the largest datagram carries "
            f"{LARGEST_MESSAGE_BYTES}.",
            f"Set message_bytes to {LARGEST_MESSAGE_BYTES} or less: send it as "
            f"{math.ceil(size / LARGEST_MESSAGE_BYTES)} messages{_or_stream(module, survey)}.",
            (place,),
            {"message_bytes": size, "largest": LARGEST_MESSAGE_BYTES},
        )


def _or_stream(module: Module, survey: Survey) -> str:
    """Return the other way out, which there is where a module is sent to or sends to one."""
    target = survey.target_of(module) if survey.sends(module) else survey.traffic_sum.host_target
    return "" if target == LIMITED_BROADCAST else ', or set transport to "tcp" at both ends'


def _datagram_bytes(module: Module, survey: Survey) -> int | None:
    """Return the length of what a module sends, or waits for from a host, if it goes over UDP."""
    if survey.sends(module):
        is_datagram = _goes_over_udp(module.transport, survey.target_of(module))
        return module.message_bytes if is_datagram else None
    hosts_talk = survey.talkers is not None and survey.talkers.others
    return _datagram_bytes_of_hosts(survey) if hosts_talk and takes_part(module, survey) else None


def _datagram_bytes_of_hosts(survey: Survey) -> int | None:
    """Return the length of what a host sends that is named as a talker, if it goes over UDP."""
    traffic = survey.fleet.traffic
    is_datagram = _goes_over_udp(traffic.transport, survey.traffic_sum.host_target)
    return traffic.message_bytes if is_datagram else None


def _goes_over_udp(transport: Transport | None, target: Target) -> bool:
    """Say whether messages are datagrams: to everybody they are, where no transport is given."""
    return transport is Transport.UDP or (transport is None and target == LIMITED_BROADCAST)


@check(Stage.DELIVERY, Severity.ADVICE, FRAGMENTS, scope=Scope.KIT)
def message_in_fragments(survey: Survey) -> Iterator[Found]:
    """A message is longer than one packet, and travels over UDP in fragments.

    With any of its fragments the whole message is lost: nothing is delivered of it. Over the air
    nobody repeats a lost broadcast, so each fragment more is one more chance to lose it.

    Mend: Send messages of at most 1472 bytes, or over TCP where there is one receiver.

    Example:
        [traffic]
        message_bytes = 1500
        message_interval = "10 s"
    """
    for size, positions in _cut_messages(survey).items():
        names, place = _senders(positions, size, survey)
        count = fragments(size)
        yield Found(
            f"A message of {size} bytes travels in {count} fragments, and is lost with any of "
            f"them: {id_ranges(names)}.",
            f"Set message_bytes to {LARGEST_WHOLE_MESSAGE_BYTES} or less: send it as "
            f"{math.ceil(size / LARGEST_WHOLE_MESSAGE_BYTES)} messages.",
            (place,),
            {"message_bytes": size, "fragments": count, "talkers": names},
        )


def _cut_messages(survey: Survey) -> dict[int, list[int]]:
    """Return the lengths of the messages that are cut, with the modules that send such.

    One that a host alone sends is there without any.
    """
    positions: dict[int | None, list[int]] = defaultdict(list)
    for group in survey.groups:
        if survey.sends(group.module):
            positions[_datagram_bytes(group.module, survey)] += group.indexes
    if survey.talkers and survey.talkers.others:
        positions[_datagram_bytes_of_hosts(survey)] += []
    return {size: found for size, found in positions.items() if size and _is_cut(size)}


def _is_cut(size: int) -> bool:
    return LARGEST_WHOLE_MESSAGE_BYTES < size <= LARGEST_MESSAGE_BYTES


def _senders(positions: list[int], size: int, survey: Survey) -> tuple[list[str], Place]:
    """Return who sends messages of a length, modules and hosts, and where the length stands."""
    names = survey.ids(sorted(positions))
    if survey.talkers and size == _datagram_bytes_of_hosts(survey):
        names += sorted(survey.talkers.others)
    if positions:
        return names, survey.modules[positions[0]].place("message_bytes")
    return names, survey.place("traffic", "message_bytes")
