"""Faults of the entries themselves."""

from datetime import date, timedelta

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, pick
from tests.kits.equipment import power_dbm
from tests.kits.faults.planting import THE_KIT, fault, plan_fault
from tests.kits.kit import Kit

RECORD = "record"


def _partners(kit: Kit, index: int) -> list[int]:
    """Return the modules that are free to share something with one."""
    return [other for other in kit.untouched() if other != index]


def _is_silent(kit: Kit, index: int) -> bool:
    return index not in kit.facts.senders


def _silent_partners(kit: Kit, index: int) -> list[int]:
    return [other for other in _partners(kit, index) if _is_silent(kit, other)]


@fault(
    RECORD,
    "duplicate-module-id",
    "fault",
    lambda kit, index: _is_silent(kit, index) and bool(_silent_partners(kit, index)),
)
def _id_of_another(draw: DrawFn, kit: Kit, index: int) -> set[int]:
    other = pick(draw, _silent_partners(kit, index))
    kit.modules[index]["id"] = kit.modules[other]["id"]
    return {other}


@fault(
    RECORD,
    "duplicate-hardware-address",
    "fault",
    lambda kit, index: bool(_with_hardware_address(kit, index)),
)
def _hardware_address_of_another(draw: DrawFn, kit: Kit, index: int) -> set[int]:
    other = pick(draw, _with_hardware_address(kit, index))
    kit.modules[index]["hardware_address"] = kit.modules[other]["hardware_address"]
    return {other}


def _with_hardware_address(kit: Kit, index: int) -> list[int]:
    return [other for other in _partners(kit, index) if "hardware_address" in kit.modules[other]]


@fault(RECORD, "group-hardware-address", "fault")
def _group_address(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["hardware_address"] = f"01:00:5e:00:53:{index:02x}"


@fault(RECORD, "local-hardware-address", "advice")
def _local_address(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["hardware_address"] = f"02:00:5e:00:53:{index:02x}"


@fault(RECORD, "unknown-profile", "fault")
def _no_such_profile(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["profile"] = pick(draw, ("generic-24ghz-wpa", "radio", "generic"))


@fault(RECORD, "unknown-profile", "fault")
def _no_such_controller(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index].setdefault("controller", {})["profile"] = "generic-16bit"


BEYOND = {
    "serial_rate": 14401,
    "data_bits": 9,
    "parity": "mark",
    "stop_bits": 1.5,
    "flow_control": "xon-xoff",
}
"""Settings that no shipped module profile takes; the rate is beyond those that list theirs."""


@fault(RECORD, "setting-beyond-profile", "fault", lambda kit, index: bool(kit.profile(index)))
def _beyond_profile(draw: DrawFn, kit: Kit, index: int) -> None:
    profile = kit.profile(index) or {}
    key = pick(draw, [*BEYOND, "transmit_power"])
    beyond = BEYOND | {"transmit_power": f"{power_dbm(profile) + 1} dBm"}
    if key == "serial_rate" and "fastest" in profile:
        beyond[key] = profile["fastest"] + 1
    kit.modules[index][key] = beyond[key]


@fault(RECORD, "setting-not-saved", "risk")
def _not_saved(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["saved"] = False


@fault(
    RECORD,
    "radiated-power-over-limit",
    "risk",
    lambda kit, index: bool(kit.facts.limits_dbm),
)
def _too_much_gain(draw: DrawFn, kit: Kit, index: int) -> None:
    gain_dbi = int(max(kit.facts.limits_dbm)) - 10 + between(draw, 1, 5)
    kit.modules[index] |= {"transmit_power": "10 dBm", "antenna_gain": f"{gain_dbi} dBi"}


@plan_fault((RECORD,), "not-in-any-session", "advice", lambda kit: "session" in kit.document)
def _absent(draw: DrawFn, kit: Kit) -> frozenset[int]:
    silent = [module["id"] for module in kit.modules[1:]]
    for session in kit.document["session"]:
        session["modules"] = silent
    return THE_KIT


@plan_fault((RECORD,), "module-in-two-sessions", "risk", lambda kit: "session" in kit.document)
def _at_two_benches(draw: DrawFn, kit: Kit) -> frozenset[int]:
    session = pick(draw, kit.document["session"])
    start = session["start"] + timedelta(minutes=between(draw, 0, 29))
    again = {**session, "name": pick(draw, (session["name"], "Extra")), "start": start}
    kit.document["session"] = [*kit.document["session"], again]
    return THE_KIT


@plan_fault((), "duplicate-host-name", "risk", lambda kit: bool(kit.plan("network", "host")))
def _two_of_one_name(draw: DrawFn, kit: Kit) -> frozenset[int]:
    hosts = kit.table("network")["host"]
    twin = {"name": pick(draw, hosts)["name"], "address": str(pick(draw, kit.facts.spares))}
    kit.table("network")["host"] = [*hosts, twin]
    return THE_KIT


@plan_fault((), "unknown-module-named", "risk", lambda kit: "session" in kit.document)
def _nobody_in_session(draw: DrawFn, kit: Kit) -> frozenset[int]:
    session = pick(draw, kit.document["session"])
    session["modules"] = [*session["modules"], "XY-99"]
    return THE_KIT


@plan_fault((), "waiver-expired", "risk")
def _old_waiver(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.document["waiver"] = [
        {"check": "weak-security", "reason": "the room is empty", "until": date(2026, 1, 31)}
    ]
    return THE_KIT


@plan_fault(("power",), "waiver-unused", "advice")
def _idle_waiver(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.document["waiver"] = [{"check": "no-common-ground", "reason": "a trial", "modules": "all"}]
    return THE_KIT
