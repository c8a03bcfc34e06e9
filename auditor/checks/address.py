"""Address: a usable, unique address, leased or static."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from ipaddress import IPv4Address, IPv4Network

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.addresses import (
    AddressRange,
    FreeAddresses,
    directed_broadcast,
    longest_run,
    network_address,
    same_host,
    special_use,
    usable_hosts,
)
from auditor.findings import Found, Stage
from auditor.models.fleet import Host
from auditor.models.places import Place
from auditor.models.words import Intent, Severity
from auditor.survey.audience import (
    concerning,
    has_usable_gateway,
    is_set_aside,
    needs_gateway,
    needs_only_link_wide,
    own_address,
    own_gateway,
    own_network,
    planned_intent,
    unicast_destination,
)
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.selection import id_ranges
from auditor.survey.spares import spare_addresses

CONFLICT = "RFC 5227, section 1; RFC 2131, section 2.2"
POOL = "RFC 2131, sections 2.2 and 3.1: the server may give the address to somebody else"
SUBNETS = "RFC 950; RFC 1122, section 3.3.1"
NETWORK_AND_BROADCAST = "RFC 1122, section 3.2.1.3; RFC 919; RFC 922"
SPECIAL = "RFC 6890; RFC 1122, section 3.2.1.3; RFC 3927; RFC 5771"
GATEWAY = "RFC 1122, section 3.3.1.2: a gateway is on the host's own link"
LEASES = "RFC 2131"
FORMAT = "fleet file, format 1"
MOST_NAMED = 20


@check(Stage.ADDRESS, Severity.FAULT, CONFLICT)
def duplicate_static_address(module: Module, survey: Survey) -> Iterator[Found]:
    """Two modules have the same static address.

    Both associate and both send. What is sent to the address reaches only one of them, the one
    that spoke last; a broadcast still reaches both.

    Mend: Give one of them a free address.

    Example:
        [[module]]
        id = "TG-02"
        address = "10.20.0.31"
    """
    if not module.is_static or module.address is None:
        return
    holders = survey.holders.of(int(module.address))
    others = survey.at([at for at in holders[: MOST_NAMED + 1] if at != module.index][:MOST_NAMED])
    if others:
        names = [other.id for other in others]
        unnamed = len(holders) - 1 - len(others)
        more = f" and {unnamed} more" if unnamed else ""
        yield Found(
            f"{module.address} is also the address of {id_ranges(names)}{more}. "
            "Broadcast still reaches each of them; what is sent to the address reaches only one.",
            f"{_take_free(module, survey)[:-1]}, or change that of {others[0].id}.",
            (module.place("address"), *(other.place("address") for other in others)),
            {"address": str(module.address), "with": names, "holders": len(holders)},
        )


def _take_free(module: Module, survey: Survey) -> str:
    """Return the advice to take a free address, one that nobody else is told to take."""
    free = spare_addresses(survey).get(module.index)
    if free is not None:
        return f"Set address to {free}."
    if survey.subnet is not None and is_set_aside(survey.subnet.network_address):
        return _ANOTHER_SUBNET
    return "Give it a free address of the subnet."


_ANOTHER_SUBNET = "Choose a private subnet (RFC 1918) for the kit, such as 10.20.0.0/24."


@check(Stage.ADDRESS, Severity.RISK, POOL)
def static_address_in_pool(module: Module, survey: Survey) -> Iterator[Found]:
    """A static address lies in the range that the server leases.

    It works until the day the server leases the same address to somebody else. A server that
    asks before it offers (many do) skips the address while the module is on, and has one
    address less to give. A reservation that ties the address to this module makes it safe.

    Mend: Choose an address outside the pool, or reserve this one for the module.

    Example:
        [[module]]
        id = "TG-02"
        address = "10.20.0.120"
    """
    pool, address = survey.leased_range, module.address
    if not module.is_static or address is None or pool is None:
        return
    if address not in pool or address in survey.reserved:
        return
    yield Found(
        f"{address} is inside the pool {pool.first} to {pool.last}: the server may give it to "
        "somebody else.",
        f"{_take_free(module, survey)[:-1]}, or reserve {address} for this module.",
        (module.place("address"), survey.place("network", "ipv4", "pool")),
        {"address": str(address), "first": str(pool.first), "last": str(pool.last)},
    )


@check(Stage.ADDRESS, Severity.FAULT, SPECIAL)
def special_use_address(module: Module, survey: Survey) -> Iterator[Found]:
    """The static address is one that no station may have.

    Loopback, link-local, multicast, "this network" and reserved addresses are set aside; IPv4
    stacks refuse them or do not answer on them.

    Mend: Choose a free address of the subnet.

    Example:
        [[module]]
        id = "TG-02"
        address = "169.254.10.2"
    """
    if not module.is_static or module.address is None:
        return
    use = special_use(module.address)
    if use and not use.host_may_have_it:
        yield Found(
            f"{module.address} is set aside: {use.name} ({use.block}).",
            _take_free(module, survey),
            (module.place("address"),),
            {"address": str(module.address), "block": str(use.block), "rfc": use.source},
        )


@part_of("special-use-address", Scope.MODULE)
def _special_use_pool(module: Module, survey: Survey) -> Iterator[Found]:
    pool = survey.pool
    if module.is_pooled and pool and is_set_aside(pool.first):
        use = special_use(pool.first)
        yield Found(
            f"The module leases an address of {pool.first} to {pool.last}, which is set aside: "
            f"{use.name if use else ''}.",
            _ANOTHER_SUBNET,
            (survey.place("network", "ipv4", "pool"),),
            {"first": str(pool.first), "last": str(pool.last)},
        )


@part_of("special-use-address", Scope.KIT)
def _special_use_subnet(survey: Survey) -> Iterator[Found]:
    use = special_use(survey.subnet.network_address) if survey.subnet else None
    if use and use.host_may_have_it and not survey.is_inferred:
        yield Found(
            f"The subnet {survey.subnet} is set aside: {use.name} ({use.block}).",
            "It works on a network of its own; a private block (RFC 1918) is meant for this.",
            (survey.place("network", "ipv4", "subnet"),),
            {"subnet": str(survey.subnet), "block": str(use.block)},
            severity=Severity.ADVICE,
        )


@check(Stage.ADDRESS, Severity.FAULT, SUBNETS, after=("special-use-address",))
def static_address_off_subnet(module: Module, survey: Survey) -> Iterator[Found]:
    """The static address is outside the planned subnet.

    The module associates and looks joined. It still sends and gets limited broadcast; what is
    sent to or from it alone goes nowhere. Where limited broadcast is all that matters to it, that
    is a risk and no fault.

    Mend: Choose a free address of the subnet.

    Example:
        [traffic]
        destination = "10.20.0.255"
        [[module]]
        id = "TG-02"
        address = "10.21.0.32"
    """
    address, subnet = module.address, survey.subnet
    if survey.is_inferred or not module.is_static or address is None or subnet is None:
        return
    if address not in subnet:
        mild = needs_only_link_wide(module, survey)
        yield Found(
            f"{address} is outside the subnet {subnet}: only what is sent to everybody on the "
            "link (limited broadcast) still gets to the module and from it.",
            _take_free(module, survey),
            (module.place("address"), survey.place("network", "ipv4", "subnet")),
            {"address": str(address), "subnet": str(subnet)},
            severity=Severity.RISK if mild else None,
            shows_at=Stage.DELIVERY,
        )


@check(Stage.ADDRESS, Severity.FAULT, NETWORK_AND_BROADCAST)
def reserved_address(module: Module, survey: Survey) -> Iterator[Found]:
    """The static address belongs to the gateway, a host, or the subnet itself.

    With the gateway's or a host's address, both answer to it and neither can be reached for
    long. The broadcast address means everybody, the network address nobody.

    Mend: Choose a free address of the subnet.

    Example:
        [[module]]
        id = "TG-02"
        address = "10.20.0.1"
    """
    if not module.is_static or module.address is None:
        return
    owner = _owner(module.address, survey)
    if owner:
        what, severity = owner
        yield Found(
            f"{module.address} is {what}.",
            _take_free(module, survey),
            (module.place("address"),),
            {"address": str(module.address), "belongs_to": what},
            severity=severity,
        )


def _owner(address: IPv4Address, survey: Survey) -> tuple[str, Severity] | None:
    """Return whose an address is, apart from modules, and how grave it is to take it."""
    if address == survey.gateway_address:
        return "the address of the gateway", Severity.FAULT
    if address in survey.host_at:
        return f'the address of the host "{survey.host_at[address].name}"', Severity.FAULT
    meaning = _meaning(address, survey.subnet)
    is_broadcast = address == survey.broadcast_address
    return (meaning, Severity.FAULT if is_broadcast else Severity.RISK) if meaning else None


def _meaning(address: IPv4Address, subnet: IPv4Network | None) -> str | None:
    """Return what an address that no station may have means in a subnet; None for all others."""
    if subnet is None:
        return None
    if address == directed_broadcast(subnet):
        return f"the broadcast address of {subnet}"
    if address == network_address(subnet):
        return f"the network address of {subnet}"
    return None


@check(Stage.ADDRESS, Severity.RISK, SUBNETS, after=("static-address-off-subnet",))
def prefix_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """The module has another prefix length than the subnet.

    With a longer prefix it reaches only its own slice directly and needs the gateway for the
    rest; with a shorter one it looks on its own link for addresses that are behind the gateway.
    Its directed broadcast address is another one too.

    Mend: Set the prefix length of the subnet.

    Example:
        [[module]]
        id = "TG-02"
        prefix_length = 28
    """
    network, subnet = module.network, survey.subnet
    if survey.is_inferred or network is None or subnet is None:
        return
    if network.prefixlen != subnet.prefixlen:
        lost = _lost_by_prefix(module, survey)
        yield Found(
            f"The prefix length is {network.prefixlen}, and that of the subnet {subnet.prefixlen}"
            f"{f': {lost}' if lost else ''}.",
            f"Set prefix_length to {subnet.prefixlen} (netmask {subnet.netmask}).",
            (module.place("prefix_length"), survey.place("network", "ipv4", "subnet")),
            {"prefix_length": network.prefixlen, "subnet": str(subnet)},
            severity=Severity.FAULT if lost else None,
            shows_at=Stage.DELIVERY,
        )


def _lost_by_prefix(module: Module, survey: Survey) -> str | None:
    """Return what cannot be reached, or not be heard, with a wrong prefix length."""
    destination, directed = unicast_destination(module, survey), survey.broadcast_address
    lost = _lost_destination(destination, module, survey) if destination else None
    if lost is None and directed != module.directed_broadcast:
        heard = directed in concerning(module, survey)
        return f"{directed} is no broadcast address to it" if heard else None
    return lost


def _lost_destination(destination: IPv4Address, module: Module, survey: Survey) -> str | None:
    """Return why one receiver, who could be reached with the right prefix length, cannot."""
    network, subnet = module.network, survey.subnet
    if network is None or subnet is None:
        return None
    if destination == module.directed_broadcast:
        return f"it takes {destination} for the broadcast address of {network}"
    if destination in network:
        behind = f"it looks for {destination} on its own link, where that is not"
        return None if destination in subnet else behind
    stranded = destination in subnet or module.gateway != "none"
    if stranded and module.gateway is not None and not has_usable_gateway(module, survey):
        return f"{destination} is outside its slice {network}, in which no gateway leads there"
    return None


@check(Stage.ADDRESS, Severity.FAULT, GATEWAY, after=("static-address-off-subnet",))
def gateway_off_subnet(module: Module, survey: Survey) -> Iterator[Found]:
    """The gateway is outside the subnet.

    A module reaches its gateway on its own link, so nothing it sends would ever leave it.

    Mend: Set the gateway's address inside the subnet.

    Example:
        [[module]]
        id = "TG-02"
        gateway = "10.21.0.1"
    """
    gateway = own_gateway(module, survey)
    network = own_network(module, survey) if survey.is_inferred else survey.subnet
    if isinstance(gateway, IPv4Address) and network is not None and gateway not in network:
        planned = _usable_gateway(survey)
        right = planned if planned is not None and planned in network else None
        yield Found(
            f"The gateway {gateway} is outside the subnet {network}.",
            f"Set gateway to {right}."
            if right
            else f'Set a gateway inside {network}, or "none" where nothing leaves the subnet.',
            (module.place("gateway"),),
            {"gateway": str(gateway), "subnet": str(network)},
            shows_at=Stage.DELIVERY,
        )


def _usable_gateway(survey: Survey) -> IPv4Address | None:
    """Return the planned gateway, unless no station may have its address."""
    planned = survey.gateway_address
    return planned if planned and not _meaning(planned, survey.subnet) else None


@check(Stage.ADDRESS, Severity.RISK, NETWORK_AND_BROADCAST)
def gateway_not_a_host(module: Module, survey: Survey) -> Iterator[Found]:
    """The gateway is the network or the broadcast address of the subnet.

    No station can have either, so nobody passes on what the module sends beyond the subnet:
    where its destination is there, it is a fault. A stack may refuse the setting, too, as Linux
    does with the broadcast address.

    Mend: Set the gateway to the address that the router has.

    Example:
        [[module]]
        id = "TG-02"
        gateway = "10.20.0.255"
    """
    gateway = own_gateway(module, survey)
    network = own_network(module, survey) if survey.is_inferred else survey.subnet
    if isinstance(gateway, IPv4Address):
        place = module.place("gateway") if module.is_static else _planned_place(survey)
        needed = needs_gateway(module, survey)
        beyond = f", and {module.destination} is beyond the subnet" if needed else ""
        yield from _no_gateway(gateway, network, beyond, place, survey)


@part_of("gateway-not-a-host", Scope.KIT)
def _planned_gateway_not_a_host(survey: Survey) -> Iterator[Found]:
    """Speak of a planned gateway that every module has set otherwise."""
    planned = survey.gateway_address
    if survey.is_inferred or planned is None or not _meaning(planned, survey.subnet):
        return
    if not survey.those(lambda module: own_gateway(module, survey) == planned):
        yield from _no_gateway(planned, survey.subnet, "", _planned_place(survey), survey)


def _planned_place(survey: Survey) -> Place:
    return survey.place("network", "ipv4", "gateway")


def _no_gateway(
    gateway: IPv4Address, network: IPv4Network | None, beyond: str, place: Place, survey: Survey
) -> Iterator[Found]:
    """Speak of a gateway that no station can be; `beyond` says why it is needed."""
    meaning = _meaning(gateway, network)
    if network is None or meaning is None:
        return
    right = _usable_gateway(survey)
    free = _instead(survey).get(gateway)
    router = "the address that the router has" + (f"; {free} is free for it" if free else "")
    yield Found(
        f"The gateway {gateway} is {meaning}, which no station can have{beyond}.",
        f"Set gateway to {right if right and right in network else router}.",
        (place,) if survey.is_inferred else (place, survey.place("network", "ipv4", "subnet")),
        {"gateway": str(gateway), "subnet": str(network)},
        severity=Severity.FAULT if beyond else None,
        shows_at=Stage.DELIVERY if beyond else None,
    )


@lru_cache(maxsize=1)
def _instead(survey: Survey) -> Mapping[IPv4Address, IPv4Address]:
    """Return a free address for whoever has one that no station, or no second host, may have.

    They lie outside the pool, and no module is told to take one of them.
    """
    if survey.subnet is None:
        return {}
    told = map(int, spare_addresses(survey).values())
    taken = survey.fixed_addresses.union(map(int, survey.reserved), told)
    free = FreeAddresses(survey.subnet, taken, [survey.pool] if survey.pool else [])
    given_up = {*map(IPv4Address, survey.no_stations), *_shared_by_hosts(survey)}
    offers = {address: free.take_nearest(address) for address in sorted(given_up)}
    return {old: new for old, new in offers.items() if new and not is_set_aside(new)}


@check(Stage.ADDRESS, Severity.ADVICE, GATEWAY)
def gateway_missing(module: Module, survey: Survey) -> Iterator[Found]:
    """The module has no gateway, and the plan has one.

    Inside the subnet it is not missed. What is sent beyond the subnet goes nowhere: where the
    module's destination is there, it is a fault.

    Mend: Set the planned gateway.

    Example:
        [[module]]
        id = "TG-02"
        gateway = "none"
    """
    needed, planned = needs_gateway(module, survey), _usable_gateway(survey)
    if survey.is_inferred and not needed:
        return
    if planned and module.is_static and module.gateway == "none":
        beyond = f", and {module.destination} is beyond the subnet" if needed else ""
        yield Found(
            f"The module has no gateway{beyond}.",
            f"Set gateway to {planned}.",
            (module.place("gateway"),),
            {"planned": str(planned)},
            severity=Severity.FAULT if needed else None,
            shows_at=Stage.DELIVERY if needed else None,
        )


@check(
    Stage.ADDRESS,
    Severity.ADVICE,
    GATEWAY,
    after=("gateway-off-subnet", "gateway-not-a-host"),
)
def gateway_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module has another gateway than the plan.

    Inside the subnet it is not noticed. What is sent beyond goes to a station that does not
    forward it: where the module's destination is there, it is a fault.

    Mend: Set the planned gateway.

    Example:
        [[module]]
        id = "TG-02"
        gateway = "10.20.0.2"
    """
    planned = _usable_gateway(survey)
    if survey.is_inferred or not module.is_static or planned is None:
        return
    if isinstance(module.gateway, IPv4Address) and module.gateway != planned:
        needed = needs_gateway(module, survey)
        beyond = f"; {module.destination} is beyond the subnet" if needed else ""
        yield Found(
            f"The gateway is {module.gateway}, and the planned one is {planned}{beyond}.",
            f"Set gateway to {planned}.",
            (module.place("gateway"), survey.place("network", "ipv4", "gateway")),
            {"gateway": str(module.gateway), "planned": str(planned)},
            severity=Severity.FAULT if needed else None,
            shows_at=Stage.DELIVERY if needed else None,
        )


