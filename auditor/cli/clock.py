"""The one place that asks what time it is."""

from collections.abc import Mapping
from datetime import UTC, datetime

from auditor.models.places import Place
from auditor.reading.problems import unusable
from auditor.reading.quoting import named

VARIABLE = "SOURCE_DATE_EPOCH"


def now(environment: Mapping[str, str]) -> datetime:
    """Return the time in UTC, to the second: that of SOURCE_DATE_EPOCH where it is set.

    Raises:
        UnusableError: SOURCE_DATE_EPOCH is no number of seconds.

    Source: SOURCE_DATE_EPOCH, seconds since 1970 in UTC (from memory, unverified).
    """
    fixed = environment.get(VARIABLE)
    if not fixed:
        return datetime.now(UTC).replace(microsecond=0)
    try:
        return datetime.fromtimestamp(int(fixed), UTC)
    except (ValueError, OverflowError, OSError):
        reason = f"{named(fixed, 'its value')} is not a number of seconds since 1970"
        raise unusable(Place(VARIABLE), reason) from None
