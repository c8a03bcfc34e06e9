"""Makes hostile attempts until the time is over, and prints what came of them.

`python -m tests.fuzz --seed N --seconds S [--kind KIND]`; the exit status is 1 where something
broke. Each attempt has a seed of its own: `--again KIND:SEED` makes one attempt once more.
"""

import argparse
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from tabulate import tabulate

from tests.hostile.attempts import Attempt, Outcome, broken, outcome_of
from tests.hostile.kinds import KINDS


@dataclass
class Tally:
    """What came of the attempts of one kind so far."""

    statuses: Counter[object] = field(default_factory=Counter)
    seconds: float = 0.0
    slowest: tuple[float, str] = (0.0, "")
    broken: list[str] = field(default_factory=list)

    def add(self, outcome: Outcome, said: list[str], name: str) -> None:
        """Count an attempt."""
        self.statuses[outcome.status] += 1
        self.seconds += outcome.seconds
        self.slowest = max(self.slowest, (outcome.seconds, name))
        self.broken += [f"{name}: {each}" for each in said]


def attempt_of(kind: str, seed: int) -> Attempt:
    """Return the attempt of a kind that a seed stands for."""
    return KINDS[kind](Random(seed))


def tried(attempt: Attempt) -> tuple[Outcome, list[str]]:
    """Make an attempt in a folder of its own; return its outcome and what broke."""
    with TemporaryDirectory() as folder:
        outcome = outcome_of(attempt, Path(folder))
        return outcome, broken(attempt, outcome, Path(folder))


def run(seed: int, seconds: float, kinds: list[str]) -> dict[str, Tally]:
    """Make attempts of some kinds in turn until the time is over."""
    random, end = Random(seed), time.monotonic() + seconds
    tallies = {kind: Tally() for kind in kinds}
    while time.monotonic() < end:
        for kind in kinds:
            own = random.randrange(10**9)
            outcome, said = tried(attempt_of(kind, own))
            tallies[kind].add(outcome, said, f"{kind}:{own}")
    return tallies


def table(tallies: dict[str, Tally]) -> str:
    """Return the counts of every kind, and their sums."""
    headers = ("kind", "inputs", "s", "0", "1", "2", "other", "broken", "slowest s", "slowest")
    rows = []
    for kind, tally in tallies.items():
        known = [tally.statuses[status] for status in (0, 1, 2)]
        count = tally.statuses.total()
        ended = [*known, count - sum(known), len(tally.broken)]
        rows.append([kind, count, tally.seconds, *ended, *tally.slowest])
    sums = [sum(column) for column in list(zip(*rows, strict=True))[1:8]]
    return tabulate([*rows, ["together", *sums]], headers, floatfmt=".2f")


def main() -> int:
    """Read the arguments, and run."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--kind", action="append", choices=list(KINDS))
    parser.add_argument("--again", metavar="KIND:SEED")
    asked = parser.parse_args()
    if asked.again:
        kind, _, seed = asked.again.rpartition(":")
        attempt = attempt_of(kind, int(seed))
        outcome, said = tried(attempt)
        print(attempt.arguments, {name: data[:2000] for name, data in attempt.files.items()})
        print(outcome, *said, sep="\n")
        return bool(said)
    tallies = run(asked.seed, asked.seconds, asked.kind or list(KINDS))
    print(table(tallies))
    lines = [each for tally in tallies.values() for each in tally.broken]
    print(*(["", "broken; once more with --again KIND:SEED", *lines] if lines else ()), sep="\n")
    return bool(lines)


if __name__ == "__main__":
    sys.exit(main())
