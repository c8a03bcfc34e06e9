"""The causes that the file itself shows: what the audit finds on one module."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from auditor.findings import AuditResult, Finding, ModuleResult, Stage, concerning
from auditor.models.words import Severity
from auditor.tasks.diagnosis.causes import AS_BROADCAST, Cause, Seat, Traces
from auditor.tasks.diagnosis.circumstances import JOINED, UNPOWERED

_RESTARTING = "restarting"
_TO_ONE_WAY: Traces = {"datagram": ("arrives",), "bytes": ("whole",), "sent": ("none",)}
_GARBLED: Traces = {"bytes": ("garbled",), "sent": ("garbled",)}
_GARBLED_BY_MODULE: Traces = {**_GARBLED, "datagram": ("garbled",)}
_ONE_OF_TWO: Traces = {
    "ping": ("yes", "no"),
    "datagram": ("arrives", "lost"),
    "bytes": (AS_BROADCAST,),
    "sent": ("whole",),
}
_OFF_SUBNET: Traces = {"ping": ("no",), "bytes": (AS_BROADCAST,), "sent": ("none", "whole")}
_WITHIN_REACH: Traces = {"ping": ("yes",), "far-ping": ("no",), **_TO_ONE_WAY}
_OVERRUN: Traces = {"bytes": ("some-missing",), "sent": ("whole",)}
_LOST_BY_SOME: Traces = {"bytes": ("some-missing", "none"), "datagram": ("arrives",)}
_BOTH_WAYS: Traces = {
    "datagram": ("lost", "arrives"),
    "bytes": ("none", "whole"),
    "sent": ("none", "whole"),
}

TRACES: Mapping[str, Traces] = {
    "supply-voltage-out-of-range": {
        "indicator": (UNPOWERED, _RESTARTING, JOINED),
        "supply-voltage": ("low", "high"),
    },
    "regulator-dropout": {"supply-voltage": ("low",)},
    "burst-current-short": {"indicator": (_RESTARTING,), "supply-voltage": ("ok", "low")},
    "capacitor-reversed": {"supply-voltage": ("low",), "wiring": ("wrong",)},
    "regulator-heat": {"indicator": (_RESTARTING, UNPOWERED), "supply-voltage": ("ok", "low")},
    "logic-level-mismatch": {"wiring": ("wrong",), "bytes": ("garbled", "some-missing", "none")},
    "serial-pair-not-crossed": {"wiring": ("wrong",), "bytes": ("none",), "sent": ("none",)},
    "no-common-ground": {"wiring": ("wrong",), "bytes": ("garbled", "none")},
    "duplicate-static-address": _ONE_OF_TWO,
    "duplicate-hardware-address": {"associated": ("yes", "no"), **_ONE_OF_TWO},
    "static-address-in-pool": _ONE_OF_TWO,
    "static-address-off-subnet": _OFF_SUBNET,
    "special-use-address": _OFF_SUBNET,
    "reserved-address": _ONE_OF_TWO,
    "reservation-conflict": {**_ONE_OF_TWO, "lease": ("given", "none")},
    "prefix-mismatch": {**_OFF_SUBNET, "ping": ("no", "yes"), "datagram": ("lost", "arrives")},
    "gateway-off-subnet": _WITHIN_REACH,
    "gateway-not-a-host": _WITHIN_REACH,
    "gateway-missing": _WITHIN_REACH,
    "gateway-differs": _WITHIN_REACH,
    "gateway-in-pool": _WITHIN_REACH,
    "pool-off-subnet": {"lease": ("given", "none"), **_OFF_SUBNET},
    "pool-beyond-host-addresses": {"lease": ("given", "none"), **_OFF_SUBNET},
    "intent-differs": _TO_ONE_WAY,
    "destination-is-self": _TO_ONE_WAY,
    "destination-unreachable": _TO_ONE_WAY,
    "destination-unassigned": _TO_ONE_WAY,
    "destination-is-pooled": _TO_ONE_WAY,
    "broadcast-address-mismatch": _TO_ONE_WAY,
    "broadcast-leaves-subnet": _TO_ONE_WAY,
    "broadcast-needs-datagrams": _TO_ONE_WAY,
    "message-over-datagram": _TO_ONE_WAY,
    "isolation-blocks-peers": {"datagram": ("arrives",), "sent": ("whole", "none")},
    "airtime-high": _LOST_BY_SOME,
    "port-mismatch": _BOTH_WAYS,
    "transport-mismatch": _BOTH_WAYS,
    "serial-rate-differs": _GARBLED_BY_MODULE,
    "frame-differs": {**_GARBLED_BY_MODULE, "bytes": ("garbled", "some-missing")},
    "flow-control-differs": {"bytes": ("none", "some-missing"), "sent": ("none", "whole")},
    "divisor-not-loadable": _GARBLED,
    "rate-out-of-reach": _GARBLED,
    "controller-rate-error": {"bytes": ("garbled", "some-missing"), "sent": ("garbled",)},
    "serial-overrun": _OVERRUN,
    "reads-too-far-apart": _OVERRUN,
    "overrun-not-cleared": {"restart": ("cured",), **_LOST_BY_SOME, "sent": ("whole",)},
    "talker-line-too-slow": {"bytes": ("whole",), "sent": ("garbled", "none")},
    "receiver-off": {"bytes": ("none",), "sent": ("whole",)},
    "transmitter-off": {"bytes": ("whole",), "sent": ("none",)},
    "pin-not-digital": {"bytes": ("none", "whole"), "sent": ("none", "whole")},
    "pin-direction": {"bytes": ("none", "whole"), "sent": ("none", "whole")},
    "talker-missing": {"bytes": ("none",)},
    "setting-not-saved": {"restart": ("same", "worse"), "settings": ("many-differ",)},
    "setting-beyond-profile": {"settings": ("one-differs",), "bytes": ("garbled", "none", "whole")},
}
"""What the findings of a check show otherwise than the ladder says."""

SEEN_LATER: Mapping[str, Stage] = {
    "setting-not-saved": Stage.DISCOVERY,
    "group-hardware-address": Stage.ADMISSION,
    "duplicate-hardware-address": Stage.DELIVERY,
    "setting-beyond-profile": Stage.SERIAL,
}
"""Where a fault of the entry itself is first seen at the board."""

STOP_NOTHING = frozenset(
    {
        "duplicate-module-id",
        "unknown-profile",
        "radiated-power-over-limit",
        "module-in-two-sessions",
        "duplicate-host-name",
        "waiver-expired",
        "indicator-current",
        "weak-security",
        "weak-passphrase",
        "host-address-reserved",
        "pool-overlaps-host",
        "unplanned-talker",
    }
)
"""Checks that warn of something else than a board that does not work: no causes."""

_OF_THE_MODULE = frozenset(
    {"serial-rate-differs", "frame-differs", "flow-control-differs", "message-length-differs"}
)
"""Checks of the lower end of the line whose findings are nevertheless the module's own."""
_AT_THE_BENCH = frozenset({Stage.POWER, Stage.SERIAL, Stage.MESSAGE})


