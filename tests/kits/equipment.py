"""What the shipped profiles and regions say, read as plain data and not through the auditor."""

import tomllib
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

PROFILES = Path(__file__).parents[2] / "profiles"

STANDARD_RATES_BD = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600)
"""Rates of the trade: common practice, no source."""

HALF_WIDTH_MHZ = 10
FIRST_MHZ = {"2.4 GHz": 2407, "5 GHz": 5000}
"""The centre of channel n is this plus 5 n: IEEE 802.11, channelisation of the two bands."""
CHANNELS_2_4 = tuple(range(1, 14))


@cache
def tables(kind: str) -> dict[str, dict[str, Any]]:
    """Return the shipped tables of a kind ("modules", "regions", ...) by their names."""
    return {
        path.stem: tomllib.loads(path.read_text("utf-8"))
        for path in sorted((PROFILES / kind).glob("*.toml"))
    }


def module_profiles(names: Iterable[str]) -> list[dict[str, Any]]:
    """Return the module profiles of some names."""
    return [tables("modules")[name] for name in names]


def shared(names: Iterable[str], key: str) -> list[Any]:
    """Return what every one of some module profiles lists under a key."""
    listed = [profile[key] for profile in module_profiles(names)]
    return [each for each in listed[0] if all(each in others for others in listed)]


def shared_rates_bd(names: Iterable[str]) -> list[int]:
    """Return the standard rates to which every one of some module profiles can be set."""
    return [
        rate
        for rate in STANDARD_RATES_BD
        if all(_can_be_set(profile, rate) for profile in module_profiles(names))
    ]


def _can_be_set(profile: dict[str, Any], rate_bd: int) -> bool:
    listed: Sequence[int] = profile.get("serial_rates", ())
    if listed:
        return rate_bd in listed
    return bool(profile["slowest"] <= rate_bd <= profile["fastest"])


def shared_channels(names: Iterable[str], band: str) -> list[int]:
    """Return the channels of a band to which every one of some module profiles tunes."""
    listed = [profile["channels"].get(band, []) for profile in module_profiles(names)]
    return [each for each in listed[0] if all(each in others for others in listed)]


def limit_dbm(region: str | None, band: str, channel: int) -> float | None:
    """Return what may be radiated on a channel, by the strictest rule that holds all of it.

    None where no rule does, or no region is given. Only rules that let an access point begin
    and that permit OFDM count.
    """
    centre_mhz = FIRST_MHZ[band] + 5 * channel
    rules = tables("regions")[region.lower()]["rule"] if region else []
    limits = [
        rule["radiated_dbm"]
        for rule in rules
        if rule["low_mhz"] <= centre_mhz - HALF_WIDTH_MHZ
        and centre_mhz + HALF_WIDTH_MHZ <= rule["high_mhz"]
        and rule.get("may_initiate", True)
        and rule.get("ofdm", True)
    ]
    return min(limits, default=None)


SPANS_MHZ = {"2.4 GHz": (2400, 2500), "5 GHz": (5000, 5900)}
"""Where the channels of the two bands lie: IEEE 802.11, channelisation."""


def limits_dbm(region: str | None, bands: Iterable[str]) -> tuple[float, ...]:
    """Return what may be radiated by each rule of a region that has to do with some bands."""
    rules = tables("regions")[region.lower()]["rule"] if region else []
    return tuple(
        rule["radiated_dbm"]
        for low_mhz, high_mhz in map(SPANS_MHZ.__getitem__, bands)
        for rule in rules
        if rule["low_mhz"] < high_mhz and low_mhz < rule["high_mhz"]
    )


def milliamps(profile: dict[str, Any]) -> int:
    """Return the burst current of a module profile."""
    return int(profile["burst_current"].removesuffix(" mA"))


def milliseconds(profile: dict[str, Any]) -> int:
    """Return the duration of a burst of a module profile."""
    return int(profile["burst_duration"].removesuffix(" ms"))


def power_dbm(profile: dict[str, Any]) -> int:
    """Return the highest transmit power of a module profile."""
    return int(profile["transmit_power"].removesuffix(" dBm"))
