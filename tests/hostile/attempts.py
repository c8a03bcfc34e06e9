"""One attempt: files and a command line, what came of it, and what was not as promised."""

import io
import os
import re
import signal
import sys
import time
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import NoReturn
from unittest import mock

from auditor.cli import main
from tests.cli.running import EPOCH

LONGEST_S, LONGEST_WAIT_S = 20, 180
"""Seconds of computing, and of waiting; far more than any attempt needs, on any machine."""
INVISIBLE = ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")
"""Categories of Unicode that a terminal obeys, hides or cannot show."""


@dataclass(frozen=True)
class Attempt:
    """Files by name, and the arguments of a command that is run beside them."""

    arguments: tuple[str, ...]
    files: Mapping[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True)
class Outcome:
    """How an attempt ended, what was said, and how long it computed."""

    status: object
    stdout: str
    stderr: str
    seconds: float


class TooSlowError(BaseException):
    """An attempt takes longer than it may; nothing in the auditor catches this."""


def outcome_of(attempt: Attempt, folder: Path) -> Outcome:
    """Write the files of an attempt into a folder, and run its command there in this process."""
    for name, content in attempt.files.items():
        (folder / name).write_bytes(content)
    stdout, stderr = io.StringIO(), io.StringIO()
    before, start = Path.cwd(), time.process_time()
    os.chdir(folder)
    try:
        with (
            mock.patch.dict(os.environ, {"SOURCE_DATE_EPOCH": EPOCH}),
            mock.patch.object(sys, "argv", ["auditor", *attempt.arguments]),
            redirect_stdout(stdout),
            redirect_stderr(stderr),
            _in_time(),
        ):
            status = _status()
    finally:
        os.chdir(before)
    return Outcome(status, stdout.getvalue(), stderr.getvalue(), time.process_time() - start)


def _status() -> object:
    try:
        main()
    except SystemExit as end:
        return end.code
    except TooSlowError:
        return "longer than it may take"
    return None


@contextmanager
def _in_time() -> Iterator[None]:
    """End what computes, or only waits, for too long."""
    before = [signal.signal(each, _too_slow) for each in (signal.SIGPROF, signal.SIGALRM)]
    signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
    signal.setitimer(signal.ITIMER_REAL, LONGEST_WAIT_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        for each, handler in zip((signal.SIGPROF, signal.SIGALRM), before, strict=True):
            signal.signal(each, handler)


def _too_slow(_number: int, _frame: FrameType | None) -> NoReturn:
    raise TooSlowError


def broken(attempt: Attempt, outcome: Outcome, folder: Path) -> list[str]:
    """Return what an attempt in a folder of its own did that no command may ever do."""
    return [*_misbehaviour(attempt, outcome), *_touched(attempt, folder)]


def _misbehaviour(attempt: Attempt, outcome: Outcome) -> Iterator[str]:
    if outcome.status not in (0, 1, 2):
        yield f"ended with {outcome.status}"
    if "Traceback" in outcome.stderr or "fault of the auditor" in outcome.stderr:
        yield f"broke: {outcome.stderr.strip().splitlines()[-1][:200]}"
    if outcome.status == 2 and outcome.stdout:
        yield "said something on standard output, and ended with 2"
    if (outcome.status == 2) != bool(outcome.stderr.strip()):
        yield f"ended with {outcome.status} and said on standard error {outcome.stderr[:80]!r}"
    if attempt.arguments and any(not line.strip() for line in outcome.stderr.splitlines()):
        yield "a problem takes more than one line"
    for name, said in (("output", outcome.stdout), ("error", outcome.stderr)):
        if raw := raw_characters(said):
            yield f"standard {name} has {', '.join(f'U+{ord(each):04X}' for each in raw)}"


def raw_characters(said: str) -> list[str]:
    """Return the characters in what was said that a terminal obeys or hides."""
    inner = re.sub(r"\r?\n", "", said)
    return sorted({each for each in set(inner) if unicodedata.category(each) in INVISIBLE})


def _touched(attempt: Attempt, folder: Path) -> Iterator[str]:
    """Give what an attempt changed in its folder beside the file that it was asked for."""
    asked = {attempt.arguments[at + 1] for at in _places_of("--output", attempt.arguments)}
    for path in folder.rglob("*"):
        name = str(path.relative_to(folder))
        content = attempt.files.get(name)
        if name not in asked and (content is None or path.read_bytes() != content):
            yield f"wrote {name!r}"


def _places_of(option: str, arguments: tuple[str, ...]) -> Iterator[int]:
    return (at for at, argument in enumerate(arguments[:-1]) if argument == option)
