"""Whatever a command is given, it ends in order: the promise, kind by kind."""

from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hostile.attempts import Attempt, Outcome, broken, outcome_of, raw_characters
from tests.hostile.kinds import CLEAN, KINDS

EXAMPLES = {"sizes": 10, "nesting": 15, "arguments": 60}
USUAL_EXAMPLES = 45
"""Together with the kinds about a minute; `python -m tests.fuzz` makes as many as one likes."""


@pytest.mark.parametrize("kind", KINDS)
def test_every_command_ends_in_order(kind: str) -> None:
    @settings(max_examples=EXAMPLES.get(kind, USUAL_EXAMPLES))
    @given(st.integers(0, 10**9))
    def holds(seed: int) -> None:
        attempt = KINDS[kind](Random(seed))
        with TemporaryDirectory() as folder:
            outcome = outcome_of(attempt, Path(folder))
            assert broken(attempt, outcome, Path(folder)) == [], (kind, seed, attempt.arguments)

    holds()


@pytest.mark.parametrize(
    ("outcome", "said"),
    [
        (Outcome(120, "", "x", 0.1), "ended with 120"),
        (Outcome(2, "", "", 0.1), "ended with 2 and said on standard error ''"),
        (Outcome(0, "fine", "but", 0.1), "ended with 0 and said on standard error 'but'"),
        (Outcome(2, "half a report", "x", 0.1), "said something on standard output"),
        (Outcome(2, "", "a\n\nb", 0.1), "a problem takes more than one line"),
        (Outcome(2, "", "Traceback (most recent call last):", 0.1), "broke: Traceback"),
        (Outcome(0, "\x1b[31m", "", 0.1), "standard output has U+001B"),
        (Outcome(2, "", "\u202e", 0.1), "standard error has U+202E"),
    ],
)
def test_what_is_not_in_order_is_noticed(tmp_path: Path, outcome: Outcome, said: str) -> None:
    found = broken(Attempt(("check", "kit.toml")), outcome, tmp_path)
    assert any(each.startswith(said) for each in found), found


def test_a_file_that_nobody_asked_for_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "report.out").write_text("asked for")
    (tmp_path / "rest.partial").write_text("not asked for")
    asked = Attempt(("check", "kit.toml", "--output", "report.out"))
    assert broken(asked, Outcome(0, "", "", 0.1), tmp_path) == ["wrote 'rest.partial'"]


def test_an_ordinary_report_is_in_order(tmp_path: Path) -> None:
    attempt = Attempt(("check", "kit.toml", "--output", "report.out"), {"kit.toml": CLEAN.encode()})
    outcome = outcome_of(attempt, tmp_path)
    assert (outcome.status, broken(attempt, outcome, tmp_path)) == (0, [])


def test_raw_characters_are_those_that_a_terminal_obeys_or_hides() -> None:
    """Unicode 15, general categories Cc, Cf, Cs, Co, Zl and Zp."""
    assert raw_characters("Küste 潮 🌊\r\n") == []
    assert raw_characters("a\rb\x85\u2028\ufeff\ue000") == [
        "\r",
        "\x85",
        "\u2028",
        "\ue000",
        "\ufeff",
    ]
