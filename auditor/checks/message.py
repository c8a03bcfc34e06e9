"""Message: both ends agree on what a message is and who talks."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import islice

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.addresses import LIMITED_BROADCAST
from auditor.findings import Found, Stage
from auditor.models.words import Framing, Severity
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.selection import Selection, id_ranges

PRACTICE = "common practice, no source"
MOST_NAMES = 3


@check(Stage.MESSAGE, Severity.FAULT, PRACTICE)
def message_length_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module's message length is not the planned one.

    A receiver that counts bytes ends each message at the wrong one, and from then on every
    message begins in the middle. Where a delimiter ends the message, lengths may differ.

    Mend: Set both ends to the same message length.

    Example:
        [[module]]
        id = "TG-02"
        message_bytes = 16
    """
    traffic, own = survey.fleet.traffic, module.message_bytes
    if traffic.framing is Framing.DELIMITED or traffic.message_bytes in (None, own):
        return
    yield Found(
        f"The module's messages have {own} bytes; the plan says {traffic.message_bytes}.",
        f"Set message_bytes to {traffic.message_bytes}.",
        (module.place("message_bytes"), survey.place("traffic", "message_bytes")),
        {"message_bytes": own, "planned": traffic.message_bytes},
    )


@check(Stage.MESSAGE, Severity.FAULT, PRACTICE)
def talker_missing(module: Module, survey: Survey) -> Iterator[Found]:
    """Nobody of this kit is there to talk: the list of talkers names none who does.

    Everybody is ready and waits for a message that nobody sends. Where only some of the named
    talkers are not there, it is a risk for the kit.

    Mend: Name the module or host that sends the messages.

    Example:
        [traffic]
        talkers = []
    """
    if survey.talkers is not None and not survey.traffic_sum.talkers:
        yield Found(
            f"{_why_nobody_talks(survey.talkers)}: there is nothing to receive.",
            _name_talkers(survey),
            (survey.place("traffic", "talkers"),),
            {"named": len(survey.fleet.traffic.talkers or ())},
        )


def _why_nobody_talks(talkers: Selection) -> str:
    if talkers.indexes:
        return "Every module that is named as a talker has its talks set to off"
    if talkers.unknown:
        return f"None of the talkers is in this kit ({_quoted(talkers.unknown)})"
    return "The plan names no talker"


@part_of("talker-missing", Scope.KIT)
def _some_talkers_missing(survey: Survey) -> Iterator[Found]:
    unknown = survey.talkers.unknown if survey.talkers else ()
    if unknown and survey.traffic_sum.talkers:
        yield Found(
            f"No module or host of this kit is called {_quoted(unknown)}: "
            "what it would send never comes.",
            _name_talkers(survey),
            (survey.place("traffic", "talkers"),),
            {"unknown": list(unknown)},
            severity=Severity.RISK,
            concerns=survey.everyone,
        )


def _quoted(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return ", ".join(f'"{name}"' for name in names[:MOST_NAMES]) + more


def _name_talkers(survey: Survey) -> str:
    """Return the remedy: for a name that means nobody, the one that is probably meant."""
    meant = islice(survey.likely_talkers.items(), MOST_NAMES)
    told = ", ".join(f'"{right}" for "{name}"' for name, right in meant)
    if told:
        return f"Write {told} in talkers."
    return "Name in talkers the modules or hosts that send, with talks switched on."


@check(Stage.MESSAGE, Severity.RISK, PRACTICE, after=("talker-missing",))
def unplanned_talker(module: Module, survey: Survey) -> Iterator[Found]:
    """The module's program sends, and the plan does not name it as a talker.

    The others take its messages for those they wait for, and it takes airtime and serial time
    that nobody counted.

    Mend: Stop its program from sending, or name it as a talker.

    Example:
        [[module]]
        id = "TG-02"
        talks = true
    """
    if module.talks is True and not survey.may_talk(module):
        yield Found(
            f"{module.id} sends, and is none of the planned talkers.",
            f'Set talks = false, or add "{module.id}" to the talkers.',
            (module.place("talks"), survey.place("traffic", "talkers")),
        )


@check(Stage.MESSAGE, Severity.ADVICE, PRACTICE, scope=Scope.KIT)
def several_talkers(survey: Survey) -> Iterator[Found]:
    """Several broadcast to one port, and no message says who sent it.

    A listener gets the messages of all of them down one serial line, one after the other, and
    cannot tell them apart.

    Mend: Put the sender's name into the message, or give each talker a port of its own.

    Example:
        [traffic]
        names_sender = false
    """
    if survey.fleet.traffic.names_sender is not False:
        return
    for port, names in _broadcasters(survey).items():
        if len(names) > 1:
            yield Found(
                f"{len(names)} talkers broadcast to port {port}, and their messages do not name "
                f"the sender: {id_ranges(names)}.",
                "Put the sender's name into each message and set names_sender = true, "
                "or give each talker a port of its own.",
                (survey.place("traffic", "names_sender"), survey.place("traffic", "talkers")),
                {"port": port, "talkers": names},
            )


def _broadcasters(survey: Survey) -> dict[int, list[str]]:
    """Return the names of those who send to everybody, by port."""
    sent = survey.traffic_sum
    positions: dict[int, list[int]] = defaultdict(list)
    for group in survey.groups:
        to_all = survey.target_of(group.module) == LIMITED_BROADCAST
        if to_all and group.module.port is not None:
            positions[group.module.port] += group.indexes
    found = defaultdict(list, {at: survey.ids(sorted(own)) for at, own in positions.items()})
    port = survey.fleet.traffic.port
    if port is not None and survey.talkers and sent.host_target == LIMITED_BROADCAST:
        found[port] += sorted(survey.talkers.others)
    return found


@check(Stage.MESSAGE, Severity.ADVICE, PRACTICE, scope=Scope.KIT)
def framing_unclear(survey: Survey) -> Iterator[Found]:
    """Nothing says how a receiver finds where a message ends.

    The serial line is a stream of bytes: what the network carried as separate messages arrives
    without a gap. A fixed length that is not given, or is zero, says nothing either.

    Mend: Agree on a fixed length, a length in front, or a delimiter, and write it down.

    Example:
        [traffic]
        framing = "fixed"
        message_bytes = 0
    """
    traffic = survey.fleet.traffic
    described = traffic.talkers or traffic.message_bytes or traffic.message_interval
    if traffic.framing is None and described:
        yield Found(
            "Messages are sent, and no framing says where one ends.",
            "Set framing to fixed, length-prefixed or delimited, as the programs do it.",
            (survey.place("traffic", "framing"),),
        )
    lengthless = survey.ids(survey.those(lambda module: not module.message_bytes))
    if traffic.framing is Framing.FIXED and lengthless:
        yield Found(
            f"The framing is fixed, and no message length is given: {id_ranges(lengthless)}.",
            "Set message_bytes to the length that the programs count.",
            (survey.place("traffic", "message_bytes"), survey.place("traffic", "framing")),
            {"modules": len(lengthless)},
        )