@check(Stage.ADDRESS, Severity.FAULT, POOL, scope=Scope.KIT)
def gateway_in_pool(survey: Survey) -> Iterator[Found]:
    """The gateway's address lies in the range that the server leases.

    Once a module leases it, two stations answer for the gateway, and nobody gets out.

    Mend: Let the pool begin after the gateway's address.

    Example:
        [network.ipv4]
        gateway = "10.20.0.100"
    """
    gateway, pool = survey.gateway_address, survey.leased_range
    if gateway and pool and gateway in pool and gateway not in survey.reserved:
        yield Found(
            f"The gateway {gateway} is inside the pool {pool.first} to {pool.last}.",
            _better_pool(survey),
            (survey.place("network", "ipv4", "gateway"), survey.place("network", "ipv4", "pool")),
            {"gateway": str(gateway), "first": str(pool.first), "last": str(pool.last)},
        )


def _better_pool(survey: Survey) -> str:
    """Return the nearest pool that holds nobody's address, as advice: the same to all who ask."""
    pool, better = survey.leased_range, _pool_of_nobody(survey)
    if pool is None or better is None:
        hosts = usable_hosts(survey.subnet) if survey.subnet else None
        return "Choose another pool" + (f" inside {hosts.first} to {hosts.last}." if hosts else ".")
    begin = f"begin at {better.first}" if better.first != pool.first else ""
    end = f"end at {better.last}" if better.last != pool.last else ""
    return f"Let the pool {' and '.join(filter(None, (begin, end)))}."


