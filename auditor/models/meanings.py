"""What the keys of a table mean, and in which unit they are read: told by the models themselves."""

import ast
from collections.abc import Iterator
from functools import cache
from inspect import getsource
from itertools import pairwise
from typing import Any, get_args

from auditor.models.forms import Reader, Table


@cache
def meanings(kind: type[Table]) -> dict[str, str]:
    """Return what each key of a table means: the text below it in the model."""
    tables = reversed(kind.__mro__[: kind.__mro__.index(Table)])
    models = (model for table in tables for model in ast.parse(getsource(table)).body)
    return {
        key: text
        for model in models
        if isinstance(model, ast.ClassDef)
        for key, text in _texts_below_keys(model)
    }


def unit_of(kind: type[Table], key: str) -> str:
    """Return the unit in which the values of a key are read; empty where they have none."""
    field = kind.model_fields[key]
    return next((unit for part in (*field.metadata, field.annotation) if (unit := _unit(part))), "")


def _unit(part: Any) -> str:
    """Return the unit of the first reader that an annotation speaks of."""
    if isinstance(part, Reader):
        return part.form.unit
    inner = (*get_args(part), *getattr(part, "__metadata__", ()))
    return next((unit for each in inner if (unit := _unit(each))), "")


def _texts_below_keys(model: ast.ClassDef) -> Iterator[tuple[str, str]]:
    """Give each key of a model and the text below it."""
    for key, text in pairwise(model.body):
        match key, text:
            case (
                ast.AnnAssign(target=ast.Name(id=name)),
                ast.Expr(value=ast.Constant(value=str(meaning))),
            ):
                yield name, meaning.strip()
