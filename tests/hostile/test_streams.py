"""Closed and full streams, readers that go away, interruptions, and too little memory."""

import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from auditor.cli import ending
from tests.cli.running import CLEAN, clean_environment
from tests.kits.briefs import BRIEF


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a fleet and a brief."""
    (tmp_path / "kit.toml").write_text(CLEAN)
    (tmp_path / "brief.toml").write_text(BRIEF)
    return tmp_path


def auditor(folder: Path, line: str, **more: Any) -> subprocess.CompletedProcess[str]:
    """Run a line of the shell in which `auditor` is the command."""
    command = f"{sys.executable} -m auditor"
    return subprocess.run(
        ["sh", "-c", line.replace("auditor", command, 1)],
        cwd=folder,
        env=clean_environment(),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        **more,
    )


COMMANDS = (
    "check kit.toml",
    "capacity kit.toml",
    "cards kit.toml",
    "compare kit.toml kit.toml",
    "reprovision kit.toml kit.toml",
    "repair kit.toml",
    "diagnose kit.toml TG-01",
    "checks",
    "explain weak-passphrase",
    "profiles",
    "schema",
    "demo",
    "plan brief.toml --output made",
)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_full_disk_behind_standard_output(folder: Path, command: str) -> None:
    done = auditor(folder, f"auditor {command} > /dev/full")
    assert done.returncode == 2
    assert done.stderr == "standard output: cannot be written: No space left on device\n"


@pytest.mark.parametrize("command", COMMANDS)
def test_standard_output_that_is_closed(folder: Path, command: str) -> None:
    done = auditor(folder, f"auditor {command} >&-")
    assert done.returncode == 2
    assert done.stderr == "standard output: is closed; open it, or name a file\n"


def test_a_report_to_a_file_needs_no_standard_output(folder: Path) -> None:
    done = auditor(folder, "auditor check kit.toml --output report.txt >&- 2>&- <&-")
    assert done.returncode == 1
    assert (folder / "report.txt").read_text().startswith("Tide gauges")


@pytest.mark.parametrize("stderr", ["2>&-", "2>/dev/full"])
def test_nobody_to_tell_a_problem_to(folder: Path, stderr: str) -> None:
    done = auditor(folder, f"auditor check none.toml {stderr}")
    assert (done.returncode, done.stdout, done.stderr) == (2, "", "")
    assert auditor(folder, f"auditor check kit.toml {stderr}").returncode == 1
    assert auditor(folder, f"auditor check kit.toml --format xml {stderr}").returncode == 2


@pytest.mark.parametrize("command", ["checks", "--help", "check --help"])
def test_a_reader_that_goes_away(folder: Path, command: str) -> None:
    done = auditor(folder, f"(auditor {command}; echo $? >&2) | true")
    assert done.stderr in ("0\n", "1\n")


def test_a_missing_command_is_answered_with_the_help(folder: Path) -> None:
    done = auditor(folder, "auditor")
    assert (done.returncode, done.stdout) == (2, "")
    assert "Commands:" in done.stderr


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            "check kit.toml --format xml",
            'auditor check: --format: "xml" is not one of "text"',
        ),
        (
            "check kit.toml --fail-on 7",
            'auditor check: --fail-on: "7" is not one of "fault"',
        ),
        ("check", "auditor check: missing argument"),
        ("check kit.toml --colour", "auditor check: no such option: --colour"),
        ("chek kit.toml", 'auditor: no such command "chek"'),
        ("check kit.toml kit.toml", "auditor check: got unexpected extra argument"),
        ("check kit.toml --output", 'auditor: option "--output" requires an argument'),
    ],
)
def test_a_command_line_that_does_not_fit_gets_one_line(
    folder: Path, arguments: str, said: str
) -> None:
    done = auditor(folder, f"auditor {arguments}")
    (line,) = done.stderr.splitlines()
    assert (done.returncode, done.stdout) == (2, "")
    assert line.lower().startswith(said.lower())
    assert line.endswith("--help")
    assert "Value error" not in line


def test_an_interruption_is_one_line(folder: Path) -> None:
    rows = "".join(f"TG-{n},{n}\n" for n in range(1, 60_000))
    (folder / "many.csv").write_text(f"id,listen_port\n{rows}")
    process = subprocess.Popen(
        [sys.executable, "-m", "auditor", "check", "many.csv"],
        cwd=folder,
        env=clean_environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=_obey_interruptions,
    )
    _wait_until_it_reads(process.pid)
    process.send_signal(signal.SIGINT)
    stdout, stderr = process.communicate(timeout=120)
    assert (process.returncode, stdout) == (2, "")
    assert stderr == "auditor: interrupted before the end\n"


def _obey_interruptions() -> None:
    """Undo what a shell does for whatever it runs in the background."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def _wait_until_it_reads(pid: int) -> None:
    """Wait until a process has loaded what reads tables, and so is past its start."""
    for _ in range(600):
        if "tree_sitter" in Path(f"/proc/{pid}/maps").read_text():
            time.sleep(0.2)
            return
        time.sleep(0.05)
    raise AssertionError("it never came so far")


def _raising(fault: BaseException) -> Callable[[], object]:
    def run() -> object:
        raise fault

    return run


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (MemoryError(), "auditor: there is not enough memory for this input"),
        (RecursionError(), "auditor: this input is nested too deeply"),
        (KeyboardInterrupt(), "auditor: interrupted before the end"),
        (ZeroDivisionError("1/0"), "auditor: ZeroDivisionError in run: this is a fault of the"),
    ],
)
def test_what_nobody_foresaw_is_one_line_too(
    capsys: pytest.CaptureFixture[str], fault: BaseException, said: str
) -> None:
    assert ending.status_of(_raising(fault)) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(said)


@pytest.mark.parametrize("status", [0, 1, 2])
def test_a_run_that_ends_in_order_keeps_its_status(status: int) -> None:
    assert ending.status_of(lambda: status) == status


def test_too_little_memory_is_one_line(folder: Path) -> None:
    rows = "".join(f"TG-{n},{'x' * 4000}{n}\n" for n in range(30_000))
    (folder / "large.csv").write_text(f"id,note\n{rows}")

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (400 * 2**20, 400 * 2**20))

    done = auditor(folder, "auditor check large.csv", preexec_fn=limit)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("auditor: there is not enough memory for this input")
    assert len(done.stderr.splitlines()) == 1
