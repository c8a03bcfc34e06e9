"""How long frames last: against published durations, and laws that hold for every frame."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from auditor.compute import airtime
from auditor.compute.airtime import (
    CCK_RATES,
    DSSS_RATES,
    OFDM_RATES,
    SECURITY_OCTETS,
    Preamble,
    ack_duration_us,
    beacon_duration_us,
    beacon_octets,
    channel_share,
    datagram_octets,
    difs_us,
    dtim_wait_s,
    frame_duration_us,
    mean_backoff_us,
    relayed_broadcast_us,
    unicast_exchange_us,
    wired_broadcast_us,
)

LONG, SHORT = Preamble.LONG, Preamble.SHORT
LONG_HEADER_US = 192  # ns-3 wifi test suite, tx-duration-test
BEACON_INTERVAL_S = 0.1024  # hostapd.conf example: 100 TU of 1024 µs

rates_at_2_4_ghz = st.sampled_from(DSSS_RATES + CCK_RATES + OFDM_RATES)
preambles = st.sampled_from(Preamble)
protections = st.sampled_from(sorted(SECURITY_OCTETS))
payloads = st.integers(0, 2268)


class TestPublishedDurations:
    @pytest.mark.parametrize(
        ("octets", "payload_us"),
        [  # IEEE 802.11-2007 Table 18-2, as cited by the ns-3 wifi test suite, tx-duration-test
            (1023, 744),
            (1024, 745),
            (1025, 746),
            (1026, 747),
        ],
    )
    def test_cck_payload_at_11_mbps(self, octets: int, payload_us: int) -> None:
        assert frame_duration_us(octets, 11.0) == LONG_HEADER_US + payload_us

    @pytest.mark.parametrize(
        ("octets", "rate_mbps", "preamble", "duration_us"),
        [  # ns-3 wifi test suite, tx-duration-test
            (1023, 11.0, SHORT, 840),
            (1024, 11.0, LONG, 937),
            (1026, 11.0, LONG, 939),
            (1023, 5.5, SHORT, 1584),
            (1024, 5.5, LONG, 1682),
            (1025, 5.5, SHORT, 1587),
            (1026, 5.5, LONG, 1685),
            (1023, 2.0, SHORT, 4188),
            (1026, 2.0, LONG, 4296),
            (1023, 1.0, LONG, 8376),
            (1026, 1.0, LONG, 8400),
            (1026, 1.0, SHORT, 8400),  # 1 Mb/s has no short preamble
            (14, 1.0, LONG, 304),
        ],
    )
    def test_dsss_and_cck_frame(
        self, octets: int, rate_mbps: float, preamble: Preamble, duration_us: int
    ) -> None:
        assert frame_duration_us(octets, rate_mbps, preamble) == duration_us

    @pytest.mark.parametrize(
        ("octets", "rate_mbps", "band_ghz", "duration_us"),
        [  # Gast, "When is 54 not equal to 54?" (2003), as cited by ns-3 tx-duration-test
            (1536, 11.0, 2.4, 1310),
            (76, 11.0, 2.4, 248),
            (14, 11.0, 2.4, 203),
            (1536, 54.0, 5.0, 248),
            (76, 54.0, 5.0, 32),
            (14, 54.0, 5.0, 24),
            (1536, 54.0, 2.4, 254),
            (76, 54.0, 2.4, 38),
            (14, 54.0, 2.4, 30),
        ],
    )
    def test_frame_of_a_tcp_transfer(
        self, octets: int, rate_mbps: float, band_ghz: float, duration_us: int
    ) -> None:
        assert frame_duration_us(octets, rate_mbps, band_ghz=band_ghz) == duration_us

    @pytest.mark.parametrize(
        ("payload_bytes", "protection", "octets", "durations_us"),
        [  # ns-3.37, WifiPhy::CalculateTxDuration; at 1, 2, 11 (long), 6 and 24 Mb/s at 2.4 GHz
            (20, "open", 84, (864, 528, 254, 142, 58)),
            (20, "ccmp", 100, (992, 592, 265, 166, 62)),
            (100, "open", 164, (1504, 848, 312, 250, 82)),
            (200, "open", 264, (2304, 1248, 384, 382, 118)),
            (500, "open", 564, (4704, 2448, 603, 782, 218)),
            (500, "ccmp", 580, (4832, 2512, 614, 806, 222)),
            (1000, "ccmp", 1080, (8832, 4512, 978, 1470, 390)),
            (1472, "open", 1536, (12480, 6336, 1310, 2078, 542)),
        ],
    )
    def test_datagram(
        self, payload_bytes: int, protection: str, octets: int, durations_us: tuple[int, ...]
    ) -> None:
        assert datagram_octets(payload_bytes, protection) == octets
        durations = tuple(frame_duration_us(octets, rate) for rate in (1.0, 2.0, 11.0, 6.0, 24.0))
        assert durations == durations_us

    def test_acknowledgement_at_1_mbps(self) -> None:
        assert ack_duration_us(1.0) == 304  # ns-3 wifi test suite, tx-duration-test

    @pytest.mark.parametrize(
        ("rate_mbps", "bits_per_symbol"),
        [  # IEEE 802.11-2007, Table 17-3, data bits per OFDM symbol; from memory, unverified
            (6.0, 24),
            (9.0, 36),
            (12.0, 48),
            (18.0, 72),
            (24.0, 96),
            (36.0, 144),
            (48.0, 192),
            (54.0, 216),
        ],
    )
    def test_ten_symbols_hold_ten_times_the_bits_of_one(
        self, rate_mbps: float, bits_per_symbol: int
    ) -> None:
        # clause 17.3.2: preamble and SIGNAL of 20 µs, symbols of 4 µs, 16 service and 6 tail bits
        largest = (10 * bits_per_symbol - 22) // 8
        assert frame_duration_us(largest, rate_mbps, band_ghz=5.0) == 20 + 10 * 4
        assert frame_duration_us(largest + 1, rate_mbps, band_ghz=5.0) == 20 + 11 * 4

    def test_a_fraction_of_a_symbol_takes_a_whole_one(self) -> None:
        # IEEE 802.11 OFDM, from memory, unverified: at 6 Mb/s a symbol of 4 µs holds 24 bits, of
        # which 22 bits of service and tail leave room for 0 octets; 3 octets fill the second.
        durations = [frame_duration_us(octets, 6.0, band_ghz=5.0) for octets in (3, 4)]
        assert durations == [28, 32]


class TestTransactions:
    """A TCP segment of 1460 octets and its TCP ACK, each acknowledged, without backoff."""

    @pytest.mark.parametrize(
        ("rate_mbps", "basic_rate_mbps", "band_ghz", "extra_us", "total_us", "per_second"),
        [  # Gast, "When is 54 not equal to 54?" (2003), results table
            (11.0, 11.0, 2.4, 0, 2084, 479),
            (54.0, 6.0, 5.0, 0, 428, 2336),
            (54.0, 6.0, 2.4, 0, 428, 2336),  # short slots
            (54.0, 11.0, 2.4, 2 * (203 + 10), 898, 1113),  # CTS-to-self, long slots
            (54.0, 11.0, 2.4, 2 * (207 + 10 + 203 + 10), 1332, 750),  # RTS and CTS, long slots
        ],
    )
    def test_transactions_per_second(
        self,
        rate_mbps: float,
        basic_rate_mbps: float,
        band_ghz: float,
        extra_us: int,
        total_us: int,
        per_second: int,
    ) -> None:
        segment_us, reply_us = (
            difs_us(basic_rate_mbps, band_ghz)
            + unicast_exchange_us(octets, rate_mbps, band_ghz=band_ghz)
            for octets in (1536, 76)
        )
        assert segment_us + reply_us + extra_us == total_us
        assert int(1e6 / total_us) == per_second

    def test_request_to_send(self) -> None:
        assert frame_duration_us(20, 11.0) == 207  # Gast 2003: RTS of 20 octets

    @pytest.mark.parametrize(
        ("rate_mbps", "slope", "constant_us"),
        [  # Jun, Peddabachagari, Sichitiu, "Theoretical maximum throughput of IEEE 802.11 and its
            # applications" (2003); coefficients from memory, unverified
            (1.0, 8.0, 1138.0),
            (2.0, 4.0, 1002.0),
            (5.5, 1.45455, 915.45),
            (11.0, 0.72727, 890.73),
        ],
    )
    def test_throughput_model(self, rate_mbps: float, slope: float, constant_us: float) -> None:
        octets = 1500
        exchange_us = unicast_exchange_us(octets + 34, rate_mbps, ack_rate_mbps=1.0)
        cycle_us = difs_us(1.0) + mean_backoff_us(1.0) + exchange_us
        # Below 1 µs: the model does not round the frame up to whole microseconds.
        assert 0 <= cycle_us - (slope * octets + constant_us) < 1


class TestWaits:
    @pytest.mark.parametrize(
        ("basic_rate_mbps", "band_ghz", "expected_us"),
        [
            (1.0, 2.4, 50),  # ns-3.37: 802.11b, and 802.11g with long slots
            (11.0, 2.4, 50),
            (6.0, 2.4, 28),  # 802.11 ERP, short slots: from memory, unverified
            (6.0, 5.0, 34),  # ns-3.37: 802.11a
        ],
    )
    def test_difs(self, basic_rate_mbps: float, band_ghz: float, expected_us: int) -> None:
        assert difs_us(basic_rate_mbps, band_ghz) == expected_us

    @pytest.mark.parametrize(
        ("basic_rate_mbps", "band_ghz", "expected_us"),
        [
            (1.0, 2.4, 310.0),  # 802.11 DCF and Jun et al. 2003: from memory, unverified
            (6.0, 2.4, 67.5),  # 802.11 DCF: from memory, unverified
            (6.0, 5.0, 67.5),
        ],
    )
    def test_mean_backoff(
        self, basic_rate_mbps: float, band_ghz: float, expected_us: float
    ) -> None:
        assert mean_backoff_us(basic_rate_mbps, band_ghz) == expected_us

    def test_sifs(self) -> None:
        assert airtime.SIFS_US == {2.4: 10, 5.0: 16}  # ns-3.37: 802.11b and g, 802.11a

    def test_group_frames_wait_for_the_second_beacon(self) -> None:
        # hostapd.conf example: interval 100 TU, DTIM period 2 by default
        assert dtim_wait_s(BEACON_INTERVAL_S, 2) == pytest.approx(0.2048)

    def test_the_shortest_and_the_longest_dtim_period(self) -> None:
        # IEEE 802.11, TIM element: one octet that is never 0; from memory, unverified
        assert dtim_wait_s(BEACON_INTERVAL_S, 1) == BEACON_INTERVAL_S
        assert dtim_wait_s(BEACON_INTERVAL_S, 255) == pytest.approx(26.112)


class TestOctets:
    @pytest.mark.parametrize(
        ("protection", "overhead"),
        [  # sums of the header sizes in IEEE 802.11 and Linux ieee80211.h; TKIP's MIC from memory,
            # unverified
            ("open", 64),
            ("wep", 72),
            ("ccmp", 80),
            ("tkip", 84),
        ],
    )
    def test_what_surrounds_a_payload(self, protection: str, overhead: int) -> None:
        assert datagram_octets(20, protection) == 20 + overhead

    def test_tcp_and_qos_headers(self) -> None:
        # RFC 9293: TCP header of 20 octets; IEEE 802.11: QoS control of 2
        assert datagram_octets(0, "open", transport="tcp") == datagram_octets(12, "open")
        assert datagram_octets(0, "open", qos=True) == datagram_octets(2, "open")

    @pytest.mark.parametrize(("transport", "largest"), [("udp", 2268), ("tcp", 2256)])
    def test_largest_payload_of_one_frame(self, transport: str, largest: int) -> None:
        # Linux ieee80211.h: MSDU of at most 2304 octets, LLC/SNAP and IPv4 headers included
        assert datagram_octets(largest, "open", transport) == 24 + 2304 + 4
        with pytest.raises(ValueError, match=f"must lie from 0 to {largest}$"):
            datagram_octets(largest + 1, "open", transport)

    def test_beacon_of_a_network(self) -> None:
        # IEEE 802.11 beacon: header 24, fixed fields 12, name element 2 + n, FCS 4
        assert beacon_octets(16, other_elements_octets=0) == 24 + 12 + 2 + 16 + 4
        assert beacon_octets(32, other_elements_octets=0) == 24 + 12 + 2 + 32 + 4  # longest name

    def test_typical_beacon(self) -> None:
        # A network engineer's published notes (2013): 370 to 400 octets are typical
        assert (beacon_octets(0), beacon_octets(30)) == (370, 400)

    def test_headers_agree_with_a_packet_library(self) -> None:
        dot11 = pytest.importorskip("scapy.layers.dot11", reason="scapy is not installed")
        inet = pytest.importorskip("scapy.layers.inet", reason="scapy is not installed")
        l2 = pytest.importorskip("scapy.layers.l2", reason="scapy is not installed")
        data = dot11.Dot11FCS(type="Data", subtype=0) / l2.LLC() / l2.SNAP() / inet.IP()
        quality = dot11.Dot11FCS(type="Data", subtype=8) / dot11.Dot11QoS() / l2.LLC() / l2.SNAP()
        beacon = dot11.Dot11FCS(type="Management", subtype=8) / dot11.Dot11Beacon()
        name = dot11.Dot11Elt(ID="SSID", info=b"saltmarsh-gauges")
        assert len(data / inet.UDP() / bytes(20)) == datagram_octets(20, "open")
        assert len(data / inet.TCP() / bytes(20)) == datagram_octets(20, "open", "tcp")
        assert len(quality / inet.IP() / inet.UDP()) == datagram_octets(0, "open", qos=True)
        assert len(beacon / name) == beacon_octets(16, other_elements_octets=0)
        assert len(dot11.Dot11FCS(type="Control", subtype=13)) == airtime.ACK_OCTETS


class TestGroupFrames:
    """802.11: a station's broadcast goes to the access point first, which repeats it to all."""

    def test_kit_of_thirty_relayed_copies(self) -> None:
        # Own sum over ns-3.37's 992 µs: 30 messages of 20 octets each second, CCMP, 1 Mb/s
        frames_us = 30 * frame_duration_us(datagram_octets(20, "ccmp"), 1.0)
        assert channel_share(frames_us, 1.0) == pytest.approx(0.02976)
        with_waits_us = 30 * wired_broadcast_us(20, "ccmp", 1.0)
        assert channel_share(with_waits_us, 1.0) == pytest.approx(0.04056)

    def test_parts_of_a_relayed_broadcast(self) -> None:
        # ns-3.37: 265 µs at 11 Mb/s, 992 µs at 1 Mb/s, ACK 304 µs, SIFS 10 µs, DIFS 50 µs;
        # mean backoff 310 µs from memory, unverified
        cost = relayed_broadcast_us(20, "ccmp", station_rate_mbps=11.0, basic_rate_mbps=1.0)
        assert cost.uplink_us == 50 + 310 + 265 + 10 + 304
        assert cost.relayed_us == 50 + 310 + 992
        assert cost.total_us == cost.uplink_us + cost.relayed_us

    def test_acknowledgement_is_no_faster_than_the_frame(self) -> None:
        # IEEE 802.11: control responses come no faster than the frame that they answer
        cost = relayed_broadcast_us(20, "ccmp", station_rate_mbps=1.0, basic_rate_mbps=11.0)
        assert cost.uplink_us == 50 + 310 + 992 + 10 + 304

    def test_at_5_ghz(self) -> None:
        # ns-3.37's 166 and 62 µs at 6 and 24 Mb/s, less 6 µs of signal extension; 802.11a waits
        # 34 µs and 16 µs (ns-3.37), ACK by the formula 20 + 4 * 6 µs; backoff 67.5 µs from memory
        cost = relayed_broadcast_us(20, "ccmp", 24.0, 6.0, band_ghz=5.0)
        assert cost.uplink_us == 34 + 67.5 + 56 + 16 + 44
        assert cost.relayed_us == 34 + 67.5 + 160

    @given(payloads, protections, rates_at_2_4_ghz, rates_at_2_4_ghz, preambles)
    def test_a_wired_talker_costs_less(
        self, payload: int, protection: str, station: float, basic: float, preamble: Preamble
    ) -> None:
        wired_us = wired_broadcast_us(payload, protection, basic, preamble=preamble)
        relayed = relayed_broadcast_us(payload, protection, station, basic, preamble=preamble)
        assert wired_us == relayed.relayed_us < relayed.total_us


