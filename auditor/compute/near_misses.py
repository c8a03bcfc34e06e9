"""How a name misses the one that was meant, and what makes a name easy to miss.

Positions count from 1, in characters as a reader sees them: a letter with its accents is one.
"""

import string
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import groupby
from typing import NamedTuple

# Printed as nothing or as a blank, yet letters or marks by category:
# Unicode 15, DerivedCoreProperties.txt, Default_Ignorable_Code_Point; and BRAILLE PATTERN BLANK.
_UNSEEN_LETTERS = frozenset(
    {"\u034f", "\u115f", "\u1160", "\u17b4", "\u17b5", "\u2800", "\u3164", "\uffa0"}
    | {chr(code) for code in (*range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0))}
)
_WORD_ENDS = frozenset(string.punctuation + string.whitespace)


class Kind(StrEnum):
    """The ways in which one name misses another, in the order in which they are said."""

    BLANKS = "a blank at an end"
    CASE = "letter case"
    LOOK_ALIKE = "a look-alike letter"
    COMPOSITION = "composed against decomposed accents"
    EDIT = "spelling"


@dataclass(frozen=True)
class NearMiss:
    """A name that is nearly the wanted one: the first kind of miss, the edits, half a sentence."""

    kind: Kind
    distance: int
    detail: str


class _Difference(NamedTuple):
    position: int
    given: str
    wanted: str


def near_miss(given: str, wanted: str, limit: int = 2) -> NearMiss | None:
    """How `given` nearly is `wanted`; None where they are equal or too far from each other.

    What a reader overlooks (blanks at the ends, case, look-alikes, the encoding of accents) is a
    near miss however often it occurs; `limit` bounds the edits once the spelling differs too.

    Raises: ValueError where `limit` is below 0.
    Source: UTS #39 (look-alikes), UAX #15 (composition).
    """
    _require_limit(limit)
    if given == wanted:
        return None
    distance = edit_distance(given, wanted)
    overlooked = _overlooked(given, wanted)
    if overlooked:
        return NearMiss(next(iter(overlooked)), distance, " and ".join(overlooked.values()))
    if distance > limit:
        return None
    return NearMiss(Kind.EDIT, distance, _spelling(given, wanted))


def edit_distance(a: str, b: str) -> int:
    """The fewest edits from one text to the other: optimal string alignment.

    An edit inserts, removes or replaces one code point, or swaps two neighbours, and none
    touches a place twice; so the triangle inequality does not hold in general.
    """
    shorter, longer = sorted((a, b), key=len)
    if longer.startswith(shorter) or longer.endswith(shorter):
        return len(longer) - len(shorter)
    from rapidfuzz.distance import OSA  # here, as a slip at an end does without its 6 ms

    return OSA.distance(a, b)


