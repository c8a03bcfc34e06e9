"""Record: the entry itself makes sense."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from ipaddress import IPv4Address
from itertools import count

from auditor.checks.registry import CHECKS, Scope, check
from auditor.compute.hardware import is_group, is_local
from auditor.compute.keys import NAME_OCTETS, name_octets
from auditor.compute.near_misses import nearest
from auditor.compute.radio import (
    CHANNELS,
    Band,
    highest_limit_dbm,
    radiated_limit_dbm,
    radiated_power_dbm,
)
from auditor.findings import Found, Stage
from auditor.models.fleet import Waiver
from auditor.models.places import Place
from auditor.models.profile import ModuleProfile
from auditor.models.quantities import shown
from auditor.models.words import Severity
from auditor.reading.profiles import is_path
from auditor.survey.kit import Survey
from auditor.survey.likely import MOST_GUESSED, likely_meant
from auditor.survey.module import Module
from auditor.survey.selection import id_ranges, select
from auditor.survey.timetable import DoubleBooking, double_bookings, moment_in_words

HARDWARE_ADDRESSES = "IEEE 802; RFC 9542, section 2.1"
FORMAT = "fleet file, format 1"
PRACTICE = "common practice, no source"
MOST_NAMED = 20

Choice = str | int | Fraction
"""What a profile may list of a setting."""


@check(Stage.RECORD, Severity.FAULT, FORMAT)
def duplicate_module_id(module: Module, survey: Survey) -> Iterator[Found]:
    """Two entries carry the same id.

    Nobody can say which of the two settings the board with that label has, and work meant for
    one of them is done on the other.

    Mend: Give each board a label of its own, and write that as its id.

    Example:
        [[module]]
        id = "TG-02"
        [[module]]
        id = "TG-02"
        hardware_address = "00:00:5e:00:53:05"
        addressing = "pooled"
    """
    same = survey.by_id.of(module.id)
    if len(same) > 1:
        others = [other.place("id") for other in _some_others(same, module, survey)]
        yield Found(
            f'The id "{module.id}" stands {len(same)} times; also at {others[0]}.',
            "Give each board an id of its own.",
            (module.place("id"), *others),
            {"id": module.id, "times": len(same)},
        )


def _some_others(same: Sequence[int], module: Module, survey: Survey) -> tuple[Module, ...]:
    """Return the first of the modules at some positions, without one of them."""
    return survey.at([at for at in same[: MOST_NAMED + 1] if at != module.index][:MOST_NAMED])


@check(Stage.RECORD, Severity.FAULT, HARDWARE_ADDRESSES)
def duplicate_hardware_address(module: Module, survey: Survey) -> Iterator[Found]:
    """Two entries carry the same hardware address.

    Every radio has its own. Two of one address on a network break each other's frames, and two
    entries of one address mean that one of them was copied down wrongly.

    Mend: Read the address off the board again and correct the entry that is wrong.

    Example:
        [[module]]
        id = "TG-03"
        hardware_address = "00:00:5e:00:53:02"
    """
    if module.hardware_address is None:
        return
    same = survey.by_hardware_address.of(module.hardware_address)
    if len(same) > 1:
        others = _some_others(same, module, survey)
        yield Found(
            f"{module.hardware_address} is also the hardware address of {others[0].id}.",
            "Read the address off both boards again and correct the wrong entry.",
            (
                module.place("hardware_address"),
                *(other.place("hardware_address") for other in others),
            ),
            {"hardware_address": module.hardware_address, "with": [other.id for other in others]},
        )


@check(Stage.RECORD, Severity.FAULT, HARDWARE_ADDRESSES)
def group_hardware_address(module: Module, survey: Survey) -> Iterator[Found]:
    """The hardware address is that of a group, not of one station.

    The lowest bit of its first octet is set. No station may send from such an address, so the
    entry was copied down wrongly, and reservations or accept lists made from it never match.

    Mend: Read the address off the board again.

    Example:
        [[module]]
        id = "TG-02"
        hardware_address = "01:00:5e:00:53:02"
    """
    if module.hardware_address and is_group(module.hardware_address):
        yield Found(
            f"{module.hardware_address} is a group address: its first octet is odd.",
            "Read the address off the board again; the first octet of a station's is even.",
            (module.place("hardware_address"),),
            {"hardware_address": module.hardware_address},
        )


@check(Stage.RECORD, Severity.ADVICE, HARDWARE_ADDRESSES, after=("group-hardware-address",))
def local_hardware_address(module: Module, survey: Survey) -> Iterator[Found]:
    """The hardware address says that it was made up locally, as random addresses do.

    A module that changes its address takes a fresh lease each time, and reservations and accept
    lists no longer match it. Some old registered prefixes carry the same bit, so the bit alone
    proves nothing.

    Mend: Make sure that the module keeps this address, and switch off random ones.

    Example:
        [[module]]
        id = "TG-02"
        hardware_address = "02:00:5e:00:53:02"
    """
    if module.hardware_address and is_local(module.hardware_address):
        yield Found(
            f"{module.hardware_address} is marked as locally administered.",
            "Make sure that the module keeps it; switch random addresses off.",
            (module.place("hardware_address"),),
            {"hardware_address": module.hardware_address},
        )


@check(Stage.RECORD, Severity.FAULT, FORMAT)
def unknown_profile(module: Module, survey: Survey) -> Iterator[Found]:
    """The profile that the module or its controller names does not exist.

    Without it nobody can say what the module can do, and the checks that rest on it are left
    out.

    Mend: Correct the name, or write the path of a profile of your own.

    Example:
        [[module]]
        id = "TG-02"
        profile = "generic-24ghz-wpa"
    """
    if module.profile_name and module.profile is None:
        place = module.place("profile")
        yield _unknown_profile(module.profile_name, "module", place, survey)
    name = module.controller.profile
    if name and module.controller_profile is None:
        yield _unknown_profile(name, "controller", module.part("controller", "profile"), survey)


def _unknown_profile(name: str, kind: str, place: Place, survey: Survey) -> Found:
    known = survey.file.known_profiles[kind]
    wanted, close = f"{kind} profile", nearest(name, known)
    if is_path(name):
        wanted, close = "file", None
    hint = f"Write {close}" if close else f"Write one of {', '.join(known)}"
    return Found(
        f'There is no {wanted} "{name}".',
        f'{hint}, or the path of your own, such as "profiles/{kind}.toml".',
        (place,),
        {"profile": name, "known": list(known)},
    )


@check(Stage.RECORD, Severity.FAULT, "the module's profile")
def setting_beyond_profile(module: Module, survey: Survey) -> Iterator[Found]:
    """A setting is one that this kind of module cannot be given.

    The module keeps its old value, or refuses the whole set, and works otherwise than planned.

    Mend: Choose a value that the profile lists, or correct the profile.

    Example:
        [serial]
        rate = 14400
    """
    for beyond in _beyond(module):
        yield Found(
            f"{beyond.key} {beyond.value} is beyond the profile {module.profile_name}: "
            f"{beyond.allowed}.",
            f"{beyond.remedy}, or correct the profile.",
            (module.place(beyond.key),),
            {beyond.key: beyond.value, "allowed": beyond.allowed},
        )


@dataclass(frozen=True)
class _Beyond:
    """A setting that the profile does not take: its value, what is allowed, and the way out."""

    key: str
    value: str
    allowed: str
    remedy: str


def _beyond(module: Module) -> Iterator[_Beyond]:
    """Give each setting that the profile does not take."""
    profile = module.profile
    if profile is None:
        return
    listed: tuple[tuple[str, Choice | None, Sequence[Choice]], ...] = (
        ("serial_rate", module.serial_rate, profile.serial_rates),
        ("data_bits", module.data_bits, profile.data_bits),
        ("parity", module.parity, profile.parity),
        ("stop_bits", module.stop_bits, profile.stop_bits),
        ("flow_control", module.flow_control, profile.flow_control),
        ("transport", module.transport, profile.transports),
    )
    for key, value, allowed in listed:
        if value is not None and allowed and value not in allowed:
            choices = ", ".join(map(shown, allowed))
            remedy = f"Set {key} to {_closest(value, allowed)}"
            yield _Beyond(key, shown(value), f"it can be {choices}", remedy)
    yield from _rate_out_of_range(module, profile)
    yield from _too_much_power(module, profile)
    yield from _too_long_a_name(module, profile)


def _closest(value: Choice, allowed: Sequence[Choice]) -> str:
    """Return the nearest of the allowed numbers, or all of the allowed words."""
    numbers = [each for each in allowed if not isinstance(each, str)]
    if isinstance(value, str) or not numbers:
        return " or ".join(map(shown, allowed))
    return shown(min(numbers, key=lambda each: abs(float(each) - float(value))))


def _rate_out_of_range(module: Module, profile: ModuleProfile) -> Iterator[_Beyond]:
    rate = module.serial_rate
    for limit, word, sign in ((profile.slowest, "least", 1), (profile.fastest, "most", -1)):
        if rate is not None and limit is not None and sign * rate < sign * limit:
            yield _Beyond(
                "serial_rate",
                str(rate),
                f"it is at {word} {limit} Bd",
                f"Set serial_rate to {limit}",
            )


def _too_much_power(module: Module, profile: ModuleProfile) -> Iterator[_Beyond]:
    power, most = module.transmit_power, profile.transmit_power
    if power is not None and most is not None and power > most:
        limit = f"{shown(most)} dBm"
        remedy = f'Set transmit_power to "{limit}"'
        yield _Beyond("transmit_power", f"{shown(power)} dBm", f"it is at most {limit}", remedy)


def _too_long_a_name(module: Module, profile: ModuleProfile) -> Iterator[_Beyond]:
    """Speak of a name that is legal, and longer than this kind of module takes."""
    octets, most = len(name_octets(module.network_name or "")), profile.network_name_octets
    if most is not None and most < octets <= max(NAME_OCTETS):
        yield _Beyond(
            "network_name",
            f"of {octets} octets",
            f"it has at most {most}",
            f"Choose a name of at most {most} octets, for the whole kit and the access point",
        )


@check(Stage.RECORD, Severity.RISK, PRACTICE)
def setting_not_saved(module: Module, survey: Survey) -> Iterator[Found]:
    """The settings were not written to the module's non-volatile memory.

    They hold until the supply goes away; after the first unplugging the old ones are back.

    Mend: Save the settings on the module, switch it off and on, and read them back.

    Example:
        [[module]]
        id = "TG-02"
        saved = false
    """
    if module.saved is False:
        yield Found(
            "The settings are not saved: they are gone when the supply is.",
            "Save them on the module, switch it off and on, and set saved = true.",
            (module.place("saved"),),
        )


@check(Stage.RECORD, Severity.RISK, "the region's table: its rules name their own sources")
def radiated_power_over_limit(module: Module, survey: Survey) -> Iterator[Found]:
    """Transmit power and antenna gain together radiate more than the region permits.

    It disturbs other users of the band and may be against the law. Where no channel is planned,
    only what is too much on every channel is said. The table is no legal advice: limits change,
    and the local regulator's text decides.

    Mend: Lower the transmit power, or use an antenna of less gain; ask your own regulator.

    Example:
        [[module]]
        id = "TG-02"
        transmit_power = "17 dBm"
        antenna_gain = "5 dBi"
    """
    power = module.transmit_power
    if power is None and module.profile:
        power = module.profile.transmit_power
    limit = None if power is None else _radiated_limit(module, survey)
    if limit is None or power is None:
        return
    gain = module.antenna_gain or 0
    radiated = round(radiated_power_dbm(float(power), float(gain)), 3)
    if radiated > limit:
        where = "on every channel" if survey.network.channel is None else "here"
        yield Found(
            f"{float(power):g} dBm with {float(gain):g} dBi radiates {radiated:g} dBm; "
            f"{survey.fleet.kit.region} permits at most {limit:g} dBm {where}.",
            f"Lower transmit_power to {limit - float(gain):g} dBm. Limits change: "
            "follow your local regulator.",
            (module.place("transmit_power"), module.place("antenna_gain")),
            {"radiated_dbm": radiated, "limit_dbm": limit},
        )


def _radiated_limit(module: Module, survey: Survey) -> float | None:
    """Return what the region permits on the planned channel, or else on the best one."""
    channel, region = survey.network.channel, survey.region
    band = survey.channel_band
    if region is None:
        return None
    if channel is None:
        limits = _highest_limits(survey)
        return max((limits[each] for each in limits.keys() & _bands(module, survey)), default=None)
    if band is None or channel not in CHANNELS[band]:
        return None
    return radiated_limit_dbm(channel, band, region.rules)


@lru_cache(maxsize=1)
def _highest_limits(survey: Survey) -> Mapping[Band, float]:
    """Return what the region permits on the best channel of each band."""
    rules = survey.region.rules if survey.region else ()
    limits = {band: highest_limit_dbm(band, rules) for band in Band}
    return {band: limit for band, limit in limits.items() if limit is not None}


def _bands(module: Module, survey: Survey) -> frozenset[Band]:
    """Return the bands on which the network and the module may be, as far as that is known."""
    known = module.profile.bands if module.profile else ()
    return (survey.bands or frozenset(Band)) & frozenset(known or Band)


@check(Stage.RECORD, Severity.ADVICE, FORMAT, scope=Scope.KIT)
def not_in_any_session(survey: Survey) -> Iterator[Found]:
    """A module attends none of the sessions of the timetable.

    What is worked out from the timetable leaves it out: it is counted neither among the leases
    nor among the stations.

    Mend: Add it to a session, or leave it out of the kit.

    Example:
        [[session]]
        name = "Monday morning"
        modules = ["TG-01..TG-03"]
    """
    if not survey.fleet.session or any(chosen.unknown for _, chosen in survey.sessions):
        return
    present = frozenset().union(*(chosen.indexes for _, chosen in survey.sessions))
    absent = [index for index in survey.everyone if index not in present]
    if absent:
        names = survey.ids(absent)
        yield Found(
            f"{len(absent)} of {len(survey.modules)} modules attend no session: "
            f"{id_ranges(names)}.",
            "Add them to the modules of a [[session]].",
            tuple(module.line for module in survey.at(absent[:MOST_NAMED])),
            {"modules": names},
        )


@check(Stage.RECORD, Severity.RISK, FORMAT, scope=Scope.KIT)
def module_in_two_sessions(survey: Survey) -> Iterator[Found]:
    """A module attends two sessions that run at the same time.

    It cannot be at two benches at once: one of the groups lacks it. Wherever stations and leases
    are counted it counts once, so that whatever stands in for it is not counted.

    Mend: Let one session end before the other begins, or take the module out of one of them.

    Example:
        [[session]]
        name = "Monday, late morning"
        start = 2026-03-02T11:00:00
        end = 2026-03-02T13:00:00
        modules = ["TG-02"]
    """
    for booking in double_bookings(survey):
        session, others = booking.session, booking.others
        ids = survey.ids(booking.modules)
        yield Found(
            _double_booking_words(booking, ids, survey),
            _apart(booking, survey),
            tuple(survey.place("session", each) for each in (session, *others[:MOST_NAMED])),
            {
                "session": survey.fleet.session[session].name,
                "others": [survey.fleet.session[each].name for each in others],
                "at": survey.fleet.session[session].start.isoformat(),
                "modules": ids,
            },
            concerns=booking.modules,
        )


def _double_booking_words(booking: DoubleBooking, ids: Sequence[str], survey: Survey) -> str:
    session, first, *more = (
        survey.fleet.session[number] for number in (booking.session, *booking.others)
    )
    another = "another " if first.name == session.name else ""
    others = f'{another}"{first.name}"' + (f" and {len(more)} more" if more else "")
    verb = "run" if more else "runs"
    who = "1 module attends" if len(ids) == 1 else f"{len(ids)} modules attend"
    both = "two of them" if more else "both"
    return (
        f'"{session.name}" begins on {moment_in_words(session.start)}, while {others} {verb}, '
        f"and {who} {both}: {id_ranges(ids)}."
    )


def _apart(booking: DoubleBooking, survey: Survey) -> str:
    """Return how a session and those that it begins during can be kept apart."""
    session, *before = (
        survey.fleet.session[number] for number in (booking.session, *booking.others)
    )
    ends = max(other.end for other in before).isoformat()
    earlier = ""
    if all(other.start < session.start for other in before):
        earlier = f", or the earlier one end at {session.start.isoformat()}"
    which = "these modules" if len(booking.modules) > 1 else "this module"
    return f'Let "{session.name}" begin at {ends}{earlier}, or take {which} out of one of them.'


@check(Stage.RECORD, Severity.RISK, FORMAT, scope=Scope.KIT)
def duplicate_host_name(survey: Survey) -> Iterator[Found]:
    """Two hosts with different addresses carry the same name.

    Nobody can say which of them a talker of that name is, or which one a message speaks of.

    Mend: Give each host a name of its own.

    Example:
        [[network.host]]
        name = "logger"
        [[network.host]]
        name = "logger"
        address = "10.20.0.11"
    """
    named: dict[str, dict[IPv4Address, int]] = defaultdict(dict)
    for number, host in enumerate(survey.hosts):
        named[host.name].setdefault(host.address, number)
    for name, numbers in named.items():
        if len(numbers) > 1:
            addresses = [str(address) for address in numbers]
            free = next(other for n in count(2) if (other := f"{name}-{n}") not in named)
            yield Found(
                f'{len(numbers)} hosts are called "{name}": {", ".join(addresses[:MOST_NAMED])}.',
                f'Give each a name of its own, such as "{free}".',
                tuple(survey.place("network", "host", each, "name") for each in numbers.values()),
                {"name": name, "addresses": addresses},
            )


@check(Stage.RECORD, Severity.RISK, FORMAT, scope=Scope.KIT)
def unknown_module_named(survey: Survey) -> Iterator[Found]:
    """A session or a waiver names a module that the kit does not have.

    What is worked out from the timetable then leaves out whoever is meant, and finds room where
    there may be none. A waiver covers fewer modules than it seems to: that is an advice.

    Mend: Correct the id, or take it out.

    Example:
        [[session]]
        name = "Monday afternoon"
        start = 2026-03-02T13:00:00
        end = 2026-03-02T16:00:00
        modules = ["TG-01..TG-04", "TG-44"]
    """
    for number, (name, place, severity) in enumerate(_unknown_names(survey)):
        close = likely_meant(name, survey.by_id) if number < MOST_GUESSED else None
        yield Found(
            f'No module of this kit is called "{name}".',
            f"Write {close}, or take it out." if close else "Take it out.",
            (place,),
            {"name": name},
            severity=severity,
        )


def _unknown_names(survey: Survey) -> Iterator[tuple[str, Place, Severity | None]]:
    """Give every name in a session or a waiver that means nobody, where it stands, how grave."""
    for number, chosen in survey.sessions:
        place = survey.place("session", number, "modules")
        yield from ((name, place, None) for name in chosen.unknown)
    for number, waiver in enumerate(survey.fleet.waiver):
        place = survey.place("waiver", number, "modules")
        chosen = select(waiver.modules or (), survey.by_id)
        yield from ((name, place, Severity.ADVICE) for name in chosen.unknown)


@check(Stage.RECORD, Severity.RISK, FORMAT, scope=Scope.KIT)
def waiver_expired(survey: Survey) -> Iterator[Found]:
    """A waiver is past its date, so what it accepted counts again.

    What was accepted for a while is still there.

    Mend: Mend what it waived, or give the waiver a new date and a reason.

    Example:
        [[waiver]]
        check = "passphrase-in-clear"
        reason = "the kit stays in the room"
        until = 2020-01-31
    """
    for number, waiver in enumerate(survey.fleet.waiver):
        if _has_expired(waiver, survey):
            yield Found(
                f"The waiver of {waiver.check} ended on {waiver.until}.",
                "Mend what it waived and remove it, or give it a new date.",
                (survey.place("waiver", number, "until"),),
                {"check": waiver.check, "until": str(waiver.until)},
            )


def _has_expired(waiver: Waiver, survey: Survey) -> bool:
    return waiver.until is not None and waiver.until < survey.today


@check(Stage.RECORD, Severity.ADVICE, FORMAT, scope=Scope.CLOSING)
def waiver_unused(survey: Survey, used: Collection[int]) -> Iterator[Found]:
    """A waiver covers nothing that was found.

    Either the matter is mended, or the waiver names the wrong check or modules and what it was
    meant for still counts.

    Mend: Remove it, or correct its check and modules.

    Example:
        [[waiver]]
        check = "weak-security"
        reason = "an open network for one afternoon"
    """
    for number, waiver in enumerate(survey.fleet.waiver):
        of_this_check = waiver.check == "waiver-unused"
        if number not in used and not of_this_check and not _has_expired(waiver, survey):
            reason, remedy = _why_unused(waiver)
            yield Found(
                f'The waiver of "{waiver.check}" {reason}.',
                remedy,
                (survey.place("waiver", number, "check"),),
                {"check": waiver.check},
            )


def _why_unused(waiver: Waiver) -> tuple[str, str]:
    """Return a reason and a remedy."""
    if waiver.check in CHECKS:
        return "covers nothing that was found", "Remove it, or correct its modules."
    close = nearest(waiver.check, CHECKS)
    remedy = f"Write {close}, or remove it." if close else "Remove it."
    return "names no check there is", remedy
