"""Whole regular files, or the reason why there is none: nothing else is ever opened."""

import os
import stat
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from auditor.models.places import Place
from auditor.reading.problems import unusable

LARGEST_BYTES = 4 * 2**20
"""Room for twenty thousand modules; a document can take some hundred times its size to read."""
LARGEST_TABLE_BYTES = 512 * 2**20
"""A table may list a million modules; anything else that is so long is a mistake."""
_BYTE_ORDER_MARKS = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16"}
_KINDS = {
    stat.S_IFDIR: "is a folder",
    stat.S_IFIFO: "is a pipe; save what comes out of it as a file",
    stat.S_IFSOCK: "is a socket, not a file",
    stat.S_IFCHR: "is a device, not a file",
    stat.S_IFBLK: "is a device, not a file",
}


class UnreadableError(Exception):
    """A file cannot be read; the text is the reason, without the file's name."""


class MissingFileError(UnreadableError):
    """There is no such file."""


@dataclass(frozen=True)
class Reach:
    """Where paths in a file may lead: into its own folder, and into those that were allowed."""

    folder: Path
    allowed: Sequence[Path] = ()

    def path(self, name: str) -> Path:
        """Return where a path in the file leads, every link followed.

        Raises:
            UnreadableError: it leads out of the folders, or no file can have that name.
        """
        try:
            target = Path(os.path.realpath(self.folder / name))
        except ValueError:
            raise UnreadableError("is not a usable file name") from None
        folders = map(os.path.realpath, (self.folder, *self.allowed))
        if not any(target.is_relative_to(folder) for folder in folders):
            raise UnreadableError(
                "leads out of the folder of the file that names it; "
                "copy it there, or name its own folder with --allow-folder"
            )
        return target


def read_text(path: Path, shown: str, largest: int = LARGEST_BYTES) -> str:
    """Return the text of a UTF-8 file of at most `largest` bytes, without its byte-order mark.

    Raises:
        UnusableError: it cannot be read, and why, by the name that is shown.
    """
    if os.path.isdir(path):
        raise unusable(Place(shown), "is a folder; name the fleet file in it")
    try:
        return text_of(path, shown, largest)
    except UnreadableError as reason:
        raise unusable(Place(shown), str(reason)) from None


def text_of(path: Path, shown: str, largest: int = LARGEST_BYTES) -> str:
    """Return the text of a UTF-8 file that another file names.

    Raises:
        UnreadableError: there is no such file, it is no text file, or it is too large.
        UnusableError: a line of it is not UTF-8.
    """
    text = _decoded(content(path, largest), shown)
    if "\0" in text:
        raise UnreadableError("is a binary file, not a text")
    if not text.strip():
        raise UnreadableError("is empty")
    return text


def content(path: Path, largest: int) -> bytes:
    """Return the content of a regular file: all of it, from one descriptor.

    Raises:
        UnreadableError: there is none, it is no regular file, it has more than `largest` bytes,
            or it changes while it is read.
    """
    try:
        _require_regular(os.stat(path))  # before it is opened: opening a device may do something
        with open(path, "rb", opener=_open_at_once) as file:
            before = os.fstat(file.fileno())
            _require_regular(before)
            _require_small(before.st_size, largest)
            data = file.read(before.st_size + 1)
            after = os.fstat(file.fileno())
    except FileNotFoundError:
        raise MissingFileError("there is no such file") from None
    except OSError as problem:
        raise UnreadableError(f"cannot be read: {problem.strerror}") from None
    except ValueError:
        raise UnreadableError("is not a usable file name") from None
    if (len(data), after.st_mtime_ns) != (before.st_size, before.st_mtime_ns):
        raise UnreadableError("changed while it was read; try again once it is complete")
    return data


def _open_at_once(path: str, flags: int) -> int:
    """Open without ever waiting for another end, should a pipe have taken the file's place."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0))


def _require_regular(status: os.stat_result) -> None:
    if not stat.S_ISREG(status.st_mode):
        kind = _KINDS.get(stat.S_IFMT(status.st_mode), "is no regular file")
        raise UnreadableError(kind)


def _require_small(size: int, largest: int) -> None:
    if size > largest:
        raise UnreadableError(f"has {_shown_size(size)}; the limit is {_shown_size(largest)}")


def _shown_size(size: int) -> str:
    return f"{size} bytes" if size < 2**20 else f"{-(-size // 2**20)} MiB"


def _decoded(data: bytes, shown: str) -> str:
    encoding = _BYTE_ORDER_MARKS.get(data[:2])
    if encoding:
        raise UnreadableError(f"is written in {encoding}; save it as UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        if b"\0" in data:
            raise UnreadableError("is a binary file, not a text") from None
        line = data.count(b"\n", 0, problem.start) + 1
        raise unusable(
            Place(shown, line), f"byte {problem.start + 1} is not UTF-8; save the file as UTF-8"
        ) from None
