"""Admission: the access point lets the module associate."""

from collections.abc import Collection, Iterator

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.airtime import CCK_RATES, DSSS_RATES, OFDM_RATES
from auditor.findings import Found, Stage
from auditor.models.words import Protection, Security, Severity, Standard
from auditor.survey.association import (
    WEAK_MODES,
    common_modes,
    network_protection,
    own_protection,
    protection_clash,
    refuses_mixed,
    settable_modes,
)
from auditor.survey.kit import Survey
from auditor.survey.module import Module

SECURITY_ELEMENTS = "IEEE 802.11, RSN and WPA elements: both ends must name a common suite"
FRAME_PROTECTION = "IEEE 802.11w; hostapd.conf(5), ieee80211w: 0 off, 1 optional, 2 required"
BASIC_RATES = "IEEE 802.11, basic rate set: a station supports every basic rate"
WEAKNESS = "Tews, Weinmann, Pyshkin 2007 (WEP); IEEE 802.11-2020 (WEP obsolete, TKIP deprecated)"
TRANSITION = "WPA3 Specification v3.0, section 2.3"
PRACTICE = "common practice, no source"

STRONGER = "Set it to wpa2-personal, or wpa3-personal where every module knows it."

STRONGEST_FIRST = (
    Security.WPA3,
    Security.WPA2,
    Security.WPA,
    Security.WEP_104,
    Security.WEP_40,
    Security.OPEN,
    Security.WPA3_ENTERPRISE,
    Security.WPA2_ENTERPRISE,
    Security.WPA_ENTERPRISE,
)
"""The plain modes; those that need a server of their own stand last."""
LEGACY_RATES = frozenset(DSSS_RATES + CCK_RATES)


@check(Stage.ADMISSION, Severity.FAULT, "the module's profile")
def security_unsupported(module: Module, survey: Survey) -> Iterator[Found]:
    """The module is to use a security mode that its kind cannot be set to.

    The setting is refused, or the module keeps its old mode; either way it does not join.

    Mend: Choose a mode that the module knows, at the access point too, or use another module.

    Example:
        [[module]]
        id = "TG-02"
        security = "wpa3-personal"
    """
    if module.profile is None or module.security is None or module.security.is_enterprise:
        return
    if not settable_modes(module):
        known = ", ".join(module.profile.security)
        yield Found(
            f"The module cannot be set to {module.security}: it knows {known}.",
            _way_to_meet(module, survey),
            (module.place("security"),),
            {"security": module.security.value, "known": list(module.profile.security)},
        )


def _way_to_meet(module: Module, survey: Survey) -> str:
    """Return what to set so that a module and the network have a mode in common."""
    offered = survey.security.parts if survey.security else frozenset()
    known = module.profile.security if module.profile else ()
    if not known:
        return f"Set security to {survey.security}."
    settable = frozenset().union(*(mode.parts for mode in known))
    if settable & offered:
        return f"Set security to {_strongest(settable & offered)}."
    if settable - WEAK_MODES.keys():
        mode = _strongest(settable - WEAK_MODES.keys())
        return f"Set security to {mode}, at the module and at the access point."
    return "Use another module: this one knows no mode that protects its messages."


def _strongest(modes: Collection[Security]) -> Security:
    return next(mode for mode in STRONGEST_FIRST if mode in modes)


@check(Stage.ADMISSION, Severity.FAULT, SECURITY_ELEMENTS, after=("security-unsupported",))
def security_mode_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """The module's security mode and the network's have nothing in common.

    A careful station sends nothing at all, one that just tries is refused. A module set to a
    secured mode does not join an open network of the same name either.

    Mend: Set the module to the network's mode.

    Example:
        [[module]]
        id = "TG-02"
        profile = "generic-dual-band-wpa3"
        security = "wpa3-personal"
    """
    modes = (module.security, survey.security)
    if survey.is_inferred or None in modes or any(mode and mode.is_enterprise for mode in modes):
        return
    refuses = refuses_mixed(module, survey)
    if not refuses and common_modes(module, survey):
        return
    reason = "which its kind does not join" if refuses else "and the two do not meet"
    yield Found(
        f"The module is set to {module.security}; the network is {survey.security}, {reason}.",
        _way_out_of_mixed(module) if refuses else _way_to_meet(module, survey),
        (module.place("security"), survey.place("network", "security")),
        {"module": str(module.security), "network": str(survey.security)},
    )


