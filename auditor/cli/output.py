"""Where reports and problems go: the terminal, a pipe, or a file that is written whole."""

import os
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from shutil import get_terminal_size
from typing import TextIO

from auditor.models.places import Place
from auditor.reading.problems import UnusableError, unusable
from auditor.reports.escaping import on_one_line
from auditor.reports.layout import GREATEST_WIDTH, USUAL_WIDTH

_TAKEN = "exists already; --force replaces it"


def say(*lines: object) -> None:
    """Write lines to standard error, with whatever a terminal would obey escaped."""
    if sys.stderr is None:  # it was closed, and print() would then choose standard output
        return
    try:
        for line in lines:
            print(on_one_line(str(line)), file=sys.stderr, flush=True)
    except OSError:
        _give_up(sys.stderr)


def deliver(report: str | Iterable[str], output: str | None, *, force: bool) -> None:
    """Write a report, or its pieces, to a file, or to standard output where none is named.

    Raises:
        UnusableError: the file cannot be written, or is there already and `force` is off.
    """
    pieces = (report,) if isinstance(report, str) else report
    if output is None:
        _print(pieces)
    else:
        _write_whole(pieces, output, force=force)


def deliver_folder(files: Mapping[str, str], folder: str, *, force: bool) -> None:
    """Write files into a folder, all of them or none; it is made where it is missing.

    Raises:
        UnusableError: one cannot be written, or something is there already and `force` is off.
    """
    target = Path(os.path.realpath(folder))
    with _problems_of(folder):
        _require_empty(target, folder, force=force)
        is_new = not target.exists()
        if is_new:
            target.mkdir()
    try:
        named = {str(Path(folder) / name): text for name, text in files.items()}
        deliver_together(named, force=force, private=False)
    except UnusableError:
        if is_new:
            target.rmdir()
        raise


def deliver_together(files: Mapping[str, str], *, force: bool, private: bool) -> None:
    """Write several files, all of them or none; `private` ones are for their owner alone.

    Raises:
        UnusableError: one cannot be written, or is there already and `force` is off.
    """
    for output in files:
        with _problems_of(output):
            _require_free(Path(os.path.realpath(output)), output, force=force)
    targets = {Path(os.path.realpath(output)): text for output, text in files.items()}
    with _problems_of(" and ".join(files)):
        _write_together(targets, force=force, private=private)


def refuse_inputs(output: str | None, inputs: Iterable[Path]) -> None:
    """Refuse to replace what a report is made from, even where replacing files is allowed.

    Raises:
        UnusableError: the file for the report is one of the inputs.
    """
    if output is None:
        return
    for path in inputs:
        with suppress(OSError, ValueError):  # one of the two is not there
            if os.path.samefile(output, path):
                raise unusable(Place(output), "is read for this report; name another file")


def takes_colour(output: str | None, environment: Mapping[str, str]) -> bool:
    """Say whether a report may be in colour: on a terminal, and nobody asked for none.

    Source: NO_COLOR counts unless it is empty, no-color.org (from memory, unverified).
    """
    if not _is_terminal(output) or environment.get("NO_COLOR"):
        return False
    return environment.get("TERM") != "dumb"


def line_width(output: str | None) -> int:
    """Return how many characters a line may have: a terminal's own, within limits."""
    if not _is_terminal(output):
        return USUAL_WIDTH
    return min(max(get_terminal_size().columns, USUAL_WIDTH), GREATEST_WIDTH)


def _is_terminal(output: str | None) -> bool:
    return output is None and sys.stdout is not None and sys.stdout.isatty()


def _print(pieces: Iterable[str]) -> None:
    """Write to standard output; a reader that has gone away is nothing to speak of."""
    if sys.stdout is None:
        raise unusable(Place("standard output"), "is closed; open it, or name a file")
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        sys.stdout.writelines(pieces)
        sys.stdout.flush()
    except OSError as problem:
        _give_up(sys.stdout)
        if not isinstance(problem, BrokenPipeError):
            raise _not_written("standard output", problem) from None


