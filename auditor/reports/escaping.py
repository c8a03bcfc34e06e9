"""Text of any input made safe to show: what a terminal obeys or hides is written out."""

import unicodedata


def shown(text: str) -> str:
    r"""Return a text whose control and invisible characters are written out, as in \x1b.

    Line ends stay, for they are the report's own; letters, accents and symbols stay too.

    Source: Unicode 15, general categories C* (control, format, surrogate, private use, not
    assigned), Zl and Zp.
    """
    if text.isascii() and text.replace("\n", "").isprintable():
        return text
    return "".join(map(_shown_character, text))


def on_one_line(text: str) -> str:
    r"""Return a text as `shown` gives it, with its line ends written out as \n."""
    return shown(text).replace("\n", r"\n")


def _shown_character(character: str) -> str:
    category = unicodedata.category(character)
    if character == "\n" or not (category[0] == "C" or category in ("Zl", "Zp")):
        return character
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
