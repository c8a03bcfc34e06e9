"""Findings accepted on purpose, policies that are stricter or milder, and one check alone."""

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from auditor.audit import audit
from auditor.examples import fleet_of
from auditor.findings import AuditResult, Stage, State, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import read_fleet
from auditor.reading.problems import UnusableError
from auditor.reports.as_json import as_json
from tests.checks.kits import THE_KIT, TODAY, audited, findings, fired
from tests.cli.running import run

FAULT = '[[module]]\nid = "TG-02"\nnetwork_name = "saltmarsh"\n'
TWO_FAULTS = FAULT + '[[module]]\nid = "TG-03"\nnetwork_name = "saltmarsh"\n'
UNSAVED = "[defaults]\nsaved = false\n"


def waiver(check: str = "network-name-differs", **settings: str) -> str:
    """Return lines of a waiver; settings are written as TOML values."""
    more = "".join(f"{key} = {value}\n" for key, value in settings.items())
    return f'[[waiver]]\ncheck = "{check}"\nreason = "agreed on Friday"\n{more}'


def counted(result: AuditResult) -> Mapping[str, int]:
    """Return how often each check is counted in the report."""
    by_check: dict[str, int] = json.loads("".join(as_json(result)))["summary"]["by_check"]
    return by_check


class TestWaived:
    def test_it_is_listed_and_changes_nothing(self) -> None:
        """Decision 5."""
        without, with_waiver = audited(FAULT), audited(FAULT + waiver())
        assert without.modules[1].stops_at is Stage.DISCOVERY
        module = with_waiver.modules[1]
        assert (module.verdict, module.stops_at, module.shows_at) == (Verdict.READY, None, None)
        assert module.stages[Stage.DISCOVERY] is State.CLEAR
        (finding,) = with_waiver.findings
        assert finding.waived is not None
        assert (finding.waived.reason, finding.waived.until) == ("agreed on Friday", None)
        assert counted(without) == {"network-name-differs": 1}
        assert counted(with_waiver) == {}
        assert without.reaches(Severity.FAULT)
        assert not with_waiver.reaches(Severity.ADVICE)

    def test_the_exit_status_and_the_report_know_it(self, tmp_path: Path) -> None:
        """Decision 5."""
        kit = (
            '[network]\nname = "saltmarsh"\nsecurity = "open"\n[[module]]\nid = "A"\nsaved = true\n'
        )
        (tmp_path / "kit.toml").write_text(kit)
        assert run("check", "kit.toml", folder=tmp_path).returncode == 1
        (tmp_path / "kit.toml").write_text(kit + waiver("weak-security", until="2099-01-31"))
        done = run("check", "kit.toml", "--format", "json", folder=tmp_path)
        assert done.returncode == 0
        report: dict[str, Any] = json.loads(done.stdout)
        (finding,) = report["kit_findings"]
        assert finding["waived"] == {"reason": "agreed on Friday", "until": "2099-01-31"}
        assert report["summary"]["by_check"] == {}

    def test_a_kit_finding_that_is_waived_puts_nobody_at_risk(self) -> None:
        lines = '[network]\nsecurity = "open"\n'
        assert {each.verdict for each in audited(lines).modules} == {Verdict.AT_RISK}
        waived = audited(lines + waiver("weak-security"))
        assert {each.verdict for each in waived.modules} == {Verdict.READY}

    @pytest.mark.parametrize(
        ("modules", "left"),
        [
            ('["TG-02"]', {"TG-03"}),
            ('["TG-01..TG-02"]', {"TG-03"}),
            ('["TG-02..TG-03"]', set()),
            ('["TG-01..TG-99"]', set()),
            ('"all"', set()),
            ('["TG-02", "TG-03"]', set()),
            ('["TG-01", "TG-04"]', {"TG-02", "TG-03"}),
            ('["TG-03..TG-02"]', {"TG-02", "TG-03"}),
        ],
    )
    def test_it_covers_the_modules_that_it_names(self, modules: str, left: set[str]) -> None:
        result = audited(TWO_FAULTS + waiver(modules=modules))
        blocked = {each.id for each in result.modules if each.verdict is Verdict.BLOCKED}
        assert blocked == left

    @pytest.mark.parametrize(
        ("modules", "covered"),
        [('["TG-01..TG-04"]', True), ('"all"', True), ('["TG-01..TG-03"]', False)],
    )
    def test_a_finding_about_all_is_covered_by_all(self, modules: str, covered: bool) -> None:
        """A risk that all share concerns each; advice about the kit concerns everybody."""
        for check, lines in (
            ("weak-security", '[network]\nsecurity = "open"\n'),
            ("hidden-network", "[network]\nhidden = true\n"),
        ):
            found = findings(lines + waiver(check, modules=modules), check)
            assert [finding.waived is not None for finding in found] == [covered]

    def test_two_waivers_may_share_the_modules_of_a_check(self) -> None:
        lines = TWO_FAULTS + waiver(modules='["TG-02"]') + waiver(modules='["TG-03"]')
        assert not audited(lines).reaches(Severity.ADVICE)

    def test_another_check_is_not_covered(self) -> None:
        found = fired(FAULT + waiver("setting-not-saved") + UNSAVED)
        assert "network-name-differs" in found
        assert audited(FAULT + waiver("setting-not-saved")).modules[1].verdict is Verdict.BLOCKED

    def test_a_check_that_follows_stays_silent_all_the_same(self) -> None:
        """A name that is too long is not also said to be another one once it is waived."""
        long = FAULT.replace("saltmarsh", "s" * 33)
        assert fired(long + waiver("network-name-invalid")) == {"network-name-invalid": {"TG-02"}}


