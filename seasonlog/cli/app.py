"""`seasonlog` alone: the app."""

import os
import threading
import time

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame

BROWSER = "textual.drivers.web_driver:WebDriver"
"""What `seasonlog serve` sets: the screens go to a browser, and no terminal is wanted."""


def open_app(obj: Frame, by: str | None, today: str | None) -> int:
    """Open the app on a terminal; without one, say how to go on."""
    in_browser = os.environ.get("TEXTUAL_DRIVER") == BROWSER
    if not (frame.is_terminal() or in_browser):
        frame.out("seasonlog opens its screens on a terminal. Without one, use its commands: seasonlog --help")
        frame.out("To try it on invented sites: seasonlog demo")
        return 0
    day = frame.day_from(today, "--today") if today else None
    with frame.writing(obj, None, by, new=True) as book:
        from seasonlog.tui.app import run_app

        if in_browser:
            _end_with(os.getppid())
        run_app(book, day)
    return 0


def _end_with(server: int) -> None:
    """End soon after the server did, also where that was killed: what was saved is on the disk.

    Windows does not tell that a parent is gone; there a session ends only with its browser.
    """

    def watch() -> None:
        while os.getppid() == server:
            time.sleep(1)
        os._exit(0)

    threading.Thread(target=watch, daemon=True).start()
