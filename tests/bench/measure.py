"""Runs processes one by one, and says what each of them takes.

This process itself stays small: the peak of a process that it starts is never below its own.
"""

import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from subprocess import PIPE, Popen
from time import perf_counter
from typing import TypeVar

from tests.bench.kits import ENVIRONMENT

ROOT = Path(__file__).parents[2]
_PIPE_CHARACTERS = 65_536
_SLOWING = frozenset({"PYTHONDONTWRITEBYTECODE", "PYTHONUNBUFFERED"})
"""Settings of an environment that would make every run slower than it is for its users."""
Side = TypeVar("Side")
Taken = TypeVar("Taken")


@dataclass(frozen=True)
class Run:
    """What a whole process took, and what it printed."""

    cpu_s: float
    wall_s: float
    output: str


@dataclass(frozen=True)
class Work:
    """What a piece of work took inside a process, above what the idle process has.

    `counts` are its findings by check, where it gives any; `refused` says why there are none.
    """

    cpu_s: float = 0.0
    bytes: int = 0
    counts: Mapping[str, int] = field(default_factory=dict)
    refused: str = ""


class Processes:
    """Processes of this Python in one environment: byte code is kept in a folder of its own.

    Without such a folder an environment that writes no byte code would have every run compile
    the auditor again, and only the auditor: installed packages are compiled already.
    """

    def __init__(self, byte_code: Path) -> None:
        kept = {key: value for key, value in os.environ.items() if key not in _SLOWING}
        self._environment = {**kept, **ENVIRONMENT, "PYTHONPYCACHEPREFIX": str(byte_code)}

    def run(self, arguments: Sequence[str], ends_with: Iterable[int] = (0,)) -> Run:
        """Return what a process takes, its output read from a pipe.

        Raises:
            RuntimeError: it ends with another status than one of `ends_with`; what it says of
                that goes to standard error.
        """
        start_s = perf_counter()
        process = Popen(
            [sys.executable, *arguments], cwd=ROOT, env=self._environment, stdout=PIPE, text=True
        )
        output = _beginning(process)
        _, status, usage = os.wait4(process.pid, 0)
        wall_s = perf_counter() - start_s
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode not in ends_with:
            raise RuntimeError(f"{' '.join(arguments)} ended with status {process.returncode}")
        return Run(usage.ru_utime + usage.ru_stime, wall_s, output)

    def work(self, side: str, folder: Path, warm_up: Path) -> Work:
        """Return what a side's work on a kit takes, in a process of its own."""
        run = self.run(["-m", "tests.bench.work", side, str(folder), str(warm_up)])
        return Work(**json.loads(run.output))


def _beginning(process: Popen[str]) -> str:
    """Read all that a process writes, and return the beginning of it."""
    assert process.stdout is not None  # it is a pipe
    with process.stdout as pipe:
        beginning = pipe.read(_PIPE_CHARACTERS)
        while pipe.read(_PIPE_CHARACTERS):
            pass
    return beginning


def in_turns(
    sides: Iterable[Side], rounds: int, run: Callable[[Side], Taken]
) -> dict[Side, list[Taken]]:
    """Return what every side took in each round; in a round each has its turn.

    So a machine that is busy for a while is busy for all of them.
    """
    taken: dict[Side, list[Taken]] = {side: [] for side in sides}
    for _ in range(rounds):
        for side, runs in taken.items():
            runs.append(run(side))
    return taken
