"""The survey of a kit: everything that more than one check asks for, computed once."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address
from itertools import chain

from auditor.compute.addresses import LIMITED_BROADCAST
from auditor.models.words import Link
from auditor.survey.addressing import Addressing
from auditor.survey.likely import MOST_GUESSED, likely_meant
from auditor.survey.likeness import Group, groups
from auditor.survey.module import Module
from auditor.survey.selection import Selection, select
from auditor.survey.traffic import Flow, Target, TrafficSum, target_of, traffic_sum


@dataclass(frozen=True, eq=False)
class Survey(Addressing):
    """A fleet file and what follows from it for the kit as a whole.

    It stands on three floors: the roster of modules, the plan, and the addressing; what is here
    is who talks, who listens, and who is there when.
    """

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """The modules in groups that fare alike, in the order of their first modules."""
        return groups(self, None if self.talkers is None else self.talkers.indexes)

    def those(self, is_one: Callable[[Module], bool]) -> tuple[int, ...]:
        """Return the positions of the modules of which something holds.

        It is asked once for modules that fare alike, so it may not ask for what is a module's own.
        """
        alike = [group.indexes for group in self.groups if is_one(group.module)]
        return tuple(sorted(chain.from_iterable(alike)))

    @cached_property
    def _broadcast_views(self) -> Counter[IPv4Address | None]:
        """How many hosts and modules take each address as the broadcast of their subnet."""
        views: Counter[IPv4Address | None] = Counter()
        views[self.broadcast_address] += len(self.hosts)
        for group in self.groups:
            views[self._broadcast_view(group.module)] += len(group.indexes)
        return views

    def _broadcast_view(self, module: Module) -> IPv4Address | None:
        return module.directed_broadcast if module.is_static else self.broadcast_address

    def all_others_take(self, destination: IPv4Address, sender: Module) -> bool:
        """Say whether there are others, and all of them take an address as their broadcast."""
        others = len(self.hosts) + len(self.modules) - 1
        own = self._broadcast_view(sender) == destination
        return others > 0 and self._broadcast_views[destination] - own == others

    @cached_property
    def _listening(self) -> Counter[int]:
        """How many modules and hosts listen on each port."""
        ports = Counter(host.port for host in self.hosts if host.port is not None)
        for kind in self.kinds:
            if kind.module.listen_port is not None:
                ports[kind.module.listen_port] += kind.count
        return ports

    @cached_property
    def _ports(self) -> tuple[int, ...]:
        """The ports that somebody listens on, those of most listeners first, then the lowest."""
        return tuple(sorted(self._listening, key=lambda port: (-self._listening[port], port)))

    def others_on(self, port: int | None, module: Module) -> int:
        """Return how many modules and hosts, not counting one module, listen on a port."""
        if port is None:
            return 0
        return self._listening[port] - (module.listen_port == port)

    def usual_port_of_others(self, module: Module) -> int | None:
        """Return the port on which most others listen, of several the lowest."""
        own = module.listen_port
        first = next((port for port in self._ports if port != own), None)
        heard = [port for port in (first, own) if self.others_on(port, module) and port is not None]
        return min(heard, key=lambda port: (-self.others_on(port, module), port), default=None)

    @cached_property
    def stations(self) -> int:
        """The stations that associate when everybody is there at once."""
        wireless = sum(host.link is Link.WIRELESS for host in self.hosts)
        return len(self.modules) + self.network.other_stations + wireless

    @cached_property
    def sessions(self) -> tuple[tuple[int, Selection], ...]:
        """The sessions by their number, with the modules that attend."""
        return tuple(
            (number, select(session.modules, self.by_id))
            for number, session in enumerate(self.fleet.session)
        )

    @cached_property
    def talkers(self) -> Selection | None:
        """Who is meant to talk, by the traffic table; None means anyone may."""
        names = self.fleet.traffic.talkers
        if names is None:
            return None
        return select(names, self.by_id, also={host.name for host in self.hosts})

    @cached_property
    def likely_talkers(self) -> Mapping[str, str]:
        """What the first names among the talkers that mean nobody probably stand for."""
        hosts = [host.name for host in self.hosts]
        unknown = self.talkers.unknown[:MOST_GUESSED] if self.talkers else ()
        close = ((name, likely_meant(name, self.by_id, hosts)) for name in unknown)
        return {name: right for name, right in close if right is not None}

    @cached_property
    def traffic_sum(self) -> TrafficSum:
        """What all talkers send, by whom it is for."""
        senders = [
            (group.module, len(group.indexes)) for group in self.groups if self.sends(group.module)
        ]
        hosts = len(self.talkers.others) if self.talkers else 0
        return traffic_sum(senders, hosts, self.fleet.traffic, self.broadcast_address)

    def target_of(self, module: Module) -> Target:
        """Return whom the messages of a sending module are for; None also if it does not send."""
        if not self.sends(module):
            return None
        return target_of(module.destination, self.fleet.traffic.intent, self.broadcast_address)

    def flow_to(self, module: Module, address: IPv4Address | None) -> Flow:
        """Return what a module at an address gets; its own messages do not come back to it."""
        flow = self.traffic_sum.flow_to(address)
        own = self.target_of(module)
        is_for_itself = own is not None and own in (LIMITED_BROADCAST, address)
        return flow - Flow.of(module.message_bytes) if is_for_itself else flow

    def may_talk(self, module: Module) -> bool:
        """Say whether a module is meant to send: it is a talker, or anyone may."""
        return self.talkers is None or module.index in self.talkers.indexes

    def sends(self, module: Module) -> bool:
        """Say whether a module is taken to send: it may talk, and is not said to keep silent."""
        return self.may_talk(module) and module.talks is not False
