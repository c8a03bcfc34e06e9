"""Which personal security modes meet, and what a module and the access point agree on."""

from auditor.models.words import Protection, Security
from auditor.survey.kit import Survey
from auditor.survey.module import Module

WEAK_MODES = {
    Security.OPEN: "nothing is encrypted",
    Security.WEP_40: "WEP is broken: its key is found in minutes",
    Security.WEP_104: "WEP is broken: its key is found in minutes",
    Security.WPA: "WPA rests on TKIP, which is withdrawn",
    Security.WPA_WPA2: "it keeps TKIP alive as the group cipher",
}
"""The modes that protect too little, and why."""


def settable_modes(module: Module) -> frozenset[Security]:
    """Return the plain modes that the module is set to and can do."""
    if module.security is None:
        return frozenset()
    known = module.profile.security if module.profile else ()
    if not known:
        return module.security.parts
    return module.security.parts & frozenset().union(*(mode.parts for mode in known))


def common_modes(module: Module, survey: Survey) -> frozenset[Security]:
    """Return the plain modes in which the module and the network can meet.

    WEP associates whatever the length and value of the key: both lengths count as one.
    """
    if survey.security is None:
        return frozenset()
    modes = settable_modes(module)
    if any(mode.is_wep for mode in modes) and survey.security.is_wep:
        return frozenset({survey.security})
    return modes & survey.security.parts


def refuses_mixed(module: Module, survey: Survey) -> bool:
    """Say whether the module's kind does not join a network of the planned mixed mode.

    A station that insists on CCMP for group frames refuses a WPA/WPA2 network, whose group
    cipher is TKIP; one that is set to TKIP itself does not mind.
    """
    mixed = survey.security
    if module.profile is None or module.profile.joins_mixed is None or mixed is None:
        return False
    is_mixed = len(mixed.parts) > 1
    only_tkip = common_modes(module, survey) == {Security.WPA}
    return is_mixed and not only_tkip and mixed not in module.profile.joins_mixed


def network_protection(survey: Survey) -> Protection | None:
    """Return the network's management-frame protection: planned, or what its mode implies."""
    planned = survey.network.protected_management
    if planned is not None or survey.security is None:
        return planned
    if survey.security is Security.WPA3:
        return Protection.REQUIRED
    return Protection.OPTIONAL if survey.security is Security.WPA2_WPA3 else None


def own_protection(module: Module) -> Protection | None:
    """Return the module's management-frame protection, where its profile says it."""
    return module.profile.protected_management if module.profile else None


def protection_clash(module: Module, survey: Survey) -> str | None:
    """Return why management-frame protection keeps the two apart, or None.

    Open and WEP networks have none to insist on, whatever is written.
    """
    common = common_modes(module, survey)
    if not common or survey.security in (Security.OPEN, Security.WEP_40, Security.WEP_104):
        return None
    network, own = network_protection(survey), own_protection(module)
    if common == {Security.WPA3}:
        if network is Protection.OFF:
            return "WPA3 needs protected management frames, and the network has them off"
        if own is Protection.OFF:
            return "WPA3 needs protected management frames, and the module has them off"
    elif network is Protection.REQUIRED and own is Protection.OFF:
        return "the network requires protected management frames, and the module has none"
    elif network is Protection.OFF and own is Protection.REQUIRED:
        return "the module insists on protected management frames, and the network has them off"
    return None
