"""Serial: module and controller agree on rate, frame and pace."""

import math
from collections.abc import Iterator
from fractions import Fraction

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.uart import STANDARD_RATES, RateSetting
from auditor.findings import Figure, Found, Stage
from auditor.models.fleet import Pin
from auditor.models.places import Place
from auditor.models.quantities import shown_duration, shown_frequency
from auditor.models.words import ControllerPin, PinDirection, Severity
from auditor.survey.kit import Survey
from auditor.survey.line import (
    LineLoad,
    Mismatch,
    ModuleEnd,
    RateGenerator,
    best_setting,
    bytes_between_reads,
    generators_as_set,
    generators_to_choose,
    line_capacity,
    line_load,
    loaded_setting,
    mismatch,
    module_end,
    only_talks,
    receive_buffer,
    sending_load,
)
from auditor.survey.module import Module
from auditor.survey.selection import id_ranges

PRACTICE = "common practice, no source"
FRAME = "Maxim AN2141, UART Timing: the asynchronous frame"
DIVISOR = "ATmega48/88/168 2545D, section USART (n+1); TL16C550C SLLS177I, Table 7-9 (n); RM0008"
RECEIVER = (
    "ATmega48A...328P DS40002061A, Tables 20-2 and 20-3: the rates that a receiver follows; "
    "16 samples per bit for the module's own, common practice, no source"
)

LOADED = ("serial-rate-differs", "divisor-not-loadable")


@check(Stage.SERIAL, Severity.FAULT, FRAME)
def serial_rate_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module's serial rate is not the planned one.

    Each end samples the bits of the other at the wrong moments, and what arrives is garbled.

    Mend: Set the module to the planned rate, save it, and read it back.

    Example:
        [[module]]
        id = "TG-02"
        serial_rate = 19200
    """
    planned = survey.fleet.serial.rate
    if None not in (planned, module.serial_rate) and module.serial_rate != planned:
        yield Found(
            f"The module is set to {module.serial_rate} Bd; the plan says {planned} Bd.",
            f"Set serial_rate to {planned}.",
            (module.place("serial_rate"), survey.place("serial", "rate")),
            {"serial_rate": module.serial_rate, "planned": planned},
        )


@check(Stage.SERIAL, Severity.FAULT, DIVISOR)
def divisor_not_loadable(module: Module, survey: Survey) -> Iterator[Found]:
    """The controller's divisor is a value that cannot be loaded.

    It is not one of the steps of the divisor, or its bits cannot hold it. What is loaded instead
    nobody can say, and neither which rate that makes.

    Mend: Load the value that comes nearest to the wanted rate.

    Example:
        [controller]
        divisor = 51.5
    """
    divisor, generators = module.controller.divisor, generators_as_set(module)
    if divisor is None or not generators or any(each.takes(divisor) for each in generators):
        return
    loadable = _loadable(generators[0])
    yield Found(
        f"The divisor {_plain(divisor)} cannot be loaded; {loadable}.",
        _load_best(module, generators) or f"Load a value that fits: {loadable}.",
        (module.part("controller", "divisor"),),
        {"divisor": _number(divisor), "loadable": loadable},
    )


def _loadable(generator: RateGenerator) -> str:
    """Return what can be loaded, as half a sentence."""
    least, highest = generator.rule.least_divisor, generator.highest_divisor
    limits = f"at least {least}" if highest is None else f"{least} to {_plain(highest)}"
    if generator.step == 1:
        return f"it can be a whole number, {limits}"
    return f"it can be {limits} in steps of {generator.step}"


def _load_best(module: Module, generators: tuple[RateGenerator, ...]) -> str | None:
    """Return the remedy of loading the best value as the controller is set; None if none does."""
    end = module_end(module)
    if end is None:
        return None
    generator, setting = best_setting(generators, end)
    return _load(generator, setting) if mismatch(end, setting).share <= 1 else None


@check(Stage.SERIAL, Severity.FAULT, RECEIVER, after=("serial-rate-differs",))
def rate_out_of_reach(module: Module, survey: Survey) -> Iterator[Found]:
    """No divisor makes the module's rate from the controller's clock, near enough to be received.

    Where a divisor is given that can be loaded, that one is judged instead. Both ends are
    compared with each other: from the module to the controller with the controller's sampling,
    and back with 16 samples per bit, each with the module's own clock as far off as its profile
    permits.

    Mend: Choose a rate that the clock can make, other samples per bit, or another clock.

    Example:
        [serial]
        rate = 230400
        [controller]
        longest_gap = "2 ms"
    """
    end, generators = module_end(module), generators_as_set(module)
    if end is None or not generators or _loaded(module, generators, end):
        return
    generator, setting = best_setting(generators, end)
    apart = mismatch(end, setting)
    if apart.share > 1:
        yield Found(
            f"No divisor makes {end.rate} Bd; the best is {_made(generator, setting)}. "
            f"{_compared(apart, end)}",
            _way_out(module, end, survey),
            (module.place("serial_rate"), module.part("controller", "clock")),
            _figures(generator, setting, apart, end),
        )


@check(Stage.SERIAL, Severity.RISK, RECEIVER, after=LOADED)
def controller_rate_error(module: Module, survey: Survey) -> Iterator[Found]:
    """The loaded divisor makes a rate too far from the module's.

    It is a fault where the two ends are further apart than a receiver follows over one frame, and
    a risk above the policy's share of that (half of it): bytes are lost as it gets warm. Both
    ends are compared with each other: from the module to the controller with the controller's
    sampling, and back with 16 samples per bit, each with the module's own clock as far off as its
    profile permits.

    Mend: Load the best divisor, or choose a rate that the clock makes better.

    Example:
        [controller]
        divisor = 100
    """
    end, generators = module_end(module), generators_as_set(module)
    loaded = end and _loaded(module, generators, end)
    if not end or not loaded:
        return
    apart = mismatch(end, loaded[1])
    if apart.share > _tolerable(survey):
        yield Found(
            f"The divisor loaded for {end.rate} Bd is {_made(*loaded)}. {_compared(apart, end)}",
            _way_out(module, end, survey),
            (module.part("controller", "divisor"), module.place("serial_rate")),
            _figures(*loaded, apart, end),
            severity=Severity.FAULT if apart.share > 1 else Severity.RISK,
        )


def _loaded(
    module: Module, generators: tuple[RateGenerator, ...], end: ModuleEnd
) -> tuple[RateGenerator, RateSetting] | None:
    divisor = module.controller.divisor
    return None if divisor is None else loaded_setting(generators, divisor, end)


def _tolerable(survey: Survey) -> Fraction:
    """Return the share of a receiver's tolerance that the policy lets pass."""
    return survey.policy.thresholds.rate_error_risk / 100


