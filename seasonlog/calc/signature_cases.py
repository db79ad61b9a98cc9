"""What can be wrong with a heater, each as a network: which elements are whole, how far the rest may stray.

A case is a guess with a name. Its elements carry a span: how many times its healthy conductance an element may have.
Nothing here knows a reading; `signature_fit` holds each case against the readings.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from seasonlog.calc.network import LINES, PAIRS, STAR
from seasonlog.calc.units import SQRT3

Span: TypeAlias = tuple[float, float]

WHOLE: Span = (1.0, 1.0)
SHORTED: Span = (1.28, 25.0)
"""Turns shorted: less than a fifth gone lies inside the tolerance of three elements and cannot be told from it."""
NOMINAL_VOLTS = (120, 208, 220, 230, 240, 277, 346, 380, 400, 415, 440, 460, 480, 500, 575, 600, 690)
"""Nominal volts that a heater may have been joined to by mistake. Source: ANSI C84.1, IEC 60038 (from memory)."""

WEIGHTS = {
    "healthy": 1.0, "line_open": 0.95, "element_open": 0.9, "wrong_voltage": 0.9, "one_heater_dead": 0.85,
    "parallel_element_open": 0.75, "two_elements_open": 0.6, "reconnected": 0.7, "turns_shorted": 0.45,
    "ground_fault": 0.4,
}  # fmt: skip
"""How much a cause that fits is worth. Fuses, poles and lugs fail oftener than elements; a cause with a quantity of its
own bends to many readings and is worth less. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Element:
    """One element between two nodes."""

    one: str
    other: str
    siemens: float
    """When healthy [S]."""
    span: Span = WHOLE
    """Its conductance as a multiple of that; (0, 0) is open."""


@dataclass(frozen=True, slots=True)
class Load:
    """What hangs on the contactor: the plate, and what is known of the inside."""

    power_kw: float
    volts: float
    phases: int
    connection: str
    """`wye`, `delta` or `unknown`."""
    heaters: int | None
    """Heaters on the contactor; None where nobody said."""

    @property
    def amps(self) -> float:
        """Line amps at rated volts [A]."""
        return 1000.0 * self.power_kw / self.volts / (SQRT3 if self.phases == 3 else 1.0)


@dataclass(frozen=True, slots=True)
class Case:
    """One cause at one place."""

    cause: str
    where: str
    elements: tuple[Element, ...]
    weight: float
    detail: str = ""
    """What the sentence adds: `1 of 2 parallel elements`."""
    open_lines: tuple[str, ...] = ()
    tapped: int | None = None
    """The element that touches ground somewhere along its length."""
    supply_volts: float | None = None
    """Supply that the case assumes instead of the measured one."""


def has_quantity(case: Case) -> bool:
    """Whether something in the case is sought: how much is shorted, where it touches ground."""
    return case.tapped is not None or any(low != high for low, high in (each.span for each in case.elements))


def cases(load: Load) -> Iterator[Case]:
    """Every case of a load, healthy first."""
    kinds = ("wye", "delta") if load.connection == "unknown" else (load.connection,)
    for kind in kinds if load.phases == 3 else ("one",):
        yield from _of_one_kind(load, kind)


def _of_one_kind(load: Load, kind: str) -> Iterator[Case]:
    whole = legs(load, kind)
    yield _case("healthy", "", whole)
    yield from _lines(whole, load.phases)
    for volts in NOMINAL_VOLTS:
        if abs(volts / load.volts - 1.0) > 0.06:
            yield replace(_case("wrong_voltage", f"{volts} V", whole), supply_volts=float(volts))
    yield from _rejoined(whole, kind, "")
    yield from _of_one_heater(load, kind)


def legs(load: Load, kind: str, share: float = 1.0, mark: str = "") -> tuple[Element, ...]:
    """The elements of a heater: `wye`, `delta`, `neutral` (a wye with its star brought out) or `one` phase.

    Args:
        load: Whose plate.
        kind: How they are joined.
        share: Of the load's power in these elements.
        mark: Tells the star of one heater from that of another.
    """
    siemens = share * 1000.0 * load.power_kw / load.volts**2
    if kind == "delta":
        return tuple(Element(one, other, siemens / 3.0) for one, other in PAIRS)
    if kind == "one":
        return (Element("A", "B", siemens),)
    star = STAR if kind == "neutral" else f"N{mark}"
    return tuple(Element(line, star, siemens) for line in LINES)


def _case(cause: str, where: str, elements: Sequence[Element], detail: str = "", worth: float = 1.0) -> Case:
    return Case(cause, where, tuple(elements), worth * WEIGHTS[cause], detail)


def _lines(whole: Sequence[Element], phases: int) -> Iterator[Case]:
    dead = "no line carries current: contactor not in, breaker off, or more than one line open"
    if phases == 1:
        yield replace(_case("line_open", "A", whole), open_lines=("A",))
        return
    for line in LINES:
        yield replace(_case("line_open", line, whole), open_lines=(line,))
    yield replace(_case("line_open", "A, B, C", whole, dead), open_lines=LINES)


