"""Power: the supply carries the module, and its pins can be joined to the controller's."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.supply import divider_v, headroom_v, series_resistor_ohm
from auditor.findings import Figures, Found, Stage
from auditor.models.places import Place
from auditor.models.profile import ModuleProfile
from auditor.models.words import ControllerPin, Severity, Terminal
from auditor.survey.kit import Survey
from auditor.survey.levels import Direction, directions_of
from auditor.survey.likeness import Group
from auditor.survey.module import Module
from auditor.survey.supply import (
    DIGITS,
    Burst,
    Heat,
    IndicatorCircuit,
    burst_of,
    heat_of,
    indicator_circuit_of,
    is_linear,
)

PRACTICE = "common practice, no source"
CAPACITOR = (
    "charge of a capacitor, I t = C V; aluminium electrolytics may have 20 % less than printed "
    "(calculator page)"
)
LEVELS = (
    "JEDEC JESD8C, 3.3 V LVTTL; where only the controller's voltage is known, "
    "ATmega48A...328P 8271H, Table 29-1 and section 29.1"
)
CAUTION = (
    "Switch off and unplug before you change the wiring; the part's data sheet decides, "
    "and if in doubt ask a qualified person."
)
DIVIDER_LOWER_OHM = 3300
DIVIDER_UPPER_OHM = (1000, 1200, 1500, 1800, 2200, 2700, 3300, 3900, 4700, 5600, 6800, 8200, 10000)
"""Values that are sold: IEC 60063, series E12."""


@check(Stage.POWER, Severity.FAULT, "the module's profile: its supply range")
def supply_voltage_out_of_range(module: Module, survey: Survey) -> Iterator[Found]:
    """The voltage that feeds the module is outside what it is made for.

    Below the range it restarts or never starts; above it, it may be destroyed and get hot.

    Mend: Set the supply to a voltage that the profile permits, before the module is connected.

    Example:
        [supply]
        output_voltage = "2.8 V"
    """
    output, profile = module.supply.output_voltage, module.profile
    if output is None or profile is None:
        return
    lowest, highest = profile.lowest_supply, profile.highest_supply
    too_low = lowest is not None and output < lowest
    too_high = highest is not None and output > highest
    if too_low or too_high:
        effect = "it restarts or never starts" if too_low else "it may be destroyed and get hot"
        yield Found(
            f"The supply gives {float(output):.6g} V and the module needs {_range(profile)}: "
            f"{effect}.",
            f"Set the supply's output to {_range(profile)}. {CAUTION}",
            (module.part("supply", "output_voltage"),),
            {
                "output_voltage_v": float(output),
                "lowest_v": None if lowest is None else float(lowest),
                "highest_v": None if highest is None else float(highest),
            },
        )


def _range(profile: ModuleProfile) -> str:
    bounds = (("at least", profile.lowest_supply), ("at most", profile.highest_supply))
    known = (f"{word} {float(bound):.6g} V" for word, bound in bounds if bound is not None)
    return " and ".join(known)


@check(
    Stage.POWER,
    Severity.FAULT,
    "definition of the dropout voltage of a linear regulator",
    after=("supply-voltage-out-of-range",),
)
def regulator_dropout(module: Module, survey: Survey) -> Iterator[Found]:
    """The input of the linear regulator is not far enough above its output.

    With less than its dropout voltage across it, it no longer regulates: the output follows the
    input down, ripple and all, and falls most just when the module sends. What counts is the
    voltage at the regulator, behind the cable.

    Mend: Feed it with a higher voltage, or take a regulator with a lower dropout voltage.

    Example:
        [supply]
        input_voltage = "4.2 V"
    """
    supply = module.supply
    if supply.input_voltage is None or supply.output_voltage is None or not is_linear(supply):
        return
    dropout = supply.dropout_voltage or 0
    input_v, output_v = float(supply.input_voltage), float(supply.output_voltage)
    left_v = round(headroom_v(input_v, output_v), DIGITS)
    if left_v < round(float(dropout), DIGITS):
        least_v = float(supply.output_voltage + dropout)
        other = f", or take one that needs at most {left_v:.6g} V" if left_v > 0 else ""
        yield Found(
            f"{input_v:.6g} V in and {output_v:.6g} V out leave {left_v:.6g} V across the "
            f"regulator; it needs at least {float(dropout):.6g} V.",
            f"Feed it with at least {least_v:.6g} V, as far as its data sheet permits{other}.",
            (module.part("supply", "input_voltage"), module.part("supply", "dropout_voltage")),
            {
                "headroom_v": left_v,
                "dropout_voltage_v": float(dropout),
                "least_input_voltage_v": least_v,
            },
        )


@check(Stage.POWER, Severity.FAULT, CAPACITOR)
def burst_current_short(module: Module, survey: Survey) -> Iterator[Found]:
    """The supply cannot carry the module through a burst of sending.

    While the radio sends, the module draws more than the regulator delivers. The capacitor makes
    up the difference and its voltage falls; below the module's lowest supply voltage it restarts,
    again and again. A capacitance that is only just enough, or not told, is a risk.

    Mend: Take a supply that delivers the burst, or a larger capacitor close to the module.

    Example:
        [supply]
        current_limit = "200 mA"
    """
    yield from _short_bursts(module, Severity.FAULT)


@part_of("burst-current-short", Scope.KIT)
def burst_current_doubtful(survey: Survey) -> Iterator[Found]:
    """The capacitor is only just large enough, or its capacitance is not told."""
    yield from _once(survey, lambda module: _short_bursts(module, Severity.RISK))


def _short_bursts(module: Module, severity: Severity) -> Iterator[Found]:
    """Give what is said of a module's burst at one severity."""
    burst = burst_of(module)
    if burst is None or burst.output_v < burst.lowest_v or burst.needed_uf <= burst.sure_uf:
        return
    lacking = burst.held_uf is not None and burst.held_uf < burst.needed_uf
    if severity is (Severity.FAULT if lacking else Severity.RISK):
        yield Found(
            _burst_message(burst),
            _burst_remedy(burst),
            (module.part("supply", "current_limit"), module.part("supply", "capacitance")),
            _burst_figures(burst),
            severity=severity,
        )


