"""What a module costs in kits of growing size, beside the floor of reading and validating it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tests.bench.kits import WARM_UP_MODULES, Kits, planted
from tests.bench.measure import Processes, Work, in_turns
from tests.bench.table import Ratio, Refusal, Row

FLOOR = "floor.rows"
REPORTS = {"text": "ours.text_report", "JSON": "ours.json_report"}
CPU_TIME = "CPU time a module"
BASE_MODULES = 10_000
"""The size with whose cost per module that of larger kits is compared."""
FLOOR_AT_MOST = 1.5
GROWTH_AT_MOST = 1.1
KILOBYTES_A_MODULE = 2.5


@dataclass(frozen=True)
class Cost:
    """What a side takes for each module: the best of its rounds in time, the worst in memory."""

    microseconds: float
    kilobytes: float

    @classmethod
    def of(cls, runs: Sequence[Work], size: int) -> "Cost":
        """Return the cost of some runs on a kit of so many modules."""
        cpu_s, most = min(run.cpu_s for run in runs), max(run.bytes for run in runs)
        return cls(cpu_s * 1e6 / size, most / 1e3 / size)


def scale(processes: Processes, kits: Kits, sizes: Sequence[int], rounds: int) -> Iterator[Row]:
    """Give the ratios of each size to the floor and to the limits, the growth at the end."""
    costs: dict[int, dict[str, Cost]] = {}
    for size in sizes:
        runs = _runs(processes, kits, size, rounds)
        refused = runs[REPORTS["JSON"]][0].refused
        if refused:
            floor = Cost.of(runs[FLOOR], size)
            yield Refusal(f"scale, {CPU_TIME}", size, refused, f"{floor.microseconds:,.1f} µs")
        else:
            _require_planted(runs[REPORTS["JSON"]], size)
            costs[size] = {side: Cost.of(works, size) for side, works in runs.items()}
            yield from _ratios(costs[size], size)
    yield from _growth(costs)


def _runs(processes: Processes, kits: Kits, size: int, rounds: int) -> dict[str, list[Work]]:
    folder, warm_up = kits.folder_of(size), kits.folder_of(WARM_UP_MODULES)
    sides = (*REPORTS.values(), FLOOR)
    return in_turns(sides, rounds, lambda side: processes.work(side, folder, warm_up))


def _require_planted(runs: Sequence[Work], size: int) -> None:
    wanted = planted(size)
    for run in runs:
        if run.counts != wanted:
            raise RuntimeError(f"of {size} modules {run.counts} was found, and {wanted} is planted")


def _ratios(costs: Mapping[str, Cost], size: int) -> Iterator[Ratio]:
    floor = costs[FLOOR]
    for report, side in REPORTS.items():
        ours = costs[side]
        what = f"scale, {CPU_TIME}, {report}, by the floor"
        yield Ratio(what, size, ours.microseconds, floor.microseconds, "µs", FLOOR_AT_MOST)
    for report, side in REPORTS.items():
        ours, what = costs[side], f"scale, peak memory a module, {report}"
        yield Ratio(f"{what}, by the limit", size, ours.kilobytes, KILOBYTES_A_MODULE, "kB", 1.0)
        yield Ratio(f"{what}, by the floor", size, ours.kilobytes, floor.kilobytes, "kB")


def _growth(costs: Mapping[int, Mapping[str, Cost]]) -> Iterator[Ratio]:
    """Give the growth of a module's cost; on those of a smaller kit its fixed costs weigh."""
    if BASE_MODULES not in costs:
        return
    base = costs[BASE_MODULES]
    for size in sorted(costs.keys() - {BASE_MODULES}):
        at_most = GROWTH_AT_MOST if size > BASE_MODULES else None
        for report, side in REPORTS.items():
            what = f"scale, {CPU_TIME}, {report}, by that of {BASE_MODULES:,}"
            ours, then = costs[size][side].microseconds, base[side].microseconds
            yield Ratio(what, size, ours, then, "µs", at_most)
