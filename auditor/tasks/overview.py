"""A kit seen as a whole: who has which address, the pool over time, what fills up, who differs."""

from collections import defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from ipaddress import IPv4Address, IPv4Network
from typing import Any

from auditor.compute.addresses import AddressRange, directed_broadcast, network_address
from auditor.compute.leases import Level
from auditor.findings import Stage, kit_title
from auditor.models.fleet_file import FleetFile
from auditor.models.quantities import shown
from auditor.models.secrets import Secret
from auditor.survey.kit import Survey
from auditor.survey.majority import STAGE_OF, Vote
from auditor.survey.timetable import lease_plan
from auditor.tasks.capacity import Capacity, capacity_of


class Role(StrEnum):
    """What an address is to who has it."""

    GATEWAY = "gateway"
    HOST = "host"
    MODULE = "module"
    RESERVATION = "reservation"


class Trouble(StrEnum):
    """What is wrong with an address that is held."""

    CLASH = "clash"
    SET_ASIDE = "set aside"
    IN_POOL = "in the pool"


@dataclass(frozen=True)
class Holder:
    """Who has an address for good: by name, or by the hardware address it is reserved for."""

    role: Role
    name: str


@dataclass(frozen=True)
class HeldAddress:
    """An address, who has it, and what is wrong with that."""

    address: IPv4Address
    holders: tuple[Holder, ...]
    trouble: Trouble | None


@dataclass(frozen=True)
class AddressPlan:
    """The subnet and the pool, with all that is held for good, in the order of the addresses.

    `pooled` counts the modules that lease their address; `is_inferred` says that the subnet is
    that of most modules, since none is planned.
    """

    subnet: IPv4Network | None
    is_inferred: bool
    pool: AddressRange | None
    pooled: int
    held: tuple[HeldAddress, ...]


@dataclass(frozen=True)
class Gathering:
    """A session, and how many of its modules want a lease."""

    name: str
    start: datetime
    end: datetime
    modules: int


@dataclass(frozen=True)
class PoolOverTime:
    """The leases that are wanted over the timetable, in the best and in the worst case.

    `size` is the room of the pool; a lease of None is not known.
    """

    size: int | None
    lease: timedelta | None
    best: tuple[Level, ...]
    worst: tuple[Level, ...]
    sessions: tuple[Gathering, ...]


@dataclass(frozen=True)
class Camp:
    """A value of a setting, and the modules that have it."""

    value: str
    modules: tuple[str, ...]


@dataclass(frozen=True)
class Difference:
    """A setting that most modules have alike, and those that have it otherwise.

    `agree` counts the modules that have the usual value.
    """

    setting: str
    stage: Stage
    usual: str
    agree: int
    others: tuple[Camp, ...]


@dataclass(frozen=True)
class Overview:
    """What a page shows of a kit beside its audit."""

    title: str
    capacity: Capacity
    addresses: AddressPlan | None
    pool: PoolOverTime | None
    differences: tuple[Difference, ...]


def overview(file: FleetFile) -> Overview:
    """Return a kit as a whole; addresses and pool are None where nothing is known of them."""
    survey = Survey(file, date.min)  # nothing here depends on the day
    kit = survey.fleet.kit
    return Overview(
        title=kit_title(kit.name, kit.term, file.file),
        capacity=capacity_of(survey),
        addresses=_addresses(survey),
        pool=_pool(survey),
        differences=tuple(_differences(survey)),
    )


def _addresses(survey: Survey) -> AddressPlan | None:
    held = tuple(_held(survey))
    if not held and survey.subnet is None and survey.leased_range is None:
        return None
    return AddressPlan(
        subnet=survey.subnet,
        is_inferred=survey.is_inferred,
        pool=survey.leased_range,
        pooled=len(survey.pooled),
        held=held,
    )


def _held(survey: Survey) -> Iterator[HeldAddress]:
    reserved = set(map(int, survey.reserved))
    for number in sorted(survey.fixed_addresses | reserved):
        address = IPv4Address(number)
        holders = tuple(_holders(address, survey))
        yield HeldAddress(address, holders, _trouble(address, survey))


def _holders(address: IPv4Address, survey: Survey) -> Iterator[Holder]:
    if address == survey.gateway_address:
        yield Holder(Role.GATEWAY, "gateway")
    for host in survey.hosts:
        if host.address == address:
            yield Holder(Role.HOST, host.name)
    for id in survey.ids(survey.holders.of(int(address))):
        yield Holder(Role.MODULE, id)
    for owner in survey.reserved.get(address, ()):
        yield Holder(Role.RESERVATION, _owner(owner, survey))


def _owner(hardware_address: str, survey: Survey) -> str:
    """Return the id of the module with a hardware address, or that address if none has it."""
    known = survey.ids(survey.by_hardware_address.of(hardware_address))
    return known[0] if known else hardware_address


def _trouble(address: IPv4Address, survey: Survey) -> Trouble | None:
    """Return the gravest thing that is wrong with who has an address."""
    if _is_contested(address, survey):
        return Trouble.CLASH
    subnet, pool = survey.subnet, survey.leased_range
    if subnet and address in (network_address(subnet), directed_broadcast(subnet)):
        return Trouble.SET_ASIDE
    is_leased = pool is not None and address in pool and address not in survey.reserved
    return Trouble.IN_POOL if is_leased else None


def _is_contested(address: IPv4Address, survey: Survey) -> bool:
    """Say whether a module has an address that somebody else has too, or that is kept for it."""
    modules = survey.holders_of(address)
    is_planned = address in survey.host_at or address == survey.gateway_address
    several = len(modules) + is_planned > 1
    return bool(modules) and (several or any(survey.rival_for(address, each) for each in modules))


def _pool(survey: Survey) -> PoolOverTime | None:
    """Return the pool over the timetable; None where there is none, or nobody leases."""
    plan = lease_plan(survey)
    if not any(level.wanted for level in plan.worst_levels):
        return None
    return PoolOverTime(
        size=plan.room,
        lease=plan.lease,
        best=plan.best_levels,
        worst=plan.worst_levels,
        sessions=tuple(
            Gathering(session.name, attendance.start, attendance.end, len(attendance.clients))
            for session, attendance in zip(survey.fleet.session, plan.attendances, strict=True)
        ),
    )


def _differences(survey: Survey) -> Iterator[Difference]:
    """Give the settings over which the modules differ, in the order of the ladder."""
    for key, vote in survey.votes.items():
        if vote.winner is not None and len(vote.camps) > 1:
            first = vote.camps[0]
            yield Difference(
                setting=key,
                stage=STAGE_OF[key],
                usual=_written(first.value, secret="the same one"),
                agree=first.size,
                others=tuple(_others(vote, survey)),
            )


def _others(vote: Vote, survey: Survey) -> Iterator[Camp]:
    """Give the camps but for the first, with their modules."""
    members: dict[Hashable, list[int]] = defaultdict(list)
    for group in survey.groups:
        members[vote.tell(group.module)] += group.indexes
    for camp in vote.camps[1:]:
        value = _written(camp.value, secret="another one")
        yield Camp(value, tuple(survey.ids(sorted(members[camp.told_by]))))


def _written(value: Any, *, secret: str) -> str:
    """Return a value as a file says it; of a secret, other words."""
    if isinstance(value, Secret):
        return secret
    return shown(value)
