"""Likeness: the modules of a kit that no check can tell apart, so that one stands for all.

Modules of a kit share most of their settings, and what is a module's own (its id, its hardware
address, its address) matters only where it meets something else: another module's, the pool, a
host, a destination. What it meets is its trait; modules of one kind with the same traits fare
alike, and the checks are asked once for all of them.
"""

from collections.abc import Collection, Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address
from typing import Any, NamedTuple

from auditor.compute.addresses import (
    ADDRESS_BITS,
    LIMITED_BROADCAST,
    AddressRange,
    set_aside_blocks,
    special_use,
    usable_hosts,
)
from auditor.survey.addressing import Addressing
from auditor.survey.majority import USUAL_PREFIX_LENGTH
from auditor.survey.module import Module

_MARKED_DIGIT = 1
"""The digit of a hardware address that says whether it is a group's or a local one."""
NOTHING = (1, 0)
"""The ends of a range in which no number is."""


class Traits(NamedTuple):
    """What modules that fare alike have in common: their settings, and what their own meets."""

    kind: int
    id: Hashable
    hardware_address: Hashable
    address: Hashable
    part: Hashable


class Group(NamedTuple):
    """Modules that fare alike: the first of them, the positions of all, and their traits."""

    module: Module
    indexes: Sequence[int]
    traits: Traits


def groups(kit: Addressing, talkers: Collection[int] | None) -> tuple[Group, ...]:
    """Return the modules of a kit in groups that fare alike; `talkers` are who may talk, if named.

    The groups come in the order of their first modules.
    """
    alike: dict[Any, list[int]] = {}
    for index, key in enumerate(_Marks(kit, talkers).of_all()):
        members = alike.get(key)
        if members is None:
            alike[key] = [index]
        else:
            members.append(index)
    return tuple(
        Group(kit.modules[members[0]], members, Traits(*key)) for key, members in alike.items()
    )


@dataclass(frozen=True)
class _Marks:
    """What each module has, beside its settings, that a check may look at."""

    kit: Addressing
    talkers: Collection[int] | None

    def of_all(self) -> Iterator[Hashable]:
        """Give what tells modules apart, in the order of the file."""
        return zip(
            self.kit.entries.kinds,
            self._of_ids(),
            self._of_hardware_addresses(),
            self._of_addresses(),
            self._of_parts(),
            strict=True,
        )

    def _of_ids(self) -> Iterator[Hashable]:
        repeated = self.kit.by_id.repeated
        return (id in repeated for id in self.kit.entries.ids)

    def _of_parts(self) -> Iterator[Hashable]:
        """Give the part that each module has in the traffic."""
        talkers = self.talkers
        if talkers is None:
            return (True for _ in self.kit.everyone)
        return (index in talkers for index in self.kit.everyone)

    def _of_hardware_addresses(self) -> Iterator[Hashable]:
        """Give what marks each hardware address and whether it is accepted, or all of it."""
        notable = {*self.kit.by_hardware_address.repeated, *self.kit.ipv4.reservations}
        accepted = self.kit.accepted
        for address in self.kit.modules.hardware_addresses:
            if address is None or address in notable:
                yield address
            elif accepted is None:
                yield address[_MARKED_DIGIT]
            else:
                yield address[_MARKED_DIGIT], address in accepted

    def _of_addresses(self) -> Iterator[Hashable]:
        """Give where each address is and whether it is held twice, or all of it if it is notable.

        In the middle of the subnet and outside of it nothing matters but the network that the
        module believes to be in, and the pool.
        """
        first, last = self._middle
        low, high = _ends(self.kit.pool)
        notable, masks, twice = self._notable, self._masks, self.kit.holders.repeated
        written, static = self.kit.modules.addresses, self.kit.modules.static_addresses
        for number, at, kind in zip(static, written, self.kit.entries.kinds, strict=True):
            if number is None:
                yield at if at in notable else at is None
            elif number in notable:
                yield number
            elif first <= number <= last:
                yield number & masks[kind], low <= number <= high, number in twice
            else:
                yield self._at_the_edge(number, masks[kind])

    def _at_the_edge(self, number: int, mask: int) -> Hashable:
        """Return the trait of an address that is not in the middle of the subnet."""
        subnet, address = self.kit.subnet, IPv4Address(number)
        if subnet is None or address in subnet or self._sends_beyond:
            return number
        return number & mask, special_use(address), number in self.kit.holders.repeated, subnet

    @cached_property
    def _destinations(self) -> Collection[IPv4Address]:
        """Where somebody sends, or is planned to."""
        kit = self.kit
        sent = {kit.fleet.traffic.destination, *(kind.module.destination for kind in kit.kinds)}
        return {address for address in sent if address is not None}

    @cached_property
    def _sends_beyond(self) -> bool:
        """Whether a destination outside the subnet may be a broadcast around an odd address."""
        subnet = self.kit.subnet
        return subnet is None or any(
            address not in subnet and address != LIMITED_BROADCAST for address in self._destinations
        )

    @cached_property
    def _notable(self) -> Collection[int]:
        """The addresses that mean somebody: sent to, of a host or the gateway, reserved."""
        kit = self.kit
        meant = {*kit.host_at, *kit.reserved, *self._destinations}
        meant.update([kit.gateway_address] if kit.gateway_address else [])
        return {int(address) for address in meant}

    @property
    def _middle(self) -> tuple[int, int]:
        """The first and last address of the subnet's hosts, where none of them is set aside."""
        subnet = self.kit.subnet
        if subnet is None or any(subnet.overlaps(block) for block in set_aside_blocks()):
            return NOTHING
        return _ends(usable_hosts(subnet))

    @cached_property
    def _masks(self) -> Sequence[int]:
        """The mask of each kind, as a number."""
        lengths = self.kit.modules.prefix_lengths(USUAL_PREFIX_LENGTH)
        return [(1 << ADDRESS_BITS) - (1 << ADDRESS_BITS - length) for length in lengths]


def _ends(block: AddressRange | None) -> tuple[int, int]:
    return (int(block.first), int(block.last)) if block else NOTHING
