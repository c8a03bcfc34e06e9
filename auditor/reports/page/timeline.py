"""The pool over the timetable: the leases that are wanted, at best and at worst, over time."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from auditor.compute.leases import Level
from auditor.reports.layout import counted
from auditor.survey.timetable import WEEKDAYS, moment_in_words
from auditor.tasks.overview import Gathering, PoolOverTime

WIDTH = 480
LEFT = 46
RIGHT = 26
BAR = 15
"""The height of a session's bar, with the gap below it."""
PLOT = 140
AXIS = 64
TIME_LABEL = 50
"""The room that a time of the day needs on the axis."""
FIGURE = 18
"""The height of a figure beside the axis."""
BREAK = 16
"""The room between two stretches of time."""
QUIET = timedelta(hours=6)
"""So long a time in which nothing changes is left out."""
MOST_STRETCHES = 4
MOST_LANES = 3
MOST_MOMENTS = 40
EVEN_SHARE = 0.7
"""What of the width all stretches have alike; the rest goes by how long they are."""


@dataclass(frozen=True)
class Bar:
    """A session, as a bar with its number in the table."""

    x: float
    y: float
    width: float
    number: int


@dataclass(frozen=True)
class Tick:
    """A moment on the axis; without a text where there is no room for it."""

    x: float
    text: str
    row: int


