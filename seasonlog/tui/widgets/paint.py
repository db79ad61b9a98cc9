"""Plain content as the pieces a line is painted from, its colour names looked up in the theme of the moment."""

from rich.segment import Segment
from textual.content import Content
from textual.style import Style


def segments_of(content: Content, base: Style) -> list[Segment]:
    """The content on top of a base style."""
    return [Segment(text, style.rich_style) for text, style in content.render(base, end="", parse_style=_style)]


def _style(style: str | Style) -> Style:
    return style if isinstance(style, Style) else Style.parse(style)
