"""A screen of a few parts: one at a time where it is narrow, side by side where there is room."""

from typing import ClassVar

from textual import on

from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.segments import Segments


class PartsScreen(SeasonScreen):
    """Its parts are named by `PARTS`; the class `-at-NAME` says which one is shown."""

    HELP = "A few parts, chosen by their numbers."
    PARTS: ClassVar[tuple[str, ...]] = ()
    LISTS: ClassVar[dict[str, str]] = {}
    """Part to the widget that takes the keys, where that is not called as the part is."""

    @on(Segments.Chosen)
    def _chosen(self, event: Segments.Chosen) -> None:
        self.action_part(event.number)

    def action_part(self, number: int) -> None:
        """Show one part; on a wide screen, go to it."""
        for index, name in enumerate(self.PARTS):
            self.set_class(index == number, f"-at-{name}")
        self.query_one(Segments).chosen = number
        part = self.PARTS[number]
        self.call_after_refresh(self.query_one(f"#{self.LISTS.get(part, part)}").focus)
