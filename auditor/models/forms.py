"""The types of single values: what is accepted, and what is said when a value is not."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from difflib import get_close_matches
from enum import StrEnum
from fractions import Fraction
from functools import partial
from ipaddress import AddressValueError, IPv4Address, IPv4Network
from math import isfinite
from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, ConfigDict
from pydantic_core import CoreSchema, core_schema

from auditor.compute.addresses import prefix_of_netmask
from auditor.compute.hardware import parse_eui48
from auditor.compute.radio import Band
from auditor.compute.uart import DivisorRule
from auditor.models import json_forms, quantities
from auditor.models import words as w
from auditor.models.json_forms import Form, Schema
from auditor.models.secrets import Secret

Word = TypeVar("Word", bound=StrEnum)
NO_GATEWAY: Literal["none"] = "none"


class Table(BaseModel):
    """A table of a document: its keys are known, and it does not change once it is read.

    What checks a document is built when the first one of its kind is read, so that a run pays
    for no other kind. The default of a key that holds a table is made by `model_construct`: that
    needs no checking, and so no building.
    """

    model_config = ConfigDict(
        extra="forbid", frozen=True, defer_build=True, hide_input_in_errors=True
    )


@dataclass(frozen=True)
class Reader:
    """Marks a type whose values a function reads: what it returns is taken as it is.

    So nothing has to be built that looks at the value once more. `form` says how the values are
    written.
    """

    read: Callable[[object], object]
    form: Form

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        """Return how pydantic calls the function."""
        return core_schema.no_info_plain_validator_function(self.read, metadata={"form": self.form})


@dataclass(frozen=True)
class Shorthand:
    """Marks a type that may be written shorter: a function gives the full way to write it.

    `form` makes the schema of both ways from that of the full one.
    """

    lengthen: Callable[[object], object]
    form: Callable[[Schema], Schema]

    def __get_pydantic_core_schema__(
        self, source: object, handler: Callable[[object], CoreSchema]
    ) -> CoreSchema:
        """Return how pydantic calls the function before it looks at what is written."""
        return core_schema.no_info_before_validator_function(
            self.lengthen, handler(source), metadata={"shorthand": self.form}
        )


_BETWEEN_LETTERS = " _/+-"
"""What does not count in a word of the trade."""


def _plain(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter not in _BETWEEN_LETTERS)


def _word(kind: type[Word]) -> Reader:
    """Return a reader for one of an enumeration's words, in any spelling of the trade."""
    known: dict[str, StrEnum] = {_plain(member.value): member for member in kind}
    known.update({_plain(text): member for text, member in w.OTHER_SPELLINGS.get(kind, {}).items()})

    def read(written: object) -> Word:
        if isinstance(written, kind):
            return written
        if not isinstance(written, str):
            raise ValueError(f"is not one of {_listed(kind)}")
        member = known.get(_plain(written))
        if member is None:
            raise ValueError(f"is not one of {_listed(kind)}{_nearest(written, known)}")
        return kind(member)

    said = (kind.__doc__ or "").partition("\n")[0]
    make = partial(json_forms.words, tuple(kind), tuple(known), _BETWEEN_LETTERS, said)
    return Reader(read, Form(make, name=kind.__name__))


def _listed(kind: type[StrEnum]) -> str:
    return ", ".join(member.value for member in kind)


def _nearest(written: str, known: dict[str, StrEnum]) -> str:
    close = get_close_matches(_plain(written), known, n=1, cutoff=0.6)
    return f"; did you mean {known[close[0]].value}?" if close else ""


def _switch(written: object) -> bool:
    if isinstance(written, bool):
        return written
    text = written.strip().lower() if isinstance(written, str) else ""
    if text in ("true", "yes", "on", "1"):
        return True
    if text in ("false", "no", "off", "0"):
        return False
    raise ValueError("is neither true nor false")


def _whole(low: int, high: int, example: str) -> Reader:
    """Return a reader for a whole number, with the unit that the example has, or without it."""
    units = example.split()[1:]
    make = partial(json_forms.quantity, units, example, (low, high), whole=True)
    return Reader(_whole_number(low, high, example), Form(make, "".join(units)))


