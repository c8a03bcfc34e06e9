"""How long the demo takes as a whole process, beside one that only imports the libraries."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from statistics import median

from tests.bench.measure import Processes, Run, in_turns
from tests.bench.table import Ratio

DEMO_MODULES = 30
RUNS_A_ROUND = 7
AT_MOST = 1.3
AUDIT = ("-m", "auditor", "check", "auditor/demo/tide-gauges.toml")
IMPORTS = ("-c", "import typer, pydantic, tabulate")
LEAST = ("-m", "tests.bench.least")
CLOCKS: tuple[tuple[str, Callable[[Run], float]], ...] = (
    ("CPU time", lambda run: run.cpu_s),
    ("wall time", lambda run: run.wall_s),
)
AVERAGES: tuple[tuple[str, Callable[[Iterable[float]], float]], ...] = (
    ("least", min),
    ("median", median),
)


def startup(processes: Processes, rounds: int) -> Iterator[Ratio]:
    """Give the ratios of the demo's audit, and of the least program, to the imports alone.

    The imports leave most of pydantic to be loaded by who uses it, typer's commands among them,
    so that no program that uses all three comes near them.
    """
    sides = (AUDIT, IMPORTS, LEAST)

    def run(side: Sequence[str]) -> Run:
        return processes.run(side, ends_with=(0, 1) if side is AUDIT else (0,))

    in_turns(sides, 1, run)  # the byte code is written
    runs = in_turns(sides, rounds * RUNS_A_ROUND, run)
    yield from _ratios("start-up", runs[AUDIT], runs[IMPORTS], AT_MOST)
    yield from _ratios("the least program", runs[LEAST], runs[IMPORTS], None)


def _ratios(
    name: str, ours: list[Run], imports: list[Run], at_most: float | None
) -> Iterator[Ratio]:
    for clock, time_s in CLOCKS:
        for average, of in AVERAGES:
            ours_ms, imports_ms = (of(map(time_s, runs)) * 1000 for runs in (ours, imports))
            what = f"{name}, {average} {clock}, by imports alone"
            yield Ratio(what, DEMO_MODULES, ours_ms, imports_ms, "ms", at_most)
