"""`auditor reprovision`: two files in, a list for the bench out."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import validate

from auditor.examples import ENVIRONMENT, clean_text
from auditor.tasks.reprovisioning import Kind
from tests.cli.running import ROOT, run

PAGE = (ROOT / "docs" / "reprovisioning.md").read_text(encoding="utf-8")
SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": False,
    "required": ["format", "over", "parking_moves", "rate_switches", "refused", "steps"],
    "properties": {
        "format": {"const": 1},
        "over": {"enum": ["serial", "network"]},
        "parking_moves": {"type": "integer", "minimum": 0},
        "rate_switches": {"type": "integer", "minimum": 0},
        "refused": {"type": ["string", "null"], "minLength": 1},
        "steps": {
            "type": "array",
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["step", "id", "kind", "at_rate", "changes", "why"],
                "properties": {
                    "step": {"type": "integer", "minimum": 1},
                    "id": {"type": "string"},
                    "kind": {"enum": list(Kind)},
                    "at_rate": {"type": ["integer", "null"]},
                    "changes": {
                        "type": "object",
                        "properties": {"passphrase": {"const": "set"}},
                        "additionalProperties": {"type": ["string", "number", "boolean"]},
                    },
                    "why": {"type": "string", "minLength": 1},
                },
            },
        },
    },
}


def blocks(kind: str) -> list[str]:
    """Return the fenced blocks of one kind of the page on reprovisioning."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the kit of the page, and what was found of it."""
    (tmp_path / "kit.toml").write_text(blocks("toml")[0], encoding="utf-8")
    (tmp_path / "found.csv").write_text(blocks("text")[0], encoding="utf-8")
    return tmp_path


def reprovision(folder: Path, *options: str) -> Any:
    """Run the command on the kit of the page."""
    asked = ("reprovision", "kit.toml", "found.csv", "--column", "label=id", *options)
    return run(*asked, folder=folder, environment=ENVIRONMENT)


def test_the_page_shows_what_its_example_gives(folder: Path) -> None:
    (command,) = blocks("sh")[0].splitlines()
    done = run(*command.split()[1:], folder=folder, environment=ENVIRONMENT)
    assert (done.returncode, done.stderr) == (1, "")
    assert blocks("text")[1] == done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80
    validate(json.loads(blocks("json")[0]), SCHEMA)


def test_the_json_is_what_was_agreed(folder: Path) -> None:
    done = reprovision(folder, "--format", "json")
    answer = json.loads(done.stdout)
    validate(answer, SCHEMA)
    assert (done.returncode, done.stderr) == (1, "")
    assert [each["step"] for each in answer["steps"]] == list(range(1, 12))
    assert {key: answer[key] for key in SCHEMA["required"][:-1]} == {
        "format": 1,
        "over": "serial",
        "parking_moves": 1,
        "rate_switches": 3,
        "refused": None,
    }
    assert answer["steps"][6] == {
        "step": 7,
        "id": "TG-01",
        "kind": "park",
        "at_rate": 9600,
        "changes": {"address": "10.20.0.30"},
        "why": "It stands aside so that 10.20.0.32 is free for TG-02.",
    }
    assert reprovision(folder, "--format", "json").stdout == done.stdout


def test_over_the_network_whoever_is_not_on_it_is_left_over(folder: Path) -> None:
    answer = json.loads(reprovision(folder, "--over", "network", "--format", "json").stdout)
    validate(answer, SCHEMA)
    assert answer["over"] == "network"
    assert {step["at_rate"] for step in answer["steps"]} == {None}
    assert answer["refused"] == (
        "TG-03: is not on the network today: it differs in passphrase; set it --over serial; "
        "TG-04: its address 10.20.0.34 is held by TG-03, which cannot leave it"
    )
    text = reprovision(folder, "--over", "network").stdout
    assert "Over the network: 4 modules, 7 steps, 1 parking move." in text
    assert "unplug" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_where_nothing_can_be_done_it_says_so_and_ends_with_1(folder: Path) -> None:
    rows = "id,SSID\nTG-01,other\nTG-02,other\n"
    (folder / "found.csv").write_text(rows, encoding="utf-8")
    asked = ("reprovision", "kit.toml", "found.csv", "--over", "network")
    done = run(*asked, folder=folder, environment=ENVIRONMENT)
    assert done.returncode == 1
    assert "\nNothing that can be done in this run.\n\nNot in this run:\n  TG-01, TG-02: is " in (
        done.stdout
    )


