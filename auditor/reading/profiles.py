"""Profiles, policies and regions: the shipped ones by name, a user's own by path."""

from collections.abc import Callable
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TypeVar

from auditor.compute.near_misses import nearest
from auditor.models.forms import Table
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region
from auditor.reading.files import MissingFileError, text_of
from auditor.reading.toml import parse
from auditor.reading.validation import validated

Kind = TypeVar("Kind", bound=Table)

FOLDERS: dict[type[Table], str] = {
    ModuleProfile: "modules",
    ControllerProfile: "controllers",
    Policy: "policies",
    Region: "regions",
}
KINDS: dict[str, type[Table]] = {
    "module": ModuleProfile,
    "controller": ControllerProfile,
    "policy": Policy,
    "region": Region,
}
"""What people call each of them."""
LONGEST_CODE = 3
"""Letters of a country's longer code: ISO 3166-1, alpha-3."""


@cache
def shipped_folder() -> Path:
    """Return the folder of shipped profiles: inside the package once built, beside it before."""
    package = Path(str(files("auditor")))
    inside = package / "profiles"
    return inside if inside.is_dir() else package.parent / "profiles"


@cache
def shipped_names(kind: type[Table]) -> tuple[str, ...]:
    """Return the names of the shipped profiles of one kind."""
    folder = shipped_folder() / FOLDERS[kind]
    return tuple(sorted(path.stem for path in folder.glob("*.toml")))


def is_path(name: str) -> bool:
    """Say whether a profile is named by its path rather than by name."""
    return "/" in name or "\\" in name or name.endswith(".toml")


def find(kind: type[Kind], name: str, path_of: Callable[[str], Path]) -> Kind | None:
    """Return a profile by name, or by its path; None where there is none.

    `path_of` says where a path leads.

    Raises:
        UnreadableError: the file cannot be read, or no path may lead to it.
        UnusableError: what stands in it does not fit.
    """
    if not is_path(name):
        return _shipped(kind, name.lower())
    try:
        return _read(kind, path_of(name), name)
    except MissingFileError:
        return None


@cache
def _shipped(kind: type[Kind], name: str) -> Kind | None:
    """Return a shipped profile, read once: a run that audits again and again asks for few."""
    if name not in shipped_names(kind):
        return None
    path = shipped_folder() / FOLDERS[kind] / f"{name}.toml"
    return _read(kind, path, path.name)


def likely_regions(name: str) -> tuple[Region, ...]:
    """Return the shipped regions that somebody meant by a name that is the code of none.

    Several share a code that is no country's. Of a short code no letter is guessed: the nearest
    one is that of another country, with limits of its own.

    Source: ISO 3166-1 (alpha-3 codes; UK and EU are exceptionally reserved).
    """
    regions = [region for code in shipped_names(Region) if (region := _shipped(Region, code))]
    meant = tuple(each for each in regions if _is_called(name, each))
    if meant or len(name) <= LONGEST_CODE:
        return meant
    close = nearest(name, [each.name for each in regions])
    return tuple(each for each in regions if each.name == close)


def _is_called(name: str, region: Region) -> bool:
    return nearest(name, (region.name, *region.also_written), limit=0) is not None


def _read(kind: type[Kind], path: Path, shown: str) -> Kind:
    data, places = parse(text_of(path, shown), shown)
    return validated(kind, data, places, lambda written: True)