def _burst_message(burst: Burst) -> str:
    lack = (
        f"A burst draws {burst.burst_a * 1000:.6g} mA for {burst.duration_s * 1000:.6g} ms, "
        f"and the supply delivers {burst.limit_a * 1000:.6g} mA"
    )
    if burst.held_uf is None:
        return f"{lack}; no capacitance is given that would make up the difference."
    if burst.held_uf < burst.needed_uf:
        return (
            f"{lack}; {burst.held_uf:.6g} µF let the voltage fall to {burst.left_v:.4g} V, "
            f"and the module needs {burst.lowest_v:.6g} V."
        )
    return (
        f"{lack}; {burst.needed_uf:.6g} µF make up the difference, and of {burst.held_uf:.6g} µF "
        "a fifth may be missing."
    )


def _burst_remedy(burst: Burst) -> str:
    stronger = f"Take a supply that delivers at least {burst.burst_a * 1000:.6g} mA"
    if burst.printed_uf is None:
        return f"{stronger}; a capacitor is no help where the voltage must not fall at all."
    told = " Write down the capacitance if there is one." if burst.held_uf is None else ""
    return (
        f"{stronger}, or put at least {burst.printed_uf} µF, a fifth of which may be missing, "
        f"close to the module, its positive end to the supply's output.{told} {CAUTION}"
    )


def _burst_figures(burst: Burst) -> Figures:
    return {
        "burst_current_ma": round(burst.burst_a * 1000, DIGITS),
        "burst_duration_ms": round(burst.duration_s * 1000, DIGITS),
        "current_limit_ma": round(burst.limit_a * 1000, DIGITS),
        "capacitance_uf": burst.held_uf,
        "left_v": None if burst.held_uf is None else burst.left_v,
        "lowest_v": burst.lowest_v,
        "least_capacitance_uf": burst.printed_uf,
    }


@check(Stage.POWER, Severity.FAULT, "ELNA, cautions for aluminium capacitors")
def capacitor_reversed(module: Module, survey: Survey) -> Iterator[Found]:
    """A polarised capacitor is connected the wrong way round.

    Its positive end belongs to the supply's output. Reversed, its dielectric breaks down: it
    draws a heavy current, gets hot, and vents or bursts. Even a small one can injure an eye.

    Mend: Switch off, let it cool and discharge, wear eye protection, and put in a new one the
    right way round; one that was reversed is spoiled. The part's data sheet decides; if in doubt
    ask a qualified person.

    Example:
        [supply]
        capacitor_positive_to = "ground"
    """
    supply = module.supply
    if supply.capacitor_polarised is not False and supply.capacitor_positive_to is Terminal.GROUND:
        yield Found(
            "The positive end of the polarised capacitor is at ground: it gets hot, and vents or "
            "bursts.",
            "Do not switch on. Unplug, let it cool and discharge, wear eye protection, and put in "
            "a new one with its positive end to the supply's output; one that was reversed is "
            "spoiled. The part's data sheet decides; if in doubt ask a qualified person.",
            (module.part("supply", "capacitor_positive_to"),),
            {"capacitor_positive_to": Terminal.GROUND.value},
        )


