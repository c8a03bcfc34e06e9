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


def differ(module: Module, survey: Survey, own: Secret, planned: Secret) -> bool:
    """Say whether two known secrets give a module and the network different keys.

    A WEP key of another length is another key. Elsewhere both are taken for the network's name.
    """
    if module.security in WEP_BITS and survey.security in WEP_BITS:
        return module.security is not survey.security or not _same_wep(
            own, planned, WEP_BITS[survey.security]
        )
    return not same_key(own.reveal(), planned.reveal(), survey.network_name or "")


def _same_wep(own: Secret, planned: Secret, bits: WepBits) -> bool:
    keys = [wep_key(secret.reveal(), bits) for secret in (own, planned)]
    return keys[0] == keys[1] and None not in keys


def attack_time(secret: Secret, survey: Survey) -> timedelta:
    """Return how long an offline attack on a passphrase takes, at most ten thousand years."""
    kit = survey.fleet.kit
    words = tuple(word for word in (survey.network_name, kit.name, kit.term) if word)
    seconds = _attack_time_s(secret.reveal(), words)
    return timedelta(seconds=min(seconds, timedelta(days=3_650_000).total_seconds()))


@cache
def _attack_time_s(text: str, words: tuple[str, ...]) -> float:
    return attack_time_s(guesses(text, words))
