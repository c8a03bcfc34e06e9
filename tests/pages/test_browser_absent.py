"""Without a browser these tests skip with a reason, or fail where one is required."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import ROOT, clean_environment

REASON = "Chromium is not installed: apt install chromium"


@pytest.mark.parametrize(
    ("required", "outcome"), [({}, "1 skipped"), ({"REQUIRE_BROWSER": "1"}, "1 error")]
)
def test_a_machine_without_chromium(tmp_path: Path, required: dict[str, str], outcome: str) -> None:
    one = "tests/pages/test_opening.py::test_a_planted_page_without_a_policy_runs_everything"
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-rs", "-p", "no:cacheprovider", one],
        cwd=ROOT,
        env=clean_environment() | {"PATH": str(tmp_path)} | required,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert REASON in done.stdout
    assert outcome in done.stdout
