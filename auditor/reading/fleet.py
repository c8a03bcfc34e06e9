"""A fleet file with its table, or a bare table, as one checked model."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from auditor.models.fleet import Fleet
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Path as ValuePath
from auditor.models.places import Place, Places
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region
from auditor.models.secrets import Secret
from auditor.reading.files import read_text
from auditor.reading.problems import Problem, UnusableError, quoted, unusable
from auditor.reading.profiles import find, shipped_names
from auditor.reading.quoting import masking
from auditor.reading.secrets import Vault, take_secrets
from auditor.reading.table import Row, read_rows
from auditor.reading.toml import parse
from auditor.reading.validation import validated

Kind = TypeVar("Kind", ModuleProfile, ControllerProfile)

TABLE_ENDINGS = (".csv", ".tsv")
USUAL_POLICY = "teaching-lab"


def read_fleet(
    file: str,
    *,
    environment: Mapping[str, str],
    columns: Mapping[str, str] | None = None,
    policy: str | None = None,
    with_secrets: bool = True,
    within: Path = Path(),
) -> FleetFile:
    """Return the fleet of a file, with every value's place and the profiles that it names.

    `columns` maps headers of the table to our keys, `policy` is used instead of the file's own,
    and `within` is the folder that the file's name starts from.

    Raises:
        UnusableError: with all that cannot be read, in the file and in its table.
    """
    folder = (within / file).parent
    raw = _raw(read_text(within / file, file), file, folder, columns or {})
    vault = Vault(environment, folder, withheld=not with_secrets)
    try:
        return _with_profiles(_fleet(raw, vault), raw.places, folder, policy)
    except UnusableError as failure:
        raise UnusableError(_masked(failure.problems, _secrets(raw.data))) from None


def fleet_of_text(text: str, file: str, environment: Mapping[str, str]) -> FleetFile:
    """Return the fleet of a TOML text, for a file of that name in the current folder.

    Raises:
        UnusableError: with all that cannot be read.
    """
    raw = _raw(text, file, Path(), {})
    return _with_profiles(_fleet(raw, Vault(environment, Path())), raw.places, Path(), None)


@dataclass(frozen=True)
class _Raw:
    """A document before it is checked, with the rows of its table as further modules."""

    data: dict[str, Any]
    places: Places
    problems: tuple[Problem, ...] = ()


def _fleet(raw: _Raw, vault: Vault) -> Fleet:
    """Validate a raw document, and say what was wrong before it too."""
    problems = [*raw.problems, *take_secrets(raw.data, vault, raw.places)]
    secrets = _secrets(raw.data)
    try:
        fleet = validated(
            Fleet,
            raw.data,
            raw.places,
            lambda written: not any(secret.stands_in(written) for secret in secrets),
        )
    except UnusableError as failure:
        problems += failure.problems
    if problems:
        raise UnusableError(problems)
    if not fleet.module:
        raise unusable(
            Place(raw.places.file),
            'has no modules; add [[module]], or modules = "kit.csv" in [kit]',
        )
    return fleet


def _raw(text: str, file: str, folder: Path, columns: Mapping[str, str]) -> _Raw:
    if file.lower().endswith(TABLE_ENDINGS):
        return _with_rows({}, {}, file, read_rows(text, file, columns))
    data, places = parse(text, file)
    try:
        rows = _table_rows(data, file, folder, columns)
    except UnusableError as failure:
        return _Raw(data, places, failure.problems)
    return _with_rows(data, dict(places.items()), file, rows)


def _table_rows(
    data: dict[str, Any], file: str, folder: Path, columns: Mapping[str, str]
) -> list[Row]:
    kit = data.get("kit")
    name = kit.get("modules") if isinstance(kit, dict) else None
    if not isinstance(name, str):
        return []
    shown = str(Path(file).parent / name)
    return read_rows(read_text(folder / name, shown), shown, columns)


def _with_rows(
    data: dict[str, Any], known: dict[ValuePath, Place], file: str, rows: Iterable[Row]
) -> _Raw:
    modules = data.get("module", [])
    if not isinstance(modules, list):
        return _Raw(data, Places(file, known))
    modules = list(modules)
    for row in rows:
        for path, place in row.places.items():
            known["module", len(modules), *path] = place
        modules.append(row.values)
    return _Raw({**data, "module": modules}, Places(file, known))


def _secrets(data: dict[str, Any]) -> list[Secret]:
    """Return the secrets that no problem may quote."""
    tables = [data.get("network"), data.get("defaults"), *_list(data.get("module"))]
    found = [table.get("passphrase") for table in tables if isinstance(table, dict)]
    network = data.get("network")
    if isinstance(network, dict):
        found += _list(network.get("retired_passphrases"))
    return [secret for secret in found if isinstance(secret, Secret)]


def _masked(problems: Iterable[Problem], secrets: Iterable[Secret]) -> Iterator[Problem]:
    """Give problems again without what is a passphrase elsewhere in the file."""
    mask = masking(secrets)
    for problem in problems:
        place = replace(problem.place, file=mask(problem.place.file))
        yield Problem(place, mask(problem.message))


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _with_profiles(fleet: Fleet, places: Places, folder: Path, policy: str | None) -> FleetFile:
    entries = (fleet.defaults, *fleet.module)
    modules = {fleet.kit.profile, *(entry.profile for entry in entries)}
    boards = {fleet.controller.profile} | {
        entry.controller.profile for entry in entries if entry.controller
    }
    return FleetFile(
        file=places.file,
        fleet=fleet,
        places=places,
        module_profiles=_found(ModuleProfile, modules, folder),
        controller_profiles=_found(ControllerProfile, boards, folder),
        policy=_policy(fleet, places, folder, policy),
        region=find(Region, fleet.kit.region, folder) if fleet.kit.region else None,
        known_profiles={
            "module": shipped_names(ModuleProfile),
            "controller": shipped_names(ControllerProfile),
        },
    )


def _found(kind: type[Kind], names: Iterable[str | None], folder: Path) -> dict[str, Kind]:
    found = {name: find(kind, name, folder) for name in names if name}
    return {name: profile for name, profile in found.items() if profile is not None}


def _policy(fleet: Fleet, places: Places, folder: Path, chosen: str | None) -> Policy:
    name = chosen or fleet.kit.policy or USUAL_POLICY
    policy = find(Policy, name, Path() if chosen else folder)
    if policy is None:
        place = Place("--policy") if chosen else places.of("kit", "policy")
        known = ", ".join(shipped_names(Policy))
        raise unusable(place, f"{quoted(name)} is not a known policy; known are {known}")
    return policy
