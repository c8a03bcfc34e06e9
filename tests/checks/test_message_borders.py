"""Message: how many names are told, with which figures, and what is said besides."""

import pytest

from auditor.models.words import Severity
from tests.checks.kits import THE_KIT, findings, fired

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}


class TestTalkers:
    CHECK = "talker-missing"

    @pytest.mark.parametrize(
        ("names", "told"),
        [
            ('"A"', '("A"): there'),
            ('"A", "B", "C"', '("A", "B", "C"): there'),
            ('"A", "B", "C", "D"', '("A", "B", "C" and 1 more): there'),
        ],
    )
    def test_three_names_are_told_and_the_rest_counted(self, names: str, told: str) -> None:
        found = findings(f"[traffic]\ntalkers = [{names}]", self.CHECK)
        assert len(found) == 4
        assert all(told in each.message for each in found)
        assert found[0].figures == {"named": names.count(",") + 1}
        assert [place.column for place in found[0].where] == ["talkers"]

    def test_three_names_that_were_meant_are_told(self) -> None:
        (found, *_) = findings('[traffic]\ntalkers = ["TG-1", "TG-2", "TG-3", "TG-4"]', self.CHECK)
        assert found.remedy == (
            'Write "TG-01" for "TG-1", "TG-02" for "TG-2", "TG-03" for "TG-3" in talkers.'
        )

    def test_some_that_are_not_there_are_told_with_figures(self) -> None:
        (found,) = findings('[traffic]\ntalkers = ["TG-01", "X", "Y"]', self.CHECK)
        assert found.message == (
            'No module or host of this kit is called "X", "Y": what it would send never comes.'
        )
        assert found.figures == {"unknown": ["X", "Y"]}
        assert found.remedy.startswith("Name in talkers the modules or hosts that send")

    def test_where_nobody_talks_no_module_is_told_that_it_is_not_planned(self) -> None:
        lines = '[traffic]\ntalkers = []\n[[module]]\nid = "TG-02"\ntalks = true'
        assert fired(lines) == {self.CHECK: EVERYONE}

    def test_one_that_is_not_planned_is_shown_where_both_are_said(self) -> None:
        (found,) = findings('[[module]]\nid = "TG-02"\ntalks = true', "unplanned-talker")
        assert [place.column for place in found.where] == ["talks", "talkers"]


class TestSeveral:
    CHECK = "several-talkers"

    def test_each_port_has_a_finding_of_its_own(self) -> None:
        own = "".join(f'[[module]]\nid = "TG-0{n}"\nport = 4011\n' for n in (2, 3))
        lines = f'[traffic]\nnames_sender = false\ntalkers = ["all", "logger"]\n{own}'
        found = findings(lines, self.CHECK)
        assert [each.figures for each in found] == [
            {"port": 4010, "talkers": ["TG-01", "TG-04", "logger"]},
            {"port": 4011, "talkers": ["TG-02", "TG-03"]},
        ]
        assert "3 talkers broadcast to port 4010" in found[0].message

    def test_hosts_alone_can_be_several(self) -> None:
        host = '[[network.host]]\nname = "printer"\naddress = "10.20.0.11"\n'
        lines = f'{host}[traffic]\nnames_sender = false\ntalkers = ["printer", "logger"]\n'
        (found,) = findings(lines, self.CHECK)
        assert found.figures == {"port": 4010, "talkers": ["logger", "printer"]}


class TestFraming:
    CHECK = "framing-unclear"

    def test_who_has_no_length_is_counted(self) -> None:
        own = "".join(f'[[module]]\nid = "TG-0{n}"\nmessage_bytes = 0\n' for n in (2, 3))
        assert fired(own) == {
            self.CHECK: {THE_KIT},
            "message-length-differs": {"TG-02", "TG-03"},
        }
        (found,) = findings(own, self.CHECK)
        assert (found.severity, found.figures) == (Severity.ADVICE, {"modules": 2})
        assert [place.column for place in found.where] == ["message_bytes", "framing"]
        assert "TG-02, TG-03" in found.message
