"""A visit to a page: the page as it stands, and all that it said or asked for meanwhile."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Dialog, Page

PHONE, TABLET, DESKTOP = 360, 768, 1440
"""Widths in CSS pixels."""
HEIGHT = 800
"""Height of the window in CSS pixels."""
PATIENCE_MS = 60_000
"""So long a busy machine may take for one step."""


@dataclass
class Visit:
    """An open page, with what it wrote to the console, requested, and asked in dialogs."""

    page: Page
    said: list[str] = field(default_factory=list)
    requested: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def watch(self) -> None:
        """Take down from now on what the page says, requests and asks."""
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.requested.append(request.url))
        self.page.on("dialog", self._dismiss)

    def _dismiss(self, dialog: Dialog) -> None:
        self.asked.append(dialog.message)
        dialog.dismiss()


class Visitor:
    """Opens files, each with a browser profile of its own, and closes them all in the end."""

    def __init__(self, browser: Browser, closing: ExitStack) -> None:
        self._browser = browser
        self._closing = closing

    def __call__(
        self, file: Path, width: int = DESKTOP, dark: bool = False, script: bool = True
    ) -> Visit:
        """Open a file in a window of some width in CSS pixels, and wait until it has loaded."""
        context = self._browser.new_context(
            viewport={"width": width, "height": HEIGHT},
            color_scheme="dark" if dark else "light",
            java_script_enabled=script,
        )
        self._closing.callback(context.close)
        context.set_default_timeout(PATIENCE_MS)
        visit = Visit(context.new_page())
        visit.watch()
        visit.page.goto(file.as_uri())
        return visit
