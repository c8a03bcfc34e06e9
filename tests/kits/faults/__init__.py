"""Faults to plant in clean kits, written from what the checks promise and not from their code."""

from tests.kits.faults import address, delivery, network, power, record, serial
from tests.kits.faults.planting import FAULTS, PLAN_FAULTS

__all__ = [
    "FAULTS",
    "PLAN_FAULTS",
    "address",
    "delivery",
    "network",
    "power",
    "record",
    "serial",
]