def _way_out(module: Module, end: ModuleEnd, survey: Survey) -> str:
    """Return the divisor that will do, with the nearest rate for which there is one."""
    others = [rate for rate in _rates(module) if rate != end.rate]
    nearest_first = sorted(others, key=lambda rate: max(rate / end.rate, end.rate / rate))
    for rate in (end.rate, *nearest_first):
        wanted = ModuleEnd(rate, end.tolerance, end.data_and_parity_bits)
        generator, setting = best_setting(generators_to_choose(module), wanted)
        if mismatch(wanted, setting).share <= _tolerable(survey):
            both = "" if rate == end.rate else f"Set both ends to {rate} Bd. "
            return both + _load(generator, setting)
    return "Give the controller a clock that makes the rate."


def _rates(module: Module) -> list[int]:
    """Return the rates to which the module can be set."""
    profile = module.profile
    rates = profile.serial_rates if profile and profile.serial_rates else STANDARD_RATES
    slowest = profile.slowest if profile and profile.slowest else 0
    fastest = profile.fastest if profile and profile.fastest else math.inf
    return [rate for rate in rates if slowest <= rate <= fastest]


def _load(generator: RateGenerator, setting: RateSetting) -> str:
    return (
        f"Load {_plain(setting.divisor)} with {setting.samples_per_bit} samples per bit: from "
        f"{shown_frequency(generator.clock_hz)} it makes {_rate(setting)} ({_error(setting)})."
    )


def _made(generator: RateGenerator, setting: RateSetting) -> str:
    return (
        f"{_plain(setting.divisor)}: from {shown_frequency(generator.clock_hz)} with "
        f"{setting.samples_per_bit} samples per bit it makes {_rate(setting)} ({_error(setting)})"
    )


def _use(share: Fraction) -> str:
    """Return in words how much of what is tolerated is used."""
    if share > 1:
        return f"this is {float(share):.2g} times what it follows"
    return f"{float(100 * share):.0f} % of that is used"