def _pool_of_nobody(survey: Survey) -> AddressRange | None:
    """Return the longest part of the pool without hosts, gateway and the subnet's own addresses.

    Whose address is reserved is in nobody's way.
    """
    pool, gateway = survey.leased_range, survey.gateway_address
    if pool is None:
        return None
    holders = {host.address for host in survey.hosts} | ({gateway} if gateway else set())
    taken = [int(address) for address in holders if address not in survey.reserved]
    return longest_run(pool, [*taken, *survey.no_stations])


@check(Stage.ADDRESS, Severity.FAULT, FORMAT)
def static_without_address(module: Module, survey: Survey) -> Iterator[Found]:
    """The module is static and has no address.

    It keeps its old address, or none at all.

    Mend: Give it a free address of the subnet.

    Example:
        [[module]]
        id = "TG-03"
        addressing = "static"
    """
    if module.is_static and module.address is None:
        yield Found(
            "The module is static and has no address.",
            _take_free(module, survey),
            (module.place("addressing"),),
        )


@check(Stage.ADDRESS, Severity.ADVICE, FORMAT)
def pooled_with_address(module: Module, survey: Survey) -> Iterator[Found]:
    """The module leases its address, and an address is written for it.

    The written address is not used; whoever reads the table may look for the module there.

    Mend: Remove the address, or make the module static, or reserve the address for it.

    Example:
        [[module]]
        id = "TG-03"
        address = "10.20.0.33"
    """
    written = module.address
    if module.is_pooled and written not in (None, own_address(module, survey)):
        yield Found(
            f"The module leases its address, and {written} is written for it.",
            f'Remove the address, set addressing = "static", or reserve {written} for the module.',
            (module.place("address"),),
            {"address": str(written)},
        )


