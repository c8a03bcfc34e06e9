"""Channels, regional limits and power: published values, and the data in profiles/regions."""

import math
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.compute.radio import (
    Band,
    RadioRule,
    band_of,
    centre_frequency_mhz,
    channels,
    covering_rules,
    dbm_to_mw,
    free_space_loss_db,
    highest_limit_dbm,
    mw_to_dbm,
    overlap,
    permitted,
    permitted_channels,
    radiated_limit_dbm,
    radiated_power_dbm,
)
from tests.compute.regulatory import database_path, decode

LOW, HIGH = Band.GHZ_2_4, Band.GHZ_5
REGIONS = Path(__file__).parents[2] / "profiles" / "regions"
CODES = sorted(path.stem.upper() for path in REGIONS.glob("*.toml"))
EXPECTED_CODES = "00 AT AU BR CA CH CN DE ES FR GB IE IL IN IT JP KR MX NL NZ SE SG TW US ZA"
US_LOW_BAND_DBM = (30.0, 36.0)  # in the database: conducted; in our file: radiated (EIRP)

levels_dbm = st.floats(-200, 200)


@cache
def region(code: str) -> dict[str, Any]:
    return tomllib.loads((REGIONS / f"{code.lower()}.toml").read_text(encoding="utf-8"))


def rules_of(code: str) -> tuple[RadioRule, ...]:
    return tuple(
        RadioRule(**{key: value for key, value in rule.items() if key != "source"})
        for rule in region(code)["rule"]
    )


@cache
def database() -> dict[str, tuple[RadioRule, ...]]:
    path = database_path()
    if path is None:
        pytest.skip("this machine has no regulatory.db (Debian package wireless-regdb)")
    return decode(path.read_bytes())


def on_our_bands(rule: RadioRule) -> bool:
    return any(
        low <= rule.low_mhz and rule.high_mhz <= high for low, high in ((2400, 2500), (5150, 5925))
    )


class TestChannels:
    @pytest.mark.parametrize(
        ("channel", "frequency_mhz"),
        [  # IEEE 802.11 channel tables: 2407 + 5 n MHz for n from 1 to 13; 14 is 12 MHz above 13
            (1, 2412),
            (6, 2437),
            (11, 2462),
            (12, 2467),
            (13, 2472),
            (14, 2484),
        ],
    )
    def test_centre_frequency_at_2_4_ghz(self, channel: int, frequency_mhz: int) -> None:
        assert centre_frequency_mhz(channel, LOW) == frequency_mhz

    @pytest.mark.parametrize(
        ("channel", "frequency_mhz"),
        [(36, 5180), (64, 5320), (100, 5500), (144, 5720), (149, 5745), (177, 5885)],
    )
    def test_centre_frequency_at_5_ghz(self, channel: int, frequency_mhz: int) -> None:
        # IEEE 802.11: 5000 + 5 n MHz; from memory, unverified
        assert centre_frequency_mhz(channel, HIGH) == frequency_mhz

    @pytest.mark.parametrize("channel", [0, 15, 36])
    def test_no_such_channel_names_the_legal_ones(self, channel: int) -> None:
        message = rf"channel is {channel}; at 2\.4 GHz it must be one of 1, 2, .*13, 14$"
        with pytest.raises(ValueError, match=message):
            centre_frequency_mhz(channel, LOW)

    def test_channels_between_the_5_ghz_ones_are_none(self) -> None:
        with pytest.raises(ValueError, match="channel is 38; at 5 GHz it must be one of 36, 40, "):
            centre_frequency_mhz(38, HIGH)

    @pytest.mark.parametrize(
        ("channel", "band"),
        [(0, None), (1, LOW), (14, LOW), (15, None), (36, HIGH), (38, None), (177, HIGH)],
    )
    def test_band_of_a_channel(self, channel: int, band: Band | None) -> None:
        assert band_of(channel) == band

    @pytest.mark.parametrize("band", Band)
    def test_numbers_and_frequencies_rise_together(self, band: Band) -> None:
        frequencies = [centre_frequency_mhz(channel, band) for channel in channels(band)]
        assert frequencies == sorted(set(frequencies))
        assert {band_of(channel) for channel in channels(band)} == {band}


