"""The words of a verdict and a severity in colour, for terminals."""

from auditor.findings import Verdict
from auditor.models.words import Severity

# ECMA-48, SGR: 0 normal, 1 bold, 31 red, 32 green, 33 yellow, 35 magenta, 36 cyan
# (from memory, unverified).
_NORMAL = "\x1b[0m"
_LOOKS: dict[Severity | Verdict, str] = {
    Severity.FAULT: "\x1b[1;31m",
    Severity.RISK: "\x1b[33m",
    Severity.ADVICE: "\x1b[36m",
    Verdict.BLOCKED: "\x1b[1;31m",
    Verdict.AT_RISK: "\x1b[33m",
    Verdict.UNKNOWN: "\x1b[35m",
    Verdict.READY: "\x1b[32m",
}


def painted(text: str, word: Severity | Verdict, *, colour: bool) -> str:
    """Return a text in the colour of a word, or as it is."""
    return f"{_LOOKS[word]}{text}{_NORMAL}" if colour else text
