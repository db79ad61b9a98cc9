"""Contexts for limits: a plain heater with good instruments, and every place of the sample sites."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from seasonlog.domain.limits import LimitContext
from seasonlog.domain.register import Circuit, Instrument, Register
from seasonlog.services.limits import practice_table
from tests.builders import INSTRUMENTS, sample_register
from tests.domain.register_samples import made

ON = date(2026, 9, 15)
FINE: Mapping[str, Any] = {"percent": "2", "counts": "5", "resolution": "0.01", "unit": "A"}
COARSE = FINE | {"resolution": "0.1"}
VOLTS = {"percent": "1", "counts": "2", "resolution": "1", "unit": "V"}


def instrument(kind: str, **fields: Any) -> Instrument:
    """An instrument in calibration."""
    found = made("instrument", id=f"{kind}-1", kind=kind, **({"calibration_due": date(2027, 1, 1)} | fields))
    assert isinstance(found, Instrument)
    return found


CLAMP, COARSE_CLAMP = instrument("clamp", **FINE), instrument("clamp", **COARSE)
VOLTMETER = instrument("voltmeter", **VOLTS)
PLAIN = {
    "kw": "18", "volts": "480", "phases": "3", "supply_volts": "480", "control_volts": "120", "poles_switched": "3",
    "control_grounded_leg": "x2", "float_leg": "neutral", "dial_degf": "48", "differential_degf": "8",
    "mark": "cut_out",
}  # fmt: skip


def heater(
    measured: float | None = 480.0, /, *, basin: Mapping[str, Any] | None = None, **circuit: Any
) -> LimitContext:
    """18 kW, 480 V, three-phase, in a basin with a float, read with a fine clamp; values changed by name."""
    about = (made("site"), made("tower"), made("basin", **(basin or {})), made("circuit", **(PLAIN | circuit)))
    register = Register.of((*about, made("trace")))
    return LimitContext(
        register=register,
        tower=register.towers["N-1"],
        circuit=register.circuits["N-1-H"],
        basin=register.basins["N-1-B"],
        trace=register.traces["N-1-T"],
        on=ON,
        measured_volts=measured,
        instruments={"clamp": CLAMP, "voltmeter": VOLTMETER},
        practice=practice_table(),
        answers={},
    )


def using(context: LimitContext, *instruments: Instrument) -> LimitContext:
    """The context with these instruments in the place of its own."""
    return replace(context, instruments={each.kind: each for each in instruments})


def tightened(context: LimitContext, **constants: str) -> LimitContext:
    """The context at a site that holds constants tighter."""
    own = {name: Decimal(value) for name, value in constants.items()}
    return replace(context, practice=context.practice.with_site(own))


def everywhere() -> Iterator[tuple[str, LimitContext]]:
    """Every tower of the sample sites, bare and with each of its circuits, basins and heat traces."""
    register = sample_register()
    instruments = {kind: register.instruments[ident] for kind, ident in INSTRUMENTS.items()}
    for tower in register.towers.values():
        practice = practice_table().with_site(register.site_of(tower.id).tighten)
        bare = LimitContext(register, tower, None, None, None, ON, None, instruments, practice, {})
        yield tower.id, bare
        for circuit in register.circuits_of(tower.id):
            yield circuit.id, _at(bare, circuit)
        for basin in register.basins_of(tower.id):
            yield basin.id, replace(bare, basin=basin)
        for trace in register.traces_of(tower.id):
            yield trace.id, replace(bare, trace=trace, answers={"trace_volts": str(trace.volts)})


def _at(bare: LimitContext, circuit: Circuit) -> LimitContext:
    answers = {"cut_in_degf": "40", "electrode_plate_volts": "24", "full_output_proven": "yes"}
    basin = bare.register.basins[circuit.basin]
    volts = float(circuit.supply_volts or circuit.volts)
    return replace(bare, circuit=circuit, basin=basin, measured_volts=volts, answers=answers)
