"""The command line as people run it: a process of its own, with its streams and its status."""

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[2]
EPOCH = "1769904000"
"""2026-02-01 00:00:00 UTC in seconds since 1970."""

CLEAN = """\
[kit]
name = "Tide gauges"
[network]
name = "saltmarsh-gauges"
security = "open"
[network.ipv4]
subnet = "10.20.0.0/24"
gateway = "10.20.0.1"
[traffic]
destination = "10.20.0.10"
port = 4010
[defaults]
addressing = "static"
saved = true
[[module]]
id = "TG-01"
address = "10.20.0.31"
[[module]]
id = "TG-02"
address = "10.20.0.32"
"""
"""A small kit whose worst finding is a risk: its network is open."""


def run(
    *arguments: str, folder: Path, environment: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run the auditor in a folder, and return what it wrote and how it ended."""
    return subprocess.run(
        [sys.executable, "-m", "auditor", *arguments],
        cwd=folder,
        env=clean_environment() | dict(environment or {}),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def clean_environment() -> dict[str, str]:
    """Return an environment in which nothing but the arguments changes what is written."""
    kept = {key: os.environ[key] for key in ("PATH", "HOME") if key in os.environ}
    return kept | {"PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": EPOCH, "PYTHONUTF8": "1"}
