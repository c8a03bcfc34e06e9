"""Lines of a text report: wrapped to a width, with ids compressed to ranges."""

import re
from collections.abc import Iterable
from textwrap import TextWrapper

from auditor.reports.escaping import on_one_line
from auditor.survey.selection import MOST_RUNS, id_ranges

LEAST_WIDTH = 40
USUAL_WIDTH = 80
GREATEST_WIDTH = 100
MOST_SORTED = 1000
_NUMBERED = re.compile(r"(.*?)(\d{1,18})", re.DOTALL | re.ASCII)
_QUOTED = re.compile(r'"[^"]{,40}"')
_HELD = "\ue000"  # private use: `on_one_line` leaves none of these in a text


def counted(number: int, noun: str) -> str:
    """Return a number with its noun, in the plural where it is not one."""
    return f"{number} {noun}" if number == 1 or noun == "advice" else f"{number} {noun}s"


def wrapped(text: str, width: int, indent: str = "", hanging: str | None = None) -> str:
    """Return a text of any input, escaped, in lines of at most `width` characters.

    A blank within a quoted value is no place to break a line: it may be what the text is about.
    """
    text = on_one_line(text)
    if len(indent) + len(text) <= width:
        return (indent + text).rstrip()
    held = _QUOTED.sub(lambda match: match[0].replace(" ", _HELD), text)
    wrapper = TextWrapper(
        width,
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_on_hyphens=False,
    )
    return wrapper.fill(held).replace(_HELD, " ")


def headline(left: str, right: str, width: int) -> str:
    """Return two texts at both ends of a line, or one above the other where they do not fit."""
    left, right = on_one_line(left), on_one_line(right)
    gap = width - len(left) - len(right)
    if right and gap >= 2:
        return f"{left}{' ' * gap}{right}"
    lines = (wrapped(left, width, hanging="  "), wrapped(right, width, "  "))
    return "\n".join(line for line in lines if line)


def listed(ids: Iterable[str], most: int = MOST_RUNS) -> str:
    """Return ids in their natural order, neighbours joined, as in "TG-01..TG-03, TG-05".

    Of very many, which are not all named, the order is that of the file.
    """
    ids = list(ids)
    return id_ranges(sorted(ids, key=_natural) if len(ids) <= MOST_SORTED else ids, most)


def _natural(id: str) -> tuple[str, int, str]:
    match = _NUMBERED.fullmatch(id)
    return (match[1], int(match[2]), id) if match else (id, -1, id)
