"""How much one UDP datagram carries over IPv4, and into how many fragments it is cut on its way.

Sizes are in bytes of a message, without headers; IPv4 headers are taken to have no options.
"""

from typing import Final

from auditor.compute.airtime import IPV4_HEADER_OCTETS, TRANSPORT_HEADER_OCTETS

LARGEST_DATAGRAM_OCTETS: Final = 65_535  # RFC 791, section 3.1: Total Length has 16 bits
ETHERNET_PAYLOAD_OCTETS: Final = 1500  # IEEE 802.3; RFC 894

_HEADERS_OCTETS: Final = IPV4_HEADER_OCTETS + TRANSPORT_HEADER_OCTETS["udp"]
LARGEST_MESSAGE_BYTES: Final = LARGEST_DATAGRAM_OCTETS - _HEADERS_OCTETS
LARGEST_WHOLE_MESSAGE_BYTES: Final = ETHERNET_PAYLOAD_OCTETS - _HEADERS_OCTETS


def fragments(message_bytes: int) -> int:
    """Gives the number of IPv4 packets that carry one message over UDP; 1 is a whole datagram.

    The UDP header travels once, in the first fragment. Each fragment has an IPv4 header of its
    own, and what all but the last carry, 1480 octets, is a multiple of 8, as it has to be.

    Raises: ValueError where the message does not fit a datagram, or is below 0.
    Source: RFC 791, section 3.2 (fragmentation); RFC 768; RFC 894 (1500 octets).
    """
    if not 0 <= message_bytes <= LARGEST_MESSAGE_BYTES:
        raise ValueError(
            f"message_bytes is {message_bytes}; it must lie from 0 to {LARGEST_MESSAGE_BYTES}"
        )
    datagram_octets = TRANSPORT_HEADER_OCTETS["udp"] + message_bytes
    return -(-datagram_octets // (ETHERNET_PAYLOAD_OCTETS - IPV4_HEADER_OCTETS))
