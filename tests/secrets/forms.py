"""The disguises in which a secret could stand in a text, and how to see through them."""

import base64
import html
import re
from collections.abc import Callable, Iterator
from functools import cache
from urllib.parse import unquote_plus

from auditor.compute.keys import derived_key, is_key, passphrase_problem
from tests.secrets.canary import NETWORK_NAME

SHORTEST_LEAK = 6
"""So many characters in a row of a canary are a leak: none of them is a word."""

_ESCAPE = re.compile(r"\\(?:u([0-9a-fA-F]{4})|x([0-9a-fA-F]{2})|([\"'\\/]))")
_BLANKS = re.compile(r"[\s│|]+")


def leaks(text: str, *secrets: str) -> set[str]:
    """Return what of some secrets, or of the keys that they derive, stands in a text."""
    views = set(_views(text))
    exact = "\n".join(views)
    folded = "\n".join({view.casefold() for view in views})
    return {
        needle
        for secret in secrets
        for haystack, needles in ((exact, _encoded_needles), (folded, _folded_needles))
        for needle in needles(secret)
        if needle in haystack
    }


def _views(text: str) -> Iterator[str]:
    """Give a text as it stands and as each format means it, with and without line breaks."""
    read: tuple[Callable[[str], str], ...] = (str, html.unescape, unquote_plus, _unescaped)
    for meaning in (*(way(text) for way in read), html.unescape(_unescaped(text))):
        yield meaning
        yield _BLANKS.sub("", meaning)


def _unescaped(text: str) -> str:
    r"""Return a text with \uXXXX, \xXX, \" and \\ read as JSON, Python and a terminal mean them."""

    def meant(match: re.Match[str]) -> str:
        digits = match[1] or match[2]
        return chr(int(digits, 16)) if digits else match[3]

    return _ESCAPE.sub(meant, text)


@cache
def _folded_needles(secret: str) -> frozenset[str]:
    """Return every piece of a secret that gives it away, and of its octets in hexadecimal."""
    plain = secret.casefold()
    pieces = {*_pieces(plain), *_pieces(plain[::-1])}
    pieces |= {piece for key in _keys(secret) for piece in _pieces(key.hex(), 2 * SHORTEST_LEAK)}
    return frozenset(pieces)


@cache
def _encoded_needles(secret: str) -> frozenset[str]:
    """Return every piece of a secret in base64; there letter case counts."""
    return frozenset(piece for key in _keys(secret) for piece in _encoded(key))


def _keys(secret: str) -> list[bytes]:
    """Return the octets of a secret, and of every key that it stands for."""
    return [secret.encode(), *_other_keys(secret)]


def _other_keys(secret: str) -> Iterator[bytes]:
    """Give the octets of the keys that a secret is, or that it derives for the network's name."""
    if re.fullmatch(r"([0-9a-fA-F]{2}){5,}", secret):
        yield bytes.fromhex(secret)
    if not is_key(secret) and not passphrase_problem(secret):
        yield derived_key(secret, NETWORK_NAME)


def _pieces(text: str, length: int = SHORTEST_LEAK) -> Iterator[str]:
    """Give every run of some characters of a text; all of it where it is shorter."""
    for start in range(max(1, len(text) - length + 1)):
        yield text[start : start + length]


def _encoded(octets: bytes) -> Iterator[str]:
    """Give what base64 makes of some octets, wherever in a longer text they stand."""
    for skipped in range(3):
        whole = octets[skipped : skipped + (len(octets) - skipped) // 3 * 3]
        yield from _pieces(base64.b64encode(whole).decode(), 8)
        yield from _pieces(base64.urlsafe_b64encode(whole).decode(), 8)
