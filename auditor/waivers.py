"""Findings that were accepted on purpose."""

from collections.abc import Sequence
from dataclasses import replace

from auditor.findings import Acceptance, Finding
from auditor.models.fleet import Waiver
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.selection import Selection, select


class Waivers:
    """The waivers of a kit that hold today, and which of them were of use."""

    def __init__(self, survey: Survey) -> None:
        self._survey = survey
        self._valid = [
            (number, waiver, _selection(waiver, survey))
            for number, waiver in enumerate(survey.fleet.waiver)
            if waiver.until is None or waiver.until >= survey.today
        ]
        self.used: set[int] = set()

    def apply(self, findings: Sequence[Finding], module: Module | None) -> list[Finding]:
        """Return findings of one module, or of the kit, with what is waived marked so."""
        return [self._applied(finding, module) for finding in findings]

    def _applied(self, finding: Finding, module: Module | None) -> Finding:
        for number, waiver, selection in self._valid:
            if waiver.check == finding.check and self._covers(selection, finding, module):
                self.used.add(number)
                return replace(finding, waived=Acceptance(waiver.reason, waiver.until))
        return finding

    def _covers(self, selection: Selection | None, finding: Finding, module: Module | None) -> bool:
        """Say whether a selection (None: everything) takes in all whom a finding concerns.

        A finding of the kit that names nobody concerns everybody.
        """
        if selection is None:
            return True
        if module is not None:
            return module.index in selection.indexes
        everyone = range(len(self._survey.modules))
        return selection.indexes.issuperset(finding.concerns or everyone)


def _selection(waiver: Waiver, survey: Survey) -> Selection | None:
    return None if waiver.modules is None else select(waiver.modules, survey.by_id)
