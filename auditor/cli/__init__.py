"""The command line: options, one call, an exit status.

Commands import what they need when they run, so that help and mistyped options answer at once.
"""

import sys

import typer

from auditor.cli.capacity import capacity
from auditor.cli.check import check
from auditor.cli.checks import checks
from auditor.cli.demo import demo
from auditor.cli.explain import explain
from auditor.cli.output import say
from auditor.cli.status import Status
from auditor.cli.uart import uart
from auditor.reading.problems import UnusableError

COMMANDS = (check, demo, capacity, uart, checks, explain)

app = typer.Typer(
    name="auditor",
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
    try:
        app(prog_name="auditor")  # ends the process itself, with the command's status
    except UnusableError as failure:
        say(*failure.problems)
    except Exception as fault:
        say(_own_fault(fault))
    sys.exit(Status.UNUSABLE)


def _own_fault(fault: Exception) -> str:
    """Return a line on a fault of ours, without its text: that may quote a secret."""
    trace = fault.__traceback__
    while trace and trace.tb_next:
        trace = trace.tb_next
    spot = f" in {trace.tb_frame.f_code.co_name}" if trace else ""
    return (
        f"auditor: {type(fault).__name__}{spot}: this is a fault of the auditor, not of your file"
    )
