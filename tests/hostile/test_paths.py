"""A path in a file leads to regular files in its folder, or in one that was allowed; nowhere else.

Every run has a time limit: a pipe that is opened would block for ever.
"""

import os
import socket
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.running import CLEAN
from tests.hostile.attempts import Attempt, Outcome, outcome_of
from tests.policy import THRESHOLDS

OUTSIDE = (
    "leads out of the folder of the file that names it; "
    "copy it there, or name its own folder with --allow-folder"
)
TABLE = "id,address\nTG-03,10.20.0.33\n"
PROFILE = 'title = "Ours"\nabout = "Stands for no product"\n'
POLICY = 'title = "Ours"\n' + THRESHOLDS
REGION = (
    'code = "XX"\nname = "Ours"\nsource = "ours"\n'
    "[[rule]]\nlow_mhz = 2400\nhigh_mhz = 2483.5\nradiated_dbm = 20\n"
)
KEYS = {
    "[kit] modules": ("kit", "modules", TABLE),
    "[kit] profile": ("kit", "profile", PROFILE),
    "[kit] policy": ("kit", "policy", POLICY),
    "[kit] region": ("kit", "region", REGION),
    "[controller] profile": ("controller", "profile", PROFILE),
    "[defaults] profile": ("defaults", "profile", PROFILE),
}
"""Each key that may hold a path: its table, its name, and what the file may hold."""


@pytest.fixture
def kit(tmp_path: Path) -> Path:
    """A folder for a fleet file, with another folder beside it."""
    (tmp_path / "shared").mkdir()
    folder = tmp_path / "kit"
    folder.mkdir()
    return folder


def run(*arguments: str, folder: Path) -> Outcome:
    """Run a command line in a folder."""
    return outcome_of(Attempt(arguments), folder)


def fleet(table: str, key: str, value: str) -> str:
    """Return a clean kit with a key laid into one of its tables."""
    line = f"{key} = {value}"
    if f"[{table}]" in CLEAN:
        return CLEAN.replace(f"[{table}]", f"[{table}]\n{line}")
    return f"[{table}]\n{line}\n{CLEAN}"


def problem(folder: Path, text: str, *options: str) -> str:
    """Return the only problem that is said of a fleet file."""
    (folder / "kit.toml").write_text(text)
    done = run("check", "kit.toml", *options, folder=folder)
    assert (done.status, done.stdout) == (2, ""), done.stderr
    (line,) = done.stderr.splitlines()
    return line


@pytest.mark.parametrize(("table", "key", "content"), KEYS.values(), ids=KEYS.keys())
class TestOutside:
    def test_it_is_refused_with_file_line_and_key(
        self, kit: Path, table: str, key: str, content: str
    ) -> None:
        (kit.parent / "shared" / "own.toml").write_text(content)
        text = fleet(table, key, '"../shared/own.toml"')
        line = text.splitlines().index(f'{key} = "../shared/own.toml"') + 1
        said = f'kit.toml:{line}: {key}: "../shared/own.toml": {OUTSIDE}'
        assert problem(kit, text) == said

    def test_an_absolute_path_is_refused_too(
        self, kit: Path, table: str, key: str, content: str
    ) -> None:
        path = kit.parent / "shared" / "own.toml"
        path.write_text(content)
        assert OUTSIDE in problem(kit, fleet(table, key, f'"{path}"'))

    def test_a_link_that_leads_out_is_refused_too(
        self, kit: Path, table: str, key: str, content: str
    ) -> None:
        (kit.parent / "shared" / "own.toml").write_text(content)
        (kit / "own.toml").symlink_to("../shared/own.toml")
        assert OUTSIDE in problem(kit, fleet(table, key, '"./own.toml"'))

    def test_so_is_one_through_a_linked_folder(
        self, kit: Path, table: str, key: str, content: str
    ) -> None:
        (kit.parent / "shared" / "own.toml").write_text(content)
        (kit / "profiles").symlink_to("../shared")
        assert OUTSIDE in problem(kit, fleet(table, key, '"profiles/own.toml"'))

    def test_its_folder_may_be_allowed(self, kit: Path, table: str, key: str, content: str) -> None:
        (kit.parent / "shared" / "own.toml").write_text(content)
        (kit / "kit.toml").write_text(fleet(table, key, '"../shared/own.toml"'))
        allowed = ("--allow-folder", "../shared")
        assert run("check", "kit.toml", *allowed, folder=kit).status == 1
        assert run("capacity", "kit.toml", *allowed, folder=kit).status in (0, 1)
        assert run("check", "kit.toml", "--allow-folder", "..", folder=kit).status == 1
        assert run("check", "kit.toml", "--allow-folder", ".", folder=kit).status == 2

    def test_links_and_absolute_paths_inside_are_followed(
        self, kit: Path, table: str, key: str, content: str
    ) -> None:
        (kit / "real").write_text(content)
        (kit / "own.toml").symlink_to("real")
        for path in ("./own.toml", str(kit / "own.toml"), "../kit/own.toml"):
            (kit / "kit.toml").write_text(fleet(table, key, f'"{path}"'))
            done = run("check", "kit.toml", folder=kit)
            assert (done.status, done.stderr) == (1, "")


