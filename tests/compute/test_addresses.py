"""Subnets, netmasks, ranges, set-aside blocks and the nearest free address."""

import time
from collections.abc import Iterable
from ipaddress import IPv4Address, IPv4Network

import netaddr
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.compute.addresses import (
    LIMITED_BROADCAST,
    AddressRange,
    FreeAddresses,
    address_number,
    directed_broadcast,
    is_multicast,
    longest_run,
    network_address,
    network_of,
    prefix_of_netmask,
    same_host,
    set_aside_blocks,
    special_use,
    usable_hosts,
)

addresses = st.integers(0, 2**32 - 1).map(IPv4Address)
prefix_lengths = st.integers(0, 32)
networks = st.builds(network_of, addresses, prefix_lengths)


def span(first: str, last: str) -> AddressRange:
    return AddressRange(IPv4Address(first), IPv4Address(last))


@st.composite
def ranges(draw: st.DrawFn) -> AddressRange:
    first, last = sorted((draw(addresses), draw(addresses)))
    return AddressRange(first, last)


@st.composite
def small_ranges(draw: st.DrawFn) -> AddressRange:
    """Ranges in and about 10.20.0.0/27, so that they often meet."""
    first, last = sorted((draw(st.integers(0, 40)), draw(st.integers(0, 40))))
    base = IPv4Address("10.19.255.252")
    return AddressRange(base + first, base + last)


# RFC 950; RFC 1122, section 3.2.1.3. Computed with ipaddress, netaddr 1.3.0 and a third program,
# which agree; the 62 hosts of a /26 and the four addresses of a /30 are in print too.
SUBNETS = [
    # address, prefix, network, broadcast, netmask, first host, last host, hosts
    ("192.168.1.0", 24, "192.168.1.0", "192.168.1.255", "255.255.255.0",
     "192.168.1.1", "192.168.1.254", 254),
    ("192.168.1.77", 25, "192.168.1.0", "192.168.1.127", "255.255.255.128",
     "192.168.1.1", "192.168.1.126", 126),
    ("10.20.30.40", 20, "10.20.16.0", "10.20.31.255", "255.255.240.0",
     "10.20.16.1", "10.20.31.254", 4094),
    ("172.16.5.130", 26, "172.16.5.128", "172.16.5.191", "255.255.255.192",
     "172.16.5.129", "172.16.5.190", 62),
    ("192.168.100.4", 30, "192.168.100.4", "192.168.100.7", "255.255.255.252",
     "192.168.100.5", "192.168.100.6", 2),
    ("203.0.113.128", 29, "203.0.113.128", "203.0.113.135", "255.255.255.248",
     "203.0.113.129", "203.0.113.134", 6),
]  # fmt: skip


@pytest.mark.parametrize(
    ("address", "prefix", "network", "broadcast", "netmask", "first", "last", "hosts"), SUBNETS
)
def test_a_subnet_has_the_published_addresses(
    address: str,
    prefix: int,
    network: str,
    broadcast: str,
    netmask: str,
    first: str,
    last: str,
    hosts: int,
) -> None:
    subnet = network_of(IPv4Address(address), prefix)
    assert subnet == IPv4Network(f"{network}/{prefix}")
    assert network_address(subnet) == IPv4Address(network)
    assert directed_broadcast(subnet) == IPv4Address(broadcast)
    assert prefix_of_netmask(netmask) == prefix
    assert usable_hosts(subnet) == span(first, last)
    assert len(usable_hosts(subnet)) == hosts


def test_a_slash_31_has_two_hosts_and_no_broadcast() -> None:
    """RFC 3021, sections 2 and 3.1 (where ipaddress still names .7 as the broadcast address)."""
    subnet = network_of(IPv4Address("192.0.2.6"), 31)
    assert usable_hosts(subnet) == span("192.0.2.6", "192.0.2.7")
    assert (network_address(subnet), directed_broadcast(subnet)) == (None, None)


def test_a_slash_32_has_one_host_and_no_broadcast() -> None:
    """Computed with netaddr 1.3.0, whose broadcast is None; ipaddress names .9."""
    subnet = network_of(IPv4Address("192.0.2.9"), 32)
    assert usable_hosts(subnet) == span("192.0.2.9", "192.0.2.9")
    assert (network_address(subnet), directed_broadcast(subnet)) == (None, None)