@check(Stage.ADDRESS, Severity.FAULT, LEASES)
def pool_off_subnet(module: Module, survey: Survey) -> Iterator[Found]:
    """The pool is not inside the subnet.

    A server gives out no address that does not fit its own subnet, so a module that leases gets
    none, or one with which it reaches nobody.

    Mend: Choose a pool inside the subnet.

    Example:
        [network.ipv4]
        pool = { first = "10.20.1.100", last = "10.20.1.149" }
        [network.ipv4.reservations]
        "00:00:5e:00:53:04" = "10.20.0.40"
    """
    if module.is_pooled:
        yield from _pool_outside(survey)


@part_of("pool-off-subnet", Scope.KIT)
def _pool_off_subnet_for_others(survey: Survey) -> Iterator[Found]:
    if not survey.pooled:
        yield from _pool_outside(survey)


def _pool_outside(survey: Survey) -> Iterator[Found]:
    pool, subnet = survey.pool, survey.subnet
    if pool and subnet and not pool.inside(subnet):
        yield Found(
            f"The pool {pool.first} to {pool.last} is not inside the subnet {subnet}.",
            f"Choose a pool inside {subnet}{_such_as(pool, subnet)}, at the address server too.",
            (survey.place("network", "ipv4", "pool"), survey.place("network", "ipv4", "subnet")),
            {"first": str(pool.first), "last": str(pool.last), "subnet": str(subnet)},
        )