class TestShares:
    @pytest.mark.parametrize(
        ("octets", "dsss_us", "dsss_share", "ofdm_us", "ofdm_share"),
        [  # ns-3.37, WifiPhy::CalculateTxDuration (180 octets: its formula); 1 and 6 Mb/s
            (180, 1632, 0.01594, 270, 0.00264),
            (250, 2192, 0.02141, 366, 0.00357),
            (300, 2592, 0.02531, 430, 0.00420),
            (400, 3392, 0.03312, 566, 0.00553),
        ],
    )
    def test_beacons(
        self, octets: int, dsss_us: int, dsss_share: float, ofdm_us: int, ofdm_share: float
    ) -> None:
        durations_us = [frame_duration_us(octets, rate) for rate in (1.0, 6.0)]
        shares = [channel_share(duration, BEACON_INTERVAL_S) for duration in durations_us]
        assert durations_us == [dsss_us, ofdm_us]
        # The printed shares are rounded to a thousandth of a percent.
        assert shares == pytest.approx([dsss_share, ofdm_share], abs=5.1e-6)

    def test_typical_beacon(self) -> None:
        # ns-3.37 for 400 octets
        assert [beacon_duration_us(30, rate) for rate in (1.0, 6.0)] == [3392, 566]

    def test_more_than_the_channel(self) -> None:
        assert channel_share(3e6, 1.0) == 3.0

    def test_nothing_and_less_than_a_microsecond(self) -> None:
        assert channel_share(0, 1.0) == 0
        assert channel_share(0.5, 1.0) == pytest.approx(5e-7)