def _whole_number(low: int, high: int, example: str) -> Callable[[object], int]:
    units = {unit: Fraction(1) for unit in example.split()[1:]}

    def read(written: object) -> int:
        number = quantities.quantity(written, units, example, bare=True)
        if number.denominator != 1:
            raise ValueError(f'is not a whole number; write it like "{example}"')
        if not low <= number <= high:
            raise ValueError(f'is out of range; it can be {low} to {high}, as in "{example}"')
        return int(number)

    return read


def _measure(
    units: dict[str, Fraction], low: float, high: float, example: str, *, bare: bool = True
) -> Reader:
    def read(written: object) -> Fraction:
        number = quantities.quantity(written, units, example, bare=bare)
        if not low <= number <= high:
            raise ValueError(f'is out of range; it can be {low:g} to {high:g}, as in "{example}"')
        return number

    limits = (low, high) if bare else None
    make = partial(json_forms.quantity, tuple(units), example, limits)
    return Reader(read, Form(make, next(iter(units), "")))


def _duration(example: str, *, over_zero: bool = False) -> Reader:
    read = partial(quantities.duration, example=example, over_zero=over_zero)
    return Reader(read, Form(partial(json_forms.quantity, tuple(quantities.DURATION), example)))


_SLIPS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1", ",": "."})
"""What is written in an address instead of a digit or a point; common practice, no source."""


def read_address(written: object) -> IPv4Address:
    """Return a written IPv4 address.

    Raises:
        ValueError: it is none; the message says what is wrong.
    """
    if isinstance(written, IPv4Address):
        return written
    if not isinstance(written, str):
        raise ValueError('is not an IPv4 address; write it in quotes, as in "10.20.0.31"')
    text = written.strip()
    if "/" in text:
        bare, _, length = text.partition("/")
        raise ValueError(
            f'is an address with a prefix length; write "{bare}" here '
            f"and {length or 'the length'} as prefix_length"
        )
    if ":" in text:
        raise ValueError("is an IPv6 address; only IPv4 is checked")
    try:
        return IPv4Address(text)
    except AddressValueError as problem:
        meant = text.translate(_SLIPS)
        is_slip = meant != text and _is_address(meant)
        reason = f"; did you mean {meant}?" if is_slip else f": {_reason(problem, text)}"
        raise ValueError(f"is not an IPv4 address{reason}") from None


def _is_address(text: str) -> bool:
    try:
        IPv4Address(text)
    except AddressValueError:
        return False
    return True


def _reason(problem: AddressValueError, text: str) -> str:
    """Keep what the library says of an address, without the address said twice."""
    return str(problem).removesuffix(f" in {text!r}").replace("'", '"')


def _gateway(written: object) -> IPv4Address | Literal["none"]:
    if isinstance(written, str) and written.strip().lower() == NO_GATEWAY:
        return NO_GATEWAY
    return read_address(written)


def _subnet(written: object) -> IPv4Network:
    if isinstance(written, IPv4Network):
        return written
    if not isinstance(written, str) or "/" not in written:
        raise ValueError('is not a subnet; write it like "10.20.0.0/24"')
    if ":" in written:
        raise ValueError("is an IPv6 subnet; only IPv4 is checked")
    try:
        loose = IPv4Network(written.strip(), strict=False)
    except ValueError as problem:
        raise ValueError(f"is not a subnet: {problem}".replace("'", '"')) from None
    if str(loose.network_address) != written.strip().partition("/")[0]:
        raise ValueError(f'is an address inside a subnet; the subnet is "{loose}"')
    return loose


_prefix_length = _whole_number(0, 32, "24")


def _netmask(written: object) -> int:
    if isinstance(written, int) and not isinstance(written, bool):
        return _prefix_length(written)
    if not isinstance(written, str):
        raise ValueError('is not a netmask; write it like "255.255.255.0"')
    text = written.strip().removeprefix("/")
    return _prefix_length(int(text) if text.isdecimal() else prefix_of_netmask(text))


def read_hardware_address(written: object) -> str:
    """Return a written hardware address in its canonical spelling.

    Raises:
        ValueError: it is none; the message says what is wrong.
    """
    if not isinstance(written, str):
        raise ValueError('is not a hardware address; write it like "00:00:5e:00:53:01"')
    try:
        return parse_eui48(written)
    except ValueError as problem:
        raise ValueError(f"is not a hardware address: {str(problem).partition('; ')[2]}") from None


def _moment(written: object) -> datetime:
    if isinstance(written, datetime):
        if written.tzinfo is not None:
            raise ValueError("has a time zone; write a local time, as in 2026-03-02T09:00:00")
        return written
    raise ValueError("is not a date with a time; write it like 2026-03-02T09:00:00")


