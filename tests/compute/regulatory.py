"""Decodes regulatory.db, the regulatory database of Linux systems, for comparison with ours."""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from auditor.compute.radio import RadioRule

PLACES: Final = (
    Path("/lib/firmware/regulatory.db"),
    Path("/usr/lib/firmware/regulatory.db"),
    Path("/lib/firmware/regulatory.db-debian"),
    Path("/usr/lib/firmware/regulatory.db-upstream"),
)
# The format as the Debian package wireless-regdb 2026.05.30 has it: big-endian, pointers in units
# of four octets, powers in 0.01 dBm, frequencies in kHz. Flags from memory, unverified.
MAGIC_AND_VERSION: Final = b"RGDB" + (20).to_bytes(4, "big")
NO_OFDM: Final = 1 << 0
NO_INITIATING: Final = 1 << 3


def database_path() -> Path | None:
    """The machine's regulatory database, or None where it has none."""
    return next((place for place in PLACES if place.is_file()), None)


def decode(data: bytes) -> dict[str, tuple[RadioRule, ...]]:
    """The rules of each region on all bands, by region code.

    Raises:
        ValueError: the data does not begin as version 20 of the format does.
    """
    if not data.startswith(MAGIC_AND_VERSION):
        raise ValueError(f"data begins with {data[:8]!r}; it must begin {MAGIC_AND_VERSION!r}")
    return {code: tuple(_rules(data, 4 * pointer)) for code, pointer in _regions(data)}


def _regions(data: bytes) -> Iterator[tuple[str, int]]:
    for code, pointer in struct.iter_unpack(">2sH", data[8 : len(data) // 4 * 4]):
        if pointer == 0:
            return
        yield code.decode("ascii"), pointer


def _rules(data: bytes, start: int) -> Iterator[RadioRule]:
    length, count = struct.unpack_from("BB", data, start)
    first = start + length + length % 2
    for pointer in struct.unpack_from(f">{count}H", data, first):
        yield _rule(data, 4 * pointer)


def _rule(data: bytes, start: int) -> RadioRule:
    flags, power, low_khz, high_khz = struct.unpack_from(">xBHII", data, start)
    return RadioRule(
        low_mhz=low_khz / 1000,
        high_mhz=high_khz / 1000,
        radiated_dbm=power / 100,
        ofdm=not flags & NO_OFDM,
        may_initiate=not flags & NO_INITIATING,
    )
