"""Observed cases as fleet files: each client a module, with a profile that is like it."""

import json
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import tomlkit

JOINS = Path(__file__).parent / "joins.json"

SUBNET, ROUTER, WIRED, PORT = "10.20.0.0/24", "10.20.0.1", "10.20.0.2", 5005
START = datetime(2026, 3, 2, 9, 0, 0)

SECURITY = {
    "open": "open",
    "wep40": "wep-40",
    "wep104": "wep-104",
    "wpa-tkip": "wpa-personal",
    "wpa2-ccmp": "wpa2-personal",
    "wpa3-sae": "wpa3-personal",
    "wpa-wpa2-auto": "wpa-wpa2-personal",
    "wpa2-wpa3-auto": "wpa2-wpa3-personal",
}
CHANNELS = {
    "2.4-ch1-11": {"2.4 GHz": list(range(1, 12))},
    "2.4-ch1-13": {"2.4 GHz": list(range(1, 14))},
}
BANDS = {"5": ["5 GHz"], "any": ["2.4 GHz", "5 GHz"]}


@cache
def cases() -> dict[str, dict[str, Any]]:
    """Return the observed cases by their id."""
    return {case["id"]: case for case in json.loads(JOINS.read_text())["cases"]}


def write_fleet(case: dict[str, Any], client: dict[str, Any], folder: Path) -> Path:
    """Write the fleet in which a client of a case is judged, with its profiles.

    The audience of a broadcast is the kit it is sent in, so a client that broadcasts to some of
    the others is judged in a kit of itself and those.
    """
    chosen = _audience(case, client)
    document = {
        "kit": {"format": 1, "region": case["access_point"]["country"]},
        "network": _network(case, chosen),
        "traffic": {"transport": "udp"},
        "session": _sessions(case),
        "module": [_module(number, each, case) for number, each in enumerate(chosen, start=1)],
    }
    for each in chosen:
        text = tomlkit.dumps(_profile(each["settings"]))
        (folder / f"{each['settings']['name']}.toml").write_text(text)
    path = folder / "kit.toml"
    path.write_text(tomlkit.dumps(document))
    return path


def _audience(case: dict[str, Any], client: dict[str, Any]) -> list[dict[str, Any]]:
    expected = client["settings"].get("dest", {}).get("expect", ["wired"])
    if {"wired", "ap"}.intersection(expected) or len(expected) < 2:
        return list(case["clients"])
    names = {client["settings"]["name"], *expected}
    return [each for each in case["clients"] if each["settings"]["name"] in names]


def _network(case: dict[str, Any], chosen: list[dict[str, Any]]) -> dict[str, Any]:
    point = case["access_point"]
    security = point["security"].partition("-pmf-")[0]
    network: dict[str, Any] = {
        "name": point["ssid"],
        "security": SECURITY[security],
        "channel": point["channel"],
        "hidden": point.get("hidden", False),
        "client_isolation": point.get("isolate", False),
        "ipv4": _ipv4(case),
    }
    if "-pmf-" in point["security"]:
        network["protected_management"] = point["security"].partition("-pmf-")[2]
    if "passphrase" in point or "wep_key_hex" in point:
        network["passphrase"] = point.get("passphrase") or point["wep_key_hex"]
    if "max_stations" in point:
        network["station_limit"] = point["max_stations"]
    if "mac_accept" in point:
        network["accept_list"] = [_hardware_address(1)]
    if len(chosen) == len(case["clients"]):
        network["host"] = [
            {"name": "ap", "address": ROUTER, "port": PORT, "transport": "udp"},
            {"name": "wired", "address": WIRED, "port": PORT, "transport": "udp"},
        ]
    return network


def _ipv4(case: dict[str, Any]) -> dict[str, Any]:
    ipv4: dict[str, Any] = {"subnet": SUBNET, "gateway": ROUTER}
    if not case["dhcp"]:
        return {**ipv4, "address_server": False}
    lease = f"{case['dhcp'].get('lease_s', 3600)} s"
    pool = {"first": case["dhcp"]["first"], "last": case["dhcp"]["last"]}
    return {**ipv4, "pool": pool, "lease_time": lease}


def _sessions(case: dict[str, Any]) -> list[dict[str, Any]]:
    """Turn the steps of a case into sessions of ten seconds each, five seconds apart."""
    joins = [step["join"] for step in case["steps"] or [] if "join" in step]
    starts = [START + timedelta(seconds=15 * number) for number in range(len(joins))]
    return [
        {
            "name": f"group {number}",
            "start": start,
            "end": start + timedelta(seconds=10),
            "modules": names,
        }
        for number, (start, names) in enumerate(zip(starts, joins, strict=True), start=1)
    ]


def _hardware_address(number: int) -> str:
    return f"00:00:5e:00:53:{number:02x}"


def _module(number: int, client: dict[str, Any], case: dict[str, Any]) -> dict[str, Any]:
    settings = client["settings"]
    name = settings.get("ssid")
    module: dict[str, Any] = {
        "id": settings["name"],
        "hardware_address": _hardware_address(number),
        "profile": f"{settings['name']}.toml",
        "network_name": bytes.fromhex(settings["ssid_hex"]).decode() if name is None else name,
        "security": SECURITY[_plain(settings["security"])],
        "listen_port": settings.get("listen_port", PORT),
        "talks": "dest" in settings,
    }
    if "dest" in settings:
        module["destination"] = settings["dest"]["to"]
        module["port"] = settings["dest"].get("port", PORT)
    if "psk_hex" in settings:
        module["passphrase"] = {"psk": settings["psk_hex"]}
    elif "passphrase" in settings or "wep_key_hex" in settings:
        module["passphrase"] = settings.get("passphrase") or settings["wep_key_hex"]
    return {**module, **_addressing(settings["addressing"])}


def _addressing(addressing: Any) -> dict[str, Any]:
    if addressing == "pooled":
        return {"addressing": "pooled"}
    return {
        "addressing": "static",
        "address": addressing["address"],
        "prefix_length": addressing["prefix"],
        "gateway": addressing.get("gateway", "none"),
    }


def _plain(security: str) -> str:
    return security.partition("-pmf-")[0].removesuffix("-strict-group")


def _profile(settings: dict[str, Any]) -> dict[str, Any]:
    """Return a profile like a client: its bands, its frame protection, what it looks for."""
    band = settings.get("band", "2.4")
    security = settings["security"]
    protects = "pmf" in security or "wpa3" in security
    profile: dict[str, Any] = {
        "title": settings["name"],
        "standards": ["802.11b", "802.11g", "802.11n", "802.11a"],
        "bands": BANDS.get(band, ["2.4 GHz"]),
        "channels": CHANNELS.get(band, {}),
        "protected_management": "optional" if protects else "off",
        "finds_hidden": settings.get("scan_hidden", False),
    }
    if "strict-group" in security:
        profile["joins_mixed"] = ["wpa2-wpa3-personal"]
    return profile
