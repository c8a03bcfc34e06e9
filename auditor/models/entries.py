"""The modules of a kit as they were read, in columns: what many share stands there once."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

from auditor.models.fleet import Defaults, ModuleEntry
from auditor.models.forms import Table

PER_MODULE = ("id", "hardware_address", "address", "holder", "note")
"""The keys of which each module has its own value; the others are what modules share."""

SHARED = tuple(key for key in Defaults.model_fields if key not in PER_MODULE)


class Combinations(Table):
    """The distinct combinations of settings in a table, as its modules share them."""

    module: tuple[Defaults, ...]


@dataclass(frozen=True, slots=True)
class Entries:
    """Five columns with a value (or None) a module, and which settings each of them has.

    `settings` holds every distinct combination once, without what is a module's own; `kinds`
    says at which of its positions each module's settings are. Addresses are numbers, 0 to
    2**32 - 1: a kit of a million has a million of them.
    """

    ids: Sequence[str]
    hardware_addresses: Sequence[str | None]
    addresses: Sequence[int | None]
    holders: Sequence[str | None]
    notes: Sequence[str | None]
    settings: Sequence[Defaults]
    kinds: Sequence[int]

    def __len__(self) -> int:
        return len(self.ids)

    def column(self, key: str) -> Sequence[str | int | None]:
        """Return the column of a key of which each module has its own value."""
        columns = (self.ids, self.hardware_addresses, self.addresses, self.holders, self.notes)
        return dict(zip(PER_MODULE, columns, strict=True))[key]

    def says(self, index: int, key: str) -> bool:
        """Say whether a module itself gives a key."""
        if key in PER_MODULE:
            return self.column(key)[index] is not None
        return key in self.settings[self.kinds[index]].model_fields_set

    def __add__(self, other: "Entries") -> "Entries":
        """Return these modules, and after them the others."""
        if not len(other):
            return self
        if not len(self):
            return other
        shift = len(self.settings)
        return Entries(
            ids=[*self.ids, *other.ids],
            hardware_addresses=[*self.hardware_addresses, *other.hardware_addresses],
            addresses=[*self.addresses, *other.addresses],
            holders=[*self.holders, *other.holders],
            notes=[*self.notes, *other.notes],
            settings=[*self.settings, *other.settings],
            kinds=[*self.kinds, *(kind + shift for kind in other.kinds)],
        )


def entries_of(modules: Iterable[ModuleEntry]) -> Entries:
    """Return modules that were written one by one, those of equal settings as one kind."""
    modules = tuple(modules)
    known: dict[Hashable, int] = {}
    settings: list[Defaults] = []
    kinds: list[int] = []
    for module in modules:
        kind = known.setdefault(_combination(module), len(settings))
        if kind == len(settings):
            settings.append(module)
        kinds.append(kind)
    return Entries(
        ids=[module.id for module in modules],
        hardware_addresses=[module.hardware_address for module in modules],
        addresses=[None if m.address is None else int(m.address) for m in modules],
        holders=[module.holder for module in modules],
        notes=[module.note for module in modules],
        settings=settings,
        kinds=kinds,
    )


def _combination(module: ModuleEntry) -> Hashable:
    """Return what two modules have in common that are set alike; a secret is like no other."""
    values = tuple(getattr(module, key) for key in SHARED)
    return values, frozenset(module.model_fields_set.difference(PER_MODULE))
