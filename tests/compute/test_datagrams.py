"""What one datagram carries: published limits, and the fragments that another program makes."""

import pytest

from auditor.compute.datagrams import (
    LARGEST_MESSAGE_BYTES,
    LARGEST_WHOLE_MESSAGE_BYTES,
    fragments,
)


def test_the_largest_message() -> None:
    """RFC 791, section 3.1: a total length of up to 65,535; RFC 768: a header of 8 octets."""
    assert LARGEST_MESSAGE_BYTES == 65_535 - 20 - 8


def test_the_largest_message_in_one_frame() -> None:
    """RFC 894: an IP datagram of up to 1500 octets in an Ethernet frame."""
    assert LARGEST_WHOLE_MESSAGE_BYTES == 1500 - 20 - 8


# RFC 791, section 3.2: all fragments but the last carry a multiple of 8 octets, of 1500 with a
# header of 20 that is 1480; the UDP header of 8 is in the first. By hand: 2 * 1480 - 8 = 2952.
SIZES = ((0, 1), (1472, 1), (1473, 2), (2952, 2), (2953, 3), (65_507, 45))


@pytest.mark.parametrize(("message_bytes", "count"), SIZES)
def test_fragments(message_bytes: int, count: int) -> None:
    assert fragments(message_bytes) == count


@pytest.mark.parametrize("message_bytes", [1472, 1473, 2952, 2953, 65_507])
def test_scapy_cuts_it_into_as_many(message_bytes: int) -> None:
    inet = pytest.importorskip("scapy.layers.inet", reason="scapy is not installed")
    packet = inet.IP() / inet.UDP() / (b"x" * message_bytes)
    assert len(inet.fragment(packet, fragsize=1480)) == fragments(message_bytes)


@pytest.mark.parametrize("message_bytes", [-1, 65_508])
def test_what_no_datagram_carries_is_refused(message_bytes: int) -> None:
    with pytest.raises(ValueError, match=rf"{message_bytes}; it must lie from 0 to 65507"):
        fragments(message_bytes)
