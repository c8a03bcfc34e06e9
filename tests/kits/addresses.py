"""An address plan: blocks side by side in a private subnet, so that nothing can overlap."""

from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, pick, shuffled

PRIVATE = tuple(map(IPv4Network, ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")))  # RFC 1918
WIDEST, NARROWEST = 20, 28
"""Prefix lengths."""
SPARES = 4
"""Addresses outside of the pool that stay unassigned."""


@dataclass(frozen=True)
class AddressPlan:
    """Who has which addresses of a subnet; each block is in ascending order."""

    subnet: IPv4Network
    gateway: IPv4Address
    hosts: tuple[IPv4Address, ...]
    statics: tuple[IPv4Address, ...]
    pool: tuple[IPv4Address, ...]
    spares: tuple[IPv4Address, ...]


def address_plan(draw: DrawFn, hosts: int, statics: int, pool: int) -> AddressPlan:
    """Draw a subnet with room for so many addresses of each kind, and their places in it."""
    sizes = {"gateway": 1, "hosts": hosts, "statics": statics, "pool": pool, "spares": SPARES}
    needed = sum(sizes.values())
    fitting = [p for p in range(WIDEST, NARROWEST + 1) if 2 ** (32 - p) - 2 >= needed]
    prefix_length = pick(draw, fitting[::-1])
    subnet = _subnet(draw, prefix_length)
    slack = 2 ** (32 - prefix_length) - 2 - needed
    at, blocks = subnet.network_address + 1, {}
    for name in shuffled(draw, list(sizes)):
        gap = between(draw, 0, slack)
        slack, at = slack - gap, at + gap
        blocks[name] = tuple(at + step for step in range(sizes[name]))
        at += sizes[name]
    (gateway,) = blocks.pop("gateway")
    return AddressPlan(subnet, gateway, **blocks)


def _subnet(draw: DrawFn, prefix_length: int) -> IPv4Network:
    block = pick(draw, PRIVATE)
    number = between(draw, 0, 2 ** (prefix_length - block.prefixlen) - 1)
    return IPv4Network(
        (int(block.network_address) + number * 2 ** (32 - prefix_length), prefix_length)
    )


def elsewhere(subnet: IPv4Network) -> IPv4Network:
    """Return a subnet of the same size in another private block."""
    block = next(block for block in PRIVATE if not block.overlaps(subnet))
    return IPv4Network((int(block.network_address) + 7 * subnet.num_addresses, subnet.prefixlen))
