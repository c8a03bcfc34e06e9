"""Wild fleets: every file that can be read, whether or not anything in it makes sense."""

from datetime import datetime, timedelta
from typing import Any

import tomlkit
from hypothesis import strategies as st

CANARY = "ternhavn-mudflat-9-quartz"
"""A passphrase that is used nowhere else."""
ENVIRONMENT = {"CANARY": CANARY, "OTHER": "plover-anchor-basalt-meadow-58"}

Values = st.SearchStrategy[Any]
START = datetime(2026, 3, 2, 9, 0, 0)


def one_of(*values: Any) -> Values:
    """Return one of some values."""
    return st.sampled_from(values)


ADDRESS = one_of(
    "10.20.0.1", "10.20.0.10", "10.20.0.31", "10.20.0.32", "10.20.0.0", "10.20.0.255",
    "10.20.0.110", "10.20.0.127", "10.20.1.0", "10.21.0.255", "0.0.0.0", "127.0.0.1",
    "169.254.7.7", "224.0.0.1", "240.0.0.0", "255.255.255.254", "255.255.255.255",
)  # fmt: skip
SUBNET = one_of(
    "10.20.0.0/24", "10.20.0.0/30", "10.20.0.32/31", "10.20.0.31/32", "0.0.0.0/0", "10.0.0.0/8",
    "224.0.0.0/4", "127.0.0.0/8", "169.254.0.0/16", "192.0.2.0/24", "255.255.255.255/32",
)  # fmt: skip
GATEWAY = ADDRESS | one_of("none")
POOL = st.tuples(ADDRESS, ADDRESS).map(
    lambda pair: dict(zip(("first", "last"), sorted(pair, key=_octets), strict=True))
)
HARDWARE = one_of(*(f"00:00:5e:00:53:0{n}" for n in range(1, 6)), "01:00:5e:00:00:01",
                  "02:00:00:00:00:01", "ff:ff:ff:ff:ff:ff")  # fmt: skip
NAME = one_of("", "saltmarsh-gauges", "Saltmarsh-gauges", "saltmarsh-gauges ", "潮" * 11, "\x07a",
              CANARY)  # fmt: skip
SECURITY = one_of(
    "open", "wep-40", "wep-104", "wpa-personal", "wpa2-personal", "wpa3-personal",
    "wpa-wpa2-personal", "wpa2-wpa3-personal", "wpa2-enterprise",
)  # fmt: skip
SECRET = one_of(
    CANARY, "", "short", "abcde", "0123456789", "x" * 64, {"env": "CANARY"}, {"env": "OTHER"},
    {"env": "NOT_SET"}, {"file": "not-there.txt"}, {"psk": "c0ffee" * 10 + "beef"},
)  # fmt: skip
PORT, SWITCH, TRANSPORT = one_of(1, 4010, 65535), st.booleans(), one_of("udp", "tcp")
COUNT, BYTES = one_of(0, 1, 3, 1_000_000), one_of(0, 1, 24, 1500, 1_000_000)
DURATION = one_of("1 us", "20 ms", "1 s", "1 h", "8 h", "3000 d")
VOLTAGE, RATE = one_of(0, "0.1 V", "3.3 V", "5 V", "1000 V"), one_of(1, 9600, 115200, 20_000_000)
IDS = st.lists(
    one_of("TG-01", "TG-02", "TG-09", "TG-01..TG-03", "all", "logger", CANARY), max_size=3
)


def _octets(address: str) -> list[int]:
    return [int(octet) for octet in address.split(".")]


def some(required: dict[str, Values] | None = None, /, **keys: Values) -> Values:
    """Return a table with some of its keys."""
    return st.fixed_dictionaries(required or {}, optional=keys)