@pytest.mark.parametrize("prefix", range(31))
def test_all_but_two_addresses_are_for_hosts(prefix: int) -> None:
    """2^(32-p) - 2 hosts, the formula in the manner of RFC 1878."""
    assert len(usable_hosts(network_of(IPv4Address("10.20.0.1"), prefix))) == 2 ** (32 - prefix) - 2


@given(addresses, prefix_lengths)
def test_a_subnet_is_what_netaddr_says(address: IPv4Address, prefix: int) -> None:
    subnet = network_of(address, prefix)
    reference = netaddr.IPNetwork(f"{address}/{prefix}")
    assert str(subnet) == str(reference.cidr)
    broadcast = directed_broadcast(subnet)
    assert str(broadcast) == str(reference.broadcast)
    hosts = usable_hosts(subnet)
    trim = 1 if prefix <= 30 else 0
    assert int(hosts.first) == reference.first + trim
    assert int(hosts.last) == reference.last - trim


@given(addresses, st.integers(25, 32))
def test_hosts_are_what_ipaddress_says(address: IPv4Address, prefix: int) -> None:
    subnet = network_of(address, prefix)
    expected = list(subnet.hosts())
    assert usable_hosts(subnet) == AddressRange(expected[0], expected[-1])
    assert len(usable_hosts(subnet)) == len(expected)


@pytest.mark.parametrize("prefix", [-1, 33])
def test_a_prefix_length_beyond_the_address_is_refused(prefix: int) -> None:
    with pytest.raises(ValueError, match=rf"^prefix_length is {prefix}; it must be 0 to 32$"):
        network_of(IPv4Address("10.20.0.1"), prefix)


# --- netmasks -----------------------------------------------------------------------------------


@given(prefix_lengths)
def test_a_netmask_gives_back_its_prefix_length(prefix: int) -> None:
    netmask = IPv4Network((0, prefix)).netmask
    assert prefix_of_netmask(netmask) == prefix
    assert prefix_of_netmask(str(netmask)) == prefix


@given(addresses)
def test_a_mask_passes_where_netaddr_calls_it_a_netmask(mask: IPv4Address) -> None:
    if netaddr.IPAddress(str(mask)).is_netmask():
        assert IPv4Network((0, prefix_of_netmask(mask))).netmask == mask
    else:
        with pytest.raises(ValueError, match=rf"^netmask is {mask}, "):
            prefix_of_netmask(mask)


@pytest.mark.parametrize(
    ("mask", "fault", "right"),  # "right" by hand: the netmask at the least distance as a number
    [
        ("255.255.255.225", "not contiguous", "255.255.255.224"),
        ("255.255.255.1", "not contiguous", "255.255.255.0"),
        ("255.255.0.255", "not contiguous", "255.255.0.0"),
        ("255.0.255.0", "not contiguous", "255.0.0.0"),
        ("225.255.255.0", "not contiguous", "224.0.0.0"),
        ("10.20.0.1", "not contiguous", "0.0.0.0"),
        ("0.0.0.255", "a wildcard mask", "255.255.255.0"),
        ("0.0.0.1", "a wildcard mask", "255.255.255.254"),
        ("0.0.15.255", "a wildcard mask", "255.255.240.0"),
        ("127.255.255.255", "a wildcard mask", "128.0.0.0"),
    ],
)
def test_what_is_no_netmask_is_refused_with_the_nearest(mask: str, fault: str, right: str) -> None:
    with pytest.raises(ValueError, match=rf"^netmask is {mask}, {fault}; .* such as {right}$"):
        prefix_of_netmask(mask)


@pytest.mark.parametrize("text", ["24", "/24", "255.255.255", "255.255.255.256", "", "mask", "::"])
def test_what_is_no_address_is_no_netmask(text: str) -> None:
    with pytest.raises(ValueError, match=rf"^netmask is '{text}'; it must be four octets"):
        prefix_of_netmask(text)


# --- ranges -------------------------------------------------------------------------------------


def test_a_range_runs_forward() -> None:
    with pytest.raises(ValueError, match=r"^last is 10\.20\.0\.9; it must not come before 10\.20"):
        span("10.20.0.10", "10.20.0.9")


def test_a_range_holds_both_its_ends() -> None:
    pool = span("10.20.0.100", "10.20.0.150")
    assert IPv4Address("10.20.0.100") in pool
    assert IPv4Address("10.20.0.150") in pool
    assert IPv4Address("10.20.0.99") not in pool
    assert IPv4Address("10.20.0.151") not in pool
    assert "10.20.0.120" not in pool
    assert len(pool) == 51