class TestLaws:
    @given(st.integers(1, 4094), rates_at_2_4_ghz, preambles)
    def test_a_frame_never_shortens_when_an_octet_is_added(
        self, octets: int, rate: float, preamble: Preamble
    ) -> None:
        shorter_us = frame_duration_us(octets, rate, preamble)
        assert shorter_us <= frame_duration_us(octets + 1, rate, preamble)

    @given(st.integers(1, 4095), rates_at_2_4_ghz, preambles)
    def test_a_frame_lasts_at_least_as_long_as_its_bits(
        self, octets: int, rate: float, preamble: Preamble
    ) -> None:
        assert frame_duration_us(octets, rate, preamble) > 8 * octets / rate

    @given(st.integers(1, 4095), st.sampled_from((2.0, *CCK_RATES)))
    def test_the_short_preamble_saves_96_us(self, octets: int, rate: float) -> None:
        # ns-3 wifi test suite, tx-duration-test: headers of 192 and 96 µs
        saved_us = frame_duration_us(octets, rate) - frame_duration_us(octets, rate, SHORT)
        assert saved_us == 96

    @given(st.integers(1, 4095), st.sampled_from(OFDM_RATES), preambles)
    def test_5_ghz_has_no_signal_extension(
        self, octets: int, rate: float, preamble: Preamble
    ) -> None:
        # ns-3 wifi test suite, tx-duration-test: 6 µs at 2.4 GHz
        at_5_ghz_us = frame_duration_us(octets, rate, preamble, band_ghz=5.0)
        assert frame_duration_us(octets, rate, preamble) == at_5_ghz_us + 6
        assert at_5_ghz_us % 4 == 0

    @given(st.integers(1, 4095), rates_at_2_4_ghz, rates_at_2_4_ghz)
    def test_a_faster_rate_of_one_modulation_is_never_slower(
        self, octets: int, rate_a: float, rate_b: float
    ) -> None:
        assume((rate_a in OFDM_RATES) == (rate_b in OFDM_RATES))
        slow, fast = sorted((rate_a, rate_b))
        assert frame_duration_us(octets, fast) <= frame_duration_us(octets, slow)

    @given(payloads, protections, st.booleans())
    def test_every_datagram_has_a_duration(self, payload: int, protection: str, qos: bool) -> None:
        octets = datagram_octets(payload, protection, qos=qos)
        assert frame_duration_us(octets, 1.0) == LONG_HEADER_US + 8 * octets


