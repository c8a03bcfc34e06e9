"""The cards of a kit, on sheets to be printed and cut: A4 and Letter take the same ones."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import groupby
from math import ceil
from unicodedata import east_asian_width

from auditor.compute.near_misses import fragile
from auditor.models.forms import NO_GATEWAY
from auditor.models.quantities import shown
from auditor.models.words import Addressing, FlowControl
from auditor.reports.escaping import on_one_line
from auditor.reports.page.document import rendered
from auditor.reports.page.matrix import Cell
from auditor.reports.sentences import in_words
from auditor.tasks.cards import Card, Cards, Link, Messages, Reason, SerialLine, Wiring

CARDS_A_SHEET = 8
MOST_REASONS = 4
"""So many checks are named on a card; of more, how many there are."""
LONGEST_NAME = 128
"""Characters of a network name: one of 32 octets has no more, however it is written out."""
LONGEST_ID, LONGEST_TITLE, LONGEST_HOLDER, LONGEST_NOTE, LONGEST_FILE = 48, 48, 32, 64, 64
"""Characters that have room on a card; of a longer text the beginning stands there."""
SIZES = ((10, "large"), (18, "medium"), (100, "small"))
"""How an id is drawn, by the most widths of a letter that it may have."""
DENSITIES = ((14, "wide"), (17, "close"), (100, "dense"))
"""How the lines are drawn, by how many of them there are at most."""
LETTERS_A_LINE = 46
"""Widths of a usual letter that have room in a line, whatever its density."""
ROOM = "_" * 10
"""As wide as the line on which somebody writes what is not known."""
NO_BREAK = "\u00a0"
_BLANKS = re.compile(r"(^\s+|\s+$|\s{2,}|[^\S ])")
"""The blanks in a name that nobody sees, or counts, unless they are drawn."""
_BROAD = frozenset("MW@%mw…—")


class Kind(StrEnum):
    """What a piece of a line is.

    Words of ours, a value as it is to be set, a blank in it that has to be seen, or the room to
    write in what is not known.
    """

    WORDS = "words"
    VALUE = "value"
    BLANK = "blank"
    ROOM = "room"


@dataclass(frozen=True)
class Piece:
    """A part of a line."""

    kind: Kind
    text: str = ""


Pieces = Sequence[Piece]


@dataclass(frozen=True)
class Line:
    """A line of a card: what it is about, and what is said of it."""

    label: str
    pieces: Pieces


@dataclass(frozen=True)
class Drawn:
    """A card as it is drawn; `reasons` has the checks of each stage."""

    id: str
    size: str
    anchor: str
    holder: str | None
    verdict: Cell
    lines: tuple[Line, ...]
    density: str
    reasons: tuple[tuple[str, tuple[str, ...]], ...]
    more_reasons: int
    lacking: tuple[str, ...]


def cards_page(cards: Cards) -> str:
    """Return the cards as one HTML file that reads nothing from outside.

    Source: WHATWG, HTML Standard; W3C, CSS Paged Media Module Level 3.
    """
    kit = _short(cards.title, LONGEST_TITLE)
    drawn = [_drawn(number, card, kit) for number, card in enumerate(cards.cards, start=1)]
    return rendered(
        "cards.html",
        ("page.css", "cards.css"),
        None,
        title=cards.title,
        kit=kit,
        number=len(drawn),
        sheets=[drawn[at : at + CARDS_A_SHEET] for at in range(0, len(drawn), CARDS_A_SHEET)],
        file=_short(cards.file, LONGEST_FILE),
        checked_at=cards.checked_at,
    )


def sheets_for(number: int) -> int:
    """Return how many sheets so many cards take."""
    return ceil(number / CARDS_A_SHEET)


def _drawn(number: int, card: Card, kit: str) -> Drawn:
    lines = tuple(_lines(card))
    named = card.reasons[:MOST_REASONS]
    id, holder = _short(card.id, LONGEST_ID), _short(card.holder or "", LONGEST_HOLDER)
    texts = (*map(_text, lines), f"{id}{id}", kit + (holder or ROOM), *_told(named, card.lacking))
    return Drawn(
        id=id,
        size=_first_that_takes(_width(id), SIZES),
        anchor=f"card-{number}",
        holder=holder or None,
        verdict=Cell(card.verdict, in_words(card.verdict)),
        lines=lines,
        density=_first_that_takes(sum(map(_height, texts)), DENSITIES),
        reasons=tuple(_by_stage(named)),
        more_reasons=len(card.reasons) - len(named),
        lacking=card.lacking,
    )


def _lines(card: Card) -> Iterator[Line]:
    yield Line("Network", (*_name(card.link.network_name), *_note(card.link.network_name)))
    yield Line("Security", _security(card.link))
    yield Line("Address", _address(card.link))
    yield Line("Hardware", (_value(card.hardware_address),))
    yield Line("Serial", _serial(card.serial))
    yield Line("Messages", _messages(card.messages))
    yield Line("Wiring", _wiring(card.wiring))
    yield Line("Indicator", _indicator(card))


def _name(name: str | None) -> Iterator[Piece]:
    """Give a network name as it is, and every blank in it that would not be seen as one."""
    if name is None:
        yield _value(None)
        return
    for number, run in enumerate(_BLANKS.split(_short(name, LONGEST_NAME))):
        if number % 2:
            yield from (Piece(Kind.BLANK, blank) for blank in run)
        elif run:
            yield Piece(Kind.VALUE, run)


@lru_cache(maxsize=1024)
def _note(name: str | None) -> Pieces:
    """Return what makes a network name easy to mistype."""
    if name == "":
        return (_words("(it is empty)"),)
    reasons = fragile(name) if name else ()
    if not reasons:
        return ()
    more = f"; and {len(reasons) - 1} more" if len(reasons) > 1 else ""
    return (_words(f" ({_short(reasons[0], LONGEST_NOTE)}{more})"),)


def _security(link: Link) -> Pieces:
    return _value(link.security), _words(", passphrase: "), _value(link.passphrase)


def _address(link: Link) -> Pieces:
    if link.addressing is None:
        return (_value(None),)
    if link.addressing is Addressing.STATIC:
        return _words("static "), *_with_length(link), *_gateway(link)
    reserved = () if link.address is None else (_words(", always "), _value(link.address))
    return _words("by lease"), *reserved


def _with_length(link: Link) -> Pieces:
    if link.address is None or link.prefix_length is None:
        return _value(link.address), _words("/"), _value(link.prefix_length)
    return (_value(f"{link.address}/{link.prefix_length}"),)


def _gateway(link: Link) -> Pieces:
    if link.gateway == NO_GATEWAY:
        return (_words(", no gateway"),)
    return _words(", gateway "), _value(link.gateway)


def _serial(line: SerialLine) -> Pieces:
    return _value(line.rate), _words(" Bd "), *_frame(line), _words(", "), *_flow(line)


def _frame(line: SerialLine) -> Pieces:
    """Return data bits, parity and stop bits, as in 8N1; one by one where one is not known."""
    bits, stop = line.data_bits, None if line.stop_bits is None else shown(line.stop_bits)
    if bits is not None and line.parity is not None and stop is not None:
        return (_value(f"{bits}{line.parity[0].upper()}{stop}"),)
    if bits is None and line.parity is None and stop is None:
        return (_value(None),)
    return (
        *(_words("data bits "), _value(bits)),
        *(_words(", parity "), _value(line.parity)),
        *(_words(", stop bits "), _value(stop)),
    )


def _flow(line: SerialLine) -> Pieces:
    if line.flow_control is FlowControl.NONE:
        return (_words("no flow control"),)
    return _words("flow control "), _value(line.flow_control)


def _messages(messages: Messages) -> Pieces:
    transport = messages.transport.upper() if messages.transport else None
    heard = _words(", listens on port "), _value(messages.listen_port)
    return *_sent(messages), *heard, _words(", by "), _value(transport)


def _sent(messages: Messages) -> Pieces:
    if not messages.sends:
        return (_words("sends nothing"),)
    port = _words(" port "), _value(messages.port)
    return _words("sends to "), _value(messages.destination), *port


def _wiring(wiring: Wiring) -> Pieces:
    volts = None if wiring.supply_v is None else shown(wiring.supply_v)
    return (
        *(_words("RX to controller "), _pin(wiring.rx_wired_to)),
        *(_words(", TX to controller "), _pin(wiring.tx_wired_to)),
        *_ground(wiring.common_ground),
        *(_words(", supply "), _value(volts), _words(" V")),
    )


def _pin(pin: str | None) -> Piece:
    return _value(pin.upper() if pin else None)


def _ground(is_common: bool | None) -> Pieces:
    if is_common is None:
        return _words(", common ground "), _value(None)
    return (_words(", common ground" if is_common else ", no common ground"),)


def _indicator(card: Card) -> Pieces:
    searching, joined = _value(card.searching), _value(card.joined)
    return _words("searching "), searching, _words(", joined "), joined


def _words(text: str) -> Piece:
    """Return words of ours, from which no line breaks off the value that follows them."""
    held = f"{text[:-1]}{NO_BREAK}" if text.endswith(" ") else text
    return Piece(Kind.WORDS, held)


def _value(value: object) -> Piece:
    """Return a value, or the room to write it in where it is not known."""
    return Piece(Kind.ROOM) if value is None else Piece(Kind.VALUE, str(value))


def _by_stage(reasons: Sequence[Reason]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Give the stages at which something was found, and by which checks."""
    for stage, found in groupby(reasons, key=lambda reason: reason.stage):
        yield stage, tuple(reason.check for reason in found)


