"""The profiles that ship, and one of them or of a user's own looked at whole."""

from collections.abc import Iterator
from datetime import timedelta
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

from auditor.checks import CHECKS
from auditor.compute import radio
from auditor.compute.near_misses import nearest
from auditor.models.forms import Table
from auditor.models.meanings import meanings, unit_of
from auditor.models.places import Place, Places
from auditor.models.profile import IndicatorLook, Policy, Region
from auditor.reading.files import read_text
from auditor.reading.problems import Problem, UnusableError, quoted, unusable
from auditor.reading.profiles import KINDS, find, is_path, likely_regions, shipped_names
from auditor.reading.quoting import named
from auditor.reading.toml import parse
from auditor.reading.validation import validated

APART = ("title", "about", "sources", "name", "source", "rule")
"""What is said beside the values of a profile."""
LONGEST_NAME = 100


class Entry(NamedTuple):
    """A profile, what it is of and what it is called."""

    kind: str
    name: str
    profile: Any

    @property
    def title(self) -> str:
        """What the profile calls itself; a region is called by its country."""
        return str(self.profile.name if self.kind == "region" else self.profile.title)

    @property
    def about(self) -> str:
        """What the profile stands for."""
        return "" if self.kind == "region" else str(self.profile.about)

    @property
    def sources(self) -> tuple[str, ...]:
        """Where the values come from, in the profile's own words."""
        return (self.profile.source,) if self.kind == "region" else self.profile.sources


class Value(NamedTuple):
    """A value of a profile in its unit; durations are in seconds."""

    key: str
    value: Any
    unit: str
    meaning: str


class Channels(NamedTuple):
    """Neighbouring channels of 20 MHz with one limit of radiated power (EIRP)."""

    band: str
    channels: tuple[int, ...]
    limit_dbm: float
    ofdm: bool
    may_initiate: bool


def shipped(kind: str | None = None) -> list[Entry]:
    """Return the profiles that ship, those of one kind only if it is named."""
    return [entry for each in KINDS if kind in (None, each) for entry in _of_kind(each)]


def entries(name: str, kind: str | None = None) -> list[Entry]:
    """Return the profiles of a name, of which a kind has one at most, or the one at a path.

    Raises:
        UnusableError: there is none, or what stands in it does not fit.
    """
    if is_path(name):
        return [_at_path(name, kind)]
    found = [entry for entry in shipped(kind) if entry.name.lower() == name.lower()]
    if not found:
        raise unusable(Place("profiles"), _unknown(name, kind))
    return found


def values(profile: Table) -> Iterator[Value]:
    """Give every value that a profile gives, in the order in which the format lists them."""
    kind, said = type(profile), meanings(type(profile))
    for key in kind.model_fields:
        if key in profile.model_fields_set and key not in APART:
            value = getattr(profile, key)
            yield from _values(key, value, unit_of(kind, key), said.get(key, ""))


def channels(region: Region) -> Iterator[Channels]:
    """Give the channels that a region permits, band by band."""
    for band in radio.Band:
        limits = [(_limits(each, band, region), each) for each in radio.channels(band)]
        for limit, group in groupby(limits, key=lambda pair: pair[0]):
            if limit is not None:
                yield Channels(band.value, tuple(channel for _, channel in group), *limit)


def _limits(channel: int, band: radio.Band, region: Region) -> tuple[float, bool, bool] | None:
    rules = radio.covering_rules(channel, band, region.rules)
    if not rules:
        return None
    return (
        max(rule.radiated_dbm for rule in rules),
        any(rule.ofdm for rule in rules),
        any(rule.may_initiate for rule in rules),
    )


def _of_kind(kind: str) -> Iterator[Entry]:
    for name in shipped_names(KINDS[kind]):
        yield Entry(kind, name.upper() if kind == "region" else name, find(KINDS[kind], name, Path))


def _unknown(name: str, kind: str | None) -> str:
    """Return what is wrong with a name, with the nearest one."""
    regions = [each.code for each in likely_regions(name[:LONGEST_NAME])]
    close = nearest(name[:LONGEST_NAME], [entry.name for entry in shipped(kind)])
    meant = ", ".join(regions) if regions and kind in (None, "region") else close
    hint = f"did you mean {meant}?" if meant else 'see "auditor profiles" for all of them'
    given = quoted(name) if close else named(name, "what is given")
    return f"{given} is not a {kind or 'shipped'} profile; {hint}"


def _at_path(name: str, kind: str | None) -> Entry:
    data, places = parse(read_text(Path(name), name), name)
    kind = kind or _likely_kind(data, places)
    profile = validated(KINDS[kind], data, places, lambda written: True)
    if isinstance(profile, Policy):
        _require_checks(profile, places)
    return Entry(kind, name, profile)


def _likely_kind(data: dict[str, Any], places: Places) -> str:
    """Return the kind of profile that has the most of a document's keys."""
    shared = {each: len(data.keys() & table.model_fields) for each, table in KINDS.items()}
    most = [each for each, count in shared.items() if count == max(shared.values())]
    if len(most) > 1:
        reason = f"could be a profile of each of these: {', '.join(most)}; say which with --kind"
        if not max(shared.values()):
            reason = f"is no profile: none of its keys is of a {', '.join(most[:-1])} or {most[-1]}"
        raise unusable(Place(places.file), reason)
    return most[0]


def _require_checks(policy: Policy, places: Places) -> None:
    unknown = [id for id in policy.severities if id not in CHECKS]
    if unknown:
        raise UnusableError(Problem(places.of("severities", id), _no_check(id)) for id in unknown)


def _no_check(id: str) -> str:
    close = nearest(id[:LONGEST_NAME], CHECKS)
    hint = f"did you mean {close}?" if close else 'see "auditor checks" for all of them'
    return f"is not a check; {hint}"


def _values(key: str, value: Any, unit: str, meaning: str) -> Iterator[Value]:
    if isinstance(value, Table) and not isinstance(value, IndicatorLook):
        for inner in values(value):
            yield inner._replace(key=f"{key}.{inner.key}")
    elif isinstance(value, dict):
        for name, each in value.items():
            said = CHECKS[name].title if name in CHECKS else meaning
            yield Value(f"{key}.{name}", _plain(each), unit, said)
    elif isinstance(value, timedelta):
        yield Value(key, value.total_seconds(), "s", meaning)
    elif isinstance(value, IndicatorLook):
        rate = {} if value.rate is None else {"rate": _plain(value.rate)}
        yield Value(key, {"state": value.state.value, **rate}, "Hz" if rate else "", meaning)
    else:
        yield Value(key, _plain(value), unit, meaning)


def _plain(value: Any) -> Any:
    """Return a value as JSON has it."""
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    return str(value) if isinstance(value, str) else value
