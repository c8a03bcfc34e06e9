"""The types of single values: what is accepted, and what is said when a value is not."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from difflib import get_close_matches
from enum import StrEnum
from fractions import Fraction
from ipaddress import AddressValueError, IPv4Address, IPv4Network
from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic_core import CoreSchema, core_schema

from auditor.compute.addresses import prefix_of_netmask
from auditor.compute.hardware import parse_eui48
from auditor.compute.radio import Band
from auditor.compute.uart import DivisorRule
from auditor.models import quantities
from auditor.models import words as w
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

    So nothing has to be built that looks at the value once more.
    """

    read: Callable[[object], object]

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        """Return how pydantic calls the function."""
        return core_schema.no_info_plain_validator_function(self.read)


def _plain(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter not in " -_/+")


def word(kind: type[Word]) -> Callable[[object], Word]:
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

    return read


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


def _whole(low: int, high: int, example: str) -> Callable[[object], int]:
    """Return a reader for a whole number, with the unit that the example has, or without it."""
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
) -> Callable[[object], Fraction]:
    def read(written: object) -> Fraction:
        number = quantities.quantity(written, units, example, bare=bare)
        if not low <= number <= high:
            raise ValueError(f'is out of range; it can be {low:g} to {high:g}, as in "{example}"')
        return number

    return read


def _duration(example: str, *, over_zero: bool = False) -> Callable[[object], timedelta]:
    return lambda written: quantities.duration(written, example, over_zero=over_zero)


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
        raise ValueError(f"is not an IPv4 address: {_reason(problem, text)}") from None


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


_prefix_length = _whole(0, 32, "24")


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


Text = Annotated[str, Reader(_text)]
Name = Annotated[str, Reader(_name)]
Switch = Annotated[bool, Reader(_switch)]
Texts = Annotated[tuple[Name, ...], BeforeValidator(_listing)]
Address = Annotated[IPv4Address, Reader(read_address)]
Gateway = Annotated[IPv4Address | Literal["none"], Reader(_gateway)]
Subnet = Annotated[IPv4Network, Reader(_subnet)]
PrefixLength = Annotated[int, Reader(_prefix_length)]
Netmask = Annotated[int, Reader(_netmask)]
HardwareAddress = Annotated[str, Reader(read_hardware_address)]
Moment = Annotated[datetime, Reader(_moment)]
Day = Annotated[date, Reader(_day)]
SecretText = Annotated[Secret, Reader(_secret)]
AttackTime = Annotated[timedelta, Reader(_duration("30 d"))]
BeaconInterval = Annotated[timedelta, Reader(_duration("102.4 ms", over_zero=True))]
BurstDuration = Annotated[timedelta, Reader(_duration("2 ms"))]
LeaseTime = Annotated[timedelta, Reader(_duration("8 h", over_zero=True))]
MessageInterval = Annotated[timedelta, Reader(_duration("2 s", over_zero=True))]
ReadingGap = Annotated[timedelta, Reader(_duration("20 ms"))]
Port = Annotated[int, Reader(_whole(1, 65535, "4010"))]
SymbolRate = Annotated[int, Reader(_whole(1, 20_000_000, "9600 Bd"))]
Count = Annotated[int, Reader(_whole(0, 1_000_000, "30"))]
ByteCount = Annotated[int, Reader(_whole(0, 1_000_000, "24 bytes"))]
Channel = Annotated[int, Reader(_whole(1, 233, "6"))]
DataBits = Annotated[int, Reader(_whole(5, 9, "8"))]
Divisor = Annotated[Fraction, Reader(_measure({}, 0, 2**32, "51"))]
DivisorBits = Annotated[int, Reader(_whole(1, 32, "16"))]
Multiplier = Annotated[Fraction, Reader(_measure({}, 1, 1000, "1"))]
Period = Annotated[int, Reader(_whole(1, 255, "1"))]
Frequency = Annotated[
    Fraction, Reader(_measure(quantities.FREQUENCY, 1, 10**10, "8 MHz", bare=False))
]
BlinkRate = Annotated[
    Fraction, Reader(_measure(quantities.FREQUENCY, 1, 10**10, "2 Hz", bare=False))
]
DataRate = Annotated[Fraction, Reader(_measure(quantities.DATA_RATE, 1, 54, "12 Mb/s"))]
Volts = Annotated[Fraction, Reader(_measure(quantities.VOLTAGE, 0, 1000, "3.3 V"))]
LogicMargin = Annotated[Fraction, Reader(_measure(quantities.VOLTAGE, 0, 1000, "0.3 V"))]
Milliamps = Annotated[Fraction, Reader(_measure(quantities.CURRENT, 0, 10**5, "300 mA"))]
IndicatorCurrent = Annotated[Fraction, Reader(_measure(quantities.CURRENT, 0, 10**5, "20 mA"))]
Microfarads = Annotated[Fraction, Reader(_measure(quantities.CAPACITANCE, 0, 10**7, "100 µF"))]
Ohms = Annotated[Fraction, Reader(_measure(quantities.RESISTANCE, 0, 10**7, "330 Ω"))]
PowerLevel = Annotated[Fraction, Reader(_measure(quantities.POWER_LEVEL, -50, 60, "18 dBm"))]
Gain = Annotated[Fraction, Reader(_measure(quantities.GAIN, -20, 40, "2 dBi"))]
Celsius = Annotated[Fraction, Reader(_measure(quantities.TEMPERATURE, -60, 300, "25"))]
KelvinPerWatt = Annotated[
    Fraction, Reader(_measure(quantities.THERMAL_RESISTANCE, 0, 1000, "60 K/W"))
]
Tolerance = Annotated[Fraction, Reader(_measure(quantities.SHARE, 0, 100, "0.5 %"))]
Share = Annotated[Fraction, Reader(_measure(quantities.SHARE, 0, 100, "50 %"))]


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
    if bits not in (1, Fraction(3, 2), 2):
        raise ValueError("is not 1, 1.5 or 2")
    return bits