SERIAL_KEYS = {
    "data_bits": one_of(5, 7, 8, 9),
    "parity": one_of("none", "even", "odd", "mark", "space"),
    "stop_bits": one_of(1, 1.5, 2),
    "flow_control": one_of("none", "rts-cts", "xon-xoff"),
}
PIN = some(direction=one_of("in", "out"), digital=SWITCH)
CONTROLLER = some(
    profile=one_of("generic-8bit-16mhz", "generic-32bit-fraction", "no-such-board"),
    clock=one_of("1 Hz", "8 MHz", "16 MHz", "10000 MHz"),
    clock_multiplier=one_of(1, 4, 1000),
    oversampling=one_of(4, 8, 16, 64),
    divisor=one_of(0, 51, 103, 2**32, 0.5),
    divisor_rule=one_of("n+1", "n", "fraction"),
    divisor_bits=one_of(1, 8, 16, 32),
    transmitter=SWITCH,
    receiver=SWITCH,
    receive_buffer=BYTES,
    longest_gap=DURATION,
    clears_overrun=SWITCH,
    rx_pin=PIN,
    tx_pin=PIN,
    logic_level=VOLTAGE,
)
SUPPLY = some(
    regulator=one_of("linear", "switching"),
    thermal_resistance=one_of(0, 60, 1000),
    ambient=one_of(-60, 25, 300),
    highest_junction=one_of(-60, 125, 300),
    input_voltage=VOLTAGE,
    output_voltage=VOLTAGE,
    current_limit=one_of(0, "1 mA", "800 mA", "100 A"),
    dropout_voltage=VOLTAGE,
    capacitance=one_of(0, "1 nF", "220 µF", "10000 mF"),
    capacitor_polarised=SWITCH,
    capacitor_positive_to=one_of("output", "ground"),
    indicator_resistor=one_of(0, 330, "10000 kΩ"),
    indicator_forward_voltage=VOLTAGE,
    common_ground=SWITCH,
    rx_wired_to=one_of("tx", "rx"),
    tx_wired_to=one_of("tx", "rx"),
)
MODULE_KEYS = {
    "profile": one_of("generic-24ghz-wpa2", "generic-24ghz-early", "no-such-module", CANARY),
    "hardware_address": HARDWARE,
    "network_name": NAME,
    "security": SECURITY,
    "passphrase": SECRET,
    "serial_rate": RATE,
    "addressing": one_of("static", "pooled"),
    "address": ADDRESS,
    "gateway": GATEWAY,
    "talks": SWITCH,
    "destination": ADDRESS,
    "port": PORT,
    "listen_port": PORT,
    "transport": TRANSPORT,
    "message_bytes": BYTES,
    "transmit_power": one_of(-50, 15, 60),
    "antenna_gain": one_of(-20, 2, 40),
    "saved": SWITCH,
    "holder": one_of("Group A", CANARY),
    "note": one_of("=1+1", "<b>", CANARY),
    "controller": CONTROLLER,
    "supply": SUPPLY,
    **SERIAL_KEYS,
}
PREFIX = some(prefix_length=one_of(0, 1, 8, 24, 28, 30, 31, 32)) | some(
    netmask=one_of("0.0.0.0", "255.255.255.0", "255.255.255.254", "255.255.255.255")
)


def _module(number: int) -> Values:
    return st.builds(
        lambda own, prefix: {"id": f"TG-{number:02}", **own, **prefix}, some(**MODULE_KEYS), PREFIX
    )


MODULES = st.integers(1, 5).flatmap(lambda n: st.tuples(*map(_module, range(1, n + 1))).map(list))
HOST = some(
    {"name": one_of("logger", "printer", CANARY), "address": ADDRESS},
    port=PORT,
    transport=TRANSPORT,
    link=one_of("wired", "wireless"),
)
IPV4 = some(
    subnet=SUBNET,
    gateway=GATEWAY,
    pool=POOL,
    lease_time=DURATION,
    address_server=SWITCH,
    reservations=st.dictionaries(HARDWARE, ADDRESS, max_size=3),
)
NETWORK = some(
    name=NAME,
    security=SECURITY,
    passphrase=SECRET,
    protected_management=one_of("off", "optional", "required"),
    hidden=SWITCH,
    band=one_of("2.4 GHz", "5 GHz", ["2.4 GHz", "5 GHz"]),
    channel=one_of(1, 6, 14, 36, 165, 233),
    lowest_basic_rate=one_of("1 Mb/s", "5.5 Mb/s", "12 Mb/s", "54 Mb/s", "7 Mb/s"),
    band_steering=SWITCH,
    beacon_interval=DURATION,
    dtim_period=one_of(1, 255),
    client_isolation=SWITCH,
    station_limit=COUNT,
    other_stations=COUNT,
    accept_list=st.lists(HARDWARE, max_size=2),
    retired_passphrases=st.lists(SECRET, max_size=2),
    ipv4=IPV4,
    host=st.lists(HOST, max_size=3),
)
TRAFFIC = some(
    intent=one_of("broadcast", "unicast"),
    destination=ADDRESS,
    port=PORT,
    transport=TRANSPORT,
    talkers=IDS,
    message_bytes=BYTES,
    message_interval=DURATION,
    framing=one_of("fixed", "length-prefixed", "delimited"),
    names_sender=SWITCH,
)
SESSION = st.builds(
    lambda start, hours, names: {
        "name": "a session",
        "start": START + timedelta(hours=start),
        "end": START + timedelta(hours=start + hours),
        "modules": names,
    },
    st.integers(0, 5),
    st.integers(1, 5),
    IDS,
)
KIT = some(
    name=one_of("Tide gauges", CANARY),
    profile=one_of("generic-24ghz-wpa2", "generic-dual-band-wpa3", "no-such-module"),
    policy=one_of("strict", "teaching-lab"),
    region=one_of("GB", "JP", "ZZ", CANARY),
)
DOCUMENTS = some(
    {"module": MODULES},
    kit=KIT,
    network=NETWORK,
    serial=some(rate=RATE, **SERIAL_KEYS),
    controller=CONTROLLER,
    supply=SUPPLY,
    traffic=TRAFFIC,
    session=st.lists(SESSION, max_size=3),
    defaults=some(**MODULE_KEYS),
    waiver=st.lists(
        some({"check": one_of("weak-security", CANARY), "reason": one_of("agreed", CANARY)}),
        max_size=2,
    ),
)
"""Fleet documents, of which each can be read."""


def text_of(document: dict[str, Any]) -> str:
    """Return a document as a fleet file."""
    return tomlkit.dumps(document)
