"""The form of what is known beforehand: a kind of module, a controller, a policy, a region."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from auditor.compute.radio import RadioRule
from auditor.compute.supply import LogicInput, LogicOutput
from auditor.models import forms as f
from auditor.models import words as w
from auditor.models.json_forms import Form, Schema
from auditor.models.words import Severity


class LogicLevels(f.Table):
    """What a pin puts out and what it takes, in volts."""

    output_high: f.Volts | None = None
    """The least that it puts out as a high level."""
    output_low: f.Volts | None = None
    """The most that it puts out as a low level."""
    input_high: f.Volts | None = None
    """From here on it takes a level as high."""
    input_low: f.Volts | None = None
    """Up to here it takes a level as low."""
    input_highest: f.Volts | None = None
    """The most that its inputs bear."""

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
    """What it shows."""
    rate: f.BlinkRate | None = None
    """How often it blinks."""


def _look(written: object) -> object:
    return {"state": written} if isinstance(written, str) else written


def _look_schema(table: Schema) -> Schema:
    return {"anyOf": [f.INDICATOR_STATE.form.schema(), table]}


Look = Annotated[IndicatorLook, f.Shorthand(_look, _look_schema)]


class Indicator(f.Table):
    """What the indicator shows without supply, while it searches, and once it has joined."""

    unpowered: Look = IndicatorLook.model_construct(state=w.IndicatorState.DARK)
    """What it shows without supply."""
    searching: Look | None = None
    """What it shows while it looks for its network."""
    joined: Look | None = None
    """What it shows once it has joined."""


class Described(f.Table):
    """A profile says what it stands for, and where its values come from."""

    title: f.Name
    """What it is called."""
    about: f.Text = ""
    """What it stands for."""
    sources: tuple[f.Text, ...] = ()
    """Where its values come from."""


class ModuleProfile(Described):
    """What a kind of radio module can do, and what it needs."""

    standards: f.Standards = ()
    """The amendments of IEEE 802.11 that it speaks."""
    bands: f.Bands = ()
    """The bands on which it works."""
    channels: dict[f.BandWord, tuple[f.Channel, ...]] = Field(default_factory=dict)
    """The channels that it knows, a list per band."""
    security: f.Securities = ()
    """The security modes that it can be set to."""
    protected_management: f.ProtectionWord | None = None
    """Whether it protects management frames (802.11w)."""
    joins_mixed: f.Securities | None = None
    """The mixed security modes of networks that it joins."""
    finds_hidden: f.Switch | None = None
    """Whether it can ask for a hidden network name."""
    serial_rates: tuple[f.SymbolRate, ...] = ()
    """The serial rates that it can be set to."""
    slowest: f.SymbolRate | None = None
    """The slowest serial rate, where it takes any in between."""
    fastest: f.SymbolRate | None = None
    """The fastest serial rate, where it takes any in between."""
    serial_tolerance: f.Tolerance | None = None
    """How far its own clock may be off, in per cent."""
    data_bits: tuple[f.DataBits, ...] = ()
    """The numbers of data bits that it can be set to."""
    parity: f.Parities = ()
    """The kinds of parity that it can be set to."""
    stop_bits: tuple[f.StopBits, ...] = ()
    """The numbers of stop bits that it can be set to."""
    flow_control: tuple[f.FlowControlWord, ...] = ()
    """The kinds of flow control that it can be set to."""
    transports: f.Transports = ()
    """The transports that it can send over."""
    network_name_octets: f.Count | None = None
    """The longest network name that it takes, in octets."""
    lowest_supply: f.Volts | None = None
    """The lowest supply voltage that it works at."""
    highest_supply: f.Volts | None = None
    """The highest supply voltage that it bears."""
    burst_current: f.Milliamps | None = None
    """What it draws while it transmits."""
    burst_duration: f.BurstDuration | None = None
    """How long it draws that."""
    logic: LogicLevels = LogicLevels.model_construct()
    """The levels of its serial pins."""
    transmit_power: f.PowerLevel | None = None
    """The highest power that it transmits with."""
    indicator: Indicator = Indicator.model_construct()
    """What its indicator shows."""


class ControllerProfile(Described):
    """What a kind of controller makes its serial rate from, and what its pins do."""

    clock: f.Frequency | None = None
    """The clock that the serial rate is made from."""
    clock_multipliers: tuple[f.Multiplier, ...] = ()
    """The factors that can stand between clock and rate generator."""
    oversampling: tuple[f.Oversampling, ...] = ()
    """The samples per bit that it can be set to."""
    divisor_rule: f.DivisorRuleWord | None = None
    """How the loaded value divides the clock."""
    divisor_bits: f.DivisorBits | None = None
    """The width of the divisor, in bits."""
    receive_buffer: f.ByteCount | None = None
    """What is kept of received bytes until they are read."""
    logic: LogicLevels = LogicLevels.model_construct()
    """The levels of its serial pins."""


class Thresholds(f.Table):
    """The figures from which something is said."""

    attack_time: f.AttackTime
    """A passphrase that a guessing attack finds in less is weak."""
    airtime_advice: f.Share
    """The share of the channel from which there is advice."""
    airtime_risk: f.Share
    """The share of the channel from which it is a risk."""
    serial_load_risk: f.Share
    """The share of what a serial line carries from which it is a risk."""
    rate_error_risk: f.Share
    """The share of the tolerated rate error from which it is a risk."""
    indicator_current: f.IndicatorCurrent
    """More than this through an indicator is a risk."""
    logic_margin: f.LogicMargin
    """Less than this between two logic levels is a risk."""


Setting = Severity | Literal["off"]


def _setting(written: object) -> Severity | Literal["off"]:
    if written is False or written == "off":
        return "off"
    if isinstance(written, str) and written in tuple(Severity):
        return Severity(written)
    raise ValueError(f"is not one of {', '.join(Severity)}, off")


SettingWord = Annotated[
    Setting, f.Reader(_setting, Form(lambda: {"enum": [*map(str, Severity), "off", False]}))
]


class Policy(Described):
    """How strict to be: thresholds, and severities other than the usual ones."""

    thresholds: Thresholds
    """The figures from which something is said."""
    severities: dict[f.Name, SettingWord] = Field(default_factory=dict)
    """Checks that are raised, lowered or switched off."""


class Rule(f.Table):
    """A stretch of spectrum and what may be radiated there."""

    low_mhz: f.Number
    """Where the stretch begins, in MHz."""
    high_mhz: f.Number
    """Where the stretch ends, in MHz."""
    radiated_dbm: f.Number
    """The highest radiated power (EIRP), in dBm."""
    ofdm: f.Switch = True
    """Whether more than 802.11b is permitted."""
    may_initiate: f.Switch = True
    """Whether a station may transmit before it hears an access point."""
    source: f.Text = ""
    """Where this rule comes from, where it is not the region's source."""

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
    """The ISO 3166-1 alpha-2 code of the country."""
    name: f.Name
    """The name of the country."""
    also_written: f.Texts = ()
    """What people write instead of the code."""
    source: f.Text
    """Where the rules come from, and when they were read."""
    rule: tuple[Rule, ...]
    """What may be radiated, stretch by stretch."""

    @property
    def rules(self) -> tuple[RadioRule, ...]:
        """The rules as the computations take them."""
        return tuple(
            RadioRule(rule.low_mhz, rule.high_mhz, rule.radiated_dbm, rule.ofdm, rule.may_initiate)
            for rule in self.rule
        )