def _fifo(path: Path) -> None:
    os.mkfifo(path)


def _socket(path: Path) -> None:
    before = Path.cwd()
    os.chdir(path.parent)  # the name of a socket is short
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(path.name)
    os.chdir(before)


def _loop(path: Path) -> None:
    path.symlink_to(path.name)


SPECIAL: dict[str, tuple[Callable[[Path], None], str]] = {
    "a pipe": (_fifo, "is a pipe; save what comes out of it as a file"),
    "a socket": (_socket, "is a socket, not a file"),
    "a folder": (Path.mkdir, "is a folder"),
    "a loop of links": (_loop, "cannot be read: Too many levels of symbolic links"),
}


@pytest.mark.parametrize(("make", "said"), SPECIAL.values(), ids=SPECIAL.keys())
@pytest.mark.parametrize(("table", "key", "content"), KEYS.values(), ids=KEYS.keys())
def test_what_is_no_regular_file_is_not_opened(
    kit: Path, table: str, key: str, content: str, make: Callable[[Path], None], said: str
) -> None:
    make(kit / "own.toml")
    assert problem(kit, fleet(table, key, '"./own.toml"')).endswith(f'own.toml": {said}')


@pytest.mark.parametrize("name", ["/dev/zero", "/dev/stdin", "/dev/full", "/proc/self/mem"])
def test_devices_are_outside(kit: Path, name: str) -> None:
    for key in ("modules", "profile", "policy"):
        path = f"{name}.toml" if key == "policy" else name
        assert OUTSIDE in problem(kit, fleet("kit", key, f'"{path}"'))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("/dev/zero", "is a device, not a file"),
        ("/dev/stdin", ""),
        ("/proc/self/mem", "cannot be read"),
    ],
)
def test_a_device_is_not_opened_wherever_it_is_named(kit: Path, name: str, said: str) -> None:
    allowed = ("--allow-folder", "/dev", "--allow-folder", "/proc")
    assert said in problem(kit, fleet("kit", "modules", f'"{name}"'), *allowed)
    (kit / "kit.toml").write_text(CLEAN)
    for arguments in (("check", name), ("capacity", name), ("check", "kit.toml", "--policy", name)):
        done = run(*arguments, folder=kit)
        assert (done.status, done.stdout) == (2, "")
        assert said in done.stderr


