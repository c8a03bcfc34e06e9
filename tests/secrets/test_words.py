"""What is said of a passphrase: that it differs, is weak, is empty; never what it is."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.secrets.canary import AWKWARD, KEY, OTHER, PLAIN, document, kit_of
from tests.secrets.runs import commands, formats, reads_fleet, run

WEAK = "tidegauge"
RETIRED = "retired_passphrases"


def _fleet(planned: Any, own: Any = None, **network: Any) -> dict[str, Any]:
    fleet = document(PLAIN)
    fleet["network"] |= {"passphrase": planned, **network}
    fleet["waiver"] = []
    if own is not None:
        fleet["module"][1]["passphrase"] = own
    return fleet


SAID = {
    "it differs": (
        _fleet({"env": "A"}, {"env": "B"}),
        "passphrase-differs",
        "The module derives another key than the network.",
    ),
    "only its case differs": (
        _fleet({"env": "A"}, {"env": "CASE"}),
        "passphrase-differs",
        "The module derives another key than the network: only letter case differs.",
    ),
    "it is weak": (
        _fleet({"env": "WEAK"}),
        "weak-passphrase",
        "The network's passphrase would be guessed in about ",
    ),
    "it is too short": (
        _fleet({"env": "A"}, {"env": "SHORT"}),
        "passphrase-invalid",
        "The passphrase has 4 characters; it must have 8 to 63, "
        "or be a key of exactly 64 hexadecimal digits.",
    ),
    "it is no key": (
        _fleet({"env": "A"}, {"psk": PLAIN.text}),
        "passphrase-invalid",
        "The passphrase is written as a key and is not 64 hexadecimal digits.",
    ),
    "it is empty": (_fleet({"env": "A"}, ""), "passphrase-missing", "The passphrase is empty."),
    "it is a retired one": (
        _fleet({"env": "A"}, {"env": "B"}, retired_passphrases=[{"env": "B"}]),
        "passphrase-from-last-term",
        "The passphrase is one of the retired ones.",
    ),
    "it is in the file": (
        _fleet(PLAIN.text),
        "passphrase-in-clear",
        "The passphrase stands in the file in clear.",
    ),
}
ENVIRONMENT = {
    "A": PLAIN.text,
    "B": AWKWARD.text,
    "CASE": PLAIN.text.swapcase(),
    "WEAK": WEAK,
    "SHORT": PLAIN.text[:4],
}


@pytest.mark.parametrize(("fleet", "check", "said"), SAID.values(), ids=SAID.keys())
def test_the_audit_says_how_it_is_and_not_what(
    folder: Path, fleet: dict[str, Any], check: str, said: str
) -> None:
    file = kit_of(fleet).write(folder)
    outcome = run("check", file, "--format", "json", environment=ENVIRONMENT)
    report = json.loads(outcome.stdout)
    modules = [finding for module in report["modules"] for finding in module["findings"]]
    found = [each for each in (*report["kit_findings"], *modules) if each["check"] == check]
    assert [each["message"][: len(said)] for each in found] == [said]
    allowed = {"seconds", "limit_seconds"} if check == "weak-passphrase" else set()
    assert {key for each in found for key in each["figures"]} == allowed
    assert WEAK not in outcome.everything
    assert all(each["where"][0]["file"] == "kit.toml" for each in found)


def test_equal_keys_are_equal_however_they_are_written(folder: Path) -> None:
    fleet = _fleet({"psk": KEY.text}, {"psk": KEY.text.upper()})
    file = kit_of(fleet).write(folder)
    report = json.loads(run("check", file, "--format", "json").stdout)
    assert "passphrase-differs" not in report["summary"]["by_check"]
    fleet["module"][1]["passphrase"] = {"psk": KEY.text[::-1]}
    file = kit_of(fleet).write(folder)
    report = json.loads(run("check", file, "--format", "json").stdout)
    assert report["summary"]["by_check"]["passphrase-differs"] == 1


def test_a_command_that_needs_no_passphrase_speaks_of_none(folder: Path) -> None:
    """What a kit uses of its limits has nothing to do with its passphrases."""
    assert "capacity" in filter(reads_fleet, commands())
    reports = []
    for planned in ({"env": "A"}, {"env": "WEAK"}, "", OTHER, {"psk": KEY.text}):
        file = kit_of(_fleet(planned)).write(folder)
        for format in formats("capacity"):
            outcome = run("capacity", file, "--format", format, environment=ENVIRONMENT)
            reports.append((format, outcome.stdout, outcome.stderr, outcome.status))
            assert "passphrase" not in outcome.stdout
    assert len(set(reports)) == len(formats("capacity"))


def test_secrets_that_are_left_out_are_said_to_be(folder: Path) -> None:
    file = kit_of(_fleet({"env": "A"}, {"env": "WEAK"})).write(folder)
    outcome = run("check", file, "--without-secrets", environment=ENVIRONMENT)
    assert "keys: passphrases are left out on purpose" in outcome.stdout
    assert "differs" not in outcome.stdout
    assert "weak" not in outcome.stdout


@pytest.mark.parametrize(
    ("reference", "said"),
    [
        ('{ env = "NOT_THERE" }', "environment variable NOT_THERE is not set"),
        ('{ env = "wifi2026Kx" }', "the environment variable that it names is not set"),
        ('{ file = "not-there.txt" }', "file not-there.txt is not there"),
        ('{ file = "Qz7wKx2v" }', "the file that it names is not there"),
    ],
)
def test_a_reference_is_named_where_it_cannot_be_the_secret_itself(
    folder: Path, reference: str, said: str
) -> None:
    network = '[network]\nname = "a"\nsecurity = "wpa2-personal"\n'
    text = f'{network}passphrase = {reference}\n[[module]]\nid = "TG-01"\n'
    (folder / "kit.toml").write_text(text)
    report = json.loads(run("check", "kit.toml", "--format", "json").stdout)
    reasons = [each["reason"] for each in report["not_checked"] if each["stage"] == "keys"]
    assert f"[network] passphrase: {said}" in reasons
