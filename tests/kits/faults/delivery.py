"""Faults of destinations, ports, transports and talkers, and of what is sent too often."""

from ipaddress import IPv4Address

from hypothesis.strategies import DrawFn

from tests.kits.addresses import elsewhere
from tests.kits.drawing import between, pick
from tests.kits.faults.planting import THE_KIT, fault, plan_fault
from tests.kits.kit import Kit

DELIVERY, SERIAL, MESSAGE = "delivery", "serial", "message"
LIMITED = "255.255.255.255"


def _broadcasts(kit: Kit, index: int) -> bool:
    return kit.facts.is_broadcast and index in kit.facts.senders


def _sends_to_one(kit: Kit, index: int) -> bool:
    return not kit.facts.is_broadcast and index in kit.facts.senders


def _send_to(kit: Kit, index: int, destination: object) -> None:
    kit.modules[index]["destination"] = str(destination)


@fault(DELIVERY, "intent-differs", "fault", _sends_to_one)
def _to_everybody(draw: DrawFn, kit: Kit, index: int) -> None:
    _send_to(kit, index, pick(draw, (LIMITED, kit.facts.subnet.broadcast_address)))


@fault(DELIVERY, "intent-differs", "fault", _broadcasts)
def _to_one(draw: DrawFn, kit: Kit, index: int) -> None:
    """Send to a host, or to a static module that then has to keep its address."""
    hosts = kit.plan("network", "host") or ()
    inside = [host for host in hosts if IPv4Address(host["address"]) in kit.facts.subnet]
    static = [other for other in kit.untouched() if "address" in kit.modules[other]]
    if inside:
        _send_to(kit, index, pick(draw, inside)["address"])
    elif static:
        receiver = pick(draw, static)
        kit.touched.add(receiver)
        _send_to(kit, index, kit.modules[receiver]["address"])
    else:
        _send_to(kit, index, elsewhere(kit.facts.subnet).network_address + 1)


@fault(
    DELIVERY,
    "destination-is-self",
    "fault",
    lambda kit, index: _sends_to_one(kit, index) and "address" in kit.modules[index],
)
def _to_itself(draw: DrawFn, kit: Kit, index: int) -> None:
    _send_to(kit, index, kit.modules[index]["address"])


@fault(DELIVERY, "destination-unreachable", "fault", _sends_to_one)
def _to_nowhere(draw: DrawFn, kit: Kit, index: int) -> None:
    _send_to(kit, index, pick(draw, ("127.0.0.9", "169.254.3.3", "240.0.0.5")))


@fault(DELIVERY, "destination-unassigned", None, _sends_to_one)
def _to_nobody(draw: DrawFn, kit: Kit, index: int) -> None:
    _send_to(kit, index, pick(draw, kit.facts.spares))


@fault(
    DELIVERY,
    "destination-is-pooled",
    "risk",
    lambda kit, index: _sends_to_one(kit, index) and bool(kit.facts.pool_spares),
)
def _to_whoever_leases(draw: DrawFn, kit: Kit, index: int) -> None:
    _send_to(kit, index, pick(draw, kit.free_leases()))


def _other_broadcasts(kit: Kit) -> list[IPv4Address]:
    """Return broadcast addresses of the subnets around and inside, of which nobody is the host."""
    subnet = kit.facts.subnet
    inside = [next(subnet.subnets(prefixlen_diff=longer)) for longer in (1, 2)]
    around = [subnet.supernet(prefixlen_diff=shorter) for shorter in (1, 2, 3)]
    held = {module.get("address") for module in kit.modules} | _fixed(kit)
    found = {each.broadcast_address for each in (*inside, *around)} - {subnet.broadcast_address}
    return sorted(address for address in found if str(address) not in held)


def _fixed(kit: Kit) -> set[str]:
    hosts = {host["address"] for host in kit.plan("network", "host") or ()}
    reserved = set((kit.plan("network", "ipv4", "reservations") or {}).values())
    return hosts | reserved | {str(kit.facts.gateway)}


@fault(
    DELIVERY,
    "broadcast-address-mismatch",
    "fault",
    lambda kit, index: (
        _broadcasts(kit, index)
        and kit.plan("traffic", "intent") == "broadcast"
        and bool(_other_broadcasts(kit))
    ),
)
def _to_another_prefix(draw: DrawFn, kit: Kit, index: int) -> None:
    _send_to(kit, index, pick(draw, _other_broadcasts(kit)))


@fault(DELIVERY, "broadcast-leaves-subnet", "fault", _broadcasts)
def _to_another_subnet(draw: DrawFn, kit: Kit, index: int) -> None:
    """Send to all of a subnet that no supernet of 8 bits or more shares with the kit's."""
    _send_to(kit, index, elsewhere(kit.facts.subnet).broadcast_address)


