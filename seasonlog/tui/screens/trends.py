"""Everything read of a tower over the years, drawn: limits, new devices, drift."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.tui import trend_page as page
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import say

if TYPE_CHECKING:
    from seasonlog.domain.trend import Trend

NONE_YET = Row("", Content("No readings yet"), Content("A series appears here with its second reading."))


class TrendsScreen(SeasonScreen):
    """Every series of one tower."""

    AUTO_FOCUS = "#series"
    HELP = (
        "Every quantity read of this tower over the years. What must be looked at stands first. The plot shows each "
        "reading with the limits it was judged by; a line stands where a device was put in, and the trend starts anew "
        "there. A drift is told when chance alone would make one as clear in fewer than 5 of 100 series "
        "(Mann and Kendall); its slope is the middle of all pairs (Theil and Sen)."
    )

    def __init__(self, tower: str) -> None:
        super().__init__()
        self.tower = tower
        self.found: Sequence[Trend] = ()

    def headings(self) -> tuple[Content, ...]:
        """Which tower."""
        ident = say(self.tower, "bold")
        return ident + Content.styled("   trends over the years", "$soft"), ident

    def body(self) -> ComposeResult:
        """The series, and the plot of the one that was opened."""
        with Horizontal(classes="panes"):
            yield RowList(id="series", most_lines=4)
            with Vertical(id="plot"):
                yield Static(id="plot-title")
                with VerticalScroll(id="plot-words", can_focus=False):
                    yield Static(id="plot-told")

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one("#series", RowList).show([Row("", Content("reading the log …"))])
        self.call_after_refresh(self._load)

    @work(thread=True, exclusive=True, group="trends")
    def _load(self) -> None:
        from seasonlog.services.trends import trends

        self.ask(lambda book: [each.as_read() for each in trends(book, self.tower)], self._show)

    def _show(self, found: "Sequence[Trend]") -> None:
        self.found = found
        self.query_one("#series", RowList).show([page.series(each) for each in found] or [NONE_YET])
        if found:
            self._draw(found[0])

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        _, quantity, target = event.key.split(":", 2)
        self._draw(next(each for each in self.found if (each.quantity, each.target) == (quantity, target)))

    def _draw(self, found: "Trend") -> None:
        from seasonlog.tui.widgets.trend import Trend as Plot

        place = self.query_one("#plot", Vertical)
        plots = place.query(Plot)
        plot = plots.first() if plots else Plot()
        if not plots:
            place.mount(plot, after="#plot-title")
        self.query_one("#plot-title", Static).update(page.title(found))
        self.query_one("#plot-told", Static).update(page.told(found))
        self.call_after_refresh(plot.show, found)
