"""Small pages with a planted defect: each tries the tests themselves."""

from pathlib import Path

GOOD = "<h1>Tide gauges</h1><p>Thirty modules.</p>"


def page(folder: Path, body: str = GOOD, style: str = "", head: str = "") -> Path:
    """Write a page without a defect but those of its arguments, and return its file."""
    file = folder / "planted.html"
    file.write_text(
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Tide gauges</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"{head}<style>{style}</style></head><body><main>{body}</main></body></html>",
        encoding="utf-8",
    )
    return file