class TestPassphrases:
    LINES = '[network]\nname = "a"\nsecurity = "wpa2"\npassphrase = {{ file = "{name}" }}\n'
    MODULE = '[[module]]\nid = "TG-01"\n'

    def text(self, name: str) -> str:
        return self.LINES.format(name=name) + self.MODULE

    @pytest.mark.parametrize("name", ["../shared/own", "/dev/zero", "/proc/self/environ"])
    def test_none_is_read_from_outside(self, kit: Path, name: str) -> None:
        (kit.parent / "shared" / "own").write_text("heron-tidal-ledger")
        said = f"kit.toml:4: passphrase: the file that it names {OUTSIDE}"
        assert problem(kit, self.text(name)) == said

    def test_one_that_is_left_out_on_purpose_may_be_anywhere(self, kit: Path) -> None:
        (kit / "kit.toml").write_text(self.text("/home/somebody/passphrase.txt"))
        done = run("check", "kit.toml", "--without-secrets", folder=kit)
        assert (done.status, done.stderr) == (0, "")

    def test_a_folder_of_passphrases_may_be_allowed(self, kit: Path) -> None:
        (kit.parent / "shared" / "own").write_text("heron-tidal-ledger-quartz-41")
        (kit / "kit.toml").write_text(self.text("../shared/own"))
        done = run("check", "kit.toml", "--allow-folder", "../shared", folder=kit)
        assert "passphrase" not in done.stdout
        assert done.status == 0

    @pytest.mark.parametrize(
        ("make", "said"),
        [
            (_fifo, "file wifi.txt is a pipe"),
            (_socket, "file wifi.txt is a socket"),
            (Path.mkdir, "file wifi.txt is a folder"),
            (lambda path: path.write_bytes(b"\xff\xfe\x00"), "file wifi.txt is no text in UTF-8"),
            (lambda path: path.write_bytes(b"\n"), "file wifi.txt is empty"),
            (lambda path: path.write_bytes(b"x" * 5000), "file wifi.txt has 5000 bytes"),
            (lambda path: None, "file wifi.txt is not there"),
        ],
    )
    def test_the_report_says_why_one_is_not_known(
        self, kit: Path, make: Callable[[Path], object], said: str
    ) -> None:
        make(kit / "wifi.txt")
        (kit / "kit.toml").write_text(self.text("wifi.txt"))
        done = run("check", "kit.toml", folder=kit)
        assert done.status == 0
        assert f"keys: [network] passphrase: {said}" in " ".join(done.stdout.split())


def test_what_the_command_line_names_may_be_anywhere(kit: Path) -> None:
    (kit.parent / "shared" / "own.toml").write_text(POLICY)
    (kit / "kit.toml").write_text(CLEAN)
    done = run("check", "kit/kit.toml", "--policy", "shared/own.toml", folder=kit.parent)
    assert (done.status, done.stderr) == (1, "")
    (kit.parent / "shared" / "link.toml").symlink_to("../kit/kit.toml")
    assert run("check", "shared/link.toml", folder=kit.parent).status == 1


@pytest.mark.parametrize(("table", "key", "content"), KEYS.values(), ids=KEYS.keys())
def test_a_name_with_a_nul_is_none(kit: Path, table: str, key: str, content: str) -> None:
    assert "is not a usable file name" in problem(kit, fleet(table, key, '"./a\\u0000.toml"'))


@pytest.mark.parametrize(
    ("table", "key", "said"),
    [
        ("kit", "modules", 'kit.toml:2: modules: "./none.toml"'),
        ("kit", "policy", 'kit.toml:2: policy: "./none.toml"'),
    ],
)
def test_a_file_that_is_missing_is_said_where_it_is_named(
    kit: Path, table: str, key: str, said: str
) -> None:
    name = '"./none.toml"'
    expected = said.replace("./", "") if key == "modules" else said
    assert problem(kit, fleet(table, key, name)) == f"{expected}: there is no such file"


def test_a_missing_profile_is_a_finding_that_speaks_of_a_file(kit: Path) -> None:
    (kit / "kit.toml").write_text(fleet("kit", "profile", '"./none.toml"'))
    done = run("check", "kit.toml", "--only", "unknown-profile", folder=kit)
    assert 'There is no file "./none.toml".' in done.stdout
    assert done.status == 1
