"""The audit as a page."""

from auditor.findings import AuditResult, Verdict
from auditor.reports.page.address_map import address_map
from auditor.reports.page.alike import kinds
from auditor.reports.page.capacity import room_left
from auditor.reports.page.document import rendered
from auditor.reports.page.matrix import COLUMNS, Cell, matrix
from auditor.reports.page.modules import acceptances, kit_entries, sections
from auditor.reports.sentences import in_words, partial, shortage, title
from auditor.reports.summary import severity_counts, verdict_counts
from auditor.tasks.overview import Overview


def page(result: AuditResult, overview: Overview) -> str:
    """Return the report as one HTML file that reads nothing from outside.

    Source: WHATWG, HTML Standard; W3C, Web Content Accessibility Guidelines 2.2.
    """
    found = kinds(result)
    written = sections(found.shown, result)
    linked = {each.anchor for each in written}
    return rendered(
        "report.html",
        title=result.title,
        verdict=verdict_sentence(result),
        about=title(result),
        sentences=[*partial(result), *shortage(result)],
        result=result,
        checked_at=f"{result.checked_at:%Y-%m-%d %H:%M %Z}".strip(),
        counts=[(Cell(each, in_words(each)), n) for each, n in verdict_counts(result).items()],
        severities=severity_counts(result),
        columns=COLUMNS,
        rows=matrix(found.shown, linked),
        left=found.left,
        sections=written,
        unwritten=[m.id for kind in found.shown if kind.anchor not in linked for m in kind.modules],
        kit_entries=kit_entries(result),
        accepted=acceptances(result),
        map=address_map(overview.addresses) if overview.addresses else None,
        differences=overview.differences,
        **room_left(overview),
    )


def verdict_sentence(result: AuditResult) -> str:
    """Return the verdict of a kit in one sentence, the gravest part of it first."""
    of = len(result.modules)
    counts = verdict_counts(result)
    (verdict, number), *others = [(each, counts[each]) for each in Verdict if counts[each]]
    if not others:
        whole = "The only module is" if of == 1 else f"All {of:,} modules are"
        return f"{whole} {in_words(verdict)}."
    first = f"{number:,} of {of:,} modules {_are(number)} {in_words(verdict)}"
    rest = [f"{n:,} {_are(n)} {in_words(each)}" for each, n in others]
    return f"{', '.join([first, *rest[:-1]])} and {rest[-1]}."


def _are(number: int) -> str:
    return "is" if number == 1 else "are"
