"""Near misses against the Unicode tables and known edit distances, and laws for every text."""

import string
import unicodedata

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from auditor.compute.near_misses import (
    Kind,
    NearMiss,
    edit_distance,
    fragile,
    near_miss,
    nearest,
    skeleton,
)

NAME = "saltmarsh-gauges"

# Text, prototype: UTS #39, confusables.txt, as confusable-homoglyphs 3.3.1 carries it.
CONFUSABLES = [
    ("\u0430", "a"),  # CYRILLIC SMALL LETTER A
    ("\u0435", "e"),  # CYRILLIC SMALL LETTER IE
    ("\u043e", "o"),  # CYRILLIC SMALL LETTER O
    ("\u0440", "p"),  # CYRILLIC SMALL LETTER ER
    ("\u0441", "c"),  # CYRILLIC SMALL LETTER ES
    ("\u0391", "A"),  # GREEK CAPITAL LETTER ALPHA
    ("\u0131", "i"),  # LATIN SMALL LETTER DOTLESS I
    ("\uff4f", "o"),  # FULLWIDTH LATIN SMALL LETTER O
    ("\u2013", "-"),  # EN DASH
    ("\u2019", "'"),  # RIGHT SINGLE QUOTATION MARK
    ("\u00d7", "x"),  # MULTIPLICATION SIGN
    ("1", "l"),
    ("I", "l"),
    ("|", "l"),
    ("0", "O"),
    ("m", "rn"),
    ("\u0904", "\u0905\u0946"),  # DEVANAGARI LETTER SHORT A, and what looks like nothing else
    ("\u0320", "\u0331"),  # COMBINING MINUS SIGN, MACRON BELOW
    ("\u0337", "\u0338"),  # COMBINING SHORT, LONG SOLIDUS OVERLAY: a pair of their own
]

# UAX #15, figures 3 and 4 (from memory; equal in the Unicode data that Python carries).
CANONICAL_EQUIVALENTS = [
    ("\u212b", "A\u030a"),  # ANGSTROM SIGN
    ("\u00c5", "A\u030a"),
    ("\u00f4", "o\u0302"),
    ("\u1e69", "s\u0323\u0307"),
    ("\u1e0b\u0323", "d\u0323\u0307"),
    ("q\u0307\u0323", "q\u0323\u0307"),
    ("\ud55c\uae00", "\u1112\u1161\u11ab\u1100\u1173\u11af"),  # section 16, Hangul
]

ascii_letters = st.text(string.ascii_letters, min_size=1, max_size=20)
short_texts = st.text("abc", max_size=7)
sorted_texts = short_texts.map(lambda text: "".join(sorted(text)))
slips = st.sampled_from(["x", " ", "\u0430", "\u0301", "\t", "\u200b", "1", "A", ""])


@st.composite
def slipped(draw: st.DrawFn) -> tuple[str, str]:
    """A text and what a slip of the pen makes of it."""
    text = draw(st.text(max_size=12))
    at = draw(st.integers(0, len(text)))
    return text, text[:at] + draw(slips) + text[at + draw(st.integers(0, 1)) :]


def missed(given: str, wanted: str, limit: int = 2) -> NearMiss:
    miss = near_miss(given, wanted, limit)
    assert miss is not None, (given, wanted)
    return miss


