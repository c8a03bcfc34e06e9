"""Addresses for many at once: the lowest, in a row, from an address on, or in a wider subnet."""

from ipaddress import IPv4Address, IPv4Network

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.compute.addresses import AddressRange, FreeAddresses
from auditor.compute.allocation import (
    from_on,
    highest_start,
    lowest_addresses,
    lowest_run,
    room,
    widened,
)

SUBNET = IPv4Network("10.20.0.0/28")


def address(last_octet: int) -> IPv4Address:
    return IPv4Address(f"10.20.0.{last_octet}")


def free(*taken: int) -> list[AddressRange]:
    """Return the free runs of a subnet of 14 hosts, .1 to .14."""
    return FreeAddresses(SUBNET, [int(address(octet)) for octet in taken]).runs


takens = st.sets(st.integers(1, 14))


@given(takens)
def test_the_runs_are_what_is_not_taken(taken: set[int]) -> None:
    """RFC 1122, section 3.2.1.3: a /28 has 14 hosts, .1 to .14."""
    octets = [int(each) & 15 for each in lowest_addresses(free(*taken), 99)]
    assert octets == sorted({*range(1, 15)} - taken)
    assert room(free(*taken)) == 14 - len(taken)


def test_the_lowest_run_that_is_long_enough() -> None:
    runs = free(1, 5, 10)  # .2-.4, .6-.9, .11-.14
    assert lowest_run(runs, 3) == AddressRange(address(2), address(4))
    assert lowest_run(runs, 4) == AddressRange(address(6), address(9))
    assert lowest_run(runs, 5) is None


def test_the_lowest_addresses_go_over_what_is_taken() -> None:
    assert lowest_addresses(free(1, 5, 10), 4) == [address(octet) for octet in (2, 3, 4, 6)]


def test_what_is_left_from_an_address_on() -> None:
    left = from_on(free(5), address(3))
    assert left == [AddressRange(address(3), address(4)), AddressRange(address(6), address(14))]
    assert from_on(free(5), address(15)) == []


@given(takens, st.integers(1, 14))
def test_from_the_highest_start_on_there_is_just_room(taken: set[int], count: int) -> None:
    runs = free(*taken)
    start = highest_start(runs, count)
    if start is None:
        assert room(runs) < count
    else:
        assert room(from_on(runs, start)) == count
        assert any(start in run for run in runs)


def test_nobody_asks_for_no_address() -> None:
    with pytest.raises(ValueError, match=r"count is 0; it must be at least 1"):
        highest_start(free(), 0)


@pytest.mark.parametrize(
    ("network", "hosts", "wider"),
    [
        ("10.20.0.0/24", 300, "10.20.0.0/23"),
        ("10.20.1.0/24", 300, "10.20.0.0/23"),  # RFC 4632, section 3.1: a bit shorter
        ("192.168.7.0/24", 65_534, "192.168.0.0/16"),
        ("192.168.7.0/24", 65_535, None),  # RFC 1918, section 3: the block is a /16
        ("172.20.0.0/24", 70_000, "172.20.0.0/15"),
        ("203.0.112.0/23", 600, "203.0.112.0/22"),
    ],
)
def test_a_wider_subnet_stays_in_its_private_block(
    network: str, hosts: int, wider: str | None
) -> None:
    found = widened(IPv4Network(network), lambda each: each.num_addresses - 2 >= hosts)
    assert found == (IPv4Network(wider) if wider else None)
