"""Values that hardly anybody writes: numbers, texts and dates at the end of their form."""

from random import Random

TEXTS = (
    "", " ", "\t", "\0", "a\0b", "\x1b[31mred\x1b[0m", "\x1b]0;title\x07", "\x9b2J", "\x7f",
    "\b\b", "\r", "a\rb", "a\nb", "a\r\nb", "\u2028", "\u2029", "\ufeff", "a\ufeffb", "\u202eabc",
    "\u2066x", "\u200b", "\u00ad", "e\u0301" * 20, "\u0301", "Z\u0351\u036b\u0343", "潮" * 20,
    "🌊" * 9, "👩‍👩‍👧‍👦", "\U000e0041", "\ue000", "\uffff", "\U0010ffff", "ﷺ", "ß", "ſ", "İ", "Å",
    "µ", "Ω", "=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0", '"', "'", "`", "\\", "%s%n",
    "{0}", "${x}", "<script>alert(1)</script>", "&lt;", "--force", "-", "..", "/",
    "TG-01..TG-99999999", "all", "TG-" + "9" * 40 + "..TG-" + "9" * 41, "TG-01..TG-1000000", "*",
    "true", "null", "NaN", "10.20.0.31", "10.20.0.0/24", "0.0.0.0/0", "10.20.0.0/" + "9" * 5000,
    "::1", "٣", "1٢", "十", "²", "1e9 s", "9" * 5000, "1" * 3000 + " x y", "0." + "3" * 3000 + " V",
    "1 " * 2000, "aa " * 40 + "9", "a" * 33, "x" * 4096, "x" * 100_000, "潮" * 30_000, "a." * 2000,
    "(" * 5000,
)  # fmt: skip
"""Texts that a reader, a terminal, a page or a spreadsheet might take for something else."""

NUMBERS = (
    "0", "-0", "+0", "-0.0", "-1", "1.5", "1e400", "-1e400", "1e-400", "5e-324", "nan", "-nan",
    "inf", "+inf", "-inf", "9" * 18, "9" * 19, "9" * 20, "9" * 4299, "9" * 5000, "0x" + "f" * 16,
    "0x" + "f" * 5000, "0o" + "7" * 3000, "0b" + "1" * 9000, "0x", "1_0", "1__0", "0" * 50 + "1",
    "1." + "0" * 5000, "1e" + "9" * 30, "4294967296", "65536", "2147483648", "1e15", "1e16", "0.1",
    "0.30000000000000004",
)  # fmt: skip
"""Numbers as TOML may or may not take them."""

DATES = (
    "0001-01-01", "9999-12-31", "0000-01-01", "2026-02-30", "2026-13-01", "10000-01-01",
    "0001-01-01T00:00:00", "9999-12-31T23:59:59.999999999", "2026-03-02T25:00:00",
    "2026-03-02T09:00:60", "2026-03-02T09:00:00Z", "2026-03-02T09:00:00+23:59",
    "2026-03-02T09:00:00-24:00", "09:00:00", "2026-03-02 09:00:00",
)  # fmt: skip
"""Dates and times as TOML may or may not take them."""

SHAPES = (
    "true", "[]", "{}", "[[]]", "[{}]", "[[], {}]", "{ a = {} }", '{ "" = 1 }',
    "[1, 'a', 2026-01-01]", "''", '""""""', "'''\n'''", "[" * 30 + "]" * 30,
    "{ a = " * 20 + "1" + "}" * 20, '{ file = "." }', '{ file = "" }', '{ env = "" }',
    '{ env = "PATH" }', '{ psk = "" }', '{ file = [] }', "{ env = 1 }",
)  # fmt: skip
"""Values of a shape that a key hardly expects."""

BYTES = (
    b"\xff", b"\xfe\xff", b"\xff\xfe", b"\xef\xbb\xbf", b"\xc0\x80", b"\xed\xa0\x80",
    b"\xf4\x90\x80\x80", b"\xe2\x80\xa8", b"\0", b"\r", b"\n\r", b"\x1b[2J", b"\x80", b"\xc3",
    b"\x85", b"\xc2\x85", b"\x0c", b"\x1a", b'"', b"'''", b'"""', b"[", b"]]", b"{", b"}", b"=",
    b"#", b",", b";", b"\t", b".", b"\\", b"\\u0000", b"\\ud800",
)  # fmt: skip
"""Bytes that are no text, or that end or begin something in one."""


def written(text: str) -> str:
    """Return a text as a TOML string."""
    escaped = {'"': '\\"', "\\": "\\\\"}
    letters = (
        escaped.get(each) or (each if each.isprintable() else f"\\U{ord(each):08x}")
        for each in text
    )
    return f'"{"".join(letters)}"'


def odd_text(random: Random) -> str:
    """Return an odd text, or two of them joined, or one within an ordinary word."""
    text = random.choice(TEXTS)
    return random.choice((text, text + random.choice(TEXTS), f"TG-{text}"))


def odd_value(random: Random) -> str:
    """Return an odd value in TOML."""
    kind = random.choice((TEXTS, NUMBERS, DATES, SHAPES))
    value = random.choice(kind)
    return written(value) if kind is TEXTS else value
