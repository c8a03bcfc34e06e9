"""A page read back as its elements, as a browser would see them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "input"}


@dataclass
class Element:
    """A tag with its attributes, the tags around it, and all the text in it."""

    tag: str
    attributes: dict[str, str]
    around: tuple["Element", ...]
    pieces: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """Its text, as it stands."""
        return "".join(self.pieces)

    def get(self, name: str) -> str:
        """Return an attribute, or nothing."""
        return self.attributes.get(name, "")


class Page(HTMLParser):
    """The elements of a page in their order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(text)
        self.close()
        assert self._open == [], "a tag was never closed"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        element = Element(tag, {name: value or "" for name, value in attrs}, tuple(self._open))
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an element without content, as in a drawing."""
        self.handle_starttag(tag, attrs)
        self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        """Close an element; it must be the one that was opened last."""
        assert self._open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        """Give text to all elements that it stands in."""
        for element in self._open:
            element.pieces.append(data)

    def all(self, tag: str, **attributes: str) -> list[Element]:
        """Return the elements of a tag that have these attributes; `class_` is a class of many."""
        wanted = attributes.pop("class_", None)
        return [
            each
            for each in self.elements
            if each.tag == tag
            and all(each.get(name) == value for name, value in attributes.items())
            and (wanted is None or wanted in each.get("class").split())
        ]

    def one(self, tag: str, **attributes: str) -> Element:
        """Return the only element of a tag that has these attributes."""
        (element,) = self.all(tag, **attributes)
        return element

    @property
    def ids(self) -> list[str]:
        """Every id of the page."""
        return [each.get("id") for each in self.elements if "id" in each.attributes]
