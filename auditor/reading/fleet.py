"""A fleet file with its table, or a bare table, as one checked model."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from auditor.models.brief import Brief, BriefFile, Plan
from auditor.models.entries import Entries, entries_of
from auditor.models.fleet import Fleet
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place, Places
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region
from auditor.models.secrets import Secret
from auditor.reading.files import (
    LARGEST_BYTES,
    LARGEST_TABLE_BYTES,
    Reach,
    UnreadableError,
    read_text,
    text_of,
)
from auditor.reading.problems import Problem, UnusableError, unusable
from auditor.reading.profiles import find, is_path, shipped_names
from auditor.reading.quoting import Masking, named
from auditor.reading.rows import entries_of_rows, take_row_secrets
from auditor.reading.secrets import Vault, take_secrets
from auditor.reading.table import RawTable, read_table
from auditor.reading.toml import parse
from auditor.reading.validation import validated

Kind = TypeVar("Kind", ModuleProfile, ControllerProfile)
Value = TypeVar("Value")

TABLE_ENDINGS = (".csv", ".tsv")
USUAL_POLICY = "teaching-lab"
_NO_PLAN = (
    "is no brief, which says in [plan] what modules to make; "
    'add [plan] with modules = 30, id = "TG-{n:02}" and addressing = "static"'
)
_ONLY_IN_A_BRIEF = (
    "stands only in a brief, which has no modules; "
    'make the kit of it with "auditor plan", or take [plan] out'
)
_NOT_IN_A_BRIEF = "stands in a brief, whose modules are made from [plan]; take it out"


def read_fleet(
    file: str,
    *,
    environment: Mapping[str, str],
    columns: Mapping[str, str] | None = None,
    policy: str | None = None,
    with_secrets: bool = True,
    within: Path = Path(),
    allowed: Sequence[Path] = (),
) -> FleetFile:
    """Return the fleet of a file, with every value's place and the profiles that it names.

    `columns` maps headers of the table to our keys, `policy` is used instead of the file's own,
    and `within` is the folder that the file's name starts from. Paths in the file lead into its
    own folder, and into those that are `allowed`.

    Raises:
        UnusableError: with all that cannot be read, in the file and in its table.
    """
    reach = Reach((within / file).parent, allowed)
    largest = LARGEST_TABLE_BYTES if is_table(file) else LARGEST_BYTES
    raw = _raw(read_text(within / file, file, largest), file, reach, columns or {})
    vault = Vault(environment, reach, withheld=not with_secrets)
    try:
        return _with_profiles(_checked(raw, vault), reach, policy)
    except UnusableError as failure:
        raise UnusableError(_masked(failure.problems, raw.secrets)) from None


def read_brief(
    file: str,
    *,
    environment: Mapping[str, str],
    within: Path = Path(),
    allowed: Sequence[Path] = (),
) -> BriefFile:
    """Return a brief: a fleet file that has [plan] and no modules.

    `within` is the folder that the file's name starts from, and paths in it lead into its own
    folder, and into those that are `allowed`.

    Raises:
        UnusableError: with all that cannot be read.
    """
    reach = Reach((within / file).parent, allowed)
    text = read_text(within / file, file)
    raw = _Raw(*parse(text, file))
    if "plan" not in raw.data:
        raise unusable(Place(file), _NO_PLAN)
    try:
        checked = _checked(raw, Vault(environment, reach), Brief)
        fleet = _with_profiles(checked, reach, None)
    except UnusableError as failure:
        raise UnusableError(_masked(failure.problems, raw.secrets)) from None
    return BriefFile(text, checked.plan, fleet)


def fleet_of_text(text: str, file: str, environment: Mapping[str, str]) -> FleetFile:
    """Return the fleet of a TOML text, for a file of that name in the current folder.

    Raises:
        UnusableError: with all that cannot be read.
    """
    reach = Reach(Path())
    raw = _raw(text, file, reach, {})
    return _with_profiles(_checked(raw, Vault(environment, reach)), reach, None)


@dataclass(frozen=True, repr=False)
class _Raw:
    """A document, and the table that it names, before their values are looked at."""

    data: dict[str, Any]
    places: Places
    table: RawTable | None = None
    problems: tuple[Problem, ...] = ()

    @property
    def secrets(self) -> list[Secret]:
        """The secrets that no problem may quote."""
        rows = self.table.settings if self.table else ()
        network = self.data.get("network")
        tables = [network, self.data.get("defaults"), *_list(self.data.get("module")), *rows]
        found = [table.get("passphrase") for table in tables if isinstance(table, dict)]
        if isinstance(network, dict):
            found += _list(network.get("retired_passphrases"))
        return [secret for secret in found if isinstance(secret, Secret)]


@dataclass(frozen=True)
class _Checked:
    """A fleet, all its modules, and where everything stood."""

    fleet: Fleet
    entries: Entries
    places: Places

    @property
    def plan(self) -> Plan:
        """What a brief asks for.

        Raises:
            TypeError: it is no brief.
        """
        if not isinstance(self.fleet, Brief):
            raise TypeError("a fleet file has no plan")
        return self.fleet.plan


def _raw(text: str, file: str, reach: Reach, columns: Mapping[str, str]) -> _Raw:
    if is_table(file):
        return _Raw({}, Places(file, {}), read_table(text, file, columns))
    data, places = parse(text, file)
    try:
        return _Raw(data, places, _table(data, places, reach, columns))
    except UnusableError as failure:
        return _Raw(data, places, None, failure.problems)


def is_table(file: str) -> bool:
    """Say whether a file is taken for a bare table, by its name."""
    return file.lower().endswith(TABLE_ENDINGS)


def _table(
    data: dict[str, Any], places: Places, reach: Reach, columns: Mapping[str, str]
) -> RawTable | None:
    kit = data.get("kit")
    name = kit.get("modules") if isinstance(kit, dict) else None
    if not isinstance(name, str):
        return None
    shown = str(Path(places.file).parent / name)
    with _named_at(lambda: places.of("kit", "modules"), shown):
        text = text_of(reach.path(name), shown, LARGEST_TABLE_BYTES)
    return read_table(text, shown, columns)


@contextmanager
def _named_at(place: Callable[[], Place], name: str) -> Iterator[None]:
    """Say of a file that cannot be read where it is named."""
    try:
        yield
    except UnreadableError as reason:
        raise unusable(place(), f"{named(name, 'this file')}: {reason}") from None


def _checked(raw: _Raw, vault: Vault, kind: type[Fleet] = Fleet) -> _Checked:
    """Look at every value of a document and its table, and say all that was wrong before it too."""
    problems = [*raw.problems, *_out_of_place(raw, kind)]
    problems += take_secrets(raw.data, vault, raw.places)
    problems += take_row_secrets(raw.table, vault) if raw.table else ()
    secrets = raw.secrets

    def may_quote(written: object) -> bool:
        return not any(secret.stands_in(written) for secret in secrets)

    fleet = _kept(lambda: validated(kind, raw.data, raw.places, may_quote), problems)
    table = raw.table
    rows = _kept(lambda: entries_of_rows(table, may_quote), problems) if table else None
    if problems or fleet is None:
        raise UnusableError(problems)
    written = entries_of(fleet.module)
    entries = written if rows is None else written + rows
    if not len(entries) and kind is Fleet:
        raise unusable(
            Place(raw.places.file),
            'has no modules; add [[module]], or modules = "kit.csv" in [kit]',
        )
    places = raw.places.with_rows(table.places(len(written))) if table else raw.places
    return _Checked(fleet, entries, places)


def _out_of_place(raw: _Raw, kind: type[Fleet]) -> Iterator[Problem]:
    """Say of [plan] in a fleet that has modules, and of modules in a brief, that they are."""
    if kind is Fleet:
        if raw.data.pop("plan", None) is not None:
            yield Problem(raw.places.of("plan"), _ONLY_IN_A_BRIEF)
        return
    kit = raw.data.get("kit")
    if isinstance(kit, dict) and "modules" in kit:
        yield Problem(raw.places.of("kit", "modules"), _NOT_IN_A_BRIEF)
    if "module" in raw.data:
        yield Problem(raw.places.of("module", 0), _NOT_IN_A_BRIEF)


def _kept(read: Callable[[], Value], problems: list[Problem]) -> Value | None:
    """Return what reading gives, or None with its problems added to the others."""
    try:
        return read()
    except UnusableError as failure:
        problems += failure.problems
        return None


def _masked(problems: Iterable[Problem], secrets: Iterable[Secret]) -> Iterator[Problem]:
    """Give problems again without what is a passphrase elsewhere in the file."""
    mask = Masking(secrets)
    for problem in problems:
        place = replace(problem.place, file=mask(problem.place.file))
        yield Problem(place, mask(problem.message))


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _with_profiles(checked: _Checked, reach: Reach, policy: str | None) -> FleetFile:
    fleet, places = checked.fleet, checked.places
    tables = (fleet.defaults, *checked.entries.settings)
    modules = {fleet.kit.profile, *(table.profile for table in tables)}
    boards = {fleet.controller.profile} | {
        table.controller.profile for table in tables if table.controller
    }
    return FleetFile(
        file=places.file,
        fleet=fleet,
        entries=checked.entries,
        places=places,
        module_profiles=_found(ModuleProfile, modules, checked, reach),
        controller_profiles=_found(ControllerProfile, boards, checked, reach),
        policy=_policy(fleet, places, reach, policy),
        region=_region(fleet, places, reach),
        known_profiles={
            "module": shipped_names(ModuleProfile),
            "controller": shipped_names(ControllerProfile),
        },
    )


def _found(
    kind: type[Kind], names: Iterable[str | None], checked: _Checked, reach: Reach
) -> dict[str, Kind]:
    found = {}
    for name in filter(None, names):
        with _named_at(partial(_place_naming, kind, name, checked), name):
            profile = find(kind, name, reach.path)
        if profile is not None:
            found[name] = profile
    return found


def _place_naming(kind: type[Kind], name: str, checked: _Checked) -> Place:
    """Return where a profile is named first: by a module, by the defaults, or for the kit."""
    part = () if kind is ModuleProfile else ("controller",)
    tables = (checked.fleet.defaults, *checked.entries.settings)
    owners = [table.controller if part else table for table in tables]
    naming = [at for at, owner in enumerate(owners) if owner and owner.profile == name]
    if not naming:
        return checked.places.of(*(part or ("kit",)), "profile")
    if naming[-1] == 0:
        return checked.places.of("defaults", *part, "profile")
    first = checked.entries.kinds.index(next(at for at in naming if at) - 1)
    return checked.places.of("module", first, *part, "profile")


def _region(fleet: Fleet, places: Places, reach: Reach) -> Region | None:
    name = fleet.kit.region
    if not name:
        return None
    with _named_at(lambda: places.of("kit", "region"), name):
        return find(Region, name, reach.path)


def _policy(fleet: Fleet, places: Places, reach: Reach, chosen: str | None) -> Policy:
    name = chosen or fleet.kit.policy or USUAL_POLICY
    place = Place("--policy") if chosen else places.of("kit", "policy")
    with _named_at(lambda: place, name):
        policy = find(Policy, name, Path if chosen else reach.path)
    if policy is not None:
        return policy
    if is_path(name):
        raise unusable(place, f"{named(name, 'this file')}: there is no such file")
    known = ", ".join(shipped_names(Policy))
    raise unusable(place, f"{named(name, 'this name')} is not a known policy; known are {known}")