class TestExpired:
    def audited_on(self, day: datetime) -> AuditResult:
        return audit(fleet_of(FAULT + waiver(until="2026-02-01")), day)

    def test_it_holds_on_its_last_day(self) -> None:
        result = self.audited_on(datetime(2026, 2, 1, 23, 59))
        assert not result.reaches(Severity.ADVICE)

    def test_it_holds_before(self) -> None:
        assert not self.audited_on(datetime(2026, 1, 5)).reaches(Severity.ADVICE)

    def test_it_ends_with_that_day(self) -> None:
        result = self.audited_on(datetime(2026, 2, 2))
        assert counted(result) == {"network-name-differs": 1, "waiver-expired": 1}
        (finding,) = result.kit_findings
        assert finding.severity is Severity.RISK
        assert finding.message == "The waiver of network-name-differs ended on 2026-02-01."
        assert finding.where[0].column == "until"
        assert result.modules[1].verdict is Verdict.BLOCKED

    def test_hygiene_of_the_file_stops_no_module(self) -> None:
        """Decision 4."""
        result = self.audited_on(datetime(2026, 2, 2))
        assert result.modules[0].verdict is Verdict.READY

    def test_an_expired_one_is_not_unused_besides(self) -> None:
        assert fired(waiver(until="2026-01-31")) == {"waiver-expired": {THE_KIT}}


class TestUnused:
    def test_it_covers_nothing_that_was_found(self) -> None:
        assert fired(waiver()) == {"waiver-unused": {THE_KIT}}
        (finding,) = findings(waiver(), "waiver-unused")
        assert finding.severity is Severity.ADVICE
        assert finding.message == (
            'The waiver of "network-name-differs" covers nothing that was found.'
        )

    def test_one_of_two_is_unused(self) -> None:
        lines = FAULT + waiver(modules='["TG-02"]') + waiver(modules='["TG-03"]')
        (finding,) = findings(lines, "waiver-unused")
        assert finding.where == (fleet_of(lines).places.of("waiver", 1, "check"),)

    def test_a_check_that_there_is_not(self) -> None:
        (finding,) = findings(waiver("network-name-difers"), "waiver-unused")
        assert finding.message == 'The waiver of "network-name-difers" names no check there is.'
        assert finding.remedy == "Write network-name-differs, or remove it."
        (finding,) = findings(waiver("heron"), "waiver-unused")
        assert finding.remedy == "Remove it."

    def test_a_module_that_there_is_not(self) -> None:
        lines = FAULT + waiver(modules='["TG-02", "TG-22"]')
        assert fired(lines) == {
            "network-name-differs": {"TG-02"},
            "unknown-module-named": {THE_KIT},
        }
        (finding,) = findings(lines, "unknown-module-named")
        assert finding.remedy == "Write TG-02, or take it out."

    def test_a_waiver_of_unused_waivers_is_never_unused_itself(self) -> None:
        assert fired(waiver("waiver-unused")) == {}
        lines = waiver("waiver-unused") + waiver()
        (finding,) = findings(lines, "waiver-unused")
        assert finding.waived is not None
        assert "network-name-differs" in finding.message

    def test_a_waiver_of_expired_ones_is_of_use(self) -> None:
        lines = waiver("waiver-expired") + waiver(until="2026-01-31")
        assert not audited(lines).reaches(Severity.ADVICE)


POLICY = """\
title = "Ours"
[thresholds]
attack_time = "{attack_time}"
airtime_advice = "25 %"
airtime_risk = "50 %"
serial_load_risk = "80 %"
rate_error_risk = "50 %"
indicator_current = "20 mA"
logic_margin = "0.3 V"
[severities]
"""
KIT = """\
[kit]
policy = "{policy}"
[network]
name = "saltmarsh-gauges"
security = "wpa2-personal"
passphrase = {{ env = "P" }}
[network.ipv4]
subnet = "10.20.0.0/24"
[traffic]
destination = "255.255.255.255"
port = 4010
[[module]]
id = "A"
address = "10.20.0.31"
[[module]]
id = "B"
address = "10.20.0.32"
"""
STRONG = "heron-tidal-ledger-quartz-41"


