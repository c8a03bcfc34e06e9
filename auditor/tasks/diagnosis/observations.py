"""What a student can look at: a closed vocabulary, and how each thing is done."""

from collections.abc import Mapping
from dataclasses import dataclass

from auditor.checks.power import CAUTION


@dataclass(frozen=True)
class Observation:
    """Something to look at: the values that it can have, the minutes it takes, how it is done."""

    name: str
    values: tuple[str, ...]
    minutes: float
    how: str
    is_cold: bool = False
    """Whether the board need not be switched on for it."""


_ALL = (
    Observation(
        "indicator",
        ("dark", "steady", "blinking", "restarting"),
        0.5,
        "Watch the module's indicator for half a minute: dark, steady, blinking evenly, or "
        "starting over and over again (restarting)?",
    ),
    Observation(
        "others-work",
        ("yes", "no"),
        0.5,
        "Ask at the other benches: do the other boards work at this moment?",
        is_cold=True,
    ),
    Observation(
        "program",
        ("runs", "stuck"),
        0.5,
        "Look for a sign of life of the controller's program, on its lamp, its display or in the "
        "debugger: runs, or stuck?",
    ),
    Observation(
        "label",
        ("right", "wrong"),
        1,
        "Compare the hardware address that is printed on the module with the one that the file "
        "has for the id on its label: the same (right), or another (wrong)?",
        is_cold=True,
    ),
    Observation(
        "network",
        ("strong", "weak", "none"),
        1,
        "Hold a telephone where the board lies and look at the list of Wi-Fi networks on its "
        "2.4 GHz or 5 GHz band, as planned: is the planned name there, letter for letter, and "
        "strong, weak, or not there (none)?",
        is_cold=True,
    ),
    Observation(
        "ping",
        ("yes", "no"),
        1,
        "From a computer on the wired side, in the planned subnet, ping the address that the "
        "module has by the file, or by the address server's list: does it answer?",
    ),
    Observation(
        "far-ping",
        ("yes", "no"),
        2,
        "From a computer beyond the gateway, outside the planned subnet, ping the module's "
        "address: does it answer?",
    ),
    Observation(
        "restart",
        ("same", "cured", "worse"),
        1,
        "Switch the board off, wait ten seconds, switch it on and wait a minute: the same as "
        "before, cured, or worse than before?",
    ),
    Observation(
        "associated",
        ("yes", "no"),
        2,
        "Look for the module's hardware address in the access point's list of stations: is it "
        "there, and does it stay?",
    ),
    Observation(
        "lease",
        ("given", "none"),
        2,
        "Look for the module's hardware address in the address server's list of leases: was an "
        "address given to it today, or none?",
    ),
    Observation(
        "wiring",
        ("right", "wrong"),
        2,
        "With the board unplugged, follow each wire: receive pin to transmit pin both ways, a "
        "wire from ground to ground, plus to plus, a level shifter where the two boards run at "
        "different voltages, the positive end of each polarised capacitor at the supply's "
        f"output, nothing loose: right, or is one wrong? {CAUTION}",
        is_cold=True,
    ),
    Observation(
        "handshake",
        ("fine", "failed", "refused", "absent"),
        3,
        "Look for the module's hardware address in the access point's log since the board was "
        "switched on: keys agreed (fine), key exchange or password failed (failed), association "
        "turned down (refused), or not a word of it (absent)?",
    ),
    Observation(
        "bytes",
        ("none", "garbled", "some-missing", "whole"),
        3,
        "Let the controller show each byte that its serial port receives (a test program or the "
        "debugger) while a message is sent: none, garbled, some-missing, or whole?",
    ),
    Observation(
        "supply-voltage",
        ("ok", "low", "high"),
        3,
        "Measure the voltage between the module's supply pin and its ground while it runs, and "
        "compare it with the profile's range: ok, low, or high? Do not let the probe slip from "
        "one pin to the next. Not where a part is hot, smells or bulges: then unplug at once. "
        f"{CAUTION}",
    ),
    Observation(
        "swap",
        ("works", "fails"),
        3,
        "Unplug, and put a module that works elsewhere into this place, with this supply and "
        "this controller: does it work here, or does it fail too? Not where a part is hot, or "
        "the supply is not in its range: the second module would suffer as well.",
    ),
    Observation(
        "sent",
        ("whole", "garbled", "none"),
        4,
        "On a wired computer, listen on the planned port while the controller sends: do this "
        "module's messages arrive whole, garbled, or not at all (none)?",
    ),
    Observation(
        "settings",
        ("as-in-file", "one-differs", "many-differ"),
        5,
        "Read the settings back from the module, and compare them with the file one by one: are "
        "they as in the file, does one differ (or two), or do many?",
    ),
    Observation(
        "datagram",
        ("arrives", "garbled", "lost"),
        6,
        "From the wired side, send one short message to the module's own address and port, with "
        "a serial adapter of the module's own logic level on its transmit pin, at the planned "
        f"rate: arrives, garbled, or lost? {CAUTION}",
    ),
)

OBSERVATIONS: Mapping[str, Observation] = {each.name: each for each in _ALL}
"""By name, the quickest first; minutes are common practice, no source."""
