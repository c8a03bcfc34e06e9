"""Guesses against zxcvbn's own figures, and times against published rates."""

from math import isclose, log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.compute.strength import GUESS_RATE_PER_S, attack_time_s, guesses, search_space

MINUTE_S = 60
HOUR_S = 60 * MINUTE_S
DAY_S = 24 * HOUR_S
YEAR_S = 365.25 * DAY_S

# zxcvbn (Python) 4.5.0, and zxcvbn (npm) 4.4.2 with the same figures.
ZXCVBN_GUESSES = {
    "password": 3,
    "12345678": 4,
    "87654321": 7,
    "qwertyuiop": 23,
    "abcdefgh": 33,
    "zxcvbn": 58,
    "aaaaaaaa": 97,
    "password1": 190,
    "viking": 244,
    "1qaz2wsx3edc": 1001,
    "letmein123": 15_000,
    "fieldcentre": 241_544,
    "ScoRpi0ns": 289_664,
    "temppass22": 387_500,
    "D0g..................": 442_000,
    "Tr0ub4dour&3": 19_058_000,
    "Xq7$kP2w": 100_000_001,
    "do you know": 1_000_010_000,
    "eheuczkqyq": 10_000_000_001,
    "briansmith4mayor": 15_100_000_000,
    "FieldCentre2019!": 277_952_800_000,
    "kX9vQ2mT7rLp": 1_000_000_000_001,
    "tide-gauge-2024": 32_992_000_000_000,
    "correcthorsebatterystaple": 273_500_327_700_640,
    "r7GhW2kQz9TbLm4V": 10_000_000_000_000_001,
    "rWibMFACxAUGZmxhVncy": 100_000_000_000_000_000_001,
    "purple monkey dishwasher spanner": 438_507_328_060_000_000_000,
    "coRrecth0rseba++ery9.23.2007staple$": 515_056_266_510_630_400_000,
    # The two differ here: dates are reckoned from 2017 in Python, from this year in JavaScript.
    "neverforget13/3/1997": 3_424_420_000,
}

# Alphabet, length; bits; time at 14 251, 570 300 and 2 533 300 guesses per second (published
# hashcat rates of mode 22000). Spaces and times are our own arithmetic, of no published table.
SEARCHES = {
    "8 digits": (10, 8, 26.58, (1.949 * HOUR_S, 2.922 * MINUTE_S, 39.47)),
    "10 digits": (10, 10, 33.22, (8.122 * DAY_S, 4.871 * HOUR_S, 1.097 * HOUR_S)),
    "8 of a-z": (26, 8, 37.60, (169.6 * DAY_S, 4.238 * DAY_S, 22.9 * HOUR_S)),
    "10 of a-z": (26, 10, 47.00, (313.9 * YEAR_S, 7.844 * YEAR_S, 1.766 * YEAR_S)),
    "8 of 62": (62, 8, 47.63, (485.5 * YEAR_S, 12.13 * YEAR_S, 2.731 * YEAR_S)),
    "8 of 95": (95, 8, 52.56, (1.475e4 * YEAR_S, 368.6 * YEAR_S, 82.98 * YEAR_S)),
    "4 words": (7776, 4, 51.70, (8130 * YEAR_S, 203.2 * YEAR_S, 45.73 * YEAR_S)),
    "5 words": (7776, 5, 64.62, (6.322e7 * YEAR_S, 1.580e6 * YEAR_S, 3.556e5 * YEAR_S)),
    "6 words": (7776, 6, 77.55, (4.916e11 * YEAR_S, 1.228e10 * YEAR_S, 2.765e9 * YEAR_S)),
    "12 of 62": (62, 12, 71.45, (7.174e9 * YEAR_S, 1.793e8 * YEAR_S, 4.036e7 * YEAR_S)),
}

passphrases = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=8, max_size=63)


