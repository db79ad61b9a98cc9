"""Which towers are exposed tonight: ranked by what freezes first, at the design temperature or another."""

from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content

from seasonlog.services.exposure import Asked, exposure, typed_wind
from seasonlog.services.figures import typed_degf
from seasonlog.tui import exposure_page
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.screens.form import Asked as Form
from seasonlog.tui.screens.form import FormSheet, Line, Typed
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import say

if TYPE_CHECKING:
    from seasonlog.services.exposure import ExposureBoard


class ExposureScreen(SeasonScreen):
    """A ranked list."""

    SHOWS_DEVICES = True
    BINDINGS = [
        Binding("t", "weather", "Weather", tooltip="Rank for another outdoor temperature and wind"),
        Binding("d", "design", "Design", tooltip="Back to each site's design temperature"),
        Binding("r", "reload", "Refresh", show=False, tooltip="Read the log again"),
    ]
    AUTO_FOCUS = "RowList"
    HELP = (
        "Towers that may freeze: those that hold water and are not proven for the season, have an open finding by "
        "which they can freeze, or whose proven heat does not cover the loss. What freezes first stands first, and "
        "says whether that is a bare make-up line, a pipe with dead heat trace, the skin of ice, or the basin. Hours "
        "are low figures. Open a tower to see all about it; t asks for another temperature and wind, d goes back to "
        "the design temperature. Drained towers stand at the end, with their proof."
    )

    def __init__(self) -> None:
        super().__init__()
        self.asked = Asked()

    def headings(self) -> tuple[Content, ...]:
        """What this is."""
        return (
            Content.styled("Exposed tonight", "bold") + say("   what freezes first"),
            say("Exposed tonight", "bold"),
        )

    def body(self) -> ComposeResult:
        """One list."""
        yield RowList(id="exposure")

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one(RowList).show([Row("", Content("reading the log …"))])

    def on_screen_resume(self) -> None:
        """Something may have been done at a tower."""
        self.action_reload()

    def action_reload(self) -> None:
        """Read the log again."""
        self.call_after_refresh(self._load)

    def read_again(self) -> None:
        """Others have written."""
        self.action_reload()

    @work(thread=True, exclusive=True, group="exposure")
    def _load(self) -> None:
        asked = self.asked
        self.ask(lambda book: exposure(book, self.today, asked), self._show)

    def _show(self, found: "ExposureBoard") -> None:
        if found.asked == self.asked:
            self.query_one(RowList).show(exposure_page.board(found))

    def action_design(self) -> None:
        """The weather of the register."""
        self.asked = Asked()
        self.action_reload()

    def action_weather(self) -> None:
        """Another temperature and wind; nothing goes into the record."""

        def save(typed: Typed) -> None:
            outdoor, wind = typed["outdoor"].strip(), typed["wind"].strip()
            self.asked = Asked(
                typed_degf(outdoor, "us") if outdoor else None,
                typed_wind(wind, "us") if wind else None,
            )

        words = "Left empty: each site's design temperature, and the design wind. Nothing goes into the record."
        lines = [Line("outdoor", "Outdoor air: -5 F or -20 C"), Line("wind", "Wind: 15 mph or 25 km/h")]
        sheet = FormSheet(Form("Exposed at another weather", words, "RANK"), lines, save)
        self.app.push_screen(sheet)

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        if event.key == "weather:":
            self.action_weather()
        else:
            self.seasonlog.open_row(event.key)
