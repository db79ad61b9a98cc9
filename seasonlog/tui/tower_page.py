"""What is said about a tower: its state, its plate, its limits with their basis, the last readings, its past."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.domain.due_state import DueState
from seasonlog.domain.fields import Spec
from seasonlog.domain.judging import band_words
from seasonlog.domain.limits import QUANTITIES, Limit, Verdict
from seasonlog.domain.register_records import SPECS, Record, word_of
from seasonlog.domain.season_due import DueItem, DueKey, due_words
from seasonlog.domain.visit import VisitState
from seasonlog.tui import rows
from seasonlog.tui.fault_offer import offer
from seasonlog.tui.widgets.row import NOTHING, Row, heading
from seasonlog.tui.wording import (
    DUE_STATES,
    PROTECTIONS,
    VERDICTS,
    Look,
    plain,
    say,
    say_lines,
)
from seasonlog.tui.words import (
    as_recorded,
    basis_in_units,
    difference_as,
    in_units,
    joined,
    number,
    shown_as,
    unit_words,
)

if TYPE_CHECKING:
    from seasonlog.journal.queries import Reading
    from seasonlog.services.board import TowerView

DRIFT = Look("!", "LOOK AT IT", "near-fail")
START = Look("+", "START", "hot")
FACT = Look("·", "", "calm")
COMING = (DueState.OVERDUE, DueState.OPEN, DueState.UPCOMING)
LABEL_CELLS = 20
MOST_REASONS = 6


def state(view: "TowerView", today: date, when: rows.When, claimed: Mapping[DueKey, str]) -> list[Row]:
    """Proven or not and why, what to do now, what is wrong, what is due and who has claimed it."""
    look = PROTECTIONS[view.coverage.protection]
    units = view.register.site_of(view.tower).units
    shown = [in_units(r, units).replace("_", " ") for r in view.coverage.reasons[:MOST_REASONS]]
    more = len(view.coverage.reasons) - len(shown)
    reasons = Content("\n").join([say(r) for r in [*shown, *([f"and {more} more"] if more else [])]])
    found = [Row("", Content(look.word), reasons, look=look)]
    found += _to_do(view, today, when)
    if view.findings:
        found += [heading("FINDINGS"), *(rows.finding(f, today) for f in view.findings)]
    if view.concerns:
        found += [heading("TRENDS"), *(_concern(in_units(words, units), view.tower) for words in view.concerns)]
    coming = list({i.checklist: i for i in reversed(view.due) if i.state in COMING}.values())[::-1]
    if coming:
        found += [heading("DUE"), *(_due(i, today, claimed.get(i.key, "")) for i in coming)]
    return [*found, heading("THIS TOWER"), *_facts(view)]


def _concern(words: str, tower: str) -> Row:
    """What the years tell; opening it shows the trends."""
    what, _, rest = words.partition(": ")
    return Row(f"trends:{tower}", say(what), say(rest), look=DRIFT)


def _to_do(view: "TowerView", today: date, when: rows.When) -> Iterator[Row]:
    for visit in view.visits:
        if visit.state is VisitState.OPEN:
            begun = say(f"started {when(visit.started_wall_ms)} by {visit.who}")
            yield Row(f"visit:{visit.id}", say(f"Go on with {plain(visit.checklist)}"), begun, look=rows.RESUME)
    due = next((i for i in view.due if i.state in (DueState.OVERDUE, DueState.OPEN)), None)
    words = f"{plain(due.checklist)} is {due_words(due, today)}" if due else "nothing is due just now"
    yield Row("start:", Content("Start a visit"), say(words), look=START)
    yield from (offer(circuit.id) for circuit in view.register.circuits_of(view.tower))
    yield Row("note:", Content("Leave a note"), Content("for whoever comes next"), look=rows.NOTE)


def _due(item: DueItem, today: date, claimed: str) -> Row:
    look = DUE_STATES[item.state]
    words = say(due_words(item, today) + (f"; {item.why}" if item.why else ""))
    words = Content("\n").join([words, say(claimed, "$tone-cold")]) if claimed else words
    return Row(f"due:{item.checklist}", say(plain(item.checklist)), words, rows.marks((look.word, look.tone)), look)


def _facts(view: "TowerView") -> Iterator[Row]:
    tower = view.register.towers[view.tower]
    site = view.register.site_of(view.tower)
    yield Row(f"site:{site.id}", say(site.name), Content("the site, its access and its other towers"), look=FACT)
    yield Row("", say(f"Winters as: {plain(view.mode)}"), say(tower.note or ""), look=FACT)


def limits(view: "TowerView") -> list[Row]:
    """Every computed band with its basis in words; at rated volts until volts are measured."""
    found: list[Row] = []
    units = view.register.site_of(view.tower).units
    for target, ours in _by_target(view):
        found.append(heading(target or view.tower))
        found += [_limit(limit, units) for limit in ours]
    return found or [Row("", Content("No limits"), Content("Nothing on this tower is judged by a computed limit."))]


def _by_target(view: "TowerView") -> Iterator[tuple[str, list[Limit]]]:
    targets = dict.fromkeys(each.target for each in view.limits)
    for target in targets:
        yield target, [each.limit for each in view.limits if each.target == target]


def _limit(limit: Limit, units: str) -> Row:
    name = say(_quantity(limit.quantity))
    basis = [say(basis_in_units(limit.basis, limit.unit, units)), say(as_recorded(f"from: {limit.source}"))]
    if limit.missing:
        unsure = VERDICTS[Verdict.CANNOT_TELL]
        return Row(
            "",
            name,
            Content("\n").join([say(in_units(limit.missing, units)), *basis]),
            rows.marks(("cannot tell", "unsure")),
            unsure,
        )
    shown = say(in_units(band_words(limit), units).removeprefix("limit "), "bold $foreground")
    return Row("", name, Content("\n").join([shown, *basis]), look=FACT)


def _quantity(name: str) -> str:
    found = QUANTITIES.get(name)
    return found.says if found else plain(name)


def readings(view: "TowerView", when: rows.When) -> list[Row]:
    """The newest reading of each quantity, newest first; opening one shows its trend."""
    newest = sorted(view.readings.items(), key=lambda pair: -pair[1].wall_ms)
    units = view.register.site_of(view.tower).units
    found = [_reading(quantity, reading, when, units) for (quantity, _), reading in newest]
    return found or [Row("", Content("No readings yet"), Content("They appear here after the first visit."))]


def _reading(quantity: str, reading: "Reading", when: rows.When, units: str) -> Row:
    look = VERDICTS[Verdict(reading.verdict)]
    unit = QUANTITIES[quantity].unit if quantity in QUANTITIES else ""
    sign = unit if unit == "degf" else unit_words(unit)  # degF are read by the sentence they stand in
    value = say(in_units(f"{joined(reading.value)} {sign}", units), "bold $foreground")
    band = _band(reading.low, reading.high)
    words = value + (say(in_units(f"   limit {band} {sign}", units)) if band else NOTHING)
    where = f"{reading.target} · " if reading.target else ""
    words = Content("\n").join([words, say(f"{where}{when(reading.wall_ms)}")])
    key = f"trend:{quantity}:{reading.target}"
    return Row(key, say(_quantity(quantity)), words, rows.marks((look.word, look.tone)), look)


def _band(low: str | None, high: str | None) -> str:
    if low is None:
        return "" if high is None else f"up to {number(float(high))}"
    return f"from {number(float(low))}" if high is None else f"{number(float(low))} to {number(float(high))}"


def plates(view: "TowerView") -> Content:
    """All that the register holds about the tower, part by part; what is not on record is named, never guessed."""
    register, tower = view.register, view.tower
    metric = register.site_of(tower).units == "si"
    parts: Iterable[Record] = [
        register.towers[tower],
        *register.circuits_of(tower),
        *register.basins_of(tower),
        *register.traces_of(tower),
        *register.sources_of(tower),
    ]
    return Content("\n\n").join([_plate(part, metric=metric) for part in parts])


def _plate(record: Record, *, metric: bool) -> Content:
    lines = [Content.styled(f"{plain(word_of(record)).upper()} ", "bold $soft") + say(record.id, "bold $tone-hot")]
    absent = []
    for name, spec in SPECS[word_of(record)].items():
        value = getattr(record, name)
        if name in ("id", "tower", "site"):
            continue
        label = _label(name, spec.unit)
        if value is None:
            absent.append(label)
        else:
            lines.append(
                Content.styled(f"{label:<{LABEL_CELLS}} ", "$soft") + say_lines(_value(value, spec, metric=metric))
            )
    if absent:
        lines.append(Content.styled(f"not on record: {', '.join(absent)}", "$tone-near-fail"))
    return Content("\n").join(lines)


def _label(name: str, unit: str) -> str:
    ending = f"_{unit.casefold()}"
    return plain(name.removesuffix(ending) if unit else name)


def _value(value: object, spec: Spec, *, metric: bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        text = f"{value:f} {unit_words(spec.unit)}".strip()
        if not metric or spec.unit != "degf":
            return text
        sign, convert = difference_as(spec.unit, "si") if spec.difference else shown_as(spec.unit, "si")
        return in_units(f"{text} ({number(convert(float(value)))} {sign})", "si")
    return plain(value) if isinstance(value, str) and value.isidentifier() else str(value)


def past(view: "TowerView", when: rows.When) -> list[Row]:
    """Notes, then visits, newest first."""
    found = [heading("NOTES"), *(rows.note(n, when) for n in view.notes)] if view.notes else []
    found += [heading("VISITS"), *(rows.visit(v, plain(v.checklist), when) for v in view.visits)] if view.visits else []
    return found or [Row("", Content("Nothing yet"), Content("No visit and no note in the record."))]
