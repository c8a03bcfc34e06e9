"""Hardware addresses (EUI-48): spellings, group bit and local bit."""

import netaddr
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from auditor.compute.hardware import is_group, is_local, parse_eui48

numbers = st.integers(0, 2**48 - 1)
SPELLINGS = (  # netaddr's names for the spellings that are accepted here
    netaddr.mac_unix_expanded,
    netaddr.mac_eui48,
    netaddr.mac_cisco,
    netaddr.mac_bare,
)


@pytest.mark.parametrize(
    "text",
    [
        "02:00:5e:00:53:01",
        "02:00:5E:00:53:01",
        "02-00-5E-00-53-01",
        "02005e005301",
        "02005E005301",
        "0200.5e00.5301",
    ],
)
def test_every_spelling_becomes_the_canonical_one(text: str) -> None:
    assert parse_eui48(text) == "02:00:5e:00:53:01"


@given(numbers, st.sampled_from(SPELLINGS), st.booleans())
def test_spellings_are_read_as_netaddr_writes_them(
    number: int, spelling: type[netaddr.mac_eui48], upper: bool
) -> None:
    text = str(netaddr.EUI(number, version=48, dialect=spelling))
    expected = str(netaddr.EUI(number, version=48, dialect=netaddr.mac_unix_expanded))
    assert parse_eui48(text.upper() if upper else text.lower()) == expected


@given(numbers)
def test_the_canonical_spelling_stays(number: int) -> None:
    canonical = parse_eui48(f"{number:012x}")
    assert parse_eui48(canonical) == canonical


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "it has 0 hexadecimal digits; it must have 12"),
        ("02005e00530", "it has 11 hexadecimal digits; it must have 12"),
        ("02005e0053011", "it has 13 hexadecimal digits; it must have 12"),
        ("02:00:5e:00:53", "it has 5 parts between ':'; it must have 6"),
        ("02-00-5e-00-53-01-02", "it has 7 parts between '-'; it must have 6"),
        ("02.00.5e.00.53.01", "it has 6 parts between '.'; it must have 3"),
        ("2:0:5e:0:53:1", "its part '2' must have 2 digits"),
        ("02:00:5e:00:53:", "its part '' must have 2 digits"),
        ("0200.5e00.531", "its part '531' must have 4 digits"),
        ("02:00:5e-00-53-01", "it mixes '-' and ':'; it must keep to one separator"),
        ("02:00:5g:00:53:0h", "'g' is neither a hexadecimal digit nor a separator"),
        ("O2:00:5e:00:53:01", "'O' is neither a hexadecimal digit nor a separator"),
        ("02:00:5e:00:53:0\u0661", "'\u0661' is neither a hexadecimal digit nor a separator"),
        (" 02:00:5e:00:53:01", "' ' is neither a hexadecimal digit nor a separator"),
    ],
)
def test_what_is_no_hardware_address_is_refused_by_name(text: str, fault: str) -> None:
    with pytest.raises(ValueError, match=r"^hardware address is ") as refusal:
        parse_eui48(text)
    assert str(refusal.value).startswith(f"hardware address is {text!r}; {fault}")


def test_the_refusal_ends_in_what_it_must_have() -> None:
    with pytest.raises(ValueError, match=r"it has 5 parts between ':'; it must have 6$"):
        parse_eui48("02:00:5e:00:53")


@given(
    numbers,
    st.sampled_from(SPELLINGS),
    st.integers(0, 11),
    st.sampled_from(["", ":", "-", ".", "g", " ", "00", "\n"]),
)
def test_what_netaddr_refuses_is_refused_in_one_line(
    number: int, spelling: type[netaddr.mac_eui48], place: int, patch: str
) -> None:
    text = str(netaddr.EUI(number, version=48, dialect=spelling))
    damaged = text[:place] + patch + text[place + 1 :]
    assume(not netaddr.valid_mac(damaged))
    with pytest.raises(ValueError, match=r"^hardware address is ") as refusal:
        parse_eui48(damaged)
    assert "\n" not in str(refusal.value)


BITS = [
    # address, group, local
    ("ff:ff:ff:ff:ff:ff", True, True),  # broadcast: IEEE 802
    ("00:00:5e:00:53:00", False, False),  # documentation, unicast: RFC 9542 (was RFC 7042, 2.1.1)
    ("00:00:5e:00:53:ff", False, False),  # the same
    ("01:00:5e:90:10:00", True, False),  # documentation, multicast: RFC 9542 (was RFC 7042, 2.1.1)
    ("01:00:5e:90:10:ff", True, False),  # the same
    ("02:60:8c:00:00:01", False, True),  # registered, and local all the same: IEEE list, 2022-08-27
    ("02:07:01:00:00:01", False, True),  # the same
    ("aa:00:04:00:00:01", False, True),  # the same
    ("11:00:aa:00:00:01", True, False),  # registered, and group all the same: IEEE list, 2022-08-27
    ("11:11:11:00:00:01", True, False),  # the same
]


@pytest.mark.parametrize(("address", "group", "local"), BITS)
def test_the_two_lowest_bits_of_published_addresses(address: str, group: bool, local: bool) -> None:
    assert is_group(address) is group
    assert is_local(address) is local


@given(st.sampled_from("0123456789abcdef"), st.sampled_from("26ae"), st.integers(0, 2**40 - 1))
def test_a_random_unicast_address_has_2_6_a_or_e_as_second_digit(
    first: str, second: str, rest: int
) -> None:
    """RFC 9542, section 2.1; the digits as readers' summaries of RFC 9724 give them."""
    address = parse_eui48(f"{first}{second}{rest:010x}")
    assert is_local(address)
    assert not is_group(address)


@given(numbers)
def test_the_bits_are_those_of_the_first_octet(number: int) -> None:
    """IEEE 802: first octet & 1, and & 2."""
    first_octet = netaddr.EUI(number, version=48).words[0]
    assert is_group(f"{number:012x}") is bool(first_octet & 1)
    assert is_local(f"{number:012x}") is bool(first_octet & 2)


def test_no_hardware_address_has_no_bits() -> None:
    with pytest.raises(ValueError, match="5 parts"):
        is_group("02:00:5e:00:53")
    with pytest.raises(ValueError, match="5 parts"):
        is_local("02:00:5e:00:53")
