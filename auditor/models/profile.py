"""The form of what is known beforehand: a kind of module, a controller, a policy, a region."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from auditor.compute.radio import RadioRule
from auditor.compute.supply import LogicInput, LogicOutput
from auditor.models import forms as f
from auditor.models import words as w
from auditor.models.words import Severity


class LogicLevels(f.Table):
    """What a pin puts out and what it takes, in volts."""

    output_high: f.Volts | None = None
    output_low: f.Volts | None = None
    input_high: f.Volts | None = None
    input_low: f.Volts | None = None
    input_highest: f.Volts | None = None

    @property
    def output(self) -> LogicOutput | None:
        """The guaranteed output levels, where both are given."""
        if self.output_high is None or self.output_low is None:
            return None
        return LogicOutput(float(self.output_high), float(self.output_low))

    @property
    def input(self) -> LogicInput | None:
        """The input thresholds, where all three are given."""
        if self.input_high is None or self.input_low is None or self.input_highest is None:
            return None
        return LogicInput(float(self.input_high), float(self.input_low), float(self.input_highest))


class IndicatorLook(f.Table):
    """What the indicator shows in one state; a blinking one with its rate."""

    state: f.IndicatorStateWord
    rate: f.BlinkRate | None = None


def _look(written: object) -> object:
    return {"state": written} if isinstance(written, str) else written


Look = Annotated[IndicatorLook, BeforeValidator(_look)]


class Indicator(f.Table):
    """What the indicator shows without supply, while it searches, and once it has joined."""

    unpowered: Look = IndicatorLook.model_construct(state=w.IndicatorState.DARK)
    searching: Look | None = None
    joined: Look | None = None


class Described(f.Table):
    """A profile says what it stands for, and where its values come from."""

    title: f.Name
    about: f.Text = ""
    sources: tuple[f.Text, ...] = ()


class ModuleProfile(Described):
    """What a kind of radio module can do, and what it needs."""

    standards: f.Standards = ()
    bands: f.Bands = ()
    channels: dict[f.BandWord, tuple[f.Channel, ...]] = Field(default_factory=dict)
    security: f.Securities = ()
    protected_management: f.ProtectionWord | None = None
    joins_mixed: f.Securities | None = None
    finds_hidden: f.Switch | None = None
    serial_rates: tuple[f.SymbolRate, ...] = ()
    slowest: f.SymbolRate | None = None
    fastest: f.SymbolRate | None = None
    serial_tolerance: f.Tolerance | None = None
    data_bits: tuple[f.DataBits, ...] = ()
    parity: f.Parities = ()
    stop_bits: tuple[f.StopBits, ...] = ()
    flow_control: Annotated[
        tuple[f.FlowControlWord, ...], Field(description="kinds of flow control it can do")
    ] = ()
    transports: f.Transports = ()
    network_name_octets: f.Count | None = None
    lowest_supply: f.Volts | None = None
    highest_supply: f.Volts | None = None
    burst_current: f.Milliamps | None = None
    burst_duration: f.BurstDuration | None = None
    logic: LogicLevels = LogicLevels.model_construct()
    transmit_power: f.PowerLevel | None = None
    indicator: Indicator = Indicator.model_construct()


class ControllerProfile(Described):
    """What a kind of controller makes its serial rate from, and what its pins do."""

    clock: f.Frequency | None = None
    clock_multipliers: tuple[f.Multiplier, ...] = ()
    oversampling: tuple[f.Oversampling, ...] = ()
    divisor_rule: f.DivisorRuleWord | None = None
    divisor_bits: f.DivisorBits | None = None
    receive_buffer: f.ByteCount | None = None
    logic: LogicLevels = LogicLevels.model_construct()


class Thresholds(f.Table):
    """The figures from which something is said."""

    attack_time: f.AttackTime
    airtime_advice: f.Share
    airtime_risk: f.Share
    serial_load_risk: f.Share
    rate_error_risk: f.Share
    indicator_current: f.IndicatorCurrent
    logic_margin: f.LogicMargin


Setting = Severity | Literal["off"]


def _setting(written: object) -> Severity | Literal["off"]:
    if written is False or written == "off":
        return "off"
    if isinstance(written, str) and written in tuple(Severity):
        return Severity(written)
    raise ValueError(f"is not one of {', '.join(Severity)}, off")


class Policy(Described):
    """How strict to be: thresholds, and severities other than the usual ones."""

    thresholds: Thresholds
    severities: dict[f.Name, Annotated[Setting, f.Reader(_setting)]] = Field(default_factory=dict)


class Rule(f.Table):
    """A stretch of spectrum and what may be radiated there."""

    low_mhz: float
    high_mhz: float
    radiated_dbm: float
    ofdm: f.Switch = True
    may_initiate: f.Switch = True
    source: f.Text = ""

    @model_validator(mode="after")
    def _in_order(self) -> "Rule":
        if self.high_mhz <= self.low_mhz:
            raise ValueError("has high_mhz not above low_mhz")
        return self


class Region(f.Table):
    """What a country permits a Wi-Fi radio.

    `also_written` holds what people write instead of the code: its alpha-3 code, or a code that is
    reserved for it. A code of several countries stands in the region of each.
    """

    code: f.Name
    name: f.Name
    also_written: f.Texts = ()
    source: f.Text
    rule: tuple[Rule, ...]

    @property
    def rules(self) -> tuple[RadioRule, ...]:
        """The rules as the computations take them."""
        return tuple(
            RadioRule(rule.low_mhz, rule.high_mhz, rule.radiated_dbm, rule.ofdm, rule.may_initiate)
            for rule in self.rule
        )