class TestNearMiss:
    # Each is another network: observed on hostapd 2.10 and wpa_supplicant 2.10.
    @pytest.mark.parametrize(
        ("given", "wanted", "kind", "distance", "detail"),
        [
            (NAME + " ", NAME, Kind.BLANKS, 1, "it ends in a blank"),
            ("  " + NAME, NAME, Kind.BLANKS, 2, "it begins with 2 blanks"),
            (
                " tide ",
                "tide",
                Kind.BLANKS,
                2,
                "it begins with a blank and it ends in a blank",
            ),
            (NAME, NAME + " ", Kind.BLANKS, 1, "it ends in no blank instead of a blank"),
            (NAME + "\t", NAME, Kind.BLANKS, 1, "it ends in a blank (U+0009)"),
            ("   ", " ", Kind.BLANKS, 2, "it ends in 3 blanks instead of a blank"),
            ("saltMarsh", "saltmarsh", Kind.CASE, 1, 'the case of "M" at position 5 differs'),
            (
                NAME.upper(),
                NAME,
                Kind.CASE,
                15,
                'the case of "S" at position 1 differs (and 14 more)',
            ),
            (
                "saltm\u0430rsh",
                "saltmarsh",
                Kind.LOOK_ALIKE,
                1,
                '"\u0430" (CYRILLIC SMALL LETTER A) stands for "a" at position 6',
            ),
            (
                "saltmarsh",
                "saltm\u0430rsh",
                Kind.LOOK_ALIKE,
                1,
                '"a" (LATIN SMALL LETTER A) stands for '
                '"\u0430" (CYRILLIC SMALL LETTER A) at position 6',
            ),
            (
                "tide\u00a0gauge",
                "tide gauge",
                Kind.LOOK_ALIKE,
                1,
                '"\\u00a0" (NO-BREAK SPACE) stands for " " at position 5',
            ),
            ("0slo", "oslo", Kind.LOOK_ALIKE, 1, '"0" (DIGIT ZERO) stands for "o" at position 1'),
            ("saltrnarsh", "saltmarsh", Kind.LOOK_ALIKE, 2, '"rn" stands for "m" at position 5'),
            (
                "gro\u0308\u00dfe",
                "gr\u00f6\u00dfe",
                Kind.COMPOSITION,
                2,
                '"\u00f6" at position 3 is U+006F U+0308 instead of U+00F6',
            ),
            (
                "Saltmarsh ",
                "saltmarsh",
                Kind.BLANKS,
                2,
                'it ends in a blank and the case of "S" at position 1 differs',
            ),
            (
                " s\u0430ltmarsh",
                "saltmarsh",
                Kind.BLANKS,
                2,
                "it begins with a blank and "
                '"\u0430" (CYRILLIC SMALL LETTER A) stands for "a" at position 3',
            ),
            (
                "SaltMarsh",
                "saltmarsh",
                Kind.CASE,
                2,
                'the case of "S" at position 1 differs (and 1 more)',
            ),
            (
                "x\u1112\u1161\u11ab",
                "x\ud55c",
                Kind.COMPOSITION,
                3,
                '"\ud55c" at position 2 is U+1112 U+1161 U+11AB instead of U+D55C',
            ),
            # COMBINING LONG SOLIDUS OVERLAY, of combining class 1, stands on the letter before it.
            ("x\u0338ab", "x\u0338ac", Kind.EDIT, 1, '"b" instead of "c" at position 3'),
            ("tidxe", "tide", Kind.EDIT, 1, 'one character more: "x" at position 4'),
            ("tid", "tide", Kind.EDIT, 1, 'one character fewer: "e" is missing at position 4'),
            ("", "ab", Kind.EDIT, 2, '2 characters fewer: "ab" is missing at position 1'),
            ("tide-7", "tide-8", Kind.EDIT, 1, '"7" instead of "8" at position 6'),
            (
                "\u1112\u1161\u11ab-7",
                "\ud55c-7",
                Kind.COMPOSITION,
                3,
                '"\ud55c" at position 1 is U+1112 U+1161 U+11AB instead of U+D55C',
            ),
            (
                "\u1112\u1161\u11abX",
                "\ud55cx",
                Kind.CASE,
                4,
                'the case of "X" at position 2 differs and '
                '"\ud55c" at position 1 is U+1112 U+1161 U+11AB instead of U+D55C',
            ),
            (
                "dite",
                "tide",
                Kind.EDIT,
                2,
                '"d" instead of "t" at position 1, "t" instead of "d" at position 3',
            ),
            ("tdie", "tide", Kind.EDIT, 1, '"di" at position 2 is swapped'),
            (
                "xide-7",
                "tide-8",
                Kind.EDIT,
                2,
                '"x" instead of "t" at position 1, "7" instead of "8" at position 6',
            ),
            ("ti\u200bde", "tide", Kind.EDIT, 1, 'one character more: "\\u200b" at position 3'),
            (
                "Tide-7",
                "tide-8",
                Kind.EDIT,
                2,
                '"T" instead of "t" at position 1, "7" instead of "8" at position 6',
            ),
        ],
    )
    def test_says_how(
        self, given: str, wanted: str, kind: Kind, distance: int, detail: str
    ) -> None:
        assert near_miss(given, wanted) == NearMiss(kind, distance, detail)

    @pytest.mark.parametrize(("given", "wanted"), [("tide", "tide"), ("tide", "ebb-and-flow")])
    def test_equal_or_far(self, given: str, wanted: str) -> None:
        assert near_miss(given, wanted) is None

    def test_limit_is_the_farthest(self) -> None:
        # kitten, sitting: distance 3, a textbook example (common practice, no source).
        assert near_miss("kitten", "sitting", limit=2) is None
        assert missed("kitten", "sitting", limit=3).distance == 3
        assert near_miss("kitten", "sitting") is None

    def test_bad_limit(self) -> None:
        with pytest.raises(ValueError, match=r"^limit is -1; it must be at least 0$"):
            near_miss("a", "b", limit=-1)

    @pytest.mark.parametrize(("character", "prototype"), CONFUSABLES)
    def test_confusables(self, character: str, prototype: str) -> None:
        assert skeleton(character) == skeleton(prototype)
        # Between "Q" and "Z", which no character of the table resembles with these.
        assert missed(f"Q{character}Z", f"Q{prototype}Z").kind is Kind.LOOK_ALIKE
        assert missed(f"Q{prototype}Z", f"Q{character}Z").kind is Kind.LOOK_ALIKE

    def test_skeleton_of_a_word(self) -> None:
        # UTS #39, section 4: "scope" in Latin and in Cyrillic (from memory, unverified).
        assert skeleton("\u0455\u0441\u043e\u0440\u0435") == skeleton("scope")
        assert skeleton("scope") != skeleton("slope")

    @pytest.mark.parametrize(("one", "other"), CANONICAL_EQUIVALENTS)
    def test_canonical_equivalents(self, one: str, other: str) -> None:
        assert unicodedata.normalize("NFC", one) == unicodedata.normalize("NFC", other)
        assert missed(f"Q{one}Z", f"Q{other}Z").kind is Kind.COMPOSITION
        assert missed(f"Q{other}Z", f"Q{one}Z").kind is Kind.COMPOSITION

    def test_equivalent_single_characters_look_alike(self) -> None:
        # UAX #15, figure 3: KELVIN SIGN and K (from memory; equal in Python's Unicode data).
        detail = '"\u212a" (KELVIN SIGN) stands for "K" at position 1'
        assert near_miss("\u212a", "K") == NearMiss(Kind.LOOK_ALIKE, 1, detail)

    @given(text=ascii_letters)
    def test_case_alone(self, text: str) -> None:
        assert missed(text.swapcase(), text).kind is Kind.CASE

    @given(text=ascii_letters, before=st.text(" ", max_size=3), after=st.text(" ", max_size=3))
    def test_blanks_alone(self, text: str, before: str, after: str) -> None:
        assume(before or after)
        assert missed(before + text + after, text).kind is Kind.BLANKS

    @given(pair=slipped())
    def test_kind_does_not_depend_on_who_is_given(self, pair: tuple[str, str]) -> None:
        one, other = near_miss(*pair, limit=4), near_miss(pair[1], pair[0], limit=4)
        assert (one and (one.kind, one.distance)) == (other and (other.kind, other.distance))

    @given(pair=slipped(), limit=st.integers(0, 3))
    def test_none_when_equal_or_spelled_too_differently(
        self, pair: tuple[str, str], limit: int
    ) -> None:
        miss = near_miss(*pair, limit=limit)
        distance = edit_distance(*pair)
        if miss is None:
            assert distance == 0 or distance > limit
        else:
            assert miss.distance == distance > 0
            assert distance <= limit or miss.kind is not Kind.EDIT

    @given(pair=slipped())
    def test_detail_holds_nothing_unprintable(self, pair: tuple[str, str]) -> None:
        miss = near_miss(*pair, limit=4)
        assert miss is None or miss.detail.isprintable()


