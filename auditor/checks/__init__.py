"""The checks, a file a stage: what each says is in its docstring, what it found in its findings."""

from auditor.checks import (
    address,
    admission,
    agreement,
    capacity,
    delivery,
    discovery,
    keys,
    message,
    power,
    record,
    serial,
)
from auditor.checks.registry import CHECKS

__all__ = [
    "CHECKS",
    "address",
    "admission",
    "agreement",
    "capacity",
    "delivery",
    "discovery",
    "keys",
    "message",
    "power",
    "record",
    "serial",
]
