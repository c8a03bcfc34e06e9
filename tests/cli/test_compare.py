"""`auditor compare`: two files in, what drifted out."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import validate

from auditor.examples import ENVIRONMENT, clean_text
from auditor.findings import Stage
from auditor.tasks.comparison import State
from tests.cli.running import ROOT, run

FOUND = """\
label;MAC;SSID;baud;IP;password
TG-02;00:00:5e:00:53:01;saltmarsh-gauges ;9600;10.20.0.31;heron-tidal-ledger-quartz-41
TG-01;00-00-5E-00-53-02;saltmarsh-gauges;19200;10.20.0.32;plover-anchor-basalt-meadow-58
TG-03;00:00:5e:00:53:03;saltmarsh-gauges;9600;10.20.0.104;heron-tidal-ledger-quartz-41
TG-09;00:00:5e:00:53:09;saltmarsh-gauges;9600;;heron-tidal-ledger-quartz-41
"""
VALUE = {"type": ["string", "number", "boolean"]}
SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": False,
    "required": ["format", "modules"],
    "properties": {
        "format": {"const": 1},
        "modules": {
            "type": "array",
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["id", "hardware_address", "state", "changes"],
                "properties": {
                    "id": {"type": "string"},
                    "hardware_address": {"type": ["string", "null"]},
                    "state": {"enum": list(State)},
                    "changes": {
                        "type": "array",
                        "items": {
                            "type": "object",
                            "additionalProperties": False,
                            "required": ["key", "planned", "found", "breaks"],
                            "properties": {
                                "key": {"type": "string"},
                                "planned": VALUE,
                                "found": VALUE,
                                "breaks": {"enum": [*Stage, None]},
                            },
                        },
                    },
                },
            },
        },
    },
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the clean kit, and what was found of it."""
    (tmp_path / "kit.toml").write_text(clean_text(), encoding="utf-8")
    (tmp_path / "found.csv").write_text(FOUND, encoding="utf-8")
    return tmp_path


def compare(folder: Path, *options: str, found: str = "found.csv") -> Any:
    """Run the comparison of the clean kit with what was found."""
    named = () if found != "found.csv" else ("--column", "label=id")
    asked = ("compare", "kit.toml", found, *named, *options)
    return run(*asked, folder=folder, environment=ENVIRONMENT)


def test_the_text_says_what_drifted_and_fits_80_columns(folder: Path) -> None:
    done = compare(folder)
    assert (done.returncode, done.stderr) == (1, "")
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "1 same, 2 relabelled, 1 missing, 1 extra." in done.stdout
    assert 'network_name: "saltmarsh-gauges" -> "saltmarsh-gauges ",' in done.stdout
    assert "passphrase: set -> differs, breaks keys" in done.stdout
    assert "serial_rate: 9600 -> 19200, breaks serial" in done.stdout
    assert "TG-09   extra       not planned (found.csv:5, 00:00:5e:00:53:09)" in done.stdout
    assert "same: TG-03 (1)" in done.stdout


def test_the_json_is_what_was_agreed(folder: Path) -> None:
    done = compare(folder, "--format", "json")
    answer = json.loads(done.stdout)
    validate(answer, SCHEMA)
    assert (done.returncode, done.stderr) == (1, "")
    assert [(module["id"], module["state"]) for module in answer["modules"]] == [
        ("TG-01", "relabelled"),
        ("TG-02", "relabelled"),
        ("TG-03", "same"),
        ("TG-04", "missing"),
        ("TG-09", "extra"),
    ]
    assert answer["modules"][0]["changes"][1] == {
        "key": "network_name",
        "planned": "saltmarsh-gauges",
        "found": "saltmarsh-gauges ",
        "breaks": "discovery",
    }
    assert compare(folder, "--format", "json").stdout == done.stdout


