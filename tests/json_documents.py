"""TOML documents as JSON, as editors hand them to a schema: dates and times become texts."""

from datetime import date, time
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from auditor.tasks.schema import schema


def as_json(value: Any) -> Any:
    """Return a value of a TOML document as JSON has it (RFC 3339 for dates and times)."""
    if isinstance(value, dict):
        return {key: as_json(each) for key, each in value.items()}
    if isinstance(value, list):
        return [as_json(each) for each in value]
    return value.isoformat() if isinstance(value, date | time) else value


@cache
def validator(kind: str) -> Draft202012Validator:
    """Return what checks a document of a kind against our schema of it."""
    return Draft202012Validator(schema(kind))


def misfits(kind: str, document: dict[str, Any]) -> list[str]:
    """Return what a schema says of a document, value by value."""
    errors = validator(kind).iter_errors(as_json(document))
    return [f"{error.json_path}: {error.message}" for error in errors]
