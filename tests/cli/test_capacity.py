"""`auditor capacity`: wired to what sums it up."""

import json
from pathlib import Path

from auditor.examples import clean_text
from tests.cli.running import run


def test_the_sums_of_a_kit(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(clean_text(), encoding="utf-8")
    done = run("capacity", "kit.toml", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "stations" in done.stdout
    answer = json.loads(run("capacity", "kit.toml", "--format", "json", folder=tmp_path).stdout)
    assert list(answer) == ["stations", "leases", "airtime", "serial"]
    # Four modules and one other station; a pool of 50 of which static modules take none.
    assert (answer["stations"]["peak"], answer["stations"]["limit"]) == (5, 32)
    assert answer["leases"]["size"] == 50
    assert [line["id"] for line in answer["serial"]] == ["TG-01", "TG-02", "TG-03", "TG-04"]


def test_the_page_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(clean_text(), encoding="utf-8")
    asked = ("capacity", "kit.toml", "--format", "html")
    printed = run(*asked, folder=tmp_path)
    done = run(*asked, "--output", "room.html", folder=tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / "room.html").read_text(encoding="utf-8") == printed.stdout
    assert printed.stdout.startswith("<!doctype html>")
    assert run(*asked, "--output", "kit.toml", "--force", folder=tmp_path).returncode == 2


def test_a_file_that_cannot_be_used(tmp_path: Path) -> None:
    done = run("capacity", "kit.toml", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "kit.toml: there is no such file\n"
