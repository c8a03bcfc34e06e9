"""Invented kits of any size, about three modules in a hundred of them set up wrongly."""

import csv
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path

SUBNET = IPv4Network("10.0.0.0/8")
POOL = IPv4Network("10.254.0.0/16")
BROADCAST = SUBNET.broadcast_address
GATEWAY = BROADCAST - 1
LOGGER = IPv4Address("10.0.0.10")
ELSEWHERE = IPv4Address("172.16.0.0")
"""Here begin the addresses of the modules that are off the subnet."""
RATE_BD = 9600
FLEET = "kit.toml"
TABLE = "kit.csv"
ENVIRONMENT = {"GAUGE_PASSPHRASE": "eleven curlews over the salt pan"}
LARGEST = 1_000_000
"""With more modules, addresses of one purpose would run into those of another."""
WARM_UP_MODULES = 300
"""Among so many modules every fault is at least once, so that all is loaded that it needs."""

COLUMNS = (
    "id",
    "hardware_address",
    "network_name",
    "security",
    "serial_rate",
    "addressing",
    "address",
    "prefix_length",
    "gateway",
    "destination",
    "port",
    "listen_port",
    "transport",
    "message_bytes",
    "saved",
)
SHARED = {
    "network_name": "saltmarsh-gauges",
    "security": "wpa2-personal",
    "serial_rate": str(RATE_BD),
    "addressing": "static",
    "prefix_length": str(SUBNET.prefixlen),
    "gateway": str(GATEWAY),
    "destination": str(BROADCAST),
    "port": "4010",
    "listen_port": "4010",
    "transport": "udp",
    "message_bytes": "32",
    "saved": "true",
}
PLAN = f"""
[kit]
format = 1
name = "Tide gauges"
profile = "generic-24ghz-wpa2"
region = "GB"
modules = "{TABLE}"

[network]
name = "saltmarsh-gauges"
security = "wpa2-personal"
passphrase = {{ env = "GAUGE_PASSPHRASE" }}
protected_management = "optional"
band = "2.4 GHz"
channel = 6
lowest_basic_rate = "2 Mb/s"
beacon_interval = "102.4 ms"
dtim_period = 1

[network.ipv4]
subnet = "{SUBNET}"
gateway = "{GATEWAY}"
pool = {{ first = "{POOL[0]}", last = "{POOL[-1]}" }}
lease_time = "4 h"
address_server = true

[[network.host]]
name = "logger"
address = "{LOGGER}"
port = 4010
transport = "udp"

[serial]
rate = {RATE_BD}
data_bits = 8
parity = "none"
stop_bits = 1
flow_control = "none"

[controller]
profile = "generic-8bit-16mhz"
oversampling = 16
divisor = 103
receiver = true
receive_buffer = 128
longest_gap = "50 ms"
clears_overrun = true
rx_pin = {{ direction = "in", digital = true }}
tx_pin = {{ direction = "out", digital = true }}
logic_level = "3.3 V"

[supply]
regulator = "linear"
thermal_resistance = "60 K/W"
ambient = 25
highest_junction = 125
input_voltage = "5 V"
output_voltage = "3.3 V"
current_limit = "800 mA"
dropout_voltage = "1.1 V"
capacitance = "220 µF"
capacitor_polarised = true
capacitor_positive_to = "output"
indicator_resistor = "330 Ω"
indicator_forward_voltage = "2.0 V"
common_ground = true
rx_wired_to = "tx"
tx_wired_to = "rx"

[traffic]
intent = "broadcast"
destination = "{BROADCAST}"
port = 4010
transport = "udp"
talkers = ["TG-0000001..TG-0000003"]
message_bytes = 32
message_interval = "2 s"
framing = "fixed"
names_sender = true

[defaults]
transmit_power = "15 dBm"
antenna_gain = "2 dBi"
"""

_EVERY = 33
"""One module of so many is faulty: three in a hundred."""
_FIRST_FAULTY = 16
_FIRST_ADDRESS = IPv4Address("10.0.1.0")
_FIRST_HARDWARE_ADDRESS = 0x00005E_100000
"""In the block of the number registry itself, 00:00:5e: no maker has it (RFC 9542, section 2.1)."""


class KitRefusedError(Exception):
    """The auditor does not read a kit; the text says why."""


@dataclass(frozen=True)
class Fault:
    """A mistake: the cells of the module that has it, and how many findings it gives by check."""

    cells: Callable[[int], Mapping[str, str]]
    gives: Mapping[str, int]


def _always(**cells: str) -> Callable[[int], Mapping[str, str]]:
    return lambda number: cells


def _address(number: int) -> str:
    return str(_FIRST_ADDRESS + number)


FAULTS = (
    Fault(_always(serial_rate="19200"), {"serial-rate-differs": 1}),
    Fault(_always(network_name="saltmarsh-gauge"), {"network-name-differs": 1}),
    Fault(_always(security="open"), {"security-mode-mismatch": 1, "weak-security": 1}),
    Fault(lambda n: {"address": _address(n - 1)}, {"duplicate-static-address": 2}),
    Fault(
        lambda n: {"address": str(POOL[n % POOL.num_addresses])},
        {"static-address-in-pool": 1},
    ),
    Fault(lambda n: {"address": str(ELSEWHERE + n)}, {"static-address-off-subnet": 1}),
    Fault(_always(listen_port="4011"), {"port-mismatch": 1}),
    Fault(_always(destination=str(LOGGER)), {"intent-differs": 1}),
    Fault(_always(saved="false"), {"setting-not-saved": 1}),
)


class Kits:
    """Kits in the folders of a folder, each written when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def folder_of(self, size: int) -> Path:
        """Return the folder of the kit of so many modules.

        Raises:
            ValueError: the size is not 1 to 1,000,000 modules.
        """
        folder = self._folder / str(size)
        if not folder.exists():
            folder.mkdir()
            write_kit(folder, size)
        return folder


def write_kit(folder: Path, size: int) -> None:
    """Write a fleet file, and beside it the table of so many modules.

    Raises:
        ValueError: the size is not 1 to 1,000,000 modules.
    """
    if not 1 <= size <= LARGEST:
        raise ValueError(f"size is {size}; it can be 1 to {LARGEST} modules")
    (folder / FLEET).write_text(PLAN, encoding="utf-8")
    with (folder / TABLE).open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, COLUMNS)
        table.writeheader()
        table.writerows(map(_cells, range(1, size + 1)))


def planted(size: int) -> Counter[str]:
    """Return how many findings each check must have in a kit of so many modules."""
    counts: Counter[str] = Counter()
    for _, fault in _faulty(size):
        counts.update(fault.gives)
    return counts


def _faulty(size: int) -> Iterator[tuple[int, Fault]]:
    for number in range(_FIRST_FAULTY, size + 1, _EVERY):
        yield number, FAULTS[number // _EVERY % len(FAULTS)]


def _cells(number: int) -> dict[str, str]:
    cells = {
        **SHARED,
        "id": f"TG-{number:07}",
        "hardware_address": _hardware_address(number),
        "address": _address(number),
    }
    if number % _EVERY == _FIRST_FAULTY:
        cells.update(FAULTS[number // _EVERY % len(FAULTS)].cells(number))
    return cells


def _hardware_address(number: int) -> str:
    return (_FIRST_HARDWARE_ADDRESS + number).to_bytes(6, "big").hex(":")
