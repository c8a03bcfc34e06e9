"""What people call our keys: at the head of a table, or by mistake in a fleet file."""

from collections.abc import Collection

TRADE_WORDS = {
    "ssid": "network_name",
    "network": "network_name",
    "wifiname": "network_name",
    "wifinetwork": "network_name",
    "essid": "network_name",
    "wlan": "network_name",
    "wlanname": "network_name",
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
    "ipaddr": "address",
    "staticip": "address",
    "ipv4": "address",
    "ipv4address": "address",
    "mac": "hardware_address",
    "macaddr": "hardware_address",
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
    "destip": "destination",
    "destinationaddress": "destination",
    "remoteip": "destination",
    "target": "destination",
    "destinationport": "port",
    "destport": "port",
    "remoteport": "port",
    "localport": "listen_port",
    "protocol": "transport",
    "txpower": "transmit_power",
    "module": "id",
    "moduleid": "id",
    "board": "id",
    "radio": "id",
    "name": "id",
    "participant": "holder",
    "student": "holder",
    "notes": "note",
    "comment": "note",
    "remarks": "note",
}
"""What the trade calls our keys, in lower case without blanks and hyphens."""


def plain(word: str) -> str:
    """Return a word in lower case, without what is written between its parts."""
    return "".join(letter for letter in word.lower() if letter not in " -_")


def trade_key(word: str, known: Collection[str]) -> str | None:
    """Return which of the keys of a table the trade calls by a word.

    A table that is about one thing leaves its name out of its keys: `rate` in [serial].
    """
    key = TRADE_WORDS.get(plain(word), "")
    return next((each for each in (key, key.partition("_")[2]) if each in known), None)
