"""Inputs that once broke something, each as small as it may be."""

from pathlib import Path

import pytest

from tests.hostile.attempts import Attempt, broken, outcome_of
from tests.hostile.kinds import CLEAN

MODULE = '[[module]]\nid = "TG-01"\n'
SECRET = "x" * 3000
LONG = "x" * 100_000

CASES: dict[str, tuple[str, str, str]] = {
    "digits, for which a pattern tried every division": (
        "kit.toml",
        f'[serial]\nrate = "{"1" * 100_000} x y"\n{MODULE}',
        "kit.toml:2: rate: has 100004 characters; no value here is so long",
    ),
    "a key of many words, for which a pattern tried every reading": (
        "kit.toml",
        f'"{"aa " * 40}9" = 1\n{MODULE}',
        "kit.toml:1: holds a key that is not known",
    ),
    "a number that cannot be written out": (
        "kit.toml",
        f"[serial]\nrate = 0x{'f' * 5000}\n{MODULE}",
        "kit.toml:2: rate: is far out of range",
    ),
    "a number in a list that cannot be written out": (
        "kit.toml",
        f"[network]\nband = [\n1,\n0x{'f' * 5000}]\n{MODULE}",
        "kit.toml:4: band: is far out of range",
    ),
    "a number of more digits than the interpreter reads": (
        "kit.toml",
        f"[serial]\nrate = {'9' * 5000}\n{MODULE}",
        "kit.toml:2: rate: is far out of range",
    ),
    "a netmask of more digits than the interpreter reads": (
        "kit.toml",
        f'[defaults]\nnetmask = "{"1" * 5000}"\n{MODULE}',
        "kit.toml:2: netmask: has 5000 characters",
    ),
    "nothing but separators": ("kit.csv", ",", "kit.csv:1: no header is known"),
    "nothing but quotes": ("kit.csv", '""\n""\n', "kit.csv:1: no header is known"),
    "a long passphrase in a longer note": (
        "kit.toml",
        f'[network]\nname = "{LONG}"\nsecurity = "wpa2-personal"\npassphrase = "{SECRET}"\n'
        f'{MODULE}network_name = "{LONG}"\n',
        "",
    ),
    "a passphrase in a long word": (
        "kit.toml",
        f'[network]\nname = "a"\nsecurity = "wpa2-personal"\npassphrase = "heron-tidal"\n'
        f'{MODULE}network_name = "{"y" * 100_000} heron-tidal"\n',
        "",
    ),
    "a policy of the user's own that is not there": (
        "kit.toml",
        f'[kit]\npolicy = "./none.toml"\n{MODULE}',
        'kit.toml:2: policy: "./none.toml": there is no such file',
    ),
    "a lease of no time": (
        "kit.toml",
        f'[network.ipv4]\nlease_time = "0 s"\n{MODULE}',
        'kit.toml:2: lease_time: "0 s" is zero, and this takes some time; write it like "8 h"',
    ),
    "messages without a pause": (
        "kit.toml",
        f'[traffic]\nmessage_interval = "0.0001 us"\n{MODULE}',
        "kit.toml:2: message_interval: ",
    ),
    "beacons without a pause": (
        "kit.toml",
        f'[network]\nbeacon_interval = "0 ms"\n{MODULE}',
        'kit.toml:2: beacon_interval: "0 ms" is zero',
    ),
}


@pytest.mark.parametrize(("name", "text", "said"), CASES.values(), ids=CASES.keys())
@pytest.mark.parametrize("command", ["check", "capacity"])
def test_it_ends_in_order(tmp_path: Path, command: str, name: str, text: str, said: str) -> None:
    attempt = Attempt((command, name), {name: text.encode()})
    outcome = outcome_of(attempt, tmp_path)
    assert broken(attempt, outcome, tmp_path) == []
    assert outcome.stderr.startswith(said)
    assert outcome.status == 2 if said else outcome.status in (0, 1)
    assert outcome.seconds < 5


UNITS = {
    "[serial]\nrate": "9600 Bd",
    "[traffic]\nmessage_bytes": "24 bytes",
    "[traffic]\nmessage_interval": "2 s",
    "[network]\nbeacon_interval": "102.4 ms",
    "[network.ipv4]\nlease_time": "8 h",
    "[controller]\nlongest_gap": "20 ms",
    "[controller]\nclock": "8 MHz",
    "[supply]\ncapacitance": "100 µF",
    "[supply]\ncurrent_limit": "300 mA",
    "[traffic]\nport": "4010",
    "[network]\nchannel": "6",
    "[defaults]\ndata_bits": "8",
}


@pytest.mark.parametrize(("key", "example"), UNITS.items(), ids=UNITS.values())
def test_the_example_in_a_problem_is_one_for_that_key(
    tmp_path: Path, key: str, example: str
) -> None:
    lines = f'{key} = "much"\n{MODULE}'
    outcome = outcome_of(Attempt(("check", "kit.toml"), {"kit.toml": lines.encode()}), tmp_path)
    assert outcome.stderr.endswith(f'write it like "{example}"\n')
    again = f'{key} = "{example}"\n{MODULE}'
    fits = outcome_of(Attempt(("check", "kit.toml"), {"kit.toml": again.encode()}), tmp_path)
    assert fits.status in (0, 1), fits.stderr


def test_the_clean_kit_is_one(tmp_path: Path) -> None:
    attempt = Attempt(("check", "kit.toml"), {"kit.toml": CLEAN.encode()})
    assert outcome_of(attempt, tmp_path).status == 0
