"""Mutates a room and prints which mutants the tests kill: `python -m tests.mutation ROOM ...`.

It works on a copy of the tree, and changes nothing.
"""

import argparse
import random
import shutil
import subprocess
import sys
import tempfile
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


def audited_fates(room: str, sample: int | None, seed: int) -> str:
    """Return the report of one room, or of one file of it ("compute/leases")."""
    room, _, file = room.partition("/")
    chosen = [each for each in targets(room) if file in ("", each[0].stem)]
    tests = dict(chosen)
    population = [(path, each) for path in tests for each in mutants(path.read_text("utf-8"))]
    size = min(sample or len(population), len(population))
    drawn = set(random.Random(seed).sample(range(len(population)), size))
    fates: list[Fate] = []
    for path in tests:
        nursery = Nursery(path, tests[path])
        for place, (of, mutant) in enumerate(population):
            if of == path and place in drawn:
                fates.append(Fate(path, mutant, nursery.fate(mutant.source)))
        print(f"{path}: done", file=sys.stderr)
    return report(fates, len(population))


def main() -> int:
    """Mutate the rooms one after the other, in a copy of the tree; return the exit status."""
    asked = options()
    if not asked.in_a_copy:
        return run_in_a_copy()
    for room in asked.rooms:
        print(audited_fates(room, asked.sample, asked.seed), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
