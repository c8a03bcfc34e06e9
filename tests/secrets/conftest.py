"""What the tests of secrets share."""

from pathlib import Path

import pytest


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, which is the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path