class TestOverlap:
    @pytest.mark.parametrize(
        ("apart", "width_mhz", "expected"),
        [  # by hand: centres less than a width apart, that is fewer than 4 numbers, or 5 at 22 MHz
            (0, 20.0, True),
            (3, 20.0, True),
            (4, 20.0, False),
            (4, 22.0, True),
            (5, 22.0, False),
        ],
    )
    def test_border(self, apart: int, width_mhz: float, expected: bool) -> None:
        assert overlap(6, 6 + apart, LOW, width_mhz) is expected
        assert overlap(6 + apart, 6, LOW, width_mhz) is expected

    @pytest.mark.parametrize(
        ("free", "width_mhz"),
        [
            ((1, 6, 11), 22.0),  # "Wireless Networking in the Developing World", chapter 4
            ((1, 5, 9, 13), 20.0),  # encyclopaedia channel tables
        ],
    )
    def test_channels_that_do_not_overlap(self, free: tuple[int, ...], width_mhz: float) -> None:
        pairs = [(a, b) for a in free for b in free if a != b]
        assert not any(overlap(a, b, LOW, width_mhz) for a, b in pairs)

    def test_5_ghz_channels_only_touch(self) -> None:
        # IEEE 802.11: 20 MHz channels on a raster of 20 MHz
        assert not overlap(36, 40, HIGH)
        assert overlap(36, 40, HIGH, width_mhz=40)

    @pytest.mark.parametrize("width_mhz", [0.0, -20.0, math.nan])
    def test_width_is_above_zero(self, width_mhz: float) -> None:
        with pytest.raises(ValueError, match=r"width_mhz is .*; it must be finite and above 0"):
            overlap(1, 6, LOW, width_mhz)


class TestRules:
    def test_a_block_lies_inside_one_rule(self) -> None:
        # wireless-regdb: US channel 11 is 2452 to 2472 MHz, inside; 12 is 2457 to 2477, not
        rule = RadioRule(2400, 2472, 36)
        assert permitted(11, LOW, [rule])
        assert not permitted(12, LOW, [rule])

    @pytest.mark.parametrize(
        ("low_mhz", "high_mhz", "covered"),
        [(2402, 2422, True), (2402.5, 2430, False), (2400, 2421.5, False)],
    )
    def test_a_channel_is_20_mhz_wide(self, low_mhz: float, high_mhz: float, covered: bool) -> None:
        # IEEE 802.11: channel 1 is centred on 2412 MHz
        assert RadioRule(low_mhz, high_mhz, 20).covers(2412) is covered

    def test_two_rules_that_meet_inside_a_block_do_not_permit_it(self) -> None:
        halves = [RadioRule(2400, 2437, 20), RadioRule(2437, 2483.5, 20)]
        assert covering_rules(6, LOW, halves) == ()
        assert radiated_limit_dbm(6, LOW, halves) is None

    def test_the_highest_limit_counts_whatever_the_order(self) -> None:
        rules = [RadioRule(2400, 2472, 20), RadioRule(2400, 2483.5, 10)]
        assert radiated_limit_dbm(6, LOW, rules) == radiated_limit_dbm(6, LOW, rules[::-1]) == 20

    def test_edges_in_order(self) -> None:
        with pytest.raises(ValueError, match="low_mhz is 2472; it must be below 2400"):
            RadioRule(2472, 2400, 20)
        with pytest.raises(ValueError, match="low_mhz is 2400; it must be below 2400"):
            RadioRule(2400, 2400, 20)

    @given(st.sampled_from(channels(LOW)), st.floats(2300, 2480), st.floats(1, 300), st.booleans())
    def test_a_wider_rule_permits_no_less(
        self, channel: int, low_mhz: float, width_mhz: float, ofdm: bool
    ) -> None:
        rule = RadioRule(low_mhz, low_mhz + width_mhz, 20)
        wider = replace(rule, low_mhz=low_mhz - 5, high_mhz=rule.high_mhz + 5)
        assert permitted(channel, LOW, [wider], ofdm) >= permitted(channel, LOW, [rule], ofdm)


