"""What a tower's plates and last readings come to: expected values, heat enough or not, hours to freeze, wiring."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from seasonlog.calc.supply import mean_volts
from seasonlog.calc.units import degf_from_degc, within
from seasonlog.domain.answers import number_of
from seasonlog.domain.finding import Finding
from seasonlog.domain.heat_budget import BasinHeat, Measured, basin_heat, volts_at
from seasonlog.domain.register import Basin, Circuit, Register
from seasonlog.domain.season_due import mode_on
from seasonlog.domain.text import visible
from seasonlog.domain.wiring import Expected, Wiring, expected, wiring
from seasonlog.errors import InputRefusedError, Problem, RatingError
from seasonlog.journal import queries
from seasonlog.services import registry
from seasonlog.services.days import day_of
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook

if TYPE_CHECKING:
    from seasonlog.services.board import TowerView

LEAST_OUTDOOR_DEGF, MOST_OUTDOOR_DEGF = -100.0, 60.0
_TEMPERATURE = re.compile(r"([+-]?\d{1,3}(?:\.\d)?)\s*°?\s*([cf]?)", re.ASCII | re.IGNORECASE)
CAUTION = (
    "Figures are not a permit: before any work lock the branch disconnect out and prove dead; live readings are for a "
    "qualified person. Conductors and protection follow the code adopted on site and the authority having jurisdiction."
)
"""Stands wherever these figures could be acted on."""


@dataclass(frozen=True, slots=True)
class CircuitFigures:
    """One heater circuit."""

    circuit: str
    expected: Expected | None
    """At the last measured volts, else at rated ones."""
    wiring: Wiring | None
    missing: str = ""
    """Why something is not there."""


@dataclass(frozen=True, slots=True)
class TowerFigures:
    """One tower."""

    tower: str
    mode: str
    """How it winters."""
    basins: tuple[BasinHeat, ...]
    """None for a tower that is drained."""
    circuits: tuple[CircuitFigures, ...]


def figures(book: Logbook, tower: str, today: date, asked_degf: float | None = None) -> TowerFigures:
    """The figures of one tower.

    Args:
        book: The log.
        tower: Tower id.
        today: Decides how it winters.
        asked_degf: One more outdoor temperature [degF].

    Raises:
        InputRefusedError: no such tower.
        RatingError: the temperature is impossible.
    """
    if asked_degf is not None:
        within(asked_degf, "outdoor air", "degF", LEAST_OUTDOOR_DEGF, MOST_OUTDOOR_DEGF)
    register = registry.of_known_tower(book.db, tower)
    mode = mode_on(register.towers[tower], registry.mode_changes(book.db).get(tower, []), today)
    found = queries.findings(book.db, open_only=True, tower=tower)
    return worked(register, tower, mode, queries.latest_readings(book.db, tower), found, asked_degf)


def of_view(view: "TowerView", asked_degf: float | None = None) -> TowerFigures:
    """The figures of a tower that is on the screen."""
    return worked(view.register, view.tower, view.mode, view.readings, view.findings, asked_degf)


def typed_degf(text: str, units: str) -> float:
    """An outdoor temperature as a person types it, in the unit of the site or with its own: `-5`, `-20 C`.

    Raises:
        InputRefusedError: it is none, or no weather is so cold or so warm.
    """
    found = _TEMPERATURE.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
    if found is None:
        says = f'"{visible(text.strip()[:20])}" is not a temperature; write it as -5 or -20 C'
        raise InputRefusedError([Problem("outdoor", says)])
    number, unit = float(found[1]), found[2].upper() or ("C" if units == "si" else "F")
    degf = degf_from_degc(number) if unit == "C" else number
    if not LEAST_OUTDOOR_DEGF <= degf <= MOST_OUTDOOR_DEGF:
        raise InputRefusedError([Problem("outdoor", f"{number:g} {unit} is no winter air; -100 to 60 degF is taken")])
    return degf


def worked(
    register: Register,
    tower: str,
    mode: str,
    readings: Mapping[tuple[str, str], queries.Reading],
    findings: Sequence[Finding],
    asked_degf: float | None = None,
) -> TowerFigures:
    """As `figures`, from what was already fetched."""
    practice = practice_table().with_site(register.site_of(tower).tighten)
    circuits = register.circuits_of(tower)
    read = {circuit.id: measured(circuit, readings) for circuit in circuits}
    wet = [] if mode == "drained" else list(register.basins_of(tower))
    broken = {basin.id: list(_broken(basin, register, findings)) for basin in wet}
    heat = tuple(
        basin_heat(register, basin, practice, read, asked_degf=asked_degf, broken=broken[basin.id]) for basin in wet
    )
    return TowerFigures(tower, mode, heat, tuple(_circuit(c, register, read[c.id]) for c in circuits))


def measured(circuit: Circuit, readings: Mapping[tuple[str, str], queries.Reading]) -> Measured:
    """What was last read on a heater circuit, from a tower's newest readings."""
    volts, amps = (_newest(quantity, circuit.id, readings) for quantity in ("supply_volts", "line_amps"))
    newest = max((r.wall_ms for r in (volts, amps) if r is not None), default=None)
    words = "" if newest is None else f"on {day_of(newest).isoformat()}"
    return Measured(_numbers(volts), _numbers(amps), words)


def _newest(quantity: str, target: str, readings: Mapping[tuple[str, str], queries.Reading]) -> queries.Reading | None:
    return readings.get((quantity, target)) or readings.get((quantity, ""))


def _numbers(reading: queries.Reading | None) -> tuple[float, ...]:
    if reading is None:
        return ()
    values = (reading.value,) if isinstance(reading.value, str) else reading.value
    numbers = tuple(number_of(value) for value in values)
    return numbers if float("inf") not in numbers else ()


def _broken(basin: Basin, register: Register, findings: Sequence[Finding]) -> Iterator[str]:
    traces = {trace.id: trace.protects for trace in register.traces_of(basin.tower)}
    for finding in findings:
        if finding.target in traces:
            yield f"{traces[finding.target]}, whose heat trace has an open finding ({finding.title.casefold()})"
        elif finding.target == basin.id and "makeup" in finding.step_id:
            yield f"the make-up valve, which has an open finding ({finding.title.casefold()})"


def _circuit(circuit: Circuit, register: Register, read: Measured) -> CircuitFigures:
    practice = practice_table().with_site(register.site_of(circuit.tower).tighten)
    volts = mean_volts(read.volts) if read.volts else volts_at(circuit)
    try:
        return CircuitFigures(circuit.id, expected(circuit, practice, volts), wiring(circuit))
    except RatingError as refused:
        return CircuitFigures(circuit.id, expected(circuit, practice, volts), None, str(refused))


def sweep(book: Logbook, today: date, asked_degf: float | None = None) -> Iterator[TowerFigures]:
    """The figures of every tower, site by site."""
    for site, _, _ in queries.sites(book.db):
        for tower, _ in queries.towers_of(book.db, site):
            yield figures(book, tower, today, asked_degf)
