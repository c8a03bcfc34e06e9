"""A passphrase of the kit that stands somewhere else too, in whatever spelling, is masked."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from auditor.compute.keys import derived_key
from tests.policy import THRESHOLDS
from tests.secrets.canary import (
    AWKWARD,
    CANARIES,
    KEY,
    NETWORK_NAME,
    PLAIN,
    Canary,
    Kit,
    document,
    kit_of,
    misplaced,
    quoted,
)
from tests.secrets.forms import leaks
from tests.secrets.runs import lines, run, runs_of

LONGEST = CANARIES["as long as it may be"]
POLICY = "title = {title}\nabout = {title}\n" + THRESHOLDS + "[severities]\n{severity}\n"
PROFILE = 'title = {title}\nsecurity = ["wep-40"]\nsources = [{title}]\n{more}\n'


def assert_silent(kit: Kit, folder: Path, canary: Canary) -> None:
    """Assert that no command says anything of a canary."""
    for outcome in runs_of(kit, folder):
        assert outcome.everything.strip()
        assert "fault of the auditor" not in outcome.everything
        assert leaks(outcome.everything, canary.text) == set(), outcome.everything


def _spelled() -> Iterator[tuple[str, Canary, str]]:
    """Give a secret, and another spelling of it that is as good."""
    yield "the key in capitals", KEY, KEY.text.upper()
    yield "the key in small letters", CANARIES["key in capitals"], KEY.text
    yield "the passphrase in capitals", PLAIN, PLAIN.text.upper()
    yield "the key that it derives", PLAIN, derived_key(PLAIN.text, NETWORK_NAME).hex()
    for bits in ("wep-40", "wep-104"):
        characters, digits = CANARIES[bits], CANARIES[f"{bits} in digits"]
        yield f"{bits} as digits", characters, characters.text.encode().hex()
        yield f"{bits} as digits in capitals", characters, characters.text.encode().hex().upper()
        yield f"{bits} in capitals", digits, digits.text.upper()
    as_digits = CANARIES["wep-40"].text.encode().hex()
    yield "wep-40 as characters", Canary(as_digits, "wep-40"), CANARIES["wep-40"].text


@pytest.mark.parametrize(
    ("canary", "spelled"), [pytest.param(c, s, id=n) for n, c, s in _spelled()]
)
@pytest.mark.parametrize("around", ["{}", "the {}, again", "{}-gauges"])
def test_in_another_spelling(folder: Path, canary: Canary, spelled: str, around: str) -> None:
    kit = misplaced(canary, ("module", 1, "network_name"), around.format(spelled)[:32])
    if len(around.format(spelled)) > 32:
        kit = misplaced(canary, ("module", 1, "id"), around.format(spelled))
    assert_silent(kit, folder, canary)


TEXTS: tuple[tuple[str | int, ...], ...] = (
    ("kit", "name"),
    ("kit", "profile"),
    ("kit", "region"),
    ("kit", "policy"),
    ("kit", "modules"),
    ("module", 0, "id"),
    ("module", 0, "profile"),
    ("module", 0, "network_name"),
    ("network", "host", 0, "name"),
    ("session", 0, "name"),
    ("session", 0, "modules"),
    ("waiver", 0, "check"),
    ("waiver", 0, "reason"),
    ("traffic", "talkers"),
)


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: ".".join(map(str, path)))
@pytest.mark.parametrize(
    ("around", "canary"),
    [
        ("x {} y", AWKWARD),
        ("{}.toml", PLAIN),
        ("x" * 30 + "{}", LONGEST),
        ("{}" + "-x" * 30, LONGEST),
    ],
    ids=["among words", "a file", "cut off", "cut within"],
)
def test_within_a_longer_text(
    folder: Path, path: tuple[str | int, ...], around: str, canary: Canary
) -> None:
    assert_silent(misplaced(canary, path, around.format(canary.text)), folder, canary)


def test_as_a_number_in_a_sentence(folder: Path) -> None:
    """A figure of its own stays: a count of stations is no passphrase, whatever its digits."""
    canary = Canary("12345679")
    assert_silent(misplaced(canary, ("defaults", "serial_rate"), 12345679), folder, canary)


@pytest.mark.parametrize("canary", [AWKWARD, PLAIN], ids=["awkward", "plain"])
def test_in_a_policy_and_a_profile(folder: Path, canary: Canary) -> None:
    title = quoted(canary.text)
    for severity in ("", f'{title} = "fault"', f"passphrase-differs = {title}"):
        fleet = document(canary)
        fleet["kit"] |= {"policy": "./ours.toml", "profile": "./board.toml"}
        for more in ("", f"{title} = 1", f"[channels]\n{title} = [1]", f"bands = [{title}]"):
            files = {
                **kit_of(fleet).files,
                "ours.toml": POLICY.format(title=title, severity=severity),
                "board.toml": PROFILE.format(title=title, more=more),
            }
            assert_silent(Kit(files), folder, canary)


def test_in_the_name_of_a_file(folder: Path) -> None:
    for ending in ("toml", "csv"):
        name = f"{PLAIN.text}.{ending}"
        text = kit_of(document(PLAIN)).files["kit.toml"]
        if ending == "csv":
            text = f"id,password\nTG-01,{PLAIN.text}\nTG-01,{PLAIN.text}\n"
        assert_silent(Kit({name: text}, fleet=name), folder, PLAIN)


OPTIONS = (
    ("--policy", "{}"),
    ("--policy", "./{}"),
    ("--only", "{}"),
    ("--column", "{}"),
    ("--column", "{}=id"),
    ("--column", "id={}"),
    ("--format", "{}"),
    ("--format={}",),
    ("--fail-on", "{}"),
    ("--{}",),
    ("{}",),
)


@pytest.mark.parametrize("options", OPTIONS, ids=" ".join)
@pytest.mark.parametrize("canary", [AWKWARD, PLAIN], ids=["awkward", "plain"])
def test_in_an_option(folder: Path, canary: Canary, options: tuple[str, ...]) -> None:
    given = [option.format(canary.text) for option in options]
    for line in lines(kit_of(document(canary)).write(folder)):
        outcome = run(*line, *given)
        assert "fault of the auditor" not in outcome.everything
        assert outcome.status == 2 or options[0] == "--column"  # no table, no header to map
        assert leaks(outcome.everything, canary.text) == set(), outcome.everything


@pytest.mark.parametrize("canary", [AWKWARD, PLAIN], ids=["awkward", "plain"])
def test_in_place_of_a_word(folder: Path, canary: Canary) -> None:
    asked = ("uart", "--clock", "8 MHz", "--rate", "9600")
    for arguments in (
        (canary.text,),
        (f"--{canary.text}",),
        ("explain", canary.text),
        ("checks", canary.text),
        ("checks", "--format", canary.text),
        *((*asked, option, canary.text) for option in ("--rule", "--bits", "--parity", "--clock")),
    ):
        outcome = run(*arguments)
        assert (outcome.status, outcome.stdout) == (2, "")
        assert outcome.stderr
        assert leaks(outcome.everything, canary.text) == set(), outcome.everything
