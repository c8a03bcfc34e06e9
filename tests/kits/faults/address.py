"""Faults of addresses: static ones, leased ones, gateways, reservations, the pool."""

from ipaddress import IPv4Address
from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.addresses import elsewhere
from tests.kits.drawing import between, pick
from tests.kits.faults.planting import THE_KIT, Planted, fault, plan_fault
from tests.kits.kit import Kit

ADDRESS, DELIVERY = "address", "delivery"
SET_ASIDE = ("127.0.0.5", "169.254.10.2", "224.0.0.9", "0.0.0.5", "240.0.0.1")
"""Blocks that no station may have: RFC 6890, RFC 3927, RFC 5771."""


def _ipv4(kit: Kit) -> dict[str, Any]:
    return kit.table("network", "ipv4")


def _can_move(kit: Kit, index: int) -> bool:
    """Say whether a module is static and nobody sends to its address."""
    return _is_static(kit, index) and index != kit.facts.receiver


def _is_static(kit: Kit, index: int) -> bool:
    return index in kit.with_addressing("static")


def _is_pooled(kit: Kit, index: int) -> bool:
    return index in kit.with_addressing("pooled")


def _leases(kit: Kit) -> bool:
    return bool(kit.facts.pool_spares) and _ipv4(kit).get("address_server", True)


def _move(kit: Kit, index: int, address: object) -> None:
    kit.modules[index]["address"] = str(address)


def _static_partners(kit: Kit, index: int) -> list[int]:
    return [i for i in kit.untouched() if i != index and "address" in kit.modules[i]]


@fault(
    ADDRESS,
    "duplicate-static-address",
    "fault",
    lambda kit, index: _can_move(kit, index) and bool(_static_partners(kit, index)),
)
def _address_of_another(draw: DrawFn, kit: Kit, index: int) -> set[int]:
    other = pick(draw, _static_partners(kit, index))
    _move(kit, index, kit.modules[other]["address"])
    return {other}


@fault(
    ADDRESS,
    "static-address-in-pool",
    "risk",
    lambda kit, index: _can_move(kit, index) and _leases(kit),
)
def _into_the_pool(draw: DrawFn, kit: Kit, index: int) -> None:
    _move(kit, index, pick(draw, kit.free_leases()))


@fault(ADDRESS, "special-use-address", "fault", _can_move)
def _set_aside(draw: DrawFn, kit: Kit, index: int) -> None:
    _move(kit, index, pick(draw, SET_ASIDE))


@fault(ADDRESS, "static-address-off-subnet", None, _can_move)
def _off_subnet(draw: DrawFn, kit: Kit, index: int) -> None:
    _move(kit, index, elsewhere(kit.facts.subnet).network_address + 1 + between(draw, 0, 11))


@fault(ADDRESS, "reserved-address", "fault", _can_move)
def _taken(draw: DrawFn, kit: Kit, index: int) -> None:
    hosts = [host["address"] for host in kit.plan("network", "host") or ()]
    taken = [kit.facts.subnet.broadcast_address, *hosts, *filter(None, [kit.facts.gateway])]
    _move(kit, index, pick(draw, taken))


@fault(ADDRESS, "reserved-address", "risk", _can_move)
def _nobody(draw: DrawFn, kit: Kit, index: int) -> None:
    _move(kit, index, kit.facts.subnet.network_address)


@fault(ADDRESS, "prefix-mismatch", None, _is_static)
def _other_prefix(draw: DrawFn, kit: Kit, index: int) -> None:
    planned = kit.facts.subnet.prefixlen
    kit.modules[index].pop("netmask", None)
    kit.modules[index]["prefix_length"] = planned + pick(draw, (1, -1, 2, -4))


def _gravity(kit: Kit, index: int) -> str:
    """Return how grave a wrong gateway is: the module may need it."""
    needs_it = kit.facts.is_beyond and index in kit.facts.senders
    return "fault" if needs_it else "advice"


def _with_gateway(kit: Kit, index: int) -> bool:
    return _is_static(kit, index) and kit.facts.gateway is not None


def _at(check: str, severity: str, index: int) -> Planted:
    return Planted(check, severity, frozenset({index}), frozenset({index}))


