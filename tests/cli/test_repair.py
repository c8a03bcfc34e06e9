"""`auditor repair`: a faulty kit in, a mended one out, and whole files or none."""

import json
import re
import stat
import subprocess
from pathlib import Path
from typing import Any

import pytest
from jsonschema import validate

from auditor.checks import CHECKS
from auditor.examples import ENVIRONMENT, clean_text, spoiled_text
from tests.cli.running import ROOT, run

FAULTY = """\
[[module]]
id = "TG-02"
serial_rate = 19200  # of last term
address = "10.20.0.31"
[module.supply]
common_ground = false
"""
TABLE = "\ufeffid;IP;baud\r\nTG-07;10.20.0.37;4800\r\nTG-08;10.20.0.38;\r\n"
VALUE = {"type": ["string", "number", "boolean", "null"]}
CHANGE: dict[str, Any] = {
    "type": "object",
    "required": ["key", "from", "to", "check"],
    "properties": {"key": {"type": "string"}, "from": VALUE, "to": VALUE},
    "oneOf": [
        {
            "required": ["id"],
            "properties": {"id": {"type": "string"}, "check": {"enum": list(CHECKS)}},
        },
        {
            "required": ["kit"],
            "properties": {"kit": {"type": "string"}, "check": {"type": "null"}},
        },
    ],
    "propertyNames": {"enum": ["id", "kit", "key", "from", "to", "check"]},
}
SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": False,
    "required": ["format", "changes", "left"],
    "properties": {
        "format": {"const": 1},
        "changes": {"type": "array", "items": CHANGE},
        "left": {
            "type": "array",
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["id", "check", "why"],
                "properties": {
                    "id": {"type": ["string", "null"]},
                    "check": {"enum": list(CHECKS)},
                    "why": {"type": "string", "minLength": 1},
                },
            },
        },
    },
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a kit in which something is wrong."""
    (tmp_path / "kit.toml").write_text(spoiled_text(FAULTY), encoding="utf-8", newline="")
    return tmp_path


@pytest.fixture
def tabled(folder: Path) -> Path:
    """A folder with a kit whose table is wrong too."""
    text = clean_text().replace("format = 1\n", 'format = 1\nmodules = "kit.csv"  # the boards\n')
    (folder / "kit.toml").write_text(text, encoding="utf-8", newline="")
    (folder / "kit.csv").write_text(TABLE, encoding="utf-8", newline="")
    return folder


def repair(folder: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Run the repair of the kit in a folder."""
    return run("repair", "kit.toml", *options, folder=folder, environment=ENVIRONMENT)


def test_without_a_new_file_it_says_what_it_would_change(folder: Path) -> None:
    done = repair(folder)
    assert (done.returncode, done.stderr) == (1, "")
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "TG-02  serial_rate: 19200 -> 9600 (inherited)" in done.stdout
    assert re.search(r"address: 10\.20\.0\.31 -> 10\.20\.0\.\d+ +duplicate-static", done.stdout)
    assert "TG-02  no-common-ground" in done.stdout
    assert "Nothing is written: name a new file with --output NEW." in done.stdout
    assert [path.name for path in folder.iterdir()] == ["kit.toml"]


def test_the_new_file_differs_in_the_changes_alone(folder: Path) -> None:
    before = (folder / "kit.toml").read_text(encoding="utf-8")
    done = repair(folder, "--output", "new.toml")
    assert (done.returncode, done.stderr) == (1, "")
    assert "Written: new.toml.\n" in done.stdout
    (address,) = re.findall(r"address: 10\.20\.0\.31 -> (\S+)", done.stdout)
    expected = before.replace("serial_rate = 19200  # of last term", "# of last term")
    first, second = expected.split('id = "TG-02"')
    expected = first + 'id = "TG-02"' + second.replace("10.20.0.31", address)
    assert (folder / "new.toml").read_text(encoding="utf-8") == expected
    assert (folder / "kit.toml").read_text(encoding="utf-8") == before


def test_the_new_file_has_only_what_was_said_to_be_left(folder: Path) -> None:
    left = json.loads(repair(folder, "--output", "new.toml", "--format", "json").stdout)["left"]
    report = run("check", "new.toml", "--format", "json", folder=folder, environment=ENVIRONMENT)
    by_check = json.loads(report.stdout)["summary"]["by_check"]
    grave = {check for check in by_check if CHECKS[check].severity != "advice"}
    assert grave == {each["check"] for each in left} == {"no-common-ground"}


