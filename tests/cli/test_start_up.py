"""What a command loads: only what it needs, so that it answers at once."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import CLEAN, clean_environment

LOADED = """\
import sys
from auditor.cli import main
try:
    main()
finally:
    print(*sys.modules, file=sys.stderr)
"""
"""A run that names, in its last line to standard error, everything that it loaded."""

NEAR_MISSES = "rapidfuzz"
LOOK_ALIKES = "confusable_homoglyphs"
DICTIONARIES = "zxcvbn"
EXAMPLES = "tomlkit"
DRAWN_HELP = "rich"
SELDOM = (NEAR_MISSES, LOOK_ALIKES, DICTIONARIES, EXAMPLES, DRAWN_HELP)
ROOMS_OF_AN_AUDIT = ("auditor.compute", "auditor.checks", "auditor.audit", "auditor.reading.fleet")
REPORTS = ("as_json", "findings_csv", "text", "page")
WITH_PASSPHRASE = CLEAN.replace(
    'security = "open"', 'security = "wpa2-personal"\npassphrase = "forty-tides-a-fortnight"'
)
SLIP_WITHIN = f'{CLEAN}network_name = "saltmarsh-guages"\n'
SLIP_AT_END = f'{CLEAN}network_name = "saltmarsh-gauges "\n'


def loaded(folder: Path, *arguments: str, ends_with: int) -> set[str]:
    """Return the modules that a run has loaded, and the packages that they are in."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED, *arguments],
        cwd=folder,
        env=clean_environment(),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    assert done.returncode == ends_with, done.stderr
    modules = done.stderr.splitlines()[-1].split()
    return {*modules, *(module.partition(".")[0] for module in modules)}


def loaded_by_check(folder: Path, fleet: str, *options: str, ends_with: int = 1) -> set[str]:
    """Return what checking a fleet loads."""
    (folder / "kit.toml").write_text(fleet, encoding="utf-8")
    return loaded(folder, "check", "kit.toml", *options, ends_with=ends_with)


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        pytest.param(("--help",), 0, id="the help"),
        pytest.param(("check", "--help"), 0, id="the help of a command"),
        pytest.param(("chek",), 2, id="a mistyped command"),
    ],
)
def test_help_loads_no_audit(tmp_path: Path, arguments: tuple[str, ...], status: int) -> None:
    modules = loaded(tmp_path, *arguments, ends_with=status)
    assert "typer" in modules
    assert modules.isdisjoint((*ROOMS_OF_AN_AUDIT, *SELDOM))
    assert modules.isdisjoint(("auditor.models.forms", "tree_sitter", "tabulate"))


def test_the_help_needs_no_pydantic(tmp_path: Path) -> None:
    """With a command typer loads it, to read the command line."""
    assert "pydantic" not in loaded(tmp_path, "--help", ends_with=0)


def test_a_check_loads_no_package_that_this_kit_does_without(tmp_path: Path) -> None:
    modules = loaded_by_check(tmp_path, CLEAN)
    assert modules.issuperset((*ROOMS_OF_AN_AUDIT, "pydantic", "tree_sitter", "tabulate"))
    assert modules.isdisjoint(SELDOM)


@pytest.mark.parametrize(
    ("fleet", "packages"),
    [
        pytest.param(WITH_PASSPHRASE, {DICTIONARIES}, id="a passphrase to judge"),
        pytest.param(SLIP_WITHIN, {NEAR_MISSES, LOOK_ALIKES}, id="a slip within a name"),
        pytest.param(SLIP_AT_END, set(), id="a blank at the end of a name"),
    ],
)
def test_a_check_loads_a_package_once_a_kit_needs_it(
    tmp_path: Path, fleet: str, packages: set[str]
) -> None:
    assert loaded_by_check(tmp_path, fleet).intersection(SELDOM) == packages


@pytest.mark.parametrize(
    ("format", "own"),
    [("text", {"text"}), ("json", {"as_json"}), ("csv", {"findings_csv"})],
)
def test_a_check_loads_only_the_report_that_is_asked_for(
    tmp_path: Path, format: str, own: set[str]
) -> None:
    modules = loaded_by_check(tmp_path, CLEAN, "--format", format)
    assert {name for name in REPORTS if f"auditor.reports.{name}" in modules} == own
    assert ("tabulate" in modules) == (format == "text")


def test_a_fleet_builds_no_table_that_it_does_not_read(tmp_path: Path) -> None:
    """What pydantic builds for a kind of table waits until the first document of that kind."""
    (tmp_path / "kit.toml").write_text(CLEAN, encoding="utf-8")
    asked = (
        "from auditor.reading.fleet import read_fleet\n"
        "from auditor.models import fleet, profile, uart\n"
        "read_fleet('kit.toml', environment={})\n"
        "kinds = fleet.Fleet, profile.Policy, profile.Region, uart.RateQuestion\n"
        "print(*(kind.__pydantic_complete__ for kind in kinds))"
    )
    done = subprocess.run(
        [sys.executable, "-c", asked],
        cwd=tmp_path,
        env=clean_environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["True", "True", "False", "False"]
