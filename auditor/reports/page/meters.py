"""What is used of each limit as a bar with a mark at the limit, and in words and figures."""

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum

from auditor.reports.layout import listed
from auditor.survey.timetable import moment_in_words
from auditor.tasks.capacity import Capacity, Channel, Leases, SerialLine, Stations

WIDTH = 320
NEARLY_FULL = 0.8
"""From this share on a limit is near (common practice, no source)."""
MOST_LINES = 20
UNKNOWN = "not known"


class Level(StrEnum):
    """How much of a limit is used."""

    FREE = "free"
    NEARLY_FULL = "nearly full"
    EXCEEDED = "exceeded"
    UNKNOWN = "not known"


@dataclass(frozen=True)
class Meter:
    """A bar in the units of the drawing, and the same in words.

    `modules` are those that it is about, where it is not about all. `used_width` is cut at the
    limit, `over_width` is what is beyond; the mark of the limit is at `limit_x`, None where it is
    not known.
    """

    name: str
    level: Level
    used: str
    limit: str
    margin: str
    note: str
    modules: str
    used_width: float
    over_width: float
    limit_x: float | None
    width: int = WIDTH

    @property
    def against(self) -> str:
        """What stands behind the used figure: the limit, as far as it is known."""
        if self.limit == UNKNOWN:
            return "" if self.used == UNKNOWN else "used, of a limit that is not known"
        return f"of at most {self.limit}" if self.used == UNKNOWN else f"of {self.limit}"

    @property
    def description(self) -> str:
        """The bar in a sentence."""
        margin = f"; {self.margin}" if self.margin else ""
        return f"{self.used} {self.against}".strip() + f"{margin}."


@dataclass(frozen=True)
class LineLoad:
    """What the serial lines carry that are alike, in bytes per second."""

    modules: str
    count: int
    load: str
    limit: str
    share: str
    level: Level


def meters(capacity: Capacity) -> tuple[Meter, ...]:
    """Return a meter for each thing that the kit shares, and for the fullest serial line."""
    return (
        _stations(capacity.stations),
        _leases(capacity.leases),
        _airtime(capacity.airtime),
        _serial(capacity.serial),
    )


def line_loads(capacity: Capacity) -> tuple[tuple[LineLoad, ...], int]:
    """Return the serial lines, the fullest first, and how many kinds of them are left out."""
    alike: dict[tuple[float | None, float | None], list[SerialLine]] = defaultdict(list)
    for line in capacity.serial:
        alike[line.load, line.limit].append(line)
    lines = sorted(alike.values(), key=lambda each: -(each[0].share or 0.0))
    return tuple(map(_line_load, lines[:MOST_LINES])), len(lines[MOST_LINES:])


def _line_load(lines: list[SerialLine]) -> LineLoad:
    share = lines[0].share
    return LineLoad(
        modules=listed(line.id for line in lines),
        count=len(lines),
        load=_rate(lines[0].load),
        limit=_rate(lines[0].limit),
        share=UNKNOWN if share is None else _percent(share),
        level=level_of(share),
    )


def level_of(share: float | None) -> Level:
    """Return how full something is whose share of its limit is known; 1 is just full."""
    if share is None:
        return Level.UNKNOWN
    if share > 1:
        return Level.EXCEEDED
    return Level.NEARLY_FULL if share >= NEARLY_FULL else Level.FREE


def _stations(stations: Stations) -> Meter:
    when = f"Most of them on {moment_in_words(stations.when)}." if stations.when else "All at once."
    return _counted("Stations at the access point", stations.peak, stations.limit, when)


def _leases(leases: Leases) -> Meter:
    if leases.best_peak == leases.worst_peak:
        case = "In the best and the worst case alike."
    else:
        case = f"In the worst case; in the best case {leases.best_peak}."
    when = f" Most of them on {moment_in_words(leases.when)}." if leases.when else ""
    return _counted("Leases from the pool", leases.worst_peak, leases.size, f"{case}{when}")


def _counted(name: str, used: int, limit: int | None, note: str) -> Meter:
    """Return the meter of something that is counted."""
    share = _share(used, limit)
    margin = None if limit is None else limit - used
    return _meter(name, share, (str(used), _whole(limit), _margin_in_words(margin, "")), note)


def _airtime(air: Channel) -> Meter:
    share = None if air.share is None else air.share / air.limit if air.limit else None
    margin = None if air.margin is None else round(air.margin * 100, 1)
    words = (
        UNKNOWN if air.share is None else _percent(air.share),
        _percent(air.limit),
        _margin_in_words(margin, " %"),
    )
    return _meter("Airtime of beacons and broadcasts", share, words, "Share of the channel.")


def _serial(lines: tuple[SerialLine, ...]) -> Meter:
    known = [line for line in lines if line.share is not None]
    name = "The fullest serial line"
    if not known:
        return _meter(name, None, (UNKNOWN, UNKNOWN, ""), "")
    fullest = max(known, key=lambda line: line.share or 0.0)
    margin = None if fullest.margin is None else round(fullest.margin, 1)
    words = (_rate(fullest.load), _rate(fullest.limit), _margin_in_words(margin, " bytes/s"))
    modules = listed(line.id for line in known if line.share == fullest.share)
    return _meter(name, fullest.share, words, "", modules)


def _meter(
    name: str, share: float | None, words: tuple[str, str, str], note: str, modules: str = ""
) -> Meter:
    """Return a meter; used, limit and margin in words."""
    used, limit, margin = words
    scale = max(1.0, share or 0.0)
    limit_x = None if share is None else WIDTH / scale
    used_width = 0.0 if share is None else WIDTH * min(share, 1.0) / scale
    over_width = 0.0 if share is None else WIDTH * max(share - 1.0, 0.0) / scale
    return Meter(
        name=name,
        level=level_of(share),
        used=used,
        limit=limit,
        margin=margin,
        note=note,
        modules=modules,
        used_width=round(used_width, 1),
        over_width=round(over_width, 1),
        limit_x=None if limit_x is None else round(limit_x, 1),
    )


def _share(used: int, limit: int | None) -> float | None:
    """Return the share of a limit; of a limit of 0 anything is too much."""
    if limit is None:
        return None
    return used / limit if limit else float(used + 1) if used else 0.0


def _margin_in_words(margin: float | None, unit: str) -> str:
    """Return what is left, or missing; nothing where that is not known."""
    if margin is None:
        return ""
    return f"{-margin:,g}{unit} too many" if margin < 0 else f"{margin:,g}{unit} left"


def _whole(number: int | None) -> str:
    return UNKNOWN if number is None else f"{number:,}"


def _percent(share: float) -> str:
    return f"{share:.1%}".replace("%", " %")


def _rate(bytes_per_s: float | None) -> str:
    return UNKNOWN if bytes_per_s is None else f"{bytes_per_s:,.4g} bytes/s"
