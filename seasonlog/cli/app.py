"""`seasonlog` alone: the app."""

import os

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame

BROWSER = "textual.drivers.web_driver:WebDriver"
"""What `seasonlog serve` sets: the screens go to a browser, and no terminal is wanted."""


def open_app(obj: Frame, by: str | None, today: str | None) -> int:
    """Open the app on a terminal; without one, say how to go on."""
    if not (frame.is_terminal() or os.environ.get("TEXTUAL_DRIVER") == BROWSER):
        frame.out("seasonlog opens its screens on a terminal. Without one, use its commands: seasonlog --help")
        frame.out("To try it on invented sites: seasonlog demo")
        return 0
    day = frame.day_from(today, "--today") if today else None
    with frame.writing(obj, None, by, new=True) as book:
        from seasonlog.tui.app import run_app

        run_app(book, day)
    return 0
