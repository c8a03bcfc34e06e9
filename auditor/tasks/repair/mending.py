"""Which finding is mended how: a table from the checks to the settings that they speak of."""

from collections.abc import Iterator
from typing import Any

from auditor.findings import AuditResult, Finding
from auditor.models.secrets import Secret
from auditor.survey.kit import Survey
from auditor.survey.module import PLAN, Module, planned
from auditor.survey.spares import spare_addresses
from auditor.tasks.repair.trial import Change, Spot

PREFIX = ("prefix_length", "netmask")
"""Two ways to write one setting."""
SETTINGS: dict[str, tuple[str, ...]] = {
    "setting-not-saved": ("saved",),
    "network-name-invalid": ("network_name",),
    "network-name-differs": ("network_name",),
    "security-unsupported": ("security",),
    "security-mode-mismatch": ("security",),
    "weak-security": ("security",),
    "passphrase-missing": ("passphrase",),
    "passphrase-invalid": ("passphrase",),
    "passphrase-from-last-term": ("passphrase",),
    "passphrase-differs": ("passphrase", "security"),
    "prefix-mismatch": PREFIX,
    "gateway-off-subnet": ("gateway",),
    "gateway-not-a-host": ("gateway",),
    "gateway-missing": ("gateway",),
    "gateway-differs": ("gateway",),
    "intent-differs": ("destination",),
    "broadcast-address-mismatch": ("destination",),
    "broadcast-leaves-subnet": ("destination",),
    "port-mismatch": ("port", "listen_port"),
    "transport-mismatch": ("transport",),
    "serial-rate-differs": ("serial_rate",),
    "frame-differs": ("data_bits", "parity", "stop_bits"),
    "flow-control-differs": ("flow_control",),
    "message-length-differs": ("message_bytes",),
}
"""The settings of which the plan says the right value: a module's own that differs is taken out."""
ADDRESSES = frozenset(
    {
        "duplicate-static-address",
        "static-address-in-pool",
        "special-use-address",
        "static-address-off-subnet",
        "reserved-address",
        "static-without-address",
        "reservation-conflict",
    }
)
"""What another address mends: a free one, outside the pool."""
AGAINST_MOST = "odd-one-out"
"""Without a plan, the value that most modules have."""
REPAIRABLE = frozenset(SETTINGS) | ADDRESSES | {AGAINST_MOST}


def mended(result: AuditResult, survey: Survey) -> Iterator[tuple[Spot, Change]]:
    """Give what would mend each finding that counts, as far as the right value is known.

    Of a module, what the gravest findings ask for comes first.
    """
    for index, module in enumerate(result.modules):
        for finding in sorted(module.findings, key=lambda each: -each.severity.rank):
            if finding.counts:
                yield from _mended(finding, survey.modules[index], survey)


def keys_of(finding: Finding) -> tuple[str, ...]:
    """Return the settings of a module that may mend a finding on it."""
    if finding.check in ADDRESSES:
        return ("address",)
    if finding.check == AGAINST_MOST:
        key = str(finding.figures["key"])
        return ("address",) if key == "subnet" else PREFIX if key == "prefix_length" else (key,)
    return SETTINGS.get(finding.check, ())


def _mended(finding: Finding, module: Module, survey: Survey) -> Iterator[tuple[Spot, Change]]:
    for key in keys_of(finding):
        if key == "address":
            yield from _moved(finding, module, survey)
        elif module.says(key) and survey.places.have_room(module.index, key):
            yield from _set_right(key, finding, module, survey)


def _moved(finding: Finding, module: Module, survey: Survey) -> Iterator[tuple[Spot, Change]]:
    """Give a module another address; of those that share one, the first keeps it."""
    if not module.is_static or not survey.places.have_room(module.index, "address"):
        return
    if finding.check == "duplicate-static-address" and module.address is not None:
        first = survey.holders.of(int(module.address))[0]
        if first == module.index:
            return
    free = spare_addresses(survey).get(module.index)
    if free is not None:
        yield Spot(module.index, "address"), Change(free, finding.check)


def _set_right(
    key: str, finding: Finding, module: Module, survey: Survey
) -> Iterator[tuple[Spot, Change]]:
    """Take a module's own value out where it then inherits the right one, or else set that."""
    spot, inherited = Spot(module.index, key), inherited_value(key, survey)
    right = right_value(key, finding, survey)
    if isinstance(inherited, Secret) or (right is not None and inherited == right):
        if key == "passphrase" or effective(key, module) != right:
            yield spot, Change(None, finding.check)
    elif right is not None and not isinstance(right, Secret) and effective(key, module) != right:
        yield spot, Change(right, finding.check)


def effective(key: str, module: Module) -> Any:
    """Return what a module is set to."""
    return getattr(module, "prefix_length" if key in PREFIX else key)


def inherited_value(key: str, survey: Survey) -> Any:
    """Return what a module has that gives no value of its own: the default, or the planned one."""
    defaults, ipv4 = survey.fleet.defaults, survey.ipv4
    if key in PREFIX:
        given = next((getattr(defaults, each) for each in PREFIX if getattr(defaults, each)), None)
        return given or (ipv4.subnet.prefixlen if ipv4.subnet else None)
    value = getattr(defaults, key)
    return _planned(key, survey) if value is None else value


def right_value(key: str, finding: Finding, survey: Survey) -> Any:
    """Return what a module should be set to; None where nobody knows."""
    if key == "saved":
        return True
    if finding.check == "port-mismatch":
        wanted = finding.figures.get("listens_on" if key == "port" else "port")
        known = {_planned(key, survey), *(host.port for host in survey.hosts)}
        return wanted if wanted in known else None  # else it is that of another module
    if key in PREFIX:
        return survey.subnet.prefixlen if survey.subnet else None
    value = _planned(key, survey)
    if value is None and survey.is_inferred and key in survey.votes:
        return survey.votes[key].winner
    return value


def _planned(key: str, survey: Survey) -> Any:
    return planned(PLAN[key], survey.file) if key in PLAN else None