def _compared(apart: Mismatch, end: ModuleEnd) -> str:
    """Return the worse direction in words: who is too fast to whom, and what is tolerated."""
    receiver = "module" if apart.sender == "controller" else "controller"
    pace = "fast" if apart.deviation > 0 else "slow"
    clock = ""
    if end.tolerance:
        clock = f", with the module's own clock {float(100 * end.tolerance):g} % off"
    return (
        f"To the {receiver} the {apart.sender} is {abs(float(100 * apart.deviation)):.2f} % too "
        f"{pace}{clock}; a receiver with {apart.samples_per_bit} samples per bit follows "
        f"{float(100 * apart.tolerated):.2f} % over {end.data_and_parity_bits} data and parity "
        f"bits, so {_use(apart.share)}."
    )


def _figures(
    generator: RateGenerator, setting: RateSetting, apart: Mismatch, end: ModuleEnd
) -> dict[str, Figure]:
    return {
        "serial_rate": end.rate,
        "clock_hz": _number(generator.clock_hz),
        "samples_per_bit": setting.samples_per_bit,
        "divisor": _number(setting.divisor),
        "actual_rate": round(float(setting.actual_rate), 1),
        "error_percent": round(float(100 * setting.error), 2),
        "sender": apart.sender,
        "mismatch_percent": round(float(100 * apart.deviation), 2),
        "tolerated_percent": round(float(100 * apart.tolerated), 2),
        "share_percent": round(float(100 * apart.share), 1),
    }


def _rate(setting: RateSetting) -> str:
    return f"{_plain(round(float(setting.actual_rate), 1))} Bd"


def _error(setting: RateSetting) -> str:
    return f"{float(100 * setting.error):+.2f} %"


def _plain(value: Fraction | float) -> str:
    return f"{float(value):.12g}"


def _number(value: Fraction) -> int | float:
    return int(value) if value.denominator == 1 else float(value)


@check(Stage.SERIAL, Severity.FAULT, FRAME)
def frame_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module's data bits, parity or stop bits are not the planned ones.

    With other data bits or another parity every byte is garbled or refused. More stop bits than
    the receiver expects only cost time (advice); fewer may be refused (risk).

    Mend: Set the module to the planned frame, save it, and read it back.

    Example:
        [[module]]
        id = "TG-02"
        parity = "even"
    """
    differing = {
        key: (_shown(getattr(module, key)), _shown(getattr(survey.fleet.serial, key)))
        for key in ("data_bits", "parity", "stop_bits")
        if getattr(survey.fleet.serial, key) not in (None, getattr(module, key))
    }
    if differing:
        told = ", ".join(
            f"{key.replace('_', ' ')} {own} instead of {planned}"
            for key, (own, planned) in differing.items()
        )
        mended = " and ".join(f"{key} to {planned}" for key, (_, planned) in differing.items())
        yield Found(
            f"The module's frame is not the planned one: {told}.",
            f"Set {mended}.",
            tuple(module.place(key) for key in differing),
            {key: own for key, (own, _) in differing.items()},
            severity=_gravity_of_frame(set(differing), module, survey),
        )


def _shown(value: Fraction | int | str) -> str:
    return value if isinstance(value, str) else _plain(value)


def _gravity_of_frame(differing: set[str], module: Module, survey: Survey) -> Severity:
    """Return a fault where bits are taken for others, and less where only stop bits differ."""
    if differing != {"stop_bits"}:
        return Severity.FAULT
    more = (module.stop_bits or 0) > (survey.fleet.serial.stop_bits or 0)
    harmless = more and module.controller.transmitter is False
    return Severity.ADVICE if harmless else Severity.RISK


@check(Stage.SERIAL, Severity.RISK, PRACTICE)
def flow_control_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module's flow control is not the planned one.

    An end that waits for a line which nobody drives may stay silent for ever, and one that is not
    held up overruns the other. With XON/XOFF, two byte values are missing from the messages.

    Mend: Set both ends to the same flow control.

    Example:
        [[module]]
        id = "TG-02"
        flow_control = "rts-cts"
    """
    planned = survey.fleet.serial.flow_control
    if None not in (planned, module.flow_control) and module.flow_control is not planned:
        yield Found(
            f"The module's flow control is {module.flow_control}; the plan says {planned}.",
            f"Set flow_control to {planned}.",
            (module.place("flow_control"), survey.place("serial", "flow_control")),
            {"flow_control": module.flow_control, "planned": planned},
        )