def _rejoined(elements: Sequence[Element], kind: str, whose: str) -> Iterator[Case]:
    for times, says in _OTHER_WAY[kind]:
        changed = [replace(each, span=(times, times)) for each in elements]
        yield _case("reconnected", whose, changed, says)


_OTHER_WAY = {
    "wye": ((3.0, "parts meant for wye are joined in delta: three times the amps and the power"),),
    "delta": ((1 / 3, "parts meant for delta are joined in wye: a third of the amps and of the power"),),
    "one": (
        (4.0, "halves meant in series are joined in parallel: four times the amps and the power"),
        (0.25, "halves meant in parallel are joined in series: a quarter of the amps and of the power"),
    ),
}


def _of_one_heater(load: Load, kind: str) -> Iterator[Case]:
    """Faults inside one heater, alone on the contactor or beside others that are whole."""
    for count, worth in _counts(load.heaters):
        rest = legs(load, kind, (count - 1) / count, "rest") if count > 1 else ()
        own = legs(load, kind, 1 / count, "own")
        beside = f"one heater of {count}" if count > 1 else ""
        for case in _inside(load, kind, own, count):
            if load.heaters is None and count > 1 and has_quantity(case):
                continue  # a quantity to seek and a heater nobody told of: that would explain almost anything
            detail = "; ".join(word for word in (beside, case.detail) if word)
            weight, tapped = case.weight * worth, case.tapped
            yield replace(case, elements=(*case.elements, *rest), weight=weight, detail=detail, tapped=tapped)
        for dead in range(1, count):
            left = legs(load, kind, (count - dead) / count)
            yield _case("one_heater_dead", f"{dead} of {count}", left, "", worth)


def _counts(heaters: int | None) -> tuple[tuple[int, float], ...]:
    """How many heaters to think of, and what the thought is worth."""
    return ((1, 1.0), (2, 0.7), (3, 0.5)) if heaters is None else ((heaters, 1.0),)


def _inside(load: Load, kind: str, own: Sequence[Element], count: int) -> Iterator[Case]:
    yield from _open_elements(own, kind)
    for at, element in enumerate(own):
        for parts in (2, 3):
            left = 1.0 - 1.0 / parts
            detail = f"1 of {parts} parallel elements of this leg"
            changed = _with(own, {at: (left, left)})
            yield _case("parallel_element_open", name(element), changed, detail, 1.0 if parts == 2 else 0.9)
        yield _case("turns_shorted", name(element), _with(own, {at: SHORTED}))
        if kind != "one":
            yield replace(_case("ground_fault", name(element), own), tapped=at)
    if count > 1:
        yield from _lead_open(own, kind)
        yield from _rejoined(own, kind, f"1 of {count}")
    if kind == "wye":
        yield from _star_brought_out(legs(load, "neutral", 1 / count))


def _open_elements(own: Sequence[Element], kind: str) -> Iterator[Case]:
    for at, element in enumerate(own):
        yield _case("element_open", name(element), _with(own, {at: (0.0, 0.0)}))
        others = {n: (0.0, 0.0) for n in range(len(own)) if n != at}
        if others:
            where = ", ".join(name(own[n]) for n in others)
            yield _case("two_elements_open", where, _with(own, others))
    if kind == "delta":
        for at, element in enumerate(own):
            for line in LINES:
                opened = _case("line_open", line, _with(own, {at: (0.0, 0.0)}), worth=0.35)
                yield replace(opened, open_lines=(line,), detail=f"and element {name(element)} as well")


def _lead_open(own: Sequence[Element], kind: str) -> Iterator[Case]:
    """One heater's own lead is open; the line goes on to the others."""
    for line in LINES if kind != "one" else ("A",):
        moved = [_at_lead(element, line) for element in own]
        yield _case("line_open", line, moved, "lead of this heater alone", 0.9)


def _at_lead(element: Element, line: str) -> Element:
    one, other = (f"{node}lead" if node == line else node for node in (element.one, element.other))
    return replace(element, one=one, other=other)


def _star_brought_out(own: Sequence[Element]) -> Iterator[Case]:
    """A wye whose star goes to the neutral: the lines no longer feel each other."""
    for at, line in enumerate(LINES):
        detail = "with the star point on the neutral, which then carries this line's share"
        lone = _with(own, {at: (0.0, 0.0)})
        yield _case("line_open", line, lone, detail, 0.72)
        yield _case("element_open", line, lone, detail, 0.7)


def _with(own: Sequence[Element], spans: dict[int, Span]) -> list[Element]:
    return [replace(each, span=spans.get(at, each.span)) for at, each in enumerate(own)]


def name(element: Element) -> str:
    """An element as people call it: `A` of a wye, `A-B` of a delta."""
    return element.one if element.other not in LINES else f"{element.one}-{element.other}"
