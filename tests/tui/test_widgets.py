"""The parts of the screens without a screen: the scale agrees with the rule, rows break well, the desk moves."""

from itertools import groupby
from pathlib import Path

import pytest
from textual.content import Content
from textual.theme import Theme

from seasonlog.domain.desk import Mode, opened
from seasonlog.domain.limit import Limit, Verdict, judge
from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui import wording
from seasonlog.tui.themes import NIGHT, SUN
from seasonlog.tui.widgets.band_scale import mark_rows, place, span, zones
from seasonlog.tui.widgets.row import INDENT, Row, heading, laid_out
from tests.tui.conftest import start, yard_book


def limit(*edges: float | None) -> Limit:
    """low, high, pass low, pass high, fail low, fail high."""
    return Limit("line_amps", "A", *edges, "", "", "line_amps/1")


BOTH = limit(19.5, 22.7, 20.1, 22.0, 18.9, 23.4)
LIMITS = {
    "both sides": BOTH,
    "low side": limit(5, None, 20, None, 1, None),
    "high side": limit(None, 5, None, 4.8, None, 15),
    "below zero": limit(None, -5, None, -6, None, -4),
    "no pass zone": Limit("a", "A", 5, 6, None, None, 4, 7, "", "", "", decides=False),
}


@pytest.mark.parametrize("limit", LIMITS.values(), ids=LIMITS)
@pytest.mark.parametrize("width", [20, 36, 80])
def test_every_cell_of_the_scale_has_the_verdict_a_reading_there_gets(limit: Limit, width: int) -> None:
    start_, end = span(limit)
    cells = zones(limit, width)
    for cell, verdict in enumerate(cells):
        middle = start_ + (end - start_) * (cell + 0.5) / width
        assert judge(middle, limit) is verdict
        assert place(middle, limit, width) == cell
    assert Verdict.PASS in cells or not limit.decides


def test_the_scale_runs_from_fail_over_near_to_pass_and_back() -> None:
    order = [verdict for verdict, _ in groupby(zones(BOTH, 60))]
    ends = [Verdict.FAIL, Verdict.NEAR_FAIL, Verdict.NEAR_PASS]
    assert order == [*ends, Verdict.PASS, *reversed(ends)]


def test_readings_beyond_the_scale_stand_at_its_ends() -> None:
    assert place(0, BOTH, 40) == -1
    assert place(99, BOTH, 40) == place(float("inf"), BOTH, 40) == 40


def test_marks_never_cover_each_other() -> None:
    assert mark_rows([("A", 3), ("B", 3)], 20)[0].rstrip() == "   ▲A B"
    first, second = mark_rows([("A", 3), ("B", 4), ("C", 12)], 20)
    assert (first.rstrip(), second.rstrip()) == ("   ▲A       ▲C", "    ▲B")
    first, second = mark_rows([("A", -1), ("B", 20), ("C", 19)], 20)
    assert (first.split(), second.split()) == (["◄A", "C▲"], ["B►"])
    assert len(first) == len(second) == 20


def test_a_row_takes_the_lines_it_needs_and_no_word_is_lost() -> None:
    words = "a sentence that is much longer than one line of the narrow screen can hold"
    row = Row("x", Content("A title"), Content(words), (Content("NOT PROVEN"), Content("open visit")))
    lines = [line.plain for line in laid_out(row, 40)]
    assert all(Content(line).cell_length <= 40 for line in lines)
    assert " ".join(line[INDENT:].strip() for line in lines).split()[-15:] == words.split()
    assert any("NOT PROVEN" in line for line in lines)
    wide = [line.plain for line in laid_out(row, 100)]
    assert wide[0].endswith("NOT PROVEN   open visit")
    assert len(wide) == 2


def test_a_row_of_fixed_height_ends_with_an_ellipsis() -> None:
    row = Row("x", Content("A title"), Content("many words " * 20))
    lines = laid_out(row, 40, 2)
    assert len(lines) == 2
    assert lines[-1].plain.endswith("…")
    assert len(laid_out(Row("x", Content("A title")), 40, 2)) == 2


