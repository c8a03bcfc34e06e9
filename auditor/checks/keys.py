"""Keys: both ends derive the same key."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from functools import partial

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.near_misses import Kind, near_miss
from auditor.compute.strength import GUESS_RATE_PER_S
from auditor.findings import Found, Stage
from auditor.models.places import Place
from auditor.models.quantities import shown_duration
from auditor.models.secrets import Secret
from auditor.models.words import Security, Severity
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.passphrases import (
    attack_time,
    modes_of,
    network_modes,
    problem_of,
    same_on_network,
)

PASSPHRASE_FORM = "IEEE 802.11i-2004, H.4.1: 8 to 63 printable ASCII characters, or 64 hex digits"
KEY_DERIVATION = "IEEE 802.11i-2004, H.4: the key follows from passphrase and network name"
GUESSES = "zxcvbn (guesses); hashcat 6.2.6, mode 22000, RTX 4090: 2 533 300 guesses a second"
CLEAR_TEXT = "CWE-312: cleartext storage of sensitive information"
PRACTICE = "common practice, no source"

SHORTEST_IN_INTERFACES = 8
WEP_FORMS = {
    Security.WEP_40: "5 characters or 10 hexadecimal digits",
    Security.WEP_104: "13 characters or 26 hexadecimal digits",
}
"""What a WEP key may be: hostapd.conf(5), wep_key0."""
OFFLINE = frozenset({Security.WPA, Security.WPA2})
"""The modes in which one recorded handshake can be attacked offline."""


TAKE_THE_NETWORKS = "Set the module to the network's passphrase, and remove this one here."


def _has_key(mode: Security | None) -> bool:
    """Say whether a mode rests on a passphrase or key; one that is not known may."""
    return mode is None or not (mode is Security.OPEN or mode.is_enterprise)


def _secrets(module: Module, survey: Survey) -> Iterator[tuple[str, Secret, Place]]:
    """Give the passphrases on which a module's key rests, by name: its own and the network's."""
    own, planned = module.passphrase, survey.network.passphrase
    if not _has_key(module.security):
        return
    if own is not None and own is not planned:
        yield "The passphrase", own, module.place("passphrase")
    if planned is not None and _has_key(survey.security):
        yield "The network's passphrase", planned, survey.place("network", "passphrase")


def _takers(planned: Secret, survey: Survey) -> tuple[int, ...]:
    """Return the positions of the modules whose key is that of the network's passphrase."""

    def takes(module: Module) -> bool:
        own = _known(module.passphrase) if _has_key(module.security) else None
        return own is not None and same_on_network(own, planned, survey)

    return survey.those(takes)


def _known(secret: Secret | None) -> Secret | None:
    """Return a secret whose text is known and not empty."""
    return secret if secret is not None and secret.is_known and secret.reveal() else None


@check(Stage.KEYS, Severity.FAULT, PASSPHRASE_FORM)
def passphrase_missing(module: Module, survey: Survey) -> Iterator[Found]:
    """The passphrase of the module or of its network is given as empty, and one is needed.

    Without it no key can be derived, and the access point logs a failed handshake.

    Mend: Remove the empty passphrase, so that the module takes the network's.

    Example:
        [[module]]
        id = "TG-02"
        passphrase = ""
    """
    for name, secret, place in _secrets(module, survey):
        if secret.is_known and not secret.reveal():
            takes = survey.network.passphrase not in (None, secret)
            yield Found(
                f"{name} is empty.",
                TAKE_THE_NETWORKS
                if takes
                else 'Write it, best as a reference: { env = "NAME" } or { file = "path" }.',
                (place,),
            )


@check(Stage.KEYS, Severity.FAULT, PASSPHRASE_FORM, after=("passphrase-missing",))
def passphrase_invalid(module: Module, survey: Survey) -> Iterator[Found]:
    """The passphrase has a form that the security mode does not take.

    WPA and WPA2 take 8 to 63 printable ASCII characters or a key of 64 hexadecimal digits; WPA3
    takes no such key; WEP takes 5 or 13 characters, or 10 or 26 hexadecimal digits. The module
    refuses the setting, or cuts it and derives another key.

    Mend: Choose a passphrase of 8 to 63 plain characters, at the access point too.

    Example:
        [[module]]
        id = "TG-02"
        passphrase = { env = "SHORT_PASSPHRASE" }
    """
    for name, secret, place in _secrets(module, survey):
        is_planned = secret is survey.network.passphrase
        sets = network_modes(module, survey) if is_planned else (modes_of(module, survey),)
        problem = _problem(secret, sets)
        if problem:
            takes = survey.network.passphrase is not None and not is_planned
            yield Found(
                f"{name} {problem}.",
                TAKE_THE_NETWORKS if takes else f"Choose {_legal_form(sets[0])}.",
                (place,),
            )