def _such_as(pool: AddressRange, subnet: IPv4Network) -> str:
    """Return the pool with its hosts' numbers moved to a subnet, where it fits there."""
    hosts, first, last = (
        usable_hosts(subnet),
        same_host(pool.first, subnet),
        same_host(pool.last, subnet),
    )
    fits = int(last) - int(first) + 1 == len(pool) and hosts.first <= first and last <= hosts.last
    return f", such as {first} to {last}" if fits else ""


@check(Stage.ADDRESS, Severity.RISK, NETWORK_AND_BROADCAST, scope=Scope.KIT)
def pool_beyond_host_addresses(survey: Survey) -> Iterator[Found]:
    """The pool holds the network or the broadcast address of the subnet.

    No station can have either. A server may refuse such a pool, pass over the two, or lease an
    address with which nothing works. They are counted as no room.

    Mend: Let the pool begin after the network address and end before the broadcast address.

    Example:
        [network.ipv4]
        pool = { first = "10.20.0.100", last = "10.20.0.255" }
    """
    pool, subnet = survey.leased_range, survey.subnet
    if pool is None or subnet is None or not pool.inside(subnet):
        return
    ends = [_meaning(end, subnet) for end in dict.fromkeys((pool.first, pool.last))]
    held = [meaning for meaning in ends if meaning]
    if held:
        yield Found(
            f"The pool {pool.first} to {pool.last} holds {' and '.join(held)}, "
            "which no station can have.",
            _better_pool(survey),
            (survey.place("network", "ipv4", "pool"), survey.place("network", "ipv4", "subnet")),
            {"first": str(pool.first), "last": str(pool.last), "subnet": str(subnet)},
            concerns=survey.pooled,
        )


