"""`auditor checks` and `auditor explain`: the catalogue on the command line."""

import json
from pathlib import Path

from auditor.checks import CHECKS
from tests.cli.running import run


def test_every_check_is_listed_once(tmp_path: Path) -> None:
    done = run("checks", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    heads = [line for line in done.stdout.splitlines() if not line.startswith(" ")]
    ids = [head.partition(":")[0] for head in heads]
    listed = run("checks", "--format", "json", folder=tmp_path)
    assert ids == [entry["id"] for entry in json.loads(listed.stdout)]
    assert set(ids) == set(CHECKS)


def test_the_list_as_json_has_these_keys(tmp_path: Path) -> None:
    entries = json.loads(run("checks", "--format", "json", folder=tmp_path).stdout)
    keys = ["id", "stage", "severity", "title", "source"]
    assert all(list(entry) == keys for entry in entries)


def test_an_explanation_says_everything(tmp_path: Path) -> None:
    done = run("explain", "duplicate-module-id", folder=tmp_path)
    check = CHECKS["duplicate-module-id"]
    assert done.returncode == 0
    text = " ".join(done.stdout.split())
    for part in (check.title, check.why, check.remedy, check.source, check.severity):
        assert part in text
    assert "\n    [[module]]\n" in done.stdout
    assert 'The id "TG-02" stands 2 times' in text


def test_an_unknown_check_has_a_nearest_one(tmp_path: Path) -> None:
    done = run("explain", "duplicate_module", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        'explain: "duplicate_module" is not a check; did you mean duplicate-module-id?\n'
    )
    assert "auditor checks" in run("explain", "rain\x1b", folder=tmp_path).stderr
