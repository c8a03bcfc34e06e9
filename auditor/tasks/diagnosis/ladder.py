"""What each cause predicts for every observation: the ladder, and where it says otherwise.

Below the stage at which a cause shows everything looks fine; there and above nothing works.
"""

from collections.abc import Mapping

from auditor.findings import Stage
from auditor.tasks.diagnosis.causes import AS_BROADCAST, Cause, Seat, Traces, Values
from auditor.tasks.diagnosis.circumstances import (
    JOINED,
    SEARCHING,
    UNPOWERED,
    Circumstances,
    Trait,
)
from auditor.tasks.diagnosis.observations import OBSERVATIONS

_LEARNT_EARLIER = frozenset({Stage.KEYS, Stage.ADDRESS})
"""What fails at one of these and shows at delivery answers no ping either."""
_TOP = len(Stage)
"""The step above the last: nothing shows."""
_AS_IT_SHOULD_BE: Traces = {
    "others-work": ("yes",),
    "program": ("runs",),
    "label": ("right",),
    "network": ("strong",),
    "restart": ("same",),
    "wiring": ("right",),
    "supply-voltage": ("ok",),
    "settings": ("as-in-file",),
    "swap": ("works",),
}
_OF_SEAT: Mapping[Seat, Traces] = {
    Seat.SETTINGS: {"settings": ("one-differs",)},
    Seat.MODULE: {},
    Seat.BENCH: {"swap": ("fails",)},
    Seat.SHARED: {"swap": ("fails",), "others-work": ("no",)},
}


def predictions(cause: Cause, about: Circumstances) -> dict[str, Values]:
    """Return the values that each observation can have under a cause, all equally likely.

    An observation that tells nothing of this board can have any of its values.
    """
    climb = _climb(cause.shows_at.step, about)
    if cause.shows_at is Stage.DELIVERY and cause.stage in _LEARNT_EARLIER:
        climb["ping"] = ("no",)
    climb["far-ping"] = cause.traces.get("ping", climb["ping"])
    if cause.shows_at is Stage.POWER:
        climb["settings"] = OBSERVATIONS["settings"].values  # nobody can read them
    return _shown({**_AS_IT_SHOULD_BE, **_OF_SEAT[cause.seat], **climb, **cause.traces}, about)


def healthy(about: Circumstances) -> dict[str, Values]:
    """Return the values that each observation can have at a board that works."""
    climb = {**_climb(_TOP, about), "far-ping": ("yes",)}
    return _shown({**_AS_IT_SHOULD_BE, **climb}, about)


def open_observations(about: Circumstances) -> tuple[str, ...]:
    """Return the observations that can tell something of a board, the quickest first."""
    untold = _untold(about)
    return tuple(name for name in OBSERVATIONS if name not in untold)


def _climb(shows_at: int, about: Circumstances) -> dict[str, Values]:
    """Return what is seen of a board whose climb ends at a step."""
    return {
        **_joining(shows_at, about),
        "lease": _lease(shows_at, about),
        "ping": ("yes",) if shows_at > Stage.ADDRESS.step else ("no",),
        "datagram": ("arrives",) if shows_at > Stage.DELIVERY.step else ("lost",),
        **_line(shows_at),
    }


def _joining(shows_at: int, about: Circumstances) -> dict[str, Values]:
    if shows_at <= Stage.POWER.step:
        return _joined((UNPOWERED, "restarting"), ("no",), ("absent",))
    if shows_at <= Stage.DISCOVERY.step:
        return _joined((SEARCHING,), ("no",), ("absent",))
    if shows_at <= Stage.ADMISSION.step:
        return _joined((SEARCHING,), ("no",), ("refused", "absent"))  # a careful one never asks
    if shows_at <= Stage.KEYS.step:
        return _joined((SEARCHING,), ("no", "yes"), ("failed",))  # it comes and goes
    no_handshake = Trait.HANDSHAKE not in about.traits
    return _joined((JOINED,), ("yes",), ("fine", "absent") if no_handshake else ("fine",))


def _joined(indicator: Values, associated: Values, handshake: Values) -> dict[str, Values]:
    return {"indicator": indicator, "associated": associated, "handshake": handshake}


def _lease(shows_at: int, about: Circumstances) -> Values:
    if shows_at <= Stage.ADDRESS.step or Trait.POOLED not in about.traits:
        return ("none",)
    return ("given", "none") if Trait.STATIC in about.traits else ("given",)


def _line(shows_at: int) -> dict[str, Values]:
    if shows_at <= Stage.DELIVERY.step:
        return {"bytes": ("none",), "sent": ("none",)}
    if shows_at <= Stage.SERIAL.step:
        return {"bytes": ("garbled", "some-missing", "none"), "sent": ("garbled", "none")}
    return {"bytes": ("whole",), "sent": ("whole",)}


def _untold(about: Circumstances) -> dict[str, Values]:
    """Return the observations that tell nothing of a board, with any value for each."""
    needed = {"bytes": Trait.HEARS, "sent": Trait.SENDS, "far-ping": Trait.BEYOND}
    return {
        name: OBSERVATIONS[name].values
        for name, trait in needed.items()
        if trait not in about.traits
    }


def _shown(seen: Traces, about: Circumstances) -> dict[str, Values]:
    """Return what is seen, in the values of the observations and in their order."""
    untold = _untold(about)
    words = {**about.looks, AS_BROADCAST: _as_broadcast(about)}
    shown = {}
    for name in OBSERVATIONS:
        values = untold.get(name, seen[name])
        shown[name] = tuple(dict.fromkeys(each for v in values for each in words.get(v, (v,))))
    return shown


def _as_broadcast(about: Circumstances) -> Values:
    """Return what comes of a broadcast to a board of a wrong address.

    What goes to all stations of the link is taken in any subnet, the directed broadcast of a
    subnet only where the receiver agrees on it: RFC 919, section 7; RFC 922, section 7 (from
    memory, unverified).
    """
    if Trait.LIMITED in about.traits:
        return ("whole",)
    return ("none", "whole") if Trait.BROADCAST in about.traits else ("none",)
