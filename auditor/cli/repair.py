"""`auditor repair`: a new fleet file with the smallest set of changes that mends the kit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import (
    AllowOption,
    ColumnOption,
    FleetArgument,
    Format,
    FormatOption,
    PolicyOption,
    WithoutSecretsOption,
)
from auditor.cli.status import Status

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from auditor.models.fleet_file import FleetFile
    from auditor.tasks.repair.repair import Repair
    from auditor.tasks.repair.rewriting import Rewritten


def repair(
    fleet: FleetArgument,
    format: FormatOption = Format.TEXT,
    output: Annotated[
        str | None,
        typer.Option(metavar="NEW", help="The new fleet file; left out, nothing is written."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Replace NEW and its table where they exist.")
    ] = False,
    policy: PolicyOption = None,
    column: ColumnOption = None,
    without_secrets: WithoutSecretsOption = False,
    allow_folder: AllowOption = None,
) -> None:
    """Writes a kit anew with the fewest changes that mend it.

    Only settings of which the right value is known are changed; every other byte stays as it is.

    Exit status: 0 no fault and no risk is left, 1 something is left for a person, 2 the input
    cannot be used.
    """
    from auditor.cli.auditing import audited, mapping, read
    from auditor.cli.output import deliver
    from auditor.reports.redaction import redacted
    from auditor.tasks.repair.repair import repair as repaired

    columns = dict(map(mapping, column or ()))
    file = read(
        fleet,
        column or (),
        policy=policy,
        with_secrets=not without_secrets,
        allowed=allow_folder or (),
    )
    if output is not None:
        _require_place(output, file, policy)
    done, new = repaired(file, audited), None
    if output is not None:
        new = _rewritten(file, done, columns, output)
        done = replace(done, changes=(*filter(None, (new.naming,)), *done.changes))
    report = _report(redacted(done, file.secrets), sorted(new.files) if new else (), format)
    if new is not None:
        _write(new, file, force=force)
    deliver(report, None, force=False)
    raise typer.Exit(Status.FOUND if done.left else Status.CLEAN)


def _require_place(output: str, file: FleetFile, policy: str | None) -> None:
    """Refuse a name under which the new file would be read otherwise, or replace what is read."""
    from pathlib import Path

    from auditor.cli.output import refuse_inputs
    from auditor.models.places import Place
    from auditor.reading.fleet import is_table
    from auditor.reading.inputs import inputs
    from auditor.reading.problems import unusable
    from auditor.tasks.repair.rewriting import names_other_files, same_folder

    place, old = Place(output), Path(file.file)
    refuse_inputs(output, inputs(file, policy))
    if is_table(output) != is_table(file.file):
        kind = "table" if is_table(file.file) else "fleet file"
        right = Path(output).with_suffix(old.suffix)
        raise unusable(place, f"does not end as the {kind} does that it repairs; name it {right}")
    if names_other_files(file) and not same_folder(output, file.file):
        right = old.parent / Path(output).name
        raise unusable(
            place,
            f"is in another folder than {old}, which names files in its own; name it {right}",
        )
    _require_place_for_table(output, file, policy)


def _require_place_for_table(output: str, file: FleetFile, policy: str | None) -> None:
    """Refuse a name whose table would replace what is read."""
    from pathlib import Path

    from auditor.cli.output import refuse_inputs
    from auditor.models.places import Place
    from auditor.reading.inputs import inputs
    from auditor.reading.problems import UnusableError, unusable
    from auditor.tasks.repair.rewriting import table_beside

    if not file.fleet.kit.modules:
        return
    beside = table_beside(output, file.fleet.kit.modules)
    try:
        refuse_inputs(str(beside), inputs(file, policy))
    except UnusableError:
        other = Path(output).with_stem(f"{Path(output).stem}-repaired")
        reason = f"would get {beside} as its table, which is read for it; name it {other}"
        raise unusable(Place(output), reason) from None


def _rewritten(file: FleetFile, done: Repair, columns: Mapping[str, str], output: str) -> Rewritten:
    from auditor.models.places import Place
    from auditor.reading.files import UnreadableError
    from auditor.reading.problems import unusable
    from auditor.tasks.repair.rewriting import rewritten

    try:
        return rewritten(file, done.edits, columns, output)
    except UnreadableError as reason:
        raise unusable(Place(file.file), str(reason)) from None


def _write(new: Rewritten, file: FleetFile, *, force: bool) -> None:
    from auditor.cli.output import deliver_together
    from auditor.tasks.repair.rewriting import holds_secret

    private = holds_secret(file, new.files.values())
    deliver_together(new.files, force=force, private=private)


def _report(done: Repair, written: Sequence[str], format: Format) -> str:
    from auditor.cli.output import line_width
    from auditor.reports import repair as reports

    if format is Format.JSON:
        return reports.as_json(done)
    return reports.text(done, written, width=line_width(None))