class TestEditDistance:
    # Textbook examples (common practice, no source); the last two are where optimal string
    # alignment differs from Levenshtein (a swap) and from Damerau-Levenshtein (2 for CA, ABC).
    @pytest.mark.parametrize(
        ("a", "b", "distance"),
        [
            ("kitten", "sitting", 3),
            ("saturday", "sunday", 3),
            ("intention", "execution", 5),
            ("flaw", "lawn", 2),
            ("", "tide", 4),
            ("ab", "ba", 1),
            ("CA", "ABC", 3),
        ],
    )
    def test_known(self, a: str, b: str, distance: int) -> None:
        assert edit_distance(a, b) == distance

    def test_triangle_fails_where_a_swap_is_edited(self) -> None:
        assert edit_distance("CA", "ABC") > edit_distance("CA", "AC") + edit_distance("AC", "ABC")

    @given(a=short_texts, b=short_texts)
    def test_symmetry(self, a: str, b: str) -> None:
        assert edit_distance(a, b) == edit_distance(b, a)

    @given(a=short_texts, b=short_texts)
    def test_identity(self, a: str, b: str) -> None:
        assert (edit_distance(a, b) == 0) == (a == b)

    @given(a=short_texts, b=short_texts)
    def test_bounds(self, a: str, b: str) -> None:
        distance = edit_distance(a, b)
        assert abs(len(a) - len(b)) <= distance <= Levenshtein.distance(a, b) <= max(len(a), len(b))

    @given(a=sorted_texts, b=sorted_texts, c=sorted_texts)
    def test_triangle_where_no_swap_can_help(self, a: str, b: str, c: str) -> None:
        assert edit_distance(a, c) <= edit_distance(a, b) + edit_distance(b, c)


