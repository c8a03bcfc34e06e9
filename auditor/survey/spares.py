"""Free addresses for the modules that need another one: each of them a different one."""

from collections.abc import Mapping
from functools import lru_cache
from heapq import nsmallest
from ipaddress import IPv4Address

from auditor.compute.addresses import FreeAddresses, network_address, same_host
from auditor.survey.audience import is_set_aside, own_address
from auditor.survey.kit import Survey
from auditor.survey.module import Module

MOST_SPARES = 200
"""How many modules are given an address of their own; a kit beyond help is not planned here."""


@lru_cache(maxsize=1)
def spare_addresses(survey: Survey) -> Mapping[int, IPv4Address]:
    """Return a free address outside the pool for each module whose own cannot stay.

    That is a static address, or the one reserved for a pooled module. They go out in the order
    of the ids, so that the order of the file changes nothing.
    """
    if survey.subnet is None:
        return {}
    unsettled = survey.those(lambda module: not _stays(module, survey))
    taken = survey.fixed_addresses.union(map(int, survey.reserved))
    free = FreeAddresses(survey.subnet, taken, [survey.pool] if survey.pool else [])
    spares: dict[int, IPv4Address] = {}
    ids = survey.entries.ids
    for index in nsmallest(MOST_SPARES, unsettled, key=lambda index: (ids[index], index)):
        own = own_address(survey.modules[index], survey) or survey.subnet.network_address
        address = free.take_nearest(same_host(own, survey.subnet))
        if address is None or is_set_aside(address):
            break
        spares[index] = address
    return spares


def _stays(module: Module, survey: Survey) -> bool:
    """Say whether a module can keep its address; one that leases any address has none to lose."""
    address = own_address(module, survey)
    if address is None:
        return not module.is_static
    if survey.owners_of(address) != (module,) or not _is_free_for_stations(address, survey):
        return False
    if address in survey.reserved:
        return survey.rival_for(address, module) is None
    return survey.pool is None or address not in survey.pool


def _is_free_for_stations(address: IPv4Address, survey: Survey) -> bool:
    """Say whether an address of the subnet means no host, no gateway and not the subnet itself."""
    subnet = survey.subnet
    if subnet is None or address not in subnet or is_set_aside(address):
        return False
    taken = (survey.gateway_address, survey.broadcast_address, network_address(subnet))
    return address not in taken and address not in survey.host_at