@check(Stage.POWER, Severity.RISK, "Toshiba e-learning, LDO basics, section 4-2", scope=Scope.KIT)
def regulator_heat(survey: Survey) -> Iterator[Found]:
    """The linear regulator may get hotter than it is made for.

    It turns the voltage that it takes away into heat. A profile tells the current of a burst and
    not the average, so the burst is counted as if it lasted: a careful upper bound. Too hot, the
    regulator switches off or ages quickly, and its case can burn a finger.

    Mend: Feed it with a lower voltage, cool it better, or take a switching regulator.

    Example:
        [supply]
        thermal_resistance = "200 K/W"
    """
    yield from _once(survey, _too_hot)


def _too_hot(module: Module) -> Iterator[Found]:
    heat = heat_of(module)
    if heat is None or heat.hottest_c <= heat.highest_c:
        return
    yield Found(
        f"If a burst of {heat.current_a * 1000:.6g} mA lasted, the regulator would turn "
        f"{heat.heat_w:.3g} W into heat and reach {heat.hottest_c:.4g} °C; it is made for "
        f"{heat.highest_c:.6g} °C. The average is lower, and not told.",
        _heat_remedy(heat),
        (module.part("supply", "input_voltage"), module.part("supply", "thermal_resistance")),
        {
            "current_ma": round(heat.current_a * 1000, DIGITS),
            "heat_w": round(heat.heat_w, DIGITS),
            "junction_c": heat.hottest_c,
            "highest_junction_c": heat.highest_c,
            "permitted_heat_w": round(heat.permitted_w, DIGITS),
        },
    )


def _heat_remedy(heat: Heat) -> str:
    if not heat.permitted_w:
        return f"Find it a cooler place: the air around it is at {heat.ambient_c:.6g} °C. {CAUTION}"
    ways = []
    most_v = math.floor((heat.output_v + heat.permitted_w / heat.current_a) * 100) / 100
    if most_v - heat.output_v >= heat.dropout_v:
        ways.append(f"feed it with at most {most_v:.6g} V")
    cooled = math.floor((heat.highest_c - heat.ambient_c) / heat.heat_w * 10) / 10
    if cooled:
        ways.append(f"cool it so that it has at most {cooled:.6g} K/W")
    ways.append("take a switching regulator")
    choice = ", or ".join(ways)
    return f"{choice[0].upper()}{choice[1:]}. Its case can burn: let it cool first. {CAUTION}"


@check(Stage.POWER, Severity.FAULT, LEVELS)
def logic_level_mismatch(module: Module, survey: Survey) -> Iterator[Found]:
    """The levels of module and controller do not fit together.

    A high above what an input endures can destroy it, and feeds the board through its pin. A
    level that an output does not promise may do on one board, and not on the next or on a warm
    day; a promise with little to spare is a risk. Where only the controller's voltage is known,
    its input is taken to need 0.6 of it for high and 0.3 for low.

    Mend: Put a level shifter or a divider between them, or run both at one voltage.

    Example:
        [controller]
        logic_level = "5 V"
    """
    for direction in directions_of(module):
        if direction.overdrive_v > 0:
            yield _overdriven(direction, _level_place(module))
        elif direction.margin_v < 0:
            lack = f"{-direction.margin_v:.6g} V are missing; it may work, and nothing promises it"
            yield _short_margin(direction, lack, _level_place(module), Severity.FAULT)


@part_of("logic-level-mismatch", Scope.KIT)
def logic_margin_short(survey: Survey) -> Iterator[Found]:
    """The levels fit together, with less to spare than the policy asks for."""
    least_v = float(survey.policy.thresholds.logic_margin)
    yield from _once(survey, lambda module: _short_margins(module, least_v))


