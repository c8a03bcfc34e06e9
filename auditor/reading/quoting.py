"""What may be repeated of an input: a passphrase can stand in any place by mistake."""

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress

from auditor.models import quantities as q
from auditor.models.secrets import Secret
from auditor.reading.problems import LONGEST_QUOTE, quoted

MASK = "(a passphrase)"
MASK_WITHIN = "(holds a passphrase)"
"""Instead of a whole word: what is left of it would tell the passphrase to who knows the word."""
FEW = 20
SHORTEST_KEY = 5
"""No key is shorter: WEP of 40 bits, in characters (Linux ieee80211.h, WLAN_KEY_LEN_WEP40)."""

_UNITS = (
    *("hours", "minutes", "seconds", "baud"),
    *(*q.FREQUENCY, *q.DURATION, *q.VOLTAGE, *q.CURRENT, *q.CAPACITANCE, *q.RESISTANCE),
    *(*q.DATA_RATE, *q.SYMBOL_RATE, *q.POWER_LEVEL, *q.GAIN, *q.BYTES, *q.TEMPERATURE, "%"),
)
_HARMLESS = (
    r".{,4}",  # shorter than any key
    rf"[+-]?\d{{1,7}}(\.\d{{1,6}})?( ?({'|'.join(map(re.escape, _UNITS))}))?",  # a quantity
    r"\d{1,3}(\.\d{1,5}){3}(/\d{,3})?",  # an IPv4 address
    r"[0-9A-Fa-f]{0,4}(:[0-9A-Fa-f]{0,4}){2,7}(/\d{,3})?",  # an IPv6 or a hardware address
    r"[0-9A-Za-z]{2}([:-][0-9A-Za-z]{2}){5}",  # a hardware address
    r"\d{4}-\d\d-\d\d([T ]\d\d:[\d:.+Z-]{,20})?",  # a date
)
_ALL = "|".join(f"(?:{form})" for form in _HARMLESS)
"""Compiled where it is used, as _WORDS is: a run without a problem needs neither."""
_WORD = r"(?:[A-Z]+|[A-Z]?[^\W\dA-Z_]+)"
_WORDS = rf"[\s./_()-]*{_WORD}([\s./_()-]+{_WORD})*[\s./_()-]*"
"""Words of letters, as headers, keys and files are called; common practice, no source."""
_BETWEEN_PIECES = re.compile(r"[\s./:]+|(?<=\d)(?=\D)|(?<=\D)(?=\d)")
_QUOTES = re.compile(r"\"[^\"]+\"|'[^']+'")
_QUOTE = re.compile("[\"']")
_ALL_QUOTED = re.compile(r"[\"'].*[\"']", re.DOTALL)
_NOTHING = r"(?!)"
_PART_OF_KEY = 32
"""So many hexadecimal digits before a cut are taken for a key's; a key has twice as many."""
_FULL_KEY = re.compile(rf"[0-9A-Fa-f]{{64,}}|[0-9A-Fa-f]{{{_PART_OF_KEY},}}…")
"""A 256-bit key, or as much as a cut quote leaves of it: nothing else here is so written."""
_WEP_DIGITS = re.compile(r"[0-9A-Fa-f]{10}|[0-9A-Fa-f]{26}")
_WEP_CHARACTERS = (5, 13)


def cannot_be_secret(written: str) -> bool:
    """Say whether a value looks like a short number, an address or a date, not like a key."""
    return re.fullmatch(_ALL, written.strip(), re.DOTALL | re.IGNORECASE) is not None


def may_be_secret(name: str) -> bool:
    """Say whether a name that nothing knows looks more like a key than like words of letters.

    What holds control characters is no key that anybody could type.
    """
    return name.isprintable() and not (re.fullmatch(_WORDS, name) or cannot_be_secret(name))


def named(name: str, otherwise: str) -> str:
    """Return a name that nothing knows in quotes, or other words where it may be a secret."""
    return otherwise if may_be_secret(name) else quoted(name)


def without_pieces(reason: str, written: str) -> str:
    """Return a reason without any piece of a value that must not be repeated."""
    for piece in {written, *_BETWEEN_PIECES.split(written)}:
        if len(piece) >= SHORTEST_KEY - 1:
            reason = reason.replace(piece, "…")
    reason = _QUOTES.sub(lambda q: '"…"' if _is_piece(q[0][1:-1], written) else q[0], reason)
    if not _QUOTE.search(written) and all(map(_is_harmless_quote, _QUOTES.findall(reason))):
        return reason
    return _ALL_QUOTED.sub(lambda quote: "…" if _overlap(quote[0], written) else quote[0], reason)


def _is_piece(said: str, written: str) -> bool:
    """Say whether what is said is nearly a key long, and a piece of what is written."""
    return len(said) >= SHORTEST_KEY - 1 and said in written