@check(Stage.ADDRESS, Severity.FAULT, LEASES)
def no_address_server(module: Module, survey: Survey) -> Iterator[Found]:
    """The module leases its address, and nobody leases any.

    It associates and asks for ever.

    Mend: Switch the address server on, or give the module a static address.

    Example:
        [network.ipv4]
        address_server = false
    """
    if module.is_pooled and survey.has_address_server is False:
        yield Found(
            "The module leases its address, and there is no address server.",
            "Switch the address server on, or give the module a static address.",
            (module.place("addressing"), survey.place("network", "ipv4", "address_server")),
        )


@check(Stage.ADDRESS, Severity.FAULT, POOL, scope=Scope.KIT)
def pool_overlaps_host(survey: Survey) -> Iterator[Found]:
    """A host's address lies in the range that the server leases.

    Once a module leases it, two stations answer for the host.

    Mend: Shorten the pool, or reserve the address for the host.

    Example:
        [[network.host]]
        name = "logger"
        address = "10.20.0.100"
    """
    pool = survey.leased_range
    for number, host in enumerate(survey.hosts):
        safe = host.address in survey.reserved or host.address == survey.gateway_address
        if pool and host.address in pool and not safe:
            yield Found(
                f'The host "{host.name}" has {host.address}, inside the pool '
                f"{pool.first} to {pool.last}.",
                f"{_better_pool(survey)[:-1]}, or reserve the address for the host.",
                (
                    survey.place("network", "host", number, "address"),
                    survey.place("network", "ipv4", "pool"),
                ),
                {"host": host.name, "address": str(host.address)},
            )


