"""Finished audits built by hand, where only what a test is about is visible."""

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from auditor.findings import (
    Acceptance,
    AuditResult,
    Finding,
    ModuleResult,
    NotChecked,
    Stage,
    Standing,
    State,
    Verdict,
)
from auditor.models.places import Place
from auditor.models.words import Severity

DAY = datetime(2026, 2, 1, tzinfo=UTC)
ACCEPTED = Acceptance("the old hut has no better receiver", date(2026, 6, 30))

WRONG_NAME = Finding(
    check="network-name-differs",
    stage=Stage.DISCOVERY,
    shows_at=Stage.DISCOVERY,
    severity=Severity.FAULT,
    message='The name ends in a blank: "saltmarsh-gauges " is not "saltmarsh-gauges".',
    remedy='Set network_name to "saltmarsh-gauges".',
    where=(Place("kit.csv", 5, "SSID"),),
    source="IEEE 802.11: names are compared octet by octet",
    figures={"given": "saltmarsh-gauges ", "planned": "saltmarsh-gauges"},
)
WRONG_MASK = Finding(
    check="prefix-mismatch",
    stage=Stage.ADDRESS,
    shows_at=Stage.DELIVERY,
    severity=Severity.FAULT,
    message="Its prefix length is 25, and the subnet's is 24; it cannot reach 10.20.0.200.",
    remedy="Set prefix_length to 24.",
    where=(Place("kit.toml", 40, "prefix_length"),),
    source="RFC 1122, 3.3.1",
    figures={"prefix_length": 25, "planned": 24},
)
IN_POOL = Finding(
    check="static-address-in-pool",
    stage=Stage.ADDRESS,
    shows_at=Stage.ADDRESS,
    severity=Severity.RISK,
    message="10.20.0.120 lies in the pool, 10.20.0.100 to 10.20.0.149.",
    remedy="Give it 10.20.0.41, or reserve 10.20.0.120 for it.",
    where=(Place("kit.csv", 10, "IP"),),
    source="RFC 2131, 3.1",
    figures={"address": "10.20.0.120"},
)
RUNS_OUT = Finding(
    check="pool-runs-out",
    stage=Stage.ADDRESS,
    shows_at=Stage.ADDRESS,
    severity=Severity.RISK,
    message=(
        "Group B runs out of addresses on Monday, 2026-03-02, at 13:02. "
        "In the worst case 3 of 15 modules get none."
    ),
    remedy="Shorten the lease to 1 h, or let the pool begin at 10.20.0.90.",
    where=(Place("kit.toml", 12, "pool"),),
    source="RFC 2131, 4.4.5",
    figures={"missing": 3, "at": "2026-03-02T13:02:00"},
    concerns=(0, 1, 2),
)
NOTE = Finding(
    check="waiver-unused",
    stage=Stage.RECORD,
    shows_at=Stage.RECORD,
    severity=Severity.ADVICE,
    message='The waiver of "weak-security" covers nothing that was found.',
    remedy="Remove it.",
    where=(Place("kit.toml", 90, "check"),),
    source="fleet file, format 1",
    figures={},
)


def module(
    id: str, *findings: Finding, verdict: Verdict | None = None, **more: Any
) -> ModuleResult:
    """Return a module with findings; its verdict follows from them where none is given."""
    faults = [f for f in findings if f.counts and f.severity is Severity.FAULT]
    risks = [f for f in findings if f.counts and f.severity is Severity.RISK]
    stages = dict.fromkeys(Stage, State.CLEAR)
    stages.update((f.stage, State.AT_RISK) for f in risks)
    stages.update((f.stage, State.BLOCKED) for f in faults)
    follows = Verdict.BLOCKED if faults else Verdict.AT_RISK if risks else Verdict.READY
    first = min((f.stage for f in faults), key=lambda stage: stage.step, default=None)
    given = {"expected_indicator": "steady" if faults else "blinking 1 Hz", "stages": stages} | more
    standing = Standing(
        verdict=verdict or follows, stops_at=first, shows_at=first, findings=findings, **given
    )
    return ModuleResult(id, standing)


def result(*modules: ModuleResult, kit: tuple[Finding, ...] = (), **more: Any) -> AuditResult:
    """Return the audit of a kit of tide gauges."""
    given: dict[str, Any] = {
        "name": "Tide gauges",
        "term": "spring term",
        "file": "kit.toml",
        "network_name": "saltmarsh-gauges",
        "network_inferred": False,
        "checked_at": DAY,
        "only": (),
        "not_checked": (),
    }
    return AuditResult(modules=modules, kit_findings=kit, **given | more)


def ids(first: int, last: int) -> list[str]:
    """Return the ids of gauges, both ends among them."""
    return [f"TG-{number:02}" for number in range(first, last + 1)]


def spring_term() -> AuditResult:
    """Return an audit with something of everything: thirty modules, a shortage, a waiver."""
    lines = iter(range(50, 90))
    masked = [
        module(id, replace(WRONG_MASK, where=(Place("kit.toml", next(lines), "prefix_length"),)))
        for id in ids(20, 26)
    ]
    return result(
        module("TG-01", verdict=Verdict.AT_RISK),
        module("TG-02", verdict=Verdict.AT_RISK),
        module("TG-03", replace(IN_POOL, waived=ACCEPTED), verdict=Verdict.AT_RISK),
        module("TG-04", WRONG_NAME),
        *map(module, ids(5, 8)),
        module("TG-09", IN_POOL),
        *map(module, ids(10, 19)),
        *masked,
        module("TG-27", WRONG_NAME, WRONG_MASK, IN_POOL, replace(IN_POOL, check="address-odd")),
        *map(module, ids(28, 30)),
        kit=(RUNS_OUT, NOTE),
        not_checked=(
            NotChecked(Stage.POWER, "no [supply] table"),
            NotChecked(Stage.SERIAL, "no serial settings", ("TG-05", "TG-06", "TG-07")),
        ),
    )
