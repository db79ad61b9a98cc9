"""`seasonlog figures [TOWER]`: is the heat enough, how long does the water last without, what should a meter show."""

from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.calc_frame import number, rounded
from seasonlog.cli.frame import Frame, log_option, shows

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

    with frame.reading(obj, log) as book:
        day = frame.day_or(today, book)
        if tower is None:
            found = list(service.sweep(book, day, outdoor_degf))
        else:
            found = [service.figures(book, tower, day, outdoor_degf)]
    if as_json:
        frame.out_json([rounded(asdict(each)) for each in found])
    elif tower is None:
        frame.table([("TOWER", "BASIN", "ENOUGH", "HEAT", "LOSS", "HEATER OFF"), *_lines(found)])
        frame.say(_basin_note(found))
    else:
        _words(found[0], service.CAUTION)
    return 0


def _lines(found: "list[TowerFigures]") -> list[tuple[str, ...]]:
    """One line a basin: at the design temperature, or at the one asked for."""
    lines: list[tuple[str, ...]] = []
    for each in found:
        for heat in each.basins:
            if heat.at:
                at = heat.at[-1] if heat.at[-1].label == "asked for" else heat.at[0]
                has = "?" if heat.kw is None else f"{heat.kw:.3g} kW"
                loss = f"{at.loss_low_kw:.3g}-{at.loss_high_kw:.3g} kW at {at.outdoor_degf:g} degF"
                lines.append((each.tower, heat.basin, at.adequate, has, loss, _hours(at.off_hours)))
            else:
                lines.append((each.tower, heat.basin, heat.adequate, "", heat.missing, ""))
    return lines


def _basin_note(found: "list[TowerFigures]") -> str:
    drained = sum(each.mode == "drained" for each in found)
    notes = {heat.skin_ice for each in found for heat in each.basins}
    first = "Bare make-up valves and failed heat trace freeze before any basin: `seasonlog figures TOWER` tells."
    return " ".join([*notes, first, f"Drained: {drained}." if drained else ""]).strip()


def _hours(hours: tuple[float | None, float | None]) -> str:
    low, high = hours
    if low is None:
        return "never freezes"
    return f"{low:.1f} h or more" if high is None else f"{low:.1f} to {high:.1f} h"


def _words(found: "TowerFigures", caution: str) -> None:
    if found.mode == "drained":
        frame.out(f"{found.tower} is drained for the winter: no heat is needed")
    for heat in found.basins:
        _basin(heat)
    for circuit in found.circuits:
        _circuit(circuit)
    frame.out(f"CAUTION: {caution}")


def _basin(heat: "BasinHeat") -> None:
    frame.out(f"{heat.basin}: freezes first: {heat.first_to_freeze}")
    if heat.missing:
        frame.out(f"    heat enough: cannot tell; {heat.missing}")
    for at in heat.at:
        loss = f"loses {at.loss_low_kw:.3g} to {at.loss_high_kw:.3g} kW"
        has = "heat not in kW on record" if heat.kw is None else f"{heat.kw:.3g} kW reach it"
        enough = at.adequate.replace("_", " ")
        frame.out(f"    heat enough at {at.outdoor_degf:g} degF ({at.label}): {enough}; {loss}, {has}")
        frame.out(f"    heater off: {_hours(at.off_hours)} from {at.water_degf:g} to 32 degF")
    for each in heat.delivered:
        frame.out(f"    heat from {each.circuit}: {each.says}")
    if heat.at:
        frame.out(f"    {heat.skin_ice}")


def _circuit(circuit: "CircuitFigures") -> None:
    if circuit.expected is not None:
        healthy = circuit.expected
        frame.out(f"{circuit.circuit}: {healthy.says}")
        frame.out(f"    allowed: {healthy.amps_low:.2f} to {healthy.amps_high:.2f} A; cold "
                  f"{healthy.ohms_low:.2f} to {healthy.ohms_high:.2f} ohm")  # fmt: skip
    if circuit.wiring is None:
        frame.out(f"    wiring: {circuit.missing}")
        return
    frame.out(f"    wiring: {circuit.wiring.says} [{circuit.wiring.edition}]")
    for line in (*circuit.wiring.control, *(f"as installed: {fault}" for fault in circuit.wiring.faults)):
        frame.out(f"    {line}")
