"""`auditor cards`: which cards are made, where they go, and how the command ends."""

import re
import shlex
from pathlib import Path

import pytest

from auditor.demo import FILES, FOLDER
from auditor.examples import ENVIRONMENT, clean_text
from tests.cli.running import ROOT, run

DOCS = (ROOT / "docs" / "cards.md").read_text(encoding="utf-8")
ID = re.compile(r"<h3 [^>]*><bdi>(.*?)</bdi></h3>")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the demo's files, and the clean kit as kit.toml."""
    for name in FILES:
        (tmp_path / name).write_bytes((FOLDER / name).read_bytes())
    (tmp_path / "kit.toml").write_text(clean_text(), encoding="utf-8")
    return tmp_path


def ids_on(page: str) -> list[str]:
    """Return the ids on the cards of a page."""
    return ID.findall(page)


def test_without_a_file_the_page_goes_to_standard_output(folder: Path) -> None:
    done = run("cards", "kit.toml", folder=folder, environment=ENVIRONMENT)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("<!doctype html>")
    assert ids_on(done.stdout) == ["TG-01", "TG-02", "TG-03", "TG-04"]
    assert "<script" not in done.stdout


def test_the_page_is_written_whole_and_over_no_input(folder: Path) -> None:
    asked = ("cards", "kit.toml", "--output")
    done = run(*asked, "cards.html", folder=folder, environment=ENVIRONMENT)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert len(ids_on((folder / "cards.html").read_text(encoding="utf-8"))) == 4
    again = run(*asked, "cards.html", folder=folder, environment=ENVIRONMENT)
    assert (again.returncode, again.stderr) == (
        2,
        "cards.html: exists already; --force replaces it\n",
    )
    assert run(*asked, "kit.toml", "--force", folder=folder).returncode == 2
    assert (folder / "kit.toml").read_text(encoding="utf-8") == clean_text()


def test_the_same_input_gives_the_same_bytes(folder: Path) -> None:
    one, other = (run("cards", "tide-gauges.toml", folder=folder).stdout for _ in range(2))
    assert one == other
    assert len(ids_on(one)) == 30


@pytest.mark.parametrize(
    ("modules", "status", "ids"),
    [
        (["TG-01..TG-03"], 0, ["TG-01", "TG-02", "TG-03"]),
        (["TG-03", "TG-01", "TG-03"], 0, ["TG-01", "TG-03"]),
        (["TG-28..TG-28, TG-01"], 0, ["TG-01", "TG-28"]),
        (["TG-03..TG-04"], 1, ["TG-03", "TG-04"]),  # TG-04 is blocked
        (["TG-09"], 1, ["TG-09"]),  # at risk
    ],
)
def test_only_the_chosen_cards_are_made_and_only_they_count(
    folder: Path, modules: list[str], status: int, ids: list[str]
) -> None:
    options = [part for each in modules for part in ("--modules", each)]
    done = run("cards", "tide-gauges.toml", *options, folder=folder)
    assert (done.returncode, done.stderr) == (status, "")
    assert ids_on(done.stdout) == ids


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("TG-3O", '"TG-3O" means no module of this kit; did you mean TG-30?'),
        ("TG-15..TG-01", '"TG-15..TG-01" means no module of this kit; did you mean TG-01..TG-15?'),
        ("TG-01, buoy", '"buoy" means no module of this kit; write ids or ranges, as in'),
        ("", '"" means no module of this kit; write ids or ranges, as in TG-01..TG-15'),
        (" , ", "means no module of this kit; write ids or ranges"),
    ],
)
def test_a_name_that_means_nobody_gets_the_likely_one(folder: Path, name: str, said: str) -> None:
    done = run("cards", "tide-gauges.toml", "--modules", name, folder=folder)
    (line,) = done.stderr.splitlines()
    assert (done.returncode, done.stdout) == (2, "")
    assert line.startswith("--modules: ")
    assert said in line


def test_an_id_may_hold_a_comma(folder: Path) -> None:
    (folder / "comma.csv").write_text('id,address\n"hut 2, left",10.20.0.31\nhut 2,10.20.0.32\n')
    done = run("cards", "comma.csv", "--modules", "hut 2, left", folder=folder)
    assert ids_on(done.stdout) == ["hut 2, left"]


def test_many_sheets_are_announced_and_too_many_cards_refused(folder: Path) -> None:
    for number in (192, 193, 10_001):
        rows = "".join(f"TG-{at:05},10.20.{at // 250}.{at % 250 + 1}\n" for at in range(number))
        (folder / f"{number}.csv").write_text(f"id,address\n{rows}")
    assert run("cards", "192.csv", folder=folder).stderr == ""
    assert run("cards", "193.csv", folder=folder).stderr == (
        "193 cards on 25 sheets; --modules makes those of some modules\n"
    )
    done = run("cards", "10001.csv", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert "10,001 cards are more than a page has room for (10,000)" in done.stderr
    assert run("cards", "10001.csv", "--modules", "TG-00000..TG-00007", folder=folder).stderr == ""


def test_a_passphrase_that_is_not_there_leaves_room_to_write(folder: Path) -> None:
    done = run("cards", "kit.toml", folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.count("Facts are missing at keys.") == 4
    assert "set</bdi>" not in done.stdout


def test_a_file_that_cannot_be_used(folder: Path) -> None:
    done = run("cards", "none.toml", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "none.toml: there is no such file\n"


def test_the_examples_of_the_manual_run(folder: Path) -> None:
    (block,) = re.findall(r"^```sh\n(.*?)^```$", DOCS, re.DOTALL | re.MULTILINE)
    made = []
    for line in block.splitlines():
        _, *arguments = shlex.split(line)
        assert run(*arguments, folder=folder).stderr == ""
        made.append(len(ids_on((folder / arguments[-1]).read_text(encoding="utf-8"))))
    assert made == [30, 16]
