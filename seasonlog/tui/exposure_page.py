"""The exposure board as rows: rank, hours and what freezes first, where, what comes after, why, and the last record."""

import math
from collections.abc import Iterator, Sequence

from textual.content import Content

from seasonlog.domain.exposure import KIND_WORDS, Exposed, FreezeKind, Threat
from seasonlog.services.exposure import CAUTIONS, MPH_PER_KMH, ExposureBoard, LastRecord, Placed, weather_words
from seasonlog.tui import rows
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, say
from seasonlog.tui.words import in_units, shown_as

SYMBOLS = {
    FreezeKind.MAKEUP: "▼", FreezeKind.TRACE: "╪", FreezeKind.SKIN: "═", FreezeKind.BASIN: "▣", FreezeKind.COIL: "◎",
}  # fmt: skip
ASK = Look("►", "", "hot")
NO_FIGURE = Look("?", "NO FIGURE", "unsure")
NOT_NOW = Look("○", "NOTHING FREEZES", "calm")
DRY = Look("✓", "DRAINED", "pass")
NOT_DRY = Look("✗", "NOT PROVEN DRAINED", "near-fail")
CANNOT_TELL = Look("?", "CANNOT TELL", "unsure")
WARNS = Look("!", "", "near-fail")
ALL_WELL = Row("", Content("✓ No tower is exposed"), Content("Each is proven with heat enough, or proven drained."))
NO_TOWERS = Row("", Content("No towers yet"), Content("Nothing is on record, so nothing can be said of tonight."))
SOON_HOURS, TONIGHT_HOURS = 1.0, 8.0
"""Below the first a figure is red, below the second amber. Common practice, no source."""
BAR_CELLS = 21
LEAST_HOURS, MOST_HOURS = 1 / 60, 24.0
"""The ends of the bar: a minute and a day."""


def board(found: ExposureBoard) -> list[Row]:
    """The whole board.

    Args:
        found: As ranked.
    """
    shown = [_weather(found)]
    figures = [each for each in found.exposed if each.found.first is not None]
    blind = [each for each in found.exposed if each.found.first is None]
    not_now = f"NOT PROVEN, BUT NOTHING FREEZES {_in_weather(found)}"
    for title, ours in (("FREEZES FIRST", figures), ("NO FIGURE", blind), (not_now, found.not_now)):
        shown += [heading(f"{title}: {len(ours)}"), *(tower(each) for each in ours)] if ours else []
    shown += [ALL_WELL] if found.all_well else [] if found.has_towers else [NO_TOWERS]
    shown += [*_unjudged(found), *_drained(found), *_basis(found), heading("WHAT THIS BOARD CANNOT SEE")]
    return [*shown, Row("", Content("Caution"), Content("\n").join(say(line) for line in CAUTIONS), look=WARNS)]


def _in_weather(found: ExposureBoard) -> str:
    if found.asked.outdoor_degf is None:
        return "IN THIS WEATHER"
    unit, shown = shown_as("degf", found.units)
    return f"AT {shown(found.asked.outdoor_degf):.0f} {unit}"


def _basis(found: ExposureBoard) -> Iterator[Row]:
    says = {t.kind: t.says for each in found.exposed for t in each.found.threats if t.says}
    if says:
        yield heading("WHAT THE HOURS REST ON")
    for kind in sorted(says):
        words = say(_units(says[kind], found.units))
        yield Row("", say(KIND_WORDS[kind].capitalize()), words, look=Look(SYMBOLS[kind], "", "calm"))


def _weather(found: ExposureBoard) -> Row:
    provisional = f", {found.provisional} of them provisionally" if found.provisional else ""
    counts = f"{len(found.exposed)} exposed · {found.covered} proven with heat enough{provisional}"
    words = Content("\n").join([say(weather_asked(found)), say(counts)])
    return Row("weather:", Content("Another temperature or wind"), words, look=ASK)