def _oversampling(written: object) -> int:
    samples = quantities.quantity(written, {}, "16", bare=True)
    if samples not in (4, 8, 16, 64):
        raise ValueError("is not 4, 8, 16 or 64 samples per bit")
    return int(samples)


StopBits = Annotated[Fraction, Reader(_stop_bits)]
Oversampling = Annotated[int, Reader(_oversampling)]
SecurityWord = Annotated[w.Security, Reader(word(w.Security))]
ProtectionWord = Annotated[w.Protection, Reader(word(w.Protection))]
AddressingWord = Annotated[w.Addressing, Reader(word(w.Addressing))]
ParityWord = Annotated[w.Parity, Reader(word(w.Parity))]
FlowControlWord = Annotated[w.FlowControl, Reader(word(w.FlowControl))]
TransportWord = Annotated[w.Transport, Reader(word(w.Transport))]
IntentWord = Annotated[w.Intent, Reader(word(w.Intent))]
FramingWord = Annotated[w.Framing, Reader(word(w.Framing))]
LinkWord = Annotated[w.Link, Reader(word(w.Link))]
PinDirectionWord = Annotated[w.PinDirection, Reader(word(w.PinDirection))]
ControllerPinWord = Annotated[w.ControllerPin, Reader(word(w.ControllerPin))]
TerminalWord = Annotated[w.Terminal, Reader(word(w.Terminal))]
RegulatorKindWord = Annotated[w.RegulatorKind, Reader(word(w.RegulatorKind))]
IndicatorStateWord = Annotated[w.IndicatorState, Reader(word(w.IndicatorState))]
DivisorRuleWord = Annotated[DivisorRule, Reader(_divisor_rule)]
BandWord = Annotated[Band, Reader(_band)]
Bands = Annotated[tuple[BandWord, ...], BeforeValidator(_listing)]
Standards = Annotated[
    tuple[Annotated[w.Standard, Reader(word(w.Standard))], ...], BeforeValidator(_listing)
]
Securities = Annotated[tuple[SecurityWord, ...], BeforeValidator(_listing)]
Parities = Annotated[tuple[ParityWord, ...], BeforeValidator(_listing)]
Transports = Annotated[tuple[TransportWord, ...], BeforeValidator(_listing)]
