"""Kits of which only the modules are known: each says for itself what the plan said."""

from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from tests.kits.clean import clean_kits
from tests.kits.kit import Kit


def without_network(kit: Kit) -> None:
    """Take the network out of the plan, and let every module say what it is set to."""
    network = kit.document.pop("network")
    for module in kit.modules:
        module.setdefault("network_name", network["name"])
        module.setdefault("security", network["security"])
        module.setdefault("passphrase", network["passphrase"])
        if module["addressing"] == "static":
            _say_subnet(module, kit, network["ipv4"].get("gateway"))


def _say_subnet(module: dict[str, Any], kit: Kit, gateway: str | None) -> None:
    module.pop("netmask", None)
    module["prefix_length"] = kit.facts.subnet.prefixlen
    if gateway is not None:
        module["gateway"] = gateway


@st.composite
def kits_without_plan(draw: DrawFn) -> Kit:
    """Draw a kit that works and in which nobody talks of a host; its network is not planned."""
    kit = draw(clean_kits().filter(_needs_no_host))
    security = kit.document["network"]["security"]
    without_network(kit)
    for module in kit.modules:
        module["security"] = security
    return kit


def _needs_no_host(kit: Kit) -> bool:
    hosts = {host["name"] for host in kit.plan("network", "host") or ()}
    talkers = kit.plan("traffic", "talkers") or ()
    return kit.facts.is_broadcast and hosts.isdisjoint(talkers)
