"""A command line that does not fit, refused without repeating what may be a secret."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import typer.core


class Commands(typer.core.TyperGroup):
    """The commands; a passphrase typed in place of an option or a word is not repeated."""

    def make_context(self, *arguments: Any, **more: Any) -> Any:
        """Read the options that stand before the command."""
        with _unrepeated():
            return super().make_context(*arguments, **more)

    def invoke(self, ctx: Any) -> Any:
        """Read the command with its options, and run it."""
        with _unrepeated():
            return super().invoke(ctx)


@contextmanager
def _unrepeated() -> Iterator[None]:
    """Take the words of the command line that may be secrets out of what is raised about it."""
    try:
        yield
    except Exception as refusal:
        said = getattr(refusal, "message", None)  # only those of the command line have one
        if isinstance(said, str):
            refusal.message = _without_words(said)  # type: ignore[attr-defined]
        raise


def _without_words(said: str) -> str:
    from auditor.reading.quoting import may_be_secret

    words = {part for word in sys.argv[1:] for part in (word, *word.split("=", 1))}
    for word in sorted(words, key=len, reverse=True):
        if may_be_secret(word.lstrip("-")):
            for spelling in (word, repr(word)[1:-1]):
                said = said.replace(spelling, "…")
    return said