class TestRegions:
    """The files in profiles/regions, against channel tables and wireless-regdb 2026.05.30."""

    def test_all_are_there(self) -> None:
        assert " ".join(CODES) == EXPECTED_CODES

    @pytest.mark.parametrize("code", CODES)
    def test_a_file_says_what_it_is_and_from_where(self, code: str) -> None:
        assert region(code)["code"] == code
        assert region(code)["name"]
        assert "wireless-regdb 2026.05.30" in region(code)["source"]
        assert "ask your own regulator" in region(code)["source"]

    @pytest.mark.parametrize(
        ("code", "ofdm", "last"),
        [  # channel tables and wireless-regdb 2026.05.30: US 1 to 11, most of the world 1 to 13,
            # Japan also 14 without OFDM
            ("US", True, 11),
            ("US", False, 11),
            ("DE", True, 13),
            ("JP", True, 13),
            ("JP", False, 14),
            ("00", True, 13),
            ("00", False, 14),
        ],
    )
    def test_channels_at_2_4_ghz(self, code: str, ofdm: bool, last: int) -> None:
        expected = tuple(range(1, last + 1))
        assert permitted_channels(LOW, rules_of(code), ofdm) == expected

    def test_ofdm_is_meant_unless_said_otherwise(self) -> None:
        # wireless-regdb 2026.05.30, Japan: 2474 to 2494 MHz without OFDM
        japan = rules_of("JP")
        assert permitted(14, LOW, japan, ofdm=False)
        assert not permitted(14, LOW, japan)
        assert permitted_channels(LOW, japan) == tuple(range(1, 14))

    def test_the_world_listens_first_above_channel_11(self) -> None:
        # wireless-regdb 2026.05.30, world: 2457 to 2482 and 2474 to 2494 MHz without initiating
        waits = [
            channel
            for channel in channels(LOW)
            if not any(rule.may_initiate for rule in covering_rules(channel, LOW, rules_of("00")))
        ]
        assert waits == [12, 13, 14]

    @pytest.mark.parametrize(
        ("code", "channel", "limit_dbm"),
        [  # wireless-regdb 2026.05.30, rules at 2.4 GHz
            ("00", 6, 20.0),
            ("CA", 6, 36.02),
            ("JP", 6, 20.0),
            ("JP", 14, 20.0),
            *((code, 13, 20.0) for code in ("DE", "GB", "FR", "ES", "IT", "CN", "ZA", "MX", "IL")),
            ("AU", 6, 36.02),
            ("NZ", 6, 36.0),
            ("IN", 6, 30.0),
            ("BR", 6, 30.0),
            ("TW", 6, 30.0),
            ("KR", 6, 23.0),
            ("SG", 6, 23.01),
            ("DE", 14, None),
            # Channel tables of the FCC rule: 36 dBm (4 W) EIRP, point-to-multipoint
            ("US", 6, 36.0),
            ("US", 12, None),
        ],
    )
    def test_limit_at_2_4_ghz(self, code: str, channel: int, limit_dbm: float | None) -> None:
        assert radiated_limit_dbm(channel, LOW, rules_of(code)) == limit_dbm

    @pytest.mark.parametrize(
        ("code", "band", "limit_dbm"),
        [  # wireless-regdb 2026.05.30: the highest of the rules of each band
            ("GB", LOW, 20.0),
            ("GB", HIGH, 26.98),
            ("JP", LOW, 20.0),
            ("JP", HIGH, 23.0),
            ("00", HIGH, 20.0),
        ],
    )
    def test_highest_limit_of_a_band(self, code: str, band: Band, limit_dbm: float) -> None:
        assert highest_limit_dbm(band, rules_of(code)) == limit_dbm

    def test_a_band_without_a_rule_has_no_highest_limit(self) -> None:
        assert highest_limit_dbm(HIGH, [RadioRule(2400, 2483.5, 20)]) is None

    @pytest.mark.parametrize(
        ("code", "channel", "limit_dbm"),
        [  # wireless-regdb 2026.05.30, decoded from regulatory.db: rules at 5 GHz
            ("DE", 36, 23.01),
            ("DE", 144, None),  # 5710 to 5730 MHz; the rule ends at 5725 MHz
            ("US", 144, 24.0),
            ("KR", 44, 23.0),
            ("KR", 48, 17.0),  # 5230 to 5250 MHz has a rule of its own
            ("AU", 120, None),  # 5590 to 5610 MHz; the rule ends at 5600 MHz
            ("CN", 100, None),
        ],
    )
    def test_limit_at_5_ghz(self, code: str, channel: int, limit_dbm: float | None) -> None:
        assert radiated_limit_dbm(channel, HIGH, rules_of(code)) == limit_dbm

    @pytest.mark.parametrize("code", CODES)
    def test_a_file_agrees_with_the_regulatory_database(self, code: str) -> None:
        expected = [rule for rule in database()[code] if on_our_bands(rule)]
        if code == "US":
            # 47 CFR 15.247(b): the database prints the conducted 30 dBm; with the 6 dBi that go
            # with it, 36 dBm are radiated.
            conducted_dbm, radiated_dbm = US_LOW_BAND_DBM
            assert expected[0] == RadioRule(2400, 2472, conducted_dbm)
            expected[0] = replace(expected[0], radiated_dbm=radiated_dbm)
        assert list(rules_of(code)) == expected, "our edition is 2026.05.30; theirs may differ"

    def test_only_a_departure_from_the_database_has_its_own_source(self) -> None:
        departures = [
            (code, rule["source"])
            for code in CODES
            for rule in region(code)["rule"]
            if "source" in rule
        ]
        assert [code for code, _ in departures] == ["US"]
        assert "47 CFR 15.247" in departures[0][1]

    def test_other_data_is_no_database(self) -> None:
        with pytest.raises(ValueError, match="it must begin"):
            decode(b"RGDX\x00\x00\x00\x14")


