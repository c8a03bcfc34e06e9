"""Rows of a table: what many share is read once, and every problem still has its line."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place
from auditor.reading.fleet import read_fleet
from auditor.reading.problems import UnusableError
from auditor.reading.table import MOST_UNKNOWN
from auditor.survey.module import Modules


def read(folder: Path, *rows: str) -> FleetFile:
    """Return the fleet of a bare table."""
    (folder / "kit.csv").write_text("\n".join(rows), encoding="utf-8")
    return read_fleet("kit.csv", environment={}, within=folder)


def problems(folder: Path, *rows: str) -> list[str]:
    """Return what is wrong with a bare table, a line each."""
    with pytest.raises(UnusableError) as failure:
        read(folder, *rows)
    return [str(problem) for problem in failure.value.problems]


def test_rows_of_the_same_settings_share_them(tmp_path: Path) -> None:
    rows = [f"TG-{n},10.20.0.{n},{9600 if n % 10 else 19200}" for n in range(1, 101)]
    file = read(tmp_path, "id,IP,baud", *rows)
    assert len(file.entries) == 100
    assert [settings.serial_rate for settings in file.entries.settings] == [9600, 19200]


def test_a_setting_that_many_rows_have_wrong_is_named_once_and_counted(tmp_path: Path) -> None:
    rows = [f"TG-{n},10.20.0.{n},{9600 if n % 2 else 'fast'}" for n in range(1, 8)]
    (problem,) = problems(tmp_path, "id,IP,baud", *rows)
    assert problem.startswith('kit.csv:3: baud: "fast" is not a number')
    assert problem.endswith("(and so in 2 more rows)")


def test_a_value_of_one_row_is_named_where_it_stands(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        "id,IP,MAC,baud",
        "TG-1,10.20.0.300,00:00:5e:00:53:01,9600",
        ",10.20.0.2,00:00:5e:00:53:02,9600",
        "TG-3,10.20.0.3,00:00:5e:00:53,9600",
    )
    assert [line.split(": ")[:2] for line in found] == [
        ["kit.csv:2", "IP"],
        ["kit.csv:3", "id"],
        ["kit.csv:4", "MAC"],
    ]


def test_a_module_of_a_row_knows_its_own_line_and_columns(tmp_path: Path) -> None:
    file = read(tmp_path, "id,IP,baud", "TG-1,10.20.0.1,9600", "", "TG-2,,9600")
    first, second = Modules(file)
    assert first.place("address") == Place("kit.csv", 2, "IP")
    assert second.place("serial_rate") == Place("kit.csv", 4, "baud")
    assert second.place("address") == second.line == Place("kit.csv", 4)
    assert second.says("serial_rate")
    assert not second.says("address")


@given(st.lists(st.tuples(st.sampled_from(["9600", "19200"]), st.sampled_from(["", "8", "7"]))))
def test_a_table_gives_each_module_what_its_row_says(cells: list[tuple[str, str]]) -> None:
    rows = [("TG-0", "9600", "8"), *((f"TG-{n}", *row) for n, row in enumerate(cells, 1))]
    with pytest.MonkeyPatch.context() as patch:
        text = "\n".join(",".join(row) for row in [("id", "baud", "bits"), *rows])
        patch.setattr("auditor.reading.fleet.read_text", lambda *_: text)
        file = read_fleet("kit.csv", environment={})
    told = [(module.id, module.serial_rate, module.data_bits) for module in Modules(file)]
    assert told == [(id, int(rate), int(bits) if bits else None) for id, rate, bits in rows]


def test_of_very_many_unknown_headers_the_first_are_named_and_the_rest_counted(
    tmp_path: Path,
) -> None:
    headers = ",".join(["id", *(f"column {n}" for n in range(60_000))])
    found = problems(tmp_path, headers, "TG-1" + "," * 60_000)
    assert len(found) == MOST_UNKNOWN + 1
    assert f"{60_000 - MOST_UNKNOWN} more headers are not known" in found[-1]


@pytest.mark.parametrize(
    ("headers", "told"),
    [
        (["IP", "address"], '"IP" and "address" both mean address; keep one'),
        (["IP", "address", "ip"], '"IP" and "address" and "ip" all mean address; keep one'),
        (["IP"] * 60_000, '"IP" and "IP" and "IP" and 59997 more all mean address; keep one'),
    ],
)
def test_headers_that_mean_the_same_are_named_and_many_are_counted(
    tmp_path: Path, headers: list[str], told: str
) -> None:
    (problem,) = problems(tmp_path, ",".join(["id", *headers]), "TG-1" + "," * len(headers))
    assert problem == f"kit.csv:1: {told}"
