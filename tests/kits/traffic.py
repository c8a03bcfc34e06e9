"""Who sends what to whom in a kit that works: seldom enough for every line and for the air."""

import math
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.addresses import AddressPlan, elsewhere
from tests.kits.drawing import between, one_in, pick, some, thinned

MESSAGE_AIRTIME_MS = 8
"""No message of up to 200 bytes takes more of the air, even at 1 Mb/s and relayed: two frames of
below 2.8 ms each, with the longest preamble, header and pause."""
FRAME_BITS = 13
"""No serial frame is longer: start, nine data, parity and two stop bits."""


@dataclass
class Talk:
    """The traffic table, the hosts, and who sends and hears; modules by their positions."""

    traffic: dict[str, Any] = field(default_factory=dict)
    hosts: list[dict[str, Any]] = field(default_factory=list)
    senders: frozenset[int] = frozenset()
    hearers: frozenset[int] = frozenset()
    receiver: int | None = None
    is_broadcast: bool = False
    is_beyond: bool = False
    may_isolate: bool = False


def hosts_of(draw: DrawFn, plan: AddressPlan) -> list[dict[str, Any]]:
    """Draw what stands at the addresses of the hosts."""
    names = ("logger", "printer", "display")
    links = [pick(draw, ("wired", "wired", "wireless")) for _ in plan.hosts]
    return [
        {"name": name, "address": str(address), **({"link": link} if link != "wired" else {})}
        for name, address, link in zip(names, plan.hosts, links, strict=False)
    ]


def talk(draw: DrawFn, plan: AddressPlan, ids: list[str], statics: list[int], rate_bd: int) -> Talk:
    """Draw the traffic of modules of some ids, some of which are static."""
    made = Talk(hosts=hosts_of(draw, plan))
    kinds = [_broadcast, _broadcast]
    kinds += [_to_host, _to_host] if made.hosts else []
    kinds += [_to_beyond] if one_in(draw, 3) else []
    kinds += [_to_module] if statics else []
    pick(draw, kinds)(draw, made, plan, ids, statics)
    _measure(draw, made, rate_bd)
    if one_in(draw, 12):
        return Talk(hosts=made.hosts)
    made.traffic = thinned(
        draw,
        made.traffic,
        ["intent", "message_bytes", "message_interval", "framing", "names_sender"],
    )
    return made


def _broadcast(
    draw: DrawFn, made: Talk, plan: AddressPlan, ids: list[str], statics: list[int]
) -> None:
    destination = pick(draw, ("255.255.255.255", str(plan.subnet.broadcast_address)))
    made.is_broadcast = True
    made.traffic |= {"intent": "broadcast", "destination": destination, "transport": "udp"}
    hosts = [host["name"] for host in some(draw, made.hosts)]
    everybody = frozenset(range(len(ids)))
    if one_in(draw, 8):
        made.senders = everybody
        made.traffic |= {"talkers": ["all", *hosts]} if one_in(draw, 2) else {}
    else:
        least = 0 if hosts else 1
        count = between(draw, least, min(3, len(ids)))
        first = between(draw, 0, len(ids) - count)
        made.senders = frozenset(range(first, first + count))
        made.traffic |= {"talkers": [*_names(ids, made.senders), *hosts]}
    named = made.traffic.get("talkers", ())
    is_heard_twice = len(made.senders) + len([host for host in hosts if host in named]) > 1
    made.hearers = everybody if is_heard_twice else everybody - made.senders
    wired = all("link" not in host for host in made.hosts if host["name"] in hosts)
    made.may_isolate = not made.senders and wired


def _names(ids: list[str], members: frozenset[int]) -> list[str]:
    """Write neighbours down as people do: as a range where there are three or more."""
    names = [ids[index] for index in sorted(members)]
    return [f"{names[0]}..{names[-1]}"] if len(names) > 2 else names


def _unicast(draw: DrawFn, made: Talk, ids: list[str], able: list[int], to: str) -> None:
    """Let some of the able modules send to one address."""
    transport = pick(draw, ("udp", "tcp"))
    made.traffic |= {"intent": "unicast", "destination": to, "transport": transport}
    count = between(draw, 1, min(3, len(able)))
    first = between(draw, 0, len(able) - count)
    made.senders = frozenset(able[first : first + count])
    made.traffic["talkers"] = [ids[index] for index in sorted(made.senders)]


def _to_host(
    draw: DrawFn, made: Talk, plan: AddressPlan, ids: list[str], statics: list[int]
) -> None:
    host = pick(draw, made.hosts)
    _unicast(draw, made, ids, list(range(len(ids))), host["address"])
    made.may_isolate = "link" not in host
    if one_in(draw, 2):
        host["transport"] = made.traffic["transport"]


def _to_beyond(
    draw: DrawFn, made: Talk, plan: AddressPlan, ids: list[str], statics: list[int]
) -> None:
    """Send to a host behind the gateway."""
    address = str(elsewhere(plan.subnet).network_address + 1 + between(draw, 0, 9))
    _unicast(draw, made, ids, list(range(len(ids))), address)
    made.is_beyond = made.may_isolate = True
    if one_in(draw, 2):
        made.hosts.append({"name": "archive", "address": address})


def _to_module(
    draw: DrawFn, made: Talk, plan: AddressPlan, ids: list[str], statics: list[int]
) -> None:
    place = between(draw, 0, len(statics) - 1)
    made.receiver = statics[place]
    able = [index for index in range(len(ids)) if index != made.receiver]
    _unicast(draw, made, ids, able, str(plan.statics[place]))
    made.hearers = frozenset({made.receiver})


def _measure(draw: DrawFn, made: Talk, rate_bd: int) -> None:
    """Let messages be so rare that they take below half of a line, and little of the air."""
    message_bytes = between(draw, 2, 200)
    talkers = len(made.senders) + len(made.hosts)
    line_s = Fraction(talkers * message_bytes * FRAME_BITS, rate_bd)
    air_s = Fraction(talkers * MESSAGE_AIRTIME_MS, 1000)
    least_ms = math.ceil(max(Fraction(1), line_s * Fraction(21, 10), air_s * 12) * 1000)
    port = between(draw, 1024, 65535)
    made.traffic |= {
        "port": port,
        "message_bytes": message_bytes,
        "message_interval": f"{least_ms + between(draw, 0, 5000)} ms",
        "framing": pick(draw, ("fixed", "length-prefixed", "delimited")),
        "names_sender": True,
    }
    for host in made.hosts:
        if one_in(draw, 2):
            is_receiver = host["address"] == made.traffic["destination"]
            host["port"] = port if is_receiver else 9100