def test_a_range_counts_each_address_once() -> None:
    pool = span("10.20.0.100", "10.20.0.150")
    seen = ["10.20.0.100", "10.20.0.100", "10.20.0.150", "10.20.0.151", "10.20.0.1"]
    assert pool.count_of(int(IPv4Address(text)) for text in seen) == 2


@given(networks)
def test_a_range_can_fill_its_network_exactly(network: IPv4Network) -> None:
    whole = AddressRange(network[0], network[-1])
    assert whole.inside(network)
    assert len(whole) == network.num_addresses


@pytest.mark.parametrize(
    ("first", "last", "inside"),
    [
        ("10.20.0.0", "10.20.0.255", True),
        ("10.20.0.200", "10.20.1.10", False),
        ("10.19.255.255", "10.20.0.10", False),
        ("10.19.255.255", "10.20.1.0", False),
    ],
)
def test_a_range_is_inside_only_with_both_ends(first: str, last: str, inside: bool) -> None:
    assert span(first, last).inside(IPv4Network("10.20.0.0/24")) is inside


@given(ranges(), ranges())
def test_overlap_is_what_netaddr_says(one: AddressRange, other: AddressRange) -> None:
    sets = [netaddr.IPSet(netaddr.IPRange(str(r.first), str(r.last))) for r in (one, other)]
    assert one.overlaps(other) is not sets[0].isdisjoint(sets[1])


@given(small_ranges(), small_ranges())
def test_overlap_is_a_shared_address(one: AddressRange, other: AddressRange) -> None:
    shared = any(one.first + offset in other for offset in range(len(one)))
    assert one.overlaps(other) is other.overlaps(one) is shared


# --- set-aside blocks ---------------------------------------------------------------------------

# RFC 6890, section 2.2.2 (the registry of special-purpose addresses), and the block's own document.
BLOCKS = [
    ("0.0.0.0/8", "this network", "RFC 1122", False),  # section 3.2.1.3 (a), (b)
    ("100.64.0.0/10", "shared by a provider's customers", "RFC 6598", True),
    ("127.0.0.0/8", "loopback", "RFC 1122", False),  # section 3.2.1.3 (g)
    ("169.254.0.0/16", "link-local", "RFC 3927", False),
    ("192.0.0.0/24", "protocol assignments", "RFC 6890", True),
    ("192.0.2.0/24", "documentation", "RFC 5737", True),
    ("192.88.99.0/24", "6to4 relay anycast", "RFC 7526", True),  # from memory, unverified
    ("198.18.0.0/15", "benchmarking", "RFC 2544", True),
    ("198.51.100.0/24", "documentation", "RFC 5737", True),
    ("203.0.113.0/24", "documentation", "RFC 5737", True),
    ("224.0.0.0/4", "multicast", "RFC 5771", False),
    ("255.255.255.255/32", "limited broadcast", "RFC 919", False),
]


@pytest.mark.parametrize(("block", "name", "source", "host_may_have_it"), BLOCKS)
def test_a_block_is_set_aside_from_its_first_to_its_last_address(
    block: str, name: str, source: str, host_may_have_it: bool
) -> None:
    network = IPv4Network(block)
    for address in (network[0], network[-1]):
        use = special_use(address)
        assert use is not None
        assert (use.block, use.name, use.host_may_have_it) == (network, name, host_may_have_it)
        assert use.source.startswith(source)


def test_the_reserved_block_ends_before_limited_broadcast() -> None:
    """RFC 1112, section 4 (240.0.0.0/4); RFC 919, section 7 (255.255.255.255)."""
    for text in ("240.0.0.0", "255.255.255.254"):
        use = special_use(IPv4Address(text))
        assert use is not None
        assert (use.name, use.host_may_have_it) == ("reserved", False)
        assert use.source.startswith("RFC 1112")


def test_hosts_are_kept_out_of_these_blocks_alone() -> None:
    """RFC 1112, section 4 (240.0.0.0/4); the others as above."""
    refused = {block for block, _, _, host_may_have_it in BLOCKS if not host_may_have_it}
    assert {str(block) for block in set_aside_blocks()} == refused | {"240.0.0.0/4"}


