"""`auditor plan`: a brief in, a kit that audits clean out, or the reason why not."""

import re
import shlex
import subprocess
from pathlib import Path

import pytest

from auditor.examples import ENVIRONMENT
from tests.cli.running import ROOT, run
from tests.kits.briefs import BRIEF, POOLED, STATIC, brief_with

PAGE = (ROOT / "docs" / "planning.md").read_text(encoding="utf-8")
WRITTEN = ["brief.toml", "made/kit.csv", "made/kit.toml"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the brief."""
    (tmp_path / "brief.toml").write_text(BRIEF, encoding="utf-8")
    return tmp_path


def plan(folder: Path, *options: str, output: str = "made") -> subprocess.CompletedProcess[str]:
    """Run the planning of the brief in a folder."""
    asked = ("plan", "brief.toml", "--output", output, *options)
    return run(*asked, folder=folder, environment=ENVIRONMENT)


def change(folder: Path, *changes: tuple[str, str]) -> None:
    """Write the brief with some texts in it replaced."""
    (folder / "brief.toml").write_text(brief_with(*changes), encoding="utf-8")


def files(folder: Path) -> list[str]:
    """Return the files below a folder."""
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_a_kit_is_written_that_audits_clean(folder: Path) -> None:
    done = plan(folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(
        'Tide gauges: 30 modules on "saltmarsh-gauges"\nWritten: made/kit.toml and made/kit.csv.\n'
    )
    assert "TG-01..TG-30 (30): static, 10.20.0.11 to 10.20.0.40\n" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert files(folder) == WRITTEN
    rows = (folder / "made" / "kit.csv").read_text(encoding="utf-8").splitlines()
    assert rows[:2] == ["id,addressing,address", "TG-01,static,10.20.0.11"]
    assert len(rows) == 31
    checked = run("check", "made/kit.toml", folder=folder, environment=ENVIRONMENT)
    assert (checked.returncode, checked.stderr) == (0, "")
    assert "30 ready." in checked.stdout


def test_the_same_brief_gives_the_same_bytes(folder: Path) -> None:
    plan(folder)
    plan(folder, output="again")
    for name in ("kit.toml", "kit.csv"):
        assert (folder / "made" / name).read_bytes() == (folder / "again" / name).read_bytes()


def test_pooled_modules_lease_from_the_pool(folder: Path) -> None:
    change(folder, (STATIC, POOLED))
    done = plan(folder)
    assert done.returncode == 0
    assert "TG-01..TG-30 (30): pooled, an address of 10.20.0.100 to 10.20.0.149\n" in done.stdout
    assert (folder / "made" / "kit.csv").read_text().splitlines()[30] == "TG-30,pooled,"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("modules = 30", "modules = 230", "brief.toml:26: modules: 10.20.0.0/24 has room for 202"),
        ('"wpa2-personal"', '"wep-40"', "weak-security (risk)"),
        ("TG-{n:02}", "TG-{n:d}", "brief.toml:27: id: is not a pattern of ids; "),
        ('{ env = "GAUGE_PASSPHRASE" }', '"Kv7qwzXj9pLmtRb"', "brief.toml:11: passphrase: the "),
    ],
)
def test_what_cannot_work_is_refused_and_nothing_is_written(
    folder: Path, old: str, new: str, said: str
) -> None:
    change(folder, (old, new))
    done = plan(folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Kv7q" not in done.stderr
    assert files(folder) == ["brief.toml"]
    assert not (folder / "made").exists()


def test_a_folder_with_something_in_it_is_left_alone_without_force(folder: Path) -> None:
    (folder / "made").mkdir()
    assert plan(folder).returncode == 0
    done = plan(folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == ("made: is not empty; name a new folder, or write into it with --force\n")
    (folder / "made" / "kit.csv").write_text("old")
    assert plan(folder, "--force").returncode == 0
    assert (folder / "made" / "kit.csv").read_text().startswith("id,")
    assert files(folder) == WRITTEN


def test_neither_file_is_written_where_one_cannot_be(folder: Path) -> None:
    (folder / "made" / "kit.csv").mkdir(parents=True)
    done = plan(folder, "--force")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "made/kit.csv: is a folder; name a file in it\n"
    assert files(folder) == ["brief.toml"]


@pytest.mark.parametrize(
    ("output", "said"),
    [
        ("brief.toml", "is not a folder; name a new or an empty one"),
        ("none/made", "the folder that it would be in does not exist; make it"),
    ],
)
def test_a_folder_that_cannot_be(folder: Path, output: str, said: str) -> None:
    done = plan(folder, output=output)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"{output}: {said}\n")
    assert files(folder) == ["brief.toml"]


def test_the_brief_is_never_replaced(folder: Path) -> None:
    (folder / "kit.toml").write_text(BRIEF, encoding="utf-8")
    done = run("plan", "kit.toml", "--output", ".", "--force", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("kit.toml: is read for this report")
    assert (folder / "kit.toml").read_text(encoding="utf-8") == BRIEF
    assert not (folder / "kit.csv").exists()


def test_the_check_that_is_named_can_be_run(folder: Path) -> None:
    """The passphrase stays beside the brief; the new file leads to it from its own folder."""
    (folder / "pass phrase.txt").write_text(ENVIRONMENT["GAUGE_PASSPHRASE"])
    change(folder, ('{ env = "GAUGE_PASSPHRASE" }', '{ file = "pass phrase.txt" }'))
    done = run("plan", "brief.toml", "--output", "spring term", folder=folder)
    assert done.returncode == 0
    line = done.stdout.splitlines()[-1].strip()
    assert line == "auditor check 'spring term/kit.toml' --allow-folder ."
    checked = run(*shlex.split(line)[1:], folder=folder)
    assert (checked.returncode, checked.stderr) == (0, "")
    assert "30 ready." in checked.stdout
    written = [(folder / name).read_text() for name in files(folder) if "spring" in name]
    assert all(ENVIRONMENT["GAUGE_PASSPHRASE"] not in text for text in (*written, done.stdout))


def test_a_passphrase_in_a_name_is_in_no_report(folder: Path) -> None:
    secret = ENVIRONMENT["GAUGE_PASSPHRASE"]
    change(folder, ('"Tide gauges"', f'"Tide {secret}"'), ("TG-{n:02}", f"{secret}-{{n}}"))
    done = plan(folder)
    assert secret not in done.stdout + done.stderr


def test_an_unset_passphrase_leaves_the_keys_unknown(folder: Path) -> None:
    done = run("plan", "brief.toml", "--output", "made", folder=folder)
    assert done.returncode == 0
    assert "no risk: 30 unknown." in done.stdout
    assert "GAUGE_PASSPHRASE is not set" in " ".join(done.stdout.split())


def test_a_brief_is_no_fleet_file(folder: Path) -> None:
    done = run("check", "brief.toml", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("brief.toml:25: plan: stands only in a brief, which has no modu")


def test_names_that_a_terminal_would_obey_are_escaped(folder: Path) -> None:
    change(folder, ('"Tide gauges"', r'"Tide \u001b[2J gauges"'))
    done = plan(folder)
    assert done.returncode == 0
    assert "\x1b" not in done.stdout + done.stderr


class TestThePage:
    """docs/planning.md is true."""

    def test_its_example_runs(self, tmp_path: Path) -> None:
        self.brief(tmp_path)
        shown = re.findall(r"<!-- shown: (.*?) -->\n```text\n(.*?)```", PAGE, re.DOTALL)
        assert len(shown) == 1
        for line, text in shown:
            done = run(*shlex.split(line), folder=tmp_path, environment=ENVIRONMENT)
            assert (done.stdout, done.stderr) == (text, "")

    def test_its_refusals_are_what_is_said(self, tmp_path: Path) -> None:
        refused = re.findall(r"<!-- refused: (.*?) -->\n```text\n(.*?)```", PAGE, re.DOTALL)
        assert len(refused) == 2
        for changes, text in refused:
            self.brief(tmp_path, *(each.split(" -> ") for each in changes.split("; ")))
            assert (plan(tmp_path).returncode, plan(tmp_path).stderr) == (2, text)

    @staticmethod
    def brief(folder: Path, *changes: list[str]) -> None:
        (text,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (folder / "brief.toml").write_text(text, encoding="utf-8")
