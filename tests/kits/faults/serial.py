"""Faults between a module and its controller."""

import math
from fractions import Fraction
from typing import Any

from hypothesis.strategies import DrawFn

from tests.kits.drawing import between, pick
from tests.kits.equipment import STANDARD_RATES_BD
from tests.kits.faults.planting import THE_KIT, fault, plan_fault
from tests.kits.kit import Kit

SERIAL = "serial"
OWN_CLOCK = {
    "clock": "8 MHz",
    "clock_multiplier": 1,
    "oversampling": 16,
    "divisor_rule": "n+1",
    "divisor_bits": 16,
}


def _rate_bd(kit: Kit) -> int:
    return int(kit.plan("serial", "rate"))


def _program(kit: Kit, index: int, **controller: Any) -> None:
    kit.modules[index].setdefault("controller", {}).update(controller)


def _hears(kit: Kit, index: int) -> bool:
    return index in kit.facts.hearers


def _sends(kit: Kit, index: int) -> bool:
    return index in kit.facts.senders


@fault(SERIAL, "serial-rate-differs", "fault")
def _other_rate(draw: DrawFn, kit: Kit, index: int) -> None:
    others = [rate for rate in STANDARD_RATES_BD if rate != _rate_bd(kit)]
    kit.modules[index]["serial_rate"] = pick(draw, others)


@fault(SERIAL, "divisor-not-loadable", "fault")
def _between_steps(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, **OWN_CLOCK, divisor=pick(draw, (51.5, 3.03, 65536)))


@fault(SERIAL, "controller-rate-error", "fault")
def _wrong_divisor(draw: DrawFn, kit: Kit, index: int) -> None:
    """Load a divisor that makes a rate a fifth too slow, or worse."""
    exact = Fraction(8_000_000, 16 * _rate_bd(kit))
    divides_by = math.ceil(exact * Fraction(5, 4)) + between(draw, 0, 9)
    _program(kit, index, **OWN_CLOCK, divisor=divides_by - 1)


@fault(
    SERIAL,
    "rate-out-of-reach",
    "fault",
    lambda kit, index: kit.plan("controller", "divisor") is None,
)
def _slow_clock(draw: DrawFn, kit: Kit, index: int) -> None:
    """A clock of 1 kHz makes 62.5 Bd at the best."""
    _program(kit, index, **OWN_CLOCK | {"clock": "1 kHz"})


@fault(
    SERIAL, "frame-differs", "fault", lambda kit, index: kit.plan("serial", "parity") is not None
)
def _other_parity(draw: DrawFn, kit: Kit, index: int) -> None:
    others = [word for word in ("none", "even", "odd") if word != kit.plan("serial", "parity")]
    kit.modules[index]["parity"] = pick(draw, others)


@fault(
    SERIAL,
    "frame-differs",
    "fault",
    lambda kit, index: kit.plan("serial", "data_bits") is not None,
)
def _other_data_bits(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["data_bits"] = 15 - kit.plan("serial", "data_bits")


@fault(
    SERIAL,
    "flow-control-differs",
    "risk",
    lambda kit, index: kit.plan("serial", "flow_control") is not None,
)
def _other_flow_control(draw: DrawFn, kit: Kit, index: int) -> None:
    planned = kit.plan("serial", "flow_control")
    kit.modules[index]["flow_control"] = "rts-cts" if planned == "none" else "none"


def _knows_line(kit: Kit) -> bool:
    """Say whether the plan tells the whole frame and the message."""
    frame = (kit.plan("serial", key) for key in ("data_bits", "parity", "stop_bits"))
    return None not in (*frame, kit.plan("traffic", "message_bytes"))


def _hears_for_sure(kit: Kit, index: int) -> bool:
    """Say whether a module hears somebody who has no fault yet, and can be kept from one."""
    return _hears(kit, index) and (_host_talks(kit) or bool(_speakers(kit, index)))


def _host_talks(kit: Kit) -> bool:
    hosts = {host["name"] for host in kit.plan("network", "host") or ()}
    return not hosts.isdisjoint(kit.plan("traffic", "talkers") or ())


def _speakers(kit: Kit, index: int) -> list[int]:
    return [other for other in kit.untouched() if other != index and _sends(kit, other)]


@plan_fault(
    (SERIAL, "delivery", "message"),
    "serial-overrun",
    "fault",
    lambda kit: bool(kit.facts.hearers) and _knows_line(kit),
)
def _flood(draw: DrawFn, kit: Kit) -> frozenset[int]:
    _send_too_fast(kit)
    return kit.facts.hearers


@plan_fault(
    (SERIAL, "delivery", "message"),
    "talker-line-too-slow",
    "fault",
    lambda kit: bool(kit.facts.senders) and _knows_line(kit),
)
def _pour(draw: DrawFn, kit: Kit) -> frozenset[int]:
    _send_too_fast(kit)
    return kit.facts.senders


def _send_too_fast(kit: Kit) -> None:
    """Send a message faster than its shortest frames, of 9 bits, can pass the line."""
    message_bytes = kit.plan("traffic", "message_bytes")
    message_us = Fraction(message_bytes * 9 * 10**6, _rate_bd(kit))
    kit.table("traffic")["message_interval"] = f"{max(1, int(message_us / 2))} us"


@fault(
    SERIAL,
    "reads-too-far-apart",
    "fault",
    lambda kit, index: _knows_line(kit) and _hears_for_sure(kit, index),
)
def _sleeps(draw: DrawFn, kit: Kit, index: int) -> None:
    """At 1200 Bd, the slowest rate, two seconds bring 184 bytes or one message of two."""
    if not _host_talks(kit):
        kit.touched.add(_speakers(kit, index)[0])
    _program(kit, index, longest_gap="2 s", receive_buffer=1)


@fault(SERIAL, "overrun-not-cleared", "risk")
def _stays_deaf(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, clears_overrun=False)


@plan_fault((SERIAL,), "overrun-not-cleared", "risk")
def _all_stay_deaf(draw: DrawFn, kit: Kit) -> frozenset[int]:
    kit.table("controller")["clears_overrun"] = False
    return THE_KIT


@fault(SERIAL, "receiver-off", "fault", _hears)
def _does_not_receive(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, receiver=False)


@fault(
    SERIAL,
    "transmitter-on-listener",
    "advice",
    lambda kit, index: bool(kit.plan("traffic", "talkers")) and not _sends(kit, index),
)
def _chatters(draw: DrawFn, kit: Kit, index: int) -> None:
    kit.modules[index]["talks"] = False
    _program(kit, index, transmitter=True)


@fault(
    SERIAL,
    "transmitter-off",
    "fault",
    lambda kit, index: bool(kit.plan("traffic", "talkers")) and _sends(kit, index),
)
def _does_not_transmit(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, transmitter=False)


@fault(SERIAL, "pin-not-digital", "fault", _hears)
def _analogue_receive_pin(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, rx_pin={"direction": "in", "digital": False})


@fault(SERIAL, "pin-not-digital", "fault", _sends)
def _analogue_transmit_pin(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, transmitter=True, tx_pin={"direction": "out", "digital": False})


@fault(SERIAL, "pin-direction", "fault", _hears)
def _receive_pin_drives(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, rx_pin={"direction": "out", "digital": True})


@fault(SERIAL, "pin-direction", "fault", _sends)
def _transmit_pin_listens(draw: DrawFn, kit: Kit, index: int) -> None:
    _program(kit, index, transmitter=True, tx_pin={"direction": "in", "digital": True})
