"""The section of a module: what was found, where it stands, and what is left out."""

from dataclasses import replace

from auditor.findings import Figure
from auditor.models.places import Place
from auditor.reports.page.alike import kinds
from auditor.reports.page.modules import MOST_OF_A_CHECK, Section, figure, kit_entries, section
from tests.reports.results import (
    ACCEPTED,
    IN_POOL,
    NOTE,
    RUNS_OUT,
    WRONG_MASK,
    WRONG_NAME,
    ids,
    module,
    result,
)


def sections(*modules: object, **more: object) -> list[Section]:
    """Return the sections of a kit."""
    audited = result(*modules, **more)  # type: ignore[arg-type]
    return [section(kind, audited) for kind in kinds(audited).shown]


def test_a_section_has_all_that_was_found_gravest_first() -> None:
    (only,) = sections(module("TG-01", IN_POOL, WRONG_MASK, WRONG_NAME))
    assert [entry.check for entry in only.entries] == [
        "network-name-differs",
        "prefix-mismatch",
        "static-address-in-pool",
    ]
    assert only.entries[1].shows_at == "delivery"
    assert only.entries[0].shows_at is None
    assert only.entries[0].places == ("kit.csv:5, SSID",)
    assert dict(only.entries[1].figures) == {"prefix length": "25", "planned": "24"}


def test_modules_alike_share_a_section_that_says_whose_is_whose() -> None:
    own = [replace(WRONG_NAME, message=f"It says {id}.") for id in ids(1, 3)]
    (only,) = sections(*(module(id, f) for id, f in zip(ids(1, 3), own, strict=True)))
    assert only.heading == "3 modules alike"
    assert [entry.whom for entry in only.entries] == ids(1, 3)
    same = sections(*(module(id, WRONG_NAME) for id in ids(1, 3)))[0]
    assert [entry.whom for entry in same.entries] == [""]


def test_more_of_the_same_is_counted() -> None:
    every = [module(id, replace(WRONG_NAME, message=f"It says {id}.")) for id in ids(1, 40)]
    (only,) = sections(*every)
    assert len(only.entries) == MOST_OF_A_CHECK
    assert only.more == (("network-name-differs", 40 - MOST_OF_A_CHECK),)


def test_a_few_places_are_named_and_the_others_counted() -> None:
    many = [
        module(id, replace(WRONG_NAME, where=(Place("kit.csv", number, "SSID"),)))
        for number, id in enumerate(ids(1, 9))
    ]
    (only,) = sections(*many)
    assert (len(only.entries[0].places), only.entries[0].more_places) == (5, 4)


def test_what_was_accepted_is_no_finding() -> None:
    (only,) = sections(module("TG-01", replace(IN_POOL, waived=ACCEPTED)))
    assert only.entries == ()
    (accepted,) = only.accepted
    assert (accepted.check, accepted.until) == ("static-address-in-pool", "2026-06-30")


def test_a_climb_without_an_obstacle_is_not_drawn() -> None:
    ready, blocked = sections(module("TG-01"), module("TG-02", WRONG_NAME))[::-1]
    assert ready.climb == ()
    assert len(blocked.climb) == 9


def test_findings_of_the_kit_come_gravest_first_under_their_own_links() -> None:
    audited = result(*(module(id) for id in ids(1, 3)), kit=(NOTE, RUNS_OUT))
    (first, grave), (second, mild) = kit_entries(audited)
    assert (first, grave.check, grave.whom) == ("kit-2", "pool-runs-out", "all modules")
    assert (second, mild.check, mild.whom) == ("kit-1", "waiver-unused", "")


def test_figures_are_written_as_people_read_them() -> None:
    long: Figure = [str(number) for number in range(15)]
    assert [figure(value) for value in (None, True, False, 3, 0.1234567, "a", long)] == [
        "not known",
        "yes",
        "no",
        "3",
        "0.123457",
        "a",
        "0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 3 more",
    ]
