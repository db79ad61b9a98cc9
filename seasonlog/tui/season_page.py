"""The season's weeks as lines of signs: months, how likely frost is, windows with what is planned and done in them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from textual.content import Content

from seasonlog.calc.season_days import MonthDay
from seasonlog.domain.season import COLD_SNAP, FALL_ENABLE, MID_WINTER, SPRING_DISABLE
from seasonlog.domain.season_weeks import PRESSING, WEEKS, Count, Sign, Span, shown
from seasonlog.services.season_strip import Lane, SiteStrip, SiteTowers, TowerStrip
from seasonlog.tui import rows
from seasonlog.tui.widgets.row import INDENT, Row
from seasonlog.tui.wording import Look, plain, say

SIGNS = {
    Sign.OVERDUE: Look("!", "overdue", "fail"),
    Sign.PLANNED: Look("◆", "in the plan", "hot"),
    Sign.OPEN: Look("●", "due now", "hot"),
    Sign.UPCOMING: Look("○", "to come", "calm"),
    Sign.DONE: Look("✓", "done", "pass"),
    Sign.DROPPED: Look("–", "dropped", "calm"),
}
LETTERS = {FALL_ENABLE: "F", MID_WINTER: "M", SPRING_DISABLE: "S", COLD_SNAP: "C"}
SHORT = {"in the plan": "plan", "due now": "due"}
KINDS = (
    {letter: plain(checklist) for checklist, letter in LETTERS.items()},
    {"F": "fall", "M": "winter", "S": "spring", "C": "snap"},
)
"""What the letters stand for, in full and in short."""
FROST = {
    "░▒▓█": ("frost season likely from 5, 25, 50, 75 %", "frost"),
    "*": ("usual freeze, no chance known", "usual"),
}
EXTRA = "+"
"""Begins the window of a visit that a person put into the plan."""
SHADES = ((0.75, "█"), (0.50, "▓"), (0.25, "▒"), (0.05, "░"))
"""Chance from which on a week has this shade."""
BARE, USUAL, UNKNOWN = "·", "*", " "
LABEL = 8
LEAST_NAMED = 2
"""On a narrow screen a window gets its letter when it has more cells than this."""
NARROW = 60
"""Columns below which two weeks share a cell."""
ROOMY = 80
"""Columns from which the signs are told in full words."""
TODAY = "▼"
TODAY_LINE = "┊"
NO_TOWERS = Row("", Content("No towers yet"), Content("The register has no tower on this site."))
NO_SITES = Row("", Content("No sites yet"), Content("Read a site file with `seasonlog register import FILE`."))


@dataclass(frozen=True, slots=True)
class Scale:
    """How wide the strip is drawn."""

    cells: int
    """Cells for 52 weeks: 26 or 52."""
    label: int
    """Cells for the label before them."""
    beside: int
    """Cells left for words behind them."""

    @classmethod
    def for_width(cls, width: int) -> "Scale":
        """The scale for so many columns of the screen."""
        room = width - INDENT - (2 if width < NARROW else 1)
        cells = WEEKS // 2 if width < NARROW else WEEKS
        label = LABEL if room >= WEEKS + LABEL else 0
        return cls(cells, label, max(room - cells - label - 2, 0))

    @property
    def is_narrow(self) -> bool:
        """Two weeks share a cell."""
        return self.cells < WEEKS

    @property
    def lines(self) -> int:
        """Lines that a site takes."""
        return 5 if self.is_narrow else 4

    @property
    def tower_lines(self) -> int:
        """Lines that a tower takes."""
        return 4 if self.is_narrow else 3

    def cell(self, week: int) -> int:
        """The cell of a week."""
        return week * self.cells // WEEKS

    def line(self, label: str, cells: Content, *beside: str) -> Content:
        """Label, strip and what is said behind it: the first of the texts for which there is room."""
        words = say(next((text for text in beside if len(text) <= self.beside), ""), "$soft")
        return Content.assemble((f"{label:<{self.label}}"[: self.label], "$soft"), cells, "  ", words)


def site(strip: SiteStrip, scale: Scale) -> Row:
    """A site: months, frost, visits.

    Args:
        strip: The site over its season.
        scale: How wide.
    """
    told = strip.lane.count
    coming = f"next: {strip.lane.next_words}" if strip.lane.next_words else ""
    lines = [
        _months(strip, scale, coming),
        _frost(strip, scale, strip.basis_words, strip.basis),
        lane(strip.lane, strip.today, scale, told_of(told), done_of(told)),
    ]
    if scale.is_narrow:
        lines.append(say(told_of(told), "$soft"))
    mark = () if scale.is_narrow else _standing(told)
    return Row(
        f"weeks:{strip.id}",
        say(strip.name).truncate(title_room(scale), ellipsis=True),
        _stacked(lines),
        mark,
        _look(told),
    )


def title_room(scale: Scale) -> int:
    """Cells a title may take."""
    whole = scale.cells + scale.label + scale.beside
    return whole if scale.is_narrow else whole - 28


def ruler(strip: SiteStrip, scale: Scale) -> Content:
    """What stands above the towers of a site: whose dates, months, frost."""
    pad = " " * INDENT
    words = f"{strip.season} · {strip.basis_words}"
    lines = [*say(words).wrap(max(scale.cells + scale.label + scale.beside, 20))]
    lines += [_months(strip, scale), _frost(strip, scale, strip.basis)]
    return _stacked([Content(pad) + each for each in lines])


def tower(strip: TowerStrip, found: SiteTowers, scale: Scale) -> Row:
    """A tower: its visits, and what is next.

    Args:
        strip: The tower over its season.
        found: The site it stands on.
        scale: How wide.
    """
    told = strip.lane.count
    line = lane(strip.lane, found.site.today, scale, done_of(told))
    words = say(strip.lane.next_words or "nothing to come")
    mark = () if scale.is_narrow else _standing(told)
    title = say(f"{strip.id}  {strip.name}").truncate(title_room(scale), ellipsis=True)
    return Row(f"tower:{strip.id}", title, _stacked([line, words]), mark, _look(told))


def done_of(told: Count) -> str:
    """How many of the visits asked for are done."""
    return f"{told.done} of {told.asked} done"


def told_of(told: Count) -> str:
    """How the visits stand, in words."""
    parts = [done_of(told)]
    parts += [f"{told.overdue} overdue"] if told.overdue else []
    parts += [f"{told.due_now} due"] if told.due_now else []
    return ", ".join(parts)


def legend(width: int) -> Content:
    """What the signs mean, as many to a line as fit; in fewer words on a narrow screen.

    Args:
        width: Columns of the screen.
    """
    short = width < ROOMY
    parts = [
        (look.symbol, SHORT.get(look.word, look.word) if short else look.word, look.ink) for look in SIGNS.values()
    ]
    parts += [] if short else [(TODAY, "this week", "$tone-hot")]
    parts += [(letter, KINDS[short][letter], "$tone-hot") for letter in KINDS[short]]
    parts += [(sign, words[short], "$tone-cold") for sign, words in FROST.items()]
    return _stacked(list(_filled(parts, width - 2)))


def _filled(parts: Sequence[tuple[str, str, str]], width: int) -> Iterator[Content]:
    line = Content("")
    for sign, word, ink in parts:
        part = Content.assemble((sign, f"bold {ink}"), " ", (word, "$soft"))
        longer = Content.assemble(line, "  ", part) if line else part
        if line and longer.cell_length > width:
            yield line
            longer = part
        line = longer
    yield line


def _stacked(lines: Sequence[Content]) -> Content:
    return Content("\n").join(lines)


def _look(told: Count) -> Look:
    if told.overdue:
        return rows.OVERDUE
    return rows.DUE if told.due_now else rows.QUIET


def _standing(told: Count) -> tuple[Content, ...]:
    return rows.marks(
        (f"! {told.overdue} overdue" if told.overdue else "", "fail"),
        (f"● {told.due_now} due" if told.due_now else "", "hot"),
    )


def _months(strip: SiteStrip, scale: Scale, *beside: str) -> Content:
    """The months' names where they begin, and today's week."""
    text = ""
    for week, month in strip.weeks.months:
        name = MonthDay(month, 1).words.partition(" ")[2]
        text = f"{text:<{scale.cell(week)}}{name[: 1 if scale.is_narrow else 3]}"
    text, at = f"{text:<{scale.cells}}"[: scale.cells], scale.cell(strip.today)
    cells = Content.assemble((text[:at], "$soft"), (TODAY, "bold $tone-hot"), (_after(text, at), "$soft"))
    return scale.line(strip.season.removeprefix("winter "), cells, *beside)


def _after(text: str, at: int) -> str:
    """The months behind today's mark: a name it stands in loses its tail, one it stands on moves on by a cell."""
    behind = text[at + 1 :]
    if text[at] == " ":
        return behind
    tail = len(behind) - len(behind.lstrip(ascii_lowercase))
    is_first_letter = at == 0 or text[at - 1] == " "
    kept = text[at : at + tail] if is_first_letter else ""
    return f"{kept:<{tail}}{behind[tail:]}"


