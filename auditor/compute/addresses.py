"""IPv4 addresses: ranges, netmasks, subnets, set-aside blocks and the nearest free address.

Addresses are `ipaddress` objects, or their numbers where there are very many of them; no cost
grows with the size of a subnet.
"""

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from ipaddress import AddressValueError, IPv4Address, IPv4Network
from socket import inet_aton

ADDRESS_BITS = 32  # RFC 791, section 2.3
_OCTET = r"(?:25[0-5]|2[0-4]\d|1\d\d|[1-9]?\d)"
_FOUR_OCTETS = re.compile(rf"{_OCTET}(?:\.{_OCTET}){{3}}", re.ASCII)
LIMITED_BROADCAST = IPv4Address("255.255.255.255")  # RFC 919, section 7
_MULTICAST = IPv4Network("224.0.0.0/4")  # RFC 5771, section 3
_LONGEST_PREFIX_WITH_BROADCAST = 30  # RFC 3021, section 2
_NETMASKS = tuple(  # as numbers, at the index of their prefix length
    int(IPv4Network((0, prefix_length)).netmask) for prefix_length in range(ADDRESS_BITS + 1)
)


@dataclass(frozen=True)
class AddressRange:
    """A run of consecutive addresses, both ends included.

    Raises:
        ValueError: if the last address comes before the first.
    """

    first: IPv4Address
    last: IPv4Address

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"last is {self.last}; it must not come before {self.first}")

    def __contains__(self, address: object) -> bool:
        return isinstance(address, IPv4Address) and self.first <= address <= self.last

    def __len__(self) -> int:
        return int(self.last) - int(self.first) + 1

    def overlaps(self, other: "AddressRange") -> bool:
        """Tells whether the two ranges share an address."""
        return self.first <= other.last and other.first <= self.last

    def inside(self, network: IPv4Network) -> bool:
        """Tells whether the whole range lies in the network."""
        return self.first in network and self.last in network

    def count_of(self, numbers: Iterable[int]) -> int:
        """Counts the distinct addresses in the range among those with these numbers."""
        first, last = int(self.first), int(self.last)
        return sum(first <= number <= last for number in set(numbers))


def longest_run(block: AddressRange, without: Iterable[int]) -> AddressRange | None:
    """Return the longest run in a block that has none of the addresses with these numbers.

    Of two equally long ones it is the later; None is left where every address is taken out.
    """
    first, last = int(block.first), int(block.last)
    taken = sorted({number for number in without if first <= number <= last})
    starts, ends = [first, *(n + 1 for n in taken)], [*(n - 1 for n in taken), last]
    runs = zip(starts, ends, strict=True)
    start, end = max(runs, key=lambda run: (run[1] - run[0], run[0]))
    return AddressRange(IPv4Address(start), IPv4Address(end)) if start <= end else None


@dataclass(frozen=True)
class SpecialUse:
    """A block that is set aside, and whether a host on a private link may have its addresses."""

    block: IPv4Network
    name: str
    source: str
    host_may_have_it: bool


# `ipaddress` answers differently for some of these within Python 3.11, so the table stands here.
# Sources: RFC 6890, section 2.2.2, and the document that set the block aside.
# Where one block lies in another, the narrower stands first.
_SPECIAL_USES = tuple(
    SpecialUse(IPv4Network(block), name, source, host_may_have_it)
    for block, name, source, host_may_have_it in (
        ("0.0.0.0/8", "this network", "RFC 1122, section 3.2.1.3", False),
        ("100.64.0.0/10", "shared by a provider's customers", "RFC 6598, section 7", True),
        ("127.0.0.0/8", "loopback", "RFC 1122, section 3.2.1.3", False),
        ("169.254.0.0/16", "link-local", "RFC 3927, section 2.1", False),
        ("192.0.0.0/24", "protocol assignments", "RFC 6890, section 2.1", True),
        ("192.0.2.0/24", "documentation", "RFC 5737, section 3", True),
        ("192.88.99.0/24", "6to4 relay anycast", "RFC 7526", True),
        ("198.18.0.0/15", "benchmarking", "RFC 2544", True),
        ("198.51.100.0/24", "documentation", "RFC 5737, section 3", True),
        ("203.0.113.0/24", "documentation", "RFC 5737, section 3", True),
        ("224.0.0.0/4", "multicast", "RFC 5771, section 3", False),
        ("255.255.255.255/32", "limited broadcast", "RFC 919, section 7", False),
        ("240.0.0.0/4", "reserved", "RFC 1112, section 4", False),
    )
)


def set_aside_blocks() -> Iterator[IPv4Network]:
    """Gives the blocks of which no host may have an address."""
    return (use.block for use in _SPECIAL_USES if not use.host_may_have_it)


def address_number(text: str) -> int | None:
    """Gives the number of an address that is written as four decimal octets; None for all else.

    An octet has no leading zero, which some readers take for an octal number.

    Source: RFC 6943, section 3.1.1 (from memory, unverified).
    """
    return int.from_bytes(inet_aton(text)) if _FOUR_OCTETS.fullmatch(text) else None