class TestPower:
    @pytest.mark.parametrize(
        ("power_mw", "level_dbm"),
        [  # 10 log10(P / 1 mW), own arithmetic to two decimals
            (1, 0.0),
            (10, 10.0),
            (63, 17.99),
            (100, 20.0),
            (200, 23.01),
            (1000, 30.0),
            (4000, 36.02),
        ],
    )
    def test_level_of_a_power(self, power_mw: float, level_dbm: float) -> None:
        assert mw_to_dbm(power_mw) == pytest.approx(level_dbm, abs=0.005)
        assert dbm_to_mw(level_dbm) == pytest.approx(power_mw, rel=0.0012)

    @given(levels_dbm)
    def test_there_and_back(self, level_dbm: float) -> None:
        assert mw_to_dbm(dbm_to_mw(level_dbm)) == pytest.approx(level_dbm, abs=1e-9)

    @pytest.mark.parametrize(
        ("conducted_dbm", "antenna_dbi", "radiated_dbm"),
        [
            # FCC table in a Wi-Fi channel sheet: point-to-multipoint
            (30, 6, 36),
            (27, 9, 36),
            (24, 12, 36),
            (12, 24, 36),
            # 47 CFR 15.247, fixed point-to-point, in the same sheet
            (29, 9, 38),
            (28, 12, 40),
            (27, 15, 42),
            (24, 24, 48),
            (22, 30, 52),
        ],
    )
    def test_radiated_power(
        self, conducted_dbm: float, antenna_dbi: float, radiated_dbm: float
    ) -> None:
        assert radiated_power_dbm(conducted_dbm, antenna_dbi) == radiated_dbm

    def test_one_radio_in_two_regions(self) -> None:
        # By hand: 18 dBm and 5 dBi are within the FCC rule, and 3 dB over EN 300 328's 20 dBm
        radiated_dbm = radiated_power_dbm(18, 5)
        american_dbm = radiated_limit_dbm(6, LOW, rules_of("US"))
        european_dbm = radiated_limit_dbm(6, LOW, rules_of("DE"))
        assert american_dbm is not None
        assert european_dbm is not None
        assert radiated_dbm <= american_dbm
        assert radiated_dbm - european_dbm == 3

    @given(levels_dbm, st.floats(-20, 40), st.floats(0, 60))
    def test_a_cable_never_adds(self, level: float, gain: float, loss: float) -> None:
        assert radiated_power_dbm(level, gain, loss) <= radiated_power_dbm(level, gain)

    def test_bad_arguments(self) -> None:
        with pytest.raises(ValueError, match="loss_db is -1; it must be finite and not below 0"):
            radiated_power_dbm(18, 5, -1)
        with pytest.raises(ValueError, match="loss_db is inf; it must be finite and not below 0"):
            radiated_power_dbm(18, 5, math.inf)
        with pytest.raises(ValueError, match="antenna_dbi is nan; it must be finite"):
            radiated_power_dbm(18, math.nan)
        with pytest.raises(ValueError, match="transmit_dbm is inf; it must be finite"):
            radiated_power_dbm(math.inf, 5)
        with pytest.raises(ValueError, match="power_mw is 0; it must be finite and above 0"):
            mw_to_dbm(0)
        with pytest.raises(ValueError, match="power_mw is inf; it must be finite and above 0"):
            mw_to_dbm(math.inf)
        with pytest.raises(ValueError, match=r"power_dbm is 5000; it must lie from -1000\.0"):
            dbm_to_mw(5000)

    def test_the_bounds_themselves_are_levels(self) -> None:
        # 10 dB are a factor of 10
        assert dbm_to_mw(1000) == pytest.approx(1e100)
        assert dbm_to_mw(-1000) == pytest.approx(1e-100)


