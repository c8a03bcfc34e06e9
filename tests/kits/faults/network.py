"""Faults between a module and the access point: name, band, mode, places, keys."""

from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, pick
from tests.kits.equipment import limit_dbm, tables
from tests.kits.faults.planting import THE_KIT, Planted, fault, plan_fault
from tests.kits.kit import Kit
from tests.kits.network import BOTH, NETWORK_KEY, WPA2, WPA3, forbidden_channels, strong_passphrase
from tests.kits.unplanned import without_network

DISCOVERY, ADMISSION, KEYS = "discovery", "admission", "keys"
EARLY = "generic-24ghz-early"
LOOK_ALIKES = str.maketrans("aeosxcipAEHKMOPTXB", "аеоѕхсірАЕНКМОРТХВ")  # UTS #39, Cyrillic
IMPOSSIBLE = {"wpa3-personal", "wep-104", "wpa-personal"}


def _name(kit: Kit) -> str:
    return str(kit.plan("network", "name"))


def _security(kit: Kit, index: int) -> str:
    """Return the mode that a module is set to."""
    return str(kit.modules[index].get("security", kit.plan("network", "security")))


def _early(kit: Kit) -> set[int]:
    return {i for i in kit.everybody if kit.profile(i) is tables("modules")[EARLY]}


def _only_2_4(kit: Kit) -> set[int]:
    profiles = {i: kit.profile(i) for i in kit.everybody}
    return {i for i, profile in profiles.items() if profile and profile["bands"] == ["2.4 GHz"]}


@fault(DISCOVERY, "network-name-differs", "fault")
def _slip_in_name(draw: DrawFn, kit: Kit, index: int) -> None:
    name = _name(kit)
    slips = (name.swapcase(), name[:-1], name[1:], f"{name[:-1]} ", "another-network")
    look_alike = name.translate(LOOK_ALIKES)
    legal = [look_alike] if len(look_alike.encode()) <= 32 else []
    kit.modules[index]["network_name"] = pick(draw, [*slips, *legal])


@fault(DISCOVERY, "network-name-invalid", "fault")
def _impossible_name(draw: DrawFn, kit: Kit, index: int) -> None:
    name = pick(draw, ("", "n" * 33, "é" * 17, _name(kit) + "-" * 32))
    kit.modules[index]["network_name"] = name


@plan_fault((DISCOVERY,), "network-name-fragile", "advice", lambda kit: len(_name(kit)) < 32)
def _blank_at_end(draw: DrawFn, kit: Kit) -> frozenset[int]:
    name = pick(draw, (f"{_name(kit)} ", f" {_name(kit)}"))
    kit.table("network")["name"] = name
    kit.change_all("network_name", name)
    return THE_KIT


@plan_fault(
    ("record", DISCOVERY, ADMISSION, "delivery"),
    "band-unsupported",
    "fault",
    lambda kit: bool(_only_2_4(kit)),
)
def _other_band(draw: DrawFn, kit: Kit) -> set[int]:
    network = kit.table("network")
    network |= {"band": "5 GHz"}
    for key in ("channel", "lowest_basic_rate"):
        network.pop(key, None)
    return _only_2_4(kit)


@plan_fault(("record", DISCOVERY), "channel-not-permitted", "fault")
def _forbidden_channel(draw: DrawFn, kit: Kit) -> frozenset[int]:
    region = kit.plan("kit", "region")
    forbidden = forbidden_channels(region) if region else []
    kit.table("network").update(band="2.4 GHz", channel=pick(draw, [*forbidden, 15, 36]))
    return kit.everybody


@plan_fault(
    ("record", DISCOVERY),
    "channel-unsupported",
    "fault",
    lambda kit: bool(_early(kit)) and _permits_13(kit),
)
def _channel_beyond_eleven(draw: DrawFn, kit: Kit) -> set[int]:
    kit.table("network").update(band="2.4 GHz", channel=13)
    return _early(kit)