@check(Stage.ADDRESS, Severity.RISK, NETWORK_AND_BROADCAST, scope=Scope.KIT)
def host_address_reserved(survey: Survey) -> Iterator[Found]:
    """A host has the network or the broadcast address of the subnet.

    No station can have either: what is sent to the broadcast address is for everybody, and what
    is sent to the network address gets to nobody. Where a module sends to the host, it is a fault.

    Mend: Give the host a free address of the subnet.

    Example:
        [[network.host]]
        name = "printer"
        address = "10.20.0.255"
    """
    lost = [number for number, host in enumerate(survey.hosts) if _is_lost(host, survey)]
    if lost:
        sent_to = {_receiver(group.module, survey) for group in survey.groups}
        for number in lost:
            if survey.hosts[number].address not in sent_to:
                yield _lost_host(number, survey)


@part_of("host-address-reserved", Scope.MODULE)
def _receiver_address_reserved(module: Module, survey: Survey) -> Iterator[Found]:
    address = _receiver(module, survey)
    host = survey.host_at.get(address) if address else None
    if host and _is_lost(host, survey):
        found = _lost_host(survey.hosts.index(host), survey)
        yield replace(
            found,
            where=(module.place("destination"), *found.where),
            severity=Severity.FAULT,
            shows_at=Stage.DELIVERY,
        )


def _is_lost(host: Host, survey: Survey) -> bool:
    """Say whether a host has an address that no station can have."""
    return _meaning(host.address, survey.subnet) is not None


def _receiver(module: Module, survey: Survey) -> IPv4Address | None:
    """Return the address of the one receiver to which a module sends, or means to."""
    if planned_intent(module, survey) is Intent.UNICAST and survey.sends(module):
        return module.destination
    return unicast_destination(module, survey)


def _lost_host(number: int, survey: Survey) -> Found:
    host, subnet = survey.hosts[number], survey.subnet
    free = _instead(survey).get(host.address, "a free address of the subnet")
    return Found(
        f'The host "{host.name}" has {host.address}, {_meaning(host.address, subnet)}, '
        "which no station can have.",
        f"Give the host {free}, here and at the host itself.",
        (_host_place(number, survey), survey.place("network", "ipv4", "subnet")),
        {"host": host.name, "address": str(host.address), "subnet": str(subnet)},
    )


def _host_place(number: int, survey: Survey) -> Place:
    return survey.place("network", "host", number, "address")


@check(Stage.ADDRESS, Severity.ADVICE, CONFLICT, scope=Scope.KIT)
def hosts_share_address(survey: Survey) -> Iterator[Found]:
    """Two hosts have the same address.

    That is right for two services of one machine. Two machines keep taking it from each other,
    and what is sent to it reaches only one of them. Where one is wired and the other wireless,
    they can hardly be one machine, and it is a risk.

    Mend: Give each machine an address of its own.

    Example:
        [[network.host]]
        name = "printer"
        address = "10.20.0.10"
    """
    for address, numbers in _shared_by_hosts(survey).items():
        yield _shared_address(address, numbers, survey)


