"""The order of the rooms: an import runs downwards only, and each library has its room."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "auditor"

ROOMS = (
    "compute",
    "models",
    "findings",
    "reading",
    "survey",
    "checks",
    "indicator",
    "waivers",
    "audit",
    "examples",
    "demo",
    "tasks",
    "reports",
    "catalogue",
    "cli",
    "__main__",
)
"""From the lowest to the highest."""

LIBRARIES = {
    "pydantic": {"models", "reading"},
    "typer": {"cli"},
    "tabulate": {"reports"},
    "jinja2": {"reports"},
    "markupsafe": {"reports"},
    "tree_sitter": {"reading"},
    "tree_sitter_toml": {"reading"},
    "tomlkit": {"examples", "tasks"},
    "zxcvbn": {"compute"},
    "rapidfuzz": {"compute"},
    "confusable_homoglyphs": {"compute"},
}
SOURCES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    """Return the room of a source file; the package itself is the lowest."""
    parts = path.relative_to(PACKAGE).parts
    return parts[0].removesuffix(".py") if parts != ("__init__.py",) else ROOMS[0]


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Give the line and the name of everything that a file imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, name.name) for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{node.module}.{name.name}") for name in node.names)


def test_every_room_is_drawn() -> None:
    assert {room_of(path) for path in SOURCES} == set(ROOMS)


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_an_import_runs_downwards_only(path: Path) -> None:
    own = ROOMS.index(room_of(path))
    upward = [
        f"{path.name}:{line}: {name}"
        for line, name in imports(path)
        if name.startswith("auditor.") and ROOMS.index(name.split(".")[1]) > own
    ]
    assert upward == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_library_stays_in_its_room(path: Path) -> None:
    strays = [
        f"{path.name}:{line}: {name}"
        for line, name in imports(path)
        if room_of(path) not in LIBRARIES.get(name.split(".")[0], {room_of(path)})
    ]
    assert strays == []