def test_a_kit_beside_itself_ends_with_0(folder: Path) -> None:
    (folder / "kit.toml").write_text(clean_text(), encoding="utf-8")
    done = run("reprovision", "kit.toml", "kit.toml", folder=folder, environment=ENVIRONMENT)
    assert (done.returncode, done.stderr) == (0, "")
    assert "\nNothing to do.\n\nas planned: TG-01..TG-04 (4)\n" in done.stdout


def test_a_report_is_written_whole_and_over_nothing(folder: Path) -> None:
    printed = reprovision(folder).stdout
    assert reprovision(folder, "--output", "list.txt").stdout == ""
    assert (folder / "list.txt").read_text(encoding="utf-8") == printed
    assert reprovision(folder, "--output", "list.txt").returncode == 2
    assert reprovision(folder, "--output", "list.txt", "--force").returncode == 1
    for name in ("kit.toml", "found.csv"):
        done = reprovision(folder, "--output", name, "--force")
        assert done.stderr == f"{name}: is read for this report; name another file\n"


def test_both_files_are_read_before_anything_is_said_of_them(folder: Path) -> None:
    (folder / "found.csv").write_text("id,baud\nTG-01,fast\n", encoding="utf-8")
    done = run("reprovision", "none.toml", "found.csv", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    files = [line.partition(": ")[0] for line in done.stderr.splitlines()]
    assert files == ["none.toml", "found.csv:2"]


def test_passphrases_are_left_out_on_purpose_or_for_want_of_them(folder: Path) -> None:
    left_out = reprovision(folder, "--without-secrets").stdout
    assert "set passphrase" not in left_out
    assert "Passphrases were not read: a wrong one is not found here." in left_out
    asked = ("reprovision", "kit.toml", "found.csv", "--column", "label=id", "--format", "json")
    done = run(*asked, folder=folder)
    assert done.stderr.startswith("Passphrases were not all compared: environment variable GAUGE")
    validate(json.loads(done.stdout), SCHEMA)


def test_what_a_terminal_would_obey_is_shown_escaped(folder: Path) -> None:
    (folder / "kit.toml").write_text('[[module]]\nid = "\\u001b[2J"\nserial_rate = 9600\n')
    (folder / "found.csv").write_text("id,baud\n\x1b[2J,4800\nb\x07,9600\n", encoding="utf-8")
    done = run("reprovision", "kit.toml", "found.csv", folder=folder, environment=ENVIRONMENT)
    assert r"\x1b[2J" in done.stdout
    assert r"b\x07" in done.stdout
    assert not re.search(r"[\x00-\x09\x0b-\x1f]", done.stdout)


def test_a_large_kit_folds(folder: Path) -> None:
    header, size = "id,address,serial_rate\n", 1000
    network = '[network.ipv4]\nsubnet = "10.20.0.0/16"\n'
    (folder / "kit.toml").write_text(f'[kit]\nmodules = "kit.csv"\n{network}', encoding="utf-8")
    for file, shift in (("kit.csv", 0), ("found.csv", 1)):
        numbers = ((n + shift) % size for n in range(size))
        rows = (f"TG-{n:04},10.20.{at // 200}.{at % 200 + 1},9600\n"
                for n, at in enumerate(numbers))  # fmt: skip
        (folder / file).write_text(header + "".join(rows), encoding="utf-8")
    text = run("reprovision", "kit.toml", "found.csv", folder=folder).stdout
    assert "1000 modules, 2001 steps, 1 parking move, 0 rate switches." in text
    assert text.count("\n") < 220
    assert "\nand 1802 steps more; --format json has all\n" in text
