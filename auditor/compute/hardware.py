"""Hardware addresses (EUI-48): their spellings, and what two bits of the first octet say."""

import re
import string

_CANONICAL = re.compile(r"[0-9a-f]{2}(?::[0-9a-f]{2}){5}")
_DIGITS = 12
_DIGITS_BETWEEN = {":": 2, "-": 2, ".": 4}  # separator: digits in each part; common practice
_GROUP_BIT = 0x01  # IEEE 802; RFC 9542, section 2.1
_LOCAL_BIT = 0x02  # IEEE 802; RFC 9542, section 2.1


def parse_eui48(text: str) -> str:
    """Gives a hardware address in its canonical spelling, such as "02:00:5e:00:53:01".

    Accepted are, in either case, 02:00:5e:00:53:01, 02-00-5E-00-53-01, 0200.5e00.5301 and
    02005e005301.

    Raises:
        ValueError: if the text is none of these; the message names what is wrong.
    """
    if _CANONICAL.fullmatch(text):
        return text
    fault = _fault_of(text)
    if fault:
        raise ValueError(f"hardware address is {text!r}; {fault}")
    digits = "".join(character for character in text.lower() if character not in _DIGITS_BETWEEN)
    return ":".join(digits[start : start + 2] for start in range(0, _DIGITS, 2))


def is_group(address: str) -> bool:
    """Tells whether the address stands for a group of stations; a station never has such a one.

    Raises:
        ValueError: if it is no hardware address.

    Source: IEEE 802; RFC 9542, section 2.1.
    """
    return bool(_first_octet(address) & _GROUP_BIT)


def is_local(address: str) -> bool:
    """Tells whether the address says that it is locally administered, as random ones do.

    A few old registered prefixes (02-60-8C) have this bit too, so it proves nothing by itself.

    Raises:
        ValueError: if it is no hardware address.

    Source: IEEE 802; RFC 9542, section 2.1.
    """
    return bool(_first_octet(address) & _LOCAL_BIT)


def _first_octet(address: str) -> int:
    return int(parse_eui48(address)[:2], 16)


def _fault_of(text: str) -> str | None:
    """Says what keeps the text from being a hardware address, or None."""
    wrong = [mark for mark in text if mark not in string.hexdigits and mark not in _DIGITS_BETWEEN]
    if wrong:
        return f"{wrong[0]!r} is neither a hexadecimal digit nor a separator (':', '-' or '.')"
    separators = sorted({mark for mark in text if mark in _DIGITS_BETWEEN})
    if len(separators) > 1:
        return f"it mixes {' and '.join(map(repr, separators))}; it must keep to one separator"
    return _fault_of_parts(text, separators[0]) if separators else _fault_of_count(text)


def _fault_of_parts(text: str, separator: str) -> str | None:
    size = _DIGITS_BETWEEN[separator]
    parts = text.split(separator)
    if len(parts) != _DIGITS // size:
        return f"it has {len(parts)} parts between {separator!r}; it must have {_DIGITS // size}"
    uneven = [part for part in parts if len(part) != size]
    return f"its part {uneven[0]!r} must have {size} digits" if uneven else None


def _fault_of_count(text: str) -> str | None:
    if len(text) == _DIGITS:
        return None
    return f"it has {len(text)} hexadecimal digits; it must have {_DIGITS}"
