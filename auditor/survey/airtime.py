"""The airtime: what the kit's broadcasts and the beacons take from the channel.

Unicast frames are left out: they go at rates that the stations settle among themselves, which no
plan tells. A broadcast is counted at the lowest basic rate both on its way to the access point
and from there to all, as it is for a module at the edge of reach.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from auditor.compute.addresses import LIMITED_BROADCAST
from auditor.compute.airtime import (
    CCK_RATES,
    DSSS_RATES,
    MAX_NAME_OCTETS,
    OFDM_RATES,
    beacon_duration_us,
    channel_share,
    relayed_broadcast_us,
    wired_broadcast_us,
)
from auditor.compute.datagrams import LARGEST_WHOLE_MESSAGE_BYTES
from auditor.compute.radio import Band
from auditor.models.fleet import Host
from auditor.models.words import Link, Security, Standard
from auditor.survey.kit import Survey
from auditor.survey.module import Module

USUAL_BEACON_INTERVAL_S = 0.1024  # 100 time units of 1024 µs: hostapd.conf, beacon_int
USUAL_BASIC_RATE_MBPS = {Band.GHZ_2_4: 1.0, Band.GHZ_5: 6.0}  # hostapd.conf, basic_rates
BAND_GHZ = {Band.GHZ_2_4: 2.4, Band.GHZ_5: 5.0}
LEGAL_RATES_MBPS = {
    Band.GHZ_2_4: tuple(sorted((*DSSS_RATES, *CCK_RATES, *OFDM_RATES))),
    Band.GHZ_5: OFDM_RATES,
}


@dataclass(frozen=True)
class Airtime:
    """Shares of the channel, 1 being all of it, at one lowest basic rate.

    `talkers` counts those whose messages go to all.
    """

    beacons: float
    broadcasts: float
    talkers: int
    interval_s: float
    basic_rate_mbps: float

    @property
    def share(self) -> float:
        """Beacons and broadcasts together."""
        return self.beacons + self.broadcasts

    def interval_for_s(self, share: float) -> float | None:
        """Return the message interval that brings all down to a share; None if none does."""
        left = share - self.beacons
        return self.interval_s * self.broadcasts / left if left > 0 else None


@dataclass(frozen=True)
class _Medium:
    """What the duration of a frame depends on, beside its length."""

    protection: str
    rate_mbps: float
    band_ghz: float

    def broadcast_us(self, payload_bytes: int, link: Link) -> float:
        """Return what one message to all takes, in as many frames as it needs."""
        full, rest = divmod(payload_bytes, LARGEST_WHOLE_MESSAGE_BYTES)
        whole_us = full * self._frame_us(LARGEST_WHOLE_MESSAGE_BYTES, link) if full else 0.0
        return whole_us + (self._frame_us(rest, link) if rest or not full else 0.0)

    def _frame_us(self, payload_bytes: int, link: Link) -> float:
        protection, rate_mbps, band_ghz = self.protection, self.rate_mbps, self.band_ghz
        if link is Link.WIRED:
            return wired_broadcast_us(payload_bytes, protection, rate_mbps, band_ghz)
        cost = relayed_broadcast_us(payload_bytes, protection, rate_mbps, rate_mbps, band_ghz)
        return cost.total_us


def airtime(survey: Survey, basic_rate_mbps: float | None = None) -> Airtime | None:
    """Return the airtime at a legal basic rate, or at the planned one; None if it is not known."""
    rate_mbps = planned_basic_rate_mbps(survey) if basic_rate_mbps is None else basic_rate_mbps
    protection = _protection(survey.security)
    interval = survey.fleet.traffic.message_interval
    sizes = broadcasts(survey)
    if protection is None or not interval or sizes is None:
        return None
    medium = _Medium(protection, rate_mbps, BAND_GHZ[_band(survey)])
    total_us = sum(times * medium.broadcast_us(*each) for each, times in sizes.items())
    interval_s = interval.total_seconds()
    return Airtime(
        beacons=_beacon_share(survey, medium),
        broadcasts=channel_share(total_us, interval_s),
        talkers=sizes.total(),
        interval_s=interval_s,
        basic_rate_mbps=rate_mbps,
    )


def broadcasts(survey: Survey) -> Counter[tuple[int, Link]] | None:
    """Return how many talkers send to all, by message (bytes) and link; None if one is unknown."""
    found: Counter[tuple[int | None, Link]] = Counter()
    for module, count in _talking_modules(survey):
        found[module.message_bytes, Link.WIRELESS] += count
    planned_bytes = survey.fleet.traffic.message_bytes
    found.update((planned_bytes, host.link) for host in _talking_hosts(survey))
    known = Counter({(size, link): n for (size, link), n in found.items() if size is not None})
    return known if len(known) == len(found) else None


def has_broadcasts(survey: Survey) -> bool:
    """Say whether anybody sends messages that leave the access point as frames to a group."""
    return any(_talking_modules(survey)) or bool(_talking_hosts(survey))


def beacon_interval_s(survey: Survey) -> float:
    """Return the planned beacon interval in seconds, or the usual one."""
    planned = survey.network.beacon_interval
    return planned.total_seconds() if planned else USUAL_BEACON_INTERVAL_S


def planned_basic_rate_mbps(survey: Survey) -> float:
    """Return the lowest basic rate, in Mb/s: the legal one at or below what is planned."""
    band = _band(survey)
    planned = survey.network.lowest_basic_rate
    if planned is None:
        return USUAL_BASIC_RATE_MBPS[band]
    legal = LEGAL_RATES_MBPS[band]
    return max((rate for rate in legal if rate <= planned), default=legal[0])


def faster_basic_rates_mbps(survey: Survey) -> tuple[float, ...]:
    """Return the legal basic rates above the planned one that every module's profile can."""
    planned = planned_basic_rate_mbps(survey)
    only_b = any(
        module.profile and set(module.profile.standards) == {Standard.B}
        for module in (kind.module for kind in survey.kinds)
    )
    legal = (*DSSS_RATES, *CCK_RATES) if only_b else LEGAL_RATES_MBPS[_band(survey)]
    return tuple(rate for rate in legal if rate > planned)


