"""What is written is what was asked for, and holds no secret that was not asked for."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from auditor.demo import FILES, FOLDER, SECRETS, write_to
from auditor.examples import ENVIRONMENT
from tests.secrets.canary import AWKWARD, CANARIES, PLAIN, document, kit_of
from tests.secrets.forms import leaks
from tests.secrets.runs import formats, run
from tests.secrets.writing import files_in, full_disk, watched

CHANGES = {"os.link", "os.rename", "os.remove", "os.chmod"}
"""What a file that is written whole may need besides being written."""


@pytest.fixture
def kit(tmp_path: Path) -> Path:
    """A folder with a kit whose secret is in clear, in a file and in an id."""
    folder = tmp_path / "kit"
    folder.mkdir()
    fleet = document(AWKWARD)
    fleet["network"]["retired_passphrases"] = [{"file": "secret.txt"}]
    fleet["module"][0]["id"] = AWKWARD.text
    fleet.pop("session", None)  # it names that module by its old id
    kit_of(fleet).write(folder)
    (folder / "secret.txt").write_text(PLAIN.text)
    return folder


def silent(text: str) -> bool:
    """Say whether a text holds neither of the kit's secrets."""
    return leaks(text, AWKWARD.text, PLAIN.text) == set()


@pytest.mark.parametrize("format", formats("check"))
def test_only_the_report_is_written(kit: Path, tmp_path: Path, format: str) -> None:
    report = kit / f"report.{format}"
    arguments = ("check", "kit.toml", "--format", format, "--output", report.name)
    run = watched(*arguments, folder=kit, beside=tmp_path / "beside")
    assert run.status == 0, run.said
    assert report.stat().st_size
    assert {path.parent for path in run.opened} == {kit}
    assert [path for path in run.opened if path.exists()] in ([report], [])
    assert run.did <= CHANGES
    assert {path.name for path in files_in(kit)} == {"kit.toml", "secret.txt", report.name}
    assert list(files_in(tmp_path / "beside" / "tmp")) == []
    assert silent(run.said + report.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "kit.toml"),
        ("capacity", "kit.toml"),
        ("cards", "kit.toml"),
        ("repair", "kit.toml"),
        ("demo",),
        ("check", "kit.toml", "--policy", "no-such"),
        ("check", "secret.txt"),
        ("check", "kit.toml", "--output", "kit.toml"),
        ("check", "kit.toml", "--output", "missing/report.txt"),
    ],
    ids=" ".join,
)
def test_nothing_is_written_where_no_file_is_asked_for(
    kit: Path, tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    before = {path: path.read_bytes() for path in files_in(kit)}
    run = watched(*arguments, folder=kit, beside=tmp_path / "beside")
    assert run.said
    assert run.opened == set()
    assert run.did <= {"os.remove"}
    assert {path: path.read_bytes() for path in files_in(kit)} == before
    assert list(files_in(tmp_path / "beside" / "tmp")) == []
    assert silent(run.said)


@pytest.mark.parametrize("arguments", [("check", "kit.toml", "--output", "report.txt")])
def test_a_full_disk_leaves_nothing(kit: Path, tmp_path: Path, arguments: tuple[str, ...]) -> None:
    run = watched(*arguments, folder=kit, beside=tmp_path / "beside", prepare=full_disk)
    assert "cannot be written" in run.said
    assert {path.name for path in files_in(kit)} == {"kit.toml", "secret.txt"}
    assert list(files_in(tmp_path / "beside" / "tmp")) == []
    assert silent(run.said)


def test_the_demo_writes_its_files_and_no_other(tmp_path: Path) -> None:
    folder = tmp_path / "work"
    folder.mkdir()
    run = watched("demo", "play", folder=folder, beside=tmp_path / "beside")
    assert run.status == 1, run.said
    assert run.opened == {folder / "play" / name for name in FILES}
    assert run.did <= {"os.mkdir"}
    assert set(files_in(folder)) == run.opened


@pytest.fixture(params=[0o000, 0o022, 0o077], ids="umask {:03o}".format)
def umask(request: pytest.FixtureRequest) -> Iterator[int]:
    """The umask of this process, for the time of a test."""
    before = os.umask(request.param)
    yield int(request.param)
    os.umask(before)


def _mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_only_its_owner_may_read_a_passphrase_that_we_write(folder: Path, umask: int) -> None:
    run("demo", "play")
    for name in FILES:
        expected = 0o600 if name in SECRETS else 0o666 & ~umask
        assert _mode(folder / "play" / name) == expected, name
        assert (folder / "play" / name).read_bytes() == (FOLDER / name).read_bytes()


def test_a_passphrase_is_nobody_elses_from_the_start(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is made so, not changed afterwards; and it is new, so that no link leads elsewhere."""
    made: dict[str, tuple[int, int]] = {}
    opened = os.open

    def noting(path: Any, flags: int, mode: int = 0o777, **more: Any) -> int:
        made[Path(path).name] = flags, mode
        return opened(path, flags, mode, **more)

    monkeypatch.setattr(os, "open", noting)
    monkeypatch.setattr(os, "chmod", None)
    write_to(folder)
    assert {made[name][1] for name in SECRETS} == {0o600}
    assert all(flags & os.O_EXCL for flags, _ in made.values())


def test_a_link_in_place_of_a_passphrase_is_not_followed(folder: Path) -> None:
    (folder / "play").mkdir()
    (folder / "play" / SECRETS[0]).symlink_to(folder / "elsewhere.txt")
    outcome = run("demo", "play")
    assert outcome.status == 2
    assert "exists already" in outcome.stderr
    assert not (folder / "elsewhere.txt").exists()
    assert [path.name for path in (folder / "play").iterdir()] == [SECRETS[0]]


def test_the_files_with_a_passphrase_are_all_that_hold_one() -> None:
    for name in set(FILES) - set(SECRETS):
        text = (FOLDER / name).read_text(encoding="utf-8")
        assert not any((FOLDER / secret).read_text().strip() in text for secret in SECRETS)


def test_the_demo_does_not_say_its_passphrases(folder: Path) -> None:
    said = run("demo").everything + run("demo", "play").everything
    assert said
    assert not any((FOLDER / secret).read_text().strip() in said for secret in SECRETS)


def test_no_expected_report_holds_a_passphrase() -> None:
    secrets = [(FOLDER / name).read_text().strip() for name in SECRETS]
    secrets += [*ENVIRONMENT.values(), *(canary.text for canary in CANARIES.values())]
    kept = [path for path in files_in(Path(__file__).parents[1]) if _is_expected(path)]
    assert kept
    for path in kept:
        text = path.read_text(encoding="utf-8")
        assert [secret for secret in secrets if secret in text] == [], path


def _is_expected(path: Path) -> bool:
    return "golden" in path.parts
