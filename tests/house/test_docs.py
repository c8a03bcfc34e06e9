"""The documentation is true: its examples are read and run, and every key is in it."""

import re
import tomllib
from datetime import datetime
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.cli import COMMANDS
from auditor.demo import FLEET, FOLDER
from auditor.examples import fleet_of
from auditor.models.fleet import Fleet, ModuleEntry
from auditor.models.forms import Table
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.reading.profiles import FOLDERS, find, shipped_names
from auditor.reports.text import text
from auditor.survey.module import Modules

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
FORMAT = (ROOT / "docs" / "fleet-file.md").read_text(encoding="utf-8")
BEGINNING_LINES = 34


def blocks(page: str, kind: str) -> list[str]:
    """Return the fenced blocks of one kind."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)


def keys_of(kind: type[Table]) -> set[str]:
    """Return every key of a table and of the tables inside it."""
    keys = set(kind.model_fields)
    for field in kind.model_fields.values():
        for inner in re.findall(r"auditor\.models\.\w+\.(\w+)", str(field.annotation)):
            table = next((each for each in Table.__subclasses__() if each.__name__ == inner), None)
            keys |= keys_of(table) if table else set()
    return keys


def test_the_first_example_is_a_fleet_and_nothing_is_wrong_with_it() -> None:
    file = fleet_of_text(blocks(FORMAT, "toml")[0], "kit.toml", {"GAUGE_PASSPHRASE": "a" * 9})
    assert [module.id for module in file.fleet.module] == ["TG-01", "TG-02"]


def test_every_other_example_fits_the_format() -> None:
    for block in blocks(FORMAT, "toml")[1:]:
        if "[thresholds]" in block:
            assert Policy.model_validate(tomllib.loads(block)).title == "Ours"
        else:
            assert len(fleet_of(block).fleet.module) == 4


def test_the_example_table_is_read() -> None:
    file = fleet_of_text(blocks(FORMAT, "text")[0], "kit.csv", {})
    assert [module.serial_rate for module in Modules(file)] == [9600, 9600]


@pytest.mark.parametrize("kind", [Fleet, ModuleEntry, ModuleProfile, ControllerProfile, Policy])
def test_every_key_is_in_the_description_of_the_format(kind: type[Table]) -> None:
    assert {key for key in keys_of(kind) if not re.search(rf"\b{key}\b", FORMAT)} == set()


def test_the_readme_shows_how_the_demo_begins() -> None:
    file = read_fleet(FLEET, environment={}, within=FOLDER)
    report = text(audit(file, datetime(2026, 3, 1)), width=80, colour=False)
    shown = blocks(README.partition("<!-- begins: auditor demo -->")[2], "text")[0]
    assert shown.splitlines() == report.splitlines()[:BEGINNING_LINES]


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_names_every_command(command: str) -> None:
    assert f"`auditor {command}" in README


@pytest.mark.parametrize("kind", FOLDERS, ids=FOLDERS.get)
def test_every_shipped_profile_can_be_read(kind: type[Table]) -> None:
    names = shipped_names(kind)
    assert names
    assert all(find(kind, name, Path) is not None for name in names)


@pytest.mark.parametrize("kind", [ModuleProfile, ControllerProfile])
def test_every_part_profile_says_that_it_stands_for_no_product(
    kind: type[ModuleProfile] | type[ControllerProfile],
) -> None:
    for name in shipped_names(kind):
        profile = find(kind, name, Path)
        assert profile is not None
        assert profile.about.startswith("Stands for no product")
        assert profile.sources
