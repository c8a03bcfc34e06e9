"""A report is written whole or not at all, over no other file and over no input."""

import errno
import os
import resource
import signal
import stat
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

import pytest

from auditor.cli.output import deliver
from auditor.reading.problems import UnusableError
from tests.cli.running import CLEAN, clean_environment, run

LONG = "x" * 200_000


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a fleet that names a file of every kind, each of which is read."""
    lines = (
        '[kit]\nmodules = "kit.csv"\nprofile = "./module.toml"\npolicy = "./policy.toml"\n'
        'region = "./region.toml"\n'
        '[network]\nname = "a"\nsecurity = "wpa2-personal"\npassphrase = { file = "now.txt" }\n'
        'retired_passphrases = [{ file = "then.txt" }]\n'
        '[controller]\nprofile = "./controller.toml"\n'
    )
    thresholds = (
        'title = "Ours"\n[thresholds]\nattack_time = "30 d"\nairtime_advice = "25 %"\n'
        'airtime_risk = "50 %"\nserial_load_risk = "80 %"\nrate_error_risk = "50 %"\n'
        'indicator_current = "20 mA"\nlogic_margin = "0.3 V"\n'
    )
    rule = "[[rule]]\nlow_mhz = 2400\nhigh_mhz = 2483.5\nradiated_dbm = 20\n"
    contents = {
        "kit.toml": lines,
        "kit.csv": "id,address\nTG-01,10.20.0.31\n",
        "module.toml": 'title = "Ours"\n',
        "controller.toml": 'title = "Ours"\n',
        "policy.toml": thresholds,
        "other.toml": thresholds,
        "region.toml": f'code = "XX"\nname = "Ours"\nsource = "ours"\n{rule}',
        "now.txt": "heron-tidal-ledger-quartz-41\n",
        "then.txt": "curlew-brackish-lantern-harbour-77\n",
    }
    for name, content in contents.items():
        (tmp_path / name).write_text(content)
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder with what is in it, hidden ones too."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


INPUTS = ("kit.toml", "kit.csv", "module.toml", "controller.toml", "policy.toml", "region.toml",
          "now.txt", "then.txt")  # fmt: skip


class TestInputs:
    @pytest.mark.parametrize("name", INPUTS)
    def test_none_is_replaced_even_by_force(self, folder: Path, name: str) -> None:
        before = contents(folder)
        done = run("check", "kit.toml", "--output", name, "--force", folder=folder)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr == f"{name}: is read for this report; name another file\n"
        assert contents(folder) == before

    def test_a_policy_of_the_command_line_is_one(self, folder: Path) -> None:
        options = ("--policy", "./other.toml", "--output", "other.toml", "--force")
        assert run("check", "kit.toml", *options, folder=folder).returncode == 2
        assert b"thresholds" in (folder / "other.toml").read_bytes()

    def test_neither_through_a_link_nor_by_another_name(self, folder: Path) -> None:
        (folder / "soft").symlink_to("kit.csv")
        os.link(folder / "now.txt", folder / "hard")
        before = contents(folder)
        for name in ("soft", "hard", f"../{folder.name}/kit.toml", str(folder / "kit.csv")):
            done = run("check", "kit.toml", "--output", name, "--force", folder=folder)
            assert "is read for this report" in done.stderr
        assert contents(folder) == before

    def test_a_file_that_is_not_read_may_be_replaced(self, folder: Path) -> None:
        done = run("check", "kit.toml", "--output", "other.toml", "--force", folder=folder)
        assert (done.returncode, done.stderr) == (0, "")
        assert b"thresholds" not in (folder / "other.toml").read_bytes()


class TestWhole:
    def test_the_file_has_the_rights_of_any_new_file(self, tmp_path: Path) -> None:
        for mask, mode in ((0o022, 0o644), (0o077, 0o600), (0o002, 0o664)):
            before = os.umask(mask)
            try:
                deliver("report", str(tmp_path / f"{mask}"), force=False)
            finally:
                os.umask(before)
            assert stat.S_IMODE((tmp_path / f"{mask}").stat().st_mode) == mode

    def test_while_it_is_written_it_is_hidden_and_for_its_owner_alone(self, tmp_path: Path) -> None:
        seen: list[tuple[str, int]] = []

        def look(_descriptor: int) -> None:
            (path,) = tmp_path.iterdir()
            seen.append((path.name, stat.S_IMODE(path.stat().st_mode)))

        with mock.patch("auditor.cli.output.os.fsync", look):
            deliver("report", str(tmp_path / "report"), force=False)
        ((name, mode),) = seen
        assert name.startswith(".auditor-")
        assert len(name) > 40
        assert mode == 0o600

    def test_a_file_that_appears_meanwhile_is_not_replaced(self, tmp_path: Path) -> None:
        target = tmp_path / "report"

        def appears(_descriptor: int) -> None:
            target.write_text("precious")

        with (
            mock.patch("auditor.cli.output.os.fsync", appears),
            pytest.raises(UnusableError) as failure,
        ):
            deliver("report", str(target), force=False)
        assert "exists already" in str(failure.value.problems[0])
        assert contents(tmp_path) == {"report": b"precious"}

    def test_so_it_is_where_the_file_system_has_no_links(self, tmp_path: Path) -> None:
        refused = OSError(errno.EPERM, "Operation not permitted")
        with mock.patch("auditor.cli.output.os.link", side_effect=refused):
            deliver("report", str(tmp_path / "report"), force=False)
            with pytest.raises(UnusableError):
                deliver("again", str(tmp_path / "report"), force=False)
        assert contents(tmp_path) == {"report": b"report"}

    def test_a_link_that_leads_nowhere_is_refused(self, tmp_path: Path) -> None:
        (tmp_path / "report").symlink_to("elsewhere")
        with pytest.raises(UnusableError) as failure:
            deliver("report", str(tmp_path / "report"), force=True)
        assert "is a link that leads nowhere" in str(failure.value.problems[0])
        assert not (tmp_path / "elsewhere").exists()


@contextmanager
def _failing(name: str, problem: OSError) -> Iterator[None]:
    with mock.patch(f"auditor.cli.output.os.{name}", side_effect=problem):
        yield


FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class TestNotAtAll:
    @pytest.mark.parametrize("force", [False, True])
    @pytest.mark.parametrize("name", ["fsync", "open"])
    def test_a_disk_that_is_full_leaves_everything_as_it_was(
        self, tmp_path: Path, name: str, force: bool
    ) -> None:
        target = tmp_path / "report"
        if force:
            target.write_text("before")
        before = contents(tmp_path)
        with _failing(name, FULL), pytest.raises(UnusableError) as failure:
            deliver("report", str(target), force=force)
        (problem,) = failure.value.problems
        assert str(problem) == f"{target}: cannot be written: No space left on device"
        assert contents(tmp_path) == before

    def test_so_does_a_write_that_fails_in_the_middle(self, tmp_path: Path) -> None:
        (tmp_path / "kit.toml").write_text(CLEAN)
        output = ("--output", "report.json", "--format", "json")
        done = _limited(tmp_path, 1000, "check", "kit.toml", *output)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr == "report.json: cannot be written: File too large\n"
        assert contents(tmp_path) == {"kit.toml": CLEAN.encode()}

    def test_and_an_interruption(self, tmp_path: Path) -> None:
        with (
            mock.patch("auditor.cli.output.os.fsync", side_effect=KeyboardInterrupt),
            pytest.raises(KeyboardInterrupt),
        ):
            deliver("report", str(tmp_path / "report"), force=False)
        assert contents(tmp_path) == {}

    @pytest.mark.skipif(os.getuid() == 0, reason="root may write everywhere")
    def test_a_folder_that_may_not_be_written_to(self, tmp_path: Path) -> None:
        tmp_path.chmod(0o500)
        with pytest.raises(UnusableError) as failure:
            deliver("report", str(tmp_path / "report"), force=False)
        tmp_path.chmod(0o700)
        assert "cannot be written: Permission denied" in str(failure.value.problems[0])

    def test_a_file_system_that_takes_no_files(self, folder: Path) -> None:
        done = run("check", "kit.toml", "--output", "/proc/report", folder=folder)
        assert done.returncode == 2
        assert done.stderr.startswith("/proc/report: cannot be written: ")
        assert len(done.stderr.splitlines()) == 1


def _limited(folder: Path, size: int, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the auditor where no file may grow beyond a size (bytes)."""

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return subprocess.run(
        [sys.executable, "-B", "-m", "auditor", *arguments],
        cwd=folder,
        env=clean_environment(),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        preexec_fn=limit,
    )


def test_the_demo_leaves_no_half_kit(tmp_path: Path) -> None:
    done = _limited(tmp_path, 1000, "demo", "kit")
    assert (done.returncode, done.stdout) == (2, "")
    assert "cannot be written" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == []
