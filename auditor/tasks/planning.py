"""A kit made from a brief: ids, addresses, the two files, and what the audit says of them."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from ipaddress import IPv4Address
from pathlib import Path

from auditor.compute.addresses import AddressRange
from auditor.findings import AuditResult
from auditor.models.brief import BriefFile
from auditor.models.entries import Entries
from auditor.models.fleet import Defaults
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place, RowPlaces
from auditor.models.words import Addressing
from auditor.reading.problems import Problem, UnusableError, quoted
from auditor.survey.kit import Survey
from auditor.tasks.allocation import Addresses
from auditor.tasks.kit_files import FLEET, TABLE, fleet_text, folders_beyond, table_text

Audited = Callable[[FleetFile], AuditResult]

_REFERENCES = (
    "the passphrase itself stands here, and a kit is made with references only; write {{ env = "
    '"{variable}" }} or {{ file = "{file}" }}, and put the passphrase there'
)


@dataclass(frozen=True)
class Planned:
    """A kit that can be written: its files, and what a report says of it.

    `ids` and `addresses` are those of all modules, None for one that leases its address. `pool`
    is what these lease from. `allow` names the folders beside its own into which the paths of the
    new fleet file lead.
    """

    files: Mapping[str, str]
    ids: Sequence[str]
    addresses: Sequence[IPv4Address | None]
    kept: Sequence[str]
    pool: AddressRange | None
    allow: Sequence[str]
    result: AuditResult


def planned(
    brief: BriefFile, folder: Path, audited: Audited, allowed: Sequence[Path] = ()
) -> Planned:
    """Return the kit that a brief asks for, as it will stand in a folder; nothing is written.

    Raises:
        UnusableError: the brief asks for what cannot be; with the nearest that can.
    """
    _require_references(brief)
    _require_sense(brief)
    draft = _fleet(brief, brief.plan.keep)
    addresses = Addresses(brief, Survey(draft, date.min)).given_out()  # no day matters to these
    made = _fleet(brief, addresses)
    return Planned(
        files={FLEET: fleet_text(brief, folder), TABLE: table_text(addresses)},
        ids=tuple(addresses),
        addresses=tuple(addresses.values()),
        kept=tuple(id for id in addresses if id in brief.plan.keep),
        pool=Survey(made, date.min).pool,
        allow=tuple(folders_beyond(brief, folder, allowed)),
        result=audited(made),
    )


def _require_references(brief: BriefFile) -> None:
    problems = list(_in_clear(brief.file))
    if problems:
        raise UnusableError(problems)


def _in_clear(file: FleetFile) -> Iterator[Problem]:
    """Give a problem for each passphrase that stands in the brief itself."""
    network, defaults = file.fleet.network, file.fleet.defaults
    retired = network.retired_passphrases if network else ()
    said = _REFERENCES.format(variable="KIT_PASSPHRASE", file="passphrase.txt")
    for name, table in (("network", network), ("defaults", defaults)):
        if table and table.passphrase and table.passphrase.in_clear:
            yield Problem(file.places.of(name, "passphrase"), said)
    for number, secret in enumerate(retired):
        if secret.in_clear:
            place = file.places.of("network", "retired_passphrases", number)
            yield Problem(
                place, _REFERENCES.format(variable="LAST_TERM_PASSPHRASE", file="last-term.txt")
            )


def _require_sense(brief: BriefFile) -> None:
    problems = [*_senseless(brief)]
    if problems:
        raise UnusableError(problems)


def _senseless(brief: BriefFile) -> Iterator[Problem]:
    """Give a problem for what of [plan] could not be heeded."""
    plan, ids = brief.plan, brief.plan.ids
    if plan.first_address and plan.addressing is Addressing.POOLED:
        yield Problem(
            brief.file.places.of("plan", "first_address"),
            "is for static addresses, and these are pooled; take it out, or set addressing to "
            '"static"',
        )
    for id in sorted(plan.keep.keys() - set(ids)):
        yield Problem(
            _kept_at(brief, id),
            f"{quoted(id)} is none of the ids that are made, which are {_first_and_last(ids)}; "
            "keep the address of one of these, or plan more modules",
        )


def _first_and_last(ids: Sequence[str]) -> str:
    return f"{ids[0]} to {ids[-1]}" if len(ids) > 1 else ids[0]


def _kept_at(brief: BriefFile, id: str) -> Place:
    return replace(brief.file.places.of("plan", "keep", id), column="keep")


def _fleet(
    brief: BriefFile, addresses: Mapping[str, IPv4Address] | Mapping[str, IPv4Address | None]
) -> FleetFile:
    """Return the brief's fleet with modules, each of which stands where the brief asks for it."""
    static = Defaults.model_validate({"addressing": "static"})
    pooled = Defaults.model_validate({"addressing": "pooled"})
    given, none = list(addresses.values()), [None] * len(addresses)
    entries = Entries(
        ids=list(addresses),
        hardware_addresses=none,
        addresses=[None if each is None else int(each) for each in given],
        holders=none,
        notes=none,
        settings=[static, pooled],
        kinds=[int(each is None) for each in given],
    )
    places = brief.file.places.with_rows(_rows(brief, entries.ids))
    return replace(brief.file, entries=entries, places=places)


def _rows(brief: BriefFile, ids: Sequence[str]) -> RowPlaces:
    """Return where modules stand that are not written yet: at their kept address, or at [plan]."""
    places, plan = brief.file.places, brief.plan
    usual = places.of("plan").line or 1
    return RowPlaces(
        file=places.file,
        first=0,
        lines=[(_kept_at(brief, id).line or usual) if id in plan.keep else usual for id in ids],
        headers={},
        shared=[frozenset(), frozenset()],
        kinds=[0] * len(ids),
        own={},
    )