def _give_up(stream: TextIO) -> None:
    """Let a stream that takes nothing more lose what is left, which would fail again at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _write_whole(pieces: Iterable[str], output: str, *, force: bool) -> None:
    """Write a file whole or not at all; a link stays one, and what it leads to is written."""
    with _problems_of(output):
        target = Path(os.path.realpath(output))
        _require_free(target, output, force=force)
        with _finished(pieces, target, 0o666 & ~_umask()) as partial:
            _publish(partial, target, force=force)


def _write_together(files: Mapping[Path, str], *, force: bool, private: bool = False) -> None:
    """Write whole files, all of them or none: no name is given before all are finished."""
    mode = 0o600 if private else 0o666 & ~_umask()
    new: list[Path] = []
    with ExitStack() as stack:
        finished = {
            target: stack.enter_context(_finished((text,), target, mode))
            for target, text in files.items()
        }
        try:
            for target, partial in finished.items():
                is_new = not target.exists()
                _publish(partial, target, force=force)
                new += [target] if is_new else []
        except OSError:
            for target in new:
                target.unlink(missing_ok=True)
            raise


@contextmanager
def _problems_of(output: str) -> Iterator[None]:
    """Say why a file cannot be written, by the name that was given."""
    try:
        yield
    except FileExistsError:
        raise unusable(Place(output), _TAKEN) from None
    except OSError as problem:
        raise _not_written(output, problem) from None


@contextmanager
def _finished(pieces: Iterable[str], target: Path, mode: int) -> Iterator[Path]:
    """Write a file that only wants its name, and leave nothing of it if it does not get it."""
    with _partial_beside(target) as (partial, file):
        file.writelines(pieces)
        file.flush()
        os.fsync(file.fileno())
        partial.chmod(mode)
        yield partial


@contextmanager
def _partial_beside(target: Path) -> Iterator[tuple[Path, TextIO]]:
    """Open a new file beside another, under a name that nobody can know and for us alone."""
    partial = target.with_name(f".auditor-{os.urandom(16).hex()}.partial")
    new = os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with open(new, "w", encoding="utf-8", errors="backslashreplace", newline="") as file:
            yield partial, file
    finally:
        partial.unlink(missing_ok=True)


def _publish(partial: Path, target: Path, *, force: bool) -> None:
    """Give a finished file its name; what took that name meanwhile is not replaced."""
    if force:
        partial.replace(target)
        return
    try:
        os.link(partial, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: take the name first
        os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
        partial.replace(target)


def _umask() -> int:
    """Return which rights new files do not get; it can be read only by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _not_written(output: str, problem: OSError) -> UnusableError:
    return unusable(Place(output), f"cannot be written: {problem.strerror}")


def _require_empty(target: Path, folder: str, *, force: bool) -> None:
    if not target.exists():
        if not target.parent.is_dir():
            raise unusable(Place(folder), "the folder that it would be in does not exist; make it")
        if os.path.islink(folder):
            raise unusable(Place(folder), "is a link that leads nowhere; name the folder itself")
        return
    if not target.is_dir():
        raise unusable(Place(folder), "is not a folder; name a new or an empty one")
    if not force and any(target.iterdir()):
        raise unusable(
            Place(folder), "is not empty; name a new folder, or write into it with --force"
        )


def _require_free(target: Path, output: str, *, force: bool) -> None:
    if target.is_dir():
        raise unusable(Place(output), "is a folder; name a file in it")
    if not target.parent.is_dir():
        raise unusable(Place(output), "its folder does not exist; make it first")
    if target.exists() and not target.is_file():
        raise unusable(Place(output), "is not a plain file")
    if target.exists() and not force:
        raise unusable(Place(output), _TAKEN)
    if os.path.islink(output) and not target.exists():
        raise unusable(Place(output), "is a link that leads nowhere; name the file itself")
