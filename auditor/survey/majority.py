"""What most modules say: the reference where no network is planned."""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from ipaddress import IPv4Network
from typing import Any

from auditor.compute.addresses import network_of
from auditor.compute.keys import is_key, key_of, passphrase_problem
from auditor.findings import Stage
from auditor.models.secrets import Secret
from auditor.survey.module import Module, Modules
from auditor.survey.roster import Kind

STAGE_OF = {
    "network_name": Stage.DISCOVERY,
    "security": Stage.ADMISSION,
    "passphrase": Stage.KEYS,
    "subnet": Stage.ADDRESS,
    "prefix_length": Stage.ADDRESS,
    "gateway": Stage.ADDRESS,
    "destination": Stage.DELIVERY,
    "port": Stage.DELIVERY,
    "listen_port": Stage.DELIVERY,
    "transport": Stage.DELIVERY,
    "serial_rate": Stage.SERIAL,
    "data_bits": Stage.SERIAL,
    "parity": Stage.SERIAL,
    "stop_bits": Stage.SERIAL,
    "flow_control": Stage.SERIAL,
    "message_bytes": Stage.MESSAGE,
}
"""The settings that the modules of a kit share, and where a difference stops one."""

USUAL_PREFIX_LENGTH = 24
"""Taken where a table gives addresses and no masks (common practice, no source)."""

Reader = Callable[[Module], Any]


@dataclass(frozen=True)
class Camp:
    """A value, what tells it from others, and how many modules say it."""

    value: Any
    told_by: Hashable = field(repr=False)
    size: int


@dataclass(frozen=True)
class Vote:
    """How the modules that give a setting divide, the largest camp first.

    `tell` gives what tells the value of a module from others; None where it gives none.
    """

    camps: tuple[Camp, ...]
    tell: Reader = field(repr=False)

    @property
    def is_tie(self) -> bool:
        """Whether no value is given by more modules than every other."""
        sizes = [camp.size for camp in self.camps[:2]]
        return len(sizes) == 2 and sizes[0] == sizes[1]

    @property
    def winner(self) -> Any:
        """What most say; None in a tie, or where nobody says anything."""
        return None if self.is_tie or not self.camps else self.camps[0].value

    def counts(self, module: Module) -> bool:
        """Say whether a module gives the setting."""
        return self.tell(module) is not None

    def outvotes(self, module: Module) -> bool:
        """Say whether a module gives the setting, and another value than most."""
        own = self.tell(module)
        return self.winner is not None and own is not None and own != self.camps[0].told_by


def vote(key: str, modules: Modules, kinds: Iterable[Kind]) -> Vote:
    """Return how the modules divide over one setting."""
    if key == "subnet":
        return _vote_on_subnet(modules)
    tell = _reader_of_keys(kinds) if key == "passphrase" else _reader(key)
    values: dict[Hashable, Any] = {}
    sizes: Counter[Hashable] = Counter()
    for kind in kinds:
        told_by = tell(kind.module)
        if told_by is not None:
            values.setdefault(told_by, getattr(kind.module, key))
            sizes[told_by] += kind.count
    return _vote(((values[each], each, size) for each, size in sizes.items()), tell)


def _vote_on_subnet(modules: Modules) -> Vote:
    sizes = Counter(modules.static_networks(USUAL_PREFIX_LENGTH))
    camps = ((network := IPv4Network(each), network, size) for each, size in sizes.items())
    return _vote(camps, neighbourhood)


def _vote(camps: Iterable[tuple[Any, Hashable, int]], tell: Reader) -> Vote:
    """Return the vote with its camps in order; of two of one size the first in the file."""
    ordered = sorted((Camp(*camp) for camp in camps), key=lambda camp: camp.size, reverse=True)
    return Vote(tuple(ordered), tell)


def neighbourhood(module: Module) -> IPv4Network | None:
    """Return the subnet of a static module, by its own prefix length or the usual one."""
    if not module.is_static or module.address is None:
        return None
    length = USUAL_PREFIX_LENGTH if module.prefix_length is None else module.prefix_length
    return network_of(module.address, length)


def _reader(key: str) -> Reader:
    return lambda module: getattr(module, key)


def _reader_of_keys(kinds: Iterable[Kind]) -> Reader:
    """Return what tells known passphrases apart; where one is a key, they are made keys too."""
    texts = [_text(kind.module.passphrase) for kind in kinds]
    names: Counter[str] = Counter()
    for kind in kinds:
        if kind.module.network_name:
            names[kind.module.network_name] += kind.count
    if not names or not any(text and is_key(text) for text in texts):
        return lambda module: _text(module.passphrase)
    name = names.most_common(1)[0][0]
    return lambda module: _key(_text(module.passphrase), name)


def _text(secret: Secret | None) -> str | None:
    return secret.reveal() if secret and secret.is_known else None


def _key(text: str | None, name: str) -> Hashable:
    return text if text is None or passphrase_problem(text) else key_of(text, name)
