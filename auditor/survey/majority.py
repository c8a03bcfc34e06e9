"""What most modules say: the reference where no network is planned."""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Network
from typing import Any

from auditor.compute.addresses import network_of
from auditor.compute.keys import is_key, key_of, passphrase_problem
from auditor.findings import Stage
from auditor.models.secrets import Secret
from auditor.survey.module import Module

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
    """A value, and the positions in the kit of the modules that say it."""

    value: Any
    members: frozenset[int]


@dataclass(frozen=True)
class Vote:
    """How the modules that give a setting divide, the largest camp first."""

    camps: tuple[Camp, ...]

    @property
    def is_tie(self) -> bool:
        """Whether no value is given by more modules than every other."""
        sizes = [len(camp.members) for camp in self.camps[:2]]
        return len(sizes) == 2 and sizes[0] == sizes[1]

    @property
    def winner(self) -> Any:
        """What most say; None in a tie, or where nobody says anything."""
        return None if self.is_tie or not self.camps else self.camps[0].value

    @cached_property
    def voters(self) -> frozenset[int]:
        """The positions in the kit of all modules that give the setting."""
        return frozenset().union(*(camp.members for camp in self.camps))

    def outvotes(self, module: Module) -> bool:
        """Say whether a module gives the setting, and another value than most."""
        if self.winner is None or module.index not in self.voters:
            return False
        return module.index not in self.camps[0].members


def vote(key: str, modules: Iterable[Module]) -> Vote:
    """Return how the modules divide over one setting."""
    modules = tuple(modules)
    tells_apart = _reader_of_keys(modules) if key == "passphrase" else _reader(key)
    members: dict[Hashable, list[Module]] = defaultdict(list)
    for module in modules:
        value = tells_apart(module)
        if value is not None:
            members[value].append(module)
    read = _reader(key)
    ordered = sorted(members.values(), key=len, reverse=True)
    return Vote(
        tuple(Camp(read(camp[0]), frozenset(each.index for each in camp)) for camp in ordered)
    )


def neighbourhood(module: Module) -> IPv4Network | None:
    """Return the subnet of a static module, by its own prefix length or the usual one."""
    if not module.is_static or module.address is None:
        return None
    length = USUAL_PREFIX_LENGTH if module.prefix_length is None else module.prefix_length
    return network_of(module.address, length)


def _reader(key: str) -> Reader:
    return neighbourhood if key == "subnet" else lambda module: getattr(module, key)


def _reader_of_keys(modules: Iterable[Module]) -> Reader:
    """Return what tells known passphrases apart; where one is a key, they are made keys too."""
    texts = [_text(module.passphrase) for module in modules]
    names = Counter(module.network_name for module in modules if module.network_name)
    if not names or not any(text and is_key(text) for text in texts):
        return lambda module: _text(module.passphrase)
    name = names.most_common(1)[0][0]
    return lambda module: _key(_text(module.passphrase), name)


def _text(secret: Secret | None) -> str | None:
    return secret.reveal() if secret and secret.is_known else None


def _key(text: str | None, name: str) -> Hashable:
    return text if text is None or passphrase_problem(text) else key_of(text, name)
