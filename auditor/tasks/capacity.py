"""How full things get: places at the access point, leases, the channel, the serial lines."""

from dataclasses import dataclass
from datetime import date, datetime

from auditor.models.fleet_file import FleetFile
from auditor.survey.airtime import airtime
from auditor.survey.kit import Survey
from auditor.survey.line import LineLoad, line_load
from auditor.survey.timetable import (
    LeasePlan,
    crowds,
    lease_plan,
    peak_of,
    shortage_sentence,
)


@dataclass(frozen=True)
class Stations:
    """The most stations that need a place at one moment; None where limit or moment is unknown."""

    peak: int
    limit: int | None
    when: datetime | None

    @property
    def margin(self) -> int | None:
        """The places that stay free; below 0 where some are refused."""
        return None if self.limit is None else self.limit - self.peak


@dataclass(frozen=True)
class Leases:
    """The most leases that are wanted at one moment, as those who leave renewed early or late.

    `size` is the pool's room; `sentence` says who runs out of addresses, where somebody does.
    """

    best_peak: int
    worst_peak: int
    size: int | None
    when: datetime | None
    runs_out_at: datetime | None
    sentence: str | None

    @property
    def margin(self) -> int | None:
        """The addresses that stay free in the worst case; below 0 where some are missing."""
        return None if self.size is None else self.size - self.worst_peak


@dataclass(frozen=True)
class Channel:
    """The share of the channel that beacons and broadcasts take; 1 is all of it."""

    share: float | None
    limit: float

    @property
    def margin(self) -> float | None:
        """The share that stays below the limit; below 0 beyond it."""
        return None if self.share is None else self.limit - self.share


@dataclass(frozen=True)
class SerialLine:
    """What all talkers send to a module, and what its line carries, in bytes per second."""

    id: str
    load: float | None
    limit: float | None

    @property
    def margin(self) -> float | None:
        """The bytes per second that stay free; below 0 where some are lost."""
        return None if self.load is None or self.limit is None else self.limit - self.load

    @property
    def share(self) -> float | None:
        """The load as a share of what the line carries."""
        return self.load / self.limit if self.load is not None and self.limit else None


@dataclass(frozen=True)
class Capacity:
    """How full everything gets that the kit shares, and each module's serial line."""

    stations: Stations
    leases: Leases
    airtime: Channel
    serial: tuple[SerialLine, ...]

    @property
    def is_exceeded(self) -> bool:
        """Whether anything takes more than there is of it."""
        shared = (self.stations.margin, self.leases.margin, self.airtime.margin)
        margins = (*shared, *(line.margin for line in self.serial))
        return any(margin is not None and margin < 0 for margin in margins)


def capacity(file: FleetFile) -> Capacity:
    """Return what a kit uses of everything that is limited."""
    return capacity_of(Survey(file, date.min))  # nothing here depends on the day


def capacity_of(survey: Survey) -> Capacity:
    """Return what the kit of a survey uses of everything that is limited."""
    air = airtime(survey)
    return Capacity(
        stations=_stations(survey),
        leases=_leases(lease_plan(survey), survey),
        airtime=Channel(
            share=air.share if air else None,
            limit=float(survey.policy.thresholds.airtime_risk) / 100,
        ),
        serial=_serial_lines(survey),
    )


def _stations(survey: Survey) -> Stations:
    peak = peak_of(crowds(survey))
    return Stations(peak.stations, survey.network.station_limit, peak.at)


def _leases(plan: LeasePlan, survey: Survey) -> Leases:
    """Return the leases over the timetable, or of everybody at once where there is none."""
    if not survey.sessions:
        everybody = plan.permanent + len(survey.competing)
        return Leases(everybody, everybody, plan.room, None, None, None)
    shortages = plan.judged.shortages
    return Leases(
        best_peak=plan.best.demand_peak,
        worst_peak=plan.worst.demand_peak,
        size=plan.room,
        when=plan.worst_peak_at,
        runs_out_at=shortages[0].at if shortages else None,
        sentence=shortage_sentence(shortages[0], survey) if shortages else None,
    )


def _serial_lines(survey: Survey) -> tuple[SerialLine, ...]:
    """Return the line of every module, in the order of the file."""
    loads: dict[int, LineLoad | None] = {}
    for group in survey.groups:
        loads.update(dict.fromkeys(group.indexes, line_load(group.module, survey)))
    ids = survey.entries.ids
    return tuple(_serial_line(id, loads[index]) for index, id in enumerate(ids))


def _serial_line(id: str, load: LineLoad | None) -> SerialLine:
    if load is None:
        return SerialLine(id, None, None)
    return SerialLine(id, load.bytes_per_s, load.capacity_bytes_per_s)
