"""`auditor diagnose`: its words, its JSON, its statuses, and the page about it."""

import json
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from auditor.demo import write_to
from auditor.examples import clean_text
from auditor.findings import Stage
from auditor.tasks.diagnosis.observations import OBSERVATIONS
from tests.cli.running import CLEAN, ROOT, run

PAGE = (ROOT / "docs" / "diagnosing.md").read_text(encoding="utf-8")
DEMO = "tide-gauges.toml"
TEXTS = {"type": "array", "items": {"type": "string"}}
PROBABILITY = {"type": "number", "minimum": 0, "maximum": 1}


def _object(**properties: Any) -> dict[str, Any]:
    """Return the schema of an object that has these properties and no others."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


WORDS = {"type": "object", "additionalProperties": {"type": "string"}}
CAUSE = _object(
    cause={"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"},
    stage={"enum": list(Stage)},
    probability=PROBABILITY,
    **{"for": TEXTS},
    against=TEXTS,
    remedy={"type": "string", "minLength": 1},
)
NEXT = _object(
    observation={"enum": list(OBSERVATIONS)},
    minutes={"type": "number", "exclusiveMinimum": 0},
    information_bits={"type": "number", "exclusiveMinimum": 0},
    how={"type": "string", "minLength": 1},
    meanings=WORDS,
)
SCHEMA = Draft202012Validator(
    _object(
        format={"const": 1},
        id={"type": "string"},
        seen=WORDS,
        causes={"type": "array", "items": CAUSE, "minItems": 1},
        next={"anyOf": [NEXT, {"type": "null"}]},
        contradiction={"type": ["string", "null"]},
    )
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the demo kit, and a kit with nothing wrong."""
    write_to(tmp_path)
    (tmp_path / "kit.toml").write_text(clean_text(), encoding="utf-8")
    return tmp_path


def seeing(*seen: str) -> list[str]:
    """Return the options that tell what was seen."""
    return [part for each in seen for part in ("--seen", each)]


def answer(folder: Path, *arguments: str) -> Any:
    """Return what the command says as JSON."""
    done = run("diagnose", *arguments, "--format", "json", folder=folder)
    assert done.stderr == ""
    return json.loads(done.stdout)


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["kit.toml", "TG-02"], 0),
        (["kit.toml", "TG-02", *seeing("others-work=yes", "ping=yes", "lease=none")], 0),
        (["kit.toml", "TG-02", *seeing("ping=no")], 1),
        (["kit.toml", "TG-02", *seeing("others-work=no")], 1),
        ([DEMO, "TG-03"], 0),
        ([DEMO, "TG-09"], 0),  # a risk is no fault
        ([DEMO, "TG-04"], 1),
    ],
)
def test_the_status_says_whether_anything_is_wrong(
    folder: Path, arguments: list[str], status: int
) -> None:
    done = run("diagnose", *arguments, folder=folder)
    assert (done.returncode, done.stderr) == (status, "")
    assert done.stdout


@pytest.mark.parametrize(
    "seen",
    [(), ("indicator=steady",), ("indicator=dark", "ping=yes"), ("bytes=garbled", "ping=yes")],
)
@pytest.mark.parametrize("id", ["TG-03", "TG-04", "TG-13", "TG-25", "TG-29"])
def test_the_json_has_the_agreed_form(folder: Path, id: str, seen: tuple[str, ...]) -> None:
    told = answer(folder, DEMO, id, *seeing(*seen))
    SCHEMA.validate(told)
    assert told["id"] == id
    assert told["seen"] == dict(each.split("=") for each in seen)
    chances = [cause["probability"] for cause in told["causes"]]
    assert sum(chances) == pytest.approx(1, abs=1e-4)
    assert chances == sorted(chances, reverse=True)
    following = told["next"]
    assert list(following["meanings"]) == list(OBSERVATIONS[following["observation"]].values)


def test_a_fault_of_the_file_names_its_place(folder: Path) -> None:
    told = answer(folder, DEMO, "TG-04", *seeing("indicator=steady", "bytes=whole"))
    (fault,) = (cause for cause in told["causes"] if cause["cause"] == "network-name-differs")
    assert fault["for"] == ["found in the file: kit.csv:5, network_name", "indicator=steady"]
    assert fault["against"] == ["bytes=whole (it would be none)"]


def test_what_does_not_fit_together_is_said_and_still_ranked(folder: Path) -> None:
    told = answer(folder, "kit.toml", "TG-02", *seeing("indicator=dark", "ping=yes"))
    assert told["contradiction"].startswith("No cause explains indicator=dark and ping=yes")
    assert len(told["causes"]) > 10
    text = run(
        "diagnose", "kit.toml", "TG-02", *seeing("indicator=dark", "ping=yes"), folder=folder
    )
    assert "No cause explains indicator=dark and ping=yes" in text.stdout


@pytest.mark.parametrize("id", ["TG-03", "TG-04", "TG-13", "TG-25", "TG-30"])
def test_the_text_fits_80_columns_and_names_at_most_ten_causes(folder: Path, id: str) -> None:
    names = {cause["cause"] for cause in answer(folder, DEMO, id)["causes"]}
    all_seen = [f"{each.name}={each.values[0]}" for each in OBSERVATIONS.values()]
    for count in (0, 1, 4, len(all_seen)):
        text = run("diagnose", DEMO, id, *seeing(*all_seen[:count]), folder=folder).stdout
        assert max(map(len, text.splitlines())) <= 80
        rows = re.findall(r"^ *(?:\d+|< 1) %  (\S+)", text, re.MULTILINE)
        assert len(rows) == 10
        assert names.issuperset(rows)


