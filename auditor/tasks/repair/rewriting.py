"""The files of a repaired kit: what is changed in them, and every other byte as it was."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from auditor.models.fleet_file import FleetFile
from auditor.reading.edits import Plain
from auditor.reading.files import LARGEST_BYTES, LARGEST_TABLE_BYTES, content
from auditor.reading.fleet import is_table
from auditor.reading.inputs import inputs
from auditor.reading.table_edits import edited_table
from auditor.reading.toml_edits import edited_toml
from auditor.tasks.repair.repair import Changed, Edited

_TABLE = ("kit", "modules")


class Rewritten(NamedTuple):
    """The text of each new file by its name, and how the fleet file now names its table."""

    files: Mapping[str, str]
    naming: Changed | None


def rewritten(
    file: FleetFile, edits: Iterable[Edited], columns: Mapping[str, str], new: str
) -> Rewritten:
    """Return the new files; `columns` maps headers of the table, as it did when it was read.

    The table is written beside `new`, where it is changed or would be left in another folder.

    Raises:
        UnreadableError: a file is no longer there to be read.
    """
    own: dict[tuple[str | int, ...], Plain | None] = {}
    cells: dict[tuple[int, str], Plain | None] = {}
    for edit in edits:
        line = file.places.of("module", edit.index).line
        if edit.index < len(file.fleet.module):
            own["module", edit.index, edit.key] = edit.value
        elif line is not None:
            cells[line, edit.key] = edit.value
    old = Path(file.file)
    if is_table(file.file):
        data = content(old, LARGEST_TABLE_BYTES)
        return Rewritten({new: edited_table(data, columns, cells).decode()}, None)
    files, naming = {}, None
    table = file.fleet.kit.modules
    if table and (cells or not same_folder(new, file.file)):
        beside = table_beside(new, table)
        data = content(old.parent / table, LARGEST_TABLE_BYTES)
        files[str(beside)] = edited_table(data, columns, cells).decode()
        own[_TABLE] = beside.name
        naming = Changed(None, ".".join(_TABLE), table, beside.name, inherits=False, check=None)
    files[new] = edited_toml(content(old, LARGEST_BYTES), own).decode()
    return Rewritten(files, naming)


def table_beside(new: str, table: str) -> Path:
    """Return where the table of a new fleet file is written: under the same name, with its end."""
    return Path(new).with_suffix(Path(table).suffix or ".csv")


def same_folder(one: str, other: str) -> bool:
    """Say whether two files are in one folder, every link followed."""
    return Path(one).parent.resolve() == Path(other).parent.resolve()


def names_other_files(file: FleetFile) -> bool:
    """Say whether a fleet file names files other than its table, by their way from its folder."""
    table = file.fleet.kit.modules
    rewritten_too = {Path(file.file)} | ({Path(file.file).parent / table} if table else set())
    return any(path not in rewritten_too for path in inputs(file))


def holds_secret(file: FleetFile, texts: Iterable[str]) -> bool:
    """Say whether a passphrase or key stands in clear in one of some texts of a kit."""
    texts = list(texts)
    return any(
        secret.reference is None or any(map(secret.stands_in, texts)) for secret in file.secrets
    )
