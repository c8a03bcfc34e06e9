"""The rooms that can be mutated, and the tests that concern each of their files."""

from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path("auditor")
TESTS = Path("tests")
LADDER = ("audit", "findings", "indicator", "waivers")
WHOLE = ("checks/test_examples.py", "test_audit.py", "test_waivers_and_policies.py")


def targets(room: str) -> Iterator[tuple[Path, list[str]]]:
    """Give each file of a room, and the tests that concern it.

    Raises:
        ValueError: there is no such room.
    """
    if room == "ladder":
        for name in LADDER:
            yield PACKAGE / f"{name}.py", _present(f"test_{name}.py", *reversed(WHOLE))
    elif room in ("compute", "checks"):
        for path in sorted((PACKAGE / room).glob("[!_]*.py")):
            further = WHOLE if room == "checks" else ()
            own = (f"{room}/test_{path.name}", f"{room}/test_{path.stem}_borders.py")
            yield path, _present(*own, *further)
    else:
        raise ValueError(f"room is {room!r}; it must be compute, ladder or checks")


def _present(*tests: str) -> list[str]:
    paths = dict.fromkeys(TESTS / test for test in tests)
    return [str(path) for path in paths if path.exists()]
