"""Addresses for many at once, out of the free runs of a subnet: the lowest first.

Runs are in ascending order and do not overlap, as `FreeAddresses.runs` gives them.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from ipaddress import IPv4Address, IPv4Network
from itertools import islice

from auditor.compute.addresses import AddressRange

WIDEST_PREFIX = 8
"""No subnet is made wider: the largest private block has that length (RFC 1918, section 3)."""
_PRIVATE = tuple(map(IPv4Network, ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")))
"""Source: RFC 1918, section 3."""


def room(runs: Iterable[AddressRange]) -> int:
    """Return how many addresses some runs have."""
    return sum(map(len, runs))


def lowest_run(runs: Iterable[AddressRange], count: int) -> AddressRange | None:
    """Return the lowest run that has at least so many addresses; None where none has."""
    return next((run for run in runs if len(run) >= count), None)


def from_on(runs: Iterable[AddressRange], first: IPv4Address) -> list[AddressRange]:
    """Return what is left of some runs from an address on."""
    return [AddressRange(max(run.first, first), run.last) for run in runs if run.last >= first]


def lowest_addresses(runs: Iterable[AddressRange], count: int) -> list[IPv4Address]:
    """Return the lowest addresses of some runs: so many, or all where there are fewer."""
    return list(islice(_each(runs), count))


def _each(runs: Iterable[AddressRange]) -> Iterator[IPv4Address]:
    return (
        IPv4Address(number) for run in runs for number in range(int(run.first), int(run.last) + 1)
    )


def highest_start(runs: Sequence[AddressRange], count: int) -> IPv4Address | None:
    """Return the highest address from which on so many are left; None where there are fewer.

    Raises:
        ValueError: if the count is below 1.
    """
    if count < 1:
        raise ValueError(f"count is {count}; it must be at least 1")
    missing = count
    for run in reversed(runs):
        if len(run) >= missing:
            return IPv4Address(int(run.last) - missing + 1)
        missing -= len(run)
    return None


def widened(network: IPv4Network, suits: Callable[[IPv4Network], bool]) -> IPv4Network | None:
    """Return the smallest wider subnet around a subnet that suits; None where none does.

    A private subnet stays within its private block.

    Source: RFC 1918, section 3; RFC 4632, section 3.1 (a prefix that is a bit shorter).
    """
    block = next((each for each in _PRIVATE if network.subnet_of(each)), None)
    widest = block.prefixlen if block else WIDEST_PREFIX
    for prefix_length in range(network.prefixlen - 1, widest - 1, -1):
        wider = network.supernet(new_prefix=prefix_length)
        if suits(wider):
            return wider
    return None
