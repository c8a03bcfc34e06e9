"""The audit beside what a reader would write instead with pandas and netaddr."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from tests.bench.kits import FLEET, WARM_UP_MODULES, Kits
from tests.bench.measure import Processes, Run, Work, in_turns
from tests.bench.table import Ratio, Refusal, Row

SMALLEST = 30
"""The kit of one instructor."""
OURS, THEIRS = "ours.text_report", "pandas_way.counts"
COUNTED = "ours.json_report"


def beside(processes: Processes, kits: Kits, sizes: Sequence[int], rounds: int) -> Iterator[Row]:
    """Give the ratios of our work and our whole process to theirs.

    Raises:
        RuntimeError: the two count differently: they do not answer the same question.
    """
    warm_up = kits.folder_of(WARM_UP_MODULES)
    for size in sorted({SMALLEST, *sizes}):
        folder = kits.folder_of(size)
        ours, theirs = (processes.work(side, folder, warm_up) for side in (COUNTED, THEIRS))
        if ours.refused:
            yield Refusal("beside pandas", size, ours.refused)
            continue
        require_agreement(ours.counts, theirs.counts)
        yield _ratio("work", size, *_works(processes, folder, warm_up, rounds))
        yield _ratio("process", size, *_whole_processes(processes, folder, rounds))


def require_agreement(ours: Mapping[str, int], theirs: Mapping[str, int]) -> None:
    """Require that both count the same of everything that the second counts.

    Raises:
        RuntimeError: they do not.
    """
    same = {check: ours.get(check, 0) for check in theirs}
    if same != theirs:
        raise RuntimeError(f"the auditor counts {same}, and pandas {dict(theirs)}")


def _works(
    processes: Processes, folder: Path, warm_up: Path, rounds: int
) -> tuple[list[Work], list[Work]]:
    sides = (OURS, THEIRS)
    runs = in_turns(sides, rounds, lambda side: processes.work(side, folder, warm_up))
    return runs[OURS], runs[THEIRS]


def _whole_processes(
    processes: Processes, folder: Path, rounds: int
) -> tuple[list[Run], list[Run]]:
    audit = ("-m", "auditor", "check", str(folder / FLEET))
    count = ("-m", "tests.bench.pandas_way", str(folder))
    runs = in_turns((audit, count), rounds, lambda side: processes.run(side, ends_with=(0, 1)))
    return runs[audit], runs[count]


def _ratio(what: str, size: int, ours: Sequence[Work | Run], theirs: Sequence[Work | Run]) -> Ratio:
    ours_ms, theirs_ms = (min(run.cpu_s for run in runs) * 1e3 for runs in (ours, theirs))
    return Ratio(f"beside pandas, CPU time of the {what}", size, ours_ms, theirs_ms, "ms")
