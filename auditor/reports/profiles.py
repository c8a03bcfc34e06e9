"""The profiles that ship, and single ones whole, as text and as JSON."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from fractions import Fraction
from itertools import groupby
from typing import Any

from tabulate import tabulate

from auditor.compute.radio import Band
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region
from auditor.models.quantities import shown_duration, shown_frequency
from auditor.reports.as_json import json_text
from auditor.reports.layout import USUAL_WIDTH, counted, listed, wrapped
from auditor.tasks.profiles import Channels, Entry, Value, channels, values

LIMITS_CHANGE = "Limits change, and your own regulator decides: ask there before you transmit."
_LIST = (("kind", 10), ("name", 22), ("title", 22), ("says", 20))
_VALUES = (("key", 26), ("value", 20), ("means", 30))
_CHANNELS = (("band", 7), ("channels", 29), ("at most", 9), ("note", 29))
_ONLY_802_11B = "802.11b only"
_HEARS_FIRST = "once an access point is heard"
_EVERY_CHANNEL = 1000
_KILO = 1000


def listing(entries: Iterable[Entry]) -> str:
    """Return a table of profiles for a terminal of 80 columns: each in a word or two."""
    rows = [(each.kind, each.name, each.title, _in_a_word(each.profile)) for each in entries]
    more = '"auditor profiles NAME" shows one whole.'
    return f"{_table(_LIST, rows)}\n\n{more}\n"


def text(entries: Iterable[Entry]) -> str:
    """Return profiles whole: each value with its unit, what it means, and all the sources."""
    return "\n\n\n".join("\n\n".join(_parts(entry)) for entry in entries) + "\n"


def listing_json(entries: Iterable[Entry]) -> str:
    """Return a list of profiles as JSON."""
    return json_text(
        {"profiles": [{**_head(each), "says": _in_a_word(each.profile)} for each in entries]}
    )


def json(entries: Iterable[Entry]) -> str:
    """Return profiles whole as JSON: a duration in seconds, all else in the unit beside it."""
    return json_text({"profiles": [_whole(entry) for entry in entries]})


def _parts(entry: Entry) -> Iterator[str]:
    yield wrapped(f"{entry.name}: {entry.kind} profile", USUAL_WIDTH)
    yield "\n".join(wrapped(each, USUAL_WIDTH) for each in (entry.title, entry.about) if each)
    if isinstance(entry.profile, Region):
        if entry.profile.also_written:
            yield wrapped(f"also written: {', '.join(entry.profile.also_written)}", USUAL_WIDTH)
        yield _table(_CHANNELS, map(_channel_row, channels(entry.profile)))
        yield wrapped(f"At most: radiated power (EIRP). {LIMITS_CHANGE}", USUAL_WIDTH)
    elif rows := list(_value_rows(values(entry.profile))):
        yield _table(_VALUES, rows)
    if said := [*entry.sources, *_sources_of_rules(entry.profile)]:
        lines = (wrapped(each, USUAL_WIDTH, "  ", "    ") for each in said)
        yield "\n".join(["where the values come from:", *lines])


def _value_rows(given: Iterable[Value]) -> Iterator[tuple[str, str, str]]:
    """Give a row for each value, table by table as they stand in the file."""
    in_order = sorted(given, key=lambda each: "." in each.key)
    for table, group in groupby(in_order, lambda each: _split(each)[0]):
        if table:
            yield f"[{table}]", "", ""
        yield from ((_split(each)[1], _shown(each), each.meaning) for each in group)


def _split(value: Value) -> tuple[str, str]:
    """Return the table of a value, empty where it stands in none, and its key there."""
    table, dot, key = value.key.partition(".")
    return (table, key) if dot else ("", table)


def _table(columns: Sequence[tuple[str, int]], rows: Iterable[Sequence[str]]) -> str:
    """Return a table whose cells go on in further lines where they are longer than their column."""
    headings, widths = zip(*columns, strict=True)
    cells = [[wrapped(*each) for each in zip(row, widths, strict=True)] for row in rows]
    drawn = tabulate(cells, headings, tablefmt="plain", disable_numparse=True)
    return "\n".join(line.rstrip() for line in drawn.splitlines())


def _channel_row(each: Channels) -> tuple[str, str, str, str]:
    notes = (_ONLY_802_11B if not each.ofdm else "", _HEARS_FIRST if not each.may_initiate else "")
    return (
        each.band,
        _listed(each.channels),
        f"{each.limit_dbm:g} dBm",
        ", ".join(filter(None, notes)),
    )


def _sources_of_rules(profile: Any) -> Iterator[str]:
    """Give the sources of single rules of a region, each with its stretch."""
    for rule in profile.rule if isinstance(profile, Region) else ():
        if rule.source:
            yield f"{rule.low_mhz:g} to {rule.high_mhz:g} MHz: {rule.source}"


def _in_a_word(profile: Any) -> str:
    """Return what tells a profile from others of its kind."""
    match profile:
        case ModuleProfile():
            fastest = max((*profile.serial_rates, profile.fastest or 0))
            return ", ".join((*profile.bands, f"to {fastest} Bd"))
        case ControllerProfile():
            clock = () if profile.clock is None else (shown_frequency(profile.clock),)
            return ", ".join((*clock, *filter(None, (profile.divisor_rule,))))
        case Policy():
            holds = shown_duration(profile.thresholds.attack_time)
            return f"passphrases hold {holds}, {counted(len(profile.severities), 'check')} changed"
    low = [each.channels for each in channels(profile) if each.band == Band.GHZ_2_4]
    return f"{Band.GHZ_2_4}: {_listed(sum(low, ()))}"


def _shown(value: Value) -> str:
    """Return a value as people write it, with its unit."""
    given = value.value
    if isinstance(given, dict):
        rate = f" {given['rate']:g} Hz" if "rate" in given else ""
        return f"{given['state']}{rate}"
    if isinstance(given, bool):
        return "yes" if given else "no"
    if isinstance(given, list):
        is_of_channels = value.key.startswith("channels.")
        joined = _listed(given) if is_of_channels else ", ".join(map(str, given))
        return f"{joined or 'none'} {value.unit}".strip()
    return _measured(given, value.unit) if not isinstance(given, str) else given


def _listed(numbers: Iterable[int]) -> str:
    return listed(map(str, numbers), _EVERY_CHANNEL)


def _measured(number: float, unit: str) -> str:
    if unit == "s":
        return shown_duration(timedelta(seconds=number))
    if unit == "Hz" and number >= _KILO:
        return shown_frequency(Fraction(number))
    return f"{number:.10g} {unit}".strip()


def _head(entry: Entry) -> dict[str, Any]:
    return {"kind": entry.kind, "name": entry.name, "title": entry.title}


def _whole(entry: Entry) -> dict[str, Any]:
    whole = {
        **_head(entry),
        "about": entry.about,
        "sources": [*entry.sources, *_sources_of_rules(entry.profile)],
        "values": [each._asdict() for each in values(entry.profile)],
    }
    if isinstance(entry.profile, Region):
        whole["channels"] = [each._asdict() for each in channels(entry.profile)]
        whole["caution"] = LIMITS_CHANGE
    return whole
