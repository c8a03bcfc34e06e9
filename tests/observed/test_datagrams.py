"""Who was predicted to receive each observed datagram, and who did.

Source of every expectation: observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90,
November 2026.
"""

from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from typing import Any

import pytest

from auditor.survey.audience import Endpoint, receivers
from tests.observed.fleets import PORT, ROUTER, SUBNET, WIRED, cases

DATAGRAMS = [
    (case["id"], datagram) for case in cases().values() for datagram in case.get("datagrams", [])
]
NETWORK = IPv4Network(SUBNET)


def joined(case: dict[str, Any]) -> list[Endpoint]:
    """Return the router, the wired host and every client that came as far as an address."""
    hosts = [
        Endpoint("ap", IPv4Address(ROUTER), NETWORK, None, False, PORT),
        Endpoint("wired", IPv4Address(WIRED), NETWORK, IPv4Address(ROUTER), False, PORT),
    ]
    return hosts + [client(each, case) for each in case["clients"] if has_address(each)]


def has_address(each: dict[str, Any]) -> bool:
    """Say whether a client talked on the network with an address of its own."""
    stages = each["stages"]
    static = each["settings"]["addressing"] != "pooled"
    key = "wep" not in each["settings"]["security"] or each["stops_at"] is None
    return bool(stages["keys_agreed"]) and key and (static or bool(stages["address_acquired"]))


def client(each: dict[str, Any], case: dict[str, Any]) -> Endpoint:
    """Return a client as an endpoint; a leased address is told by what was sent to it."""
    settings = each["settings"]
    name, port = settings["name"], settings.get("listen_port", PORT)
    addressing = settings["addressing"]
    if addressing == "pooled":
        return Endpoint(name, leased(name, case), NETWORK, IPv4Address(ROUTER), True, port)
    interface = IPv4Interface(f"{addressing['address']}/{addressing['prefix']}")
    gateway = addressing.get("gateway")
    return Endpoint(
        name, interface.ip, interface.network, gateway and IPv4Address(gateway), True, port
    )


def leased(name: str, case: dict[str, Any]) -> IPv4Address | None:
    """Return the address that a pooled client was reached at, where that was tried."""
    for datagram in case["datagrams"]:
        address = IPv4Address(datagram["to"])
        if datagram["expect"] == [name] and address in NETWORK:
            return address
    return None


@pytest.mark.parametrize(
    ("case_id", "datagram"),
    DATAGRAMS,
    ids=[f"{id}/{each['from']}-{each['to']}" for id, each in DATAGRAMS],
)
def test_a_datagram_reaches_whom_it_was_seen_to_reach(
    case_id: str, datagram: dict[str, Any]
) -> None:
    case = cases()[case_id]
    present = joined(case)
    sender = next((each for each in present if each.name == datagram["from"]), None)
    predicted: frozenset[str] = frozenset()
    if sender is not None:
        predicted = receivers(
            sender,
            IPv4Address(datagram["to"]),
            datagram["port"],
            present,
            isolated=case["access_point"].get("isolate", False),
            router=IPv4Address(ROUTER),
        )
    received = frozenset(datagram["received_by"])
    if len(predicted) > 1 and shares_an_address(predicted, present):
        assert len(received) == 1
        assert received <= predicted
    else:
        assert received == predicted


def shares_an_address(names: frozenset[str], present: list[Endpoint]) -> bool:
    """Say whether the named endpoints all have one address: only one of them is reached."""
    return len({each.address for each in present if each.name in names}) == 1


def test_every_observed_datagram_is_here() -> None:
    assert len(DATAGRAMS) == 94