@check(Stage.SERIAL, Severity.RISK, FRAME, after=("serial-rate-differs",))
def serial_overrun(module: Module, survey: Survey) -> Iterator[Found]:
    """The talkers together send a listener about as much as its serial line carries, or more.

    What does not fit is dropped in the module. It is a fault above all that the line carries, and
    a risk above the policy's share of it, because messages bunch together.

    Mend: Send less often or less at once, name fewer talkers, or set a faster rate.

    Example:
        [traffic]
        message_bytes = 1000
        message_interval = "2500 ms"
    """
    load = line_load(module, survey)
    limit = survey.policy.thresholds.serial_load_risk / 100
    if load and load.share > float(limit):
        yield Found(
            f"The talkers it hears ({load.talkers}) send {load.bytes_per_s:.1f} bytes a second; "
            f"its line carries {load.capacity_bytes_per_s:.1f}: that is {100 * load.share:.1f} %.",
            _room(load, limit, survey),
            (
                survey.place("traffic", "message_interval"),
                survey.place("traffic", "message_bytes"),
                module.place("serial_rate"),
            ),
            {
                "talkers": load.talkers,
                "bytes_per_s": round(load.bytes_per_s, 1),
                "capacity_bytes_per_s": round(load.capacity_bytes_per_s, 1),
                "share_percent": round(100 * load.share, 1),
            },
            severity=Severity.FAULT if load.share > 1 else Severity.RISK,
        )


def _room(load: LineLoad, limit: Fraction, survey: Survey) -> str:
    """Return the message interval, in whole milliseconds, that leaves the line enough room."""
    longer_ms = _interval_ms(load, limit, survey)
    if longer_ms is None:
        return "Send less often, name fewer talkers, or set a faster rate at both ends."
    return (
        f'Set message_interval to "{longer_ms} ms" or more, name fewer talkers, '
        "or set a faster rate at both ends."
    )


def _interval_ms(load: LineLoad, limit: Fraction, survey: Survey) -> int | None:
    """Return the least message interval that keeps a load to a share; None if none does."""
    interval = survey.fleet.traffic.message_interval
    if not interval or not limit:
        return None
    return math.ceil(round(interval.total_seconds() * 1000 * load.share / float(limit), 6))


@check(Stage.SERIAL, Severity.RISK, FRAME, after=("serial-rate-differs",))
def talker_line_too_slow(module: Module, survey: Survey) -> Iterator[Found]:
    """The controller of a talker needs about as long for a message as there is until the next.

    Messages queue up in the controller until its buffer is full, and then some are lost before
    they reach the module. It is a fault above all that the line carries, and a risk above the
    policy's share of it, as for what a listener receives.

    Mend: Set a faster rate at both ends, or send less often or less at once.

    Example:
        [traffic]
        intent = "unicast"
        destination = "10.20.0.10"
        talkers = ["TG-01"]
        message_bytes = 1000
        message_interval = "1200 ms"
    """
    load = sending_load(module, survey)
    limit = survey.policy.thresholds.serial_load_risk / 100
    if load and load.share > float(limit):
        yield Found(
            f"Its controller hands over {load.bytes_per_s:.1f} bytes a second; the line between "
            f"them carries {load.capacity_bytes_per_s:.1f}: that is {100 * load.share:.1f} %.",
            _faster_or_less(load, limit, module, survey),
            (
                module.place("serial_rate"),
                module.place("message_bytes"),
                survey.place("traffic", "message_interval"),
            ),
            {
                "bytes_per_s": round(load.bytes_per_s, 1),
                "capacity_bytes_per_s": round(load.capacity_bytes_per_s, 1),
                "share_percent": round(100 * load.share, 1),
            },
            severity=Severity.FAULT if load.share > 1 else Severity.RISK,
        )


def _faster_or_less(load: LineLoad, limit: Fraction, module: Module, survey: Survey) -> str:
    """Return the slowest rate that leaves the line enough room, and the interval that does."""
    longer_ms = _interval_ms(load, limit, survey)
    if longer_ms is None:
        return "Set a faster rate at both ends, or send less often."
    rate = _rate_for(load, limit, module, survey)
    faster = f"Set both ends to {rate} Bd, or set" if rate else "Set"
    return f'{faster} message_interval to "{longer_ms} ms" or more.'


