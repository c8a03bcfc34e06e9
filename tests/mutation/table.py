"""What became of the mutants, as a table and as a list of those that live."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

from tabulate import tabulate

from tests.mutation.mutants import Mutant

Z_95 = 1.96
"""The quantile of the normal distribution that leaves 2.5 % on either side."""


@dataclass(frozen=True)
class Fate:
    """What became of a mutant of a file: "killed", "survived" or "timeout"."""

    path: Path
    mutant: Mutant
    fate: str


def report(fates: Sequence[Fate], population: int) -> str:
    """Return the table of the files, with the interval of a sample, and the survivors."""
    paths = dict.fromkeys(each.path for each in fates)
    rows = [_row(str(path), _of(fates, path)) for path in paths]
    rows.append(_row("all", fates))
    headers = ("file", "mutants", "killed", "survived", "timeout", "killed or timeout, %")
    table = tabulate(rows, headers, tablefmt="github", floatfmt=".1f")
    return "\n\n".join([table, *_sampled(fates, population), *_survivors(fates)])


def wilson(hits: int, trials: int) -> tuple[float, float]:
    """Return the 95 % confidence interval of a share, by the number of hits among the trials.

    Source: E. B. Wilson, "Probable inference, the law of succession, and statistical inference",
    Journal of the American Statistical Association 22 (1927), pages 209-212.
    """
    share, weight = hits / trials, Z_95**2 / trials
    middle = (share + weight / 2) / (1 + weight)
    reach = sqrt(weight * (share * (1 - share) + weight / 4)) / (1 + weight)
    return middle - reach, middle + reach


def _row(name: str, fates: Sequence[Fate]) -> tuple[str, int, int, int, int, float]:
    of = Counter(each.fate for each in fates)
    caught = 100 * (len(fates) - of["survived"]) / len(fates)
    return name, len(fates), of["killed"], of["survived"], of["timeout"], caught


def _of(fates: Iterable[Fate], path: Path) -> list[Fate]:
    return [each for each in fates if each.path == path]


def _sampled(fates: Sequence[Fate], population: int) -> list[str]:
    """Return what the sample says of all mutants; nothing, if these are all."""
    if len(fates) == population:
        return []
    low, high = wilson(sum(each.fate != "survived" for each in fates), len(fates))
    return [
        f"A random sample of {len(fates)} of {population} mutants; of all, between {low:.1%} and "
        f"{high:.1%} are caught (95 % confidence)."
    ]


def _survivors(fates: Sequence[Fate]) -> list[str]:
    lines = [
        f"{each.path}:{each.mutant.line}: {each.mutant.operator}\n"
        f"  - {each.mutant.before}\n  + {each.mutant.after}"
        for each in fates
        if each.fate == "survived"
    ]
    return ["\n".join(lines)] if lines else []
