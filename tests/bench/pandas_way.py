"""What a reader would write instead: six counts of a kit's table with pandas and netaddr.

Run it with `python -m tests.bench.pandas_way FOLDER`. It prints the counts, and no report.
"""

import json
import sys
from pathlib import Path

import pandas
from netaddr import IPAddress, IPNetwork

from tests.bench.kits import BROADCAST, POOL, RATE_BD, SUBNET, TABLE

WEAK = ("open", "wep-40", "wep-104", "wpa-personal", "wpa-wpa2-personal")


def counts(folder: Path) -> dict[str, int]:
    """Return how many modules of a kit's table have each of six mistakes, by the check's id."""
    columns = ["address", "serial_rate", "security", "destination"]
    table = pandas.read_csv(folder / TABLE, usecols=columns)
    address = table["address"].map(_number)
    subnet, pool = IPNetwork(str(SUBNET)), IPNetwork(str(POOL))
    mistakes = {
        "duplicate-static-address": address.duplicated(keep=False),
        "static-address-in-pool": address.between(pool.first, pool.last),
        "static-address-off-subnet": ~address.between(subnet.first, subnet.last),
        "serial-rate-differs": table["serial_rate"] != RATE_BD,
        "weak-security": table["security"].isin(WEAK),
        "intent-differs": table["destination"] != str(BROADCAST),
    }
    return {check: int(modules.sum()) for check, modules in mistakes.items()}


def _number(written: str) -> int:
    return int(IPAddress(written))


if __name__ == "__main__":
    print(json.dumps(counts(Path(sys.argv[1]))))