def _rate_for(load: LineLoad, limit: Fraction, module: Module, survey: Survey) -> int | None:
    """Return the slowest rate with which a load is within a share, and that both ends can make."""
    least = (module.serial_rate or 0) * load.share / float(limit)
    able = (rate for rate in _rates(module) if round(least, 6) <= rate)
    return next((rate for rate in sorted(able) if _can_make(module, rate, survey)), None)


def _can_make(module: Module, rate: int, survey: Survey) -> bool:
    """Say whether the controller could be set to a rate, as far as its clock is known."""
    end, generators = module_end(module), generators_to_choose(module)
    if end is None or not generators:
        return True
    wanted = ModuleEnd(rate, end.tolerance, end.data_and_parity_bits)
    return mismatch(wanted, best_setting(generators, wanted)[1]).share <= _tolerable(survey)


@check(Stage.SERIAL, Severity.FAULT, FRAME, after=("serial-rate-differs",))
def reads_too_far_apart(module: Module, survey: Survey) -> Iterator[Found]:
    """More can arrive while the controller does not read than its receive buffer holds.

    The rest is overwritten or dropped. Counted is what the line can bring in the longest gap, but
    no more than one message where there is one talker.

    Mend: Read more often, by interrupt for one, or give the controller a larger buffer.

    Example:
        [controller]
        longest_gap = "80 ms"
    """
    brought, buffer = bytes_between_reads(module, survey), receive_buffer(module)
    gap, capacity = module.controller.longest_gap, line_capacity(module)
    if brought is None or buffer is None or not gap or not capacity or brought <= buffer:
        return
    survived_ms = math.floor(buffer * 10**6 / capacity) / 1000
    oftener = f", or read every {survived_ms:g} ms at the latest" if survived_ms else ""
    yield Found(
        f"In {shown_duration(gap)} without a read {brought} bytes can arrive; "
        f"the receive buffer holds {buffer}.",
        f"Give the controller a receive buffer of at least {brought} bytes{oftener}.",
        (module.part("controller", "longest_gap"), module.part("controller", "receive_buffer")),
        {"bytes": brought, "receive_buffer": buffer, "survived_gap_ms": survived_ms},
    )


OVERRUN_REMEDY = (
    "Let the program look at the receiver's error flags, clear an overrun, and set "
    "clears_overrun = true."
)


@check(Stage.SERIAL, Severity.RISK, PRACTICE, scope=Scope.KIT)
def overrun_not_cleared(survey: Survey) -> Iterator[Found]:
    """The controller's program does not clear an overrun of its receiver.

    Many receivers stop at the first byte that comes too early, and take nothing more until the
    program clears the error: one hiccup, and the board is deaf until it is switched off.

    Mend: Look at the receiver's error flags after each read, and clear an overrun.

    Example:
        [controller]
        clears_overrun = false
    """
    shared = survey.those(lambda each: _ignores_overrun(each) and _shares(each, survey))
    if shared:
        whom = id_ranges(survey.ids(shared))
        yield Found(
            f"The controller's program does not clear an overrun of its receiver: {whom}.",
            OVERRUN_REMEDY,
            (survey.modules[shared[0]].part("controller", "clears_overrun"),),
            {"modules": len(shared)},
            concerns=shared,
        )


@part_of("overrun-not-cleared", Scope.MODULE)
def _own_overrun_not_cleared(module: Module, survey: Survey) -> Iterator[Found]:
    if _ignores_overrun(module) and not _shares(module, survey):
        yield Found(
            "The program of this controller does not clear an overrun of its receiver.",
            OVERRUN_REMEDY,
            (module.part("controller", "clears_overrun"),),
        )


def _ignores_overrun(module: Module) -> bool:
    return module.controller.clears_overrun is False and module.controller.receiver is not False


def _shares(module: Module, survey: Survey) -> bool:
    """Say whether a module takes clears_overrun from a table that modules share."""
    shared = (
        survey.place("controller", "clears_overrun"),
        survey.place("defaults", "controller", "clears_overrun"),
    )
    return module.part("controller", "clears_overrun") in shared


@check(Stage.SERIAL, Severity.FAULT, PRACTICE)
def receiver_off(module: Module, survey: Survey) -> Iterator[Found]:
    """The controller's receiver is off, and something is sent to the module.

    The module passes on what it gets, and nobody takes it.

    Mend: Switch the receiver on when the program sets up the serial line.

    Example:
        [controller]
        receiver = false
    """
    if module.controller.receiver is False and not only_talks(module, survey):
        yield Found(
            "The controller's receiver is off: nothing that arrives is taken.",
            "Switch the receiver on in the controller's program, and set receiver = true.",
            (module.part("controller", "receiver"),),
        )


