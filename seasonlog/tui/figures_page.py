"""The figures of a tower as rows: is its heat enough, how long does it last without, what should a meter show."""

from collections.abc import Iterator

from textual.content import Content

from seasonlog.domain.heat_budget import At, BasinHeat
from seasonlog.domain.wiring import Wiring
from seasonlog.services.figures import CAUTION, CircuitFigures, TowerFigures
from seasonlog.tui import rows
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, say
from seasonlog.tui.words import in_units, number, shown_as

ENOUGH = {
    "yes": Look("✓", "ENOUGH", "pass"),
    "no": Look("✗", "NOT ENOUGH", "fail"),
    "cannot_tell": Look("?", "CANNOT TELL", "unsure"),
}
FACT = Look("·", "", "calm")
HOURS = Look("◷", "", "cold")
ASK = Look("►", "", "hot")
FAULT = Look("✗", "AS INSTALLED", "near-fail")
WARNS = Look("!", "", "near-fail")
FIRST = Look("◆", "", "near-fail")
BAR_CELLS = 30


def figures(found: TowerFigures, units: str) -> list[Row]:
    """All figures of a tower.

    Args:
        found: As worked.
        units: Of the site: `us` or `si`.
    """
    shown: list[Row] = []
    if found.mode == "drained":
        shown.append(Row("", Content("Drained for the winter"), Content("No water, so no heat is needed."), look=FACT))
    elif not found.basins:
        shown.append(Row("", Content("No basin on record"), Content("Nothing can be worked out."), look=FACT))
    else:
        shown.append(Row("degf:", Content("Another outdoor temperature"), Content("heat and hours at it"), look=ASK))
    for basin in found.basins:
        shown += [heading(f"HEAT OF {basin.basin}"), *_basin(basin, units)]
    for circuit in found.circuits:
        shown += [heading(f"WIRING OF {circuit.circuit}"), *_circuit(circuit, units)]
    return [*shown, Row("", Content("Caution"), say(CAUTION), look=WARNS)]


def _basin(heat: BasinHeat, units: str) -> Iterator[Row]:
    yield Row("", Content("Freezes first"), say(heat.first_to_freeze), look=FIRST)
    if heat.missing:
        yield Row("", Content("Heat enough?"), say(heat.missing), look=ENOUGH["cannot_tell"])
        return
    for at in heat.at:
        yield _enough(heat, at, units)
    for at in heat.at:
        yield _hours(at, units)
    yield Row("", Content("Skin of ice"), say(in_units(heat.skin_ice, units)), look=FACT)
    for each in heat.delivered:
        yield Row("", say(f"Heat from {each.circuit}"), say(each.says), look=FACT)


def _enough(heat: BasinHeat, at: At, units: str) -> Row:
    look = ENOUGH[at.adequate]
    loses = f"loses {at.loss_low_kw:.3g} to {at.loss_high_kw:.3g} kW, fans and pump off"
    words = [say(f"{loses}; {heat.has}"), *([_bar(at, heat.kw)] if heat.kw is not None else [])]
    title = say(f"At {_degrees(at.outdoor_degf, units)}, {at.label}")
    return Row("", title, Content("\n").join(words), rows.marks((look.word, look.tone)), look)


def _bar(at: At, kw: float) -> Content:
    """The loss as a band from low to high, the heat as a mark: beyond the band it is enough."""
    most = max(at.loss_high_kw, kw) * 1.1 or 1.0
    low, high, mark = (round(value / most * (BAR_CELLS - 1)) for value in (at.loss_low_kw, at.loss_high_kw, kw))
    cells = ["▒" if low <= cell <= high else "─" for cell in range(BAR_CELLS)]
    cells[mark] = "▲"
    tone = ENOUGH[at.adequate].ink
    left, right = "".join(cells[:mark]), "".join(cells[mark + 1 :])
    return Content.assemble((left, "$soft"), ("▲", f"bold {tone}"), (f"{right}\n▒ loss  ▲ heat", "$soft"))


def _hours(at: At, units: str) -> Row:
    off = _span(at.off_hours, "h")
    title = say(f"Heater off at {_degrees(at.outdoor_degf, units)}")
    words = (
        "stays above freezing" if not off else f"{off} from {_degrees(at.water_degf, units)} to {_degrees(32.0, units)}"
    )
    return Row("", title, say(words, "bold $foreground"), look=HOURS)


def _span(hours: tuple[float | None, float | None], unit: str) -> str:
    low, high = hours
    if low is None:
        return ""
    return f"{low:.1f} {unit} or more" if high is None else f"{low:.1f} to {high:.1f} {unit}"


def _degrees(degf: float, units: str) -> str:
    unit, shown = shown_as("degf", units)
    return f"{shown(degf):.0f} {unit}"


def _circuit(found: CircuitFigures, units: str) -> Iterator[Row]:
    healthy = found.expected
    if healthy is not None:
        lines = [
            f"{healthy.line_amps:.2f} A in each line at {number(healthy.volts)} V "
            f"({healthy.amps_low:.2f} to {healthy.amps_high:.2f}), {healthy.kw:.3g} kW",
            f"{healthy.ohms_low:.2f} to {healthy.ohms_high:.2f} Ω cold",
        ]
        yield Row("", Content("A meter should show"), Content("\n").join(say(line) for line in lines), look=FACT)
    if found.wiring is None:
        yield Row("", Content("Wiring"), say(found.missing), look=FAULT)
    else:
        yield from _wiring(found.wiring, units)


def _wiring(wiring: Wiring, units: str) -> Iterator[Row]:
    words = [say(wiring.says), say(wiring.edition, "$soft"), *(say(in_units(line, units)) for line in wiring.control)]
    yield Row("", Content("Wiring should be"), Content("\n").join(words), look=FACT)
    for fault in wiring.faults:
        yield Row("", Content("Installed wiring"), say(fault), rows.marks((FAULT.word, FAULT.tone)), FAULT)