def _short(text: str, most: int) -> str:
    """Return a text as it is shown, its end left out where it is too long for a card."""
    visible = on_one_line(text)
    if len(visible) <= most:
        return visible
    told = f"… ({len(text):,} characters)"
    return visible[: most - len(told)] + told


def _text(line: Line) -> str:
    return "".join(piece.text or ROOM for piece in line.pieces)


def _told(reasons: Sequence[Reason], lacking: Sequence[str]) -> Iterator[str]:
    """Give the text that says why a module is not ready, where there is a reason."""
    if reasons:
        told = ", ".join(f"{each.stage}: {each.check}" for each in reasons)
        yield f"Do not hand out. {told}; and more"
    elif lacking:
        yield f"Facts are missing at {', '.join(lacking)}."


def _height(text: str) -> int:
    """Return how many lines of print a text takes at most."""
    return ceil(_width(text) / LETTERS_A_LINE)


def _width(text: str) -> int:
    """Return how wide a text is at most, in widths of a usual letter."""
    return sum(1 + (letter in _BROAD or east_asian_width(letter) in "WF") for letter in text)


def _first_that_takes(amount: int, classes: Sequence[tuple[int, str]]) -> str:
    """Return the first class that has room for an amount, or the last one."""
    return next((name for most, name in classes if amount <= most), classes[-1][1])
