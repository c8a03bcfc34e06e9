"""How single values are written, as JSON Schema: what an editor is told of each of them.

Each schema takes whatever the reader beside it takes, and refuses what a schema can refuse.

Source: JSON Schema, draft 2020-12; patterns are of the kind that both ECMA-262 and Python know.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from auditor.compute.radio import Band
from auditor.compute.uart import DivisorRule
from auditor.models.quantities import LONGEST_WRITTEN

Schema = dict[str, Any]

_NUMBER = r"[+-]?[0-9]+(\.[0-9]+)?"
_WHOLE_NUMBER = r"[+-]?[0-9]+(\.0+)?"
_OCTET = r"(25[0-5]|2[0-4][0-9]|1[0-9][0-9]|[1-9]?[0-9])"
_ADDRESS = rf"{_OCTET}(\.{_OCTET}){{3}}"
_LENGTH = r"0*(3[0-2]|[12]?[0-9])"
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_TIME = r"[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?"
_LOOKS_LIKE = {"µ": "[µ\u03bc]", "Ω": "[Ω\u2126]"}
"""Two characters for one sign: micro and the Greek letter, ohm and the Greek letter."""
_SWITCHES = ("true", "yes", "on", "1", "false", "no", "off", "0")


@dataclass(frozen=True)
class Form:
    """The schema of a kind of value, made when it is asked for, and the unit of what is read.

    With a name it stands once in a schema, wherever it is used.
    """

    schema: Callable[[], Schema]
    unit: str = ""
    name: str = ""


def matching(pattern: str, said: str, *examples: str) -> Schema:
    """Return the schema of a text that a pattern describes, blanks at its ends aside."""
    form: Schema = {"type": "string", "pattern": rf"^\s*({pattern})\s*$", "description": said}
    return {**form, "examples": list(examples)} if examples else form


def text() -> Schema:
    """Return the schema of any text."""
    return {"type": "string"}


def name() -> Schema:
    """Return the schema of a text that is not empty."""
    return {"type": "string", "minLength": 1}


def words(members: Iterable[str], spellings: Iterable[str], between: str, said: str) -> Schema:
    """Return the schema of one of some words, which an editor completes, or another spelling."""
    pattern = "|".join(_spelled(each, between) for each in spellings)
    gap = _gap(between)
    other = {"type": "string", "pattern": f"^{gap}({pattern}){gap}$"}
    return {"anyOf": [{"enum": list(map(str, members))}, other], "description": said}


def divisor_rule() -> Schema:
    """Return the schema of the way in which a loaded value divides a clock."""
    said = "What divides the clock beside the samples per bit."
    return words(tuple(DivisorRule), tuple(DivisorRule), " ", said)


def band() -> Schema:
    """Return the schema of a band, which may be written without its unit."""
    starts = [band.value[:size] for band in Band for size in range(1, band.value.index(" ") + 1)]
    spellings = [start + unit for start in starts for unit in ("", "ghz")]
    known = words(tuple(Band), spellings, " ", "A band.")
    return {**known, "anyOf": [*known["anyOf"], {"enum": [2, 2.4, 5]}]}


def or_single(listing: Schema) -> Schema:
    """Return the schema of a list, of its only element, or of a text with commas between them."""
    text = {"type": "string", "pattern": r"^\s*$|,"}
    return {"anyOf": [listing, listing["items"], text]}


def number() -> Schema:
    """Return the schema of a bare number."""
    return {"type": "number"}


def switch() -> Schema:
    """Return the schema of on and off."""
    spellings = "|".join(_spelled(each, "") for each in _SWITCHES)
    return {
        "anyOf": [{"type": "boolean"}, {"type": "string", "pattern": rf"^\s*({spellings})\s*$"}]
    }


def quantity(
    units: Sequence[str],
    example: str,
    bare: tuple[float, float] | None = None,
    *,
    whole: bool = False,
) -> Schema:
    """Return the schema of a quantity: a text with a unit, or a number where one may stand bare.

    `bare` holds the limits of such a number, which is in the first of the units.
    """
    number = _WHOLE_NUMBER if whole else _NUMBER
    unit = rf"\s*({'|'.join(map(_any_sign, units))})" if units else ""
    pattern = rf"^\s*{number}{f'({unit})?' if unit and bare else unit}\s*$"
    text = {"type": "string", "pattern": pattern, "maxLength": LONGEST_WRITTEN}
    said = {"description": _said_of_quantity(units, bare, whole=whole), "examples": [example]}
    if bare is None:
        return {**text, **said}
    return {"anyOf": [_bare("integer" if whole else "number", bare), text], **said}


def one_of(numbers: Iterable[float]) -> Schema:
    """Return the schema of one of some numbers, which may stand in quotes."""
    known = list(numbers)
    pattern = "|".join(map(_number, known))
    return {"anyOf": [{"enum": known}, {"type": "string", "pattern": rf"^\s*({pattern})\s*$"}]}


def address() -> Schema:
    """Return the schema of an IPv4 address."""
    return matching(_ADDRESS, "An IPv4 address.", "10.20.0.31")


def gateway() -> Schema:
    """Return the schema of an IPv4 address, or the word that there is none."""
    none = {"type": "string", "pattern": rf"^\s*{_spelled('none', '')}\s*$"}
    return {"anyOf": [{"enum": ["none"]}, address(), none]}


def subnet() -> Schema:
    """Return the schema of an IPv4 subnet."""
    pattern = f"{_ADDRESS}/({_LENGTH}|{_ADDRESS})"
    return matching(pattern, "An IPv4 subnet, its length behind a slash.", "10.20.0.0/24")


def netmask() -> Schema:
    """Return the schema of an IPv4 netmask, or of the prefix length that it means."""
    mask = matching(f"/?{_LENGTH}|{_ADDRESS}", "An IPv4 netmask.", "255.255.255.0")
    return {"anyOf": [mask, _bare("integer", (0, 32))]}


def hardware_address() -> Schema:
    """Return the schema of a hardware address, in each of its four spellings."""
    pair, four = "[0-9A-Fa-f]{2}", "[0-9A-Fa-f]{4}"
    spellings = (
        rf"{pair}(:{pair}){{5}}",
        rf"{pair}(-{pair}){{5}}",
        rf"{four}(\.{four}){{2}}",
        "[0-9A-Fa-f]{12}",
    )
    said = "A hardware address (EUI-48)."
    return matching("|".join(spellings), said, "00:00:5e:00:53:01")


def moment() -> Schema:
    """Return the schema of a local date with a time; to JSON it is a text."""
    return matching(f"{_DAY}[Tt ]{_TIME}", "A local date with a time, without quotes.")


def day() -> Schema:
    """Return the schema of a date; to JSON it is a text."""
    return matching(_DAY, "A date, without quotes.")


def secret() -> Schema:
    """Return the schema of a passphrase or key: a text, or one of three references."""
    return {
        "description": "A text, or better a reference to where it is kept.",
        "anyOf": [
            {"type": "string", "description": "The passphrase itself, in clear."},
            _reference("env", "[A-Za-z_][A-Za-z0-9_]*", "The environment variable that holds it."),
            _reference("file", None, "The file that holds it, relative to this one."),
            _reference("psk", None, "The 256-bit key itself: 64 hexadecimal digits."),
        ],
    }


def _reference(key: str, pattern: str | None, said: str) -> Schema:
    limit = {"pattern": f"^{pattern}$"} if pattern else {}
    return {
        "type": "object",
        "properties": {key: {"type": "string", **limit, "description": said}},
        "required": [key],
        "additionalProperties": False,
    }


def _spelled(word: str, between: str) -> str:
    """Return a pattern for a word in any letter case, with other characters between its own."""
    return _gap(between).join(map(_letter, word))


def _gap(between: str) -> str:
    return f"[{between}]*" if between else ""


def _letter(letter: str) -> str:
    if letter.isalpha():
        return f"[{letter.lower()}{letter.upper()}]"
    return letter if letter.isalnum() else f"[{letter}]"


def _any_sign(unit: str) -> str:
    return "".join(_LOOKS_LIKE.get(sign, sign) for sign in unit)


def _bare(kind: str, limits: tuple[float, float]) -> Schema:
    return {"type": kind, "minimum": limits[0], "maximum": limits[1]}


def _number(number: float) -> str:
    """Return a pattern for a number as a text, however many zeros begin and end it."""
    digits, zeros = f"{number:g}".replace(".", r"\."), r"(\.0+)?"
    return rf"[+]?0*{digits}{'0*' if '.' in digits else zeros}"


def _said_of_quantity(
    units: Sequence[str], bare: tuple[float, float] | None, *, whole: bool
) -> str:
    with_unit = f"text with its unit ({', '.join(units)})"
    if bare is None:
        return f"A {with_unit}."
    kind = "A whole number" if whole else "A number"
    low, high = (f"{limit:.12g}" for limit in bare)
    return f"{kind}{f' of {units[0]}, or a {with_unit}' if units else ''}; {low} to {high}."
