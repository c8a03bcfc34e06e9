"""Network names and passphrases: which are legal, and the keys that they give."""

import hashlib
import string
from functools import cache
from typing import Literal, TypeAlias

NAME_OCTETS = range(1, 33)  # IEEE 802.11, SSID element: at most 32; none is the wildcard
PASSPHRASE_CHARACTERS = range(8, 64)  # IEEE 802.11i-2004, H.4.1
PRINTABLE_ASCII = range(32, 127)  # IEEE 802.11i-2004, H.4.1: blank and "~" included
KEY_OCTETS = 32  # IEEE 802.11i-2004, H.4.1: a 256-bit key
PBKDF2_ITERATIONS = 4096  # IEEE 802.11i-2004, H.4.1

WepBits: TypeAlias = Literal[40, 104]
WEP_KEY_OCTETS: dict[WepBits, int] = {40: 5, 104: 13}  # IEEE 802.11, WEP-40 and WEP-104


def name_octets(name: str) -> bytes:
    """The octets of a network name as they go on the air, in UTF-8.

    Raises: ValueError (UnicodeEncodeError) where the text holds half of a surrogate pair.
    Source: IEEE 802.11, SSID element: names are compared octet by octet.
    """
    return name.encode("utf-8")


def name_problem(name: str) -> str | None:
    """What keeps a text from being a network name, as a predicate; None where nothing does.

    The limit counts octets, not characters: 16 letters of two octets fill a name.

    Raises: ValueError where the text holds half of a surrogate pair.
    Source: IEEE 802.11, SSID element.
    """
    octets = len(name_octets(name))
    if octets == 0:
        return "is empty"
    if octets not in NAME_OCTETS:
        return f"has {octets} octets; the limit is {NAME_OCTETS[-1]}"
    return None


def passphrase_problem(text: str, simultaneous_equals: bool = False) -> str | None:
    """What keeps a text from being a passphrase, as a predicate; None where nothing does.

    For WPA and WPA2 it is a passphrase of 8 to 63 printable ASCII characters or a key of
    64 hexadecimal digits. WPA3 (`simultaneous_equals`) works on the password itself and limits
    neither its length nor its characters; that a WPA3 password is empty is not judged here.
    The answer never quotes the text.

    Source: IEEE 802.11i-2004, H.4.1; the annotated configuration of hostapd 2.10, `wpa_psk`
    and `sae_password`.
    """
    if simultaneous_equals:
        return _simultaneous_equals_problem(text)
    if is_key(text):
        return None
    if len(text) not in PASSPHRASE_CHARACTERS:
        return (
            f"has {_counted(len(text), 'character')}; it must have 8 to 63, "
            "or be a key of exactly 64 hexadecimal digits"
        )
    return _character_problem(text)


def is_key(text: str) -> bool:
    """Whether a text is a 256-bit key, written as 64 hexadecimal digits.

    Source: IEEE 802.11i-2004, H.4.1: a passphrase ends at 63 so that the two can be told apart.
    """
    return _is_hexadecimal(text, digits=2 * KEY_OCTETS)


@cache
def derived_key(passphrase: str, name: str) -> bytes:
    """The 32 octets of the key that a WPA or WPA2 passphrase gives for a network name.

    The name is only the salt here: whether it is a legal one, `name_problem` says.

    Raises: ValueError where the passphrase is not a legal one; it is described, not quoted.
    Source: IEEE 802.11i-2004, H.4.1 (PBKDF2-HMAC-SHA1, 4096 iterations).
    """
    problem = passphrase_problem(passphrase)
    if problem or is_key(passphrase):
        raise ValueError(f"the passphrase {problem or 'is a key already'}")
    octets = passphrase.encode("ascii")
    return hashlib.pbkdf2_hmac("sha1", octets, name_octets(name), PBKDF2_ITERATIONS, KEY_OCTETS)


def key_of(text: str, name: str) -> bytes:
    """The 32 octets of a WPA or WPA2 key, written as 64 hexadecimal digits or as a passphrase.

    Raises: ValueError where the text is neither; it is described, not quoted.
    Source: IEEE 802.11i-2004, H.4.1.
    """
    return bytes.fromhex(text) if is_key(text) else derived_key(text, name)


def same_key(a: str, b: str, name: str) -> bool:
    """Whether two texts give one key for a network name, however each is written.

    Equal texts do, and two different passphrases do not, so a key is derived only to compare a
    passphrase with 64 digits. Two passphrases agree by chance with a probability of 2^-256;
    HMAC takes texts for equal that differ in NUL at the end, which no legal passphrase holds.
    A text that is no legal passphrase gives no key, hence equals only itself.

    Source: IEEE 802.11i-2004, H.4.1; RFC 2104, section 2 (padding).
    """
    if a == b:
        return True
    if is_key(a) == is_key(b):
        return is_key(a) and a.lower() == b.lower()
    digits, passphrase = (a, b) if is_key(a) else (b, a)
    if passphrase_problem(passphrase):
        return False
    return bytes.fromhex(digits) == derived_key(passphrase, name)


def wep_key(text: str, bits: WepBits) -> bytes | None:
    """The octets of a WEP key of 40 or 104 bits; None where the text is not one.

    Raises: ValueError where `bits` is another number.
    Source: the annotated configuration of hostapd 2.10, `wep_key0`.
    """
    if wep_problem(text, bits):
        return None
    written_as_digits = len(text) == 2 * WEP_KEY_OCTETS[bits]
    return bytes.fromhex(text) if written_as_digits else text.encode("ascii")


def wep_problem(text: str, bits: WepBits) -> str | None:
    """What keeps a text from being a WEP key of that size, as a predicate; None if nothing does.

    A key of 40 bits is 5 characters or 10 hexadecimal digits, one of 104 bits 13 or 26. The
    characters are held to printable ASCII (common practice, no source): elsewhere the octets
    would hang on the encoding. The answer never quotes the text.

    Raises: ValueError where `bits` is another number.
    Source: the annotated configuration of hostapd 2.10, `wep_key0`.
    """
    if bits not in WEP_KEY_OCTETS:
        raise ValueError(f"bits is {bits}; it must be 40 or 104")
    octets = WEP_KEY_OCTETS[bits]
    if _is_hexadecimal(text, digits=2 * octets):
        return None
    if len(text) != octets:
        return (
            f"has {_counted(len(text), 'character')}; a WEP key of {bits} bits has "
            f"{octets} characters or exactly {2 * octets} hexadecimal digits"
        )
    return _character_problem(text)


def wep_key_bits(text: str) -> WepBits | None:
    """The size in bits, 40 or 104, of the WEP key that a text is; None where it is not one.

    The lengths never collide: 10 digits as characters would be a key of no legal size.

    Source: the annotated configuration of hostapd 2.10, `wep_key0`.
    """
    return next((bits for bits in WEP_KEY_OCTETS if not wep_problem(text, bits)), None)


def _simultaneous_equals_problem(password: str) -> str | None:
    if is_key(password):
        return "is written as a key; a 64-digit key cannot be used with WPA3"
    # An environment variable that is not UTF-8 arrives as halves of surrogate pairs.
    if any("\ud800" <= character <= "\udfff" for character in password):
        return "cannot be written in UTF-8"
    return None


def _character_problem(text: str) -> str | None:
    outside = sum(ord(character) not in PRINTABLE_ASCII for character in text)
    if outside:
        return f"has {_counted(outside, 'character')} outside printable ASCII (codes 32 to 126)"
    return None


def _is_hexadecimal(text: str, digits: int) -> bool:
    return len(text) == digits and set(text) <= set(string.hexdigits)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
