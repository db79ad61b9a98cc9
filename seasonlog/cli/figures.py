"""`seasonlog figures [TOWER]`: is the heat enough, how long does the water last without, what should a meter show."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.calc_frame import number, rounded
from seasonlog.cli.frame import Frame, log_option, shows
from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units

if TYPE_CHECKING:
    from seasonlog.domain.heat_budget import BasinHeat
    from seasonlog.services.figures import CircuitFigures, TowerFigures


@click.command()
@click.argument("tower", required=False)
@number("--outdoor-degf", "T", "One more outdoor temperature to work heat and hours at.")
@log_option
@shows
@click.pass_obj
def figures(
    obj: Frame, tower: str | None, outdoor_degf: float | None, log: str | None, as_json: bool, today: str | None
) -> int:
    """Is the heat enough, hours to freeze, expected amps, wiring: of one tower or all.

    Adequate is yes, no or cannot_tell: the loss of an idle basin is a range, from still water to wind on it.
    """
    from seasonlog.services import figures as service
    from seasonlog.services import registry

    with frame.reading(obj, log) as book:
        day = frame.day_or(today, book)
        if tower is None:
            found = list(service.sweep(book, day, outdoor_degf))
        else:
            found = [service.figures(book, tower, day, outdoor_degf)]
        units = {each.tower: registry.of_known_tower(book.db, each.tower).site_of(each.tower).units for each in found}
    if as_json:
        frame.out_json([rounded(asdict(each)) for each in found])
    elif tower is None:
        frame.table([("TOWER", "BASIN", "ENOUGH", "HEAT", "LOSS", "HEATER OFF"), *_lines(found, units)])
        frame.say(_basin_note(found, units))
    else:
        _words(found[0], service.CAUTION, units[found[0].tower])
    return 0


def _lines(found: "list[TowerFigures]", units: dict[str, str]) -> list[tuple[str, ...]]:
    """One line a basin: at the design temperature, or at the one asked for."""
    lines: list[tuple[str, ...]] = []
    for each in found:
        for heat in each.basins:
            if heat.at:
                at = heat.at[-1] if heat.at[-1].label == "asked for" else heat.at[0]
                has = "?" if heat.kw is None else f"{heat.kw:.3g} kW" if heat.delivered else "no heater"
                degrees = _read(f"{at.outdoor_degf:g} degF", units[each.tower])
                loss = f"{at.loss_low_kw:.3g}-{at.loss_high_kw:.3g} kW at {degrees}"
                lines.append((each.tower, heat.basin, at.adequate, has, loss, _hours(at.off_hours)))
            else:
                lines.append((each.tower, heat.basin, heat.adequate, "", _read(heat.missing, units[each.tower]), ""))
    return lines


def _basin_note(found: "list[TowerFigures]", units: dict[str, str]) -> str:
    drained = sum(each.mode == "drained" for each in found)
    alike = next(iter(units.values())) if len(set(units.values())) == 1 else "us"
    notes = {_read(heat.skin_ice, alike) for each in found for heat in each.basins}
    first = "Bare make-up valves and failed heat trace freeze before any basin: `seasonlog figures TOWER` tells."
    return " ".join([*notes, first, f"Drained: {drained}." if drained else ""]).strip()


def _read(text: str, units: str) -> str:
    """A sentence in the units of the site."""
    return in_units(text, units, IN_PLAIN_LETTERS)


def _hours(hours: tuple[float | None, float | None]) -> str:
    low, high = hours
    if low is None:
        return "never freezes"
    return f"{low:.1f} h or more" if high is None else f"{low:.1f} to {high:.1f} h"


def _words(found: "TowerFigures", caution: str, units: str) -> None:
    if found.mode == "drained":
        frame.out(f"{found.tower} is drained for the winter: no heat is needed")
    for heat in found.basins:
        for line in _basin(heat):
            frame.out(_read(line, units))
    for circuit in found.circuits:
        for line in _circuit(circuit):
            frame.out(_read(line, units))
    frame.out(f"CAUTION: {caution}")


def _basin(heat: "BasinHeat") -> Iterator[str]:
    yield f"{heat.basin}: freezes first: {heat.first_to_freeze}"
    if heat.missing:
        yield f"    heat enough: cannot tell; {heat.missing}"
    for at in heat.at:
        loss = f"loses {at.loss_low_kw:.3g} to {at.loss_high_kw:.3g} kW"
        enough = at.adequate.replace("_", " ")
        yield f"    heat enough at {at.outdoor_degf:g} degF ({at.label}): {enough}; {loss}, {heat.has}"
        yield f"    heater off: {_hours(at.off_hours)} from {at.water_degf:g} degF to 32 degF"
    for each in heat.delivered:
        yield f"    heat from {each.circuit}: {each.says}"
    if heat.at:
        yield f"    {heat.skin_ice}"


def _circuit(circuit: "CircuitFigures") -> Iterator[str]:
    if circuit.expected is not None:
        healthy = circuit.expected
        yield f"{circuit.circuit}: {healthy.says}"
        yield (f"    allowed: {healthy.amps_low:.2f} to {healthy.amps_high:.2f} A; cold "
               f"{healthy.ohms_low:.2f} to {healthy.ohms_high:.2f} ohm")  # fmt: skip
    if circuit.wiring is None:
        yield f"    wiring: {circuit.missing}"
        return
    yield f"    wiring: {circuit.wiring.says} [{circuit.wiring.edition}]"
    for line in (*circuit.wiring.control, *(f"as installed: {fault}" for fault in circuit.wiring.faults)):
        yield f"    {line}"