@dataclass(frozen=True)
class Block:
    """A rectangle of the drawing."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Stretch:
    """A time in which things change, drawn to scale: two curves, and what is over the room."""

    x: float
    width: float
    date: str
    best: str
    best_area: str
    worst: str
    over: tuple[Block, ...]
    bars: tuple[Bar, ...]
    ticks: tuple[Tick, ...]


@dataclass(frozen=True)
class Moment:
    """A row of the table: when, what happens, and what is wanted then."""

    when: str
    events: str
    best: int
    worst: int
    is_short: bool


@dataclass(frozen=True)
class Timeline:
    """The drawing with its geometry, the same as a table, and what is said of both.

    `size_y` is where the line of the pool's room lies; None where the room is not known.
    `peak_apart` says that the peak has room for a figure of its own.
    """

    title: str
    description: str
    width: int
    height: float
    top: float
    bottom: float
    left: int
    right: float
    size: int | None
    size_y: float | None
    peak: int
    peak_y: float
    peak_apart: bool
    stretches: tuple[Stretch, ...]
    notes: tuple[str, ...]
    moments: tuple[Moment, ...]
    more: int


def timeline(pool: PoolOverTime) -> Timeline:
    """Return the drawing of a pool over its timetable."""
    spans = _spans(pool)
    shown = _busiest(spans, pool)
    canvas = _Canvas(pool, _lanes(pool.sessions))
    moments = tuple(_moments(pool))
    return Timeline(
        title="Leases wanted over the timetable",
        description=_description(pool),
        width=WIDTH,
        height=canvas.bottom + AXIS,
        top=canvas.top,
        bottom=canvas.bottom,
        left=LEFT,
        right=WIDTH - RIGHT,
        size=pool.size,
        size_y=None if pool.size is None else canvas.y(pool.size),
        peak=canvas.peak,
        peak_y=canvas.y(canvas.peak),
        peak_apart=canvas.has_room_for_peak,
        stretches=tuple(canvas.stretches(shown)),
        notes=tuple(_notes(pool, spans, shown)),
        moments=moments[:MOST_MOMENTS],
        more=len(moments[MOST_MOMENTS:]),
    )


@dataclass(frozen=True)
class Span:
    """A time in which something changes now and then."""

    start: datetime
    end: datetime

    def has(self, moment: datetime) -> bool:
        """Say whether a moment lies in it."""
        return self.start <= moment <= self.end

    @property
    def length(self) -> timedelta:
        """How long it is."""
        return self.end - self.start


def _changes(pool: PoolOverTime) -> list[datetime]:
    """Return every moment at which something changes, in order."""
    ends = (moment for each in pool.sessions for moment in (each.start, each.end))
    return sorted({*ends, *(level.at for level in (*pool.best, *pool.worst))})


def _spans(pool: PoolOverTime) -> list[Span]:
    """Return the times in which things change, with the quiet ones between them left out.

    While a session lasts it is not quiet.
    """
    spans: list[Span] = []
    for moment in _changes(pool):
        if spans and (moment - spans[-1].end <= QUIET or _lasts(pool, spans[-1].end, moment)):
            spans[-1] = Span(spans[-1].start, moment)
        else:
            spans.append(Span(moment, moment))
    return spans


def _lasts(pool: PoolOverTime, start: datetime, end: datetime) -> bool:
    return any(each.start <= start and end <= each.end for each in pool.sessions)


def _busiest(spans: Sequence[Span], pool: PoolOverTime) -> list[Span]:
    """Return the few times in which most leases are wanted, in order."""
    fullest = sorted(spans, key=lambda span: (-_peak_in(span, pool.worst), span.start))
    return sorted(fullest[:MOST_STRETCHES], key=lambda span: span.start)


def _peak_in(span: Span, levels: Iterable[Level]) -> int:
    return max((level.wanted for level in levels if span.has(level.at)), default=0)


def _lanes(sessions: Iterable[Gathering]) -> dict[int, int]:
    """Return the lane of each session, so that those at one time lie one below the other."""
    free_from: list[datetime] = []
    lanes: dict[int, int] = {}
    for number, session in sorted(enumerate(sessions), key=lambda pair: pair[1].start):
        lane = next((at for at, end in enumerate(free_from) if end <= session.start), None)
        if lane is None and len(free_from) < MOST_LANES:
            lane = len(free_from)
            free_from.append(session.end)
        elif lane is None:
            lane = MOST_LANES - 1
        free_from[lane] = max(free_from[lane], session.end)
        lanes[number] = lane
    return lanes


@dataclass(frozen=True)
class _Canvas:
    """Where things lie in the units of the drawing."""

    pool: PoolOverTime
    lanes: dict[int, int]

    @property
    def peak(self) -> int:
        """The most leases that are wanted."""
        return max(level.wanted for level in (*self.pool.best, *self.pool.worst))

    @property
    def top(self) -> float:
        """The upper edge of the curves, below the sessions."""
        return BAR * (1 + max(self.lanes.values(), default=0)) + 8

    @property
    def bottom(self) -> float:
        """Where no lease is wanted."""
        return self.top + PLOT

    def y(self, wanted: int) -> float:
        """Return the height of a number of leases."""
        highest = max(self.peak, self.pool.size or 0, 1) * 1.08
        return round(self.bottom - PLOT * wanted / highest, 1)

    @property
    def has_room_for_peak(self) -> bool:
        """Whether the figure of the peak would touch neither that of the room nor the 0."""
        taken = [0] if self.pool.size is None else [0, self.pool.size]
        return all(abs(self.y(self.peak) - self.y(each)) >= FIGURE for each in taken)

    def stretches(self, spans: Sequence[Span]) -> Iterator[Stretch]:
        """Give the stretches side by side."""
        room = WIDTH - LEFT - RIGHT - BREAK * (len(spans) - 1)
        total = sum((span.length for span in spans), timedelta())
        x = float(LEFT)
        free_from = [0.0, 0.0]
        for span in spans:
            by_length = span.length / total if total else 1 / len(spans)
            width = room * (EVEN_SHARE / len(spans) + (1 - EVEN_SHARE) * by_length)
            yield self._stretch(_Axis(span, x, width), free_from)
            x += width + BREAK

    def _stretch(self, axis: "_Axis", free_from: list[float]) -> Stretch:
        span = axis.span
        best = self._steps(self.pool.best, axis)
        return Stretch(
            x=round(axis.start, 1),
            width=round(axis.width, 1),
            date=f"{_weekday(span.start)} {span.start:%m-%d}",
            best=_path(best),
            best_area=f"{_path(best)} V{self.bottom:g} H{axis.x(span.start):g} Z",
            worst=_path(self._steps(self.pool.worst, axis)),
            over=tuple(self._over(axis)),
            bars=tuple(self._bars(axis)),
            ticks=tuple(_ticks(axis, self.pool.sessions, free_from)),
        )

    def _steps(self, levels: Iterable[Level], axis: "_Axis") -> list[tuple[float, float]]:
        """Return where the curve changes, from the beginning of a stretch to its end."""
        return [(axis.x(at), self.y(wanted)) for at, wanted in _within(levels, axis.span)]

    def _over(self, axis: "_Axis") -> Iterator[Block]:
        """Give the times in which more leases are wanted than there is room for."""
        size = self.pool.size
        points = _within(self.pool.worst, axis.span)
        for (at, wanted), (until, _) in pairwise(points):
            if size is not None and wanted > size:
                x, y = axis.x(at), self.y(wanted)
                yield Block(x, y, round(axis.x(until) - x, 1), round(self.y(size) - y, 1))

    def _bars(self, axis: "_Axis") -> Iterator[Bar]:
        for number, session in enumerate(self.pool.sessions):
            if axis.span.has(session.start) and axis.span.has(session.end):
                x, y = axis.x(session.start), float(BAR * self.lanes[number])
                yield Bar(x, y, round(axis.x(session.end) - x, 1), number + 1)


@dataclass(frozen=True)
class _Axis:
    """A time drawn to scale."""

    span: Span
    start: float
    width: float

    def x(self, moment: datetime) -> float:
        """Return where a moment lies."""
        length = self.span.length or timedelta(1)
        return round(self.start + self.width * ((moment - self.span.start) / length), 1)


def _within(levels: Iterable[Level], span: Span) -> list[tuple[datetime, int]]:
    """Return the levels of a time, from its beginning to its end."""
    before, inside = 0, []
    for level in levels:
        if level.at < span.start:
            before = level.wanted
        elif level.at <= span.end:
            inside.append((level.at, level.wanted))
    if not inside or inside[0][0] > span.start:
        inside.insert(0, (span.start, before))
    return [*inside, (span.end, inside[-1][1])]


def _path(points: Sequence[tuple[float, float]]) -> str:
    """Return a curve that goes on at its height until it changes."""
    (x, y), *rest = points
    return f"M{x:g} {y:g} " + " ".join(f"H{x:g} V{y:g}" for x, y in rest)


def _ticks(axis: _Axis, sessions: Iterable[Gathering], free_from: list[float]) -> Iterator[Tick]:
    """Give the moments of the sessions, with a text on one of two rows where there is room.

    `free_from` says from where each row is free, and is kept from one stretch to the next.
    """
    ends = {moment for each in sessions for moment in (each.start, each.end)}
    for moment in sorted({*filter(axis.span.has, ends), axis.span.end}):
        x = axis.x(moment)
        row = next((row for row, free in enumerate(free_from) if x - TIME_LABEL / 2 >= free), None)
        if row is not None and x + TIME_LABEL / 2 <= WIDTH:
            free_from[row] = x + TIME_LABEL / 2
            yield Tick(x, f"{moment:%H:%M}", row)
        else:
            yield Tick(x, "", 0)


def _weekday(moment: datetime) -> str:
    return WEEKDAYS[moment.weekday()][:3]


def _moments(pool: PoolOverTime) -> Iterator[Moment]:
    best = {level.at: level.wanted for level in pool.best}
    worst = {level.at: level.wanted for level in pool.worst}
    at_best = at_worst = 0
    for moment in _changes(pool):
        at_best, at_worst = best.get(moment, at_best), worst.get(moment, at_worst)
        yield Moment(
            when=f"{_weekday(moment)} {moment:%Y-%m-%d %H:%M}",
            events=_events(moment, pool),
            best=at_best,
            worst=at_worst,
            is_short=pool.size is not None and at_worst > pool.size,
        )


def _events(moment: datetime, pool: PoolOverTime) -> str:
    """Return what happens at a moment, in words."""
    said = []
    for number, each in enumerate(pool.sessions, start=1):
        if each.start == moment:
            said.append(f"{number} “{each.name}” begins: {counted(each.modules, 'module')}")
        if each.end == moment:
            said.append(f"{number} “{each.name}” ends")
    return "; ".join(said) or "old leases end"


def _description(pool: PoolOverTime) -> str:
    worst = max(pool.worst, key=lambda level: level.wanted)
    best = max(level.wanted for level in pool.best)
    room = "a pool whose room is not known" if pool.size is None else f"a pool of {pool.size}"
    case = f"{best} to {worst.wanted}" if best != worst.wanted else str(worst.wanted)
    return f"At most {case} leases are wanted of {room}, on {moment_in_words(worst.at)}."


def _notes(pool: PoolOverTime, spans: Sequence[Span], shown: Sequence[Span]) -> Iterator[str]:
    if pool.lease is None:
        yield "No lease_time is given: at best a lease ends with its session, at worst never."
    else:
        yield (
            "A module leaves without a word and its lease runs on: at best from its last renewal "
            "at half the lease, at worst from the moment it left."
        )
    if len(shown) < len(spans):
        yield (
            f"Drawn are the {len(shown)} of {len(spans)} times in which most leases are wanted; "
            "the table has the others."
        )
    if len(shown) > 1:
        yield "Times in which nothing changes are left out between them."
