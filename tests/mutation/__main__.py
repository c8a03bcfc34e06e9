"""Mutates a room and prints which mutants the tests kill: `python -m tests.mutation ROOM ...`.

It works on a copy of the tree, and changes nothing.
"""

import argparse
import random
import shutil
import subprocess
import sys
import tempfile
from itertools import groupby
from pathlib import Path

from tests.mutation.mutants import mutants
from tests.mutation.nursery import Nursery
from tests.mutation.rooms import targets
from tests.mutation.table import Fate, report

ROOT = Path(__file__).parents[2]
IN_A_COPY = "--in-a-copy"
NEEDED = ("auditor", "profiles", "tests", "docs", "pyproject.toml", "README.md", "DEVELOPERS.md")


def options() -> argparse.Namespace:
    """Return what was asked for on the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("rooms", nargs="+", help="compute, ladder, checks, or files of theirs")
    parser.add_argument("--sample", type=int, metavar="N", help="N mutants of each room, by lot")
    parser.add_argument("--seed", type=int, default=1, help="of the lot; 1 unless you say so")
    parser.add_argument(IN_A_COPY, action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


def run_in_a_copy() -> int:
    """Copy the tree to a temporary folder, run there what was asked for, return its status."""
    with tempfile.TemporaryDirectory() as folder:
        for name in NEEDED:
            source, copied = ROOT / name, Path(folder) / name
            shutil.copytree(source, copied) if source.is_dir() else shutil.copy(source, copied)
        command = [sys.executable, "-m", "tests.mutation", *sys.argv[1:], IN_A_COPY]
        return subprocess.run(command, cwd=folder, check=False).returncode


def report_of(room: str, sample: int | None, seed: int) -> str:
    """Return the report of one room, or of one file of it ("compute/leases")."""
    room, _, file = room.partition("/")
    tests = {path: those for path, those in targets(room) if file in ("", path.stem)}
    population = [(path, each) for path in tests for each in mutants(path.read_text("utf-8"))]
    size = min(sample or len(population), len(population))
    drawn = sorted(random.Random(seed).sample(range(len(population)), size))
    fates: list[Fate] = []
    for path, places in groupby(drawn, key=lambda place: population[place][0]):
        nursery = Nursery(path, tests[path])
        chosen = [population[place][1] for place in places]
        fates += [Fate(path, each, nursery.fate(each.source)) for each in chosen]
        print(f"{path}: done", file=sys.stderr)
    return report(fates, len(population))


def main() -> int:
    """Mutate the rooms one after the other, in a copy of the tree; return the exit status."""
    asked = options()
    if not asked.in_a_copy:
        return run_in_a_copy()
    for room in asked.rooms:
        print(report_of(room, asked.sample, asked.seed), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