def weather_asked(found: ExposureBoard) -> str:
    """What weather the board is for."""
    asked, metric = found.asked, found.units == "si"
    wind = "design wind" if asked.wind_mph is None else f"{asked.wind_mph:.0f} mph"
    if asked.wind_mph is not None and metric:
        wind = f"{asked.wind_mph / MPH_PER_KMH:.0f} km/h"
    if asked.outdoor_degf is None:
        return f"now: each site's design temperature, {wind}"
    unit, shown = shown_as("degf", found.units)
    return f"now: {shown(asked.outdoor_degf):.0f} {unit} asked for, {wind}"


def tower(placed: Placed) -> Row:
    """One exposed tower.

    Args:
        placed: In its place.
    """
    found, first = placed.found, placed.found.first
    look = _look(found)
    head = f"{first.when} · {KIND_WORDS[first.kind]}" if first and first.hours is not None else look.word
    lines = [say(" · ".join(_where(placed)), "bold $foreground")]
    lines += [_bar(found.threats)] if first else []
    lines += [say(_units(text, placed.units)) for text in (*_told(placed), " · ".join(_last(placed.last)))]
    title = f"{placed.rank} · {head}" if placed.rank else head
    return Row(f"tower:{found.tower}", say(title), Content("\n").join(lines), look=look)


def _where(placed: Placed) -> Iterator[str]:
    yield f"{placed.found.tower} {placed.name}"
    yield placed.site_name
    if placed.found.night is not None:
        yield _units(weather_words(placed.found.night, placed.units), placed.units)


def _look(found: Exposed) -> Look:
    first = found.first
    if first is None or first.hours is None:
        return NOT_NOW if found.nothing_freezes else NO_FIGURE
    tone = "fail" if first.hours < SOON_HOURS else "near-fail" if first.hours < TONIGHT_HOURS else "cold"
    return Look(SYMBOLS[first.kind], "", tone)


def _told(placed: Placed) -> Iterator[str]:
    found = placed.found
    figures = [t for t in found.threats if t.hours is not None]
    for number, threat in enumerate(figures):
        what = f"{SYMBOLS[threat.kind]} {threat.when} {threat.what}"
        yield what if number == 0 else f"then {what}"
    for threat in found.without_figure:
        yield f"no figure: {threat.what}: {threat.missing}"
    yield from (f"why: {reason}" for reason in found.reasons)


def _last(last: LastRecord) -> Iterator[str]:
    yield f"last visit: {last.visit_words or 'none'}"
    if last.finding:
        yield f"newest finding: {last.finding} {last.finding_words}"
    yield f"newest reading: {last.readings_on or 'none'}"


def _bar(threats: Sequence[Threat]) -> Content:
    """What freezes when, from a minute to a day; each hour's step is the same many times the one before."""
    cells = ["─"] * BAR_CELLS
    for threat in reversed(threats):  # the first one is drawn last and stays
        if threat.hours is not None:
            cells[_cell(threat.hours)] = SYMBOLS[threat.kind]
    return Content.assemble(("1 min ", "$soft"), ("".join(cells), "bold $tone-cold"), (" 1 day", "$soft"))


def _cell(hours: float) -> int:
    part = math.log(max(hours, LEAST_HOURS) / LEAST_HOURS) / math.log(MOST_HOURS / LEAST_HOURS)
    return round(min(part, 1.0) * (BAR_CELLS - 1))


def _units(text: str, units: str) -> str:
    return in_units(text, units).replace(" degC", " °C")


def _unjudged(found: ExposureBoard) -> Iterator[Row]:
    if found.unjudged:
        yield heading("PROVEN, BUT NOBODY CAN TELL WHETHER THE HEAT IS ENOUGH")
    for each in found.unjudged:
        mark = rows.marks((CANNOT_TELL.word, CANNOT_TELL.tone))
        yield Row(f"tower:{each.tower}", say(f"{each.site} {each.tower}"), say(each.why), mark, CANNOT_TELL)


def _drained(found: ExposureBoard) -> Iterator[Row]:
    if found.drained:
        yield heading("DRAINED")
    for each in found.drained:
        look = DRY if each.proven else NOT_DRY
        mark = rows.marks((look.word, look.tone))
        yield Row(f"tower:{each.tower}", say(f"{each.site} {each.tower}"), say(each.words), mark, look)