def _is_harmless_quote(quote: str) -> bool:
    return quote == '"…"' or cannot_be_secret(quote[1:-1])


def _overlap(said: str, written: str) -> bool:
    """Say whether a run of characters that is nearly a key stands in both."""
    size = SHORTEST_KEY - 1
    return any(said[at : at + size] in written for at in range(len(said) - size + 1))


class Masking:
    """Masks every passphrase in a text; a short one only where it is all of it.

    Letter case does not count, a key is known in each of its spellings, and a passphrase that a
    cut quote ends is known by its beginning. The word around it goes with it.
    """

    def __init__(self, secrets: Iterable[Secret]) -> None:
        self._known = _Known(_folded(text) for secret in secrets for text in _spellings(secret))

    def __call__(self, text: str) -> str:
        """Return a text without the passphrases."""
        plain = _folded(text)
        if plain in self._known.whole:
            return MASK
        if len(text) <= _PART_OF_KEY and not self._known.may_stand_in(plain):
            return text
        return _FULL_KEY.sub(MASK, _without(text, self._known.spans(plain)))

    def leaves(self, texts: Sequence[str]) -> bool:
        """Say whether it surely leaves every one of many texts as it is, at one look at all."""
        plain = [_folded(text) for text in texts]
        together = "\n".join(plain)
        nothing_in = not self._known.may_stand_in(together) and not _FULL_KEY.search(together)
        return nothing_in and self._known.whole.isdisjoint(plain)


class _Known:
    """Passphrases by how they begin, so that many of them cost no more than a few."""

    def __init__(self, texts: Iterable[str]) -> None:
        self.whole = frozenset(texts)
        self._ordered = sorted(self.whole)
        self._lengths: dict[str, set[int]] = defaultdict(set)
        for text in self.whole:
            if len(text) >= SHORTEST_KEY:
                self._lengths[text[:SHORTEST_KEY]].add(len(text))
        few = self._lengths if len(self._lengths) <= FEW else ()
        self._starts = re.compile("|".join(map(re.escape, few)) or _NOTHING)

    def may_stand_in(self, plain: str) -> bool:
        """Say whether one may stand in a text; where there are many, that is not looked at."""
        return len(self._lengths) > FEW or self._starts.search(plain) is not None

    def spans(self, plain: str) -> Iterator[tuple[int, int]]:
        """Give where the passphrases stand in a text, from left to right."""
        if not self.may_stand_in(plain):
            return
        for at in range(len(plain) - SHORTEST_KEY + 1):
            lengths = self._lengths.get(plain[at : at + SHORTEST_KEY])
            if lengths:
                longest_first = sorted(lengths, reverse=True)
                yield from ((at, at + n) for n in longest_first if plain[at : at + n] in self.whole)
                cut = plain.find("…", at, at + LONGEST_QUOTE + 1)
                if cut > 0 and self._begins(plain[at:cut]):
                    yield at, cut + 1

    def _begins(self, piece: str) -> bool:
        """Say whether a passphrase begins with a piece."""
        at = bisect_left(self._ordered, piece)
        return at < len(self._ordered) and self._ordered[at].startswith(piece)


def _folded(text: str) -> str:
    """Return a text without letter case, as many characters long as before."""
    plain = text.casefold()
    if len(plain) == len(text):
        return plain
    return "".join(c if len(c.casefold()) > 1 else c.casefold() for c in text)


def _without(text: str, spans: Iterable[tuple[int, int]]) -> str:
    """Return a text with a mask for every word in which one of some spans lies, left to right."""
    pieces: list[str] = []
    begin, end, mask = 0, 0, ""
    for span in spans:
        if span[1] <= end:  # in a word that is masked already
            continue
        start, stop = _word_around(text, *span)
        if start >= end:
            pieces += mask, text[end:start]
            begin, mask = start, MASK
        end = stop
        if (begin, end) != span:
            mask = MASK_WITHIN
    return "".join((*pieces, mask, text[end:]))


def _word_around(text: str, start: int, stop: int) -> tuple[int, int]:
    """Return where the word begins and ends that holds a piece of a text."""
    while start and _is_of_word(text[start - 1]):
        start -= 1
    while stop < len(text) and _is_of_word(text[stop]):
        stop += 1
    return start, stop


def _is_of_word(letter: str) -> bool:
    return letter.isalnum() or letter in "_-"


def _spellings(secret: Secret) -> Iterator[str]:
    """Give a secret as it was written, as Python quotes it, and a WEP key in its other form."""
    with suppress(ValueError):  # it was never read
        if text := secret.reveal():
            yield text
            yield repr(text)[1:-1]
            if len(text) in _WEP_CHARACTERS and text.isascii():
                yield text.encode().hex()
            if _WEP_DIGITS.fullmatch(text):
                yield bytes.fromhex(text).decode("latin-1")
