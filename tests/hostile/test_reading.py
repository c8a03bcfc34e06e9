"""A file is read from one descriptor, never beyond its limit, and not while it changes."""

import os
from collections.abc import Callable
from io import BufferedReader, FileIO
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from auditor.reading.files import LARGEST_BYTES, UnreadableError, content, read_text
from auditor.reading.problems import UnusableError


def _grow(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"x" * 1000)


def _shrink(path: Path) -> None:
    os.truncate(path, 3)


def _rewrite(path: Path) -> None:
    path.write_bytes(b"y" * path.stat().st_size)
    os.utime(path, ns=(1, 1))


def _replace(path: Path) -> None:
    other = path.with_name("other")
    other.write_bytes(b"z" * 10)
    other.replace(path)


def _meanwhile(change: Callable[[Path], None], path: Path) -> Any:
    """Let a file change between the moment it is opened and the moment it is read."""
    read = BufferedReader.read

    class Slow(BufferedReader):
        def read(self, size: int | None = -1, /) -> bytes:
            change(path)
            return read(self, size)

    def opened(name: Any, mode: str, opener: Any) -> Slow:
        return Slow(FileIO(name, mode.replace("b", ""), opener=opener))

    return mock.patch("auditor.reading.files.open", opened, create=True)


@pytest.mark.parametrize("change", [_grow, _shrink, _rewrite])
def test_a_file_that_changes_meanwhile_is_refused(
    tmp_path: Path, change: Callable[[Path], None]
) -> None:
    path = tmp_path / "kit.toml"
    path.write_bytes(b"x" * 100)
    with _meanwhile(change, path), pytest.raises(UnreadableError, match="changed while it was"):
        content(path, 10**6)


def test_a_file_that_is_replaced_meanwhile_is_read_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_bytes(b"x" * 100)
    with _meanwhile(_replace, path):
        assert content(path, 10**6) == b"x" * 100


def test_a_pipe_that_takes_the_place_of_a_file_does_not_block(tmp_path: Path) -> None:
    path, pipe = tmp_path / "kit.toml", tmp_path / "pipe"
    path.write_bytes(b"x")
    os.mkfifo(pipe)
    before = os.stat(path)
    with (
        mock.patch("auditor.reading.files.os.stat", return_value=before),
        pytest.raises(UnreadableError, match="is a pipe"),
    ):
        content(pipe, 10**6)


@pytest.mark.parametrize("size", [0, 1, LARGEST_BYTES])
def test_up_to_the_limit_a_file_is_read_whole(tmp_path: Path, size: int) -> None:
    (tmp_path / "kit.toml").write_bytes(b"x" * size)
    assert len(content(tmp_path / "kit.toml", LARGEST_BYTES)) == size


def test_above_the_limit_nothing_is_read(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    with path.open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    with pytest.raises(UnusableError) as failure:
        read_text(path, "kit.toml")
    (problem,) = failure.value.problems
    assert str(problem) == "kit.toml: has 5 MiB; the limit is 4 MiB"


@pytest.mark.skipif(os.getuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_says_so(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_text("x")
    path.chmod(0)
    with pytest.raises(UnreadableError, match="cannot be read: Permission denied"):
        content(path, 10)