def test_a_heading_is_not_a_row_to_open() -> None:
    assert not heading("SITES").can_open
    assert not Row("", Content("words")).can_open


def test_the_desk_goes_round_and_skips_what_waits(book: Logbook) -> None:
    desk = opened(rounds.progress(book, start(book)))
    assert (desk.key, desk.mode) == ("weather", Mode.READ_CAUTION)
    desk.read_caution()
    assert desk.mode is Mode.ASK
    desk.go_to("line_amps")
    assert desk.mode is Mode.WAITS
    assert desk.following == "weather"  # cut-in waits for the amps: round to the first again
    desk.step_by(99)
    assert desk.key == "cut_in_degf"
    desk.step_by(-99)
    assert desk.key == "weather"
    desk.go_to("no such step")
    assert desk.key == "weather"


def test_a_caution_counts_for_its_section_and_target_only(tmp_path: Path) -> None:
    with yard_book(tmp_path) as book:
        desk = opened(rounds.progress(book, start(book)))
        desk.go_to("supply_volts")
        assert desk.mode is Mode.READ_CAUTION
        desk.read_caution()
        desk.saw(rounds.answer(book, desk.at, "supply_volts", ("480", "480", "480")))
        desk.go_to("line_amps")
        assert desk.mode is Mode.ASK  # the same words, section and circuit
        desk.go_to("weather")
        assert desk.mode is Mode.READ_CAUTION


LOOKS = [
    *wording.VERDICTS.values(), *wording.SEVERITIES.values(), *wording.PROTECTIONS.values(),
    *wording.DUE_STATES.values(), *wording.VISIT_STATES.values(), *wording.FINDING_STATES.values(),
]  # fmt: skip


def test_every_state_has_a_symbol_a_word_and_a_colour_in_both_looks() -> None:
    for look in LOOKS:
        assert look.symbol.strip()
        assert look.word
        assert len(look.symbol) <= 2
        assert f"tone-{look.tone}" in NIGHT.variables
        assert f"tone-{look.tone}" in SUN.variables
    for table in (wording.VERDICTS, wording.SEVERITIES, wording.PROTECTIONS, wording.DUE_STATES):
        assert len({look.word for look in table.values()}) == len(table)
        assert len({look.symbol for look in table.values()}) == len(table)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


ON = (
    ("on-zone", "zone-pass"), ("on-zone", "zone-fail"), ("on-near", "zone-near-pass"), ("on-near", "zone-near-fail"),
    ("pick-ink", "pick"), ("key-ink", "key"), ("go-ink", "go"), ("stop-ink", "stop"), ("demo-ink", "demo"),
    ("tone-near-fail", "hush"),
)  # fmt: skip
"""Words and the ground they stand on."""


@pytest.mark.parametrize(("theme", "least"), [(NIGHT, 4.5), (SUN, 7.0)], ids=["night", "sun"])
def test_words_can_be_read_in_both_looks(theme: Theme, least: float) -> None:
    """WCAG 2.2, success criterion 1.4.3 (4.5:1) at night and 1.4.6 (7:1) in sunlight."""
    names = theme.variables
    pairs = [(names[name], theme.background) for name in names if name.startswith("tone-") or name == "soft"]
    pairs += [(names[ink], names[ground]) for ink, ground in ON]
    pairs.append((theme.foreground, theme.background))
    for ink, ground in pairs:
        assert contrast(ink, ground) >= least, (ink, ground)


def test_a_near_fail_is_not_called_just_outside_where_its_band_is_wide() -> None:
    """Insulation of 1.2 Mohm where 5 is the limit: "dry out and retest", four times too low (published ladder)."""
    ladder = Limit("insulation_mohm", "Mohm", 5, None, 20, None, 1, None, "", "", "")
    assert judge(1.2, ladder) is Verdict.NEAR_FAIL
    assert "just" not in wording.VERDICT_MEANS[Verdict.NEAR_FAIL].casefold()