def _way_out_of_mixed(module: Module) -> str:
    """Name the plain mode for the network: WPA2, which every mixed one has, where it can be."""
    modes = settable_modes(module)
    mode = Security.WPA2 if Security.WPA2 in modes else _strongest(modes)
    return f"Open the network in {mode} alone, and set security to that."


@check(
    Stage.ADMISSION,
    Severity.FAULT,
    FRAME_PROTECTION,
    after=("security-unsupported", "security-mode-mismatch"),
)
def protected_management_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """One end insists on protected management frames, and the other does not have them.

    The access point refuses the association. Many access points report it as a wrong
    passphrase. WPA3 always insists.

    Mend: Set the network's protection to optional, or to required where it is WPA3 alone.

    Example:
        [network]
        protected_management = "required"
        [[module]]
        id = "TG-02"
        profile = "generic-24ghz-early"
    """
    clash = protection_clash(module, survey)
    if clash:
        yield Found(
            f"{clash[0].upper()}{clash[1:]}.",
            _way_to_protect(module, survey),
            (survey.place("network", "protected_management"), module.place("profile")),
            {"network": network_protection(survey), "module": own_protection(module)},
        )


def _way_to_protect(module: Module, survey: Survey) -> str:
    only_wpa3 = common_modes(module, survey) == {Security.WPA3}
    if only_wpa3 and own_protection(module) is Protection.OFF:
        return (
            "Set the module to wpa2-personal, and the network to wpa2-wpa3-personal with "
            'protected_management = "optional".'
        )
    needed = Protection.REQUIRED if survey.security is Security.WPA3 else Protection.OPTIONAL
    return f'Set protected_management = "{needed}", here and at the access point.'


@check(Stage.ADMISSION, Severity.FAULT, BASIC_RATES, after=("band-unsupported",))
def basic_rates_unsupported(module: Module, survey: Survey) -> Iterator[Found]:
    """The network's lowest basic rate is one that the module does not have.

    A station must support every basic rate: broadcasts and beacons come at the lowest. An
    802.11b module knows 1, 2, 5.5 and 11 Mb/s, and a network whose lowest is 12 refuses it.

    Mend: Lower the lowest basic rate to one that every module has.

    Example:
        [network]
        lowest_basic_rate = "14 Mb/s"
    """
    rate = survey.network.lowest_basic_rate
    if rate is None or module.profile is None or not module.profile.standards:
        return
    known = _rates(module.profile.standards)
    if float(rate) not in known:
        listed = ", ".join(f"{each:g}" for each in sorted(known))
        yield Found(
            f"The lowest basic rate is {float(rate):g} Mb/s; the module has {listed} Mb/s.",
            f'Set lowest_basic_rate to "{_lower_rate(float(rate), known, survey):g} Mb/s", '
            "here and at the access point.",
            (survey.place("network", "lowest_basic_rate"), module.place("profile")),
            {"lowest_basic_rate": float(rate), "known": sorted(f"{each:g}" for each in known)},
        )


def _rates(standards: tuple[Standard, ...]) -> frozenset[float]:
    """Return the rates in Mb/s, without those of 802.11n and later, that a radio supports."""
    rates: set[float] = set()
    if {Standard.B, Standard.G, Standard.N, Standard.AX}.intersection(standards):
        rates.update(LEGACY_RATES)
    if set(standards) - {Standard.B}:
        rates.update(OFDM_RATES)
    return frozenset(rates)