@pytest.mark.parametrize(
    "text",
    [
        # RFC 1918, section 3: the private blocks, and the addresses beside them
        "10.0.0.0", "10.255.255.255", "172.16.0.0", "172.31.255.255", "192.168.0.0",
        "192.168.255.255", "9.255.255.255", "11.0.0.0", "172.15.255.255", "172.32.0.0",
        "192.167.255.255", "192.169.0.0",
        # the addresses beside the blocks above (RFC 6890, section 2.2.2)
        "1.0.0.0", "100.63.255.255", "100.128.0.0", "126.255.255.255", "128.0.0.0",
        "169.253.255.255", "169.255.0.0", "191.255.255.255", "192.0.1.0", "192.0.1.255",
        "192.0.3.0", "192.88.98.255", "192.88.100.0", "198.17.255.255", "198.20.0.0",
        "198.51.99.255", "198.51.101.0", "203.0.112.255", "203.0.114.0", "223.255.255.255",
    ],
)  # fmt: skip
def test_private_and_global_addresses_are_for_use(text: str) -> None:
    assert special_use(IPv4Address(text)) is None


@pytest.mark.parametrize("text", ["192.0.0.8", "192.0.0.9", "192.0.0.10"])
def test_protocol_assignments_do_not_depend_on_the_interpreter(text: str) -> None:
    """Python 3.11.7 and 3.12.4 disagree about 192.0.0.8; RFC 6890 sets the whole /24 aside."""
    use = special_use(IPv4Address(text))
    assert use is not None
    assert use.block == IPv4Network("192.0.0.0/24")


@given(addresses)
def test_blocks_agree_with_ipaddress_where_it_is_steady(address: IPv4Address) -> None:
    use = special_use(address)
    name = use.name if use else None
    assert (name == "loopback") is address.is_loopback
    assert (name == "link-local") is address.is_link_local
    assert (name == "multicast") is address.is_multicast is is_multicast(address)
    assert (name in ("reserved", "limited broadcast")) is address.is_reserved


@pytest.mark.parametrize(
    ("text", "expected"),  # RFC 5771, section 3; 239/8 also RFC 2365
    [
        ("223.255.255.255", False),
        ("224.0.0.0", True),
        ("224.0.0.1", True),
        ("239.1.1.1", True),
        ("239.255.255.255", True),
        ("240.0.0.0", False),
    ],
)
def test_multicast_addresses(text: str, expected: bool) -> None:
    assert is_multicast(IPv4Address(text)) is expected


def test_limited_broadcast_is_all_ones() -> None:
    """RFC 919, section 7; RFC 1122, section 3.2.1.3 (c)."""
    assert int(LIMITED_BROADCAST) == 2**32 - 1


# --- the nearest free address -------------------------------------------------------------------

KIT = IPv4Network("10.20.0.0/24")


def nearest_free(
    wanted: IPv4Address,
    network: IPv4Network,
    taken: Iterable[IPv4Address],
    avoid: Iterable[AddressRange],
) -> IPv4Address | None:
    return FreeAddresses(network, map(int, taken), avoid).take_nearest(wanted)


def near(wanted: str, *taken: str, avoid: tuple[AddressRange, ...] = ()) -> str | None:
    found = nearest_free(IPv4Address(wanted), KIT, [IPv4Address(text) for text in taken], avoid)
    return None if found is None else str(found)


def test_a_free_address_is_its_own_nearest() -> None:
    assert near("10.20.0.50", "10.20.0.49", "10.20.0.51") == "10.20.0.50"


def test_of_two_at_the_same_distance_the_higher_is_nearest() -> None:
    assert near("10.20.0.50", "10.20.0.50") == "10.20.0.51"
    assert near("10.20.0.50", "10.20.0.50", "10.20.0.51") == "10.20.0.49"


def test_a_range_to_avoid_is_left_at_its_nearer_end() -> None:
    pool = span("10.20.0.100", "10.20.0.150")
    assert near("10.20.0.110", avoid=(pool,)) == "10.20.0.99"
    assert near("10.20.0.140", avoid=(pool,)) == "10.20.0.151"
    assert near("10.20.0.140", "10.20.0.151", "10.20.0.152", avoid=(pool,)) == "10.20.0.153"


def test_network_and_broadcast_addresses_are_never_given() -> None:
    """RFC 1122, section 3.2.1.3."""
    assert near("10.20.0.0") == "10.20.0.1"
    assert near("10.20.0.255") == "10.20.0.254"


def test_from_outside_the_edge_is_nearest() -> None:
    assert near("10.19.0.7") == "10.20.0.1"
    assert near("10.20.9.7", "10.20.0.254") == "10.20.0.253"