def prefix_of_netmask(netmask: str | IPv4Address) -> int:
    """Gives the prefix length, 0 to 32, that a netmask stands for.

    Raises:
        ValueError: if the netmask is no address, or its ones are not contiguous from the left; a
            wildcard mask such as 0.0.0.255 is refused too. The message names the nearest netmask.

    Source: RFC 950, section 2.1; contiguous from the left: RFC 4632, section 5.1.
    """
    try:
        bits = int(IPv4Address(netmask))
    except AddressValueError:
        message = f"netmask is {str(netmask)!r}; it must be four octets, such as 255.255.255.0"
        raise ValueError(message) from None
    if bits in _NETMASKS:
        return _NETMASKS.index(bits)
    raise ValueError(_why_no_netmask(bits))


def _why_no_netmask(bits: int) -> str:
    """Says what is wrong with a mask, and which netmask is meant or comes nearest."""
    inverted = int(LIMITED_BROADCAST) - bits
    if inverted in _NETMASKS:
        fault, right = "a wildcard mask", inverted
    else:
        fault = "not contiguous"
        right = min(_NETMASKS, key=lambda netmask: abs(netmask - bits))
    return (
        f"netmask is {IPv4Address(bits)}, {fault}; "
        f"it must be ones followed by zeros, such as {IPv4Address(right)}"
    )


def network_of(address: IPv4Address, prefix_length: int) -> IPv4Network:
    """Gives the subnet in which a host with this address and prefix length believes to be.

    Raises:
        ValueError: if the prefix length is not 0 to 32.

    Source: RFC 950, section 2.1.
    """
    if not 0 <= prefix_length <= ADDRESS_BITS:
        raise ValueError(f"prefix_length is {prefix_length}; it must be 0 to {ADDRESS_BITS}")
    return IPv4Network((address, prefix_length), strict=False)


def usable_hosts(network: IPv4Network) -> AddressRange:
    """Gives the addresses that hosts of the subnet may have.

    These are all but the lowest and the highest; both of a /31, and the one of a /32.

    Source: RFC 1122, section 3.2.1.3; /31: RFC 3021, section 2.
    """
    if network.prefixlen > _LONGEST_PREFIX_WITH_BROADCAST:
        return AddressRange(network[0], network[-1])
    return AddressRange(network[1], network[-2])


def network_address(network: IPv4Network) -> IPv4Address | None:
    """Gives the address of the subnet itself, or None for a /31 and a /32, which have none.

    Source: RFC 1122, section 3.2.1.3; RFC 3021, section 2.
    """
    return network[0] if network.prefixlen <= _LONGEST_PREFIX_WITH_BROADCAST else None


def directed_broadcast(network: IPv4Network) -> IPv4Address | None:
    """Gives the subnet's broadcast address, or None for a /31 and a /32, which have none.

    Source: RFC 1122, section 3.2.1.3 (d); RFC 3021, sections 2 and 3.1.
    """
    return network[-1] if network.prefixlen <= _LONGEST_PREFIX_WITH_BROADCAST else None


def is_multicast(address: IPv4Address) -> bool:
    """Tells whether the address stands for a group of hosts.

    Source: RFC 5771, section 3.
    """
    return address in _MULTICAST


def same_host(address: IPv4Address, network: IPv4Network) -> IPv4Address:
    """Return the address of a network that has the host part of another address.

    Source: RFC 950, section 2.1: an address is a network's number and a host's.
    """
    return IPv4Address(int(network.network_address) | int(address) & int(network.hostmask))


def special_use(address: IPv4Address) -> SpecialUse | None:
    """Gives the set-aside block of an address; None for a private (RFC 1918) or a global one.

    Source: RFC 6890, section 2.2.2, and the document named in the answer.
    """
    return next((use for use in _SPECIAL_USES if address in use.block), None)


class FreeAddresses:
    """The host addresses of a subnet that are neither taken nor in a range to avoid.

    They are given out one by one; the cost of one does not grow with the number of taken ones.
    """

    def __init__(
        self, network: IPv4Network, taken: Iterable[int], avoid: Iterable[AddressRange] = ()
    ) -> None:
        """Start with what `usable_hosts` names; `taken` holds the numbers of addresses."""
        hosts = usable_hosts(network)
        blocks = [(number, number) for number in set(taken)]
        blocks += [(int(block.first), int(block.last)) for block in avoid]
        self._gaps = list(_gaps(int(hosts.first), int(hosts.last), sorted(blocks)))

    @property
    def runs(self) -> list[AddressRange]:
        """What is free by now, as runs in ascending order."""
        return [AddressRange(IPv4Address(first), IPv4Address(last)) for first, last in self._gaps]

    def take_nearest(self, wanted: IPv4Address) -> IPv4Address | None:
        """Gives the free address nearest to the wanted one, and counts it as taken from now on.

        Of two at the same distance the higher is given, and None where nothing is free. The
        wanted address may lie outside of the subnet.
        """
        goal = int(wanted)
        place = bisect_right(self._gaps, (goal, goal))
        near = range(max(0, place - 1), min(place + 1, len(self._gaps)))
        offers = [(min(max(goal, self._gaps[at][0]), self._gaps[at][1]), at) for at in near]
        if not offers:
            return None
        number, at = min(offers, key=lambda offer: (abs(offer[0] - goal), -offer[0]))
        first, last = self._gaps[at]
        self._gaps[at : at + 1] = _gaps(first, last, [(number, number)])
        return IPv4Address(number)


def _gaps(first: int, last: int, blocks: Iterable[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Gives what the blocks, in ascending order, leave of a run of numbers, ends included."""
    for start, end in blocks:
        if start > last:
            break
        if first < start:
            yield first, start - 1
        first = max(first, end + 1)
    if first <= last:
        yield first, last