@fault(DELIVERY, "broadcast-needs-datagrams", "fault", _broadcasts)
def _broadcast_over_stream(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["transport"] = "tcp"


def _isolated(kit: Kit) -> set[int]:
    """Return the modules that send to other stations."""
    hosts = kit.plan("network", "host") or ()
    wireless = {host["address"] for host in hosts if host.get("link") == "wireless"}
    by_radio = kit.plan("traffic", "destination") in wireless or kit.facts.receiver is not None
    return set(kit.facts.senders) if kit.facts.is_broadcast or by_radio else set()


@plan_fault(
    (DELIVERY, MESSAGE),
    "isolation-blocks-peers",
    "fault",
    lambda kit: bool(_isolated(kit)),
)
def _isolation(draw: DrawFn, kit: Kit) -> set[int]:
    kit.table("network")["client_isolation"] = True
    return _isolated(kit)


def _next_port(kit: Kit) -> int:
    return 1024 + (int(kit.plan("traffic", "port")) + 1) % 60000


@fault(DELIVERY, "port-mismatch", "fault", lambda kit, index: index in kit.facts.hearers)
def _deaf_port(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["listen_port"] = _next_port(kit)


@fault(DELIVERY, "port-mismatch", "fault", _broadcasts)
def _wrong_port(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["port"] = _next_port(kit)


@fault(
    DELIVERY,
    "port-mismatch",
    "fault",
    lambda kit, index: _sends_to_one(kit, index) and _knows_port(kit),
)
def _wrong_port_of_one(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["port"] = _next_port(kit)


def _knows_port(kit: Kit) -> bool:
    """Say whether the plan tells the port on which the receiver listens."""
    hosts = kit.plan("network", "host") or ()
    to = kit.plan("traffic", "destination")
    return kit.facts.receiver is not None or any(
        host["address"] == to and "port" in host for host in hosts
    )


@fault(
    DELIVERY,
    "transport-mismatch",
    "fault",
    lambda kit, index: kit.facts.is_broadcast and index not in kit.facts.senders,
)
def _waits_for_stream(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["transport"] = "tcp"


@fault(DELIVERY, "transport-mismatch", "fault", _sends_to_one)
def _other_transport(draw: DrawFn, kit: Kit, index: int) -> None:
    planned = kit.plan("traffic", "transport")
    kit.modules[index]["transport"] = "tcp" if planned == "udp" else "udp"


def _is_sent(kit: Kit) -> bool:
    """Say whether anybody broadcasts."""
    return kit.facts.is_broadcast and bool(kit.facts.hearers)


@plan_fault((DELIVERY, SERIAL, MESSAGE), "airtime-high", "risk", _is_sent)
def _too_often(draw: DrawFn, kit: Kit) -> frozenset[int]:
    """At 6 Mb/s, the slowest of 5 GHz, 1000 bytes take more than 1.3 ms."""
    kit.table("traffic").update(message_bytes=1000, message_interval="2 ms")
    kit.change_all("message_bytes", 1000)
    kit.table("network").pop("lowest_basic_rate", None)
    return THE_KIT


@plan_fault((DELIVERY, SERIAL, MESSAGE), "broadcast-waits-for-beacon", "advice", _is_sent)
def _faster_than_beacons(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("traffic")["message_interval"] = f"{between(draw, 1, 99)} ms"
    return THE_KIT


def _sends_datagrams(kit: Kit) -> bool:
    return bool(kit.facts.senders) and kit.plan("traffic", "transport") == "udp"


def _lengthen(kit: Kit, message_bytes: int) -> None:
    kit.table("traffic")["message_bytes"] = message_bytes
    kit.change_all("message_bytes", message_bytes)


@plan_fault((DELIVERY, SERIAL, MESSAGE), "message-over-datagram", "fault", _sends_datagrams)
def _too_long(draw: DrawFn, kit: Kit) -> frozenset[int]:
    """65,535 octets are the longest IPv4 packet (RFC 791), and 28 of them are headers."""
    _lengthen(kit, between(draw, 65_508, 1_000_000))
    return kit.facts.senders


@plan_fault((DELIVERY, SERIAL, MESSAGE), "message-in-fragments", "advice", _sends_datagrams)
def _cut(draw: DrawFn, kit: Kit) -> frozenset[int]:
    """1500 octets are the longest packet in one frame (RFC 894), and 28 of them are headers."""
    _lengthen(kit, between(draw, 1473, 65_507))
    return THE_KIT


@fault(
    MESSAGE,
    "message-length-differs",
    "fault",
    lambda kit, index: (
        kit.plan("traffic", "message_bytes") is not None
        and kit.plan("traffic", "framing") in ("fixed", "length-prefixed")
    ),
)
def _other_length(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["message_bytes"] = kit.plan("traffic", "message_bytes") + 1


@plan_fault(
    ("address", DELIVERY, SERIAL, MESSAGE),
    "talker-missing",
    "fault",
    lambda kit: "traffic" in kit.document,
)
def _nobody_talks(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("traffic")["talkers"] = pick(draw, ([], ["XY-99"]))
    return kit.everybody


@plan_fault((), "talker-missing", "risk", lambda kit: bool(kit.plan("traffic", "talkers")))
def _somebody_missing(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("traffic")["talkers"] = [*kit.plan("traffic", "talkers"), "XY-99"]
    return THE_KIT


@fault(
    MESSAGE,
    "unplanned-talker",
    "risk",
    lambda kit, index: bool(kit.plan("traffic", "talkers")) and index not in kit.facts.senders,
)
def _talks_too(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["talks"] = True


@plan_fault(
    (DELIVERY, MESSAGE),
    "several-talkers",
    "advice",
    lambda kit: kit.facts.is_broadcast and len(kit.facts.senders) > 1,
)
def _nameless(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("traffic")["names_sender"] = False
    return THE_KIT


@plan_fault((), "framing-unclear", "advice", lambda kit: bool(kit.plan("traffic", "talkers")))
def _no_framing(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("traffic").pop("framing", None)
    return THE_KIT
