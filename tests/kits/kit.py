"""A made-up kit: its fleet document, its secrets, and what its maker knows of it."""

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import datetime
from ipaddress import IPv4Address, IPv4Network
from typing import Any

from auditor.audit import audit
from auditor.findings import AuditResult
from auditor.reading.fleet import fleet_of_text
from tests.kits.equipment import tables
from tests.kits.writing import fleet_text

TODAY = datetime(2026, 2, 1)


@dataclass(frozen=True)
class Facts:
    """What the maker of a kit knows; modules are known by their positions.

    `pool_spares` are leased addresses that nobody holds or reserves, `spares` such outside of
    the pool. `senders` send, `hearers` are sent something, `receiver` is the module to which
    unicast messages go; `is_beyond` says that they leave the subnet. `limits_dbm` may be radiated
    on the channels that the network may be on.
    """

    subnet: IPv4Network
    gateway: IPv4Address | None
    pool_spares: tuple[IPv4Address, ...]
    spares: tuple[IPv4Address, ...]
    senders: frozenset[int]
    hearers: frozenset[int]
    receiver: int | None
    is_broadcast: bool
    is_beyond: bool
    sessions: tuple[frozenset[int], ...]
    limits_dbm: tuple[float, ...]


@dataclass
class Kit:
    """A fleet document with its environment; `touched` modules have a planted fault already."""

    document: dict[str, Any]
    environment: dict[str, str]
    facts: Facts
    touched: set[int] = field(default_factory=set)

    def __repr__(self) -> str:
        return f"{self.text}\n# environment: {self.environment}\n# touched: {self.touched}"

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(repr(self))

    @property
    def text(self) -> str:
        """The fleet file."""
        return fleet_text(self.document)

    @property
    def modules(self) -> list[dict[str, Any]]:
        """The entries of the modules."""
        entries: list[dict[str, Any]] = self.document["module"]
        return entries

    @property
    def everybody(self) -> frozenset[int]:
        """The positions of all modules."""
        return frozenset(range(len(self.modules)))

    def copied(self) -> "Kit":
        """Return the same kit, to be changed."""
        return Kit(deepcopy(self.document), dict(self.environment), self.facts)

    def table(self, *path: str) -> dict[str, Any]:
        """Return a table of the plan, a new one where it is left out."""
        table = self.document
        for name in path:
            table = table.setdefault(name, {})
        return table

    def plan(self, *path: str) -> Any:
        """Return a value of the plan; None where it is left out."""
        value: Any = self.document
        for name in path:
            value = value.get(name) if isinstance(value, dict) else None
        return value

    def change_all(self, key: str, value: Any) -> None:
        """Set a key anew at each module that repeats the plan's value."""
        for module in self.modules:
            if key in module:
                module[key] = value

    def profile(self, index: int) -> dict[str, Any] | None:
        """Return the profile of a module, where one is named."""
        name = self.modules[index].get("profile", self.plan("kit", "profile"))
        return tables("modules").get(name)

    def with_addressing(self, word: str) -> frozenset[int]:
        """Return the modules that are "static" or "pooled"."""
        return frozenset(
            index for index, module in enumerate(self.modules) if module["addressing"] == word
        )

    def free_leases(self) -> list[IPv4Address]:
        """Return leased addresses that nobody holds, sends to or has reserved by now."""
        claimed = {entry.get(key) for entry in self.modules for key in ("address", "destination")}
        claimed |= {host["address"] for host in self.plan("network", "host") or ()}
        claimed |= set((self.plan("network", "ipv4", "reservations") or {}).values())
        claimed.add(self.plan("network", "ipv4", "gateway"))
        return [each for each in self.facts.pool_spares if str(each) not in claimed]

    def untouched(self) -> Iterator[int]:
        """Give the modules that have no planted fault yet."""
        return (index for index in range(len(self.modules)) if index not in self.touched)

    def audited(self) -> AuditResult:
        """Return what the auditor says of it."""
        return audit(fleet_of_text(self.text, "kit.toml", self.environment), TODAY)
