"""Free addresses for the modules that need another one: each of them a different one."""

from collections.abc import Mapping
from functools import lru_cache
from ipaddress import IPv4Address

from auditor.compute.addresses import nearest_free, special_use
from auditor.survey.kit import Survey
from auditor.survey.module import Module

MOST_SPARES = 200
"""How many modules are given an address of their own; a kit beyond help is not planned here."""


@lru_cache(maxsize=1)
def spare_addresses(survey: Survey) -> Mapping[int, IPv4Address]:
    """Return a free address outside the pool for each static module whose own cannot stay.

    They go out in the order of the ids, so that the order of the file changes nothing.
    """
    if survey.subnet is None:
        return {}
    static = (module for module in survey.modules if module.is_static)
    unsettled = [module for module in static if not _stays(module, survey)]
    taken = set(survey.fixed_addresses | survey.reserved.keys())
    avoid = [survey.pool] if survey.pool else []
    spares: dict[int, IPv4Address] = {}
    for module in sorted(unsettled, key=lambda each: each.id)[:MOST_SPARES]:
        wanted = module.address or survey.subnet.network_address + 1
        free = nearest_free(wanted, survey.subnet, taken, avoid)
        if free is None:
            break
        spares[module.index] = free
        taken.add(free)
    return spares


def _stays(module: Module, survey: Survey) -> bool:
    """Say whether a static module can keep its address."""
    address, subnet = module.address, survey.subnet
    if address is None or subnet is None or address not in subnet or special_use(address):
        return False
    if len(survey.holders[address]) > 1 or address in survey.host_at:
        return False
    if address in (survey.gateway_address, survey.broadcast_address, subnet.network_address):
        return False
    owners = survey.reserved.get(address, ())
    if owners:
        return owners == (module.hardware_address,)
    return survey.pool is None or address not in survey.pool
