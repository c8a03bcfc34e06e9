"""Whole text files, or the reason why there is none."""

from pathlib import Path

from auditor.models.places import Place
from auditor.reading.problems import unusable

LARGEST_BYTES = 32 * 2**20
_BYTE_ORDER_MARKS = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16"}


def read_text(path: Path, shown: str) -> str:
    """Return the text of a UTF-8 file, without its byte-order mark.

    Raises:
        UnusableError: there is no such file, it is no text file, or it is too large.
    """
    text = _decoded(_content(path, shown), shown)
    if "\0" in text:
        raise unusable(Place(shown), "is a binary file, not a text")
    if not text.strip():
        raise unusable(Place(shown), "is empty")
    return text


def _content(path: Path, shown: str) -> bytes:
    try:
        if path.is_dir():
            raise unusable(Place(shown), "is a folder; name the fleet file in it")
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise unusable(
                Place(shown),
                f"has {size / 2**20:.0f} MiB; the limit is {LARGEST_BYTES // 2**20} MiB",
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise unusable(Place(shown), "there is no such file") from None
    except OSError as problem:
        raise unusable(Place(shown), f"cannot be read: {problem.strerror}") from None
    except ValueError:
        raise unusable(Place(shown), "is not a usable file name") from None


def _decoded(content: bytes, shown: str) -> str:
    encoding = _BYTE_ORDER_MARKS.get(content[:2])
    if encoding:
        raise unusable(Place(shown), f"is written in {encoding}; save it as UTF-8")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        if b"\0" in content:
            raise unusable(Place(shown), "is a binary file, not a text") from None
        line = content.count(b"\n", 0, problem.start) + 1
        raise unusable(
            Place(shown, line), f"byte {problem.start + 1} is not UTF-8; save the file as UTF-8"
        ) from None
