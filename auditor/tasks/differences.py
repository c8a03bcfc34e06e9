"""What two kits are set to, module by module, as far as both sides say it."""

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date
from ipaddress import IPv4Address
from typing import Any, NamedTuple

from auditor.models.fleet_file import FleetFile
from auditor.models.secrets import Secret
from auditor.models.words import Addressing
from auditor.reading.table import KNOWN_KEYS
from auditor.survey.kit import Survey
from auditor.survey.module import Modules
from auditor.survey.passphrases import same_on_network
from auditor.tasks.substitution import setting

NOT_COMPARED = ("hardware_address", "holder", "note", "netmask")
"""Modules are matched by address; who has a board, and what was jotted down, is people's matter.

A netmask is read as its prefix length.
"""
KEYS = ("id", *(key for key in KNOWN_KEYS if key not in (*NOT_COMPARED, "id")))
"""What is compared, in the order of the file format."""
_SHARED = tuple(key for key in KEYS if key not in ("id", "address"))
_ORDER = {key: number for number, key in enumerate(KEYS)}


class Difference(NamedTuple):
    """A key with what is planned and what was found, neither of them unknown."""

    key: str
    planned: Any
    found: Any


class _Kinds(NamedTuple):
    """Two kinds of settings that meet, and whether the planned module has an address."""

    planned: int
    found: int
    has_address: bool


class Sides:
    """A planned kit and what was found of it.

    A planned module has what it inherits; a found one has what was read out, and what it
    inherits where it comes with a plan of its own. What either side does not know is no
    difference.
    """

    def __init__(self, planned: FleetFile, found: FleetFile) -> None:
        self.survey = Survey(planned, date.min)  # nothing here depends on the day
        self.planned = self.survey.modules
        self.found = Modules(found)
        self._kinds = planned.entries.kinds, found.entries.kinds
        self._ids = planned.entries.ids, found.entries.ids
        self._known: dict[_Kinds, tuple[Difference, ...]] = {}

    def differences(self, planned: int, found: int) -> tuple[Difference, ...]:
        """Return how the found module at a position differs from the planned one at another."""
        kinds = self._meeting(planned, found)
        shared = self._known.get(kinds)
        if shared is None:
            shared = self._known[kinds] = tuple(filter(self._differs, self._pairs(kinds)))
        own = tuple(self._own(planned, found, kinds))
        if not own:
            return shared
        return tuple(sorted((*own, *shared), key=lambda each: _ORDER[each.key]))

    def is_retired(self, secret: Secret) -> bool:
        """Say whether a known secret is one of the retired ones of the planned network."""
        retired = (old for old in self.survey.network.retired_passphrases if old.is_known)
        return any(same_on_network(secret, old, self.survey) for old in retired)

    def not_read(self, pairs: Mapping[int, int]) -> Mapping[str, int]:
        """Return from how many modules each planned setting of theirs was not read out.

        The controller board and the supply are not asked for: no module tells them.
        """
        counts: Counter[str] = Counter()
        for kinds, number in self._meetings(pairs).items():
            for key, planned, found in self._pairs(kinds):
                if planned is not None and found is None and "." not in key and key != "profile":
                    counts[key] += number
        for key, here, there in (
            ("hardware_address", self.planned.hardware_addresses, self.found.hardware_addresses),
            ("address", self.planned.static_addresses, self.found.addresses),
        ):
            counts[key] += sum(here[p] is not None and there[f] is None for p, f in pairs.items())
        return {key: counts[key] for key in ("hardware_address", *KEYS) if counts[key]}

    def unread_secrets(self, pairs: Mapping[int, int]) -> tuple[Secret, ...]:
        """Return the passphrases for want of which others could not be compared."""
        secrets = [self._passphrases(kinds) for kinds in self._meetings(pairs)]
        both = (each for pair in secrets if None not in pair for each in pair if each)
        return tuple(secret for secret in dict.fromkeys(both) if not secret.is_known)

    def _meeting(self, planned: int, found: int) -> _Kinds:
        has_address = self.planned.addresses[planned] is not None
        return _Kinds(self._kinds[0][planned], self._kinds[1][found], has_address)

    def _meetings(self, pairs: Mapping[int, int]) -> Counter[_Kinds]:
        return Counter(self._meeting(p, f) for p, f in pairs.items())

    def _shared(self, kinds: _Kinds) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
        """Return what both kinds are set to; who is given an address is static."""
        planned = self.planned.shared(kinds.planned)
        if planned["addressing"] is None and kinds.has_address:
            planned = {**planned, "addressing": Addressing.STATIC}
        return planned, self.found.shared(kinds.found)

    def _passphrases(self, kinds: _Kinds) -> tuple[Secret | None, Secret | None]:
        planned, found = self._shared(kinds)
        return planned["passphrase"], found["passphrase"]

    def _pairs(self, kinds: _Kinds) -> Iterator[Difference]:
        planned, found = self._shared(kinds)
        for key in _SHARED:
            yield Difference(key, setting(planned, key), setting(found, key))

    def _differs(self, pair: Difference) -> bool:
        if pair.planned is None or pair.found is None:
            return False
        if pair.key != "passphrase":
            return bool(pair.planned != pair.found)
        both_known = pair.planned.is_known and pair.found.is_known
        return both_known and not same_on_network(pair.planned, pair.found, self.survey)

    def _own(self, planned: int, found: int, kinds: _Kinds) -> Iterator[Difference]:
        """Give the differences in what each module has of its own; a lease is no setting."""
        ids = self._ids[0][planned], self._ids[1][found]
        if ids[0] != ids[1]:
            yield Difference("id", *ids)
        is_leased = any(each["addressing"] is Addressing.POOLED for each in self._shared(kinds))
        numbers = self.planned.addresses[planned], self.found.addresses[found]
        if not is_leased and None not in numbers and numbers[0] != numbers[1]:
            yield Difference("address", *(IPv4Address(number) for number in numbers))
