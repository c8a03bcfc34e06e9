"""The pool over the timetable, as it is drawn and as it is said."""

import re
from datetime import datetime, timedelta
from itertools import pairwise

import pytest

from auditor.compute.leases import Level
from auditor.reports.page.timeline import LEFT, RIGHT, WIDTH, Timeline, timeline
from auditor.tasks.overview import Gathering, PoolOverTime

HOUR = timedelta(hours=1)


def at(hour: int, day: int = 2) -> datetime:
    """Return a full hour of a day in March; 2026-03-02 is a Monday."""
    return datetime(2026, 3, day, hour)


def group(name: str, start: datetime, end: datetime, modules: int = 15) -> Gathering:
    """Return a session."""
    return Gathering(name, start, end, modules)


DAY = PoolOverTime(
    size=20,
    lease=4 * HOUR,
    best=(Level(at(9), 15), Level(at(13), 30), Level(at(14), 15), Level(at(18), 0)),
    worst=(Level(at(9), 15), Level(at(13), 30), Level(at(16), 15), Level(at(20), 0)),
    sessions=(group("A", at(9), at(12)), group("B", at(13), at(16))),
)
"""Two groups of 15 on one day with a lease of 4 hours, by hand from RFC 2131, section 4.4.5."""


def days(number: int) -> PoolOverTime:
    """Return a session a day, the later ones fuller, with nothing overnight."""
    levels = [
        level
        for day in range(1, number + 1)
        for level in (Level(at(9, day), day), Level(at(12, day), 0))
    ]
    sessions = tuple(group(f"day {day}", at(9, day), at(12, day)) for day in range(1, number + 1))
    return PoolOverTime(20, timedelta(0), tuple(levels), tuple(levels), sessions)


def xs(path: str) -> list[float]:
    """Return where a curve turns."""
    return [float(x) for x in re.findall(r"[MH](-?[\d.]+)", path)]


def ys(path: str) -> list[float]:
    """Return the heights of a curve."""
    return [float(y) for y in re.findall(r"(?:M-?[\d.]+ |V)(-?[\d.]+)", path)]


def test_time_is_drawn_to_scale() -> None:
    (stretch,) = timeline(DAY).stretches
    hour = (WIDTH - LEFT - RIGHT) / 11  # from 09:00 to 20:00
    expected = [LEFT + hour * hours for hours in (0, 4, 5, 9, 11)]
    assert xs(stretch.best) == pytest.approx(expected, abs=0.1)
    assert [bar.x for bar in stretch.bars] == pytest.approx([LEFT, LEFT + 4 * hour], abs=0.1)
    assert [bar.number for bar in stretch.bars] == [1, 2]


def test_numbers_are_drawn_to_scale() -> None:
    drawn = timeline(DAY)
    (stretch,) = drawn.stretches
    heights = [round(drawn.bottom - y, 1) for y in ys(stretch.worst)]
    assert heights[0] * 2 == max(heights)
    assert heights[-1] == 0
    assert drawn.size_y is not None
    assert abs((drawn.bottom - drawn.size_y) - heights[0] * 20 / 15) < 0.2


def test_what_is_over_the_room_is_marked_while_it_lasts() -> None:
    drawn = timeline(DAY)
    (block,) = drawn.stretches[0].over
    hour = (WIDTH - LEFT - RIGHT) / 11
    assert abs(block.width - 3 * hour) < 0.2  # from 13:00 to 16:00 at worst
    assert abs(block.y + block.height - (drawn.size_y or 0)) < 0.2
    assert timeline(days(2)).stretches[0].over == ()


def test_the_table_says_the_same() -> None:
    rows = [(row.events, row.best, row.worst, row.is_short) for row in timeline(DAY).moments]
    assert rows == [
        ("1 “A” begins: 15 modules", 15, 15, False),
        ("1 “A” ends", 15, 15, False),
        ("2 “B” begins: 15 modules", 30, 30, True),
        ("old leases end", 15, 30, True),
        ("2 “B” ends", 15, 15, False),
        ("old leases end", 0, 15, False),
        ("old leases end", 0, 0, False),
    ]


def test_the_description_says_how_much_and_when() -> None:
    assert timeline(DAY).description == (
        "At most 30 leases are wanted of a pool of 20, on Monday, 2026-03-02, at 13:00."
    )


def test_quiet_times_are_left_out_and_the_busiest_are_drawn() -> None:
    drawn = timeline(days(10))
    assert [stretch.date for stretch in drawn.stretches] == [
        "Sat 03-07",
        "Sun 03-08",
        "Mon 03-09",
        "Tue 03-10",
    ]
    assert any("4 of 10" in note for note in drawn.notes)
    assert len(drawn.moments) == 20


def test_nothing_is_drawn_beyond_the_edges() -> None:
    for pool in (DAY, days(1), days(4), days(10)):
        drawn = timeline(pool)
        for stretch in drawn.stretches:
            reach = [*xs(stretch.best), *xs(stretch.worst), stretch.x + stretch.width]
            assert min(reach) >= LEFT
            assert max(reach) <= WIDTH - RIGHT + 0.2
            assert all(0 <= y <= drawn.bottom for y in (*ys(stretch.best), *ys(stretch.worst)))


def test_labels_of_moments_do_not_touch() -> None:
    for pool in (DAY, days(4)):
        for row in (0, 1):
            labels = sorted(
                tick.x
                for stretch in timeline(pool).stretches
                for tick in stretch.ticks
                if tick.text and tick.row == row
            )
            assert all(later - before >= 49.9 for before, later in pairwise(labels))


def test_sessions_at_one_time_lie_one_below_the_other() -> None:
    both = PoolOverTime(
        None,
        None,
        (Level(at(9), 20), Level(at(12), 0)),
        (Level(at(9), 20),),
        (group("A", at(9), at(12)), group("B", at(10), at(11)), group("C", at(12), at(13))),
    )
    drawn: Timeline = timeline(both)
    assert [bar.y for bar in drawn.stretches[0].bars] == [0, 15, 0]
    assert drawn.size_y is None
    assert "whose room is not known" in drawn.description