def test_nothing_is_nearest_where_nothing_is_free() -> None:
    assert near("10.20.0.50", avoid=(span("10.20.0.0", "10.20.0.255"),)) is None
    assert near("10.19.0.7", avoid=(span("10.20.0.0", "10.20.0.255"),)) is None


@given(
    st.integers(0, 40).map(lambda offset: IPv4Address("10.19.255.252") + offset),
    st.integers(27, 32),
    st.sets(st.integers(0, 31).map(lambda offset: IPv4Address("10.20.0.0") + offset)),
    st.lists(small_ranges(), max_size=3),
)
def test_no_free_address_is_nearer_than_the_nearest_free(
    wanted: IPv4Address, prefix: int, taken: set[IPv4Address], avoid: list[AddressRange]
) -> None:
    network = network_of(IPv4Address("10.20.0.8"), prefix)
    free = [
        host
        for host in network.hosts()
        if host not in taken and not any(host in block for block in avoid)
    ]
    by_distance = sorted(free, key=lambda host: (abs(int(host) - int(wanted)), -int(host)))
    assert nearest_free(wanted, network, taken, avoid) == (by_distance[0] if free else None)


@given(
    st.lists(st.integers(0, 40).map(lambda offset: IPv4Address("10.19.255.252") + offset)),
    st.integers(27, 32),
    st.sets(st.integers(0, 31).map(lambda offset: IPv4Address("10.20.0.0") + offset)),
)
def test_one_after_the_other_each_gets_the_nearest_that_is_left(
    wishes: list[IPv4Address], prefix: int, taken: set[IPv4Address]
) -> None:
    network = network_of(IPv4Address("10.20.0.8"), prefix)
    free = FreeAddresses(network, map(int, taken))
    for wanted in wishes:
        given_out = free.take_nearest(wanted)
        assert given_out == nearest_free(wanted, network, taken, [])
        taken |= {given_out} if given_out else set()


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0.0.0.0", 0),
        ("255.255.255.255", 2**32 - 1),
        ("10.20.0.31", 0x0A14001F),
        ("192.0.2.235", 0xC00002EB),
        ("192.0.2.0353", None),  # octal to some readers
        ("0xC00002EB", None),
        ("3221226219", None),
        ("192.0.2", None),
        ("192.0.2.235\n", None),
        ("192.0.2.٣", None),
        ("256.0.0.1", None),
        ("", None),
    ],
)
def test_only_four_plain_decimal_octets_have_a_number(text: str, number: int | None) -> None:
    """RFC 6943, section 3.1.1: the strict form, and the loose ones that some readers take.

    From memory, unverified; the next test holds it against the standard library.
    """
    assert address_number(text) == number


@given(st.one_of(st.ip_addresses(v=4).map(str), st.from_regex(r"[0-9.]{1,15}", fullmatch=True)))
def test_an_address_has_a_number_where_ipaddress_reads_one(text: str) -> None:
    try:
        expected: int | None = int(IPv4Address(text))
    except ValueError:
        expected = None
    assert address_number(text) == expected


def test_a_large_subnet_costs_no_more_than_a_small_one() -> None:
    network = IPv4Network("10.0.0.0/8")
    most = span("10.0.0.2", "10.255.255.250")
    began = time.perf_counter()
    assert nearest_free(IPv4Address("10.20.0.1"), network, [], [most]) == IPv4Address("10.0.0.1")
    assert len(usable_hosts(network)) == 2**24 - 2
    assert time.perf_counter() - began < 0.1


@given(addresses, networks)
def test_the_same_host_of_a_network_is_in_it_and_keeps_its_host_part(
    address: IPv4Address, network: IPv4Network
) -> None:
    there = same_host(address, network)
    assert there in network
    assert int(there) & int(network.hostmask) == int(address) & int(network.hostmask)


@given(st.integers(1, 12), st.sets(st.integers(0, 13)))
def test_the_longest_run_is_the_longest_that_holds_nothing_taken(
    size: int, taken: set[int]
) -> None:
    """Beside every run that there is, tried one by one."""
    block = AddressRange(IPv4Address(1), IPv4Address(size))
    runs = [
        (last - first, first)
        for first in range(1, size + 1)
        for last in range(first, size + 1)
        if taken.isdisjoint(range(first, last + 1))
    ]
    found = longest_run(block, taken)
    best = (int(found.last) - int(found.first), int(found.first)) if found else None
    assert best == max(runs, default=None)
