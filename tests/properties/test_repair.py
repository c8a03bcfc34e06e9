"""Laws of the repair: nothing but what must be is changed, and it makes nothing worse."""

import csv
import io
import tempfile
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.findings import AuditResult
from auditor.models.fleet_file import FleetFile
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.reading.toml_edits import edited_toml
from auditor.survey.kit import Survey
from auditor.tasks.repair.mending import ADDRESSES, SETTINGS
from auditor.tasks.repair.repair import Edited, Repair, repair, troubles
from auditor.tasks.repair.rewriting import rewritten
from tests.kits.clean import clean_kits
from tests.kits.faults.planting import (
    Planted,
    kits_with_faults,
    kits_with_faults_at_modules,
)
from tests.kits.kit import TODAY, Kit
from tests.kits.writing import fleet_text
from tests.properties.test_random_kits import KITS
from tests.properties.wild import DOCUMENTS, ENVIRONMENT, text_of

audited = partial(audit, checked_at=TODAY)
some = settings(
    max_examples=int(KITS or "10"),
    deadline=None,
    derandomize=KITS is None,
    suppress_health_check=list(HealthCheck),
)


def fleet(text: str, kit: Kit) -> FleetFile:
    """Return a fleet in the environment of a kit."""
    return fleet_of_text(text, "kit.toml", kit.environment)


def mended(text: str, edits: tuple[Edited, ...]) -> str:
    """Return a fleet file with edits of its modules."""
    changes: dict[tuple[str | int, ...], Any] = {
        ("module", edit.index, edit.key): edit.value for edit in edits
    }
    return edited_toml(text.encode(), changes).decode()


def repaired(kit: Kit) -> tuple[Repair, str]:
    """Return the repair of a kit, and its new file."""
    done = repair(fleet(kit.text, kit), audited)
    return done, mended(kit.text, done.edits)


def grave(result: AuditResult) -> set[tuple[int | None, str]]:
    """Return the faults and risks of a kit."""
    risk = Severity.RISK.rank
    return {trouble for trouble, rank in troubles(result).items() if rank >= risk}


@some
@given(clean_kits())
def test_a_clean_kit_is_left_as_it_is(kit: Kit) -> None:
    done, text = repaired(kit)
    assert text == kit.text
    assert done.left == ()


@some
@given(kits_with_faults())
def test_no_new_fault_or_risk_appears(planting: tuple[Kit, list[Planted]]) -> None:
    kit, _ = planting
    _, text = repaired(kit)
    assert grave(audited(fleet(text, kit))) <= grave(kit.audited())


@some
@given(kits_with_faults())
def test_what_is_left_is_what_the_new_file_has(planting: tuple[Kit, list[Planted]]) -> None:
    kit, _ = planting
    done, text = repaired(kit)
    ids = [module["id"] for module in kit.modules]
    left = grave(audited(fleet(text, kit)))
    assert {(None if at is None else ids[at], check) for at, check in left} == {
        (each.id, each.check) for each in done.left
    }


@some
@given(kits_with_faults())
def test_repairing_twice_changes_nothing_more(planting: tuple[Kit, list[Planted]]) -> None:
    kit, _ = planting
    done, text = repaired(kit)
    again = repair(fleet(text, kit), audited)
    assert again.edits == ()
    assert again.left == done.left


@some
@given(kits_with_faults_at_modules())
def test_a_planted_fault_of_a_setting_is_gone(planting: tuple[Kit, Kit, list[Planted]]) -> None:
    """All but what no setting of a module mends, and what nobody knows a right value for.

    That is a reservation that its owner cannot lease, and a gateway where none is planned.
    """
    _, kit, planted = planting
    _, text = repaired(kit)
    new = fleet(text, kit)
    mendable = (SETTINGS.keys() | ADDRESSES) & {each.check for each in planted}
    in_vain = {(at, "reservation-conflict") for at in Survey(new, TODAY.date()).pooled}
    unknown = set() if kit.facts.gateway else {"gateway-off-subnet", "gateway-not-a-host"}
    left = {(at, check) for at, check in grave(audited(new)) if check in mendable - unknown}
    assert left <= in_vain


@some
@given(kits_with_faults())
def test_no_change_can_be_spared(planting: tuple[Kit, list[Planted]]) -> None:
    kit, _ = planting
    done, text = repaired(kit)
    best = troubles(audited(fleet(text, kit)))
    for spared in done.edits:
        others = tuple(edit for edit in done.edits if edit != spared)
        worse = troubles(audited(fleet(mended(kit.text, others), kit)))
        assert any(rank > best.get(trouble, 0) for trouble, rank in worse.items()), spared


