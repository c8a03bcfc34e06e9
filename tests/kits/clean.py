"""Kits that must work: made from the standards and the profiles, without asking any check."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address
from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from tests.kits.addresses import AddressPlan, address_plan
from tests.kits.boards import serial_line, supply
from tests.kits.drawing import between, one_in, pick, some, thinned
from tests.kits.equipment import tables
from tests.kits.kit import Facts, Kit
from tests.kits.network import (
    BOTH,
    NETWORK_KEY,
    WPA2,
    WPA3,
    Radio,
    radio,
    strong_passphrase,
    transmission,
)
from tests.kits.traffic import Talk, talk

POOL_SPARES = 5
"""Leased addresses beyond all that are wanted, so that up to four faults use none up."""
FIRST_MORNING = datetime(2026, 3, 2, 9)
REPEATED = {
    "network_name": ("network", "name"),
    "passphrase": ("network", "passphrase"),
    "serial_rate": ("serial", "rate"),
    "data_bits": ("serial", "data_bits"),
    "parity": ("serial", "parity"),
    "stop_bits": ("serial", "stop_bits"),
    "flow_control": ("serial", "flow_control"),
    "destination": ("traffic", "destination"),
    "port": ("traffic", "port"),
    "listen_port": ("traffic", "port"),
    "transport": ("traffic", "transport"),
    "message_bytes": ("traffic", "message_bytes"),
}
"""What a module may say itself though the plan says it already."""


@dataclass(frozen=True)
class Crew:
    """The modules before they have settings: ids, profiles, hardware addresses, addressing."""

    ids: list[str]
    profiles: list[str]
    hardware: list[str | None]
    statics: list[int]

    @property
    def pooled(self) -> list[int]:
        """The positions of those that lease."""
        return [index for index in range(len(self.ids)) if index not in self.statics]


@st.composite
def clean_kits(draw: DrawFn) -> Kit:
    """Draw a kit of 2 to 40 modules that works."""
    crew = _crew(draw)
    names = list(dict.fromkeys(crew.profiles))
    kit = _kit_table(draw, names)
    air = radio(draw, names, kit.get("region"), is_strict=kit.get("policy") == "strict")
    serial, controller = serial_line(draw, names)
    strangers = air.table.get("other_stations", 0)
    pool = len(crew.pooled) + strangers + POOL_SPARES
    plan = address_plan(draw, between(draw, 0, 3), len(crew.statics), pool)
    said = talk(draw, plan, crew.ids, crew.statics, serial["rate"])
    sessions = _sessions(draw, crew.ids)
    document: dict[str, Any] = {
        "kit": kit,
        "network": air.table | _admission(draw, crew, said, air),
        "serial": serial,
        "controller": controller,
        "supply": supply(draw, names),
        "traffic": said.traffic,
        "session": [session for session, _ in sessions],
    }
    document["network"] |= _addresses(draw, crew, plan, said)
    document = _without_some(draw, document)
    facts = _facts(document, plan, said, [members for _, members in sessions], air)
    document["module"] = [
        _module(draw, index, crew, plan, document, facts) for index in range(len(crew.ids))
    ]
    return Kit(document, {NETWORK_KEY: strong_passphrase(between(draw, 0, 10**6))}, facts)


def _crew(draw: DrawFn) -> Crew:
    size = between(draw, 9, 40) if one_in(draw, 12) else between(draw, 2, 8)
    pattern = pick(draw, ("TG-{:02}", "M{}", "tide {:03}", "{}"))
    known = list(tables("modules"))
    main = pick(draw, known)
    is_mixed = one_in(draw, 3)
    statics = pick(draw, (range(size), range(0, size, 2), range(1, size, 3), ()))
    prefix = pick(draw, ("00:00:5e:00:53", "02:00:00:00:00"))
    lacking = some(draw, range(min(size, 8))) if one_in(draw, 4) else []
    return Crew(
        ids=[pattern.format(number) for number in range(1, size + 1)],
        profiles=[pick(draw, known) if is_mixed else main for _ in range(size)],
        hardware=[None if n in lacking else f"{prefix}:{n:02x}" for n in range(size)],
        statics=list(statics),
    )


def _kit_table(draw: DrawFn, names: list[str]) -> dict[str, Any]:
    table = {
        "format": 1,
        "name": f"Kit {between(draw, 0, 99)}",
        "profile": names[0],
        "policy": pick(draw, ("teaching-lab", "strict")),
        "region": pick(draw, ("DE", "US", "JP", "GB", "CN", "AU", "KR", "00")),
    }
    return thinned(draw, table, ["name", "policy", "region"])


def _admission(draw: DrawFn, crew: Crew, said: Talk, air: Radio) -> dict[str, Any]:
    """Draw the limits of an access point that takes everybody."""
    wireless = sum(host.get("link") == "wireless" for host in said.hosts)
    stations = len(crew.ids) + wireless + air.table.get("other_stations", 0)
    table: dict[str, Any] = {"station_limit": stations + between(draw, 0, 9)}
    if None not in crew.hardware and one_in(draw, 3):
        table["accept_list"] = [*crew.hardware, "00:00:5e:00:53:ff"]
    if said.may_isolate and one_in(draw, 3):
        table["client_isolation"] = True
    return table if one_in(draw, 2) else {k: v for k, v in table.items() if k != "station_limit"}


def _addresses(draw: DrawFn, crew: Crew, plan: AddressPlan, said: Talk) -> dict[str, Any]:
    ipv4: dict[str, Any] = {"subnet": str(plan.subnet)}
    if said.is_beyond or not one_in(draw, 6):
        ipv4["gateway"] = str(plan.gateway) if said.is_beyond or not one_in(draw, 8) else "none"
    if crew.pooled or one_in(draw, 2):
        ipv4["pool"] = {"first": str(plan.pool[0]), "last": str(plan.pool[-1])}
        ipv4 |= thinned(
            draw,
            {"address_server": True, "lease_time": f"{between(draw, 1, 48)} h"},
            ["address_server", "lease_time"],
        )
        ipv4["reservations"] = _reservations(draw, crew, plan)
    elif one_in(draw, 2):
        ipv4["address_server"] = False
    return {"ipv4": ipv4, "host": said.hosts}


def _reservations(draw: DrawFn, crew: Crew, plan: AddressPlan) -> dict[str, str]:
    """Tie some modules to addresses: leasing ones to leased ones, static ones to their own."""
    owners = [index for index in crew.pooled if crew.hardware[index]]
    tied = {owner: plan.pool[place] for place, owner in enumerate(owners[:3])}
    tied |= {index: plan.statics[place] for place, index in enumerate(crew.statics[:2])}
    chosen = some(draw, list(tied))
    return {str(crew.hardware[i]): str(tied[i]) for i in chosen if crew.hardware[i]}


def _sessions(draw: DrawFn, ids: list[str]) -> list[tuple[dict[str, Any], frozenset[int]]]:
    """Draw a timetable: one session after the other, or two groups in turn."""
    start, sessions = FIRST_MORNING, []
    for number in range(between(draw, 0, 3)):
        start += timedelta(minutes=between(draw, 0, 90))
        end = start + timedelta(minutes=30 * between(draw, 1, 8))
        words, members = _members(draw, ids)
        name = f"Session {number + 1}"
        sessions.append(({"name": name, "start": start, "end": end, "modules": words}, members))
        start = end
    return sessions


def _members(draw: DrawFn, ids: list[str]) -> tuple[list[str], frozenset[int]]:
    if one_in(draw, 2):
        return ["all"], frozenset(range(len(ids)))
    first = between(draw, 0, len(ids) - 1)
    last = between(draw, first, len(ids) - 1)
    words = ids[first : last + 1] if last - first < 2 else [f"{ids[first]}..{ids[last]}"]
    return words, frozenset(range(first, last + 1))


def _without_some(draw: DrawFn, document: dict[str, Any]) -> dict[str, Any]:
    """Leave out empty tables, and now and then one of those that nobody must have."""
    left_out = pick(draw, ("supply", "controller", "session")) if one_in(draw, 3) else None
    document["network"] = {k: v for k, v in document["network"].items() if v not in ([], {})}
    return {name: table for name, table in document.items() if table and name != left_out}


def _facts(
    document: dict[str, Any],
    plan: AddressPlan,
    said: Talk,
    sessions: list[frozenset[int]],
    air: Radio,
) -> Facts:
    ipv4 = document["network"]["ipv4"]
    gateway = ipv4.get("gateway", "none")
    return Facts(
        subnet=plan.subnet,
        gateway=None if gateway == "none" else IPv4Address(gateway),
        pool_spares=plan.pool[-POOL_SPARES:] if "pool" in ipv4 else (),
        spares=plan.spares,
        senders=said.senders,
        hearers=said.hearers,
        receiver=said.receiver,
        is_broadcast=said.is_broadcast,
        is_beyond=said.is_beyond,
        sessions=tuple(sessions) if "session" in document else (),
        limits_dbm=air.limits_dbm,
    )


def _module(
    draw: DrawFn,
    index: int,
    crew: Crew,
    plan: AddressPlan,
    document: dict[str, Any],
    facts: Facts,
) -> dict[str, Any]:
    name = crew.profiles[index]
    profile = tables("modules")[name]
    module: dict[str, Any] = {"id": crew.ids[index]}
    if crew.hardware[index]:
        module["hardware_address"] = crew.hardware[index]
    if name != document["kit"]["profile"]:
        module["profile"] = name
    module |= _addressing(draw, index, crew, plan, facts)
    for key in some(draw, list(REPEATED)):
        table, planned = REPEATED[key]
        if planned in document.get(table, {}):
            module[key] = document[table][planned]
    if one_in(draw, 4):
        module["security"] = _security(draw, document["network"]["security"], profile)
    if facts.limits_dbm or one_in(draw, 2):
        module |= transmission(draw, profile, facts.limits_dbm)
    return module | _talking(draw, index, document, facts) | _notes(draw)


def _addressing(
    draw: DrawFn, index: int, crew: Crew, plan: AddressPlan, facts: Facts
) -> dict[str, Any]:
    if index not in crew.statics:
        return {"addressing": "pooled"}
    address = plan.statics[crew.statics.index(index)]
    settings: dict[str, Any] = {"addressing": "static", "address": str(address)}
    spoken = between(draw, 0, 3)
    if spoken == 1:
        settings["prefix_length"] = plan.subnet.prefixlen
    if spoken == 2:
        settings["netmask"] = str(plan.subnet.netmask)
    if spoken and facts.gateway and one_in(draw, 2):
        settings["gateway"] = str(facts.gateway)
    return settings


def _security(draw: DrawFn, planned: str, profile: dict[str, Any]) -> str:
    """Draw a mode in which a module of a profile joins the planned network."""
    if planned != BOTH:
        return planned
    return pick(draw, [mode for mode in (WPA2, WPA3, BOTH) if mode in profile["security"]])


def _talking(draw: DrawFn, index: int, document: dict[str, Any], facts: Facts) -> dict[str, Any]:
    settings: dict[str, Any] = {}
    sends = index in facts.senders
    if one_in(draw, 2):
        settings["talks"] = sends
    if sends and document.get("controller", {}).get("transmitter") is False:
        settings["controller"] = {"transmitter": True}
    return settings


def _notes(draw: DrawFn) -> dict[str, Any]:
    notes = {"saved": True, "holder": "A. Pupil", "note": "=label; checked"}
    return {key: notes[key] for key in some(draw, list(notes))}
