"""Sight: what the checks of a stage look at, so that they are asked once where it is the same.

A wrong rate is nothing to the checks of the address: of modules that differ in it alone, what
was silent on one is silent on the other.
"""

from collections.abc import Hashable
from typing import Any, NamedTuple

from auditor.findings import Stage
from auditor.models.forms import Table
from auditor.survey.likeness import Group, Traits
from auditor.survey.module import Modules

_TRAFFIC = ("addressing", "prefix_length", "gateway", "destination", "talks")
_FRAME = ("serial_rate", "data_bits", "parity", "stop_bits", "flow_control")
_BOARD = ("controller", "controller_profile", "profile")


class Sight(NamedTuple):
    """Fields of a module that follow from its settings, and traits of what is its own."""

    settings: tuple[str, ...]
    traits: tuple[str, ...] = ()


SIGHTS: dict[Stage, Sight] = {
    Stage.RECORD: Sight(
        (
            *_BOARD,
            *_FRAME,
            "profile_name",
            "network_name",
            "saved",
            "transmit_power",
            "antenna_gain",
            "transport",
        ),
        ("id", "hardware_address"),
    ),
    Stage.POWER: Sight((*_BOARD, "supply")),
    Stage.DISCOVERY: Sight(("network_name", "profile")),
    Stage.ADMISSION: Sight(("security", "profile"), ("hardware_address",)),
    Stage.KEYS: Sight(("passphrase", "security", "profile")),
    Stage.ADDRESS: Sight(_TRAFFIC, ("hardware_address", "address", "part")),
    Stage.DELIVERY: Sight(
        (*_TRAFFIC, "port", "listen_port", "transport", "message_bytes"), Traits._fields
    ),
    Stage.SERIAL: Sight(
        (*_BOARD, *_FRAME, *_TRAFFIC, "message_bytes"), ("hardware_address", "address", "part")
    ),
    Stage.MESSAGE: Sight(("message_bytes", "talks"), ("part",)),
}
"""What a check may look at before it finds something; a check of any stage may look at all."""


class Sightings:
    """What the checks of each stage see of the modules of a kit, for comparison."""

    def __init__(self, modules: Modules) -> None:
        self._modules = modules
        self._of_settings: dict[tuple[int, Stage], Hashable] = {}

    def of(self, group: Group, stage: Stage | None) -> Hashable:
        """Return what is equal for groups of which the checks of a stage see the same."""
        if stage is None:
            return group.traits
        traits = tuple(getattr(group.traits, name) for name in SIGHTS[stage].traits)
        return stage, self._settings(group.traits.kind, stage), traits

    def _settings(self, kind: int, stage: Stage) -> Hashable:
        known = self._of_settings.get((kind, stage))
        if known is None:
            names = SIGHTS[stage].settings
            shared, own = self._modules.shared(kind), self._modules.own_keys(kind)
            known = tuple(_mark(shared[name]) for name in names), frozenset(own.intersection(names))
            self._of_settings[kind, stage] = known
        return known


def _mark(value: Any) -> Hashable:
    """Return what stands for a value; a table is like no other, and comparing two takes long."""
    return id(value) if isinstance(value, Table) else value