def _shared_by_hosts(survey: Survey) -> Mapping[IPv4Address, list[int]]:
    """Return the addresses that several hosts have, and the numbers of those hosts."""
    sharing: dict[IPv4Address, list[int]] = defaultdict(list)
    for number, host in enumerate(survey.hosts):
        sharing[host.address].append(number)
    return {address: numbers for address, numbers in sharing.items() if len(numbers) > 1}


def _shared_address(address: IPv4Address, numbers: list[int], survey: Survey) -> Found:
    """Speak of the hosts, by their numbers, that have one address."""
    hosts = [survey.hosts[number] for number in numbers]
    links_differ = len({host.link for host in hosts}) > 1
    though = ", though some are wired and some wireless" if links_differ else ""
    unless = "" if links_differ else ", unless they are services of one machine"
    free = _instead(survey).get(address, "another address")
    return Found(
        f"{_all_of(host.name for host in hosts)} have the same address, {address}{though}.",
        f'Give "{hosts[-1].name}" {free}{unless}.',
        tuple(_host_place(number, survey) for number in numbers[:MOST_NAMED]),
        {"address": str(address), "hosts": [host.name for host in hosts]},
        severity=Severity.RISK if links_differ else None,
        concerns=_senders_to(address, survey) if links_differ else (),
    )


def _all_of(names: Iterable[str]) -> str:
    """Return the names of hosts as people list them; of very many the first."""
    quoted = [f'"{name}"' for name in names]
    more = len(quoted) - MOST_NAMED
    named = [*quoted[:MOST_NAMED], f"{more} more"] if more > 0 else quoted
    return f"The hosts {', '.join(named[:-1])} and {named[-1]}"


def _senders_to(address: IPv4Address, survey: Survey) -> tuple[int, ...]:
    """Return the positions of the modules that send to an address."""
    return survey.those(lambda module: survey.sends(module) and module.destination == address)


@check(Stage.ADDRESS, Severity.FAULT, LEASES)
def reservation_conflict(module: Module, survey: Survey) -> Iterator[Found]:
    """A reservation and something else claim the same address, or one outside the subnet.

    A module that leases is given an address that somebody has already, or none at all; a static
    module finds its address given to the owner of the reservation.

    Mend: Reserve a free address of the subnet for each hardware address.

    Example:
        [network.ipv4.reservations]
        "00:00:5e:00:53:04" = "10.20.0.10"
    """
    address, owner = own_address(module, survey), module.hardware_address
    if address is None:
        return
    rival = survey.rival_for(address, module)
    if module.is_static and rival is not None:
        message = f"{address} is the module's static address, and reserved for {rival}."
        yield _clash(message, _take_free(module, survey), rival, module, survey)
    elif module.is_pooled and owner is not None:
        reason = f"for {rival} too" if rival else _why_not_leased(address, survey)
        if reason:
            message = f"{address} is reserved for this module, and {reason}."
            yield _clash(message, _reserve_free(module, survey), owner, module, survey)


def _clash(message: str, remedy: str, owner: str, module: Module, survey: Survey) -> Found:
    return Found(
        message,
        remedy,
        (survey.place("network", "ipv4", "reservations", owner), module.line),
        {"hardware_address": owner, "address": str(survey.ipv4.reservations[owner])},
    )


def _reserve_free(module: Module, survey: Survey) -> str:
    free = spare_addresses(survey).get(module.index)
    return f"Reserve {free or 'a free address of the subnet'} for {module.hardware_address}."


def _why_not_leased(address: IPv4Address, survey: Survey) -> str | None:
    owner = _owner(address, survey)
    if survey.subnet is not None and address not in survey.subnet:
        return f"it is outside the subnet {survey.subnet}"
    if owner:
        return f"it is {owner[0]}"
    holders = survey.holders_of(address)
    if holders:
        return f"{holders[0].id} has it as its static address"
    return None
