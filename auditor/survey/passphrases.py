"""What two ends make of their passphrases: the same key or not, and how long it would last."""

from datetime import timedelta
from functools import cache

from auditor.compute.keys import (
    WepBits,
    is_key,
    passphrase_problem,
    same_key,
    wep_key,
    wep_problem,
)
from auditor.compute.strength import attack_time_s, guesses
from auditor.models.secrets import Secret
from auditor.models.words import Security
from auditor.survey.association import common_modes, settable_modes
from auditor.survey.kit import Survey
from auditor.survey.module import Module

WEP_BITS: dict[Security, WepBits] = {Security.WEP_40: 40, Security.WEP_104: 104}


def modes_of(module: Module, survey: Survey) -> frozenset[Security]:
    """Return the modes in which the module uses its passphrase: agreed on, or else its own.

    A WEP module takes keys of its own length, whatever length the network's have.
    """
    own = settable_modes(module)
    return own if any(mode.is_wep for mode in own) else common_modes(module, survey) or own


def problem_of(secret: Secret, modes: frozenset[Security]) -> str | None:
    """Return why a known secret is no legal passphrase or key in these modes, or None.

    The sentence describes the secret and quotes nothing of it.
    """
    text = secret.reveal()
    if secret.is_key and not is_key(text):
        return "is written as a key and is not 64 hexadecimal digits"
    for mode in sorted(modes):
        if mode in WEP_BITS:
            return wep_problem(text, WEP_BITS[mode])
    if modes.intersection({Security.WPA, Security.WPA2}):
        return passphrase_problem(text)
    if Security.WPA3 in modes:
        return passphrase_problem(text, simultaneous_equals=True)
    return None


def network_modes(module: Module, survey: Survey) -> tuple[frozenset[Security], ...]:
    """Return the sets of modes for each of which the network's passphrase has to be legal.

    They are all that the network offers, and those in which the module meets it.
    """
    offered = survey.security.parts if survey.security else settable_modes(module)
    return offered, common_modes(module, survey)


def same_on_network(one: Secret, other: Secret, survey: Survey) -> bool:
    """Say whether two known secrets are one key for the network's own mode and name.

    Without the name a passphrase and a key cannot be compared, and are taken for one.
    """
    texts = one.reveal(), other.reveal()
    if survey.security in WEP_BITS:
        keys = [wep_key(text, WEP_BITS[survey.security]) for text in texts]
        return texts[0] == texts[1] or (keys[0] == keys[1] and None not in keys)
    if survey.network_name is None and is_key(texts[0]) != is_key(texts[1]):
        return True
    return same_key(*texts, survey.network_name or "")


def attack_time(secret: Secret, survey: Survey) -> timedelta:
    """Return how long an offline attack on a passphrase takes, at most ten thousand years."""
    kit = survey.fleet.kit
    words = tuple(word for word in (survey.network_name, kit.name, kit.term) if word)
    seconds = _attack_time_s(secret.reveal(), words)
    return timedelta(seconds=min(seconds, timedelta(days=3_650_000).total_seconds()))


@cache
def _attack_time_s(text: str, words: tuple[str, ...]) -> float:
    return attack_time_s(guesses(text, words))