def _day(written: object) -> date:
    if isinstance(written, date) and not isinstance(written, datetime):
        return written
    raise ValueError("is not a date; write it like 2026-03-02")


def _secret(written: object) -> Secret:
    if isinstance(written, Secret):
        return written
    raise ValueError('is neither a text nor { env = "NAME" }, { file = "path" } or { psk = "…" }')


def _number(written: object) -> float:
    if isinstance(written, bool) or not isinstance(written, int | float) or not isfinite(written):
        raise ValueError("is not a number")
    return float(written)


def _listing(written: object) -> object:
    """Take a single value for a list of one, and a comma-separated cell for a list."""
    if isinstance(written, str):
        return [part.strip() for part in written.split(",") if part.strip()]
    return written


def _text(written: object) -> str:
    if isinstance(written, str):
        return written
    raise ValueError("is not a text; write it in quotes")


def _name(written: object) -> str:
    text = _text(written)
    if not text:
        raise ValueError("is empty")
    return text


_LISTING = Shorthand(_listing, json_forms.or_single)
Text = Annotated[str, Reader(_text, Form(json_forms.text))]
Number = Annotated[float, Reader(_number, Form(json_forms.number))]
Name = Annotated[str, Reader(_name, Form(json_forms.name))]
Switch = Annotated[bool, Reader(_switch, Form(json_forms.switch, name="Switch"))]
Texts = Annotated[tuple[Name, ...], _LISTING]
Address = Annotated[IPv4Address, Reader(read_address, Form(json_forms.address, name="Address"))]
Gateway = Annotated[
    IPv4Address | Literal["none"], Reader(_gateway, Form(json_forms.gateway, name="Gateway"))
]
Subnet = Annotated[IPv4Network, Reader(_subnet, Form(json_forms.subnet))]
PrefixLength = Annotated[int, _whole(0, 32, "24")]
Netmask = Annotated[int, Reader(_netmask, Form(json_forms.netmask))]
HardwareAddress = Annotated[
    str, Reader(read_hardware_address, Form(json_forms.hardware_address, name="HardwareAddress"))
]
Moment = Annotated[datetime, Reader(_moment, Form(json_forms.moment))]
Day = Annotated[date, Reader(_day, Form(json_forms.day))]
SecretText = Annotated[Secret, Reader(_secret, Form(json_forms.secret, name="Passphrase"))]
AttackTime = Annotated[timedelta, _duration("30 d")]
BeaconInterval = Annotated[timedelta, _duration("102.4 ms", over_zero=True)]
BurstDuration = Annotated[timedelta, _duration("2 ms")]
LeaseTime = Annotated[timedelta, _duration("8 h", over_zero=True)]
MessageInterval = Annotated[timedelta, _duration("2 s", over_zero=True)]
ReadingGap = Annotated[timedelta, _duration("20 ms")]
Port = Annotated[int, _whole(1, 65535, "4010")]
SymbolRate = Annotated[int, _whole(1, 20_000_000, "9600 Bd")]
Count = Annotated[int, _whole(0, 1_000_000, "30")]
ModuleCount = Annotated[int, _whole(1, 1_000_000, "30")]
ByteCount = Annotated[int, _whole(0, 1_000_000, "24 bytes")]
Channel = Annotated[int, _whole(1, 233, "6")]
DataBits = Annotated[int, _whole(5, 9, "8")]
Divisor = Annotated[Fraction, _measure({}, 0, 2**32, "51")]
DivisorBits = Annotated[int, _whole(1, 32, "16")]
Multiplier = Annotated[Fraction, _measure({}, 1, 1000, "1")]
Period = Annotated[int, _whole(1, 255, "1")]
Frequency = Annotated[Fraction, _measure(quantities.FREQUENCY, 1, 10**10, "8 MHz", bare=False)]
BlinkRate = Annotated[Fraction, _measure(quantities.FREQUENCY, 1, 10**10, "2 Hz", bare=False)]
DataRate = Annotated[Fraction, _measure(quantities.DATA_RATE, 1, 54, "12 Mb/s")]
Volts = Annotated[Fraction, _measure(quantities.VOLTAGE, 0, 1000, "3.3 V")]
LogicMargin = Annotated[Fraction, _measure(quantities.VOLTAGE, 0, 1000, "0.3 V")]
Milliamps = Annotated[Fraction, _measure(quantities.CURRENT, 0, 10**5, "300 mA")]
IndicatorCurrent = Annotated[Fraction, _measure(quantities.CURRENT, 0, 10**5, "20 mA")]
Microfarads = Annotated[Fraction, _measure(quantities.CAPACITANCE, 0, 10**7, "100 µF")]
Ohms = Annotated[Fraction, _measure(quantities.RESISTANCE, 0, 10**7, "330 Ω")]
PowerLevel = Annotated[Fraction, _measure(quantities.POWER_LEVEL, -50, 60, "18 dBm")]
Gain = Annotated[Fraction, _measure(quantities.GAIN, -20, 40, "2 dBi")]
Celsius = Annotated[Fraction, _measure(quantities.TEMPERATURE, -60, 300, "25")]
KelvinPerWatt = Annotated[Fraction, _measure(quantities.THERMAL_RESISTANCE, 0, 1000, "60 K/W")]
Tolerance = Annotated[Fraction, _measure(quantities.SHARE, 0, 100, "0.5 %")]
Share = Annotated[Fraction, _measure(quantities.SHARE, 0, 100, "50 %")]