def test_same_question_same_bytes(folder: Path) -> None:
    asked = ("diagnose", DEMO, "TG-13", *seeing("indicator=blinking", "ping=no"))
    assert len({run(*asked, folder=folder).stdout for _ in range(3)}) == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["TG-3"], 'kit.toml: "TG-3" is no module of this kit; did you mean "TG-03"?'),
        (["board"], 'kit.toml: "board" is no module of this kit; its modules are TG-01..TG-04'),
        (
            ["TG-02", *seeing("indikator=steady")],
            '--seen: "indikator" is nothing to look at; did you mean "indicator"?',
        ),
        (
            ["TG-02", *seeing("indicator=stady")],
            '--seen: "stady" is nothing that indicator shows; did you mean "steady"?',
        ),
        (
            ["TG-02", *seeing("ping=sometimes")],
            '--seen: "sometimes" is nothing that ping shows; there is yes, no',
        ),
        (
            ["TG-02", *seeing("steady")],
            '--seen: "steady" is not of the form "observation=value", as in "indicator=steady"',
        ),
        (
            ["TG-02", *seeing("ping=yes", "ping=no")],
            "--seen: ping cannot be both yes and no; keep the one that is so",
        ),
    ],
)
def test_what_there_is_not_is_refused_with_the_nearest(
    folder: Path, arguments: list[str], said: str
) -> None:
    done = run("diagnose", "kit.toml", *arguments, folder=folder)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"{said}\n")


def test_all_that_was_misread_is_said_at_once(folder: Path) -> None:
    wrong = seeing("indikator=steady", "ping=maybe", "bytes")
    assert len(run("diagnose", "kit.toml", "TG-02", *wrong, folder=folder).stderr.splitlines()) == 3


def test_capitals_and_blanks_do_not_count_and_twice_the_same_is_once(folder: Path) -> None:
    told = answer(folder, "kit.toml", "TG-02", *seeing(" Indicator = STEADY ", "indicator=steady"))
    assert told["seen"] == {"indicator": "steady"}


def test_a_missing_id_is_asked_for(folder: Path) -> None:
    done = run("diagnose", "kit.toml", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1


def test_the_report_is_written_whole_and_never_over_an_input(folder: Path) -> None:
    asked = ("diagnose", "kit.toml", "TG-02")
    done = run(*asked, "--output", "board.txt", folder=folder)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (folder / "board.txt").read_text() == run(*asked, folder=folder).stdout
    assert run(*asked, "--output", "board.txt", folder=folder).returncode == 2
    assert run(*asked, "--output", "board.txt", "--force", folder=folder).returncode == 0
    assert run(*asked, "--output", "kit.toml", "--force", folder=folder).returncode == 2


def test_a_student_needs_no_passphrase(tmp_path: Path) -> None:
    fleet = CLEAN.replace('"open"', '"wpa2-personal"\npassphrase = { file = "nowhere.txt" }')
    (tmp_path / "kit.toml").write_text(fleet)
    done = run("diagnose", "kit.toml", "TG-01", "--without-secrets", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_table_alone_is_a_kit_too(tmp_path: Path) -> None:
    (tmp_path / "kit.csv").write_text("Board,SSID,IP\nTG-01,saltmarsh,10.20.0.31\n")
    done = run("diagnose", "kit.csv", "TG-01", "--column", "Board=id", folder=tmp_path)
    assert done.stderr == ""
    assert done.stdout.startswith("TG-01: kit.csv")


def test_an_id_that_a_terminal_would_obey_is_escaped(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text('[[module]]\nid = "TG\\u001b[2J01"\n')
    done = run("diagnose", "kit.toml", "TG\x1b[2J01", folder=tmp_path)
    assert "\x1b" not in done.stdout + done.stderr
    assert done.stdout.startswith(r"TG\x1b[2J01: ")


class TestThePage:
    """docs/diagnosing.md is true."""

    def test_its_examples_run(self, folder: Path) -> None:
        shown = re.findall(r"<!-- shown: (.*?) -->\n```text\n(.*?)```", PAGE, re.DOTALL)
        assert shown
        for line, text in shown:
            assert run(*shlex.split(line), folder=folder).stdout == text

    def test_its_command_lines_are_taken(self, folder: Path) -> None:
        lines = re.findall(r"^auditor (diagnose .*)$", PAGE, re.MULTILINE)
        assert len(lines) >= 2
        for line in lines:
            assert run(*shlex.split(line), folder=folder).returncode in (0, 1)

    def test_its_vocabulary_is_the_one_that_there_is(self) -> None:
        rows = re.findall(r"^\| `([a-z-]+)` \| ([a-z, -]+) \| ([0-9.]+) \|$", PAGE, re.MULTILINE)
        assert rows == [
            (each.name, ", ".join(each.values), f"{each.minutes:g}")
            for each in OBSERVATIONS.values()
        ]

    def test_its_json_has_the_agreed_form(self) -> None:
        (block,) = re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL)
        example = json.loads(block.replace('"cause": "…"', '"cause": "x"'))
        example["next"]["observation"] = "others-work"
        SCHEMA.validate(example)