@fault(ADDRESS, "gateway-off-subnet", "fault", _is_static)
def _gateway_elsewhere(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["gateway"] = str(elsewhere(kit.facts.subnet).network_address + 1)


def _ends(kit: Kit) -> tuple[IPv4Address, IPv4Address]:
    """Return the addresses that no station may have: RFC 1122, section 3.2.1.3; RFC 922."""
    return kit.facts.subnet.network_address, kit.facts.subnet.broadcast_address


@fault(ADDRESS, "gateway-not-a-host", None, _is_static)
def _gateway_of_nobody(draw: DrawFn, kit: Kit, index: int) -> Planted:
    kit.modules[index]["gateway"] = str(pick(draw, _ends(kit)))
    severity = "fault" if _gravity(kit, index) == "fault" else "risk"
    return _at("gateway-not-a-host", severity, index)


@plan_fault(
    (ADDRESS, DELIVERY),
    "gateway-not-a-host",
    "risk",
    lambda kit: not kit.facts.is_beyond and kit.facts.gateway is not None,
)
def _planned_gateway_of_nobody(draw: DrawFn, kit: Kit) -> frozenset[int]:
    gateway = str(pick(draw, _ends(kit)))
    _ipv4(kit)["gateway"] = gateway
    kit.change_all("gateway", gateway)
    return kit.everybody


@fault(ADDRESS, "gateway-missing", None, _with_gateway)
def _no_gateway(draw: DrawFn, kit: Kit, index: int) -> Planted:
    kit.modules[index]["gateway"] = "none"
    return _at("gateway-missing", _gravity(kit, index), index)


@fault(ADDRESS, "gateway-differs", None, _with_gateway)
def _other_gateway(draw: DrawFn, kit: Kit, index: int) -> Planted:
    kit.modules[index]["gateway"] = str(pick(draw, kit.facts.spares))
    return _at("gateway-differs", _gravity(kit, index), index)


@fault(ADDRESS, "static-without-address", "fault", _can_move)
def _no_address(draw: DrawFn, kit: Kit, index: int) -> None:
    del kit.modules[index]["address"]


@fault(ADDRESS, "pooled-with-address", "advice", _is_pooled)
def _written_address(draw: DrawFn, kit: Kit, index: int) -> None:
    _move(kit, index, pick(draw, kit.facts.spares))


def _can_reserve(kit: Kit, index: int) -> bool:
    return _is_pooled(kit, index) and "hardware_address" in kit.modules[index]


def _reserve(kit: Kit, index: int, address: object) -> None:
    owner = kit.modules[index]["hardware_address"]
    _ipv4(kit).setdefault("reservations", {})[owner] = str(address)


@fault(ADDRESS, "reservation-conflict", "fault", _can_reserve)
def _reserved_in_vain(draw: DrawFn, kit: Kit, index: int) -> None:
    hosts = [host["address"] for host in kit.plan("network", "host") or ()]
    outside = elsewhere(kit.facts.subnet).network_address + 9
    _reserve(kit, index, pick(draw, [outside, *hosts, *filter(None, [kit.facts.gateway])]))


@fault(
    ADDRESS,
    "reservation-conflict",
    "fault",
    lambda kit, index: _can_reserve(kit, index) and bool(_static_partners(kit, index)),
)
def _reserved_twice(draw: DrawFn, kit: Kit, index: int) -> set[int]:
    other = pick(draw, _static_partners(kit, index))
    _reserve(kit, index, kit.modules[other]["address"])
    return {other}


@plan_fault((ADDRESS, DELIVERY), "gateway-in-pool", "fault", _leases)
def _gateway_leased(draw: DrawFn, kit: Kit) -> frozenset[int]:
    gateway = str(pick(draw, kit.facts.pool_spares))
    _ipv4(kit)["gateway"] = gateway
    kit.change_all("gateway", gateway)
    return THE_KIT


@plan_fault((ADDRESS,), "pool-overlaps-host", "fault", _leases)
def _host_leased(draw: DrawFn, kit: Kit) -> frozenset[int]:
    host = {"name": "scales", "address": str(pick(draw, kit.facts.pool_spares))}
    kit.table("network").setdefault("host", []).append(host)
    return THE_KIT


def _add_host(kit: Kit, **host: str) -> frozenset[int]:
    hosts = kit.plan("network", "host") or ()
    kit.table("network")["host"] = [*hosts, {"name": "scales", **host}]
    return THE_KIT


@plan_fault((), "host-address-reserved", "risk")
def _host_of_nobody(draw: DrawFn, kit: Kit) -> frozenset[int]:
    return _add_host(kit, address=str(pick(draw, _ends(kit))))


@plan_fault(
    (ADDRESS, DELIVERY),
    "host-address-reserved",
    "fault",
    lambda kit: bool(_sending_to_host(kit)),
)
def _receiver_of_nobody(draw: DrawFn, kit: Kit) -> frozenset[int]:
    old, new = kit.plan("traffic", "destination"), str(pick(draw, _ends(kit)))
    sending = _sending_to_host(kit)
    kit.table("traffic").update(intent="unicast", destination=new)
    kit.change_all("destination", new)
    for host in kit.table("network")["host"]:
        host["address"] = new if host["address"] == old else host["address"]
    return sending


def _sending_to_host(kit: Kit) -> frozenset[int]:
    """Return the modules that send to a host of the plan."""
    hosts = {host["address"] for host in kit.plan("network", "host") or ()}
    return kit.facts.senders if kit.plan("traffic", "destination") in hosts else frozenset()


@plan_fault((), "hosts-share-address", "advice", lambda kit: bool(kit.plan("network", "host")))
def _services_of_one_machine(draw: DrawFn, kit: Kit) -> frozenset[int]:
    host = pick(draw, kit.table("network")["host"])
    return _add_host(kit, **{key: host[key] for key in ("address", "link") if key in host})


@plan_fault(
    (ADDRESS, DELIVERY),
    "hosts-share-address",
    "risk",
    lambda kit: bool(kit.plan("network", "host")),
)
def _two_machines_of_one_address(draw: DrawFn, kit: Kit) -> frozenset[int]:
    host = pick(draw, kit.table("network")["host"])
    link = "wired" if host.get("link") == "wireless" else "wireless"
    return _add_host(kit, address=host["address"], link=link)


@plan_fault((ADDRESS, DELIVERY), "pool-beyond-host-addresses", "risk", _leases)
def _pool_to_the_end(draw: DrawFn, kit: Kit) -> frozenset[int]:
    """Let the pool reach an end of the subnet, over whatever is on the way."""
    lowest, highest = _ends(kit)
    pool = _ipv4(kit)["pool"]
    pool |= pick(draw, ({"first": str(lowest)}, {"last": str(highest)}))
    return THE_KIT


@plan_fault(
    (ADDRESS, DELIVERY), "pool-off-subnet", "fault", lambda kit: bool(kit.facts.pool_spares)
)
def _pool_elsewhere(draw: DrawFn, kit: Kit) -> frozenset[int]:
    away = int(elsewhere(kit.facts.subnet).network_address) - int(kit.facts.subnet.network_address)
    pool = _ipv4(kit)["pool"]
    for end in ("first", "last"):
        pool[end] = str(IPv4Address(int(IPv4Address(pool[end])) + away))
    return kit.with_addressing("pooled")


@plan_fault(
    (ADDRESS, DELIVERY),
    "no-address-server",
    "fault",
    lambda kit: bool(kit.with_addressing("pooled")),
)
def _no_server(draw: DrawFn, kit: Kit) -> frozenset[int]:
    _ipv4(kit)["address_server"] = False
    return kit.with_addressing("pooled")


def _competing(kit: Kit) -> frozenset[int]:
    reserved = _ipv4(kit).get("reservations", {})
    return frozenset(
        index
        for index in kit.with_addressing("pooled")
        if kit.modules[index].get("hardware_address") not in reserved
    )


def _strangers(kit: Kit) -> int:
    return int(kit.table("network").get("other_stations", 0))


def _shrink(draw: DrawFn, kit: Kit, wanted: int) -> frozenset[int]:
    """Leave the pool fewer addresses than are wanted; nobody holds those at its end."""
    pool, size = _ipv4(kit)["pool"], between(draw, 1, min(wanted - 1, len(kit.facts.pool_spares)))
    pool["first"] = str(IPv4Address(pool["last"]) - (size - 1))
    return THE_KIT


@plan_fault(
    (ADDRESS, DELIVERY),
    "pool-too-small",
    "risk",
    lambda kit: (
        _leases(kit)
        and not kit.facts.sessions
        and bool(_competing(kit))
        and len(_competing(kit)) + _strangers(kit) > 1
    ),
)
def _small_pool(draw: DrawFn, kit: Kit) -> frozenset[int]:
    return _shrink(draw, kit, len(_competing(kit)) + _strangers(kit))


def _largest_demand(kit: Kit) -> int:
    """Return the most addresses that are wanted in one session; 0 where no module wants one."""
    present = max((len(group & _competing(kit)) for group in kit.facts.sessions), default=0)
    return present + _strangers(kit) if present else 0


@plan_fault(
    (ADDRESS, DELIVERY),
    "pool-runs-out",
    "risk",
    lambda kit: _leases(kit) and _largest_demand(kit) > 1,
)
def _pool_for_fewer(draw: DrawFn, kit: Kit) -> frozenset[int]:
    return _shrink(draw, kit, _largest_demand(kit))


@plan_fault(
    (),
    "lease-shorter-than-session",
    "advice",
    lambda kit: (
        _leases(kit) and any(group & kit.with_addressing("pooled") for group in kit.facts.sessions)
    ),
)
def _short_lease(draw: DrawFn, kit: Kit) -> frozenset[int]:
    _ipv4(kit)["lease_time"] = f"{between(draw, 1, 29)} min"
    return THE_KIT
