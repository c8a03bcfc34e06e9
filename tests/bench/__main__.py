"""Measures start-up, scale, and what stands beside pandas: `python -m tests.bench`.

All figures are ratios of one run on one machine. They rest on CPU time, which a busy machine
changes less than the time on the clock.
"""

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.bench.beside import beside
from tests.bench.kits import LARGEST, Kits
from tests.bench.measure import Processes
from tests.bench.scale import scale
from tests.bench.startup import startup
from tests.bench.table import Row, table, where

PARTS = ("startup", "scale", "beside")
SIZES = "1000,10000,100000,1000000"
ROUNDS = 3


def main() -> None:
    """Print the table, and say meanwhile how far it has come."""
    options = _options()
    with TemporaryDirectory() as folder:
        rows = []
        for row in _rows(options, Path(folder)):
            print(f"{row.what}, {row.modules:,} modules", file=sys.stderr)
            rows.append(row)
    print(table(rows), where(), sep="\n\n")


def _rows(options: Namespace, folder: Path) -> Iterator[Row]:
    processes, kits = Processes(folder / "byte-code"), Kits(folder)
    if "startup" in options.only:
        yield from startup(processes, options.rounds)
    if "scale" in options.only:
        yield from scale(processes, kits, options.sizes, options.rounds)
    if "beside" in options.only and find_spec("pandas") is None:
        print('beside is left out: pandas is absent; install ".[bench]"', file=sys.stderr)
    elif "beside" in options.only:
        yield from beside(processes, kits, options.sizes, options.rounds)


def _options() -> Namespace:
    parser = ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--sizes", type=_sizes, default=SIZES, help=f"modules, as in {SIZES}")
    parser.add_argument("--rounds", type=_count, default=ROUNDS, help="the best of so many counts")
    parser.add_argument("--only", choices=PARTS, nargs="+", default=PARTS, help="the parts to run")
    return parser.parse_args()


def _sizes(written: str) -> list[int]:
    return sorted(_count(size) for size in written.split(","))


def _count(written: str) -> int:
    if not written.isdecimal() or not 1 <= int(written) <= LARGEST:
        raise ArgumentTypeError(f'"{written}" is not a whole number of 1 to {LARGEST}')
    return int(written)


if __name__ == "__main__":
    main()