def _problem(secret: Secret, sets: tuple[frozenset[Security], ...]) -> str | None:
    """Return why a passphrase is not legal for one of several sets of modes, or None."""
    if not _known(secret):
        return None
    return next((problem for modes in sets if (problem := problem_of(secret, modes))), None)


def _legal_form(modes: frozenset[Security]) -> str:
    for mode, form in WEP_FORMS.items():
        if mode in modes:
            return f"a key of {form}, at the access point too"
    return "8 to 63 plain characters, at the access point too"


@check(Stage.KEYS, Severity.FAULT, PRACTICE, after=("passphrase-missing", "passphrase-invalid"))
def passphrase_from_last_term(module: Module, survey: Survey) -> Iterator[Found]:
    """The passphrase is one that was retired.

    The module was not set up again since the passphrase changed.

    Mend: Remove the module's own passphrase, so that it takes the network's.

    Example:
        [network]
        retired_passphrases = [{ env = "LAST_TERM_PASSPHRASE" }]
        [[module]]
        id = "TG-02"
        passphrase = { env = "LAST_TERM_PASSPHRASE" }
    """
    own, planned = _known(module.passphrase), _known(survey.network.passphrase)
    if own is None or not _has_key(module.security):
        return
    is_planned = planned is not None and same_on_network(own, planned, survey)
    if _is_retired(own, survey) and not is_planned:
        yield Found(
            "The passphrase is one of the retired ones.",
            TAKE_THE_NETWORKS,
            (module.place("passphrase"), survey.place("network", "retired_passphrases")),
        )


def _is_retired(secret: Secret, survey: Survey) -> bool:
    retired = filter(None, map(_known, survey.network.retired_passphrases))
    return any(same_on_network(secret, old, survey) for old in retired)


@part_of("passphrase-from-last-term", Scope.KIT)
def _network_keeps_retired(survey: Survey) -> Iterator[Found]:
    planned = _known(survey.network.passphrase)
    if planned and _has_key(survey.security) and _is_retired(planned, survey):
        yield Found(
            "The network still has a passphrase that is listed as retired.",
            "Change the passphrase at the access point, and here.",
            (
                survey.place("network", "passphrase"),
                survey.place("network", "retired_passphrases"),
            ),
            severity=Severity.RISK,
            concerns=_takers(planned, survey),
        )


@check(
    Stage.KEYS,
    Severity.FAULT,
    KEY_DERIVATION,
    after=("passphrase-missing", "passphrase-invalid", "passphrase-from-last-term"),
)
def passphrase_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module and the network derive different keys.

    With WPA, WPA2 and WPA3 the handshake fails. With WEP the module associates all the same,
    and then no lease comes and nothing it sends is understood.

    Mend: Remove the module's own passphrase, so that it takes the network's.

    Example:
        [[module]]
        id = "TG-02"
        passphrase = { env = "OTHER_PASSPHRASE" }
    """
    own, planned = _known(module.passphrase), _known(survey.network.passphrase)
    if own is None or planned is None or not _same_family(module, survey):
        return
    same_length = module.security is survey.security or not _both_wep(module, survey)
    if same_length and same_on_network(own, planned, survey):
        return
    yield Found(
        f"The module derives another key than the network{_how(own, planned)}."
        if same_length
        else f"The module's key is for {module.security}, the network's for {survey.security}.",
        TAKE_THE_NETWORKS
        if same_length
        else f"Set security to {survey.security}, with the network's key.",
        (
            module.place("passphrase" if same_length else "security"),
            survey.place("network", "passphrase" if same_length else "security"),
        ),
        shows_at=_where_a_wrong_key_shows(module, survey),
    )


def _both_wep(module: Module, survey: Survey) -> bool:
    modes = (module.security, survey.security)
    return all(mode is not None and mode.is_wep for mode in modes)


def _same_family(module: Module, survey: Survey) -> bool:
    """Say whether both ends use a key, of the same family or not known to be of another."""
    modes = (module.security, survey.security)
    families = {mode.is_wep for mode in modes if mode is not None}
    return all(map(_has_key, modes)) and len(families) < 2


def _where_a_wrong_key_shows(module: Module, survey: Survey) -> Stage:
    if not _both_wep(module, survey):
        return Stage.KEYS
    return Stage.DELIVERY if module.is_static else Stage.ADDRESS


def _how(own: Secret, planned: Secret) -> str:
    """Say what the difference is where it is only a slip, and quote nothing."""
    if own.is_key or planned.is_key:
        return ""
    miss = near_miss(own.reveal(), planned.reveal())
    slips = {
        Kind.BLANKS: ": only a blank at an end differs",
        Kind.CASE: ": only letter case differs",
    }
    return slips.get(miss.kind, "") if miss else ""


@check(Stage.KEYS, Severity.RISK, GUESSES, scope=Scope.KIT)
def weak_passphrase(survey: Survey) -> Iterator[Found]:
    """The passphrase would not hold against guessing.

    Whoever records one handshake can guess offline, at the published rate of one current card.
    The estimate knows dictionaries, dates and the words of this kit. WPA3 cannot be guessed
    offline; there a password of fewer than 8 characters is named, which most user interfaces
    refuse besides.

    Mend: Choose four words or more at random, or 16 random characters.

    Example:
        [network]
        passphrase = { env = "WEAK_PASSPHRASE" }
    """
    secret = _known(survey.network.passphrase)
    modes = survey.security.parts if survey.security else frozenset()
    weakness = _weakness(secret, modes, survey) if secret else None
    if secret and weakness:
        message, figures = weakness
        yield Found(
            f"The network's passphrase {message}",
            "Choose four words or more at random, at the access point too.",
            (survey.place("network", "passphrase"),),
            figures,
            concerns=_takers(secret, survey),
        )


@part_of("weak-passphrase", Scope.MODULE)
def _weak_passphrase_of_module(module: Module, survey: Survey) -> Iterator[Found]:
    """Speak of a module's own passphrase where none is planned to compare it with."""
    secret = _known(module.passphrase)
    if secret is None or survey.network.passphrase is not None:
        return
    weakness = _weakness(secret, modes_of(module, survey), survey)
    if weakness:
        message, figures = weakness
        yield Found(
            f"The passphrase {message}",
            "Choose four words or more at random, at the access point too.",
            (module.place("passphrase"),),
            figures,
        )


