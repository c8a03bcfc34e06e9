"""The clean kit with modules of another kind, and with less planned."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from auditor.audit import audit
from auditor.examples import fleet_of
from auditor.findings import Finding
from auditor.models.fleet_file import FleetFile

TODAY = datetime(2026, 2, 1)


def with_profile(lines: str, *names: str, **changes: Any) -> FleetFile:
    """Return the clean kit with lines laid over it, and its profiles (or those named) changed."""
    file = fleet_of(lines)
    changed = {
        name: profile.model_copy(update=changes) if name in (names or (name,)) else profile
        for name, profile in file.module_profiles.items()
    }
    return replace(file, module_profiles=changed)


def without(file: FleetFile, table: str, *keys: str) -> FleetFile:
    """Return a fleet in which some keys of a table are not written."""
    update = {table: getattr(file.fleet, table).model_copy(update=dict.fromkeys(keys))}
    return replace(file, fleet=file.fleet.model_copy(update=update))


def found_in(file: FleetFile, check: str) -> list[Finding]:
    """Return what one check finds in a fleet."""
    return [finding for finding in audit(file, TODAY).findings if finding.check == check]