@check(Stage.SERIAL, Severity.ADVICE, PRACTICE)
def transmitter_on_listener(module: Module, survey: Survey) -> Iterator[Found]:
    """The controller's transmitter is on although the module is not to talk.

    Whatever the controller puts on the line while it starts or is programmed goes out to
    everybody as a message.

    Mend: Leave the transmitter off, or its pin not connected, on boards that only listen.

    Example:
        [[module]]
        id = "TG-02"
        controller = { transmitter = true }
    """
    talks = module.talks is True or survey.sends(module)
    if module.controller.transmitter is True and not talks:
        yield Found(
            "The controller's transmitter is on, and the module does not talk.",
            "Switch the transmitter off, or set talks = true and add the module to the talkers.",
            (module.part("controller", "transmitter"),),
        )


@check(Stage.SERIAL, Severity.FAULT, PRACTICE)
def transmitter_off(module: Module, survey: Survey) -> Iterator[Found]:
    """The module is to talk, and its controller's transmitter is off.

    The module has nothing to send: no byte ever leaves the controller.

    Mend: Switch the transmitter on in the controller's program.

    Example:
        [[module]]
        id = "TG-01"
        controller = { transmitter = false }
    """
    is_planned = survey.talkers is not None or module.talks is True
    if module.controller.transmitter is False and survey.sends(module) and is_planned:
        yield Found(
            "The module is to talk, and the controller's transmitter is off.",
            "Switch the transmitter on in the controller's program, and set transmitter = true.",
            (module.part("controller", "transmitter"),),
        )


@check(Stage.SERIAL, Severity.FAULT, PRACTICE)
def pin_not_digital(module: Module, survey: Survey) -> Iterator[Found]:
    """A serial pin of the controller is not switched to digital use.

    An analogue input reads as low whatever the line does, so no byte is ever recognised. The
    transmit pin counts only where the module talks.

    Mend: Switch the pin to digital use before the serial line is set up.

    Example:
        [[module]]
        id = "TG-02"
        controller = { rx_pin = { direction = "in", digital = false } }
    """
    for name, pin, _ in _pins_in_use(module, survey):
        if pin.digital is False:
            yield Found(
                f"The controller's {name} pin is not set to digital use.",
                f"Switch the {name} pin to digital use, and set digital = true.",
                (_pin_place(module, name, "digital"),),
                {"pin": name},
            )


@check(Stage.SERIAL, Severity.FAULT, PRACTICE)
def pin_direction(module: Module, survey: Survey) -> Iterator[Found]:
    """A serial pin of the controller is set in the wrong direction.

    A receive pin that is an output drives against the module's transmit pin: nothing is
    received, and both pins may be damaged. A transmit pin that is an input sends nothing; it
    counts only where the module talks.

    Mend: Switch off, then set the receive pin to "in" and the transmit pin to "out".

    Example:
        [[module]]
        id = "TG-02"
        controller = { rx_pin = { direction = "out", digital = true } }
    """
    for name, pin, right in _pins_in_use(module, survey):
        if pin.direction not in (None, right):
            yield Found(
                f'The controller\'s {name} pin is set to "{pin.direction}"; '
                f'it has to be "{right}".',
                f'Disconnect the module, set the {name} pin to "{right}" in the program, and '
                "connect it again; the controller's data sheet says what its pins stand.",
                (_pin_place(module, name, "direction"),),
                {"pin": name, "direction": pin.direction, "right": right},
            )


def _pins_in_use(
    module: Module, survey: Survey
) -> Iterator[tuple[ControllerPin, Pin, PinDirection]]:
    """Give each serial pin that the module's part in the traffic needs, with its direction."""
    controller = module.controller
    if controller.rx_pin and not only_talks(module, survey):
        yield ControllerPin.RX, controller.rx_pin, PinDirection.IN
    if controller.tx_pin and controller.transmitter is not False and survey.sends(module):
        yield ControllerPin.TX, controller.tx_pin, PinDirection.OUT


def _pin_place(module: Module, name: ControllerPin, key: str) -> Place:
    return module.part("controller", f"{name}_pin", key)