def _short_margins(module: Module, least_v: float) -> Iterator[Found]:
    for direction in directions_of(module):
        if direction.overdrive_v == 0 and 0 <= direction.margin_v < least_v:
            spare = f"{direction.margin_v:.6g} V are to spare, less than {least_v:.6g} V"
            yield _short_margin(direction, spare, _level_place(module), Severity.RISK)


def _level_place(module: Module) -> Place:
    known = module.controller.logic_level is not None
    return module.part("controller", "logic_level" if known else "profile")


def _overdriven(direction: Direction, place: Place) -> Found:
    return Found(
        f"The output of {direction.driver} reaches {direction.highest_v:.6g} V; "
        f"the input of {direction.receiver} endures {direction.input.highest_v:.6g} V.",
        f"{_divider(direction)} {CAUTION}",
        (place,),
        _level_figures(direction),
        shows_at=Stage.SERIAL,
    )


def _divider(direction: Direction) -> str:
    for upper_ohm in DIVIDER_UPPER_OHM:
        divided_v = divider_v(direction.highest_v, upper_ohm, DIVIDER_LOWER_OHM)
        promised_v = divider_v(direction.output.high_min_v, upper_ohm, DIVIDER_LOWER_OHM)
        if divided_v <= direction.wanted_v and promised_v >= direction.input.high_min_v:
            return (
                f"Put {upper_ohm / 1000:g} kΩ in series between the two and "
                f"{DIVIDER_LOWER_OHM / 1000:g} kΩ from the input of {direction.receiver} to "
                f"ground, which leaves it {divided_v:.3g} V, or put in a level shifter."
            )
    return f"Put a level shifter between {direction.driver} and {direction.receiver}."


def _short_margin(direction: Direction, margin: str, place: Place, severity: Severity) -> Found:
    return Found(
        f"{_promise(direction)}: {margin}.",
        f"Put a level shifter between {direction.driver} and {direction.receiver}, "
        f"or run both at one voltage. {CAUTION}",
        (place,),
        _level_figures(direction),
        severity=severity,
        shows_at=Stage.SERIAL,
    )


def _promise(direction: Direction) -> str:
    """Say what is promised and what is needed, of the level that has less to spare."""
    given, taken = direction.output, direction.input
    level, bound, given_v, taken_v = "high", "at least", given.high_min_v, taken.high_min_v
    if direction.low_margin_v < direction.high_margin_v:
        level, bound, given_v, taken_v = "low", "at most", given.low_max_v, taken.low_max_v
    return (
        f"For {level} the output of {direction.driver} promises {bound} {given_v:.6g} V, "
        f"and the input of {direction.receiver} needs {bound} {taken_v:.6g} V"
    )


def _level_figures(direction: Direction) -> Figures:
    return {
        "driver": direction.driver,
        "highest_output_v": round(direction.highest_v, DIGITS),
        "highest_input_v": round(direction.input.highest_v, DIGITS),
        "high_margin_v": direction.high_margin_v,
        "low_margin_v": direction.low_margin_v,
    }


@check(Stage.POWER, Severity.RISK, "Ohm's law, I = (Vs - Vf) / R", scope=Scope.KIT)
def indicator_current(survey: Survey) -> Iterator[Found]:
    """More current flows through the indicator than the policy permits, or none can.

    Too much shortens the life of the indicator and of the pin that drives it. Where the supply
    does not exceed the forward voltage it stays dark whatever the module does, and tells nothing
    when a fault is looked for; that is advice.

    Mend: Take a larger resistor, or an indicator of a lower forward voltage.

    Example:
        [supply]
        indicator_resistor = "47 Ω"
    """
    limit_a = float(survey.policy.thresholds.indicator_current) / 1000
    yield from _once(survey, lambda module: _indicator(module, limit_a))


def _indicator(module: Module, limit_a: float) -> Iterator[Found]:
    circuit = indicator_circuit_of(module)
    if circuit is None or circuit.current_a is None:
        return
    if circuit.supply_v <= circuit.forward_v:
        yield _dark(circuit, module.part("supply", "indicator_forward_voltage"))
    elif circuit.current_a > limit_a:
        place = module.part("supply", "indicator_resistor")
        yield _too_bright(circuit, circuit.current_a, limit_a, place)


