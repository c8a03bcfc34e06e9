"""The checks, a file a stage: what each says is in its docstring, what it found in its findings."""

from auditor.checks import record
from auditor.checks.registry import CHECKS

__all__ = ["CHECKS", "record"]
