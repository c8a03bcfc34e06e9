"""The meters: a bar, a mark at the limit, and the same in words."""

from dataclasses import replace

import pytest

from auditor.reports.page.meters import WIDTH, Level, level_of, line_loads, meters
from auditor.tasks.capacity import Capacity, Channel, Leases, SerialLine, Stations

FEW = Capacity(Stations(5, 32, None), Leases(3, 3, 50, None, None, None), Channel(0.1, 0.5), ())
"""A kit that uses little of everything."""


def capacity(**other: object) -> Capacity:
    """Return what a kit uses, the same as FEW but for some of it."""
    return replace(FEW, **other)  # type: ignore[arg-type]


def test_half_used_is_half_a_bar() -> None:
    meter = meters(capacity(stations=Stations(16, 32, None)))[0]
    assert (meter.used_width, meter.over_width, meter.limit_x) == (WIDTH / 2, 0, WIDTH)
    assert (meter.used, meter.against, meter.margin) == ("16", "of 32", "16 left")
    assert meter.level is Level.FREE


def test_beyond_the_limit_the_bar_goes_on_and_the_mark_moves() -> None:
    meter = meters(capacity(stations=Stations(64, 32, None)))[0]
    assert (meter.used_width, meter.over_width, meter.limit_x) == (160, 160, 160)
    assert (meter.margin, meter.level) == ("32 too many", Level.EXCEEDED)


def test_what_is_not_known_is_not_drawn() -> None:
    meter = meters(capacity(stations=Stations(5, None, None)))[0]
    assert (meter.used_width, meter.limit_x, meter.level) == (0, None, Level.UNKNOWN)
    assert meter.description == "5 used, of a limit that is not known."
    air = meters(capacity(airtime=Channel(None, 0.5)))[2]
    assert air.description == "not known of at most 50.0 %."


def test_of_no_room_at_all_anything_is_too_much() -> None:
    nothing = meters(capacity(leases=Leases(0, 0, 0, None, None, None)))[1]
    one = meters(capacity(leases=Leases(1, 1, 0, None, None, None)))[1]
    assert (nothing.level, one.level) == (Level.FREE, Level.EXCEEDED)


def test_airtime_is_measured_against_its_limit() -> None:
    meter = meters(capacity(airtime=Channel(0.25, 0.5)))[2]
    assert (meter.used, meter.limit, meter.margin) == ("25.0 %", "50.0 %", "25 % left")
    assert meter.used_width == WIDTH / 2


def test_the_fullest_line_is_named_with_those_that_are_as_full() -> None:
    loads = {"TG-1": 96.0, "TG-2": 480.0, "TG-3": 480.0}
    lines = tuple(SerialLine(id, load, 960) for id, load in loads.items())
    meter = meters(capacity(serial=lines))[3]
    assert (meter.used, meter.limit, meter.modules) == ("480 bytes/s", "960 bytes/s", "TG-2, TG-3")


def test_lines_that_are_alike_share_a_row_the_fullest_first() -> None:
    lines = (
        SerialLine("TG-1", 96, 960),
        SerialLine("TG-2", None, None),
        SerialLine("TG-3", 1920, 960),
        SerialLine("TG-4", 96, 960),
    )
    rows, more = line_loads(capacity(serial=lines))
    assert [(row.modules, row.share, row.level) for row in rows] == [
        ("TG-3", "200.0 %", Level.EXCEEDED),
        ("TG-1, TG-4", "10.0 %", Level.FREE),
        ("TG-2", "not known", Level.UNKNOWN),
    ]
    assert more == 0


def test_of_very_many_kinds_of_lines_the_fullest_are_listed() -> None:
    lines = tuple(SerialLine(f"TG-{n}", float(n), 960) for n in range(100))
    rows, more = line_loads(capacity(serial=lines))
    assert (rows[0].modules, len(rows), more) == ("TG-99", 20, 80)


@pytest.mark.parametrize(
    ("share", "level"),
    [
        (None, Level.UNKNOWN),
        (0, Level.FREE),
        (0.79, Level.FREE),
        (0.8, Level.NEARLY_FULL),
        (1, Level.NEARLY_FULL),
        (1.001, Level.EXCEEDED),
    ],
)
def test_exactly_full_is_not_too_much(share: float | None, level: Level) -> None:
    assert level_of(share) is level
