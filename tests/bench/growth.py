"""How reading and auditing grow with the kit, as ratios of one run on one machine.

Run it with `python -m tests.bench.growth`. It prints, for kits of growing size, the time of each
step per module, relative to the smallest kit: 1.0 throughout means that the cost grows in
proportion.
"""

import tempfile
from collections.abc import Callable
from datetime import datetime
from ipaddress import IPv4Address
from pathlib import Path
from time import perf_counter

from tabulate import tabulate

from auditor.audit import audit
from auditor.reading.fleet import read_fleet
from auditor.reports.as_json import as_json
from auditor.reports.text import text

SIZES = (250, 1000, 4000, 16000)
ROUNDS = 3
PLAN = """
[kit]
format = 1
profile = "generic-24ghz-wpa2"
region = "GB"
modules = "kit.csv"
[network]
name = "saltmarsh-gauges"
security = "wpa2-personal"
channel = 6
[network.ipv4]
subnet = "10.0.0.0/8"
gateway = "10.255.255.254"
[serial]
rate = 9600
[controller]
profile = "generic-8bit-16mhz"
divisor = 103
oversampling = 16
[traffic]
intent = "broadcast"
destination = "10.255.255.255"
port = 4010
talkers = ["TG-1"]
"""


def write_kit(folder: Path, size: int) -> Path:
    """Write a kit of static modules, one in a hundred of them at another serial rate."""
    first = int(IPv4Address("10.0.0.1"))
    rows = ["id,IP,baud"]
    for number in range(1, size + 1):
        rate = "19200" if number % 100 == 0 else ""
        rows.append(f"TG-{number},{IPv4Address(first + number)},{rate}")
    (folder / "kit.csv").write_text("\n".join(rows))
    (folder / "kit.toml").write_text(PLAN)
    return folder / "kit.toml"


def seconds(work: Callable[[], object]) -> float:
    """Return the shortest of a few runs."""
    times = []
    for _ in range(ROUNDS):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


def measure(size: int) -> list[float]:
    """Return the seconds per module to read, audit and report a kit."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(write_kit(Path(folder), size))
        file = read_fleet(path, environment={})
        result = audit(file, datetime(2026, 3, 1))
        steps = (
            lambda: read_fleet(path, environment={}),
            lambda: audit(file, datetime(2026, 3, 1)),
            lambda: text(result),
            lambda: as_json(result),
        )
        return [seconds(step) / size for step in steps]


def main() -> None:
    """Print the growth of every step."""
    measured = {size: measure(size) for size in SIZES}
    base = measured[SIZES[0]]
    rows = [
        [size, *(f"{now / then:.2f}" for now, then in zip(each, base, strict=True))]
        for size, each in measured.items()
    ]
    headers = ["modules", "read", "audit", "text", "JSON"]
    print(tabulate(rows, headers=headers, disable_numparse=True))


if __name__ == "__main__":
    main()
