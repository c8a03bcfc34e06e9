"""`auditor check`: its statuses, its streams, and the file that it writes whole or not at all."""

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import CLEAN, ROOT, clean_environment, run

READY = CLEAN.replace('security = "open"', 'security = "wpa3-personal"')
FAULTY = CLEAN.replace('"10.20.0.32"', '"10.20.0.31"')


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a kit whose gravest finding is a risk, and one with a fault."""
    (tmp_path / "kit.toml").write_text(CLEAN)
    (tmp_path / "faulty.toml").write_text(FAULTY)
    return tmp_path


@pytest.mark.parametrize(
    ("file", "fail_on", "status"),
    [
        ("kit.toml", "fault", 0),
        ("kit.toml", "risk", 1),
        ("kit.toml", "advice", 1),
        ("faulty.toml", "fault", 1),
    ],
)
def test_the_status_says_whether_anything_is_as_grave(
    folder: Path, file: str, fail_on: str, status: int
) -> None:
    done = run("check", file, "--fail-on", fail_on, folder=folder)
    assert (done.returncode, done.stderr) == (status, "")
    assert done.stdout


def test_a_risk_is_enough_where_nothing_is_said(folder: Path) -> None:
    assert run("check", "kit.toml", folder=folder).returncode == 1
    assert run("check", "kit.toml", "--only", "duplicate-module-id", folder=folder).returncode == 0


@pytest.mark.parametrize(
    "arguments",
    [
        ["check"],
        ["check", "kit.toml", "--format", "html5"],
        ["check", "kit.toml", "--fail-on", "mistake"],
        ["check", "kit.toml", "--frobnicate"],
        ["chek", "kit.toml"],
    ],
)
def test_a_mistyped_command_has_status_2(folder: Path, arguments: list[str]) -> None:
    done = run(*arguments, folder=folder)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr


def test_the_same_input_gives_the_same_bytes(folder: Path) -> None:
    for format in ("text", "json", "csv", "html"):
        first, second = (
            run("check", "faulty.toml", "--format", format, folder=folder).stdout for _ in "12"
        )
        assert first == second


def test_the_time_is_that_of_the_environment(folder: Path) -> None:
    done = run("check", "kit.toml", "--format", "json", folder=folder)
    assert json.loads(done.stdout)["kit"]["checked_at"] == "2026-02-01T00:00:00+00:00"


def test_only_one_check_is_kept(folder: Path) -> None:
    only = ("--only", "duplicate-static-address", "--only", "weak-security")
    done = run("check", "faulty.toml", "--format", "json", *only, folder=folder)
    report = json.loads(done.stdout)
    assert set(report["summary"]["by_check"]) == {"duplicate-static-address", "weak-security"}


def test_output_is_what_would_have_been_printed(folder: Path) -> None:
    for format in ("text", "json", "csv", "html"):
        printed = run("check", "faulty.toml", "--format", format, folder=folder)
        file = f"report.{format}"
        done = run("check", "faulty.toml", "--format", format, "--output", file, folder=folder)
        assert (done.stdout, done.stderr, done.returncode) == ("", "", printed.returncode)
        assert (folder / file).read_bytes().decode() == printed.stdout


def test_output_never_replaces_a_file_unless_forced(folder: Path) -> None:
    (folder / "report.txt").write_text("precious")
    done = run("check", "kit.toml", "--output", "report.txt", folder=folder)
    assert done.returncode == 2
    assert done.stderr == "report.txt: exists already; --force replaces it\n"
    assert (folder / "report.txt").read_text() == "precious"
    forced = run("check", "kit.toml", "--output", "report.txt", "--force", folder=folder)
    assert forced.returncode == 1
    assert (folder / "report.txt").read_text().startswith("Tide gauges")


@pytest.mark.parametrize("force", [(), ("--force",)])
def test_output_never_replaces_the_input(folder: Path, force: tuple[str, ...]) -> None:
    done = run("check", "kit.toml", "--output", "./kit.toml", *force, folder=folder)
    assert done.returncode == 2
    assert done.stderr == "./kit.toml: is read for this report; name another file\n"
    assert (folder / "kit.toml").read_text() == CLEAN


@pytest.mark.parametrize(
    ("output", "said"),
    [
        ("missing/report.txt", "its folder does not exist"),
        (".", "is a folder"),
        ("/dev/null", "is not a plain file"),
        ("x" * 300, "cannot be written"),
        ("", "is a folder"),
    ],
)
def test_output_that_cannot_be_written(folder: Path, output: str, said: str) -> None:
    done = run("check", "kit.toml", "--output", output, "--force", folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert sorted(path.name for path in folder.iterdir()) == ["faulty.toml", "kit.toml"]


def test_a_link_stays_a_link(folder: Path) -> None:
    (folder / "real.txt").write_text("old")
    (folder / "report.txt").symlink_to("real.txt")
    run("check", "kit.toml", "--output", "report.txt", "--force", folder=folder)
    assert (folder / "report.txt").is_symlink()
    assert (folder / "real.txt").read_text().startswith("Tide gauges")


def test_a_reader_that_goes_away_is_nothing_to_speak_of(folder: Path) -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    done = subprocess.run(
        [sys.executable, "-m", "auditor", "check", "kit.toml"],
        cwd=folder,
        env=clean_environment(),
        stdout=write_end,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(write_end)
    assert (done.returncode, done.stderr) == (1, b"")


def test_a_full_disk_is_a_problem(folder: Path) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "auditor", "check", "kit.toml"],
            cwd=folder,
            env=clean_environment(),
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.startswith("standard output: cannot be written")
    assert len(done.stderr.splitlines()) == 1


def test_a_terminal_of_another_encoding_gets_escapes(folder: Path) -> None:
    (folder / "kit.toml").write_text(CLEAN.replace("Tide", "Wattküste: tide"), encoding="utf-8")
    plain = {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    done = run("check", "kit.toml", folder=folder, environment=plain)
    assert done.returncode == 1
    assert "Wattk\\xfcste" in done.stdout


def on_terminal(folder: Path, **environment: str) -> bytes:
    """Return what the audit of the kit writes to a terminal."""
    main_end, terminal = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "auditor", "check", "kit.toml"],
        cwd=folder,
        env=clean_environment() | {"TERM": "xterm"} | environment,
        stdout=terminal,
    )
    os.close(terminal)
    written = b""
    try:
        while part := os.read(main_end, 4096):
            written += part
    except OSError:
        pass  # the terminal's other end is closed
    os.close(main_end)
    assert process.wait() == 1
    return written


def test_colour_is_for_terminals(folder: Path) -> None:
    assert "\x1b" not in run("check", "kit.toml", folder=folder).stdout
    assert b"\x1b[" in on_terminal(folder)
    assert b"\x1b" not in on_terminal(folder, NO_COLOR="1")
    assert b"\x1b" not in on_terminal(folder, TERM="dumb")


def test_a_check_that_breaks_is_a_fault_of_ours(folder: Path) -> None:
    script = (
        "import sys\n"
        "from auditor.checks import CHECKS, registry\n"
        "from auditor.findings import Stage\n"
        "from auditor.models.words import Severity\n"
        "@registry.check(Stage.RECORD, Severity.FAULT, 'common practice, no source')\n"
        "def broken_on_purpose(module, survey):\n"
        "    'It is broken.\\n\\nSo.\\n\\nMend: So.\\n\\nExample:\\n    So.'\n"
        "    raise KeyError('secret words')\n"
        "from auditor.cli import main\n"
        "sys.argv = ['auditor', 'check', 'kit.toml']\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=folder,
        env=clean_environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert "broken-on-purpose" in line
    assert "this is a fault of the auditor, not of your file" in line
    assert "secret words" not in line


def test_a_fault_outside_the_checks_has_no_traceback(folder: Path) -> None:
    script = (
        "import sys\n"
        "from auditor.reports import text\n"
        "def broken(*_, **__): raise KeyError('secret words')\n"
        "text.text = broken\n"
        "from auditor.cli import main\n"
        "sys.argv = ['auditor', 'check', 'kit.toml']\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=folder,
        env=clean_environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "auditor: KeyError in broken: this is a fault of the auditor, not of your file\n"
    )


def test_help_answers_without_the_models(tmp_path: Path) -> None:
    script = (
        "import sys\n"
        "from auditor.cli import main\n"
        "sys.argv = ['auditor', '--help']\n"
        "try: main()\n"
        "finally:\n"
        "    heavy = {'pydantic', 'tabulate', 'rich'} & set(sys.modules)\n"
        "    print(sorted(heavy), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env=clean_environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == "[]\n"
    assert "check" in done.stdout


def test_the_project_is_where_the_tests_think() -> None:
    assert (ROOT / "auditor" / "__main__.py").is_file()