class TestNearest:
    KEYS = ("serial_rate", "data_bits", "parity", "network_name", "passphrase")

    @pytest.mark.parametrize(
        ("word", "expected"),
        [
            ("Serial Rate", "serial_rate"),
            ("serial-rate", "serial_rate"),
            ("SERIALRATE", "serial_rate"),
            ("pasphrase", "passphrase"),
            ("partiy", "parity"),
            ("netwrok_name", "network_name"),
            ("colour", None),
            ("parxyz", None),
            ("passwaved", None),
            ("", None),
        ],
    )
    def test_suggests(self, word: str, expected: str | None) -> None:
        assert nearest(word, self.KEYS) == expected

    def test_limit(self) -> None:
        assert nearest("pasphrse", self.KEYS, limit=1) is None
        assert nearest("pasphrse", self.KEYS, limit=2) == "passphrase"
        assert nearest("parity", self.KEYS, limit=0) == "parity"

    def test_of_equally_near_ones_that_which_looks_alike(self) -> None:
        """UTS #39, confusables.txt: digit one and small l, digit zero and capital O."""
        gauges = [f"TG-{number:02}" for number in range(1, 40)]
        assert [nearest(word, gauges) for word in ("TG-l5", "TG-3O", "TG-x5")] == [
            "TG-15",
            "TG-30",
            "TG-05",
        ]

    def test_one_character_may_differ_in_the_shortest_word(self) -> None:
        assert nearest("ip", ["id", "note"]) == "id"
        assert nearest("ip", ["od"]) is None

    def test_a_third_of_the_word_may_differ(self) -> None:
        assert nearest("parxxy", ["parity"]) == "parity"
        assert nearest("parxy", ["parit"]) is None

    def test_nothing_to_choose_from(self) -> None:
        assert nearest("parity", []) is None

    def test_bad_limit(self) -> None:
        with pytest.raises(ValueError, match=r"^limit is -2; it must be at least 0$"):
            nearest("a", ["b"], limit=-2)

    @given(word=short_texts, candidates=st.permutations(["abc", "abd", "acb", "bb", "c"]))
    def test_order_of_candidates_does_not_matter(self, word: str, candidates: list[str]) -> None:
        assert nearest(word, candidates) == nearest(word, sorted(candidates))