def _lower_rate(rate: float, known: frozenset[float], survey: Survey) -> float:
    """Return the next lower rate that every profile of the kit has, or else this module's."""
    of_all = [_rates(profile.standards) for profile in survey.profiles if profile.standards]
    shared = known.intersection(*of_all) or known
    return max((each for each in shared if each <= rate), default=min(shared))


@check(Stage.ADMISSION, Severity.RISK, WEAKNESS, scope=Scope.KIT)
def weak_security(survey: Survey) -> Iterator[Found]:
    """A security mode protects too little: open, WEP, or WPA with TKIP.

    Whoever is near reads the messages, and sends some of his own: on an open network at once,
    on a WEP network after minutes of listening.

    Mend: Use WPA2, or WPA3 where every module knows it.

    Example:
        [network]
        security = "open"
    """
    mode = None if survey.is_inferred else survey.security
    if mode in WEAK_MODES:
        yield Found(
            f"The network is {mode}: {WEAK_MODES[mode]}.",
            STRONGER,
            (survey.place("network", "security"),),
            {"security": mode.value},
            concerns=survey.those(lambda module: module.inherits("security")),
        )


@part_of("weak-security", Scope.MODULE)
def _weak_security_of_module(module: Module, survey: Survey) -> Iterator[Found]:
    if module.security in WEAK_MODES and not module.inherits("security"):
        mode = None if survey.is_inferred or survey.security in WEAK_MODES else survey.security
        yield Found(
            f"The module is set to {module.security}: {WEAK_MODES[module.security]}.",
            f"Set it to {mode}, as the network is." if mode else STRONGER,
            (module.place("security"),),
            {"security": module.security.value},
        )


@check(Stage.ADMISSION, Severity.ADVICE, TRANSITION, scope=Scope.KIT)
def transition_mode(survey: Survey) -> Iterator[Found]:
    """The network takes WPA2 and WPA3 at once.

    Modules that only know WPA2 can join, and with them whoever guesses the passphrase offline
    from one recorded handshake: the network is as strong as WPA2.

    Mend: Nothing, while old modules need it; wpa3-personal once every module knows it.

    Example:
        [network]
        security = "wpa2-wpa3-personal"
    """
    if survey.security is Security.WPA2_WPA3 and not survey.is_inferred:
        ready = sum(kind.count for kind in survey.kinds if _knows_wpa3(kind.module))
        everyone = ready == len(survey.modules)
        yield Found(
            f"The network takes WPA2 beside WPA3; {ready} of {len(survey.modules)} modules "
            "know WPA3.",
            "Set it to wpa3-personal." if everyone else "Keep it while modules need WPA2.",
            (survey.place("network", "security"),),
            {"know_wpa3": ready, "modules": len(survey.modules)},
            concerns=survey.everyone,
        )


def _knows_wpa3(module: Module) -> bool:
    return module.profile is not None and Security.WPA3 in module.profile.security


@check(Stage.ADMISSION, Severity.FAULT, "hostapd.conf(5), macaddr_acl and accept_mac_file")
def not_on_accept_list(module: Module, survey: Survey) -> Iterator[Found]:
    """The access point takes only listed hardware addresses, and the module's is not listed.

    It refuses the module, whatever the passphrase.

    Mend: Add the hardware address to the list, at the access point too.

    Example:
        [network]
        accept_list = ["00:00:5e:00:53:01", "00:00:5e:00:53:02", "00:00:5e:00:53:04"]
    """
    listed = survey.accepted
    if listed is not None and module.hardware_address and module.hardware_address not in listed:
        yield Found(
            f"{module.hardware_address} is not on the access point's accept list.",
            f'Add "{module.hardware_address}" to accept_list, here and at the access point.',
            (survey.place("network", "accept_list"), module.place("hardware_address")),
            {"hardware_address": module.hardware_address, "listed": len(listed)},
        )
