"""The document around the parts of a page: its style, its script, and what it may load."""

import re
from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from auditor.reports.escaping import on_one_line
from auditor.reports.layout import counted, listed

TEMPLATES = Path(__file__).parent / "templates"
_QUOTED = re.compile(r'("[^"]+")')


def rendered(
    template: str,
    styles: Sequence[str] = ("page.css",),
    script: str | None = "page.js",
    /,
    **parts: object,
) -> str:
    """Return a page from a template, with the parts that it draws.

    Style and script stand in the page itself, and its policy names their hashes, so that a
    browser loads nothing and runs nothing else.
    """
    style, code = "".join(map(_asset, styles)), _asset(script) if script else ""
    own = {"policy": _policy(style, code), "style": Markup(style), "script": Markup(code)}
    return _environment().get_template(template).render(own, **parts)


def _policy(style: str, script: str) -> str:
    """Return what a browser may do with the page: show it, with this style and this script.

    Source: W3C, Content Security Policy Level 3, section 2.3.1 (hash-source).
    """
    runs = f" script-src '{_hash(script)}';" if script else ""
    return (
        f"default-src 'none'; style-src '{_hash(style)}';{runs} "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_visible,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["prose"] = prose
    environment.filters["listed"] = listed
    environment.filters["apart"] = apart
    environment.filters["bounded"] = bounded
    environment.globals["counted"] = counted
    return environment


def _visible(value: object) -> object:
    """Return what a template writes, with control and invisible characters written out."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return on_one_line(value)
    return value


def prose(text: str) -> Markup:
    """Return a sentence as markup, each quoted value in it set apart from the words around it.

    A value may be written from right to left; it must not turn the sentence around.
    """
    pieces = _QUOTED.split(on_one_line(text))
    return Markup("").join(
        Markup('<bdi class="value">{}</bdi>').format(piece) if number % 2 else escape(piece)
        for number, piece in enumerate(pieces)
    )


def apart(listing: str) -> Markup:
    """Return what `listed` gives as markup that breaks its lines between the ids, not in them."""
    *others, last = on_one_line(listing).split(", ")
    pieces = [Markup('<span class="id"><bdi>{}</bdi>,</span> ').format(id) for id in others]
    return Markup("").join([*pieces, Markup('<span class="id"><bdi>{}</bdi></span>').format(last)])


def bounded(value: str) -> str:
    """Return a value in quotes where blanks at its ends, or its emptiness, would not be seen."""
    return value if value == value.strip() != "" else f'"{value}"'


@cache
def _asset(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode('ascii')}"
