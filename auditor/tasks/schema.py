"""The JSON Schema of each kind of document, with the names that there are to choose from."""

from collections.abc import Iterable

from auditor.checks import CHECKS
from auditor.models.fleet import Fleet
from auditor.models.json_forms import Schema
from auditor.models.profile import ControllerProfile, ModuleProfile, Policy, Region
from auditor.models.schema import schema_of
from auditor.reading.profiles import KINDS, shipped_names


def schema(kind: str) -> Schema:
    """Return the JSON Schema of a fleet file, or of a kind of profile.

    Raises:
        KeyError: there is no such kind of document.
    """
    document = schema_of(Fleet if kind == "fleet" else KINDS[kind])
    document["title"] = "A fleet file, format 1" if kind == "fleet" else f"A {kind} profile"
    if kind == "fleet":
        _offer_names(document["$defs"])
    if kind == "policy":
        _require_checks(document["properties"]["severities"])
    return document


def _offer_names(tables: dict[str, Schema]) -> None:
    """Let an editor complete what is named in a fleet file; other names and paths fit too."""
    modules = shipped_names(ModuleProfile)
    regions = [code.upper() for code in shipped_names(Region)]
    for table in ("Kit", "Defaults", "ModuleEntry"):
        _offer(tables[table], "profile", modules)
    _offer(tables["Kit"], "policy", shipped_names(Policy))
    _offer(tables["Kit"], "region", regions)
    _offer(tables["Controller"], "profile", shipped_names(ControllerProfile))
    _offer(tables["Waiver"], "check", sorted(CHECKS))


def _offer(table: Schema, key: str, names: Iterable[str]) -> None:
    value = table["properties"][key]
    said = {"description": value.pop("description")}
    table["properties"][key] = {"anyOf": [{"enum": list(names)}, value], **said}


def _require_checks(severities: Schema) -> None:
    """Let a policy speak of checks that there are, each with what it says."""
    setting = severities.pop("additionalProperties")
    del severities["propertyNames"]
    severities["properties"] = {
        id: {**setting, "description": CHECKS[id].title} for id in sorted(CHECKS)
    }
    severities["additionalProperties"] = False