def findings_on(result: AuditResult, index: int) -> tuple[Finding, ...]:
    """Return every fault and risk that counts for a module: its own, then the kit's."""
    shared = concerning(result.kit_findings, len(result.modules))[index]
    own = result.modules[index].findings
    found = (*own, *(result.kit_findings[number] for number in shared))
    return tuple(f for f in found if f.counts and f.severity is not Severity.ADVICE)


def causes_found(result: AuditResult, index: int) -> Iterator[tuple[Cause, Severity]]:
    """Give the causes that the audit finds on a module, each check once, with its severity."""
    counts = _modules_by_check(result.modules)
    given: set[str] = set()
    for finding in findings_on(result, index):
        if finding.check not in STOP_NOTHING | given:
            given.add(finding.check)
            others = max(0, counts[finding.check] - 1)
            yield _cause(finding, others, len(result.modules) - 1), finding.severity


def _cause(finding: Finding, others: int, all_others: int) -> Cause:
    """Return a finding as a cause; so many others of all others have it too."""
    is_shared = others == all_others > 0
    some = {"others-work": ("yes", "no")} if others and not is_shared else {}
    return Cause(
        name=finding.check,
        stage=finding.stage,
        seat=Seat.SHARED if is_shared else _seat(finding),
        message=finding.message,
        remedy=finding.remedy,
        shows_at=SEEN_LATER.get(finding.check, finding.shows_at),
        traces={**some, **TRACES.get(finding.check, {})},
        found_at=str(finding.where[0]) if finding.where else "",
    )


def _seat(finding: Finding) -> Seat:
    if finding.check in _OF_THE_MODULE or finding.stage not in _AT_THE_BENCH:
        return Seat.MODULE
    return Seat.BENCH


def _modules_by_check(modules: Iterable[ModuleResult]) -> Counter[str]:
    """Return on how many modules each check finds something that counts."""
    counts: Counter[str] = Counter()
    for module in modules:
        counts.update({f.check for f in module.findings if f.counts})
    return counts
