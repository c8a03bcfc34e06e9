"""The benchmark measures what it says: kits have the faults planted in them, both ways agree."""

import csv
from collections import Counter
from datetime import datetime
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.reading.fleet import read_fleet
from tests.bench.beside import require_agreement
from tests.bench.floor import rows
from tests.bench.kits import COLUMNS, ENVIRONMENT, FLEET, TABLE, planted, write_kit
from tests.bench.measure import Work
from tests.bench.scale import Cost
from tests.bench.table import Ratio

SIZE = 300
"""The smallest round number of modules among which every fault is once."""


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a kit."""
    folder = tmp_path_factory.mktemp("kit")
    write_kit(folder, SIZE)
    return folder


def found(folder: Path) -> Counter[str]:
    """Return how many findings each check has."""
    file = read_fleet(str(folder / FLEET), environment=ENVIRONMENT)
    result = audit(file, datetime(2026, 3, 1))
    return Counter(finding.check for finding in result.findings)


def test_a_kit_has_the_faults_that_are_planted_in_it_and_no_others(kit: Path) -> None:
    assert found(kit) == planted(SIZE)
    assert len(planted(SIZE)) == 10


def test_a_table_has_its_columns_and_a_row_for_every_module(kit: Path) -> None:
    header, *modules = csv.reader((kit / TABLE).read_text(encoding="utf-8").splitlines())
    assert tuple(header) == COLUMNS
    assert [cells[0] for cells in modules] == [f"TG-{number:07}" for number in range(1, SIZE + 1)]


def test_the_floor_takes_every_row(kit: Path) -> None:
    assert [row.port for row in rows(kit)] == [4010] * SIZE


def test_pandas_counts_what_the_audit_finds(kit: Path) -> None:
    pytest.importorskip("pandas", reason="pandas comes with the optional group bench")
    from tests.bench.pandas_way import counts

    assert min(counts(kit).values()) == 1
    require_agreement(found(kit), counts(kit))


def test_other_counts_are_no_answer_to_the_same_question() -> None:
    with pytest.raises(RuntimeError, match=r"pandas \{'weak-security': 2\}"):
        require_agreement({"weak-security": 1}, {"weak-security": 2})


@pytest.mark.parametrize("size", [0, 1_000_001])
def test_a_kit_of_another_size_is_not_made(size: int, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=f"size is {size}; it can be 1 to 1000000 modules"):
        write_kit(tmp_path, size)


def test_a_cost_is_the_best_time_and_the_worst_memory() -> None:
    cost = Cost.of([Work(cpu_s=0.002, bytes=3000), Work(cpu_s=0.001, bytes=5000)], 10)
    assert (cost.microseconds, cost.kilobytes) == (100, 0.5)


@pytest.mark.parametrize(("ours", "judgement"), [(3.0, "kept"), (3.1, "missed")])
def test_a_ratio_is_held_against_its_limit(ours: float, judgement: str) -> None:
    assert Ratio("work", 30, ours, 2.0, "ms", 1.5).cells[-1] == judgement
