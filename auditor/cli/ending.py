"""How a run ends: its status, and one line for each thing that kept it from its end."""

from collections.abc import Callable, Iterator

import typer

from auditor.cli.output import say
from auditor.cli.status import Status
from auditor.reading.problems import UnusableError

_BY_INTERRUPTION = 130
"""What a command line that was interrupted gives back; common practice, no source."""
_INTERRUPTED = "auditor: interrupted before the end"


def status_of(run: Callable[[], object]) -> int:
    """Run a command and return its exit status, having said what kept it from its end."""
    try:
        status = run()
    except UnusableError as failure:
        say(*failure.problems)
    except typer.TyperException as misuse:
        say(*_misuse(misuse))
    except (KeyboardInterrupt, typer.Abort):
        say(_INTERRUPTED)
    except Exception as fault:
        say(_fault(fault))
    else:
        if status != _BY_INTERRUPTION:
            return status if isinstance(status, int) else Status.CLEAN
        say(_INTERRUPTED)
    return Status.UNUSABLE


def _misuse(misuse: typer.TyperException) -> Iterator[str]:
    """Give what is wrong with the command line; the lines of the help, where nothing was asked."""
    lines = _said(misuse).splitlines()
    if len(lines) > 1:
        yield from lines
        return
    asked = getattr(misuse, "ctx", None)
    command = asked.command_path if asked else "auditor"
    said = lines[0].removesuffix(".").replace("'", '"')
    further = " See" if said.endswith("?") else "; see"
    yield f"{command}: {said[:1].lower()}{said[1:]}{further} {command} --help"


def _said(misuse: typer.TyperException) -> str:
    """Return what is said of an option and its value, without the words of any library."""
    option = misuse.param if isinstance(misuse, typer.BadParameter) else None
    if option is None or not misuse.message:
        return misuse.format_message()
    return f"{option.opts[0]}: {misuse.message.removeprefix('Value error, ')}"


def _fault(fault: Exception) -> str:
    """Return a line on what nobody foresaw, without its text: that may quote a secret."""
    if isinstance(fault, MemoryError):
        return "auditor: there is not enough memory for this input; divide it, or free some memory"
    if isinstance(fault, RecursionError):
        return "auditor: this input is nested too deeply"
    trace = fault.__traceback__
    while trace and trace.tb_next:
        trace = trace.tb_next
    spot = f" in {trace.tb_frame.f_code.co_name}" if trace else ""
    return (
        f"auditor: {type(fault).__name__}{spot}: this is a fault of the auditor, not of your file"
    )