def test_the_json_is_what_was_agreed(tabled: Path) -> None:
    done = repair(tabled, "--output", "new.toml", "--format", "json")
    assert (done.returncode, done.stderr) == (0, "")
    answer = json.loads(done.stdout)
    validate(answer, SCHEMA)
    assert answer == {
        "format": 1,
        "changes": [
            {
                "kit": "Tide gauges, spring term",
                "key": "kit.modules",
                "from": "kit.csv",
                "to": "new.csv",
                "check": None,
            },
            {
                "id": "TG-07",
                "key": "serial_rate",
                "from": 4800,
                "to": 9600,
                "check": "serial-rate-differs",
            },
        ],
        "left": [],
    }
    assert repair(tabled, "--format", "json").stdout == repair(tabled, "--format", "json").stdout


def test_a_table_keeps_its_bytes_and_gets_a_name_of_its_own(tabled: Path) -> None:
    fleet = (tabled / "kit.toml").read_bytes()
    assert repair(tabled, "--output", "new.toml").returncode == 0
    assert (tabled / "new.csv").read_bytes() == TABLE.replace("4800", "").encode()
    assert (tabled / "kit.csv").read_bytes() == TABLE.encode()
    assert (tabled / "new.toml").read_bytes() == fleet.replace(b'"kit.csv"', b'"new.csv"')
    again = run("repair", "new.toml", folder=tabled, environment=ENVIRONMENT)
    assert again.stdout == "Tide gauges, spring term: 6 modules, nothing to change, nothing left.\n"
    assert again.returncode == 0


def test_a_bare_table_with_headers_of_its_own(tmp_path: Path) -> None:
    rows = 'Platine,SSID,IP\nA,gauges,10.20.0.31\nB,gauges,10.20.0.32\nC,"gauge",10.20.0.33\n'
    (tmp_path / "kit.csv").write_text(rows, encoding="utf-8")
    options = ("--column", "Platine=id", "--output", "new.csv")
    done = run("repair", "kit.csv", *options, folder=tmp_path)
    assert "C  network_name: gauge -> gauges" in done.stdout
    assert (tmp_path / "new.csv").read_text(encoding="utf-8") == rows.replace('"gauge"', '"gauges"')


def test_a_clean_kit_is_written_as_it_is(folder: Path) -> None:
    (folder / "kit.toml").write_text(clean_text(), encoding="utf-8")
    done = repair(folder, "--output", "new.toml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == (
        "Tide gauges, spring term: 4 modules, nothing to change, nothing left.\n"
        "Written: new.toml.\n"
    )
    assert (folder / "new.toml").read_bytes() == (folder / "kit.toml").read_bytes()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("kit.toml", "kit.toml: is read for this report; name another file"),
        ("kit.csv", "kit.csv: is read for this report; name another file"),
        ("new.csv", "new.csv: does not end as the fleet file does"),
        ("none/new.toml", "none/new.csv: its folder does not exist; make it first"),
        ("taken.toml", "taken.toml: exists already; --force replaces it"),
        ("half.toml", "half.csv: exists already; --force replaces it"),
    ],
)
def test_what_is_not_written(tabled: Path, name: str, said: str) -> None:
    (tabled / "taken.toml").write_text("mine")
    (tabled / "half.csv").write_text("mine")
    before = {path.name: path.read_bytes() for path in tabled.iterdir()}
    done = repair(tabled, "--output", name)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(said)
    assert {path.name: path.read_bytes() for path in tabled.iterdir()} == before


def test_force_replaces_both_files_but_none_that_is_read(tabled: Path) -> None:
    for name in ("new.toml", "new.csv"):
        (tabled / name).write_text("old")
    assert repair(tabled, "--output", "new.toml", "--force").returncode == 0
    assert "old" not in (tabled / "new.csv").read_text(encoding="utf-8")
    assert repair(tabled, "--output", "kit.toml", "--force").returncode == 2
    (tabled / "kit.toml").rename(tabled / "other.toml")
    done = run("repair", "other.toml", "--output", "kit.toml", folder=tabled)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "kit.toml: would get kit.csv as its table, which is read for it; "
        "name it kit-repaired.toml\n"
    )


