"""What all talkers of a kit send, added up once, by whom it is for."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address
from typing import TypeAlias

from auditor.compute.addresses import LIMITED_BROADCAST, is_multicast
from auditor.models.fleet import Traffic
from auditor.models.words import Intent
from auditor.survey.module import Module

Target: TypeAlias = IPv4Address | None
"""Whom a message is for: the limited broadcast stands for everybody, None for not known."""


@dataclass(frozen=True)
class Flow:
    """Messages from some talkers: how many talkers, and one message of each, in bytes.

    `unsized` counts the talkers whose messages have no known length.
    """

    talkers: int = 0
    sized_bytes: int = 0
    unsized: int = 0

    @classmethod
    def of(cls, message_bytes: int | None, talkers: int = 1) -> "Flow":
        """Return the flow of some talkers with messages of one length."""
        if message_bytes is None:
            return cls(talkers, 0, talkers)
        return cls(talkers, talkers * message_bytes, 0)

    @property
    def message_bytes(self) -> int | None:
        """One message of each talker together; None where the length of one is not known."""
        return None if self.unsized else self.sized_bytes

    def __add__(self, other: "Flow") -> "Flow":
        return Flow(
            self.talkers + other.talkers,
            self.sized_bytes + other.sized_bytes,
            self.unsized + other.unsized,
        )

    def __sub__(self, other: "Flow") -> "Flow":
        return self + Flow(-other.talkers, -other.sized_bytes, -other.unsized)


@dataclass(frozen=True)
class TrafficSum:
    """The flow to each target, that of the hosts, and how many talkers there are in all."""

    flows: Mapping[Target, Flow]
    host_target: Target
    talkers: int

    def flow_to(self, address: IPv4Address | None) -> Flow:
        """Return what all talkers send to an address and to everybody."""
        targets = {LIMITED_BROADCAST, address} - {None}
        return sum((self.flows.get(target, Flow()) for target in targets), Flow())

    @property
    def unaddressed(self) -> int:
        """The talkers of whom nobody can say to whom they send."""
        return self.flows.get(None, Flow()).talkers


def traffic_sum(
    senders: Iterable[tuple[Module, int]],
    hosts: int,
    traffic: Traffic,
    broadcast: IPv4Address | None,
) -> TrafficSum:
    """Return what modules that send, and a number of hosts, send in all.

    A sender is given with the number of modules that send as it does; `broadcast` is the
    directed broadcast of the subnet.
    """
    flows: dict[Target, Flow] = defaultdict(Flow)
    talkers = hosts
    for module, count in senders:
        flows[target_of(module.destination, traffic.intent, broadcast)] += Flow.of(
            module.message_bytes, count
        )
        talkers += count
    host_target = target_of(traffic.destination, traffic.intent, broadcast)
    flows[host_target] += Flow.of(traffic.message_bytes, hosts)
    return TrafficSum(dict(flows), host_target, talkers)


def target_of(
    destination: IPv4Address | None, intent: Intent | None, broadcast: IPv4Address | None
) -> Target:
    """Return whom a destination means; where none is given, a plan to broadcast says it."""
    if destination is None:
        return LIMITED_BROADCAST if intent is Intent.BROADCAST else None
    for_all = destination == broadcast or is_multicast(destination)
    return LIMITED_BROADCAST if for_all else destination
