"""Channels, what a region permits on them, and radiated power.

Frequencies are in MHz, power levels in dBm, gains in dBi and losses in dB.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

SPEED_OF_LIGHT_M_PER_S: Final = 299_792_458  # SI
CHANNEL_WIDTH_MHZ: Final = 20.0
CHANNEL_14_MHZ: Final = 2484  # IEEE 802.11: 12 MHz above channel 13, off the 5 MHz raster
POWER_BOUND_DBM: Final = 1000.0  # far beyond any radio; keeps the power in mW within a float


class Band(StrEnum):
    """A band as people write it."""

    GHZ_2_4 = "2.4 GHz"
    GHZ_5 = "5 GHz"


# IEEE 802.11, channels of 20 MHz.
CHANNELS: Final = {
    Band.GHZ_2_4: tuple(range(1, 15)),
    Band.GHZ_5: (*range(36, 65, 4), *range(100, 145, 4), *range(149, 178, 4)),
}
CHANNEL_0_MHZ: Final = {Band.GHZ_2_4: 2407, Band.GHZ_5: 5000}


@dataclass(frozen=True)
class RadioRule:
    """A region permits transmissions between two frequencies, up to a radiated power (EIRP).

    `ofdm` is false where only 802.11b may be used; `may_initiate` is false where a station has to
    hear an access point first.

    Raises:
        ValueError: low_mhz is not below high_mhz.
    """

    low_mhz: float
    high_mhz: float
    radiated_dbm: float
    ofdm: bool = True
    may_initiate: bool = True

    def __post_init__(self) -> None:
        if not self.low_mhz < self.high_mhz:
            raise ValueError(f"low_mhz is {self.low_mhz}; it must be below {self.high_mhz}")

    def covers(self, centre_mhz: float) -> bool:
        """The 20 MHz around a centre frequency lie within this rule."""
        half_mhz = CHANNEL_WIDTH_MHZ / 2
        return self.low_mhz <= centre_mhz - half_mhz and centre_mhz + half_mhz <= self.high_mhz


def channels(band: Band) -> tuple[int, ...]:
    """The numbers of the band's 20 MHz channels, in ascending order.

    Source: IEEE 802.11, channelisation of the 2.4 and 5 GHz bands.
    """
    return CHANNELS[band]


def band_of(channel: int) -> Band | None:
    """The band to which a channel number belongs, or None where there is no such channel."""
    return next((band for band in Band if channel in CHANNELS[band]), None)


def centre_frequency_mhz(channel: int, band: Band) -> int:
    """The frequency in the middle of a channel, in MHz.

    Raises:
        ValueError: a number that is no channel of the band.
    Source: IEEE 802.11: 2407 + 5 n MHz for channels 1 to 13, 2484 MHz for 14; 5000 + 5 n MHz.
    """
    if channel not in CHANNELS[band]:
        legal = ", ".join(str(number) for number in CHANNELS[band])
        raise ValueError(f"channel is {channel}; at {band} it must be one of {legal}")
    if channel == 14:
        return CHANNEL_14_MHZ
    return CHANNEL_0_MHZ[band] + 5 * channel


def covering_rules(channel: int, band: Band, rules: Iterable[RadioRule]) -> tuple[RadioRule, ...]:
    """The rules that each hold the whole 20 MHz of a channel, in the order given.

    A channel that only two adjoining rules cover together is covered by none. The 22 MHz of
    802.11b are not counted: a rule for channel 14 is itself 20 MHz wide.

    Raises:
        ValueError: a number that is no channel of the band.
    Source: wireless-regdb, reading of its rules.
    """
    centre_mhz = centre_frequency_mhz(channel, band)
    return tuple(rule for rule in rules if rule.covers(centre_mhz))


def permitted(channel: int, band: Band, rules: Iterable[RadioRule], ofdm: bool = True) -> bool:
    """A station may transmit on the channel, once an access point is there where that is needed.

    `ofdm` is false for 802.11b, which may be permitted where OFDM is not.

    Raises:
        ValueError: a number that is no channel of the band.
    Source: wireless-regdb, reading of its rules.
    """
    return any(rule.ofdm or not ofdm for rule in covering_rules(channel, band, rules))


def permitted_channels(
    band: Band, rules: Iterable[RadioRule], ofdm: bool = True
) -> tuple[int, ...]:
    """The channels of the band on which a station may transmit, in ascending order.

    Source: wireless-regdb, reading of its rules.
    """
    known = tuple(rules)
    return tuple(number for number in channels(band) if permitted(number, band, known, ofdm))


def radiated_limit_dbm(channel: int, band: Band, rules: Iterable[RadioRule]) -> float | None:
    """The highest radiated power (EIRP) that any rule grants on the channel, in dBm.

    None where no rule covers the channel.

    Raises:
        ValueError: a number that is no channel of the band.
    """
    return max((rule.radiated_dbm for rule in covering_rules(channel, band, rules)), default=None)


def highest_limit_dbm(band: Band, rules: Iterable[RadioRule]) -> float | None:
    """The highest radiated power (EIRP) that any rule grants on any channel of the band, in dBm.

    None where no rule covers one of its channels.
    """
    known = tuple(rules)
    limits = (radiated_limit_dbm(number, band, known) for number in channels(band))
    return max((limit for limit in limits if limit is not None), default=None)


def radiated_power_dbm(transmit_dbm: float, antenna_dbi: float, loss_db: float = 0.0) -> float:
    """A transmitter with this antenna radiates this power in its best direction (EIRP), in dBm.

    `loss_db` is what cable and connectors take.

    Raises:
        ValueError: a value that is not finite, or a loss below 0.
    Source: EIRP = transmit power + antenna gain - loss.
    """
    _require_finite("transmit_dbm", transmit_dbm)
    _require_finite("antenna_dbi", antenna_dbi)
    if not 0 <= loss_db < math.inf:
        raise ValueError(f"loss_db is {loss_db}; it must be finite and not below 0")
    return transmit_dbm + antenna_dbi - loss_db


def dbm_to_mw(power_dbm: float) -> float:
    """A power level in dBm as a power in milliwatts.

    Raises:
        ValueError: a level outside -1000 to 1000 dBm.
    Source: 0 dBm is 1 mW; 10 dB are a factor of 10.
    """
    if not -POWER_BOUND_DBM <= power_dbm <= POWER_BOUND_DBM:
        raise ValueError(
            f"power_dbm is {power_dbm}; it must lie from {-POWER_BOUND_DBM} to {POWER_BOUND_DBM}"
        )
    return float(10 ** (power_dbm / 10))


def mw_to_dbm(power_mw: float) -> float:
    """A power in milliwatts as a power level in dBm.

    Raises:
        ValueError: a power that is not above 0.
    Source: 0 dBm is 1 mW; 10 dB are a factor of 10.
    """
    _require_positive("power_mw", power_mw)
    return 10 * math.log10(power_mw)


def overlap(
    channel_a: int, channel_b: int, band: Band, width_mhz: float = CHANNEL_WIDTH_MHZ
) -> bool:
    """Two channels of one band share some of the spectrum.

    `width_mhz` is 20 for OFDM, 22 for DSSS and CCK. Channels that touch do not overlap.

    Raises:
        ValueError: a number that is no channel of the band, or a width that is not above 0.
    """
    _require_positive("width_mhz", width_mhz)
    centre_a_mhz = centre_frequency_mhz(channel_a, band)
    return abs(centre_a_mhz - centre_frequency_mhz(channel_b, band)) < width_mhz


def free_space_loss_db(distance_m: float, frequency_mhz: float) -> float:
    """A signal loses this much on its way between two antennas with nothing in between, in dB.

    Holds at distances of several wavelengths (12.5 cm at 2.4 GHz) and more.

    Raises:
        ValueError: a distance or frequency that is not above 0.
    Source: ITU-R P.525: 20 log10(4 pi d f / c).
    """
    _require_positive("distance_m", distance_m)
    _require_positive("frequency_mhz", frequency_mhz)
    wavelength_m = SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6)
    return 20 * math.log10(4 * math.pi * distance_m / wavelength_m)


def _require_finite(quantity: str, value: float) -> None:
    if not math.isfinite(value):
        raise ValueError(f"{quantity} is {value}; it must be finite")


def _require_positive(quantity: str, value: float) -> None:
    if not 0 < value < math.inf:
        raise ValueError(f"{quantity} is {value}; it must be finite and above 0")