@some
@given(kits_with_faults())
def test_every_other_line_is_as_it_was(planting: tuple[Kit, list[Planted]]) -> None:
    kit, _ = planting
    done, text = repaired(kit)
    changed = {(edit.index, edit.key) for edit in done.edits}
    assert _without(text, changed) == _without(kit.text, changed)


def _without(text: str, changed: set[tuple[int, str]]) -> list[str]:
    """Return the lines of a fleet file but those of some keys of modules."""
    kept, module = [], -1
    for line in text.splitlines(keepends=True):
        module += line.startswith("[[module]]")
        if (module, line.partition(" = ")[0]) not in changed:
            kept.append(line)
    return kept


def _flat(table: Mapping[str, Any], before: str = "") -> dict[str, str]:
    """Return the cells of a module by their headers."""
    cells: dict[str, str] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            cells |= _flat(value, f"{before}{key}.")
        else:
            cells[f"{before}{key}"] = str(value).lower() if isinstance(value, bool) else str(value)
    return cells


def _as_table(kit: Kit, separator: str, line_end: str, quoting: Any) -> str:
    """Return the modules of a kit as a table; references to secrets become the secrets."""
    rows = []
    for module in kit.modules:
        own = dict(module)
        if isinstance(own.get("passphrase"), dict):
            ((form, name),) = own["passphrase"].items()
            own["passphrase"] = kit.environment.get(name, name) if form == "env" else name
        rows.append(_flat(own))
    headers = list(dict.fromkeys(key for row in rows for key in row))
    written = io.StringIO(newline="")
    writer = csv.DictWriter(
        written, headers, delimiter=separator, lineterminator=line_end, quoting=quoting
    )
    writer.writeheader()
    writer.writerows(rows)
    return written.getvalue()


FORMS = st.tuples(
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    st.booleans(),
)


@some
@given(kits_with_faults_at_modules(), FORMS)
def test_every_other_cell_of_a_table_is_as_it_was(
    planting: tuple[Kit, Kit, list[Planted]], form: tuple[str, str, Any, bool]
) -> None:
    _, kit, _ = planting
    separator, line_end, quoting, has_mark = form
    table = _as_table(kit, separator, line_end, quoting).encode()
    old = ("\ufeff".encode() if has_mark else b"") + table
    document = {key: value for key, value in kit.document.items() if key != "module"}
    document["kit"] = {**document.get("kit", {}), "modules": "kit.csv"}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "kit.csv").write_bytes(old)
        path = str(folder / "kit.toml")
        Path(path).write_text(fleet_text(document), encoding="utf-8", newline="")
        file = read_fleet(path, environment=kit.environment)
        done = repair(file, audited)
        new = rewritten(file, done.edits, {}, str(folder / "new.toml")).files
        _write(new)
        again = read_fleet(str(folder / "new.toml"), environment=kit.environment)
    if done.edits:
        text = new[str(folder / "new.csv")]
        assert _but(old, done, separator, line_end) == _but(
            text.encode(), done, separator, line_end
        )
    assert {(each.id, each.check) for each in repair(again, audited).left} == {
        (each.id, each.check) for each in done.left
    }
    assert repair(again, audited).edits == ()


def _write(files: Mapping[str, str]) -> None:
    for name, text in files.items():
        Path(name).write_text(text, encoding="utf-8", newline="")


def _but(table: bytes, done: Repair, separator: str, line_end: str) -> list[list[str]]:
    """Return the raw cells of a table, quotation marks and all, but those that were changed.

    No cell of these kits holds a separator or a line end.
    """
    rows = [line.split(separator) for line in table.decode().split(line_end)]
    headers = [cell.strip('"\ufeff') for cell in rows[0]]
    for edit in done.edits:
        rows[edit.index + 1][headers.index(edit.key)] = "changed"
    return rows


@settings(some, phases=[Phase.explicit, Phase.reuse, Phase.generate])  # they shrink for minutes
@given(DOCUMENTS)
def test_whatever_a_file_says_the_repair_makes_nothing_worse(document: dict[str, Any]) -> None:
    text = text_of(document)
    file = fleet_of_text(text, "kit.toml", ENVIRONMENT)
    done = repair(file, audited)
    new = fleet_of_text(mended(text, done.edits), "kit.toml", ENVIRONMENT)
    assert grave(audited(new)) <= grave(audited(file))
    again = repair(new, audited)
    assert again.edits == ()
    assert [(each.id, each.check) for each in again.left] == [
        (each.id, each.check) for each in done.left
    ]
