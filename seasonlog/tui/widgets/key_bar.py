"""The line at the bottom: the few keys that matter here, each of which is also a place to tap. The menu has them all.

On a narrow screen it grows to three lines, so that a gloved finger hits it.
"""

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, NamedTuple

from rich.segment import Segment
from textual import events
from textual.binding import ActiveBinding
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

if TYPE_CHECKING:
    from textual.app import App

NARROW_LINES = 3
STOP = "screen.stop"
"""The one action that is always red."""


class Chip(NamedTuple):
    """One key with its place in the bar."""

    key: str
    words: str
    action: str
    start: int
    end: int


class KeyBar(Widget):
    """Keys of the screen that shows it."""

    COMPONENT_CLASSES = {"key-bar--key", "key-bar--words", "key-bar--gap", "key-bar--stop"}

    def on_mount(self) -> None:
        """Follow what may be done just now."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, screen: Screen[object]) -> None:
        if screen is self.screen:
            self.refresh()

    def chips(self) -> list[Chip]:
        """What fits, the menu last."""
        shown = list(_shown(self.screen, self.app))
        if self.size.height >= NARROW_LINES:
            return _spread(shown[: max(self.size.width // 10 - 1, 1)], self.size.width)
        return _packed(shown, self.size.width)

    def render_line(self, y: int) -> Strip:
        """Keys and words; on a narrow screen the words stand in the middle line of a block."""
        key, words, gap, stop = (
            self.get_visual_style(f"key-bar--{name}").rich_style for name in ("key", "words", "gap", "stop")
        )
        segments, at = [], 0
        for chip in self.chips():
            segments.append(Segment(" " * (chip.start - at), gap))
            width = chip.end - chip.start
            ink = stop if chip.action == STOP else words
            if self.size.height >= NARROW_LINES:
                text = f"{chip.words[:width]:^{width}}" if y == 1 else " " * width
                segments.append(Segment(text, ink))
            else:
                segments += [Segment(f" {chip.key} ", key), Segment(f" {chip.words} ", ink)]
            at = chip.end
        return Strip(segments).adjust_cell_length(self.size.width, gap)

    async def on_click(self, event: events.Click) -> None:
        """A tap is the key."""
        for chip in self.chips():
            if chip.start <= event.x < chip.end:
                await self.run_action(chip.action)
                return


def _shown(screen: Screen[object], app: "App[object]") -> Iterator[tuple[str, str, str]]:
    seen: set[str] = set()
    for active in screen.active_bindings.values():
        binding = active.binding
        if _is_told(screen, active) and active.enabled and binding.action not in seen:
            seen.add(binding.action)
            space = "app" if active.node is app else "screen"
            action = binding.action if "." in binding.action else f"{space}.{binding.action}"
            yield app.get_key_display(binding), binding.description, action


def _is_told(screen: Screen[object], active: ActiveBinding) -> bool:
    """As the binding says, or as the screen does where what matters changes with what it shows."""
    told: Collection[str] = getattr(screen, "keys_told", ())
    if not told:
        return active.binding.show
    return active.binding.action in told and active.node in (screen, screen.app)


_MENU = ("^p", "Menu", "app.command_palette")


def _packed(shown: list[tuple[str, str, str]], width: int) -> list[Chip]:
    chips: list[Chip] = []
    at, room = 0, width - _length(_MENU)
    for each in [s for s in shown if s[2] != _MENU[2]]:
        if at + _length(each) > room:
            break
        chips.append(Chip(*each, at, at + _length(each)))
        at += _length(each) + 1
    return [*chips, Chip(*_MENU, width - _length(_MENU), width)]


def _length(each: tuple[str, str, str]) -> int:
    return len(each[0]) + len(each[1]) + 4


def _spread(shown: list[tuple[str, str, str]], width: int) -> list[Chip]:
    each = [*(s for s in shown if s[2] != _MENU[2]), _MENU]
    cell = width // len(each)
    return [Chip(*one, i * cell, (i + 1) * cell - 1 if i < len(each) - 1 else width) for i, one in enumerate(each)]
