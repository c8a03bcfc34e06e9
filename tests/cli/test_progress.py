"""Long work shows a terminal how far it has come, and a pipe nothing but the report."""

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from auditor.cli.auditing import MANY_GROUPS


def test_many_different_modules_show_progress_on_a_terminal_alone(tmp_path: Path) -> None:
    rows = [f"TG-{number},{1200 + number}" for number in range(MANY_GROUPS)]
    (tmp_path / "kit.csv").write_text("\n".join(["id,baud", *rows]))
    reader, terminal = os.openpty()
    command = [sys.executable, "-m", "auditor", "check", str(tmp_path / "kit.csv")]
    on_terminal = _run(command, stderr=terminal)
    os.close(terminal)
    assert b"checking" in os.read(reader, 4096)
    piped = _run(command, stderr=subprocess.PIPE)
    assert piped.stderr == b""
    assert piped.stdout == on_terminal.stdout


def _run(command: Sequence[str], stderr: int) -> subprocess.CompletedProcess[bytes]:
    root = Path(__file__).parents[2]
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=stderr, cwd=root, check=False)
