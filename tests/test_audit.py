"""The audit: how findings and missing facts become states, verdicts and what is not checked."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from auditor import audit as auditing
from auditor.audit import CheckBrokeError, audit
from auditor.checks import CHECKS
from auditor.checks.registry import Check, Part, Scope
from auditor.examples import fleet_of
from auditor.findings import (
    NETWORK_CLIMB,
    AuditResult,
    Found,
    ModuleResult,
    Stage,
    State,
    Verdict,
)
from auditor.models.fleet_file import FleetFile
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.survey.module import Module
from tests.checks.kits import audited, fired, module

TODAY = datetime(2026, 2, 1)
ENVIRONMENT = {"GAUGE_PASSPHRASE": "heron-tidal-ledger-quartz-41"}

KNOWN = {
    "network": {
        "name": '"saltmarsh-gauges"',
        "security": '"wpa2-personal"',
        "passphrase": '{ env = "GAUGE_PASSPHRASE" }',
    },
    "network.ipv4": {"subnet": '"10.20.0.0/24"', "gateway": '"10.20.0.1"'},
    "traffic": {"destination": '"255.255.255.255"', "port": "4010"},
}
"""Just what a static module needs on its way to the network."""

STATIC = '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\n'
POOLED = '[[module]]\nid = "TG-01"\naddressing = "pooled"\n'
PROFILED = 'profile = "generic-24ghz-wpa2"\n'
SEARCHING, JOINED = "steady", "blinking 1 Hz"
"""What the indicator of that profile shows."""


def climb(*missing: str, module: str = STATIC, **more: str) -> AuditResult:
    """Return the audit of one module, with some of the facts missing and others added."""
    lines = []
    for table, values in KNOWN.items():
        kept = [f"{key} = {value}" for key, value in values.items() if key not in missing]
        lines += [f"[{table}]", *kept, more.get(table.replace(".", "_"), "")]
    return audit(fleet_of_text("\n".join([*lines, module]), "kit.toml", ENVIRONMENT), TODAY)


def first(lines: str) -> ModuleResult:
    """Return how TG-01 stands in the clean kit with some lines laid over it."""
    return audited(lines).modules[0]


BLOCKED = module("TG-01", address="10.20.0.1")
AT_RISK = module("TG-01", saved=False)
ADVISED = module("TG-01", gateway="none")


class TestVerdicts:
    def test_ready(self) -> None:
        result = climb()
        assert result.modules[0].verdict is Verdict.READY
        assert result.findings == ()

    def test_an_advice_changes_no_verdict(self) -> None:
        result = first(ADVISED)
        assert [each.severity for each in result.findings] == [Severity.ADVICE]
        assert result.verdict is Verdict.READY
        assert set(result.stages.values()) == {State.CLEAR}

    def test_a_risk_makes_it_at_risk_and_stops_nothing(self) -> None:
        result = first(AT_RISK)
        assert (result.verdict, result.stops_at, result.shows_at) == (Verdict.AT_RISK, None, None)
        assert result.stages[Stage.RECORD] is State.AT_RISK

    def test_a_fault_blocks_its_stage_alone(self) -> None:
        result = first(BLOCKED)
        assert (result.verdict, result.stops_at) == (Verdict.BLOCKED, Stage.ADDRESS)
        assert [stage for stage in Stage if result.stages[stage] is State.BLOCKED] == [
            Stage.ADDRESS
        ]

    def test_blocked_comes_before_at_risk(self) -> None:
        both = module("TG-01", address="10.20.0.1", saved=False)
        assert first(both).verdict is Verdict.BLOCKED

    def test_blocked_and_at_risk_come_before_unknown(self) -> None:
        pooled = POOLED + "saved = false\n"
        assert climb(module=pooled).modules[0].verdict is Verdict.AT_RISK
        pooled = POOLED + 'network_name = "other"\n'
        assert climb(module=pooled).modules[0].verdict is Verdict.BLOCKED
        assert climb(module=POOLED).modules[0].verdict is Verdict.UNKNOWN

    def test_every_stage_is_checked_and_the_first_blocked_one_named(self) -> None:
        lines = module(
            "TG-01", network_name="saltmarsh", security="open", address="10.20.0.1", port=4011
        )
        result = first(lines)
        assert result.stops_at is Stage.DISCOVERY
        assert {each.stage for each in result.findings if each.severity is Severity.FAULT} >= {
            Stage.DISCOVERY, Stage.ADMISSION, Stage.ADDRESS, Stage.DELIVERY
        }  # fmt: skip

    def test_in_one_stage_the_gravest_counts(self) -> None:
        both = module("TG-01", address="10.20.0.255", prefix_length=28)
        assert first(both).stages[Stage.ADDRESS] is State.BLOCKED

    def test_the_indicator_follows_what_shows_first_and_the_stop_the_cause(self) -> None:
        """Decision 28."""
        directed = '[traffic]\ndestination = "10.20.0.255"\n'
        result, clean = first(directed + module("TG-01", address="10.21.0.9")), first("")
        assert (result.stops_at, result.shows_at) == (Stage.ADDRESS, Stage.DELIVERY)
        assert result.expected_indicator == clean.expected_indicator
        named = module("TG-01", address="10.21.0.9", network_name="saltmarsh")
        result = first(directed + named)
        assert (result.stops_at, result.shows_at) == (Stage.DISCOVERY, Stage.DISCOVERY)
        assert result.expected_indicator != clean.expected_indicator

    def test_shows_at_is_always_there(self) -> None:
        """Decision 28."""
        own = module("TG-01", address="10.20.0.1", saved=False)
        found = audited(own + module("TG-02", prefix_length=28)).findings
        assert {each.check: each.shows_at for each in found} == {
            "reserved-address": Stage.ADDRESS,
            "setting-not-saved": Stage.RECORD,
            "prefix-mismatch": Stage.DELIVERY,
        }


class TestModulesThatFareAlike:
    """Two pooled modules that differ in their ids alone, besides the four of the clean kit."""

    def alike(self, **settings: str) -> AuditResult:
        return audited(
            "".join(module(f"TG-{n}", addressing="pooled", **settings) for n in (11, 12))
        )

    def test_they_share_how_they_stand(self) -> None:
        *_, one, other = self.alike().modules
        assert (one.id, other.id) == ("TG-11", "TG-12")
        assert one.standing is other.standing
        assert one.verdict is Verdict.READY

    def test_each_has_its_own_findings_at_its_own_place(self) -> None:
        *_, one, other = self.alike(network_name="saltmarsh").modules
        assert [each.check for each in one.findings] == ["network-name-differs"]
        assert [each.check for each in other.findings] == ["network-name-differs"]
        (own, *_), (others_own, *_) = one.findings[0].where, other.findings[0].where
        assert own.column == others_own.column == "network_name"
        assert own.line != others_own.line
        assert one.verdict is other.verdict is Verdict.BLOCKED


class TestFindingsOfTheKit:
    def test_a_risk_that_concerns_some_puts_those_at_risk(self) -> None:
        """Decision 4: nobody can say which of them goes without."""
        result = audited('[network.ipv4]\npool = { first = "10.20.0.109", last = "10.20.0.110" }\n')
        assert [f.check for f in result.findings] == ["pool-runs-out"]
        stages = {each.id: each.stages[Stage.ADDRESS] for each in result.modules}
        assert stages["TG-03"] is State.AT_RISK
        assert stages["TG-01"] is State.CLEAR
        assert result.modules[2].verdict is Verdict.AT_RISK
        assert result.modules[0].verdict is Verdict.READY

    def test_what_concerns_nobody_changes_no_verdict(self) -> None:
        """Decision 4: hygiene of the file is a kit finding alone."""
        result = audited('[[network.host]]\nname = "logger"\naddress = "10.20.0.149"\n')
        assert [f.severity for f in result.kit_findings] == [Severity.FAULT]
        assert {each.verdict for each in result.modules} == {Verdict.READY}
        assert result.reaches(Severity.FAULT)

    def test_a_risk_that_all_share_is_said_once(self) -> None:
        """Decision 24."""
        result = audited('[network]\npassphrase = { env = "WEAK_PASSPHRASE" }\n')
        assert [f.check for f in result.kit_findings] == ["weak-passphrase"]
        assert {each.verdict for each in result.modules} == {Verdict.AT_RISK}
        assert {each.stages[Stage.KEYS] for each in result.modules} == {State.AT_RISK}


class TestMissingFacts:
    @pytest.mark.parametrize(
        ("missing", "stage", "reason"),
        [
            ("name", Stage.DISCOVERY, "[network] name"),
            ("security", Stage.ADMISSION, "[network] security"),
            ("passphrase", Stage.KEYS, "[network] passphrase is not given"),
            ("subnet", Stage.ADDRESS, "[network.ipv4] subnet"),
            ("destination", Stage.DELIVERY, "where messages go ([traffic] destination)"),
            ("port", Stage.DELIVERY, "the port ([traffic] port)"),
        ],
    )
    def test_each_leaves_its_stage_unknown_and_is_named(
        self, missing: str, stage: Stage, reason: str
    ) -> None:
        result = climb(missing)
        assert result.modules[0].verdict is Verdict.UNKNOWN
        assert result.modules[0].stages[stage] is State.UNKNOWN
        assert (stage, reason, ()) in [
            (entry.stage, entry.reason, entry.modules) for entry in result.not_checked
        ]

    @pytest.mark.parametrize(
        ("module", "more", "stage"),
        [
            ('[[module]]\nid = "TG-01"\n', {}, Stage.ADDRESS),
            (POOLED, {}, Stage.ADDRESS),
            (STATIC, {"network": 'accept_list = ["02:00:00:00:00:01"]'}, Stage.ADMISSION),
            (STATIC + "talks = false\n", {}, None),
            (STATIC, {"network": "station_limit = 1"}, None),
        ],
    )
    def test_what_a_module_does_not_say(
        self, module: str, more: dict[str, str], stage: Stage | None
    ) -> None:
        result = climb(module=module, **more).modules[0]
        unknown = [s for s in NETWORK_CLIMB if result.stages[s] is State.UNKNOWN]
        assert unknown == ([stage] if stage else [])
        assert result.verdict is (Verdict.UNKNOWN if stage else Verdict.READY)

    def test_a_listener_needs_no_destination_but_its_port(self) -> None:
        """Decision 7."""
        listener = STATIC + "talks = false\n"
        assert climb("destination", module=listener).modules[0].verdict is Verdict.READY
        result = climb("port", module=listener)
        assert result.modules[0].verdict is Verdict.UNKNOWN

    def test_stages_without_facts_are_listed_and_change_no_verdict(self) -> None:
        result = climb()
        stages = result.modules[0].stages
        unknown = [stage for stage in Stage if stages[stage] is State.UNKNOWN]
        assert unknown == [Stage.POWER, Stage.SERIAL, Stage.MESSAGE]
        assert [entry.stage for entry in result.not_checked] == [Stage.RECORD, *unknown]
        assert result.modules[0].verdict is Verdict.READY

    def test_a_module_without_a_profile_is_named_and_may_be_ready(self) -> None:
        """Decision 3: what a profile would tell is not checked, and said once."""
        result = climb()
        said = [entry for entry in result.not_checked if "profile" in entry.reason]
        assert [(entry.stage, entry.modules) for entry in said] == [(Stage.RECORD, ())]
        assert result.modules[0].stages[Stage.RECORD] is State.CLEAR
        profiled = STATIC + 'profile = "generic-24ghz-wpa2"\n'
        other = '[[module]]\nid = "TG-02"\naddress = "10.20.0.32"\n'
        result = climb(module=profiled + other)
        said = [entry for entry in result.not_checked if "profile" in entry.reason]
        assert [entry.modules for entry in said] == [("TG-02",)]

    def test_who_lacks_a_fact_is_named_unless_it_is_everybody(self) -> None:
        result = climb(module=STATIC + '[[module]]\nid = "TG-02"\n')
        said = {entry.reason: entry.modules for entry in result.not_checked}
        assert said["addressing (static or pooled)"] == ("TG-02",)
        assert said["no serial settings"] == ()

    @pytest.mark.parametrize(
        ("missing", "shown"),
        [
            ((), JOINED),
            (("name",), None),
            (("security",), None),
            (("passphrase",), None),
            (("subnet",), JOINED),
            (("port",), JOINED),
        ],
    )
    def test_what_its_indicator_shows_is_open_until_it_is_known_to_join(
        self, missing: tuple[str, ...], shown: str | None
    ) -> None:
        assert climb(*missing, module=STATIC + PROFILED).modules[0].expected_indicator == shown

    def test_what_stops_it_shows_whatever_else_is_missing(self) -> None:
        stopped = STATIC + PROFILED + 'network_name = "other"\n'
        assert climb("passphrase", module=stopped).modules[0].expected_indicator == SEARCHING

    def test_passphrases_left_out_on_purpose_keep_nobody_from_being_ready(
        self, tmp_path: Path
    ) -> None:
        text = '[kit]\nformat = 1\n[network]\nname = "saltmarsh-gauges"\n'
        text += 'security = "wpa2-personal"\npassphrase = "heron-tidal-ledger-quartz-41"\n'
        text += '[network.ipv4]\nsubnet = "10.20.0.0/24"\ngateway = "10.20.0.1"\n'
        text += '[traffic]\ndestination = "255.255.255.255"\nport = 4010\n'
        (tmp_path / "kit.toml").write_text(text + STATIC + PROFILED)
        file = read_fleet("kit.toml", environment={}, with_secrets=False, within=tmp_path)
        result = audit(file, TODAY).modules[0]
        assert result.stages[Stage.KEYS] is State.UNKNOWN
        assert (result.verdict, result.expected_indicator) == (Verdict.READY, JOINED)

    def test_enterprise_modes_are_outside_what_is_checked(self) -> None:
        result = climb("security", network='security = "wpa2-enterprise"')
        assert result.modules[0].verdict is Verdict.UNKNOWN
        stages = {e.stage for e in result.not_checked if "802.1X" in e.reason}
        assert stages == {Stage.ADMISSION, Stage.KEYS}


class TestPrerequisites:
    def test_what_follows_from_a_fault_is_not_said_too(self) -> None:
        lines = module("TG-02", address="10.21.0.32", prefix_length=16)
        assert fired(lines) == {"static-address-off-subnet": {"TG-02"}}

    def test_an_advice_silences_nothing(self) -> None:
        lines = module("TG-02", destination="10.20.0.10", listen_port=4011)
        assert fired(lines) == {"intent-differs": {"TG-02"}, "port-mismatch": {"TG-02"}}

    @pytest.mark.parametrize("setting", ["advice", "risk", "off"])
    def test_a_policy_changes_nothing_but_what_it_names(self, setting: str) -> None:
        file = fleet_of(module("TG-02", address="10.21.0.32", prefix_length=16))
        severities = {"static-address-off-subnet": setting}
        policy = file.policy.model_copy(update={"severities": severities})
        found = audit(replace(file, policy=policy), TODAY).findings
        assert [each.check for each in found] == (
            [] if setting == "off" else ["static-address-off-subnet"]
        )


class TestChoosing:
    def test_only_some_checks(self) -> None:
        file = fleet_of(module("TG-02", address="10.20.0.1", saved=False))
        found = audit(file, TODAY, ("reserved-address",)).findings
        assert [each.check for each in found] == ["reserved-address"]

    @pytest.mark.parametrize(
        ("setting", "verdict"),
        [("fault", Verdict.BLOCKED), ("risk", Verdict.AT_RISK), ("advice", Verdict.READY),
         ("off", Verdict.READY)],
    )  # fmt: skip
    def test_a_policy_decides_how_grave_a_check_is(self, setting: str, verdict: Verdict) -> None:
        file = fleet_of(module("TG-02", address="10.20.0.120"))
        severities = {"static-address-in-pool": setting}
        policy = file.policy.model_copy(update={"severities": severities})
        assert audit(replace(file, policy=policy), TODAY).modules[1].verdict is verdict

    def test_what_is_waived_changes_neither_stage_nor_verdict(self) -> None:
        """Decision 5."""
        waiver = '[[waiver]]\ncheck = "reserved-address"\nreason = "agreed with the technician"\n'
        result = first(BLOCKED + waiver)
        assert [each.counts for each in result.findings] == [False]
        assert (result.verdict, result.stops_at) == (Verdict.READY, None)


class TestBrokenCheck:
    SCOPES = (
        (Scope.MODULE, "module TG-01"),
        (Scope.KIT, "the kit"),
        (Scope.CLOSING, "the kit"),
    )

    @pytest.mark.parametrize(("scope", "whom"), SCOPES)
    def test_it_names_the_check_and_the_module_and_no_value(
        self, scope: Scope, whom: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def broken(*arguments: object) -> Iterator[object]:
            raise ValueError("heron-tidal-ledger-quartz-41")

        id = "reserved-address"
        part = Part(scope, broken)  # type: ignore[arg-type]
        monkeypatch.setitem(CHECKS, id, replace(CHECKS[id], parts=(part,)))
        with pytest.raises(CheckBrokeError) as fault:
            audited("")
        assert str(fault.value) == f"the check {id} broke on {whom} (ValueError)"

    def test_one_that_breaks_on_its_way_is_caught_too(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def broken(*arguments: object) -> Iterator[object]:
            yield from ()
            raise ZeroDivisionError

        id = "duplicate-static-address"
        part = Part(Scope.MODULE, broken)  # type: ignore[arg-type]
        monkeypatch.setitem(CHECKS, id, replace(CHECKS[id], parts=(part,)))
        with pytest.raises(CheckBrokeError, match=id):
            audited("")


def asked_of_modules(file: FleetFile) -> Counter[str]:
    """Return how often each check is asked of a module when a kit is audited."""
    ask, asked = auditing._found, Counter[str]()

    def counting(check: Check, function: Any, whom: str, *arguments: Any) -> list[Found]:
        asked[check.id] += isinstance(arguments[0], Module)
        return ask(check, function, whom, *arguments)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(auditing, "_found", counting)
        audit(file, TODAY)
    return asked


def test_a_silent_check_is_asked_once_of_groups_of_which_it_sees_the_same() -> None:
    """The two differ in the rate alone: that is nothing to the supply."""
    rows = [f'[[module]]\nid = "TG-{rate}"\nserial_rate = {rate}\n' for rate in (9600, 19200)]
    asked = asked_of_modules(fleet_of_text("".join(rows), "kit.toml", {}))
    assert (asked["serial-rate-differs"], asked["capacitor-reversed"]) == (2, 1)


def test_that_passphrases_were_left_unread_is_told(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    text = '[network]\nname = "saltmarsh"\n{}[[module]]\nid = "TG-01"\n'
    path.write_text(text.format(""), encoding="utf-8")
    assert not audit(read_fleet(str(path), environment={}), TODAY).without_secrets
    path.write_text(text.format('passphrase = "heron-mudflat-quartz47"\n'), encoding="utf-8")
    assert not audit(read_fleet(str(path), environment={}), TODAY).without_secrets
    unread = read_fleet(str(path), environment={}, with_secrets=False)
    assert audit(unread, TODAY).without_secrets