class TestFragile:
    @pytest.mark.parametrize(
        ("name", "reasons"),
        [
            (NAME, ()),
            ("Tide Gauge 0Il|1", ()),
            ("", ()),
            (" tide", ("it begins with a blank",)),
            ("tide  ", ("it ends in 2 blanks",)),
            (" ", ("it ends in a blank",)),
            ("tide  gauge", ("it has 2 blanks in a row at position 5",)),
            ("tide\x07", ("it has the control character U+0007 at position 5",)),
            (
                "ti\u200bde",
                ("it has the invisible character U+200B ZERO WIDTH SPACE at position 3",),
            ),
            (
                "tide\u00a0gauge",
                ("it has the invisible character U+00A0 NO-BREAK SPACE at position 5",),
            ),
            # Unicode 15, Default_Ignorable_Code_Point: FE00 to FE0F, E0100 to E01EF
            ("a\ufdff", ()),
            (
                "a\ufe00",
                ("it has the invisible character U+FE00 VARIATION SELECTOR-1 at position 2",),
            ),
            (
                "a\ufe0f",
                ("it has the invisible character U+FE0F VARIATION SELECTOR-16 at position 2",),
            ),
            ("\u6f6e\ufe10", ()),
            (
                "a\U000e0100",
                ("it has the invisible character U+E0100 VARIATION SELECTOR-17 at position 2",),
            ),
            (
                "a\U000e01ef",
                ("it has the invisible character U+E01EF VARIATION SELECTOR-256 at position 2",),
            ),
            (
                "ti\u200b\u0301de",
                ("it has the invisible character U+200B ZERO WIDTH SPACE at position 3",),
            ),
            (
                "x\u1112\u1161\u11ab",
                ('"\ud55c" at position 2 has two encodings, U+D55C and U+1112 U+1161 U+11AB',),
            ),
            ("saltm\u0430\u0302rsh", ('"\u0430\u0302" at position 6 looks like "a"',)),
            ("\u3164", ("it has the invisible character U+3164 HANGUL FILLER at position 1",)),
            (
                "saltm\u0430rsh",
                ('"\u0430" (CYRILLIC SMALL LETTER A) at position 6 looks like "a"',),
            ),
            ("tide\u2013gauge", ('"\u2013" (EN DASH) at position 5 looks like "-"',)),
            (
                "gr\u00f6\u00dfe",
                ('"\u00f6" at position 3 has two encodings, U+00F6 and U+006F U+0308',),
            ),
            (
                "gro\u0308\u00dfe",
                ('"\u00f6" at position 3 has two encodings, U+00F6 and U+006F U+0308',),
            ),
            ("\u041c\u043e\u0440\u0435", ()),
            ("\u041c\u043e\u0440\u0435-2", ()),
            ("Wi-Fi \u041c\u043e\u0440\u0435", ()),
            ("\u6f6e\u4f4d", ()),
            (
                " m\u043ede",
                (
                    "it begins with a blank",
                    '"\u043e" (CYRILLIC SMALL LETTER O) at position 3 looks like "o"',
                ),
            ),
        ],
    )
    def test_reasons(self, name: str, reasons: tuple[str, ...]) -> None:
        assert fragile(name) == reasons

    @given(words=st.lists(st.text(string.ascii_letters + string.digits + "-_.", min_size=1)))
    def test_plain_names_are_not_fragile(self, words: list[str]) -> None:
        assert fragile(" ".join(words)) == ()

    @given(name=st.text(max_size=20))
    def test_reasons_hold_nothing_unprintable(self, name: str) -> None:
        assert all(reason.isprintable() for reason in fragile(name))

    @given(name=st.text(max_size=20))
    def test_two_encodings_are_always_told(self, name: str) -> None:
        forms = {unicodedata.normalize(form, name) for form in ("NFC", "NFD")}
        assert any("two encodings" in reason for reason in fragile(name)) == (len(forms) > 1)
