"""The command line: options, one call, an exit status.

Commands import what they need when they run, so that help and mistyped options answer at once.
"""

import atexit
import gc
import sys

import typer.main

from auditor.cli.capacity import capacity
from auditor.cli.check import check
from auditor.cli.checks import checks
from auditor.cli.demo import demo
from auditor.cli.ending import status_of
from auditor.cli.explain import explain
from auditor.cli.uart import uart
from auditor.cli.usage import Commands

COMMANDS = (check, demo, capacity, uart, checks, explain)
NEW_OBJECTS = 100_000
"""So many come before the next search for garbage; a run on a small kit makes fewer."""

app = typer.Typer(
    name="auditor",
    cls=Commands,
    help="Checks the network settings of a kit of small serial-to-Wi-Fi radio modules.",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
for command in COMMANDS:
    app.command(command.__name__)(command)


def main() -> None:
    """Run the command that the arguments name, and end with its exit status."""
    search_seldom_for_garbage()
    command = typer.main.get_command(app)  # not app(): that puts itself in charge of tracebacks
    sys.exit(status_of(lambda: command(prog_name="auditor", standalone_mode=False)))


def search_seldom_for_garbage() -> None:
    """Let a run search seldom for garbage among what it loads, and not once more at its end.

    Both searches find next to nothing, and would take a seventh of a short run.
    """
    gc.set_threshold(NEW_OBJECTS)
    atexit.register(gc.freeze)
