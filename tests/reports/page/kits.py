"""Kits whose pages are looked at: their audit and their overview, as the command makes them."""

from datetime import UTC, datetime

from auditor.audit import audit
from auditor.demo import FLEET, FOLDER
from auditor.models.fleet_file import FleetFile
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.reports.page.report import page
from auditor.tasks.overview import overview

DAY = datetime(2026, 2, 1, tzinfo=UTC)


def page_of(file: FleetFile) -> str:
    """Return the page of a fleet."""
    return page(audit(file, DAY), overview(file))


def demo() -> FleetFile:
    """Return the invented kit of thirty."""
    return read_fleet(FLEET, environment={}, within=FOLDER)


def fleet(text: str) -> FleetFile:
    """Return the fleet of a text."""
    return fleet_of_text(text, "kit.toml", {})


def gauges(number: int, *, odd: int = 0) -> FleetFile:
    """Return a kit of static gauges in a large subnet, the first few each on a port of its own."""
    subnet = "10.20.0.0/16"
    lines = [
        "[network]",
        'name = "saltmarsh-gauges"',
        'security = "wpa2-personal"',
        "[network.ipv4]",
        f'subnet = "{subnet}"',
        'pool = { first = "10.20.200.0", last = "10.20.200.255" }',
        "[traffic]",
        'destination = "10.20.255.255"',
        "port = 4010",
        "[defaults]",
        'addressing = "static"',
        "saved = true",
    ]
    for at in range(number):
        address = f"10.20.{1 + at // 250}.{1 + at % 250}"
        lines += ["[[module]]", f'id = "TG-{at + 1}"', f'address = "{address}"']
        lines += [f"listen_port = {5000 + at}", f"serial_rate = {300 + at}"] if at < odd else []
    return fleet("\n".join(lines))


HOSTILE = r"""
[kit]
name = "<script>alert(1)</script> \u202eevil \u001b[31m"
term = "</title><img src=x onerror=alert(1)>"
[network]
name = "a\"><b>  two  blanks "
security = "open"
[network.ipv4]
subnet = "10.20.0.0/29"
gateway = "10.20.0.1"
pool = { first = "10.20.0.4", last = "10.20.0.5" }
lease_time = "8 h"
[[network.host]]
name = "<i>host</i> \u200e"
address = "10.20.0.2"
[[session]]
name = "<u>\u05ea\u05dc</u> \u2028"
start = 2026-03-02T09:00:00
end = 2026-03-02T12:00:00
modules = ["all"]
[[module]]
id = "\" onfocus=alert(1) x=\""
addressing = "pooled"
[[module]]
id = "\" onfocus=alert(1) x=\""
addressing = "pooled"
[[module]]
id = "{{ 7*7 }}{% raw %}"
addressing = "pooled"
[[module]]
id = "\u05e9\u05dc\u05d5\u05dd \u202e abc"
addressing = "static"
address = "10.20.0.2"
[[module]]
id = "main"
addressing = "static"
address = "10.20.0.7"
[[module]]
id = "kit-1"
addressing = "static"
address = "10.99.0.7"
network_name = "&amp; <other>"
[[waiver]]
check = "network-name-differs"
modules = ["kit-1"]
reason = "<em>on purpose</em> \u0007"
"""
"""Markup, marks of direction and control characters wherever a file takes a text."""
