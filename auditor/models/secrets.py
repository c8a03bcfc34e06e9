"""A passphrase or key, kept so that nothing shows it by accident."""

from enum import Enum
from pathlib import Path
from typing import NoReturn


class Standing(Enum):
    """What is known of a secret."""

    KNOWN = "known"
    UNRESOLVED = "unresolved"
    WITHHELD = "withheld"


class Secret:
    """A passphrase or key that prints as "set" and cannot be pickled.

    Only `reveal` gives the text. Two secrets are never equal by `==`: compare the keys they
    derive for a network name instead. `reason` says why a reference led nowhere,
    and `file` which file it led to.
    """

    __slots__ = ("_text", "file", "is_key", "reason", "reference", "standing")

    def __init__(
        self,
        text: str | None,
        *,
        is_key: bool = False,
        reference: str | None = None,
        standing: Standing = Standing.KNOWN,
        reason: str = "",
        file: Path | None = None,
    ) -> None:
        self._text = text
        self.is_key = is_key
        self.reference = reference
        self.standing = standing
        self.reason = reason
        self.file = file

    @property
    def is_known(self) -> bool:
        """Whether the text was read."""
        return self.standing is Standing.KNOWN

    @property
    def in_clear(self) -> bool:
        """Whether the text itself stands in the file."""
        return self.reference is None and self.is_known

    def reveal(self) -> str:
        """Return the text.

        Raises:
            ValueError: it was never read.
        """
        if self._text is None:
            raise ValueError("this secret was not read")
        return self._text

    def stands_in(self, written: object) -> bool:
        """Say whether the text stands anywhere in what somebody wants to quote."""
        return bool(self._text) and str(self._text) in str(written)

    def __repr__(self) -> str:
        return "set" if self.is_known else self.standing.value

    def __reduce__(self) -> NoReturn:
        raise TypeError("a secret is not stored")
