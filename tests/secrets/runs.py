"""Every command in every format, run in this process with all that it says."""

import io
import logging
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import get_type_hints
from unittest import mock

import typer.main

from auditor.cli import app, main
from tests.cli.running import EPOCH
from tests.secrets.canary import Kit

OWN_ARGUMENTS: Mapping[str, tuple[str, ...]] = {
    "demo": (),
    "plan": (str(Path(__file__).with_name("brief.toml")), "--output", "made"),
    "uart": ("--clock", "8 MHz", "--rate", "9600"),
    "checks": (),
    "explain": ("weak-passphrase",),
    "profiles": ("strict",),
    "schema": (),
}
"""What the commands that read no fleet are run with."""
BOARDS = ("TG-31", "TG-02", "TG-01")
"""One of them is in each kit; the second has a passphrase of its own where a module has one."""
PAGES = frozenset({"cards"})
"""The commands that write a page and nothing else."""
FURTHER_OPTIONS: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "check": (("--without-secrets",), ("--only", "passphrase-differs", "--policy", "strict")),
    "compare": (("--without-secrets",),),
    "reprovision": (("--without-secrets",), ("--over", "network")),
    "diagnose": (("--without-secrets", "--seen", "handshake=failed"),),
    "repair": (("--without-secrets",),),
}
"""Options that change what is said of a secret."""


_built = cache(typer.main.get_command)


@dataclass(frozen=True)
class Outcome:
    """What a run wrote, how it ended, and what it was."""

    arguments: tuple[str, ...]
    status: object
    stdout: str
    stderr: str
    log: str

    @property
    def everything(self) -> str:
        """All that it said anywhere."""
        return "\n".join((self.stdout, self.stderr, self.log))


def commands() -> Mapping[str, Callable[..., None]]:
    """Return every command of the command line by its name."""
    return {
        each.name: each.callback
        for each in app().registered_commands
        if each.name and each.callback
    }


@cache
def fleets_of(name: str) -> int:
    """Return how many fleet files a command reads."""
    return len({"fleet", "planned", "found"}.intersection(get_type_hints(commands()[name])))


def reads_fleet(name: str) -> bool:
    """Say whether a command reads a fleet file."""
    return fleets_of(name) > 0


@cache
def asks_for_board(name: str) -> bool:
    """Say whether a command is asked about one board."""
    return "id" in get_type_hints(commands()[name])


@cache
def formats(name: str) -> tuple[str, ...]:
    """Return the formats of a command, as its own option lists them."""
    return tuple(map(str, get_type_hints(commands()[name]).get("format", ())))


def lines(fleet: str, board: str = BOARDS[1]) -> Iterator[tuple[str, ...]]:
    """Give the command lines of every command that reads a fleet, in every format."""
    for name in filter(reads_fleet, commands()):
        files = [fleet] * fleets_of(name)
        asked = (name, *files, board) if asks_for_board(name) else (name, *files)
        for format in formats(name):
            yield *asked, "--format", format
        for options in FURTHER_OPTIONS.get(name, ()):
            yield *asked, *options
        if name in PAGES:
            yield name, fleet


def run(*arguments: str, environment: Mapping[str, str] | None = None) -> Outcome:
    """Run a command line in the current folder."""
    log, stdout, stderr = io.StringIO(), io.StringIO(), io.StringIO()
    handler = logging.StreamHandler(log)
    surroundings = {"SOURCE_DATE_EPOCH": EPOCH, **(environment or {})}
    logging.getLogger().addHandler(handler)
    try:
        with (
            mock.patch.dict(os.environ, surroundings),
            mock.patch.object(sys, "argv", ["auditor", *arguments]),
            mock.patch.object(typer.main, "get_command", _built),  # once, not for every run
            redirect_stdout(stdout),
            redirect_stderr(stderr),
        ):
            status = _status()
    finally:
        logging.getLogger().removeHandler(handler)
    return Outcome(arguments, status, stdout.getvalue(), stderr.getvalue(), log.getvalue())


def _status() -> object:
    try:
        main()
    except SystemExit as end:
        return end.code
    return None


def runs_of(kit: Kit, folder: Path) -> Iterator[Outcome]:
    """Write a kit into the current folder, and give every command's run of it."""
    fleet = kit.write(folder)
    for line in lines(fleet, _board_of(kit)):
        yield run(*line, *_options(line[0], kit), environment=kit.environment)


def _board_of(kit: Kit) -> str:
    """Return the id of a board of a kit."""
    text = "".join(kit.files.values())
    return next((board for board in BOARDS if board in text), BOARDS[0])


def _options(name: str, kit: Kit) -> tuple[str, ...]:
    """Return the options of a kit, for both files where a command reads two."""
    if "planned_column" not in get_type_hints(commands()[name]):
        return kit.options
    planned = ("--planned-column" if each == "--column" else each for each in kit.options)
    return (*kit.options, *planned)
