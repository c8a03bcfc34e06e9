"""`auditor uart`: the divisor table, against the tables of data sheets."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import run


def table(folder: Path, *arguments: str) -> dict[str, Any]:
    """Return the answer as JSON."""
    done = run("uart", *arguments, "--format", "json", folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def test_the_answer_as_json(tmp_path: Path) -> None:
    # 8 MHz, 9600 Bd: 51 and 103, both 0.2 % (9615.4 Bd). ATmega48/88/168 2545D, Table 83.
    answer = table(tmp_path, "--clock", "8MHz", "--rate", "9600")
    assert list(answer) == ["clock_hz", "rate", "rows", "best"]
    assert (answer["clock_hz"], answer["rate"]) == (8_000_000, 9600)
    row = {"actual_rate": 9615.385, "error_percent": 0.1603, "verdict": "good"}
    assert answer["rows"] == [
        {"samples_per_bit": 16, "divisor": 51} | row,
        {"samples_per_bit": 8, "divisor": 103} | row,
    ]
    assert answer["best"] == answer["rows"][0]


@pytest.mark.parametrize(
    ("clock", "rate", "divisors", "errors"),
    [
        # ATmega48/88/168 2545D, Table 83 (8 MHz) and Table 84 (16 MHz): n and error, S 16 and S 8.
        ("8 MHz", "14400", (34, 68), (-0.8, 0.6)),
        ("8 MHz", "57600", (8, 16), (-3.5, 2.1)),
        ("16 MHz", "57600", (16, 34), (2.1, -0.8)),
        ("16 MHz", "115200", (8, 16), (-3.5, 2.1)),
        ("8 MHz", "250000", (1, 3), (0, 0)),
    ],
)
def test_divisors_as_data_sheets_print_them(
    tmp_path: Path, clock: str, rate: str, divisors: tuple[int], errors: tuple[float]
) -> None:
    rows = table(tmp_path, "--clock", clock, "--rate", rate)["rows"]
    assert tuple(row["divisor"] for row in rows) == divisors
    assert tuple(round(row["error_percent"], 1) for row in rows) == errors


def test_a_fraction_of_a_divisor(tmp_path: Path) -> None:
    # 36 MHz, 921600 Bd: 2.4375 loaded, 0.16 %. RM0008 rev 12, Table 191.
    arguments = ("--clock", "36 MHz", "--rate", "921600", "--rule", "fraction")
    best = table(tmp_path, *arguments, "--oversampling", "16")["best"]
    assert best["divisor"] == 2.4375
    assert round(best["error_percent"], 2) == 0.16


def test_the_table_for_people(tmp_path: Path) -> None:
    done = run("uart", "--clock", "8MHz", "--rate", "9600", folder=tmp_path)
    assert done.returncode == 0
    assert "best: load 51 with 16 samples per bit" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--clock", "0 Hz", "--rate", "9600"], '--clock: "0 Hz" is out of range'),
        (["--clock", "8", "--rate", "9600"], '--clock: "8" has no unit; write it like "8 MHz"'),
        (["--clock", "8 MHz", "--rate", "0"], '--rate: "0" is out of range'),
        (["--clock", "8 MHz", "--rate", "2000000"], "it must be at most 1500000 Bd"),
        (["--clock", "8 MHz", "--rate", "fast"], '--rate: "fast" is not a number'),
        (["--clock", "8 MHz", "--rate", "1", "--bits", "0"], '--bits: "0" is out of range'),
        (["--clock", "8 MHz", "--rate", "1", "--rule", "m"], '--rule: "m" is not one of n+1'),
        (["--clock", "8 MHz", "--rate", "1", "--oversampling", "5"], '--oversampling: "5" is'),
        (["--clock", "8 MHz", "--rate", "1", "--oversampling", ""], "--oversampling: "),
        (["--clock", "8 MHz", "--rate", "1", "--multiplier", "0"], '--multiplier: "0" is out'),
        (["--clock", "8 MHz", "--rate", "1", "--data-bits", "10"], '--data-bits: "10" is out'),
        (["--clock", "8 MHz", "--rate", "1", "--parity", "odder"], "--parity: "),
        (["--clock", "8 MHz", "--rate", "1", "--stop-bits", "3"], '--stop-bits: "3" is not'),
        (["--clock", f"{'9' * 5000} MHz", "--rate", "1"], "--clock: "),
    ],
)
def test_questions_without_an_answer(tmp_path: Path, arguments: list[str], said: str) -> None:
    done = run("uart", *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert line.startswith("auditor uart: ")
    assert said in line


def test_where_no_divisor_is_usable_none_is_recommended(tmp_path: Path) -> None:
    """8 MHz / (16 * 16) is 31250 Bd, and 4 bits hold no greater divisor."""
    said = run("uart", "--clock", "8MHz", "--rate", "9600", "--bits", "4", folder=tmp_path).stdout
    assert "best" not in said
    assert "none is usable, not even 15 with 16 samples per bit" in said