def _frost(strip: SiteStrip, scale: Scale, *beside: str) -> Content:
    cells, ink = _shaded(strip.shares, scale), "$tone-cold"
    if not strip.shares:
        at = {scale.cell(week) for week in strip.usual}
        cells = "".join(USUAL if cell in at else BARE if at else UNKNOWN for cell in range(scale.cells))
        ink = "bold $tone-cold"
    return scale.line("frost", Content.styled(cells, ink), *beside)


def _shaded(shares: Sequence[float], scale: Scale) -> str:
    """The shade of each cell; of two weeks in a cell the likelier one."""
    cells = [0.0] * scale.cells
    for week, share in enumerate(shares):
        cells[scale.cell(week)] = max(cells[scale.cell(week)], share)
    return "".join(shade(share) for share in cells)


def shade(share: float) -> str:
    """The sign of a chance, 0 to 1."""
    return next((sign for least, sign in SHADES if share >= least), BARE)


def lane(found: Lane, today: int, scale: Scale, *beside: str) -> Content:
    """Windows from their letter to their last week, with the most pressing mark of each cell on top.

    Args:
        found: Windows and marks.
        today: This week.
        scale: How wide.
        beside: What may be said behind the strip, the longest first.
    """
    cells: list[tuple[str, str]] = [(" ", "")] * scale.cells
    cells[scale.cell(today)] = (TODAY_LINE, "$tone-hot")
    signs: dict[int, Sign] = {}
    for week, sign in sorted(shown(found.marks).items()):
        at = scale.cell(week)
        signs[at] = min(signs.get(at, sign), sign, key=PRESSING.index)
    for span in found.spans:
        _draw(cells, span, scale, signs)
    for at, sign in signs.items():
        cells[at] = (SIGNS[sign].symbol, f"bold {SIGNS[sign].ink}")
    return scale.line("visits", Content.assemble(*cells), *beside)


def _draw(cells: list[tuple[str, str]], span: Span, scale: Scale, signs: dict[int, Sign]) -> None:
    first, last = scale.cell(span.opens), scale.cell(span.due)
    for at in range(first, last + 1):
        cells[at] = ("┤" if at == last else "─", "$tone-calm")
    letter = LETTERS.get(span.checklist, EXTRA)
    free = next((at for at in range(first, last + 1) if at not in signs), None)
    if free is not None and (last - first >= LEAST_NAMED or not scale.is_narrow):
        cells[free] = (letter, "bold $tone-hot")