def test_a_kit_beside_itself_ends_with_0(folder: Path) -> None:
    done = compare(folder, found="kit.toml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith("4 same.\n\nsame: TG-01..TG-04 (4)\n")


def test_a_report_is_written_whole_and_over_nothing(folder: Path) -> None:
    printed = compare(folder).stdout
    assert compare(folder, "--output", "drift.txt").stdout == ""
    assert (folder / "drift.txt").read_text(encoding="utf-8") == printed
    assert compare(folder, "--output", "drift.txt").returncode == 2
    assert compare(folder, "--output", "drift.txt", "--force").returncode == 1
    for name in ("kit.toml", "found.csv"):
        before = (folder / name).read_text(encoding="utf-8")
        done = compare(folder, "--output", name, "--force")
        assert done.stderr == f"{name}: is read for this report; name another file\n"
        assert (folder / name).read_text(encoding="utf-8") == before


def test_both_files_are_read_before_anything_is_said_of_them(folder: Path) -> None:
    (folder / "found.csv").write_text("id,baud\nTG-01,fast\n", encoding="utf-8")
    done = run("compare", "none.toml", "found.csv", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert [line.partition(": ")[0] for line in done.stderr.splitlines()] == [
        "none.toml",
        "found.csv:2",
    ]


def test_a_problem_with_a_header_names_the_option_that_maps_it(folder: Path) -> None:
    (folder / "plan.csv").write_text("Platine,IP\nTG-01,10.20.0.31\n", encoding="utf-8")
    asked = ("compare", "plan.csv", "plan.csv", "--column", "Platine=id", "--planned-column")
    assert run(*asked, "Platine=id", folder=folder).returncode == 0
    done = run(*asked, "Board=id", folder=folder)
    assert done.returncode == 2
    assert done.stderr.startswith('--planned-column: "Board" is not a header of the table\n')


def test_what_stands_twice_is_named_with_its_lines_and_without_a_passphrase(folder: Path) -> None:
    secret = ENVIRONMENT["GAUGE_PASSPHRASE"]
    (folder / "found.csv").write_text(f"label,baud\n{secret},1\n{secret},2\n", encoding="utf-8")
    (folder / "kit.toml").write_text(f'{clean_text()}\n[[module]]\nid = "{secret}"\n')
    done = compare(folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith('found.csv:3: label: "(a passphrase)" stands on line 2 too; ')


def test_passphrases_are_left_out_on_purpose_or_for_want_of_them(folder: Path) -> None:
    left_out = compare(folder, "--without-secrets")
    assert "passphrase:" not in left_out.stdout
    assert "Passphrases were not read: a wrong one is not found here." in left_out.stdout
    asked = ("compare", "kit.toml", "found.csv", "--column", "label=id")
    reason = "Passphrases were not all compared: environment variable GAUGE_PASSPHRASE is not set."
    assert reason in " ".join(run(*asked, folder=folder).stdout.split())
    in_json = run(*asked, "--format", "json", folder=folder)
    assert in_json.stderr == f"{reason}\n"
    validate(json.loads(in_json.stdout), SCHEMA)


@pytest.mark.parametrize("format", ["text", "json"])
def test_no_passphrase_is_shown_wherever_it_stands(folder: Path, format: str) -> None:
    secret = "plover-anchor-basalt-meadow-58"
    rows = f"id,SSID,password,profile\nTG-01,{secret},{secret},{secret}\n{secret},,,\n"
    (folder / "found.csv").write_text(rows, encoding="utf-8")
    done = run("compare", "kit.toml", "found.csv", "--format", format, folder=folder,
               environment=ENVIRONMENT)  # fmt: skip
    assert done.returncode == 1
    assert "(a passphrase)" in done.stdout
    assert "plover" not in done.stdout + done.stderr


def test_what_a_terminal_would_obey_is_shown_escaped(folder: Path) -> None:
    (folder / "found.csv").write_text("id,SSID\nTG-01,a\x1b[2J\nb\x07,c\n", encoding="utf-8")
    done = run("compare", "kit.toml", "found.csv", folder=folder, environment=ENVIRONMENT)
    assert r"a\x1b[2J" in done.stdout
    assert r"b\x07" in done.stdout
    assert not re.search(r"[\x00-\x09\x0b-\x1f]", done.stdout)


def test_a_large_kit_folds(folder: Path) -> None:
    header, plan = "id,address,serial_rate,security\n", '[kit]\nmodules = "kit.csv"\n'
    network = '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n'
    (folder / "kit.toml").write_text(plan + network, encoding="utf-8")
    for file, rate, third in (("kit.csv", 9600, 0), ("found.csv", 19200, 1)):
        rows = (f"TG-{n:04},10.{20 + third * (n % 2)}.{n // 200}.{n % 200 + 1},{rate},open\n"
                for n in range(1000))  # fmt: skip
        (folder / file).write_text(header + "".join(rows), encoding="utf-8")
    report = run("compare", "kit.toml", "found.csv", folder=folder).stdout
    assert "1000 drifted.\n" in report
    first, *_ = report.partition("planned -> found\n")[2].partition("TG-0001 ")
    assert " ".join(first.split()) == (
        "TG-0000, drifted serial_rate: 9600 -> 19200 TG-0002, TG-0004 and 497 more (500)"
    )
    assert "and 401 more; --format json has all\n" in report
    assert len(report.splitlines()) < 320


def blocks(kind: str) -> list[str]:
    """Return the fenced blocks of one kind of the page on comparing."""
    page = (ROOT / "docs" / "comparing.md").read_text(encoding="utf-8")
    return re.findall(rf"^```{kind}\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)


def test_the_page_shows_what_its_example_gives(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(blocks("toml")[0], encoding="utf-8")
    (tmp_path / "found.csv").write_text(blocks("text")[0], encoding="utf-8")
    (command,) = blocks("sh")[0].splitlines()
    done = run(*command.split()[1:], folder=tmp_path, environment=ENVIRONMENT)
    assert (done.returncode, done.stderr) == (1, "")
    assert blocks("text")[1] == done.stdout
    validate(json.loads(blocks("json")[0]), SCHEMA)
