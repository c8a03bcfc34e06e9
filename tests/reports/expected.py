"""Texts kept beside the tests, rewritten where REWRITE_GOLDEN is set."""

import os
from pathlib import Path

GOLDEN = Path(__file__).parent / "golden"


def assert_golden(name: str, text: str) -> None:
    """Assert that a text is the kept one; run with REWRITE_GOLDEN=1 to keep this one instead."""
    kept = GOLDEN / name
    if os.environ.get("REWRITE_GOLDEN"):
        kept.write_text(text, encoding="utf-8")
    assert text == kept.read_text(encoding="utf-8")
