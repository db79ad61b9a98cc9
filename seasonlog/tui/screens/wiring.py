"""The wiring of a circuit on the screen, terminal by terminal, with the test points that the fault finder names."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import ScrollableContainer
from textual.content import Content
from textual.widgets import Static

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing import wiring_text
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.wording import say, say_lines


class WiringScreen(SeasonScreen):
    """A drawing, larger than a small screen: it moves under the arrow keys."""

    BINDINGS = [
        Binding("left", "slide(-1,0)", "Left", show=False, tooltip="Move the drawing to see more at the left"),
        Binding("right", "slide(1,0)", "Right", show=False, tooltip="Move the drawing to see more at the right"),
        Binding("up", "slide(0,-1)", "Up", show=False, tooltip="Move the drawing to see more above"),
        Binding("down", "slide(0,1)", "Down", show=False, tooltip="Move the drawing to see more below"),
    ]
    HELP: ClassVar[str] = (
        "The circuit as the register has it, as a ladder: every terminal and every test point by the name that the "
        "fault finder uses. Below it stands how to read it, the cautions, and what was assumed. The arrow keys move "
        "it; `seasonlog fault --drawing --svg -o FILE` makes a page to print."
    )
    STEP: ClassVar[int] = 4

    def __init__(self, circuit: Circuit) -> None:
        super().__init__()
        self.circuit = circuit

    def headings(self) -> tuple[Content, ...]:
        """Circuit."""
        ident = say(self.circuit.id, "bold")
        return (ident + say("  wiring, with its test points"), ident)

    def body(self) -> ComposeResult:
        """The drawing."""
        with ScrollableContainer(id="wiring", can_focus=False):
            yield Static(say_lines(wiring_text(self.circuit)), id="wiring-lines")

    def action_slide(self, right: int, down: int) -> None:
        """Move the drawing."""
        place = self.query_one("#wiring", ScrollableContainer)
        place.scroll_relative(x=right * self.STEP * 2, y=down * self.STEP, animate=False)
