"""The causes that no file shows: what is so, what to do, and where its traces are."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from auditor.checks.power import CAUTION
from auditor.findings import Stage
from auditor.tasks.diagnosis.circumstances import JOINED, SEARCHING, UNPOWERED, Trait

Values = tuple[str, ...]
Traces = Mapping[str, Values]
"""What a cause lets an observation show, by the observation's name: one value is as likely as
another. An indicator may be named by the state that it shows."""
AS_BROADCAST = "as a broadcast"
"""Instead of values of `bytes`: whole where a broadcast reaches whatever is on the link."""


class Seat(StrEnum):
    """Where a cause sits, which decides what a change of modules shows."""

    SETTINGS = "settings of the board that are not as in the file"
    MODULE = "the module, or what the file says of it"
    BENCH = "this place: supply, wiring, controller, radio"
    SHARED = "what all boards share"


@dataclass(frozen=True)
class Cause:
    """Something that can keep a board from working.

    `shows_at` is the stage at which it is first seen, `traces` what it shows otherwise than the
    ladder says, `needs` what must hold of a board for it. A remedy may ask for the right value of
    a setting, as in "{address}".
    """

    name: str
    stage: Stage
    seat: Seat
    message: str
    remedy: str
    shows_at: Stage
    traces: Traces = field(default_factory=dict)
    needs: frozenset[Trait] = frozenset()
    found_at: str | None = None
    """Where the audit found it in the file; None where no file shows it."""


def _cause(
    name: str,
    stage: Stage,
    seat: Seat,
    message: str,
    remedy: str,
    *needs: Trait,
    shows_at: Stage | None = None,
    **traces: Values,
) -> Cause:
    named = {key.replace("_", "-"): values for key, values in traces.items()}
    return Cause(name, stage, seat, message, remedy, shows_at or stage, named, frozenset(needs))


def _setting(
    name: str,
    stage: Stage,
    what: str,
    value: str,
    *needs: Trait,
    shows_at: Stage | None = None,
    **traces: Values,
) -> Cause:
    """Return the cause that one setting of the board is not what the file says."""
    return _cause(
        name,
        stage,
        Seat.SETTINGS,
        f"The board is set to another {what} than the file says.",
        f"Read the settings back, set the {what} to {value}, save, and start the board anew.",
        *needs,
        shows_at=shows_at,
        **traces,
    )


_DUMB = {"ping": ("yes",), "datagram": ("arrives",), "bytes": ("whole",), "sent": ("none",)}


def _for_sending(
    name: str, stage: Stage, what: str, value: str, *needs: Trait, **traces: Values
) -> Cause:
    """Return the cause that a setting which decides where messages go is another."""
    return _setting(
        name,
        stage,
        what,
        value,
        Trait.SENDS,
        *needs,
        shows_at=Stage.DELIVERY,
        **{**_DUMB, **traces},
    )


_ANEW = "Set it up as the file says, save, switch it off and on, and read the settings back."
_RESTARTING = "restarting"

_SET_UP = (
    _cause(
        "never-set-up",
        Stage.RECORD,
        Seat.SETTINGS,
        "The board was left out when the kit was set up, and has the settings it came with.",
        _ANEW,
        shows_at=Stage.DISCOVERY,
        settings=("many-differ",),
    ),
    _cause(
        "settings-lost",
        Stage.RECORD,
        Seat.SETTINGS,
        "The settings were not saved to the memory that stays, and went with the supply.",
        _ANEW,
        shows_at=Stage.DISCOVERY,
        settings=("many-differ",),
        restart=("same", "worse"),
    ),
    _cause(
        "wrong-board",
        Stage.RECORD,
        Seat.SETTINGS,
        "This is another board than its label says: two labels or two boards were swapped.",
        "Compare the hardware address on the module with {hardware_address}; label it anew.",
        shows_at=Stage.ADDRESS,
        settings=("one-differs", "many-differ"),
        label=("wrong",),
        associated=("no", "yes"),
        handshake=("absent", "fine"),
        lease=("none", "given"),
        ping=("no", "yes"),
        bytes=("none", "whole"),
        sent=("none", "whole"),
    ),
    _setting("wrong-network-name", Stage.DISCOVERY, "network name", "{network_name}"),
    _setting("wrong-security-mode", Stage.ADMISSION, "security mode", "{security}"),
    _setting("wrong-passphrase", Stage.KEYS, "passphrase", "the planned one", Trait.HANDSHAKE),
    _setting(
        "wrong-wep-key",
        Stage.KEYS,
        "WEP key",
        "the planned one (a board with another associates all the same)",
        Trait.WEP,
        shows_at=Stage.ADDRESS,
    ),
    _cause(
        "set-to-pooled",
        Stage.ADDRESS,
        Seat.SETTINGS,
        "The board leases an address, and the file gives it one of its own.",
        'Set addressing to "static" and the address to {address}, save, and start it anew.',
        Trait.STATIC,
        lease=("given",),
        bytes=("none", "whole"),
        sent=("whole",),
    ),
    _cause(
        "set-to-static",
        Stage.ADDRESS,
        Seat.SETTINGS,
        "The board keeps an address of its own, and should lease one.",
        'Set addressing to "pooled", save, and start it anew.',
        Trait.POOLED,
        bytes=(AS_BROADCAST,),
        sent=("none", "whole"),
    ),
    _setting(
        "wrong-address",
        Stage.ADDRESS,
        "address",
        "{address}",
        Trait.STATIC,
        bytes=(AS_BROADCAST,),
        sent=("none", "whole"),
    ),
    _cause(
        "no-usable-address",
        Stage.ADDRESS,
        Seat.SETTINGS,
        "The board has no address, or one that no station may have.",
        "Read the settings back, set the address to {address}, save, and start the board anew.",
        Trait.STATIC,
    ),
    _setting(
        "wrong-prefix-length",
        Stage.ADDRESS,
        "prefix length",
        "{prefix_length}",
        Trait.STATIC,
        shows_at=Stage.DELIVERY,
        ping=("no", "yes"),
        datagram=("lost", "arrives"),
        bytes=(AS_BROADCAST,),
        sent=("none", "whole"),
    ),
    _for_sending(
        "wrong-gateway",
        Stage.ADDRESS,
        "gateway",
        "{gateway}",
        Trait.STATIC,
        Trait.BEYOND,
        far_ping=("no",),
    ),
    _for_sending("wrong-destination", Stage.DELIVERY, "destination", "{destination}"),
    _for_sending("wrong-port", Stage.DELIVERY, "port", "{port}"),
    _setting(
        "wrong-listen-port",
        Stage.DELIVERY,
        "listen port",
        "{listen_port}",
        Trait.HEARS,
        sent=("whole",),
    ),
    _setting("wrong-transport", Stage.DELIVERY, "transport", "{transport}"),
    _setting(
        "wrong-serial-rate",
        Stage.SERIAL,
        "serial rate",
        "{serial_rate} Bd",
        datagram=("garbled",),
        bytes=("garbled",),
        sent=("garbled",),
    ),
    _setting(
        "wrong-frame",
        Stage.SERIAL,
        "serial frame",
        "{data_bits} data bits, parity {parity}, {stop_bits} stop bits",
        datagram=("garbled",),
        bytes=("garbled", "some-missing"),
        sent=("garbled",),
    ),
    _setting(
        "wrong-flow-control",
        Stage.SERIAL,
        "flow control",
        "{flow_control}",
        datagram=("arrives", "lost"),
        bytes=("none", "some-missing"),
        sent=("none", "whole"),
    ),
    _setting(
        "wrong-message-length",
        Stage.MESSAGE,
        "message length",
        "{message_bytes} bytes",
        bytes=("some-missing", "whole"),
    ),
)

_SUPPLY = (
    _cause(
        "supply-off",
        Stage.POWER,
        Seat.BENCH,
        "No supply reaches the module: not plugged in, switched off, or a wire is loose.",
        f"Check plug, switch and wires, from the supply's output to the module's pin. {CAUTION}",
        indicator=(UNPOWERED,),
        supply_voltage=("low",),
        wiring=("right", "wrong"),
        program=("runs", "stuck"),
    ),
    _cause(
        "supply-too-weak",
        Stage.POWER,
        Seat.BENCH,
        "The supply sags below what the module needs: a weak battery, port or regulator.",
        f"Measure it while the module runs, and feed the module from a stronger supply. {CAUTION}",
        indicator=(_RESTARTING, UNPOWERED),
        supply_voltage=("low",),
    ),
    _cause(
        "supply-too-high",
        Stage.POWER,
        Seat.BENCH,
        "The supply gives more than the module is made for: it gets hot and may be destroyed.",
        f"Unplug at once, let it cool, and set the supply right before anything is connected to "
        f"it; the module may be spoiled. {CAUTION}",
        indicator=(UNPOWERED, _RESTARTING, JOINED),
        supply_voltage=("high",),
    ),
    _cause(
        "supply-reversed",
        Stage.POWER,
        Seat.BENCH,
        "Plus and ground of the module's supply are the wrong way round.",
        f"Unplug at once, let it cool, and swap the two; the module may be spoiled. {CAUTION}",
        indicator=(UNPOWERED,),
        supply_voltage=("low",),
        wiring=("wrong",),
    ),
    _cause(
        "burst-current-short",
        Stage.POWER,
        Seat.BENCH,
        "The supply cannot carry the module through a burst of sending: it starts over and over.",
        "Take a supply that delivers the burst, or put a capacitor close to the module, its "
        f"positive end to the supply's output. {CAUTION}",
        indicator=(_RESTARTING,),
        supply_voltage=("ok", "low"),
    ),
    _cause(
        "capacitor-reversed",
        Stage.POWER,
        Seat.BENCH,
        "A polarised capacitor is the wrong way round: it gets hot, and vents or bursts.",
        "Do not switch on. Unplug, let it cool and discharge, wear eye protection, and put in a "
        "new one with its positive end to the supply's output; one that was reversed is spoiled. "
        "The part's data sheet decides; if in doubt ask a qualified person.",
        indicator=(UNPOWERED, _RESTARTING),
        supply_voltage=("low",),
        wiring=("wrong",),
    ),
    _cause(
        "held-in-reset",
        Stage.POWER,
        Seat.BENCH,
        "A pin holds the module in reset, or in the mode in which its program is loaded.",
        f"Let the reset and mode pins go where the part's data sheet puts them. {CAUTION}",
        indicator=(UNPOWERED, "steady"),
        wiring=("wrong",),
    ),
    _cause(
        "module-broken",
        Stage.POWER,
        Seat.MODULE,
        "The module itself is broken.",
        "Put in a spare one, set up as the file says for this id; mark the broken one.",
        indicator=(UNPOWERED, _RESTARTING),
    ),
)

_WIRES = (
    _cause(
        "serial-pair-not-crossed",
        Stage.POWER,
        Seat.BENCH,
        "The serial pair is not crossed: receive goes to receive, transmit to transmit.",
        "Join the module's receive pin to the controller's transmit pin, and the other way "
        f"round. {CAUTION}",
        shows_at=Stage.SERIAL,
        wiring=("wrong",),
        bytes=("none",),
        sent=("none",),
    ),
    _cause(
        "serial-wire-loose",
        Stage.POWER,
        Seat.BENCH,
        "A wire of the serial line is loose or broken.",
        f"Follow both wires from pin to pin, and press or replace them. {CAUTION}",
        shows_at=Stage.SERIAL,
        wiring=("wrong",),
        bytes=("none", "some-missing"),
        sent=("none", "whole"),
    ),
    _cause(
        "no-common-ground",
        Stage.POWER,
        Seat.BENCH,
        "Module and controller have no ground in common.",
        f"Join the two grounds with a wire of their own. {CAUTION}",
        shows_at=Stage.SERIAL,
        wiring=("wrong",),
        bytes=("garbled", "none"),
        sent=("garbled", "none"),
    ),
    _cause(
        "logic-level-mismatch",
        Stage.POWER,
        Seat.BENCH,
        "The logic levels of module and controller do not fit together.",
        f"Put a level shifter between them, or run both at one voltage. {CAUTION}",
        shows_at=Stage.SERIAL,
        wiring=("wrong",),
        bytes=("garbled", "some-missing", "none"),
        sent=("garbled", "whole"),
    ),
    _cause(
        "serial-line-shared",
        Stage.POWER,
        Seat.BENCH,
        "Something else, such as an adapter for loading programs, drives the same serial line.",
        f"Take it off the line, or switch it over, while the module talks. {CAUTION}",
        shows_at=Stage.SERIAL,
        wiring=("wrong",),
        bytes=("garbled", "none"),
        sent=("garbled", "whole"),
    ),
)

_ON_THE_AIR = (
    _cause(
        "access-point-off",
        Stage.DISCOVERY,
        Seat.SHARED,
        "The access point is off, or its radio is.",
        "Switch it on, wait two minutes, and look for {network_name} with a telephone.",
        network=("none",),
    ),
    _cause(
        "access-point-renamed",
        Stage.DISCOVERY,
        Seat.SHARED,
        "The access point has another network name than the plan.",
        "Set the access point's network name to {network_name}.",
        network=("none",),
    ),
    _cause(
        "channel-changed",
        Stage.DISCOVERY,
        Seat.SHARED,
        "The access point has moved to a channel or band that the module cannot use.",
        "Set the access point to the planned band and channel, and not to choose by itself.",
        others_work=("no", "yes"),
    ),
    _cause(
        "out-of-range",
        Stage.DISCOVERY,
        Seat.BENCH,
        "The access point is too far away, or metal stands between.",
        "Try the board one metre from the access point; if it works there, move one of the two.",
        network=("weak",),
        indicator=(SEARCHING, JOINED),
        associated=("no", "yes"),
        handshake=("absent", "failed", "fine"),
        bytes=("none", "some-missing"),
        swap=("fails", "works"),
    ),
    _cause(
        "antenna-loose",
        Stage.DISCOVERY,
        Seat.MODULE,
        "The module's antenna is missing, loose or covered.",
        "Press the antenna's plug home, and keep metal and hands away from it.",
    ),
    _cause(
        "another-access-point",
        Stage.DISCOVERY,
        Seat.BENCH,
        "The board has joined another access point of the same name.",
        "Look in the list of stations of every access point called {network_name}; rename or "
        "switch off those that are not planned.",
        shows_at=Stage.ADDRESS,
        others_work=("yes", "no"),
        associated=("no",),
        handshake=("absent",),
    ),
    _cause(
        "interference",
        Stage.DELIVERY,
        Seat.BENCH,
        "Something disturbs the channel here, and frames are lost.",
        "Look for other networks on the channel and for microwave ovens; change the channel.",
        others_work=("yes", "no"),
        network=("strong", "weak"),
        ping=("yes", "no"),
        datagram=("arrives", "lost"),
        bytes=("some-missing", "none"),
        sent=("none", "whole"),
    ),
    _cause(
        "access-point-mode-changed",
        Stage.ADMISSION,
        Seat.SHARED,
        "The access point's security is not set as planned; a board that is set to a secured "
        "mode does not even join an open network of the same name.",
        "Set the access point's security to {security}.",
    ),
    _cause(
        "access-point-full",
        Stage.ADMISSION,
        Seat.MODULE,
        "The access point has no place for one more station; those that were switched off keep "
        "theirs for minutes.",
        "Let strangers leave the network, wait five minutes, and start this board anew.",
        restart=("same", "cured"),
    ),
    _cause(
        "not-on-accept-list",
        Stage.ADMISSION,
        Seat.MODULE,
        "The access point takes listed hardware addresses alone, and not this one.",
        "Add {hardware_address} to the access point's list, or switch the list off.",
    ),
    _cause(
        "passphrase-changed",
        Stage.KEYS,
        Seat.SHARED,
        "The access point has another passphrase than the plan.",
        "Set the access point's passphrase to the planned one.",
        Trait.HANDSHAKE,
    ),
)

_ADDRESSES = (
    _cause(
        "address-server-off",
        Stage.ADDRESS,
        Seat.SHARED,
        "The address server is off, or not on this network.",
        "Start the address server, and start one board anew to see whether it gets a lease.",
        Trait.POOLED,
    ),
    _cause(
        "pool-exhausted",
        Stage.ADDRESS,
        Seat.MODULE,
        "The address server has no address left; whoever left keeps his until the lease ends.",
        "Look at the server's list: enlarge the pool, shorten the lease, or delete old leases.",
        Trait.POOLED,
        restart=("same", "cured"),
    ),
    _cause(
        "foreign-address-server",
        Stage.ADDRESS,
        Seat.SHARED,
        "Another address server answered first, with addresses of another subnet.",
        "Find it (a telephone or a router that shares its connection), and switch it off.",
        Trait.POOLED,
        others_work=("no", "yes"),
        bytes=(AS_BROADCAST,),
        sent=("none", "whole"),
    ),
    _cause(
        "address-taken",
        Stage.ADDRESS,
        Seat.MODULE,
        "Another device has the same address: of what is sent to it one of the two gets all.",
        "Switch this board off and ping {address}: if something answers, it is the other one.",
        Trait.STATIC,
        restart=("same", "cured"),
        ping=("yes", "no"),
        bytes=(AS_BROADCAST,),
        sent=("whole",),
    ),
)

_DELIVERY = (
    _cause(
        "wired-side-unplugged",
        Stage.DELIVERY,
        Seat.SHARED,
        "The access point is cut off from the wired side: a cable, a switch.",
        "Plug in the access point's cable, and ping the access point from the wired side.",
        others_work=("no", "yes"),
        lease=("given", "none"),
        ping=("no",),
        bytes=("none", "whole"),
    ),
    _cause(
        "client-isolation",
        Stage.DELIVERY,
        Seat.SHARED,
        "The access point keeps its stations apart: nothing gets from one to another, and all "
        "of it to and from the wired side.",
        "Switch client isolation off at the access point.",
        Trait.HEARS,
        datagram=("arrives",),
        sent=("whole",),
    ),
    _cause(
        "broadcast-held-back",
        Stage.DELIVERY,
        Seat.SHARED,
        "The access point or a switch holds broadcasts back.",
        "Switch off broadcast filters and limits at the access point and at the switches.",
        Trait.HEARS,
        Trait.BROADCAST,
        datagram=("arrives",),
        bytes=("none", "some-missing"),
        sent=("none", "whole"),
    ),
    _cause(
        "receiver-not-listening",
        Stage.DELIVERY,
        Seat.SHARED,
        "The receiver's program does not run, or a firewall keeps the messages from it.",
        "Start it, and let its firewall pass {transport} on port {port}.",
        Trait.SENDS,
        datagram=("arrives",),
        bytes=("whole",),
        sent=("whole",),
    ),
    _cause(
        "talker-silent",
        Stage.MESSAGE,
        Seat.SHARED,
        "Nobody sends: the talker is off, or does not work itself.",
        "Look after the talker first, and listen to it on a wired computer.",
        Trait.HEARS,
        shows_at=Stage.DELIVERY,
        datagram=("arrives",),
        bytes=("none",),
        sent=("whole",),
    ),
)

_CONTROLLER = (
    _cause(
        "controller-rate-wrong",
        Stage.SERIAL,
        Seat.BENCH,
        "The controller's serial port runs at another rate: another divisor, clock or constant.",
        "Load the divisor that makes {serial_rate} Bd; `auditor uart` names it for each clock.",
        bytes=("garbled",),
        sent=("garbled",),
    ),
    _cause(
        "controller-clock-off",
        Stage.SERIAL,
        Seat.BENCH,
        "The controller's clock is off: an oscillator without a crystal, or another source.",
        "Choose the crystal as the clock's source, and measure how long one byte takes.",
        bytes=("garbled", "some-missing"),
        sent=("garbled", "whole"),
    ),
    _cause(
        "controller-frame-wrong",
        Stage.SERIAL,
        Seat.BENCH,
        "The controller's serial port is set to other data bits, parity or stop bits.",
        "Set it to {data_bits} data bits, parity {parity}, {stop_bits} stop bits.",
        bytes=("garbled", "some-missing"),
        sent=("garbled",),
    ),
    _cause(
        "controller-receiver-off",
        Stage.SERIAL,
        Seat.BENCH,
        "The receiver of the controller's serial port is off.",
        "Switch the receiver on where the program sets the port up.",
        Trait.HEARS,
        bytes=("none",),
        sent=("whole",),
    ),
    _cause(
        "controller-transmitter-off",
        Stage.SERIAL,
        Seat.BENCH,
        "The transmitter of the controller's serial port is off.",
        "Switch the transmitter on where the program sets the port up.",
        Trait.SENDS,
        bytes=("whole",),
        sent=("none",),
    ),
    _cause(
        "controller-pin-wrong",
        Stage.SERIAL,
        Seat.BENCH,
        "A serial pin of the controller is analogue, of the wrong direction, or not the port's.",
        "Set receive to input and transmit to output, both digital, before the port is on.",
        bytes=("none",),
        sent=("none", "whole"),
    ),
    _cause(
        "controller-reads-too-seldom",
        Stage.SERIAL,
        Seat.BENCH,
        "The program reads too seldom: the receive buffer runs over.",
        "Read in an interrupt, or at least once in the time that fills the buffer.",
        Trait.HEARS,
        bytes=("some-missing",),
        sent=("whole",),
    ),
    _cause(
        "overrun-not-cleared",
        Stage.SERIAL,
        Seat.BENCH,
        "The receiver stopped at an overrun that the program does not clear.",
        "Clear the overrun flag whenever it is set, and read more often.",
        Trait.HEARS,
        restart=("cured",),
        bytes=("none", "some-missing"),
        sent=("whole",),
    ),
)

_PROGRAM = (
    _cause(
        "program-not-running",
        Stage.MESSAGE,
        Seat.BENCH,
        "The controller's program is not loaded, is an old one, or is stuck.",
        "Load it anew, and let it show a sign of life, such as a lamp that blinks.",
        program=("stuck",),
        restart=("same", "cured"),
        sent=("none",),
    ),
    _cause(
        "program-not-listening",
        Stage.MESSAGE,
        Seat.BENCH,
        "The controller's program does not look at what its serial port receives.",
        "Let the program show every byte that it reads, and then what it makes of them.",
        Trait.HEARS,
    ),
    _cause(
        "other-messages-expected",
        Stage.MESSAGE,
        Seat.BENCH,
        "The controller's program goes by another length, framing or sender than the plan.",
        "Compare the program with the plan: {message_bytes} bytes a message, and how one ends.",
    ),
)

ON_NO_FILE = (
    *_SET_UP,
    *_SUPPLY,
    *_WIRES,
    *_ON_THE_AIR,
    *_ADDRESSES,
    *_DELIVERY,
    *_CONTROLLER,
    *_PROGRAM,
)
"""Every cause that no file shows; `weights` has how often each is met."""

HURTS = frozenset(
    {
        "supply-voltage-out-of-range",
        "supply-too-high",
        "supply-reversed",
        "capacitor-reversed",
        "regulator-heat",
    }
)
"""Causes for whose sake a board should not be switched on, in the file or not."""
