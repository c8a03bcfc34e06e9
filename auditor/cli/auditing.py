"""A fleet file read and audited, as several commands ask for it."""

import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import typer

from auditor.audit import CheckBrokeError, audit
from auditor.checks import CHECKS
from auditor.checks.registry import Check
from auditor.cli.clock import now
from auditor.compute.near_misses import nearest
from auditor.findings import AuditResult
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place
from auditor.reading.fleet import read_fleet
from auditor.reading.problems import Problem, UnusableError, quoted, unusable
from auditor.reading.quoting import named
from auditor.reports.redaction import redacted
from auditor.survey.likeness import Group

MANY_GROUPS = 5000
"""From here on an audit takes long enough to wonder whether it goes on."""


def read(
    fleet: str,
    columns: Iterable[str],
    *,
    policy: str | None = None,
    with_secrets: bool = True,
    allowed: Iterable[str] = (),
) -> FleetFile:
    """Return the fleet of a file; `columns` are written "Their header=our_key".

    `allowed` are folders beside its own into which the paths in the file may lead.

    Raises:
        UnusableError: with all that cannot be read.
    """
    file = read_fleet(
        fleet,
        environment=os.environ,
        columns=dict(map(mapping, columns)),
        policy=policy,
        with_secrets=with_secrets,
        allowed=tuple(map(Path, allowed)),
    )
    require_checks(file)
    return file


def require_checks(file: FleetFile) -> None:
    """Refuse a policy that speaks of checks that there are not.

    Raises:
        UnusableError: with every id that no check has.
    """
    spot = f'the policy "{file.policy.title}"'
    unknown = [_unknown(spot, id) for id in file.policy.severities if id not in CHECKS]
    if unknown:
        raise UnusableError(redacted(tuple(unknown), file.secrets))


def audited(file: FleetFile, only: Iterable[str] = ()) -> AuditResult:
    """Return what the checks say of a fleet, without any of its passphrases.

    Raises:
        UnusableError: a check broke; the one line says which, and whose fault that is.
    """
    try:
        result = audit(file, now(os.environ), frozenset(only), _watched)
    except CheckBrokeError as fault:
        if isinstance(fault.__cause__, MemoryError):
            raise fault.__cause__ from None
        reason = f"{fault}; this is a fault of the auditor, not of your file"
        raise unusable(Place("auditor"), reason) from None
    return redacted(result, file.secrets)


def _watched(groups: Sequence[Group]) -> Iterator[Group]:
    """Give groups one by one; where there are many, show a terminal how far it has come."""
    if len(groups) < MANY_GROUPS or not sys.stderr.isatty():
        yield from groups
    else:
        with typer.progressbar(groups, label="checking", file=sys.stderr) as bar:
            yield from bar


def chosen(ids: Iterable[str]) -> tuple[str, ...]:
    """Return the ids of checks as they were given.

    Raises:
        UnusableError: with every id that no check has.
    """
    ids = tuple(ids)
    unknown = [_unknown("--only", id) for id in ids if id not in CHECKS]
    if unknown:
        raise UnusableError(unknown)
    return ids


def check_of(id: str) -> Check:
    """Return the check with an id.

    Raises:
        UnusableError: no check has it; the nearest one is named.
    """
    if id not in CHECKS:
        raise UnusableError([_unknown("explain", id)])
    return CHECKS[id]


def _unknown(option: str, id: str) -> Problem:
    close = nearest(id[:100], CHECKS)
    hint = f"did you mean {close}?" if close else 'see "auditor checks" for all of them'
    hint = f"give {option} once for each" if "," in id and option == "--only" else hint
    given = quoted(id) if close else named(id, "what is given")
    return Problem(Place(option), f"{given} is not a check; {hint}")


def mapping(written: str) -> tuple[str, str]:
    """Return the header and our key of an option written "Their header=our_key".

    Raises:
        UnusableError: it is not written so.
    """
    heading, equals, key = written.rpartition("=")
    if not equals or not heading.strip():
        given = named(written, "what is given")
        reason = f'{given} is not of the form "Their header=our_key"'
        raise unusable(Place("--column"), reason)
    return heading.strip(), key.strip()
