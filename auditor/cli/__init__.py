"""The command line: options, one call, an exit status.

Commands import what they need when they run, so that help and mistyped options answer at once,
and a run loads no command but the one that it is asked for.
"""

import atexit
import gc
import sys
from collections.abc import Callable, Iterable
from importlib import import_module

import typer.main

from auditor.cli.ending import status_of
from auditor.cli.usage import Commands

COMMANDS = (
    "check",
    "plan",
    "demo",
    "diagnose",
    "capacity",
    "cards",
    "compare",
    "reprovision",
    "repair",
    "uart",
    "checks",
    "explain",
    "profiles",
    "schema",
)
"""Each is a function of its name, in a module of its name."""
NEW_OBJECTS = 100_000
"""So many come before the next search for garbage; a run on a small kit makes fewer."""


def app(names: Iterable[str] = COMMANDS) -> typer.Typer:
    """Return the command line with some of its commands, all of them if none are named."""
    line = typer.Typer(
        name="auditor",
        cls=Commands,
        help="Checks the network settings of a kit of small serial-to-Wi-Fi radio modules.",
        add_completion=False,
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
    )
    for name in names:
        command: Callable[..., None] = getattr(import_module(f"auditor.cli.{name}"), name)
        line.command(name)(command)
    return line


def main() -> None:
    """Run the command that the arguments name, and end with its exit status."""
    search_seldom_for_garbage()
    asked = [name for name in COMMANDS if name in sys.argv[1:2]]
    # not app(): that puts itself in charge of tracebacks
    command = typer.main.get_group(app(asked or COMMANDS))
    sys.exit(status_of(lambda: command(prog_name="auditor", standalone_mode=False)))


def search_seldom_for_garbage() -> None:
    """Let a run search seldom for garbage among what it loads, and not once more at its end.

    Both searches find next to nothing, and would take a seventh of a short run.
    """
    gc.set_threshold(NEW_OBJECTS)
    atexit.register(gc.freeze)