def _talking_modules(survey: Survey) -> Iterator[tuple[Module, int]]:
    """Give the modules whose messages go to all, one of those that fare alike and their number."""
    for group in survey.groups:
        if survey.target_of(group.module) == LIMITED_BROADCAST:
            yield group.module, len(group.indexes)


def _talking_hosts(survey: Survey) -> tuple[Host, ...]:
    """Return the hosts that are named as talkers, where the kit's messages go to all."""
    if survey.talkers is None or survey.traffic_sum.host_target != LIMITED_BROADCAST:
        return ()
    return tuple(host for host in survey.hosts if host.name in survey.talkers.others)


def _beacon_share(survey: Survey, medium: _Medium) -> float:
    name_octets = len((survey.network_name or "").encode("utf-8", "surrogatepass"))
    beacon_us = beacon_duration_us(
        min(name_octets, MAX_NAME_OCTETS), medium.rate_mbps, medium.band_ghz
    )
    return channel_share(beacon_us, beacon_interval_s(survey))


def _band(survey: Survey) -> Band:
    """Return the band; 2.4 GHz, where modules live, unless the plan knows only the other."""
    return Band.GHZ_5 if survey.bands == {Band.GHZ_5} else Band.GHZ_2_4


def _protection(security: Security | None) -> str | None:
    """Return what frames to a group are protected by; a mixed network takes the older cipher."""
    if security is None:
        return None
    if security is Security.OPEN:
        return "open"
    if security.is_wep:
        return "wep"
    older = (Security.WPA, Security.WPA_WPA2, Security.WPA_ENTERPRISE)
    return "tkip" if security in older else "ccmp"
