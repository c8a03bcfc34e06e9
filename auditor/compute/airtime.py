"""How long 802.11 frames occupy the channel, at the rates that every module and network knows.

Covers DSSS, CCK and OFDM rates (802.11b, g and a): group frames and beacons go out at these even
in newer networks. Durations are in microseconds, sizes in octets, rates in Mb/s.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

DSSS_RATES: Final = (1.0, 2.0)  # Mb/s; IEEE 802.11-2007 clause 15
CCK_RATES: Final = (5.5, 11.0)  # Mb/s; IEEE 802.11-2007 clause 18
OFDM_RATES: Final = (6.0, 9.0, 12.0, 18.0, 24.0, 36.0, 48.0, 54.0)  # Mb/s; clauses 17 and 19
BANDS_GHZ: Final = (2.4, 5.0)

# Octets: IEEE 802.11 frame formats, RFC 1042 (LLC/SNAP), RFC 791, RFC 768, RFC 9293.
MAC_HEADER_OCTETS: Final = 24
QOS_MAC_HEADER_OCTETS: Final = 26
LLC_SNAP_OCTETS: Final = 8
IPV4_HEADER_OCTETS: Final = 20
TRANSPORT_HEADER_OCTETS: Final = {"udp": 8, "tcp": 20}
FCS_OCTETS: Final = 4
ACK_OCTETS: Final = 14
BEACON_FIXED_OCTETS: Final = 12  # timestamp 8, interval 2, capabilities 2
ELEMENT_HEADER_OCTETS: Final = 2
MAX_NAME_OCTETS: Final = 32  # IEEE 802.11, SSID element
MAX_MSDU_OCTETS: Final = 2304  # IEEE 802.11, frame body without protection
MAX_FRAME_OCTETS: Final = 4095  # IEEE 802.11, LENGTH field of the OFDM header, 12 bits

# What protection adds to a data frame: WEP IV 4, ICV 4; TKIP IV 8, ICV 4, MIC 8; CCMP 8, MIC 8.
SECURITY_OCTETS: Final = {"open": 0, "wep": 8, "tkip": 20, "ccmp": 16}

# All elements of a beacon but the name, so that names of 0 to 30 octets make beacons of 370 to 400
# octets, which network engineers' notes of 2013 call typical (180 in 2010).
TYPICAL_ELEMENTS_OCTETS: Final = 328

LONG_SLOT_US: Final = 20  # IEEE 802.11 DSSS and HR-DSSS
SHORT_SLOT_US: Final = 9  # IEEE 802.11 OFDM, and ERP without 802.11b stations
SIFS_US: Final = {2.4: 10, 5.0: 16}
DSSS_CONTENTION_WINDOW: Final = 31  # slots, the smallest window
OFDM_CONTENTION_WINDOW: Final = 15

SIGNAL_EXTENSION_US: Final = {2.4: 6, 5.0: 0}  # IEEE 802.11 ERP
OFDM_HEADER_US: Final = 20  # preamble 16, SIGNAL 4
OFDM_SYMBOL_US: Final = 4
OFDM_SERVICE_AND_TAIL_BITS: Final = 22  # service 16, tail 6


class Preamble(StrEnum):
    """The preamble of DSSS and CCK frames; OFDM has only one."""

    LONG = "long"
    SHORT = "short"


# Preamble and header together, IEEE 802.11 HR-DSSS.
DSSS_HEADER_US: Final = {Preamble.LONG: 192, Preamble.SHORT: 96}


@dataclass(frozen=True)
class BroadcastCost:
    """What one broadcast of an associated station takes from the channel, in microseconds."""

    uplink_us: float
    relayed_us: float

    @property
    def total_us(self) -> float:
        """The two transmissions together, in microseconds."""
        return self.uplink_us + self.relayed_us


def frame_duration_us(
    octets: int, rate_mbps: float, preamble: Preamble = Preamble.LONG, band_ghz: float = 2.4
) -> int:
    """A frame occupies the channel for this long, from its preamble to its last symbol.

    `octets` counts everything behind the physical header: MAC header, protection, body and FCS.
    In µs, for Mb/s. A frame at 1 Mb/s has a long preamble whatever is asked for.

    Raises:
        ValueError: octets outside 1 to 4095, an unknown rate or band, DSSS or CCK at 5 GHz.
    Source: IEEE 802.11-2007 clauses 15, 17.3.2, 18.2 and 19.3.2 (6 µs of signal extension).
    """
    if not 1 <= octets <= MAX_FRAME_OCTETS:
        raise ValueError(f"octets is {octets}; it must lie from 1 to {MAX_FRAME_OCTETS}")
    _require_rate(rate_mbps, band_ghz)
    if rate_mbps in OFDM_RATES:
        return _ofdm_duration_us(octets, rate_mbps) + SIGNAL_EXTENSION_US[band_ghz]
    return _dsss_duration_us(octets, rate_mbps, preamble)


def ack_duration_us(
    rate_mbps: float, preamble: Preamble = Preamble.LONG, band_ghz: float = 2.4
) -> int:
    """An acknowledgement at this rate occupies the channel for this long.

    In µs, for Mb/s.

    Raises:
        ValueError: an unknown rate or band, DSSS or CCK at 5 GHz.
    Source: IEEE 802.11 frame formats (ACK of 14 octets).
    """
    return frame_duration_us(ACK_OCTETS, rate_mbps, preamble, band_ghz)


def unicast_exchange_us(
    octets: int,
    rate_mbps: float,
    ack_rate_mbps: float | None = None,
    preamble: Preamble = Preamble.LONG,
    band_ghz: float = 2.4,
) -> int:
    """A unicast frame and its acknowledgement take this long, without the wait before them.

    In µs, for Mb/s; the acknowledgement comes at the frame's own rate unless another is given.

    Raises:
        ValueError: octets outside 1 to 4095, an unknown rate or band, DSSS or CCK at 5 GHz.
    Source: IEEE 802.11 DCF: frame, SIFS, ACK.
    """
    frame_us = frame_duration_us(octets, rate_mbps, preamble, band_ghz)
    ack_rate_mbps = rate_mbps if ack_rate_mbps is None else ack_rate_mbps
    return frame_us + SIFS_US[band_ghz] + ack_duration_us(ack_rate_mbps, preamble, band_ghz)


def datagram_octets(
    payload_bytes: int, protection: str, transport: str = "udp", qos: bool = False
) -> int:
    """A payload becomes one data frame of this many octets, FCS included.

    `protection` is a key of SECURITY_OCTETS, `transport` is "udp" or "tcp" (without options);
    IPv4 without options. The largest payload of one frame, 2268 bytes by UDP, lies far below the
    65507 that a fragmented datagram may carry.

    Raises:
        ValueError: an unknown protection or transport, or a payload that one frame cannot carry.
    Source: IEEE 802.11 frame formats (MSDU of at most 2304 octets), RFC 1042, RFC 791, RFC 768.
    """
    _require_one_of("protection", protection, tuple(SECURITY_OCTETS))
    _require_one_of("transport", transport, tuple(TRANSPORT_HEADER_OCTETS))
    headers = LLC_SNAP_OCTETS + IPV4_HEADER_OCTETS + TRANSPORT_HEADER_OCTETS[transport]
    limit = MAX_MSDU_OCTETS - headers
    if not 0 <= payload_bytes <= limit:
        raise ValueError(
            f"payload_bytes is {payload_bytes}; in one frame by {transport} "
            f"it must lie from 0 to {limit}"
        )
    mac_header = QOS_MAC_HEADER_OCTETS if qos else MAC_HEADER_OCTETS
    return mac_header + SECURITY_OCTETS[protection] + headers + payload_bytes + FCS_OCTETS


def difs_us(basic_rate_mbps: float, band_ghz: float = 2.4) -> int:
    """A sender finds the channel idle for this long before it counts down its backoff.

    In µs. A DSSS or CCK basic rate admits 802.11b stations and so means long slots; an OFDM basic
    rate keeps them out and is taken to mean short ones.

    Raises:
        ValueError: an unknown rate or band, DSSS or CCK at 5 GHz.
    Source: IEEE 802.11 DCF: SIFS and two slots.
    """
    return 2 * _slot_us(basic_rate_mbps, band_ghz) + SIFS_US[band_ghz]


def mean_backoff_us(basic_rate_mbps: float, band_ghz: float = 2.4) -> float:
    """A sender draws a first backoff of this length on average: half its smallest window.

    In µs; slots and window follow from the network's basic rate as for `difs_us`.

    Raises:
        ValueError: an unknown rate or band, DSSS or CCK at 5 GHz.
    Source: IEEE 802.11 DCF: smallest windows of 31 slots (DSSS) and 15 (OFDM).
    """
    slot_us = _slot_us(basic_rate_mbps, band_ghz)
    return slot_us * _contention_window(basic_rate_mbps) / 2


def relayed_broadcast_us(
    payload_bytes: int,
    protection: str,
    station_rate_mbps: float,
    basic_rate_mbps: float,
    band_ghz: float = 2.4,
    preamble: Preamble = Preamble.LONG,
) -> BroadcastCost:
    """One UDP broadcast by a station of an infrastructure network costs the channel this much.

    The station sends it to the access point at its own rate and is acknowledged; the access point
    then repeats it to all at the basic rate, unacknowledged. Each waits DIFS and a mean backoff.
    The acknowledgement comes at the basic rate, or at the station's where that is slower.
    In µs, for Mb/s.

    Raises:
        ValueError: as for `datagram_octets` and `frame_duration_us`.
    Source: IEEE 802.11: frames to the distribution system, group frames, DCF.
    """
    octets = datagram_octets(payload_bytes, protection)
    ack_rate_mbps = min(basic_rate_mbps, station_rate_mbps)
    exchange_us = unicast_exchange_us(octets, station_rate_mbps, ack_rate_mbps, preamble, band_ghz)
    return BroadcastCost(
        uplink_us=_access_us(basic_rate_mbps, band_ghz) + exchange_us,
        relayed_us=wired_broadcast_us(
            payload_bytes, protection, basic_rate_mbps, band_ghz, preamble
        ),
    )


def wired_broadcast_us(
    payload_bytes: int,
    protection: str,
    basic_rate_mbps: float,
    band_ghz: float = 2.4,
    preamble: Preamble = Preamble.LONG,
) -> float:
    """One UDP broadcast by a host on the wire costs the channel this much: the relayed copy alone.

    In µs, for Mb/s; DIFS and a mean backoff are part of it.

    Raises:
        ValueError: as for `datagram_octets` and `frame_duration_us`.
    Source: IEEE 802.11: group frames are sent once, at a basic rate, without acknowledgement.
    """
    octets = datagram_octets(payload_bytes, protection)
    frame_us = frame_duration_us(octets, basic_rate_mbps, preamble, band_ghz)
    return _access_us(basic_rate_mbps, band_ghz) + frame_us


def beacon_octets(name_octets: int, other_elements_octets: int = TYPICAL_ELEMENTS_OCTETS) -> int:
    """A beacon has this many octets, for the length of its network name and of all other elements.

    Raises:
        ValueError: a name of more than 32 octets, or a negative length.
    Source: IEEE 802.11 beacon frame format; the typical size is common practice.
    """
    if not 0 <= name_octets <= MAX_NAME_OCTETS:
        raise ValueError(f"name_octets is {name_octets}; it must lie from 0 to {MAX_NAME_OCTETS}")
    if other_elements_octets < 0:
        raise ValueError(
            f"other_elements_octets is {other_elements_octets}; it must not be below 0"
        )
    body = BEACON_FIXED_OCTETS + ELEMENT_HEADER_OCTETS + name_octets + other_elements_octets
    return MAC_HEADER_OCTETS + body + FCS_OCTETS


def beacon_duration_us(
    name_octets: int,
    basic_rate_mbps: float,
    band_ghz: float = 2.4,
    preamble: Preamble = Preamble.LONG,
) -> int:
    """A beacon of typical size occupies the channel for this long, without the wait before it.

    In µs, for Mb/s.

    Raises:
        ValueError: a name of more than 32 octets; a rate as for `frame_duration_us`.
    Source: as for `beacon_octets` and `frame_duration_us`.
    """
    return frame_duration_us(beacon_octets(name_octets), basic_rate_mbps, preamble, band_ghz)


def channel_share(duration_us: float, interval_s: float) -> float:
    """Something of this duration that comes once an interval takes this share of the channel.

    A share of 1 is the whole channel; more than that cannot be sent.

    Raises:
        ValueError: a duration below 0, or an interval that is not above 0.
    """
    if not 0 <= duration_us < math.inf:
        raise ValueError(f"duration_us is {duration_us}; it must be finite and not below 0")
    _require_positive("interval_s", interval_s)
    return duration_us / 1e6 / interval_s


def dtim_wait_s(beacon_interval_s: float, dtim_period: int) -> float:
    """A group frame waits at most this long for the beacon that wakes dozing stations.

    In seconds; `dtim_period` counts beacons.

    Raises:
        ValueError: an interval that is not above 0, or a period outside 1 to 255.
    Source: IEEE 802.11 power management; the period is one octet of the TIM element, never 0.
    """
    _require_positive("beacon_interval_s", beacon_interval_s)
    if not 1 <= dtim_period <= 255:
        raise ValueError(f"dtim_period is {dtim_period}; it must lie from 1 to 255")
    return beacon_interval_s * dtim_period


def _dsss_duration_us(octets: int, rate_mbps: float, preamble: Preamble) -> int:
    header = Preamble.LONG if rate_mbps == DSSS_RATES[0] else preamble
    return DSSS_HEADER_US[header] + math.ceil(8 * octets / rate_mbps)


def _ofdm_duration_us(octets: int, rate_mbps: float) -> int:
    bits = OFDM_SERVICE_AND_TAIL_BITS + 8 * octets
    symbols = math.ceil(bits / (rate_mbps * OFDM_SYMBOL_US))
    return OFDM_HEADER_US + OFDM_SYMBOL_US * symbols


def _access_us(basic_rate_mbps: float, band_ghz: float) -> float:
    return difs_us(basic_rate_mbps, band_ghz) + mean_backoff_us(basic_rate_mbps, band_ghz)


def _slot_us(basic_rate_mbps: float, band_ghz: float) -> int:
    _require_rate(basic_rate_mbps, band_ghz)
    return SHORT_SLOT_US if basic_rate_mbps in OFDM_RATES else LONG_SLOT_US


def _contention_window(basic_rate_mbps: float) -> int:
    return OFDM_CONTENTION_WINDOW if basic_rate_mbps in OFDM_RATES else DSSS_CONTENTION_WINDOW


def _require_rate(rate_mbps: float, band_ghz: float) -> None:
    _require_one_of("band_ghz", band_ghz, BANDS_GHZ)
    legal = OFDM_RATES if band_ghz == 5.0 else DSSS_RATES + CCK_RATES + OFDM_RATES
    _require_one_of("rate_mbps", rate_mbps, tuple(sorted(legal)))


def _require_positive(quantity: str, value: float) -> None:
    if not 0 < value < math.inf:
        raise ValueError(f"{quantity} is {value}; it must be finite and above 0")


def _require_one_of(quantity: str, value: object, legal: tuple[object, ...]) -> None:
    if value not in legal:
        listed = ", ".join(str(choice) for choice in legal)
        raise ValueError(f"{quantity} is {value}; it must be one of {listed}")
