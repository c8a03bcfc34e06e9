"""A module with the settings it will really run with, and where each of them stands."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from ipaddress import IPv4Address, IPv4Network
from typing import Any, Literal, TypeVar

from auditor.compute.addresses import ADDRESS_BITS, directed_broadcast, network_of
from auditor.models.entries import SHARED
from auditor.models.fleet import Controller, Defaults, Supply
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

Value = TypeVar("Value")

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
        return self._file.entries.says(self.index, key)

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


class Modules:
    """The modules of a fleet with what they inherit, each made when it is asked for."""

    def __init__(self, file: FleetFile) -> None:
        self._file = file
        self._entries = file.entries
        self._kinds = len(file.entries.settings)
        self._made: dict[int, Module] = {}
        self._shared: dict[int, dict[str, Any]] = {}

    def __len__(self) -> int:
        return len(self._entries)

    def __getitem__(self, index: int) -> Module:
        """Return the module at a position, the same one each time."""
        module = self._made.get(index)
        if module is None:
            module = self._made[index] = self._make(range(len(self))[index])
        return module

    def __iter__(self) -> Iterator[Module]:
        return (self[index] for index in range(len(self)))

    @cached_property
    def hardware_addresses(self) -> Sequence[str | None]:
        """The hardware address of each module."""
        return _filled(self._entries.hardware_addresses, self._file.fleet.defaults.hardware_address)

    @cached_property
    def addresses(self) -> Sequence[int | None]:
        """The address of each module as a number, whether it uses it or not."""
        address = self._file.fleet.defaults.address
        return _filled(self._entries.addresses, None if address is None else int(address))

    def prefix_lengths(self, usual_length: int) -> Sequence[int]:
        """Return the prefix length of each combination of settings; the usual one if none is."""
        lengths = [self.shared(kind)["prefix_length"] for kind in range(self._kinds)]
        return [usual_length if length is None else length for length in lengths]

    def static_networks(self, usual_length: int) -> Iterator[tuple[int, int]]:
        """Give the subnet that each static module believes to be in: its number and length.

        A module that does not say its prefix length is taken to have the usual one.
        """
        lengths = self.prefix_lengths(usual_length)
        for number, kind in zip(self.static_addresses, self._entries.kinds, strict=True):
            if number is not None:
                host_bits = ADDRESS_BITS - lengths[kind]
                yield number >> host_bits << host_bits, lengths[kind]

    @cached_property
    def static_addresses(self) -> Sequence[int | None]:
        """The address of each static module as a number; None where there is none."""
        kinds = map(self.shared, range(self._kinds))
        static = [shared["addressing"] in (None, Addressing.STATIC) for shared in kinds]
        return [
            number if static[kind] else None
            for number, kind in zip(self.addresses, self._entries.kinds, strict=True)
        ]

    @property
    def pooled(self) -> Iterator[int]:
        """The positions of the modules that lease their address."""
        kinds = map(self.shared, range(self._kinds))
        pooled = [shared["addressing"] is Addressing.POOLED for shared in kinds]
        return (index for index, kind in enumerate(self._entries.kinds) if pooled[kind])

    def shared(self, kind: int) -> Mapping[str, Any]:
        """Return what the modules of a combination of settings have in common."""
        known = self._shared.get(kind)
        if known is None:
            known = self._shared[kind] = _shared(self._entries.settings[kind], self._file)
        return known

    def own_keys(self, kind: int) -> set[str]:
        """Return the keys that the modules of a combination of settings give themselves."""
        return self._entries.settings[kind].model_fields_set

    def _make(self, index: int) -> Module:
        number = self.addresses[index]
        shared = self.shared(self._entries.kinds[index])
        return Module(
            index=index,
            id=self._entries.ids[index],
            hardware_address=self.hardware_addresses[index],
            address=None if number is None else IPv4Address(number),
            _file=self._file,
            **{**shared, "addressing": _addressing(shared["addressing"], number)},
        )


def _addressing(written: Addressing | None, number: int | None) -> Addressing | None:
    """Return how a module comes by its address: as written, and static where one is given."""
    return written or (None if number is None else Addressing.STATIC)


def _filled(column: Sequence[Value | None], default: Value | None) -> Sequence[Value | None]:
    if default is None:
        return column
    return [default if value is None else value for value in column]


def _shared(settings: Defaults, file: FleetFile) -> dict[str, Any]:
    """Return the fields of a module that follow from its settings alone."""
    values = {key: _effective(key, settings, file) for key in _INHERITED}
    controller = _merged(Controller, file.fleet.controller, settings, file, "controller")
    name = values.pop("profile")
    return {
        **values,
        "profile_name": name,
        "profile": file.module_profiles.get(name or ""),
        "prefix_length": _prefix_length(settings, file),
        "controller": controller,
        "controller_profile": file.controller_profiles.get(controller.profile or ""),
        "supply": _merged(Supply, file.fleet.supply, settings, file, "supply"),
    }


_INHERITED = tuple(
    key for key in SHARED if key not in ("controller", "supply", "prefix_length", "netmask")
)


def _effective(key: str, settings: Defaults, file: FleetFile) -> Any:
    for table in (settings, file.fleet.defaults):
        value = getattr(table, key)
        if value is not None:
            return value
    return planned(PLAN[key], file) if key in PLAN else None


def planned(path: Path, file: FleetFile) -> Any:
    """Return the value at a path of the fleet file; None where it, or a table above it, is not."""
    value: Any = file.fleet
    for part in path:
        value = getattr(value, str(part), None)
    return value


def _prefix_length(settings: Defaults, file: FleetFile) -> int | None:
    for table in (settings, file.fleet.defaults):
        for length in (table.prefix_length, table.netmask):
            if length is not None:
                return length
    network = file.fleet.network
    return network.ipv4.subnet.prefixlen if network and network.ipv4.subnet else None


def _merged(
    kind: type[Any],
    kit: Any,
    settings: Defaults,
    file: FleetFile,
    name: Literal["controller", "supply"],
) -> Any:
    """Return the kit's table with what the defaults and then the module say otherwise."""
    own = [getattr(table, name) for table in (file.fleet.defaults, settings)]
    if not any(own):
        return kit
    merged = {key: getattr(kit, key) for key in kind.model_fields}
    for table in filter(None, own):
        merged.update({key: getattr(table, key) for key in table.model_fields_set})
    return kind.model_construct(**merged)
