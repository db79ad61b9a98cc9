"""One line under the banner of a board: how old the newest entry of every other device is. Gone with one device."""

from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.text import visible
from seasonlog.services.device_ages import SILENCE, ages_line, device_ages
from seasonlog.services.logbook import Logbook


class DevicesLine(Static):
    """`newest received  roof tablet: 3 days ago`."""

    def on_mount(self) -> None:
        """It shows only where the log has other devices."""
        self.display = False
        self.tooltip = f"The newest entry that is here of every other device. {SILENCE}"

    def look(self, book: Logbook) -> None:
        """Read the ages again."""
        line = ages_line(device_ages(book))
        self.display = bool(line)
        self.update(Content.styled("newest received  ", "$soft") + Content(visible(line)))
