"""One piece of work in a process of its own: what it takes, without the start of the process.

Run it with `python -m tests.bench.work SIDE FOLDER WARM_UP_FOLDER`, where a side is a function
of this package, as in "floor.rows". It prints a line of JSON.
"""

import json
import resource
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from time import process_time

from auditor.cli import search_seldom_for_garbage
from tests.bench.kits import KitRefusedError

_BYTES_OF_MAXRSS = 1 if sys.platform == "darwin" else 1024
"""The unit of `ru_maxrss`: getrusage(2) of Linux says kilobytes, that of macOS bytes."""


def peak_bytes() -> int:
    """Return the most memory that this process has had so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * _BYTES_OF_MAXRSS


def side_of(name: str) -> Callable[[Path], object]:
    """Return a side's function by its module and name, as in "floor.rows"."""
    module, _, function = name.partition(".")
    side: Callable[[Path], object] = getattr(import_module(f"tests.bench.{module}"), function)
    return side


def measured(name: str, folder: Path, warm_up: Path) -> dict[str, object]:
    """Return the CPU seconds and the bytes that a side takes for a kit, and its counts if any.

    It does its work on another kit before, so that nothing is left to import.
    """
    search_seldom_for_garbage()  # as the command line does, and for either side
    side = side_of(name)
    side(warm_up)
    idle_bytes, start_s = peak_bytes(), process_time()
    answer = side(folder)
    cpu_s = process_time() - start_s
    counts = answer if isinstance(answer, dict) else {}
    return {"cpu_s": cpu_s, "bytes": peak_bytes() - idle_bytes, "counts": counts}


def main(name: str, folder: str, warm_up: str) -> None:
    """Print what a side takes, or why the auditor refuses the kit."""
    try:
        print(json.dumps(measured(name, Path(folder), Path(warm_up))))
    except KitRefusedError as refusal:
        print(json.dumps({"refused": str(refusal)}))


if __name__ == "__main__":
    main(*sys.argv[1:])
