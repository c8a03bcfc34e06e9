"""A brief of thirty tide gauges, changed line by line."""

from datetime import datetime
from functools import partial
from pathlib import Path

from auditor.audit import audit
from auditor.examples import ENVIRONMENT
from auditor.reading.fleet import read_brief
from auditor.tasks.planning import Planned, planned

BRIEF = """\
# Tide gauges for the spring term.
[kit]
name = "Tide gauges"
profile = "generic-24ghz-wpa2"
region = "GB"  # the field centre

# One access point, in the hall.
[network]
name = "saltmarsh-gauges"
security = "wpa2-personal"
passphrase = { env = "GAUGE_PASSPHRASE" }
channel = 6
other_stations = 2

[network.ipv4]
subnet = "10.20.0.0/24"
gateway = "10.20.0.1"
pool = { first = "10.20.0.100", last = "10.20.0.149" }
lease_time = "8 h"

[[network.host]]
name = "logger"
address = "10.20.0.10"

[plan]
modules = 30
id = "TG-{n:02}"
addressing = "static"

# Everybody hears the first one.
[traffic]
intent = "broadcast"
destination = "255.255.255.255"
port = 4010
talkers = ["TG-01"]
message_bytes = 24
framing = "fixed"
"""
STATIC, POOLED = 'addressing = "static"', 'addressing = "pooled"'
POOL = 'pool = { first = "10.20.0.100", last = "10.20.0.149" }\n'
audited = partial(audit, checked_at=datetime(2026, 3, 1))


def brief_with(*changes: tuple[str, str]) -> str:
    """Return the brief with some texts in it replaced, each of which must be there."""
    text = BRIEF
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def planned_in(folder: Path, text: str = BRIEF, output: str = "made") -> Planned:
    """Return what is planned of a brief that stands in a folder, to be written below it."""
    (folder / "brief.toml").write_text(text, encoding="utf-8")
    brief = read_brief(str(folder / "brief.toml"), environment=ENVIRONMENT)
    return planned(brief, folder / output, audited)
