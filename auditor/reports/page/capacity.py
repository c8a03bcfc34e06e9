"""What a kit uses of everything that is limited, as a page."""

from auditor.reports.capacity import sentences
from auditor.reports.page.document import rendered
from auditor.reports.page.meters import line_loads, meters
from auditor.reports.page.timeline import timeline
from auditor.tasks.overview import Overview


def capacity_page(overview: Overview) -> str:
    """Return the capacity as one HTML file that reads nothing from outside."""
    said = sentences(overview.capacity)
    return rendered("capacity.html", title=overview.title, sentences=said, **room_left(overview))


def room_left(overview: Overview) -> dict[str, object]:
    """Return the parts of a page that show how full everything gets."""
    loads, more_loads = line_loads(overview.capacity)
    return {
        "meters": meters(overview.capacity),
        "loads": loads,
        "more_loads": more_loads,
        "timeline": timeline(overview.pool) if overview.pool else None,
    }
