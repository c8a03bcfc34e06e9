"""Message: each check against a planted fault, and both sides of its border."""

import pytest

from auditor.audit import audit
from auditor.findings import Finding, Stage, State
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from tests.checks.kits import THE_KIT, TODAY, audited, findings, fired

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}


def whom(lines: str, check: str) -> set[str]:
    """Return on whom a check fires."""
    return fired(lines).get(check, set())


def bare(lines: str, check: str) -> list[Finding]:
    """Return what a check finds in a kit that says nothing but the lines."""
    text = f"{lines}\n[[module]]\nid = 'TG-01'\n"
    found = audit(fleet_of_text(text, "kit.toml", {}), TODAY).findings
    return [finding for finding in found if finding.check == check]


class TestMessageLength:
    @pytest.mark.parametrize(("message_bytes", "fires"), [(23, True), (24, False), (25, True)])
    def test_both_sides_of_the_planned_length(self, message_bytes: int, fires: bool) -> None:
        lines = f'[[module]]\nid = "TG-02"\nmessage_bytes = {message_bytes}'
        assert fired(lines) == ({"message-length-differs": {"TG-02"}} if fires else {})

    @pytest.mark.parametrize(
        ("framing", "fires"), [("fixed", True), ("length-prefixed", True), ("delimited", False)]
    )
    def test_a_delimiter_leaves_lengths_free(self, framing: str, fires: bool) -> None:
        lines = f'[traffic]\nframing = "{framing}"\n[[module]]\nid = "TG-02"\nmessage_bytes = 16'
        assert whom(lines, "message-length-differs") == ({"TG-02"} if fires else set())

    def test_the_exact_length_is_named(self) -> None:
        lines = '[[module]]\nid = "TG-02"\nmessage_bytes = 16'
        (found,) = findings(lines, "message-length-differs")
        assert (found.severity, found.remedy) == (Severity.FAULT, "Set message_bytes to 24.")
        assert [place.column for place in found.where] == ["message_bytes", "message_bytes"]

    def test_nothing_is_said_without_a_plan(self) -> None:
        assert bare("[defaults]\nmessage_bytes = 16", "message-length-differs") == []


class TestTalkerMissing:
    @pytest.mark.parametrize(
        ("talkers", "told"),
        [
            ("[]", "The plan names no talker"),
            ('["TG-99"]', 'None of the talkers is in this kit ("TG-99")'),
            ('["A", "B", "C", "D", "E"]', '("A", "B", "C" and 2 more)'),
        ],
    )
    def test_nobody_is_there_to_talk(self, talkers: str, told: str) -> None:
        lines = f"[traffic]\ntalkers = {talkers}"
        assert fired(lines) == {"talker-missing": EVERYONE}
        assert told in findings(lines, "talker-missing")[0].message
        stages = [module.stages[Stage.MESSAGE] for module in audited(lines).modules]
        assert stages == [State.BLOCKED] * 4

    def test_the_only_talker_is_silent(self) -> None:
        lines = '[traffic]\ntalkers = ["TG-01"]\n[[module]]\nid = "TG-01"\ntalks = false'
        assert whom(lines, "talker-missing") == EVERYONE
        assert "talks set to off" in findings(lines, "talker-missing")[0].message

    @pytest.mark.parametrize("talkers", ['["TG-01"]', '["logger"]', '["TG-01..TG-03"]', '["all"]'])
    def test_one_who_talks_is_enough(self, talkers: str) -> None:
        assert whom(f"[traffic]\ntalkers = {talkers}", "talker-missing") == set()

    def test_anyone_may_talk_where_the_plan_does_not_say(self) -> None:
        assert bare("[defaults]\ntalks = false", "talker-missing") == []

    def test_one_of_two_that_is_not_there_is_a_risk_for_the_kit(self) -> None:
        lines = '[traffic]\ntalkers = ["TG-01", "loger"]'
        assert fired(lines) == {"talker-missing": {THE_KIT}}
        (found,) = findings(lines, "talker-missing")
        assert (found.severity, tuple(found.concerns)) == (Severity.RISK, (0, 1, 2, 3))
        assert found.remedy == 'Write "logger" for "loger" in talkers.'

    def test_a_range_that_was_meant_is_named(self) -> None:
        found = findings('[traffic]\ntalkers = ["TG-01..TG-O3"]', "talker-missing")
        assert {each.remedy for each in found} == {
            'Write "TG-01..TG-03" for "TG-01..TG-O3" in talkers.'
        }

    def test_the_name_that_was_meant_is_said_to_all(self) -> None:
        found = findings('[traffic]\ntalkers = ["TG-1"]', "talker-missing")
        assert {each.remedy for each in found} == {'Write "TG-01" for "TG-1" in talkers.'}


