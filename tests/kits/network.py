"""The radio network of a kit that works: what every module of it can hear, join and decrypt."""

import hashlib
from base64 import b32encode
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, one_in, pick, thinned
from tests.kits.equipment import (
    CHANNELS_2_4,
    limit_dbm,
    limits_dbm,
    module_profiles,
    power_dbm,
    shared,
    shared_channels,
    tables,
)

NETWORK_KEY = "NETWORK_KEY"
"""The environment variable of the network's passphrase."""
LETTERS = "abcdefghijkmnpqrstuvwxyzABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Letters and digits that no two of look alike."""
LONGEST_NAME_OCTETS = 32  # IEEE 802.11, SSID element
WPA2, WPA3, BOTH = "wpa2-personal", "wpa3-personal", "wpa2-wpa3-personal"
RATES_MBPS = {"2.4 GHz": ("1", "2", "5.5", "11", "6", "12", "24"), "5 GHz": ("6", "12", "24")}
"""Rates that all stations of a band have: IEEE 802.11g and 802.11a, mandatory ones."""


@dataclass(frozen=True)
class Radio:
    """The table of a network, without its addresses, and what may be radiated.

    That is one limit where a channel is planned, and else those of all that it may be on.
    """

    table: dict[str, Any]
    limits_dbm: tuple[float, ...]


def strong_passphrase(number: int) -> str:
    """Return 24 letters and digits that look random, a different text for each number."""
    digest = hashlib.sha256(f"a passphrase of a kit: {number}".encode()).digest()
    return b32encode(digest)[:24].decode().lower()


def name_of(draw: DrawFn) -> str:
    """Draw a plain network name of 3 to 32 octets."""
    words = [pick(draw, ("saltmarsh", "tide", "Estuary", "FIELD", "gauge", "heron"))]
    words.append(str(between(draw, 0, 10**6)))
    if one_in(draw, 8):
        words.append(LETTERS)
    return pick(draw, ("-", "_", ".", " ")).join(words)[:LONGEST_NAME_OCTETS]


def radio(draw: DrawFn, names: Collection[str], region: str | None, *, is_strict: bool) -> Radio:
    """Draw a network for modules of some profiles."""
    band, channel = _spot(draw, names, region)
    table: dict[str, Any] = {
        "name": name_of(draw),
        "security": pick(draw, _modes(names, is_strict=is_strict)),
        "passphrase": {"env": NETWORK_KEY},
    }
    table |= thinned(draw, _settings(draw, names, band, table["security"]), _LEFT_OUT)
    if channel is not None:
        table["channel"] = channel
    elif one_in(draw, 2) and table.get("band") == "2.4 GHz":
        table["band"] = ["2.4 GHz", "5 GHz"]
        table.pop("lowest_basic_rate", None)
    if channel is None:
        bands = table["band"] if isinstance(table["band"], list) else [band]
        return Radio(table, limits_dbm(region, bands))
    limit = limit_dbm(region, band, channel)
    return Radio(table, () if limit is None else (limit,))


_LEFT_OUT = ("protected_management", "lowest_basic_rate", "beacon_interval", "dtim_period")


def _settings(draw: DrawFn, names: Collection[str], band: str, security: str) -> dict[str, Any]:
    finds_hidden = all(profile["finds_hidden"] for profile in module_profiles(names))
    return {
        "band": band,
        "protected_management": pick(draw, _protections(names, security)),
        "hidden": finds_hidden and one_in(draw, 6),
        "lowest_basic_rate": f"{pick(draw, RATES_MBPS[band])} Mb/s",
        "beacon_interval": "102.4 ms",
        "dtim_period": between(draw, 1, 3),
        "other_stations": between(draw, 0, 4),
    }


def _modes(names: Collection[str], *, is_strict: bool) -> list[str]:
    """Return the modes that protect well enough and in which every profile can join."""
    modes = [WPA2]
    if WPA3 in shared(names, "security"):
        modes.append(WPA3)
    if BOTH in shared(names, "joins_mixed") and not is_strict:
        modes.append(BOTH)
    return modes


def _protections(names: Collection[str], security: str) -> list[str]:
    """Return the protections of management frames with which every profile can join.

    Source: WPA3 Specification v3.0, sections 2.2 (required) and 2.3 (at least optional).
    """
    if security == WPA3:
        return ["required"]
    able = all(p["protected_management"] != "off" for p in module_profiles(names))
    protections = ["optional"] + (["required"] if able else [])
    return protections + (["off"] if security == WPA2 else [])


def _spot(draw: DrawFn, names: Collection[str], region: str | None) -> tuple[str, int | None]:
    """Draw a band of all profiles, and a channel that all know and the region permits."""
    band = pick(draw, shared(names, "bands"))
    channels = shared_channels(names, band)
    if region:
        channels = [each for each in channels if limit_dbm(region, band, each) is not None]
    return band, pick(draw, channels) if channels and not one_in(draw, 4) else None


def forbidden_channels(region: str) -> list[int]:
    """Return the channels of 2.4 GHz that no rule of a region so much as touches."""
    rules = tables("regions")[region.lower()]["rule"]
    highest_mhz = max(rule["high_mhz"] for rule in rules if rule["high_mhz"] < 3000)
    return [each for each in CHANNELS_2_4 if 2407 + 5 * each + 10 > highest_mhz]


def transmission(draw: DrawFn, profile: dict[str, Any], limits: Iterable[float]) -> dict[str, Any]:
    """Draw a transmit power and an antenna gain that together stay below all limits."""
    gain_dbi = between(draw, 0, 5)
    most_dbm = min([power_dbm(profile), *(int(limit) - gain_dbi for limit in limits)])
    return {
        "transmit_power": f"{most_dbm - between(draw, 0, 3)} dBm",
        "antenna_gain": f"{gain_dbi} dBi",
    }
