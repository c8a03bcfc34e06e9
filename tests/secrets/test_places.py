"""A secret in a place that is meant for it is in nothing that any command says."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.secrets.canary import (
    AWKWARD,
    CANARIES,
    Canary,
    Kit,
    columns,
    document,
    keys_of,
    kit_of,
    misplaced,
    proper_kits,
    table,
    tables,
)
from tests.secrets.forms import leaks
from tests.secrets.runs import runs_of


def assert_silent(kit: Kit, folder: Path, canary: Canary, *, readable: bool | None = None) -> None:
    """Assert that no run of a kit gives a canary away, and that none breaks."""
    for outcome in runs_of(kit, folder):
        assert outcome.everything.strip()
        assert "fault of the auditor" not in outcome.everything
        assert outcome.status in ((0, 1) if readable else (2,) if readable is False else (0, 1, 2))
        assert leaks(outcome.everything, canary.text) == set(), outcome.arguments


@pytest.mark.parametrize("kit", [pytest.param(k, id=n) for n, k in proper_kits(AWKWARD)])
def test_in_its_place(folder: Path, kit: Kit) -> None:
    assert_silent(kit, folder, AWKWARD, readable=True)


@pytest.mark.parametrize("canary", CANARIES.values(), ids=CANARIES.keys())
def test_of_every_kind(folder: Path, canary: Canary) -> None:
    for place in (("network", "passphrase"), ("defaults", "passphrase")):
        assert_silent(misplaced(canary, place, canary.text), folder, canary, readable=True)
    for name, kit in proper_kits(canary):
        if name in ("module, in clear", "retired, psk"):
            assert_silent(kit, folder, canary, readable=True)


@pytest.mark.parametrize("kit", [pytest.param(k, id=n) for n, k in tables(AWKWARD)])
def test_in_a_table(folder: Path, kit: Kit) -> None:
    assert_silent(kit, folder, AWKWARD, readable=True)


def _twice(canary: Canary) -> Iterator[tuple[str, Kit]]:
    """Give a kit with its network's passphrase at every other key of a fleet file too."""
    for path in keys_of():
        yield ".".join(map(str, path)), misplaced(canary, path, canary.text)


@pytest.mark.parametrize("kit", [pytest.param(k, id=n) for n, k in _twice(AWKWARD)])
def test_at_another_key_too(folder: Path, kit: Kit) -> None:
    assert_silent(kit, folder, AWKWARD)


@pytest.mark.parametrize("key", columns())
def test_in_another_column_too(folder: Path, key: str) -> None:
    fleet = document(AWKWARD)
    fleet["kit"]["modules"] = "kit.csv"
    assert_silent(
        Kit({**kit_of(fleet).files, "kit.csv": table(("id", key), AWKWARD)}), folder, AWKWARD
    )
    alone = Kit({"kit.csv": table(("id", "password", key), AWKWARD)}, fleet="kit.csv")
    assert_silent(alone, folder, AWKWARD)