class TestBadArguments:
    @pytest.mark.parametrize(
        ("octets", "rate_mbps", "band_ghz", "message"),
        [
            (0, 1.0, 2.4, "octets is 0; it must lie from 1 to 4095"),
            (4096, 1.0, 2.4, "octets is 4096; it must lie from 1 to 4095"),
            (100, 7.0, 2.4, "rate_mbps is 7.0; it must be one of 1.0, 2.0, 5.5, 6.0, 9.0, 11.0"),
            (100, 11.0, 5.0, "rate_mbps is 11.0; it must be one of 6.0, 9.0, 12.0"),
            (100, math.nan, 2.4, "rate_mbps is nan; it must be one of 1.0"),
            (100, 6.0, 6.0, "band_ghz is 6.0; it must be one of 2.4, 5.0"),
        ],
    )
    def test_frame(self, octets: int, rate_mbps: float, band_ghz: float, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            frame_duration_us(octets, rate_mbps, band_ghz=band_ghz)

    @pytest.mark.parametrize(
        ("payload", "protection", "transport", "message"),
        [
            (-1, "open", "udp", "payload_bytes is -1; in one frame by udp it must lie from 0"),
            (65508, "open", "udp", "payload_bytes is 65508"),
            (20, "rot13", "udp", "protection is rot13; it must be one of open, wep, tkip, ccmp"),
            (20, "open", "sctp", "transport is sctp; it must be one of udp, tcp"),
        ],
    )
    def test_datagram(self, payload: int, protection: str, transport: str, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            datagram_octets(payload, protection, transport)

    @pytest.mark.parametrize(
        ("name", "others", "message"),
        [
            (-1, 0, "name_octets is -1; it must lie from 0 to 32"),
            (33, 0, "name_octets is 33; it must lie from 0 to 32"),
            (8, -1, "other_elements_octets is -1; it must not be below 0"),
        ],
    )
    def test_beacon(self, name: int, others: int, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            beacon_octets(name, others)

    @pytest.mark.parametrize(
        ("duration_us", "interval_s", "message"),
        [
            (-1.0, 1.0, "duration_us is -1.0; it must be finite and not below 0"),
            (math.inf, 1.0, "duration_us is inf"),
            (1.0, 0.0, "interval_s is 0.0; it must be finite and above 0"),
            (1.0, -1.0, "interval_s is -1.0; it must be finite and above 0"),
            (1.0, math.inf, "interval_s is inf; it must be finite and above 0"),
            (1.0, math.nan, "interval_s is nan"),
        ],
    )
    def test_share(self, duration_us: float, interval_s: float, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            channel_share(duration_us, interval_s)

    @pytest.mark.parametrize(
        ("interval_s", "period", "message"),
        [
            (0.0, 2, "beacon_interval_s is 0.0; it must be finite and above 0"),
            (0.1024, 0, "dtim_period is 0; it must lie from 1 to 255"),
            (0.1024, 256, "dtim_period is 256; it must lie from 1 to 255"),
        ],
    )
    def test_dtim(self, interval_s: float, period: int, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            dtim_wait_s(interval_s, period)

    def test_waits_refuse_a_rate_of_the_other_band(self) -> None:
        for wait in (difs_us, mean_backoff_us):
            with pytest.raises(ValueError, match=r"rate_mbps is 1\.0; it must be one of 6\.0"):
                wait(1.0, 5.0)
