"""A CSV table as people have it: any of three separators, trade headers, blank rows."""

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from auditor.compute.near_misses import nearest
from auditor.models.fleet import Controller, ModuleEntry, Pin, Supply
from auditor.models.places import Path, Place
from auditor.reading.files import LARGEST_BYTES
from auditor.reading.problems import Problem, UnusableError, quoted, unusable

SEPARATORS = (",", ";", "\t")
LONGEST_CELL = 4096
LONGEST_NAME = 100
"""Characters of a name that are compared with the names that we know."""
_OPTION = Place("--column")
AS_WRITTEN = frozenset({"network_name", "passphrase", "note", "holder"})
"""Keys whose blanks at an end mean something."""

TRADE_HEADERS = {
    "ssid": "network_name",
    "network": "network_name",
    "wifiname": "network_name",
    "wifinetwork": "network_name",
    "essid": "network_name",
    "encryption": "security",
    "securitymode": "security",
    "authentication": "security",
    "password": "passphrase",
    "wifipassword": "passphrase",
    "psk": "passphrase",
    "key": "passphrase",
    "networkkey": "passphrase",
    "baud": "serial_rate",
    "baudrate": "serial_rate",
    "rate": "serial_rate",
    "bps": "serial_rate",
    "bits": "data_bits",
    "stop": "stop_bits",
    "flow": "flow_control",
    "handshake": "flow_control",
    "ip": "address",
    "ipaddress": "address",
    "ipv4": "address",
    "ipv4address": "address",
    "mac": "hardware_address",
    "macaddress": "hardware_address",
    "mask": "netmask",
    "subnetmask": "netmask",
    "prefix": "prefix_length",
    "gw": "gateway",
    "defaultgateway": "gateway",
    "router": "gateway",
    "ipmode": "addressing",
    "dhcp": "addressing",
    "dest": "destination",
    "destinationip": "destination",
    "remoteip": "destination",
    "target": "destination",
    "destinationport": "port",
    "remoteport": "port",
    "localport": "listen_port",
    "protocol": "transport",
    "txpower": "transmit_power",
    "module": "id",
    "moduleid": "id",
    "board": "id",
    "name": "id",
    "participant": "holder",
    "student": "holder",
    "notes": "note",
    "comment": "note",
    "remarks": "note",
}
"""Headers of the trade, in lower case without blanks and hyphens."""


def _known_keys() -> tuple[str, ...]:
    own = [key for key in ModuleEntry.model_fields if key not in ("controller", "supply")]
    nested = [
        f"{name}.{key}"
        for name, table in (("controller", Controller), ("supply", Supply))
        for key in table.model_fields
        if key not in ("rx_pin", "tx_pin")
    ]
    pins = [f"controller.{pin}.{key}" for pin in ("rx_pin", "tx_pin") for key in Pin.model_fields]
    return (*own, *nested, *pins)


KNOWN_KEYS = _known_keys()


@dataclass(frozen=True)
class Row:
    """One module of a table: its values by key, and where each stood."""

    values: dict[str, Any]
    places: dict[Path, Place]


def read_rows(text: str, file: str, columns: Mapping[str, str]) -> list[Row]:
    """Return the modules of a table; `columns` maps their headers to our keys ("" leaves out).

    Raises:
        UnusableError: a header is not known, stands twice, or a row does not fit the header.
    """
    lines = _numbered(text, file)
    line, header = next(lines)
    _require_sense(columns, header)
    keys = _keys(header, Place(file, line), columns)
    rows, problems = [], []
    for line, cells in lines:
        wrong = list(_misfits(cells, header, Place(file, line)))
        problems += wrong
        if not wrong:
            rows.append(_row(cells, header, keys, Place(file, line)))
    if problems:
        raise UnusableError(problems)
    return rows