def _permits_13(kit: Kit) -> bool:
    region = kit.plan("kit", "region")
    return region is None or limit_dbm(region, "2.4 GHz", 13) is not None


@plan_fault((DISCOVERY,), "hidden-network", "fault", lambda kit: bool(_early(kit)))
def _hidden_from_early(draw: DrawFn, kit: Kit) -> set[int]:
    kit.table("network")["hidden"] = True
    return _early(kit)


@plan_fault((DISCOVERY,), "hidden-network", "advice")
def _hidden(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("network")["hidden"] = True
    return THE_KIT


@plan_fault(
    ("record", DISCOVERY, ADMISSION),
    "band-steering",
    "advice",
    lambda kit: len(_only_2_4(kit)) > 1,
)
def _steering(draw: DrawFn, kit: Kit) -> frozenset[int]:
    network = kit.table("network")
    network |= {"band": ["2.4 GHz", "5 GHz"], "band_steering": True}
    network.pop("channel", None)
    network.pop("lowest_basic_rate", None)
    return THE_KIT


def _unknown_modes(kit: Kit, index: int) -> list[str]:
    profile = kit.profile(index)
    return sorted(IMPOSSIBLE - set(profile["security"])) if profile else []


@fault(
    ADMISSION,
    "security-unsupported",
    "fault",
    lambda kit, index: bool(_unknown_modes(kit, index)),
)
def _mode_of_others(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["security"] = pick(draw, _unknown_modes(kit, index))


@fault(ADMISSION, "security-mode-mismatch", "fault")
def _mode_of_another_network(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["security"] = pick(draw, _other_modes(kit, index))


def _other_modes(kit: Kit, index: int) -> list[str]:
    """Return modes that the module knows and the network, always WPA2 or WPA3, does not offer."""
    planned = kit.plan("network", "security")
    offered = {WPA2, WPA3} if planned == BOTH else {planned}
    known = (kit.profile(index) or {"security": ["open", "wep-40", WPA2, WPA3]})["security"]
    return [mode for mode in known if mode not in {*offered, BOTH}]


@fault(ADMISSION, "weak-security", "risk")
def _weak_mode(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["security"] = pick(draw, ("open", "wep-40", "wpa-personal"))


@plan_fault((ADMISSION, KEYS), "weak-security", "risk")
def _weak_network(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("network")["security"] = pick(draw, ("open", "wep-104", "wpa-wpa2-personal"))
    return THE_KIT


@plan_fault(
    (ADMISSION, KEYS),
    "transition-mode",
    "advice",
    lambda kit: kit.plan("network", "security") == WPA2,
)
def _both_modes(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("network").update(security=BOTH, protected_management="optional")
    return THE_KIT


@plan_fault(
    (ADMISSION,),
    "protected-management-mismatch",
    "fault",
    lambda kit: bool(_early(kit)) and kit.plan("network", "security") == WPA2,
)
def _protection_required(draw: DrawFn, kit: Kit) -> set[int]:
    kit.table("network")["protected_management"] = "required"
    return _early(kit)


@plan_fault(
    (ADMISSION,),
    "protected-management-mismatch",
    "fault",
    lambda kit: kit.plan("network", "security") == WPA3,
)
def _protection_off(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("network")["protected_management"] = "off"
    return kit.everybody


@plan_fault(
    (ADMISSION,), "basic-rates-unsupported", "fault", lambda kit: "profile" in kit.table("kit")
)
def _strange_rate(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("network")["lowest_basic_rate"] = pick(draw, ("14 Mb/s", "7 Mb/s", "53 Mb/s"))
    return kit.everybody


@plan_fault((), "stations-over-limit", "risk")
def _too_few_places(draw: DrawFn, kit: Kit) -> frozenset[int]:
    groups = [len(members) for members in kit.facts.sessions] or [len(kit.modules)]
    wireless = sum(host.get("link") == "wireless" for host in kit.plan("network", "host") or ())
    least = max(groups) + wireless + kit.table("network").get("other_stations", 0)
    kit.table("network")["station_limit"] = between(draw, 0, least - 1)
    return THE_KIT


@fault(
    ADMISSION,
    "not-on-accept-list",
    "fault",
    lambda kit, index: "hardware_address" in kit.modules[index],
)
def _unlisted(draw: DrawFn, kit: Kit, index: int) -> Planted:
    known = [module.get("hardware_address") for module in kit.modules]
    listed = kit.plan("network", "accept_list") or [each for each in known if each]
    kit.table("network")["accept_list"] = [each for each in listed if each != known[index]]
    without = {i for i, address in enumerate(known) if address is None}
    at = frozenset({index})
    return Planted("not-on-accept-list", "fault", at, at | without)


def _secret(kit: Kit, name: str, text: str) -> dict[str, Any]:
    kit.environment[name] = text
    return {"env": name}


@fault(KEYS, "passphrase-missing", "fault")
def _empty(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["passphrase"] = ""


@fault(KEYS, "passphrase-invalid", "fault")
def _impossible_passphrase(draw: DrawFn, kit: Kit, index: int) -> None:
    """WPA2: 8 to 63 printable ASCII characters (IEEE 802.11i-2004, H.4.1); WPA3: no key."""
    if _may_use_wpa2(kit, index):
        text = pick(draw, ("seven77", "n" * 65, "zwölf-Möwen-am-Strand", "g" * 64))
        kit.modules[index]["passphrase"] = _secret(kit, f"IMPOSSIBLE_{index}", text)
    else:
        kit.modules[index]["passphrase"] = {"psk": "0123456789abcdef" * 4}


def _may_use_wpa2(kit: Kit, index: int) -> bool:
    modes = {_security(kit, index), kit.plan("network", "security")}
    return WPA3 not in modes


@fault(KEYS, "passphrase-differs", "fault")
def _other_passphrase(draw: DrawFn, kit: Kit, index: int) -> None:
    planned = kit.environment[NETWORK_KEY]
    other = pick(draw, (strong_passphrase(-1), planned.upper(), f"{planned} ", planned[:-1]))
    kit.modules[index]["passphrase"] = _secret(kit, f"OTHER_{index}", other)


@fault(KEYS, "passphrase-from-last-term", "fault")
def _retired(draw: DrawFn, kit: Kit, index: int) -> None:
    old = _secret(kit, "LAST_TERM", strong_passphrase(-2))
    kit.table("network")["retired_passphrases"] = [old]
    kit.modules[index]["passphrase"] = old


@plan_fault((KEYS,), "passphrase-from-last-term", "risk")
def _still_the_old_one(draw: DrawFn, kit: Kit) -> frozenset[int]:
    old = _secret(kit, "LAST_TERM", kit.environment[NETWORK_KEY])
    kit.table("network")["retired_passphrases"] = [old]
    return THE_KIT


@plan_fault((KEYS,), "weak-passphrase", "risk")
def _guessable(draw: DrawFn, kit: Kit) -> frozenset[int]:
    """Choose what stands in lists; WPA3 cannot be guessed offline, so there a short one."""
    is_wpa3 = kit.plan("network", "security") == WPA3
    weak = ("gauge", "1234567") if is_wpa3 else ("password1", "sunshine2026", "qwertyuiop")
    kit.environment[NETWORK_KEY] = pick(draw, weak)
    return THE_KIT


@fault(KEYS, "passphrase-in-clear", "advice")
def _in_clear(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["passphrase"] = kit.environment[NETWORK_KEY]


@plan_fault(
    ("record", "power", DISCOVERY, ADMISSION, KEYS, "address", "delivery", "serial", "message"),
    "odd-one-out",
    "risk",
    lambda kit: len(kit.modules) > 2,
)
def _odd_one(draw: DrawFn, kit: Kit) -> set[int]:
    without_network(kit)
    odd = pick(draw, sorted(kit.everybody))
    kit.modules[odd]["network_name"] += "2"
    return {odd}
