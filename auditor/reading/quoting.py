"""What a problem may repeat of a value: a passphrase can stand in any column by mistake."""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress

from auditor.models.secrets import Secret

MASK = "(a passphrase)"
SHORTEST_KEY = 5
"""No key is shorter: WEP of 40 bits, in characters (Linux ieee80211.h, WLAN_KEY_LEN_WEP40)."""

_HARMLESS = (
    r".{,4}",  # shorter than any key
    r"[+-]?\d{1,7}(\.\d{1,6})?( ?([A-Za-zµμΩ%°/]{1,4}|hours|minutes|seconds))?",  # a quantity
    r"\d{1,3}(\.\d{1,5}){3}(/\d*)?",  # an IPv4 address
    r"[0-9A-Fa-f]{0,4}(:[0-9A-Fa-f]{0,4}){2,7}(/\d*)?",  # an IPv6 or a hardware address
    r"[0-9A-Za-z]{2}([:-][0-9A-Za-z]{2}){5}",  # a hardware address
    r"\d{4}-\d\d-\d\d([T ][\d:.+Z-]*)?",  # a date
)
_ALL = re.compile("|".join(f"(?:{form})" for form in _HARMLESS), re.DOTALL)
_BETWEEN_PIECES = re.compile(r"[\s./:]+|(?<=\d)(?=\D)|(?<=\D)(?=\d)")


def cannot_be_secret(written: str) -> bool:
    """Say whether a value looks like a short number, an address or a date, not like a key."""
    return _ALL.fullmatch(written.strip()) is not None


def without_pieces(reason: str, written: str) -> str:
    """Return a reason without any piece of a value that must not be repeated."""
    for piece in {written, *_BETWEEN_PIECES.split(written)}:
        if len(piece) >= SHORTEST_KEY - 1:
            reason = reason.replace(piece, "…")
    return reason


def masking(secrets: Iterable[Secret]) -> Callable[[str], str]:
    """Return what masks every passphrase in a text; a short one only where it is all of it.

    Passphrases are looked up by how they begin, so that many of them cost no more than a few.
    """
    texts = {text for secret in secrets for text in _texts(secret)}
    by_start: dict[str, list[str]] = defaultdict(list)
    for text in texts:
        if len(text) >= SHORTEST_KEY:
            by_start[text[:SHORTEST_KEY]].append(text)

    def masked(text: str) -> str:
        if text in texts:
            return MASK
        starts = {text[at : at + SHORTEST_KEY] for at in range(len(text))} & by_start.keys()
        for secret in sorted((s for start in starts for s in by_start[start]), key=len)[::-1]:
            text = text.replace(secret, MASK)
        return text

    return masked


def _texts(secret: Secret) -> Iterator[str]:
    with suppress(ValueError):  # it was never read
        if text := secret.reveal():
            yield text
