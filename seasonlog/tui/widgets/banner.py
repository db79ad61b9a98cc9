"""The line on top of every screen: the way back, where one is, and the word DEMONSTRATION where the log is one."""

from rich.cells import cell_len
from rich.segment import Segment
from textual import events
from textual.content import Content
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from seasonlog.tui.widgets.paint import segments_of

DEMONSTRATION = " DEMONSTRATION "
BACK = " ‹ Back "


class Banner(Widget):
    """One line: back, title, demonstration."""

    COMPONENT_CLASSES = {"banner--back", "banner--demo"}

    headings: reactive[tuple[Content, ...]] = reactive((Content(""),))
    """Where one is, the longest first; the first that fits is shown."""

    status: reactive[tuple[str, ...]] = reactive(())
    """How the log stands to the hub, the longest form first; nothing without a hub."""

    def __init__(self, headings: tuple[Content, ...], *, can_go_back: bool, is_demonstration: bool) -> None:
        super().__init__()
        self.can_go_back = can_go_back
        self.is_demonstration = is_demonstration
        self.set_reactive(Banner.headings, headings)

    def render_line(self, y: int) -> Strip:
        """The line."""
        base = self.visual_style
        back = BACK if self.can_go_back else ""
        demo = DEMONSTRATION if self.is_demonstration else ""
        status = self._status()
        room = max(self.size.width - len(back) - len(demo) - len(status) - 1, 0)
        fitting = next((h for h in self.headings if h.cell_length < room), self.headings[-1])
        title = Content(" ") + fitting.truncate(max(room - 1, 0), ellipsis=True)
        title = title.pad_right(room - title.cell_length)
        segments = [Segment(back, self.get_visual_style("banner--back").rich_style)] if back else []
        segments += segments_of(title, base)
        segments += [Segment(status, base.rich_style)] if status else []
        segments += [Segment(" ", base.rich_style), Segment(demo, self.get_visual_style("banner--demo").rich_style)]
        return Strip(segments).adjust_cell_length(self.size.width, base.rich_style)

    def _status(self) -> str:
        """The form that leaves the shortest heading its place."""
        room = self.size.width - self.headings[-1].cell_length - len(BACK) - len(DEMONSTRATION) - 4
        return (
            next((f" {form}" for form in self.status if cell_len(form) < room), f" {self.status[-1]}")
            if self.status
            else ""
        )

    async def on_click(self, event: events.Click) -> None:
        """The left end goes back."""
        if self.can_go_back and event.x < len(BACK) + 2:
            await self.run_action("screen.back")
