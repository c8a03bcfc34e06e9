"""A module with the settings it will really run with, and where each of them stands."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from ipaddress import IPv4Address, IPv4Network
from typing import Any, Literal

from auditor.compute.addresses import directed_broadcast, network_of
from auditor.models.fleet import Controller, Defaults, ModuleEntry, Supply
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Path, Place
from auditor.models.profile import ControllerProfile, ModuleProfile
from auditor.models.secrets import Secret
from auditor.models.words import (
    Addressing,
    FlowControl,
    Parity,
    Security,
    Transport,
)

PLAN: dict[str, Path] = {
    "profile": ("kit", "profile"),
    "network_name": ("network", "name"),
    "security": ("network", "security"),
    "passphrase": ("network", "passphrase"),
    "gateway": ("network", "ipv4", "gateway"),
    "prefix_length": ("network", "ipv4", "subnet"),
    "serial_rate": ("serial", "rate"),
    "data_bits": ("serial", "data_bits"),
    "parity": ("serial", "parity"),
    "stop_bits": ("serial", "stop_bits"),
    "flow_control": ("serial", "flow_control"),
    "destination": ("traffic", "destination"),
    "port": ("traffic", "port"),
    "listen_port": ("traffic", "port"),
    "transport": ("traffic", "transport"),
    "message_bytes": ("traffic", "message_bytes"),
}
"""Where the plan says what a module is set to when neither it nor [defaults] does."""


@dataclass(frozen=True)
class Module:
    """One module: its own settings, then the defaults, then the plan; None is not known."""

    index: int
    id: str
    hardware_address: str | None
    profile_name: str | None
    profile: ModuleProfile | None
    network_name: str | None
    security: Security | None
    passphrase: Secret | None
    serial_rate: int | None
    data_bits: int | None
    parity: Parity | None
    stop_bits: Fraction | None
    flow_control: FlowControl | None
    addressing: Addressing | None
    address: IPv4Address | None
    prefix_length: int | None
    gateway: IPv4Address | Literal["none"] | None
    talks: bool | None
    destination: IPv4Address | None
    port: int | None
    listen_port: int | None
    transport: Transport | None
    message_bytes: int | None
    transmit_power: Fraction | None
    antenna_gain: Fraction | None
    saved: bool | None
    controller: Controller
    controller_profile: ControllerProfile | None
    supply: Supply
    _file: FleetFile
    _entry: ModuleEntry

    @property
    def is_static(self) -> bool:
        """Whether it keeps an address of its own."""
        return self.addressing is Addressing.STATIC

    @property
    def is_pooled(self) -> bool:
        """Whether it leases its address."""
        return self.addressing is Addressing.POOLED

    @cached_property
    def network(self) -> IPv4Network | None:
        """The subnet that a static module believes to be in."""
        if not self.is_static or self.address is None or self.prefix_length is None:
            return None
        return network_of(self.address, self.prefix_length)

    @property
    def directed_broadcast(self) -> IPv4Address | None:
        """The broadcast address of its own subnet, as it sees it."""
        return directed_broadcast(self.network) if self.network else None

    def says(self, key: str) -> bool:
        """Say whether the module itself, not the defaults or the plan, gives a key."""
        return key in self._entry.model_fields_set

    def inherits(self, key: str) -> bool:
        """Say whether a key is taken from the plan, given by neither module nor defaults."""
        return not self.says(key) and key not in self._file.fleet.defaults.model_fields_set

    def place(self, key: str) -> Place:
        """Return where a setting stands: at the module, in the defaults or in the plan."""
        places = self._file.places
        keys = ("prefix_length", "netmask") if key == "prefix_length" else (key,)
        own = [("module", self.index, name) for name in keys]
        shared = [("defaults", name) for name in keys]
        for path in (*own, *shared, PLAN.get(key)):
            if path and places.has(*path):
                return places.of(*path)
        return self.line

    def part(self, table: Literal["controller", "supply"], *keys: str) -> Place:
        """Return where a key of the merged controller or supply table stands."""
        places = self._file.places
        for start in (("module", self.index), ("defaults",), ()):
            path = (*start, table, *keys)
            if places.has(*path):
                return places.of(*path)
        return places.of(table) if places.has(table) else self.line

    @property
    def line(self) -> Place:
        """The first line of the module."""
        place = self._file.places.of("module", self.index)
        return Place(place.file, place.line)


def modules_of(file: FleetFile) -> tuple[Module, ...]:
    """Return the modules of a fleet with what they inherit."""
    return tuple(_module(index, entry, file) for index, entry in enumerate(file.fleet.module))


def _module(index: int, entry: ModuleEntry, file: FleetFile) -> Module:
    values = {key: _effective(key, entry, file) for key in _INHERITED}
    controller = _merged(Controller, file.fleet.controller, entry, file, "controller")
    address = values["address"]
    return Module(
        index=index,
        id=entry.id,
        profile_name=values.pop("profile"),
        profile=file.module_profiles.get(_effective("profile", entry, file) or ""),
        addressing=values.pop("addressing") or (Addressing.STATIC if address else None),
        prefix_length=_prefix_length(entry, file),
        controller=controller,
        controller_profile=file.controller_profiles.get(controller.profile or ""),
        supply=_merged(Supply, file.fleet.supply, entry, file, "supply"),
        _file=file,
        _entry=entry,
        **values,
    )


_INHERITED = tuple(
    key
    for key in Defaults.model_fields
    if key not in ("controller", "supply", "prefix_length", "netmask", "holder", "note")
)


def _effective(key: str, entry: ModuleEntry, file: FleetFile) -> Any:
    for table in (entry, file.fleet.defaults):
        value = getattr(table, key)
        if value is not None:
            return value
    return _planned(PLAN[key], file) if key in PLAN else None


def _planned(path: Path, file: FleetFile) -> Any:
    value: Any = file.fleet
    for part in path:
        value = getattr(value, str(part), None)
    return value


def _prefix_length(entry: ModuleEntry, file: FleetFile) -> int | None:
    for table in (entry, file.fleet.defaults):
        for length in (table.prefix_length, table.netmask):
            if length is not None:
                return length
    network = file.fleet.network
    return network.ipv4.subnet.prefixlen if network and network.ipv4.subnet else None


def _merged(
    kind: type[Any],
    kit: Any,
    entry: ModuleEntry,
    file: FleetFile,
    name: Literal["controller", "supply"],
) -> Any:
    """Return the kit's table with what the defaults and then the module say otherwise."""
    own = [getattr(table, name) for table in (file.fleet.defaults, entry)]
    if not any(own):
        return kit
    merged = {key: getattr(kit, key) for key in kind.model_fields}
    for table in filter(None, own):
        merged.update({key: getattr(table, key) for key in table.model_fields_set})
    return kind.model_construct(**merged)


def ids(modules: Iterable[Module]) -> list[str]:
    """Return the ids of modules, in order."""
    return [module.id for module in modules]


def indexes(modules: Iterable[Module]) -> tuple[int, ...]:
    """Return the positions of modules in the kit, in order."""
    return tuple(module.index for module in modules)