def _weakness(
    secret: Secret, modes: frozenset[Security], survey: Survey
) -> tuple[str, dict[str, str | float]] | None:
    """Return how a passphrase is too weak for the policy, with the figures, or None."""
    if secret.is_key or problem_of(secret, modes):
        return None
    if modes.intersection(OFFLINE):
        return _guessed_too_soon(attack_time(secret, survey), survey)
    if Security.WPA3 in modes and len(secret.reveal()) < SHORTEST_IN_INTERFACES:
        return "has fewer than 8 characters, which most user interfaces refuse.", {}
    return None


def _guessed_too_soon(time: timedelta, survey: Survey) -> tuple[str, dict[str, str | float]] | None:
    limit = survey.policy.thresholds.attack_time
    if time >= limit:
        return None
    message = (
        f"would be guessed in about {_about(time)} by one card at "
        f"{GUESS_RATE_PER_S / 1e6:.1f} million guesses a second; "
        f"the policy asks for {shown_duration(limit)}."
    )
    figures = {"seconds": round(time.total_seconds(), 3), "limit_seconds": limit.total_seconds()}
    return message, dict(figures)


def _about(time: timedelta) -> str:
    """Return a duration to one figure, in the unit in which a person thinks of it."""
    seconds = time.total_seconds()
    for unit, size in (("days", 86400), ("hours", 3600), ("minutes", 60)):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {unit}"
    return f"{seconds:.0f} seconds" if seconds >= 2 else "a second"


@check(Stage.KEYS, Severity.ADVICE, CLEAR_TEXT, scope=Scope.KIT)
def passphrase_in_clear(survey: Survey) -> Iterator[Found]:
    """A passphrase stands in the file itself.

    Whoever gets the file, by mail or from a repository, has the network.

    Mend: Write a reference, { env = "NAME" } or { file = "path" }, and keep the passphrase
    elsewhere.

    Example:
        [network]
        passphrase = "heron-tidal-ledger-quartz-41"
    """
    tables = {"network": survey.network.passphrase, "defaults": survey.fleet.defaults.passphrase}
    for table, secret in tables.items():
        if secret and secret.in_clear and secret.reveal():
            takers = survey.those(partial(_takes, secret))
            yield replace(_in_clear(survey.place(table, "passphrase")), concerns=takers)


def _takes(secret: Secret, module: Module) -> bool:
    return module.passphrase is secret


@part_of("passphrase-in-clear", Scope.MODULE)
def _module_passphrase_in_clear(module: Module, survey: Survey) -> Iterator[Found]:
    secret = module.passphrase
    if secret and module.says("passphrase") and secret.in_clear and secret.reveal():
        yield _in_clear(module.place("passphrase"))


def _in_clear(place: Place) -> Found:
    return Found(
        "The passphrase stands in the file in clear.",
        'Write a reference: { env = "NAME" } or { file = "path" }.',
        (place,),
    )