_STOP_BITS = (1, 1.5, 2)
_SAMPLES = (4, 8, 16, 64)


def _divisor_rule(written: object) -> DivisorRule:
    text = str(written).replace(" ", "").lower()
    if text not in tuple(DivisorRule):
        raise ValueError(f"is not one of {_listed(DivisorRule)}")
    return DivisorRule(text)


def _band(written: object) -> Band:
    text = str(written).lower().replace(" ", "").removesuffix("ghz")
    for band in Band:
        if band.value.startswith(text) and text:
            return band
    raise ValueError(f"is not one of {_listed(Band)}")


def _stop_bits(written: object) -> Fraction:
    bits = quantities.quantity(written, {}, "1", bare=True)
    if bits not in _STOP_BITS:
        raise ValueError("is not 1, 1.5 or 2")
    return bits


def _oversampling(written: object) -> int:
    samples = quantities.quantity(written, {}, "16", bare=True)
    if samples not in _SAMPLES:
        raise ValueError("is not 4, 8, 16 or 64 samples per bit")
    return int(samples)


StopBits = Annotated[Fraction, Reader(_stop_bits, Form(partial(json_forms.one_of, _STOP_BITS)))]
Oversampling = Annotated[int, Reader(_oversampling, Form(partial(json_forms.one_of, _SAMPLES)))]
SecurityWord = Annotated[w.Security, _word(w.Security)]
ProtectionWord = Annotated[w.Protection, _word(w.Protection)]
AddressingWord = Annotated[w.Addressing, _word(w.Addressing)]
ParityWord = Annotated[w.Parity, _word(w.Parity)]
FlowControlWord = Annotated[w.FlowControl, _word(w.FlowControl)]
TransportWord = Annotated[w.Transport, _word(w.Transport)]
IntentWord = Annotated[w.Intent, _word(w.Intent)]
FramingWord = Annotated[w.Framing, _word(w.Framing)]
LinkWord = Annotated[w.Link, _word(w.Link)]
PinDirectionWord = Annotated[w.PinDirection, _word(w.PinDirection)]
ControllerPinWord = Annotated[w.ControllerPin, _word(w.ControllerPin)]
TerminalWord = Annotated[w.Terminal, _word(w.Terminal)]
RegulatorKindWord = Annotated[w.RegulatorKind, _word(w.RegulatorKind)]
INDICATOR_STATE = _word(w.IndicatorState)
IndicatorStateWord = Annotated[w.IndicatorState, INDICATOR_STATE]
DivisorRuleWord = Annotated[
    DivisorRule, Reader(_divisor_rule, Form(json_forms.divisor_rule, name="DivisorRule"))
]
BandWord = Annotated[Band, Reader(_band, Form(json_forms.band, name="Band"))]
Bands = Annotated[tuple[BandWord, ...], _LISTING]
Standards = Annotated[tuple[Annotated[w.Standard, _word(w.Standard)], ...], _LISTING]
Securities = Annotated[tuple[SecurityWord, ...], _LISTING]
Parities = Annotated[tuple[ParityWord, ...], _LISTING]
Transports = Annotated[tuple[TransportWord, ...], _LISTING]
