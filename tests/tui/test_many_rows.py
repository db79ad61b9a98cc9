"""Very many rows: laid out when they are seen, all of one height, the first and the last of them reachable."""

from typing import Any

import pytest
from textual.app import App, ComposeResult
from textual.content import Content

from seasonlog.tui.themes import NIGHT
from seasonlog.tui.widgets import row_list
from seasonlog.tui.widgets.row import Row, heading, laid_out
from seasonlog.tui.widgets.row_list import HEADING_LINES, LINES, MANY, NARROW_LINES, RowList

WORDS = Content("words that need some room, " * 3)
ROWS = [Row("", Content("all of them")), heading("MANY"), *(
    Row(f"row:{n}", Content(f"number {n}"), WORDS) for n in range(20 * MANY)
)]  # fmt: skip


class Lists(App[None]):
    def on_mount(self) -> None:
        self.register_theme(NIGHT)
        self.theme = NIGHT.name

    def compose(self) -> ComposeResult:
        yield RowList(id="rows")


@pytest.mark.parametrize(("width", "lines"), [(80, LINES), (40, NARROW_LINES)])
@pytest.mark.parametrize("by_number", [False, True])
async def test_what_is_not_seen_is_not_laid_out(
    width: int, lines: int, by_number: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    laid = []
    monkeypatch.setattr(row_list, "laid_out", lambda row, *room: laid.append(row) or laid_out(row, *room))
    async with Lists().run_test(size=(width, 24)) as pilot:
        rows: Any = pilot.app.query_one(RowList)
        if by_number:
            rows.show_many(len(ROWS), ROWS.__getitem__)
        else:
            rows.show(ROWS)
        rows.focus()
        await pilot.pause()
        assert rows.picked.key == "row:0"
        heading_lines = lines if by_number else HEADING_LINES
        assert rows.virtual_size.height == lines * (len(ROWS) - 1) + heading_lines
        await pilot.press("end")
        await pilot.pause()
        assert rows.picked is ROWS[-1]
        drawn = "\n".join(strip.text for strip in rows.render_lines(rows.size.region))
        assert f"number {20 * MANY - 1}" in drawn
        assert len({id(row) for row in laid}) < 60


async def test_headings_among_very_many_rows_take_no_more_lines_than_they_need() -> None:
    async with Lists().run_test(size=(40, 24)) as pilot:
        rows: Any = pilot.app.query_one(RowList)
        rows.show([heading("FIRST"), ROWS[2], heading("SECOND"), *ROWS[3:]])
        rows.focus()
        await pilot.pause()
        drawn = [strip.text.rstrip() for strip in rows.render_lines(rows.size.region)]
        assert drawn[0].startswith(" FIRST")
        assert "number 0" in drawn[1]
        assert drawn[NARROW_LINES + 1] == ""
        assert drawn[NARROW_LINES + 2].startswith(" SECOND")
        assert "number 1" in drawn[NARROW_LINES + 3]
        await pilot.press("down")
        assert rows.picked.key == "row:1"


def test_a_heading_fills_the_height_of_its_neighbours() -> None:
    assert [len(laid_out(heading("MANY"), 80, height)) for height in (None, 2, LINES, NARROW_LINES)] == [
        2, 2, LINES, NARROW_LINES,
    ]  # fmt: skip