def test_another_folder_is_taken_where_nothing_is_named_by_its_way(tabled: Path) -> None:
    (tabled / "there").mkdir()
    assert repair(tabled, "--output", "there/new.toml").returncode == 0
    assert {path.name for path in (tabled / "there").iterdir()} == {"new.toml", "new.csv"}
    done = run("check", "there/new.toml", folder=tabled, environment=ENVIRONMENT)
    assert (done.returncode, done.stderr) == (0, "")


def test_another_folder_is_refused_where_a_secret_would_be_lost(folder: Path) -> None:
    text = clean_text().replace('{ env = "GAUGE_PASSPHRASE" }', '{ file = "secret.txt" }')
    (folder / "kit.toml").write_text(text, encoding="utf-8")
    (folder / "secret.txt").write_text(ENVIRONMENT["GAUGE_PASSPHRASE"], encoding="utf-8")
    (folder / "there").mkdir()
    done = repair(folder, "--output", "there/new.toml")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "there/new.toml: is in another folder than kit.toml, which names files in its own; "
        "name it new.toml\n"
    )
    assert repair(folder, "--output", "new.toml").returncode == 0


def test_a_copied_secret_is_for_its_owner_alone(folder: Path) -> None:
    secret = ENVIRONMENT["GAUGE_PASSPHRASE"]
    text = clean_text().replace('{ env = "GAUGE_PASSPHRASE" }', f'"{secret}"')
    own = f'passphrase = "{ENVIRONMENT["OTHER_PASSPHRASE"]}"\n'
    (folder / "kit.toml").write_text(text + own, encoding="utf-8")
    done = repair(folder, "--output", "new.toml")
    assert "passphrase: differs -> set (inherited)" in done.stdout
    assert secret not in done.stdout
    assert (folder / "new.toml").read_text(encoding="utf-8") == text
    assert stat.S_IMODE((folder / "new.toml").stat().st_mode) == 0o600
    unread = repair(folder, "--output", "unread.toml", "--without-secrets")
    assert "passphrase" not in unread.stdout
    assert stat.S_IMODE((folder / "unread.toml").stat().st_mode) == 0o600


def test_a_large_kit_folds(tmp_path: Path) -> None:
    """A thousand modules with equal faults, and as many with an address of the pool."""
    head = (
        '[kit]\nmodules = "kit.csv"\n[serial]\nrate = 9600\n[network.ipv4]\nsubnet = "10.0.0.0/8"\n'
    )
    head += 'pool = { first = "10.9.0.0", last = "10.9.9.9" }\n'
    (tmp_path / "kit.toml").write_text(head, encoding="utf-8")
    rows = [f"TG-{n:04},10.1.{n // 250}.{n % 250 + 1},{4800 if n % 2 else ''}" for n in range(1000)]
    rows += [f"TX-{n:04},10.9.0.{n + 1}," for n in range(150)]
    table = "\n".join(("id,address,serial_rate", *rows, ""))
    (tmp_path / "kit.csv").write_text(table, encoding="utf-8")
    done = run("repair", "kit.toml", "--output", "new.toml", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "1150 modules, 650 changes, nothing left." in done.stdout
    assert "and 497 more (500)  serial_rate: 4800 -> 9600\n  (inherited)" in done.stdout
    assert "more; --format json has all\n" in done.stdout
    assert len(done.stdout.splitlines()) < 120


def blocks(kind: str) -> list[str]:
    """Return the fenced blocks of one kind of the page on repairing."""
    page = (ROOT / "docs" / "repairing.md").read_text(encoding="utf-8")
    return re.findall(rf"^```{kind}\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)


def test_the_page_shows_what_its_example_gives(tmp_path: Path) -> None:
    fleet, mended = blocks("toml")
    table, report, new = blocks("text")
    (tmp_path / "kit.toml").write_text(fleet, encoding="utf-8")
    (tmp_path / "kit.csv").write_text(table, encoding="utf-8")
    (command,) = blocks("sh")[0].splitlines()
    done = run(*command.split()[1:], folder=tmp_path, environment=ENVIRONMENT)
    assert (done.returncode, done.stderr) == (1, "")
    assert done.stdout == report
    assert (tmp_path / "mended.csv").read_text(encoding="utf-8") == new
    assert mended in (tmp_path / "mended.toml").read_text(encoding="utf-8")
    validate(json.loads(blocks("json")[0]), SCHEMA)
