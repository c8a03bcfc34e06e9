"""A page on paper: its letters and where they stand, read back from the printed PDF."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from ctypes import c_uint
from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

from tests.pages.visits import HEIGHT

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from pypdfium2 import PdfPage, PdfTextPage

Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255 each, as in sRGB."""
WHITE = (255, 255, 255)
LEAST_CONTRAST = 4.5
"""WCAG 2.2, 1.4.3 (level AA)."""
DOTS = 2
"""So many a point (1/72 in) show what lies around a letter."""
CSS_PX_PER_MM = 96 / 25.4
"""W3C, CSS Values and Units Module Level 3, section 6.2: 1 in is 96 px and 25.4 mm."""
WIDTH_MM = {"A4": 210, "Letter": 215.9}
"""ISO 216, and ANSI/ASME Y14.1 (8.5 in): from memory, unverified."""
MARGIN_MM = 20
"""The widest that a page may keep free at each side; what fits beside it fits beside less."""

TABLE_WORDS = """() => [...document.querySelectorAll("th, td")]
  .filter(cell => cell.checkVisibility({visibilityProperty: true}))
  .flatMap(cell => cell.innerText.split(/\\s+/))
  .filter(word => word)"""


@dataclass(frozen=True)
class Letter:
    """A printed letter: whether its sheet has it as a whole, its ink, and what lies around it."""

    letter: str
    is_inside: bool
    ink: Colour
    ground: Colour

    @property
    def is_faint(self) -> bool:
        """Whether it is hard to read on its ground (WCAG 2.2, 1.4.3)."""
        return contrast(self.ink, self.ground) < LEAST_CONTRAST


@dataclass(frozen=True)
class Print:
    """A page as it was printed: the letters of all its sheets in order, without the blanks."""

    letters: tuple[Letter, ...]

    @property
    def cut_off(self) -> str:
        """The letters that do not stand on their sheet as a whole."""
        return "".join(each.letter for each in self.letters if not each.is_inside)

    @property
    def faint(self) -> str:
        """The letters that are hard to read on the paper, or on what is printed below them."""
        return "".join(each.letter for each in self.letters if each.is_faint)

    def lacks(self, words: list[str]) -> list[str]:
        """Return the words that were not printed."""
        text = "".join(each.letter for each in self.letters)
        return sorted({word for word in words if word not in text})


def printed(page: Page, paper: str) -> Print:
    """Print an open page on A4 or Letter, and read it back."""
    from pypdfium2 import PdfDocument

    with closing(PdfDocument(page.pdf(format=paper))) as document:
        return Print(tuple(letter for sheet in document for letter in _letters(sheet)))


def table_words(page: Page) -> list[str]:
    """Return every word that stands in a table as it will be printed."""
    page.emulate_media(media="print")
    words: list[str] = page.evaluate(TABLE_WORDS)
    return words


def lay_out_for(page: Page, paper: str) -> None:
    """Make an open page as wide as the paper between its margins, in the style for paper."""
    page.emulate_media(media="print")
    width_px = int((WIDTH_MM[paper] - 2 * MARGIN_MM) * CSS_PX_PER_MM)
    page.set_viewport_size({"width": width_px, "height": HEIGHT})


def contrast(one: Colour, other: Colour) -> float:
    """Return the contrast of two colours, 1 to 21.

    Source: WCAG 2.2, definition of "contrast ratio".
    """
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: Colour) -> float:
    """Return how bright a colour is, 0 to 1 (WCAG 2.2, definition of "relative luminance")."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (level / 255 for level in colour)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@dataclass(frozen=True)
class Picture:
    """What a sheet looks like: the colour of every dot, `DOTS` to a point."""

    dots: bytes
    width: int
    height: int
    bytes_a_line: int

    def around(self, left: float, bottom: float, right: float, top: float) -> Colour:
        """Return the commonest colour just above and below a box, in points from bottom left."""
        columns = range(floor(left * DOTS), ceil(right * DOTS))
        lines = (self.height - ceil(top * DOTS) - 1, self.height - floor(bottom * DOTS))
        edge = [self._dot(column, line) for line in lines for column in columns]
        return Counter(edge).most_common(1)[0][0]

    def _dot(self, column: int, line: int) -> Colour:
        line = min(max(line, 0), self.height - 1)
        column = min(max(column, 0), self.width - 1)
        place = line * self.bytes_a_line + column * 3
        red, green, blue = self.dots[place : place + 3]
        return red, green, blue


def _letters(sheet: PdfPage) -> Iterator[Letter]:
    width, height = sheet.get_size()
    picture = _picture(sheet)
    with closing(sheet.get_textpage()) as text:
        for place in range(text.count_chars()):
            letter = text.get_text_range(place, 1)
            box = left, bottom, right, top = text.get_charbox(place)
            is_inside = min(left, bottom, width - right, height - top) >= 0
            if not letter.isspace():
                yield Letter(letter, is_inside, _ink(text, place), picture.around(*box))


def _picture(sheet: PdfPage) -> Picture:
    bitmap = sheet.render(scale=DOTS, rev_byteorder=True, prefer_bgrx=False)
    assert bitmap.n_channels == 3
    return Picture(bytes(bitmap.buffer), bitmap.width, bitmap.height, bitmap.stride)


def _ink(text: PdfTextPage, place: int) -> Colour:
    from pypdfium2.raw import FPDFText_GetFillColor

    levels = [c_uint() for _ in ("red", "green", "blue", "opacity")]
    FPDFText_GetFillColor(text, place, *levels)
    red, green, blue, _ = (level.value for level in levels)
    return red, green, blue