def nearest(word: str, candidates: Iterable[str], limit: int | None = None) -> str | None:
    """The candidate that somebody who wrote `word` most likely meant; None where none is near.

    Case, blanks, "-" and "_" do not count. Without a limit a third of the word may differ, and
    one character always. Of equally near candidates one that looks alike is taken, or else the
    first in the alphabet.

    Raises: ValueError where `limit` is below 0.
    Source: UTS #39 (look-alikes).
    """
    plain = _plain(word)
    limit = max(1, len(plain) // 3) if limit is None else limit
    _require_limit(limit)
    close = sorted(_nearest(plain, candidates, limit))
    alike = (each for each in close if len(close) > 1 and _looks_like(word, each))
    return next(alike, close[0] if close else None)


def _nearest(plain: str, candidates: Iterable[str], limit: int) -> list[str]:
    """Return all the candidates that are nearest to a plain word, within a limit."""
    close: list[str] = []
    for candidate in candidates:
        distance = edit_distance(plain, _plain(candidate))
        if distance < limit:
            limit, close = distance, [candidate]
        elif distance == limit:
            close.append(candidate)
    return close


def _looks_like(word: str, other: str) -> bool:
    return skeleton(word).casefold() == skeleton(other).casefold()


def fragile(name: str) -> tuple[str, ...]:
    """The reasons, as half sentences, why a name is easily written wrong; none for plain names.

    Source: UTS #39, confusables.txt (look-alikes); UAX #15 (composed and decomposed).
    """
    reasons = (_blanks_at_ends, _blanks_in_a_row, _unseen, _mixed_in, _encoded_in_two_ways)
    return tuple(sentence for reason in reasons for sentence in reason(name))


def skeleton(text: str) -> str:
    """A text in which characters that look alike are written alike; for comparing only.

    Source: UTS #39, section 4 (skeleton), with the table of confusable-homoglyphs 3.3.1.
    """
    decomposed = unicodedata.normalize("NFD", text)
    return unicodedata.normalize("NFD", "".join(map(_prototype, decomposed)))


@cache
def _prototype(character: str) -> str:
    looks = _look_alikes(character)
    if len(looks) != 1:
        return character
    # The package keeps the table both ways: a character has one prototype, a prototype usually
    # several characters. A sequence ("rn") is a prototype; of a lone pair either one will do.
    (look,) = looks
    is_prototype = len(look) > 1 or len(_look_alikes(look)) > 1
    return look if is_prototype else min(character, look)


def _look_alikes(character: str) -> list[str]:
    # Imported here because that takes 40 ms, and plain names do without.
    from confusable_homoglyphs.confusables import is_confusable

    found = is_confusable(character)
    return [look["c"] for look in found[0]["homoglyphs"]] if found else []


def _overlooked(given: str, wanted: str) -> dict[Kind, str]:
    """What a reader overlooks, in order; nothing where the spelling differs besides."""
    before, core, _ = _ends(given)
    _, wanted_core, _ = _ends(wanted)
    differences = _differences(_characters(core), _characters(wanted_core), len(before) + 1)
    by_kind = {kind: [d for d in differences if _kind(d) is kind] for kind in Kind}
    if by_kind[Kind.EDIT]:
        return {}
    letters = {kind: _told(kind, found) for kind, found in by_kind.items() if found}
    blanks = _blanks_at_ends(given, wanted)
    return {Kind.BLANKS: " and ".join(blanks), **letters} if blanks else letters


def _kind(difference: _Difference) -> Kind:
    given, wanted = (unicodedata.normalize("NFC", text) for text in difference[1:])
    if given == wanted:
        both_single = len(difference.given) == len(difference.wanted) == 1
        return Kind.LOOK_ALIKE if both_single else Kind.COMPOSITION
    if given.lower() == wanted.lower():
        return Kind.CASE
    if skeleton(given).lower() == skeleton(wanted).lower():
        return Kind.LOOK_ALIKE
    return Kind.EDIT


def _told(kind: Kind, differences: Sequence[_Difference]) -> str:
    more = f" (and {len(differences) - 1} more)" if len(differences) > 1 else ""
    return _SENTENCES[kind](differences[0]) + more


def _told_case(difference: _Difference) -> str:
    return f"the case of {_quoted(difference.given)} at position {difference.position} differs"


def _told_look_alike(difference: _Difference) -> str:
    position, given, wanted = difference
    meant = _quoted(wanted) if wanted.isascii() else _named(wanted)
    return f"{_named(given)} stands for {meant} at position {position}"


def _told_composition(difference: _Difference) -> str:
    position, given, wanted = difference
    letter = _quoted(unicodedata.normalize("NFC", given))
    return f"{letter} at position {position} is {_codes(given)} instead of {_codes(wanted)}"


def _told_edit(difference: _Difference) -> str:
    position, given, wanted = difference
    if not wanted:
        return f"{_counted(given)} more: {_quoted(given)} at position {position}"
    if not given:
        return f"{_counted(wanted)} fewer: {_quoted(wanted)} is missing at position {position}"
    return f"{_quoted(given)} instead of {_quoted(wanted)} at position {position}"


_SENTENCES: dict[Kind, Callable[[_Difference], str]] = {
    Kind.CASE: _told_case,
    Kind.LOOK_ALIKE: _told_look_alike,
    Kind.COMPOSITION: _told_composition,
    Kind.EDIT: _told_edit,
}


def _spelling(given: str, wanted: str) -> str:
    characters, wanted_characters = _characters(given), _characters(wanted)
    swap = _swap(characters, wanted_characters)
    if swap:
        return f"{_quoted(swap.given)} at position {swap.position} is swapped"
    return ", ".join(map(_told_edit, _runs(characters, wanted_characters, first=1)))


def _swap(given: Sequence[str], wanted: Sequence[str]) -> _Difference | None:
    if len(given) != len(wanted):
        return None
    match _differences(given, wanted, first=1):
        case [(at, a, b), (then, c, d)] if (then, c, d) == (at + 1, b, a):
            return _Difference(at, a + c, b + d)
    return None


def _differences(given: Sequence[str], wanted: Sequence[str], first: int) -> list[_Difference]:
    """Where two texts differ, place by place if they are equally long; `first` is position 1."""
    if len(given) != len(wanted):
        return list(_runs(given, wanted, first))
    pairs = enumerate(zip(given, wanted, strict=True), first)
    return [_Difference(at, a, b) for at, (a, b) in pairs if a != b]


def _runs(given: Sequence[str], wanted: Sequence[str], first: int) -> Iterator[_Difference]:
    from rapidfuzz.distance import Levenshtein

    steps = Levenshtein.opcodes(wanted, given)
    for agrees, run in groupby(steps, key=lambda step: step.tag == "equal"):
        if not agrees:
            steps_of_run = list(run)
            start, end = steps_of_run[0], steps_of_run[-1]
            yield _Difference(
                first + start.dest_start,
                "".join(given[start.dest_start : end.dest_end]),
                "".join(wanted[start.src_start : end.src_end]),
            )


def _characters(text: str) -> list[str]:
    characters: list[str] = []
    for code_point in text:
        if characters and _joins(characters[-1], code_point):
            characters[-1] += code_point
        else:
            characters.append(code_point)
    return characters


def _joins(character: str, code_point: str) -> bool:
    alone, together = (
        unicodedata.normalize("NFC", text) for text in (character, character + code_point)
    )
    return unicodedata.combining(code_point) > 0 or len(together) == len(alone)


def _ends(text: str) -> tuple[str, str, str]:
    core = text.strip()
    start = text.find(core)
    return text[:start], core, text[start + len(core) :]


def _blanks_at_ends(given: str, wanted: str = "") -> list[str]:
    before, _, after = _ends(given)
    wanted_before, _, wanted_after = _ends(wanted)
    sides = (("begins with", before, wanted_before), ("ends in", after, wanted_after))
    return [
        f"it {side} {_blanks(run)}" + (f" instead of {_blanks(meant)}" if meant else "")
        for side, run, meant in sides
        if run != meant
    ]


def _blanks(run: str) -> str:
    if not run:
        return "no blank"
    codes = "" if set(run) == {" "} else f" ({_codes(run)})"
    return ("a blank" if len(run) == 1 else f"{len(run)} blanks") + codes


def _blanks_in_a_row(name: str) -> Iterator[str]:
    before, core, _ = _ends(name)
    places = enumerate(_characters(core), len(before) + 1)
    for blank, run in groupby(places, key=lambda place: place[1].isspace()):
        positions = [position for position, _ in run]
        if blank and len(positions) > 1:
            yield f"it has {len(positions)} blanks in a row at position {positions[0]}"


def _unseen(name: str) -> Iterator[str]:
    for position, character in enumerate(_characters(name), 1):
        code_point = character[0]
        if not code_point.isprintable() or code_point in _UNSEEN_LETTERS:
            yield f"it has the {_described(code_point)} at position {position}"


def _described(code_point: str) -> str:
    if unicodedata.category(code_point) == "Cc":
        return f"control character {_codes(code_point)}"
    return f"invisible character {_codes(code_point)} {unicodedata.name(code_point, '')}".rstrip()


def _mixed_in(name: str) -> Iterator[str]:
    places = enumerate(_characters(name), 1)
    for _, run in groupby(places, key=lambda place: place[1] in _WORD_ENDS):
        word = list(run)
        if any(character in string.ascii_letters for _, character in word):
            yield from (told for place in word for told in _looks_plain(*place))


def _looks_plain(position: int, character: str) -> Iterator[str]:
    letter = character[0]
    if letter.isprintable() and not letter.isascii() and (plain := _prototype(letter)).isascii():
        yield f"{_named(character)} at position {position} looks like {_quoted(plain)}"


def _encoded_in_two_ways(name: str) -> Iterator[str]:
    for position, character in enumerate(_characters(name), 1):
        composed, decomposed = (unicodedata.normalize(f, character) for f in ("NFC", "NFD"))
        if composed != decomposed:
            yield (
                f"{_quoted(composed)} at position {position} has two encodings, "
                f"{_codes(composed)} and {_codes(decomposed)}"
            )


def _plain(word: str) -> str:
    return "".join(word.casefold().replace("-", "").replace("_", "").split())


def _require_limit(limit: int) -> None:
    if limit < 0:
        raise ValueError(f"limit is {limit}; it must be at least 0")


def _quoted(text: str) -> str:
    shown = (char if char.isprintable() else f"\\u{ord(char):04x}" for char in text)
    return f'"{"".join(shown)}"'


def _named(text: str) -> str:
    name = unicodedata.name(text, "") if len(text) == 1 else ""
    return f"{_quoted(text)} ({name})" if name else _quoted(text)


def _codes(text: str) -> str:
    return " ".join(f"U+{ord(char):04X}" for char in text)


def _counted(text: str) -> str:
    count = len(_characters(text))
    return "one character" if count == 1 else f"{count} characters"
