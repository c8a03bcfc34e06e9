"""What a kit uses of everything that is limited, as a table and as JSON."""

from collections.abc import Iterator
from datetime import datetime

from tabulate import tabulate

from auditor.reports.as_json import json_text
from auditor.reports.escaping import on_one_line
from auditor.reports.layout import USUAL_WIDTH, wrapped
from auditor.survey.timetable import moment_in_words
from auditor.tasks.capacity import Capacity, Leases, SerialLine

HEADINGS = ("what", "used", "limit", "margin", "when")
UNKNOWN = "unknown"
LONGEST_ID = 16
"""What of an id has room in 80 columns."""
Row = tuple[str, str, str, str, str]


def text(capacity: Capacity) -> str:
    """Return a table for a terminal of 80 columns, and a sentence for each thing that runs out."""
    table = tabulate(
        list(_rows(capacity)),
        HEADINGS,
        tablefmt="plain",
        disable_numparse=True,
        colalign=("left", "right", "right", "right", "left"),
    )
    lines = "\n".join(line.rstrip() for line in table.splitlines())
    said = (wrapped(each, USUAL_WIDTH) for each in sentences(capacity))
    return "\n".join([lines, "", *said, ""])


def sentences(capacity: Capacity) -> list[str]:
    """Return a sentence for each thing that runs out, or the one that says that nothing does."""
    return list(_sentences(capacity)) or ["Nothing runs out, as far as the file tells."]


def json(capacity: Capacity) -> str:
    """Return the capacity as JSON, format 1."""
    stations, leases, air = capacity.stations, capacity.leases, capacity.airtime
    document = {
        "stations": {
            "peak": stations.peak,
            "limit": stations.limit,
            "margin": stations.margin,
            "when": _iso(stations.when),
        },
        "leases": {
            "best_peak": leases.best_peak,
            "worst_peak": leases.worst_peak,
            "size": leases.size,
            "margin": leases.margin,
            "when": _iso(leases.when),
            "runs_out_at": _iso(leases.runs_out_at),
        },
        "airtime": {
            "share": _rounded(air.share),
            "limit": _rounded(air.limit),
            "margin": _rounded(air.margin),
        },
        "serial": [_line(line) for line in capacity.serial],
    }
    return json_text(document)


def _line(line: SerialLine) -> dict[str, str | float | None]:
    return {
        "id": line.id,
        "load": _rounded(line.load),
        "limit": _rounded(line.limit),
        "margin": _rounded(line.margin),
        "share": _rounded(line.share),
        "unit": "bytes/s",
    }


def _rows(capacity: Capacity) -> Iterator[Row]:
    stations, leases, air = capacity.stations, capacity.leases, capacity.airtime
    yield (
        "stations",
        str(stations.peak),
        _whole(stations.limit),
        _whole(stations.margin),
        _when(stations.when),
    )
    at_best = None if leases.size is None else leases.size - leases.best_peak
    yield "leases, at best", str(leases.best_peak), _whole(leases.size), _whole(at_best), ""
    yield (
        "leases, at worst",
        str(leases.worst_peak),
        _whole(leases.size),
        _whole(leases.margin),
        _when(leases.when),
    )
    yield "airtime", _percent(air.share), _percent(air.limit), _percent(air.margin), ""
    yield _serial_row(capacity)


def _serial_row(capacity: Capacity) -> Row:
    """Return the row of the fullest serial line."""
    line = _fullest(capacity)
    if line is None or line.share is None:
        return "serial line", UNKNOWN, UNKNOWN, UNKNOWN, ""
    name = on_one_line(line.id)
    short = name if len(name) <= LONGEST_ID else f"{name[: LONGEST_ID - 1]}…"
    return (
        "serial line",
        _percent(line.share),
        _percent(1.0),
        _percent(1 - line.share),
        f"{short}, the fullest",
    )


def _fullest(capacity: Capacity) -> SerialLine | None:
    known = [line for line in capacity.serial if line.share is not None]
    return max(known, key=lambda line: line.share or 0.0, default=None)


def _sentences(capacity: Capacity) -> Iterator[str]:
    stations, leases, air = capacity.stations, capacity.leases, capacity.airtime
    fullest = _fullest(capacity)
    if stations.margin is not None and stations.margin < 0:
        yield f"The access point takes {stations.limit} of {stations.peak} stations."
    if leases.sentence:
        yield leases.sentence
    elif leases.margin is not None and leases.margin < 0:
        yield f"The pool has room for {leases.size} of {leases.worst_peak} leases{_unless(leases)}."
    if air.margin is not None and air.margin < 0:
        yield f"Beacons and broadcasts take {_percent(air.share)} of the channel."
    if fullest is not None and (fullest.share or 0.0) > 1:
        yield f"Bytes are lost on the serial line of {fullest.id}."


def _unless(leases: Leases) -> str:
    """Return the reservation under which the worst case stands without a lease time."""
    return "" if leases.when is None else ", unless old leases end in time (no lease_time is given)"


def _iso(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def _when(moment: datetime | None) -> str:
    return "" if moment is None else moment_in_words(moment)


def _rounded(number: float | None) -> float | None:
    return None if number is None else round(number, 6)


def _whole(number: int | None) -> str:
    return UNKNOWN if number is None else str(number)


def _percent(share: float | None) -> str:
    return UNKNOWN if share is None else f"{share:.1%}"
