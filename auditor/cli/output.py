"""Where reports and problems go: the terminal, a pipe, or a file that is written whole."""

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from shutil import get_terminal_size

from auditor.models.places import Place
from auditor.reading.problems import UnusableError, unusable
from auditor.reports.escaping import on_one_line
from auditor.reports.layout import GREATEST_WIDTH, USUAL_WIDTH


def say(*lines: object) -> None:
    """Write lines to standard error, with whatever a terminal would obey escaped."""
    for line in lines:
        print(on_one_line(str(line)), file=sys.stderr)


def deliver(report: str, output: str | None, *, force: bool) -> None:
    """Write a report to a file, or to standard output where none is named.

    Raises:
        UnusableError: the file cannot be written, or is there already and `force` is off.
    """
    if output is None:
        _print(report)
    else:
        _write_whole(report, output, force=force)


def takes_colour(output: str | None, environment: Mapping[str, str]) -> bool:
    """Say whether a report may be in colour: on a terminal, and nobody asked for none.

    Source: NO_COLOR counts unless it is empty, no-color.org (from memory, unverified).
    """
    is_terminal = output is None and sys.stdout.isatty()
    return is_terminal and not environment.get("NO_COLOR") and environment.get("TERM") != "dumb"


def line_width(output: str | None) -> int:
    """Return how many characters a line may have: a terminal's own, within limits."""
    if output is not None or not sys.stdout.isatty():
        return USUAL_WIDTH
    return min(max(get_terminal_size().columns, USUAL_WIDTH), GREATEST_WIDTH)


def _print(report: str) -> None:
    """Write to standard output; a reader that has gone away is nothing to speak of."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        sys.stdout.write(report)
        sys.stdout.flush()
    except OSError as problem:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # takes what is left over
        if not isinstance(problem, BrokenPipeError):
            raise _not_written("standard output", problem) from None


def _write_whole(report: str, output: str, *, force: bool) -> None:
    target = Path(os.path.realpath(output))
    partial = target.with_name(f".auditor.{os.getpid()}.partial")
    try:
        _require_free(target, output, force=force)
        with partial.open("x", encoding="utf-8", errors="backslashreplace", newline="") as file:
            file.write(report)
        partial.replace(target)
    except OSError as problem:
        raise _not_written(output, problem) from None
    finally:
        partial.unlink(missing_ok=True)


def _not_written(output: str, problem: OSError) -> UnusableError:
    return unusable(Place(output), f"cannot be written: {problem.strerror}")


def _require_free(target: Path, output: str, *, force: bool) -> None:
    if target.is_dir():
        raise unusable(Place(output), "is a folder; name a file in it")
    if not target.parent.is_dir():
        raise unusable(Place(output), "its folder does not exist; make it first")
    if target.exists() and not target.is_file():
        raise unusable(Place(output), "is not a plain file")
    if target.exists() and not force:
        raise unusable(Place(output), "exists already; --force replaces it")