class TestUnplannedTalker:
    def test_a_program_that_sends_and_is_not_named(self) -> None:
        lines = '[[module]]\nid = "TG-02"\ntalks = true'
        assert fired(lines) == {"unplanned-talker": {"TG-02"}}
        (found,) = findings(lines, "unplanned-talker")
        assert found.severity is Severity.RISK
        assert found.remedy == 'Set talks = false, or add "TG-02" to the talkers.'

    def test_one_that_is_named_or_silent_is_fine(self) -> None:
        assert fired('[[module]]\nid = "TG-02"\ntalks = false') == {}
        named = '[traffic]\ntalkers = ["TG-01", "TG-02"]\n[[module]]\nid = "TG-02"\ntalks = true'
        assert whom(named, "unplanned-talker") == set()

    def test_anyone_may_talk_where_the_plan_does_not_say(self) -> None:
        assert bare("[defaults]\ntalks = true", "unplanned-talker") == []


class TestSeveralTalkers:
    def test_two_to_one_port_without_a_name(self) -> None:
        lines = "[traffic]\nnames_sender = false"
        assert fired(lines) == {"several-talkers": {THE_KIT}}
        (found,) = findings(lines, "several-talkers")
        assert found.severity is Severity.ADVICE
        assert found.figures == {"port": 4010, "talkers": ["TG-01", "logger"]}
        assert {module.verdict for module in audited(lines).modules} == {"ready"}

    def test_one_talker_needs_no_name(self) -> None:
        lines = '[traffic]\nnames_sender = false\ntalkers = ["{}"]'
        assert whom(lines.format("TG-01"), "several-talkers") == set()
        assert whom(lines.format("logger"), "several-talkers") == set()

    def test_ports_keep_talkers_apart(self) -> None:
        lines = '[traffic]\nnames_sender = false\n[[module]]\nid = "TG-01"\nport = {}'
        assert whom(lines.format(4011), "several-talkers") == set()
        assert whom(lines.format(4010), "several-talkers") == {THE_KIT}

    def test_unicast_keeps_talkers_apart(self) -> None:
        lines = (
            '[traffic]\nnames_sender = false\nintent = "unicast"\ndestination = "10.20.0.10"\n'
            'talkers = ["TG-01", "TG-02"]'
        )
        assert whom(lines, "several-talkers") == set()

    def test_a_host_counts_only_where_it_sends_to_everybody(self) -> None:
        lines = '[traffic]\nnames_sender = false\ndestination = "10.20.0.10"\n'
        own = '[[module]]\nid = "TG-01"\ndestination = "255.255.255.255"\n'
        assert whom(lines + own, "several-talkers") == set()

    def test_a_silent_module_does_not_count(self) -> None:
        lines = '[traffic]\nnames_sender = false\n[[module]]\nid = "TG-01"\ntalks = false'
        assert whom(lines, "several-talkers") == set()


class TestFraming:
    @pytest.mark.parametrize(
        "described", ["message_bytes = 24", "message_interval = '5 s'", "talkers = ['TG-01']"]
    )
    def test_messages_without_a_framing(self, described: str) -> None:
        (found,) = bare(f"[traffic]\n{described}", "framing-unclear")
        assert found.severity is Severity.ADVICE
        framed = f"[traffic]\n{described}\nframing = 'delimited'"
        assert bare(framed, "framing-unclear") == []

    def test_nothing_is_said_where_no_messages_are_described(self) -> None:
        assert bare("[traffic]\nport = 4010\ntalkers = []", "framing-unclear") == []

    @pytest.mark.parametrize(
        ("framing", "message_bytes", "fires"),
        [
            ("fixed", 0, True),
            ("fixed", 1, False),
            ("length-prefixed", 0, False),
            ("delimited", 0, False),
        ],
    )
    def test_a_fixed_length_has_to_be_one(
        self, framing: str, message_bytes: int, fires: bool
    ) -> None:
        lines = f'[traffic]\nframing = "{framing}"\nmessage_bytes = {message_bytes}'
        assert whom(lines, "framing-unclear") == ({THE_KIT} if fires else set())

    def test_a_fixed_length_that_no_one_gives(self) -> None:
        lines = "[traffic]\nframing = 'fixed'"
        (found,) = bare(lines, "framing-unclear")
        assert "TG-01" in found.message
        assert bare(f"{lines}\n[defaults]\nmessage_bytes = 9", "framing-unclear") == []
