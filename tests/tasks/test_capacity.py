"""The capacity report: used, limit, margin and when, for a kit of two groups."""

import json
from dataclasses import replace

import pytest

from auditor.examples import fleet_of
from auditor.reading.fleet import fleet_of_text
from auditor.reports import capacity as reports
from auditor.tasks.capacity import Capacity, capacity
from tests.checks.test_capacity import GROUP_A, session, two_groups


def capacity_of(text: str) -> Capacity:
    return capacity(fleet_of_text(text, "kit.toml", {}))


def test_every_limit_of_the_clean_kit() -> None:
    """Four modules and one other station; 24 bytes of each talker every 5 s on 960 bytes/s.

    960 bytes/s is 9600 Bd in frames of 10 bits (by hand).
    """
    used = json.loads(reports.json(capacity(fleet_of(""))))
    assert {key: used["stations"][key] for key in ("peak", "limit", "margin")} == {
        "peak": 5,
        "limit": 32,
        "margin": 27,
    }
    assert used["leases"]["best_peak"] == used["leases"]["worst_peak"] == 3
    assert (used["leases"]["size"], used["leases"]["runs_out_at"]) == (50, None)
    assert used["airtime"]["limit"] == 0.5
    assert [line["id"] for line in used["serial"]] == ["TG-01", "TG-02", "TG-03", "TG-04"]
    assert [line["load"] for line in used["serial"]] == [4.8, 9.6, 9.6, 9.6]
    assert {line["limit"] for line in used["serial"]} == {960}


def test_leases_have_a_best_and_a_worst_case() -> None:
    """By hand from RFC 2131, section 4.4.5: leases of 90 min end from 12:45 to 13:30."""
    leases = capacity_of(two_groups(lease="90 min")).leases
    assert (leases.best_peak, leases.worst_peak, leases.size) == (30, 60, 50)
    assert (leases.margin, str(leases.runs_out_at)) == (-10, "2026-03-02 13:00:00")
    assert str(leases.when) == "2026-03-02 13:00:00"


def test_an_unknown_lease_lies_between_an_end_at_once_and_none() -> None:
    used = capacity_of(two_groups(lease=None))
    assert (used.leases.best_peak, used.leases.worst_peak) == (30, 60)
    assert used.leases.runs_out_at is None
    assert "unless old leases end in time" in reports.text(used)


def test_without_a_timetable_everybody_is_there_at_once() -> None:
    text = two_groups().replace(session(*GROUP_A), "")
    text = text[: text.index("[[session]]")] + text[text.index("[[module]]") :]
    used = capacity_of(text)
    assert (used.stations.peak, used.stations.limit, used.stations.when) == (60, None, None)
    assert (used.leases.best_peak, used.leases.worst_peak, used.leases.margin) == (60, 60, -10)
    assert "The pool has room for 50 of 60 leases." in reports.text(used)


def test_no_server_has_no_room_and_no_pool_is_not_known() -> None:
    none = two_groups().replace("address_server = true", "address_server = false")
    assert capacity_of(none).leases.size == 0
    unknown = "".join(
        line for line in two_groups().splitlines(keepends=True) if not line.startswith("pool")
    )
    used = capacity_of(unknown)
    assert (used.leases.worst_peak, used.leases.size, used.leases.margin) == (60, None, None)
    assert str(used.leases.when) == "2026-03-02 13:00:00"


def test_the_text_fits_80_columns_and_says_what_runs_out() -> None:
    text = reports.text(capacity_of(two_groups(network="station_limit = 20")))
    assert max(map(len, text.splitlines())) <= 80
    assert text.splitlines()[0].split() == ["what", "used", "limit", "margin", "when"]
    assert "Group B runs out of addresses on Monday, 2026-03-02, at 13:00." in text
    assert "The access point takes 20 of 30 stations." in text
    assert "Nothing runs out" in reports.text(capacity(fleet_of("")))


@pytest.mark.parametrize("name", ["\\u001b[31mred", "\\u202eevil", "\\n" * 40, "long " * 40])
def test_names_are_shown_escaped_and_short(name: str) -> None:
    lines = (
        f'[[module]]\nid = "{name}"\naddressing = "pooled"\n'
        f'[[session]]\nname = "{name}"\nmodules = ["all"]\n'
        "start = 2026-03-02T12:01:00\nend = 2026-03-02T14:00:00\n"
        '[network.ipv4]\npool = { first = "10.20.0.109", last = "10.20.0.110" }\n'
    )
    text = reports.text(capacity(fleet_of(lines)))
    assert all(line.isprintable() for line in text.splitlines())
    assert max(map(len, text.splitlines())) <= 80
    assert "runs out of addresses" in " ".join(text.split())


def test_json_escapes_what_a_terminal_obeys() -> None:
    used = capacity(fleet_of(""))
    line = replace(used.serial[0], id="\x1b]0;\x7f\u202e")
    text = reports.json(replace(used, serial=(line,)))
    assert text.replace("\n", "").isprintable()
    assert text.isascii()
    assert json.loads(text)["serial"][0]["id"] == line.id