def _dark(circuit: IndicatorCircuit, place: Place) -> Found:
    return Found(
        f"The indicator needs more than {circuit.forward_v:.6g} V and the supply gives "
        f"{circuit.supply_v:.6g} V: it stays dark whatever the module does.",
        f"Take an indicator with a forward voltage well below {circuit.supply_v:.6g} V.",
        (place,),
        {"current_ma": 0.0, "forward_voltage_v": circuit.forward_v},
        severity=Severity.ADVICE,
    )


def _too_bright(circuit: IndicatorCircuit, current_a: float, limit_a: float, place: Place) -> Found:
    limited = math.isfinite(current_a)
    flows = f"{current_a * 1000:.4g} mA flow" if limited else "With no resistor, any current flows"
    remedy = "Leave it out: the policy permits no current."
    if limit_a:
        ohm = series_resistor_ohm(circuit.supply_v, circuit.forward_v, limit_a)
        remedy = f"Put in a resistor of at least {math.ceil(round(ohm, DIGITS))} Ω."
    return Found(
        f"{flows} through the indicator; {limit_a * 1000:.6g} mA are permitted.",
        f"{remedy} {CAUTION}",
        (place,),
        {
            "current_ma": round(current_a * 1000, DIGITS) if limited else None,
            "limit_ma": round(limit_a * 1000, DIGITS),
        },
    )


@check(Stage.POWER, Severity.FAULT, PRACTICE)
def serial_pair_not_crossed(module: Module, survey: Survey) -> Iterator[Found]:
    """The two serial wires are not crossed.

    What one end transmits must go where the other receives. Otherwise two outputs work against
    each other, two inputs wait for each other, and not one byte arrives.

    Mend: Join the module's receive pin to the controller's transmit pin, and the other way round.

    Example:
        [supply]
        rx_wired_to = "rx"
        tx_wired_to = "tx"
    """
    wires = (
        ("rx", module.supply.rx_wired_to, ControllerPin.TX),
        ("tx", module.supply.tx_wired_to, ControllerPin.RX),
    )
    wrong = [(own, pin, right) for own, pin, right in wires if pin not in (None, right)]
    if wrong:
        straight = " and ".join(f"the module's {own} to {pin}" for own, pin, _ in wrong)
        crossed = " and ".join(f"the module's {own} to {right}" for own, _, right in wrong)
        yield Found(
            f"The serial pair is not crossed: {straight} of the controller.",
            f"Wire {crossed} of the controller. {CAUTION}",
            tuple(module.part("supply", f"{own}_wired_to") for own, _, _ in wrong),
            {f"{own}_wired_to": str(pin) for own, pin, _ in wrong},
            shows_at=Stage.SERIAL,
        )


@check(Stage.POWER, Severity.FAULT, PRACTICE)
def no_common_ground(module: Module, survey: Survey) -> Iterator[Found]:
    """Module and controller share no ground.

    A level is a voltage against ground. Without a common one the serial line floats: bytes are
    lost or garbled, and the return current looks for a way through the pins.

    Mend: Join the two grounds with a wire of their own.

    Example:
        [supply]
        common_ground = false
    """
    if module.supply.common_ground is False:
        yield Found(
            "Module and controller have no ground in common.",
            f"Join the two grounds, and set common_ground = true. {CAUTION}",
            (module.part("supply", "common_ground"),),
            shows_at=Stage.SERIAL,
        )


def _once(survey: Survey, found_on: Callable[[Module], Iterator[Found]]) -> Iterator[Found]:
    """Give what several modules share once, with the modules that it concerns."""
    shared: dict[tuple[str, tuple[Place, ...]], tuple[Found, list[int]]] = {}
    for group in survey.groups:
        for found, indexes in _found_on_group(group, survey, found_on):
            _, concerned = shared.setdefault((found.message, found.where), (found, []))
            concerned += indexes
    for found, concerned in sorted(shared.values(), key=lambda each: min(each[1])):
        yield replace(found, concerns=tuple(sorted(concerned)))


def _found_on_group(
    group: Group, survey: Survey, found_on: Callable[[Module], Iterator[Found]]
) -> Iterator[tuple[Found, Sequence[int]]]:
    """Give what is found on modules that fare alike: once, unless it stands at each of them."""
    found = list(found_on(group.module))
    if found == list(found_on(survey.modules[group.indexes[-1]])):
        yield from ((each, group.indexes) for each in found)
    else:
        for index in group.indexes:
            yield from ((each, (index,)) for each in found_on(survey.modules[index]))
