"""Trends as list rows: what a quantity does over the years, which device a run belongs to, what must be looked at."""

from textual.content import Content

from seasonlog.domain.trend import Drift, Run, Trend
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import Look, counted, say
from seasonlog.tui.words import in_units, unit_words

LOOK = Look("!", "LOOK AT IT", "near-fail")
DRIFTS = {
    Drift.RISING: Look("↗", "RISES", "hot"),
    Drift.FALLING: Look("↘", "FALLS", "hot"),
    Drift.STEADY: Look("→", "STEADY", "pass"),
    Drift.TOO_FEW: Look("·", "TOO FEW", "calm"),
}


def series(found: Trend) -> Row:
    """One series in a list."""
    last = found.runs[-1] if found.runs else None
    look = LOOK if found.matters else DRIFTS[last.drift] if last else DRIFTS[Drift.TOO_FEW]
    place = f"  {found.target}" if found.target else ""
    words = _short(last, found.unit) if last else "no reading"
    mark = (Content.styled(look.word, f"bold {look.ink}"),)
    return Row(f"trend:{found.quantity}:{found.target}", say(found.says) + say(place, "$soft"), say(words), mark, look)


def _short(run: Run, unit: str) -> str:
    """Slope first, since that is what is looked for.

    Args:
        run: Of the trend as read on the site.
        unit: That of its slope.
    """
    count = counted(run.readings, "reading")
    if run.per_year is None or run.p_value is None:
        return f"{count}, too few to tell"
    return f"{run.per_year:+.3g} {unit_words(unit)} a year, {count} since {run.first}"


def title(found: Trend) -> Content:
    """What stands above the plot."""
    unit = unit_words(found.unit)
    what = say(f"{found.says} [{unit}]" if unit else found.says, "bold")
    marks = "  ─ limit  │ new device" if found.marks else "  ─ limit"
    return what + Content.styled(marks, "$soft")


def told(found: Trend) -> Content:
    """What stands below it: each device's run, and what must be looked at."""
    lines = [say(f"! {in_units(words, found.units)}", f"bold {LOOK.ink}") for words in found.concerns]
    lines += [say(f"{mark.on} {mark.device}: {mark.says}", "$soft") for mark in found.marks]
    lines += [_run(run, found.units) for run in found.runs if not (run.matters and run.says in found.concerns)]
    over = sum(not all(value < float("inf") for value in point.values) for point in found.points)
    lines += [say(f"{counted(over, 'reading')} over range, not drawn", "$soft")] if over else []
    return Content("\n").join(lines)


def _run(run: Run, units: str) -> Content:
    device = f"{run.device}: " if run.device else ""
    return Content.styled(f"{DRIFTS[run.drift].symbol} ", "bold") + say(device + in_units(run.says, units))