class TestFreeSpaceLoss:
    @pytest.mark.parametrize(
        ("distance_m", "frequency_mhz", "loss_db"),
        [  # ITU-R P.525, own arithmetic to two decimals
            (1, 2437, 40.18),
            (10, 2437, 60.18),
            (30, 2437, 69.73),
            (100, 2437, 80.18),
            (100, 2400, 80.05),
            (1000, 2400, 100.05),
            (6000, 2400, 115.62),  # a radio modem manual prints 115.67 for its own formula
        ],
    )
    def test_loss(self, distance_m: float, frequency_mhz: float, loss_db: float) -> None:
        assert free_space_loss_db(distance_m, frequency_mhz) == pytest.approx(loss_db, abs=0.005)

    def test_constants(self) -> None:
        # ITU-R P.525: 32.4478 for km and MHz (printed 32.45), 92.4478 for km and GHz
        assert free_space_loss_db(1000, 1) == pytest.approx(32.4478, abs=5e-5)
        assert free_space_loss_db(1000, 1000) == pytest.approx(92.4478, abs=5e-5)

    @given(st.floats(0.1, 1e6), st.floats(100, 1e5))
    def test_twice_as_far_is_6_db_more(self, distance_m: float, frequency_mhz: float) -> None:
        # A radio modem manual: 6 dB; 20 log10 2 = 6.02
        near_db = free_space_loss_db(distance_m, frequency_mhz)
        far_db = free_space_loss_db(2 * distance_m, frequency_mhz)
        assert far_db - near_db == pytest.approx(6.02, abs=0.001)

    @pytest.mark.parametrize(("distance_m", "frequency_mhz"), [(0, 2437), (-1, 2437), (1, 0)])
    def test_bad_arguments(self, distance_m: float, frequency_mhz: float) -> None:
        with pytest.raises(ValueError, match="it must be finite and above 0"):
            free_space_loss_db(distance_m, frequency_mhz)
