"""The app as an auditor opens it: it starts with what is missing, and nothing in it can write."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date

from textual.screen import Screen

from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.base import STYLES


class AuditApp(SeasonlogApp):
    """One log, opened for reading alone."""

    CSS_PATH = [*SeasonlogApp.CSS_PATH, STYLES]  # the first screen's layout stands among that of all others

    def __init__(self, book: Logbook, site: str = "", today: date | None = None) -> None:
        super().__init__(book, today)
        self.site = site

    def get_default_screen(self) -> Screen[None]:
        """What is missing first."""
        from seasonlog.tui.screens.auditor import AuditorScreen

        return AuditorScreen(self.site)

    @contextmanager
    def reading(self) -> Iterator[Logbook]:
        """The one connection there is: a log read from memory cannot be opened a second time."""
        yield self.book


def run_audit(book: Logbook, site: str, today: date | None) -> None:
    """Show the auditor's screen until it is left.

    Args:
        book: The log, opened untouched.
        site: Only this site's towers; empty for all.
        today: The day the states are told for; the machine's own when None.
    """
    AuditApp(book, site, today).run()