class TestGuesses:
    @pytest.mark.parametrize(("passphrase", "expected"), ZXCVBN_GUESSES.items())
    def test_zxcvbn(self, passphrase: str, expected: int) -> None:
        assert guesses(passphrase) == expected

    def test_published_with_own_words(self) -> None:
        # README of the Python package zxcvbn: user words John, Smith.
        assert guesses("JohnSmith123", ["John", "Smith"]) == 2_567_800

    # Own words count as a dictionary of their own, from rank 1: the whole word is guess 1 + 1
    # (zxcvbn 4.5.0, scoring: the guesses of one match, and 1).
    @pytest.mark.parametrize("words", [["saltmarsh-gauges"], ["Saltmarsh-Gauges", "Field Centre"]])
    def test_network_name_is_the_first_guess(self, words: list[str]) -> None:
        assert guesses("saltmarsh-gauges", words) == 2

    # A whole entry of the dictionary: its rank (4), in capitals 2 times as many, and 1.
    @pytest.mark.parametrize(
        ("passphrase", "word", "expected"),
        [
            ("saltmarshgauges", "saltmarsh-gauges", 5),
            ("SALTMARSHGAUGES", "Saltmarsh gauges", 9),
            ("fieldcentre", "Field Centre", 5),
        ],
    )
    def test_parts_run_together(self, passphrase: str, word: str, expected: int) -> None:
        assert guesses(passphrase, [word]) == expected

    def test_parts_count(self) -> None:
        assert guesses("gauges-saltmarsh", ["saltmarsh_gauges"]) * 1000 < guesses(
            "gauges-saltmarsh"
        )

    def test_words_of_one_call_do_not_reach_the_next(self) -> None:
        alone = guesses("saltmarsh-gauges")
        guesses("saltmarsh-gauges", ["saltmarsh-gauges"])
        assert guesses("saltmarsh-gauges") == alone

    def test_words_without_letters_are_no_words(self) -> None:
        assert guesses("fieldcentre", ["", " ", "--"]) == 241_544  # zxcvbn 4.5.0, as above

    def test_beyond_72_characters(self) -> None:
        # zxcvbn 4.5.0 refuses more than 72.
        start = "r7GhW2kQz9TbLm4V" * 4 + "kX9vQ2mT"
        assert len(start) == 72
        assert guesses(start + "7rLp") == guesses(start) > guesses(start[:-1])

    def test_empty(self) -> None:
        # zxcvbn, scoring: the empty sequence is 1 guess.
        assert guesses("") == 1

    @settings(deadline=None)
    @given(text=st.text(max_size=100), words=st.lists(st.text(max_size=12), max_size=3))
    def test_every_text_has_an_estimate(self, text: str, words: list[str]) -> None:
        assert guesses(text, words) >= 1

    @settings(deadline=None)
    @given(passphrase=passphrases)
    def test_own_words_never_help_the_passphrase(self, passphrase: str) -> None:
        assert guesses(passphrase, [passphrase]) <= guesses(passphrase)


class TestTimes:
    def test_rate(self) -> None:
        # hashcat 6.2.6 on a GeForce RTX 4090, mode 22000, list by Chick3nman: 2533.3 kH/s.
        assert GUESS_RATE_PER_S == 2533.3e3

    def test_published_times(self) -> None:
        # README of the Python package zxcvbn: 256.78 s at 10^4 per second.
        assert isclose(attack_time_s(2_567_800, rate=1e4), 256.78)
        # Notes of a home server: 8 digits at 570.3 kH/s take 2.92 minutes.
        eight_digits = search_space(10, 8)
        assert isclose(attack_time_s(eight_digits, 570.3e3), 2.92 * MINUTE_S, rel_tol=2e-3)

    @pytest.mark.parametrize(
        ("alphabet", "length", "bits", "times"), SEARCHES.values(), ids=SEARCHES
    )
    def test_searches(
        self, alphabet: int, length: int, bits: float, times: tuple[float, float, float]
    ) -> None:
        space = search_space(alphabet, length)
        assert isclose(log2(space), bits, abs_tol=0.005)
        for rate, time_s in zip((14_251, 570_300, 2_533_300), times, strict=True):
            assert isclose(attack_time_s(space, rate), time_s, rel_tol=5e-4)
        assert attack_time_s(space) == attack_time_s(space, 2_533_300)

    def test_published_bits(self) -> None:
        # Question-and-answer page "Recommend length for Wi-Fi PSK": 95 and 71 bits.
        assert int(log2(search_space(62, 16))) == 95
        assert int(log2(search_space(62, 12))) == 71

    def test_no_guess_takes_no_time_and_a_slow_rate_counts(self) -> None:
        assert attack_time_s(0) == 0
        assert attack_time_s(3, rate=0.5) == 6

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((-1, 1), "guesses is -1; it must be at least 0"),
            ((1, 0), "rate is 0; it must be above 0"),
            ((1, -1), "rate is -1; it must be above 0"),
        ],
    )
    def test_bad_time(self, arguments: tuple[int, int], message: str) -> None:
        with pytest.raises(ValueError, match=f"^{message}$"):
            attack_time_s(*arguments)

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((0, 8), "alphabet_size is 0; it must be at least 1"),
            ((10, -1), "length is -1; it must be at least 0"),
        ],
    )
    def test_bad_space(self, arguments: tuple[int, int], message: str) -> None:
        with pytest.raises(ValueError, match=f"^{message}$"):
            search_space(*arguments)

    @given(alphabet=st.integers(1, 10_000), length=st.integers(0, 40), more=st.integers(0, 10))
    def test_lengths_add_up(self, alphabet: int, length: int, more: int) -> None:
        whole = search_space(alphabet, length + more)
        assert whole == search_space(alphabet, length) * search_space(alphabet, more)