class TestPolicies:
    def audited(
        self,
        folder: Path,
        severities: str,
        more: str = "",
        *,
        attack_time: str = "30 d",
        passphrase: str = STRONG,
    ) -> AuditResult:
        """Return the audit of a small kit by a policy of its own, named by its path."""
        (folder / "rules").mkdir(exist_ok=True)
        text = POLICY.format(attack_time=attack_time) + severities
        (folder / "rules" / "ours.toml").write_text(text)
        fleet = folder / "kit.toml"
        fleet.write_text(KIT.format(policy="rules/ours.toml") + more)
        return audit(read_fleet(str(fleet), environment={"P": passphrase}), TODAY)

    @pytest.mark.parametrize(
        ("setting", "verdict"),
        [
            ('"fault"', Verdict.BLOCKED),
            ('"risk"', Verdict.AT_RISK),
            ('"advice"', Verdict.READY),
            ('"off"', Verdict.READY),
            ("false", Verdict.READY),
        ],
    )
    def test_it_raises_lowers_and_switches_off(
        self, setting: str, verdict: Verdict, tmp_path: Path
    ) -> None:
        result = self.audited(tmp_path, f"setting-not-saved = {setting}\n", "saved = false\n")
        module = result.modules[1]
        assert module.verdict is verdict
        assert len(module.findings) == (setting not in ('"off"', "false"))
        assert module.stops_at is (Stage.RECORD if verdict is Verdict.BLOCKED else None)

    def test_without_a_word_a_check_keeps_its_severity(self, tmp_path: Path) -> None:
        result = self.audited(tmp_path, "", "saved = false\n")
        assert result.modules[1].verdict is Verdict.AT_RISK

    def test_a_fault_of_the_kit_stops_nobody_and_counts(self, tmp_path: Path) -> None:
        """Decision 24: what all share makes them at-risk at its stage."""
        lines = 'weak-passphrase = "fault"\n'
        result = self.audited(tmp_path, lines, passphrase="password1")
        assert {each.verdict for each in result.modules} == {Verdict.AT_RISK}
        assert result.reaches(Severity.FAULT)

    def test_its_thresholds_are_gone_by(self, tmp_path: Path) -> None:
        """zxcvbn 4.5.0: 1000 guesses and one for 1qaz2wsx3edc, at 2533.3 kH/s under 1 ms."""
        short = self.audited(tmp_path, "", attack_time="0 s", passphrase="1qaz2wsx3edc")
        long = self.audited(tmp_path, "", attack_time="1 ms", passphrase="1qaz2wsx3edc")
        assert short.findings == ()
        assert [finding.check for finding in long.findings] == ["weak-passphrase"]

    def test_a_waiver_of_what_is_switched_off_is_unused(self, tmp_path: Path) -> None:
        more = "saved = false\n" + waiver("setting-not-saved")
        assert self.audited(tmp_path, "", more).modules[1].verdict is Verdict.READY
        result = self.audited(tmp_path, 'setting-not-saved = "off"\n', more)
        assert [finding.check for finding in result.findings] == ["waiver-unused"]

    def test_one_that_is_not_there_is_unusable(self, tmp_path: Path) -> None:
        fleet = tmp_path / "kit.toml"
        by_name, by_path = "known are strict, teaching-lab", "there is no such file"
        for name, said in (("lab", by_name), ("rules/none.toml", by_path)):
            fleet.write_text(KIT.format(policy=name))
            with pytest.raises(UnusableError) as problem:
                read_fleet(str(fleet), environment={})
            (line,) = problem.value.problems
            assert said in line.message
            assert (line.place.line, line.place.column) == (2, "policy")

    def test_the_option_takes_the_place_of_the_files_own(self, tmp_path: Path) -> None:
        fleet = tmp_path / "kit.toml"
        fleet.write_text(KIT.format(policy="teaching-lab"))
        chosen = read_fleet(str(fleet), environment={"P": STRONG}, policy="strict")
        assert chosen.policy.title == "Strict"


class TestOnlyOneCheck:
    LINES = FAULT + '[[module]]\nid = "TG-03"\nsaved = false\n' + waiver("weak-security")

    def only(self, *ids: str) -> AuditResult:
        return audit(fleet_of(self.LINES), TODAY, frozenset(ids))

    def test_only_its_findings_are_kept(self) -> None:
        everything = audit(fleet_of(self.LINES), TODAY)
        for check in ("network-name-differs", "setting-not-saved", "waiver-unused"):
            kept = [finding for finding in everything.findings if finding.check == check]
            assert list(self.only(check).findings) == kept
            assert len(kept) == 1

    def test_the_verdicts_follow_what_is_kept(self) -> None:
        result = self.only("setting-not-saved")
        assert [each.verdict for each in result.modules] == [
            Verdict.READY,
            Verdict.READY,
            Verdict.AT_RISK,
            Verdict.READY,
        ]

    def test_a_waiver_is_of_use_whatever_is_kept(self) -> None:
        file = fleet_of(FAULT + waiver())
        assert audit(file, TODAY, frozenset({"waiver-unused"})).findings == ()
        (finding,) = audit(file, TODAY, frozenset({"network-name-differs"})).findings
        assert finding.waived is not None

    def test_several_are_kept_together(self) -> None:
        result = self.only("network-name-differs", "setting-not-saved")
        assert counted(result) == {"network-name-differs": 1, "setting-not-saved": 1}