def _numbered(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Give each row that is not blank with the line on which it begins."""
    csv.field_size_limit(LARGEST_BYTES)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    before = 0
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield before + 1, cells
            before = reader.line_num
    except csv.Error:
        raise unusable(
            Place(file, before + 1), "a quoted cell begins here and is not closed properly"
        ) from None


def _separator(text: str) -> str:
    header = next(line for line in text.splitlines() if line.strip())
    return max(SEPARATORS, key=header.count)


def _plain(header: str) -> str:
    return "".join(letter for letter in header.lower() if letter not in " -_")


def _keys(header: list[str], place: Place, columns: Mapping[str, str]) -> list[str | None]:
    """Return our key for each column, None for one that is left out."""
    ours = {_plain(key): key for key in KNOWN_KEYS}
    keys: list[str | None] = []
    problems: list[Problem] = []
    for number, written in enumerate(header, start=1):
        heading = written.strip()
        key = columns.get(heading)
        if key is None:
            key = ours.get(_plain(heading)) or TRADE_HEADERS.get(_plain(heading))
        if key is None and heading:
            problems.append(_unknown_header(heading, number, place))
        keys.append(key or None)
    _raise_header_problems(header, keys, problems, place)
    return keys


def _require_sense(columns: Mapping[str, str], header: list[str]) -> None:
    """Refuse a mapping to a key that we do not have, or of a header that the table has not."""
    present = {written.strip() for written in header}
    problems = [
        Problem(_OPTION, f"{quoted(heading)} is not a header of the table")
        for heading in columns
        if heading not in present
    ]
    problems += [
        Problem(_OPTION, f"{quoted(key)} is not a known key{_did_you_mean(key)}")
        for key in columns.values()
        if key and key not in KNOWN_KEYS
    ]
    if problems:
        raise UnusableError(problems)


def _did_you_mean(word: str) -> str:
    close = nearest(word[:LONGEST_NAME], KNOWN_KEYS)
    return f"; did you mean {close}?" if close else ""


def _unknown_header(heading: str, number: int, place: Place) -> Problem:
    return Problem(
        place,
        f"column {number}: {quoted(heading)} is not a known header{_did_you_mean(heading)} "
        f'(map it with --column "{heading[:40]}=our_key", leave it out with "{heading[:40]}=")',
    )


def _raise_header_problems(
    header: list[str], keys: list[str | None], problems: list[Problem], place: Place
) -> None:
    known = [key for key in keys if key]
    if not known:
        raise unusable(place, "no header is known; the first row must name the columns, as in id")
    for key in sorted({key for key in known if known.count(key) > 1}):
        twice = [quoted(text.strip()) for text, own in zip(header, keys, strict=True) if own == key]
        problems.append(Problem(place, f"{' and '.join(twice)} both mean {key}; keep one"))
    if "id" not in known:
        problems.append(Problem(place, "no column says which module a row is; name one of them id"))
    if problems:
        raise UnusableError(problems)


def _misfits(cells: list[str], header: list[str], place: Place) -> Iterator[Problem]:
    extra = [cell for cell in cells[len(header) :] if cell.strip()]
    if extra or len(cells) < len(header):
        message = f"the row has {len(cells)} cells and the header {len(header)}"
        yield Problem(place, f"{message}; check for a missing or unquoted separator")
    for heading, cell in zip(header, cells, strict=False):
        if len(cell) > LONGEST_CELL:
            at = Place(place.file, place.line, heading.strip())
            yield Problem(at, f"the cell has {len(cell)} characters; the limit is {LONGEST_CELL}")


def _row(cells: list[str], header: list[str], keys: list[str | None], place: Place) -> Row:
    values: dict[str, Any] = {}
    places: dict[Path, Place] = {(): Place(place.file, place.line)}
    for heading, key, cell in zip(header, keys, cells, strict=False):
        if key and cell.strip():
            path = tuple(key.split("."))
            _put(values, path, cell if key in AS_WRITTEN else cell.strip())
            places[path] = Place(place.file, place.line, heading.strip())
    return Row(values, places)


def _put(values: dict[str, Any], path: tuple[str, ...], cell: str) -> None:
    for name in path[:-1]:
        values = values.setdefault(name, {})
    values[path[-1]] = cell
