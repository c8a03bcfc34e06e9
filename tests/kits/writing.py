"""A fleet document as TOML: a table a header, and whatever is inside of it on one line.

Not by tomlkit, which takes longer for it than the audit itself; thousands of kits are written.
"""

import json
import re
from collections.abc import Iterator
from typing import Any


def fleet_text(document: dict[str, Any]) -> str:
    """Return a document of tables and arrays of tables as TOML."""
    return "\n".join(_lines(document))


def _lines(document: dict[str, Any]) -> Iterator[str]:
    for name, value in document.items():
        header = f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
        for table in value if isinstance(value, list) else (value,):
            yield header
            yield from (f"{_key(key)} = {_value(inner)}" for key, inner in table.items())
            yield ""


def _value(value: Any) -> str:
    if isinstance(value, dict):
        pairs = (f"{_key(key)} = {_value(inner)}" for key, inner in value.items())
        return f"{{ {', '.join(pairs)} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, str):
        return _text(value)
    return str(value).lower() if isinstance(value, bool) else f"{value}"


def _key(key: str) -> str:
    return key if re.fullmatch(r"[\w-]+", key, re.ASCII) else _text(key)


def _text(text: str) -> str:
    """Return a text in quotes; JSON escapes nothing that TOML would not."""
    return json.dumps(text, ensure_ascii=False)
