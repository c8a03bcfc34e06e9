"""Raw documents to models, and what is said of each value that does not fit."""

from collections.abc import Callable
from typing import Any, TypeVar

from pydantic import ValidationError

from auditor.compute.near_misses import nearest
from auditor.models.forms import Table
from auditor.models.places import Path, Place, Places
from auditor.reading.problems import Problem, UnusableError, quoted
from auditor.reading.quoting import cannot_be_secret, may_be_secret, without_pieces
from auditor.reading.trade import trade_key

Model = TypeVar("Model", bound=Table)
MayQuote = Callable[[object], bool]

LONGEST_VALUE = 200
"""Characters of a value that is looked at to say what is wrong with it."""
_NEVER_QUOTED = frozenset({"passphrase", "retired_passphrases"})
_OUR_WORDS = {
    "missing": "is missing",
    "tuple_type": "is not a list",
    "model_type": "is not a table",
    "dict_type": "is not a table",
    "float_type": "is not a number",
    "float_parsing": "is not a number",
}


def validated(
    kind: type[Model], data: dict[str, Any], places: Places, may_quote: MayQuote
) -> Model:
    """Return a document as a model.

    Raises:
        UnusableError: with every value that does not fit, in the order of the lines.
    """
    try:
        return kind.model_validate(data)
    except ValidationError as failure:
        errors = failure.errors(include_url=False)
    raise UnusableError(
        sorted(
            (_problem(kind, dict(error), places, may_quote) for error in errors),
            key=lambda problem: (problem.place.file, problem.place.line or 0),
        )
    )


def _problem(
    kind: type[Table], error: dict[str, Any], places: Places, may_quote: MayQuote
) -> Problem:
    path: Path = tuple(part for part in error["loc"] if part != "[key]")
    place = _shown(places.of(*path), path)
    if error["type"] == "extra_forbidden":
        return Problem(place, _unknown_key(kind, path))
    if error["type"] == "missing":
        return Problem(Place(place.file, place.line, str(path[-1])), "is missing")
    place = _shown(Place(place.file, place.line, place.column or _last_key(path)), path)
    return Problem(place, _sentence(error, path, may_quote))


def _shown(place: Place, path: Path) -> Place:
    """Return a place without a key of the document's own that may be a secret."""
    key = place.column
    if key is not None and key == _last_key(path) and may_be_secret(key):
        return Place(place.file, place.line)
    return place


def _sentence(error: dict[str, Any], path: Path, may_quote: MayQuote) -> str:
    raised = error.get("ctx", {}).get("error")
    reason = str(raised) if raised else _OUR_WORDS.get(error["type"], "cannot be read")
    return _of_value(reason, error["input"], path, may_quote)


def misfit(reason: str, written: object, place: Place, path: Path, may_quote: MayQuote) -> Problem:
    """Return the problem of a value at a path that does not fit, quoted where it may be."""
    return Problem(place, _of_value(reason, written, path, may_quote))


def _of_value(reason: str, written: object, path: Path, may_quote: MayQuote) -> str:
    if isinstance(written, dict | list | tuple) or written == "":
        return reason
    if isinstance(written, str) and len(written) > LONGEST_VALUE:
        return f"has {len(written)} characters; no value here is so long"
    is_secret = not _NEVER_QUOTED.isdisjoint(path) or not may_quote(written)
    if is_secret or not (_is_near(reason, written) or cannot_be_secret(str(written))):
        return without_pieces(reason, str(written))
    return f"{quoted(written)} {reason}"


def _is_near(reason: str, written: object) -> bool:
    """Say whether the value was taken for a known word with a slip in it."""
    _, _, meant = reason.partition("did you mean ")
    return bool(meant) and nearest(str(written), (meant.removesuffix("?"),)) is not None


def _last_key(path: Path) -> str | None:
    return next((part for part in reversed(path) if isinstance(part, str)), None)


def _unknown_key(kind: type[Table], path: Path) -> str:
    key = str(path[-1])
    known = _keys_of(kind, path[:-1])
    close = nearest(key, known) or trade_key(key, known)
    if close:
        return f"is not a known key; did you mean {close}?"
    what = "holds a key that is not known" if may_be_secret(key) else "is not a known key"
    return f"{what}; known here are {', '.join(known)}"


def _keys_of(kind: type[Table], path: Path) -> tuple[str, ...]:
    """Return the keys of the table at a path below a model."""
    for part in path:
        if isinstance(part, str) and part in kind.model_fields:
            kind = _inner(kind.model_fields[part].annotation) or kind
    return tuple(kind.model_fields)


def _inner(annotation: Any) -> type[Table] | None:
    """Return the table that an annotation speaks of, through tuples, unions and mappings."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    for argument in getattr(annotation, "__args__", ()):
        found = _inner(argument)
        if found is not None:
            return found
    return None
