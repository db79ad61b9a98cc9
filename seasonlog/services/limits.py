"""Limits for this tower: the context a reading is judged in, and the bands as they stand before anything is read."""

import sqlite3
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache

from seasonlog import resources
from seasonlog.domain import limit_inputs
from seasonlog.domain.answers import number_of
from seasonlog.domain.checklist import MEASURED, Checklist, StepInstance, applicable
from seasonlog.domain.judging import Judgement, mean_volts
from seasonlog.domain.limits import Limit, LimitContext, Verdict, limit_for
from seasonlog.domain.practice import PracticeTable, parse_practice
from seasonlog.domain.register import Register
from seasonlog.domain.register_records import Basin, Circuit, Instrument
from seasonlog.domain.visit import Progress, Saved
from seasonlog.errors import InputRefusedError
from seasonlog.journal.audit_queries import Before, read_before
from seasonlog.services.days import epoch_ms

SUPPLY_VOLTS = "supply_volts"
"""The step whose reading corrects the limits of a heater's amps."""
COMPARED = frozenset({"insulation_mohm"})
"""Quantities whose limit depends on what was read in an earlier visit."""
_BY_EARLIER = (Verdict.NEAR_PASS, Verdict.NEAR_FAIL)
"""Verdicts that the earlier reading has a part in: what is good or bad by itself is so whatever was read before."""


@lru_cache(maxsize=1)
def practice_table() -> PracticeTable:
    """The table of common-practice constants that comes with the program."""
    file = resources.checklists() / "practice" / "limits.toml"
    table, problems = parse_practice(
        tomllib.loads(file.read_text("utf-8"), parse_float=Decimal), "practice/limits.toml"
    )
    if table is None:
        raise InputRefusedError(problems)
    return table


@dataclass(frozen=True, slots=True)
class TowerLimit:
    """A band of one tower, and what it is about."""

    target: str
    """Circuit, basin or trace, or empty for the tower."""
    step: str
    """Step of the fall enable that reads it."""
    limit: Limit


def context_for(at: Progress, instance: StepInstance, on: date) -> LimitContext:
    """What a step of a visit is judged by: its circuit or basin, the volts and instruments of this visit."""
    register = at.register
    instruments = {k: register.instruments[i] for k, i in at.visit.instruments.items() if i in register.instruments}
    answers = _answers_near(at, instance)
    bare = bare_context(register, at.visit.tower, instance, on, instruments)
    circuit = bare.circuit.id if bare.circuit else ""
    return replace(bare, measured_volts=_volts(at, circuit), answers=answers)


def judged_in(db: sqlite3.Connection, at: Progress, instance: StepInstance, on: date) -> LimitContext:
    """What a step is judged by, with what was read of the same equipment before this visit."""
    context, before = context_for(at, instance, on), _before(db, at, instance)
    return replace(context, before={instance.step.quantity: number_of(before.body["value"])}) if before else context


def rests_on(
    db: sqlite3.Connection, at: Progress, instance: StepInstance, judgement: Judgement
) -> Sequence[Mapping[str, str]]:
    """The readings that a judgement's limit was worked from: of this visit, and an earlier one that it hangs on."""
    before = _before(db, at, instance) if judgement.verdict in _BY_EARLIER else None
    earlier = [limit_inputs.record(before.visit, before.uid, before.day, before.body)] if before else []
    return [*limit_inputs.inputs_of(at, instance, judgement), *(each for each in earlier if each["instrument"])]


def _before(db: sqlite3.Connection, at: Progress, instance: StepInstance) -> Before | None:
    """What was read last of the heater that is in place now, for the quantities that are held against it."""
    name, target = instance.step.quantity, instance.target or ""
    if name not in COMPARED:
        return None
    before = read_before(db, at.visit.tower, name, target, at.visit.started_wall_ms)
    return before if before and before.wall_ms >= _fitted_ms(at.register, instance) else None


def _fitted_ms(register: Register, instance: StepInstance) -> int:
    """When the heater now in place was fitted; what was read before is another heater's."""
    fitted = [d.installed for d in register.devices_at("heater", instance.target or "") if d.installed is not None]
    return epoch_ms(max(fitted)) if fitted else 0


def bare_context(
    register: Register, tower: str, instance: StepInstance, on: date, instruments: Mapping[str, Instrument]
) -> LimitContext:
    """The context before anything was read."""
    circuit = circuit_of(register, tower, instance)
    return LimitContext(
        register=register,
        tower=register.towers[tower],
        circuit=circuit,
        basin=_basin(register, tower, instance, circuit),
        trace=register.traces.get(instance.target or ""),
        on=on,
        measured_volts=None,
        instruments=instruments,
        practice=practice_table().with_site(register.site_of(tower).tighten),
        answers={},
    )


def circuit_of(register: Register, tower: str, instance: StepInstance) -> Circuit | None:
    """The heater circuit a step is about: its target, or the only one of the tower or basin."""
    if instance.target_type == "circuit":
        return register.circuits.get(instance.target or "")
    circuits = register.circuits_of(tower)
    if instance.target_type == "basin":
        circuits = tuple(c for c in circuits if c.basin == instance.target)
    return circuits[0] if len(circuits) == 1 else None


def _basin(register: Register, tower: str, instance: StepInstance, circuit: Circuit | None) -> Basin | None:
    if instance.target_type == "basin":
        return register.basins.get(instance.target or "")
    if circuit is not None:
        return register.basins.get(circuit.basin)
    basins = register.basins_of(tower)
    return basins[0] if len(basins) == 1 else None


def _answers_near(at: Progress, instance: StepInstance) -> dict[str, str]:
    """Answers by step id: those about the same target where there are several."""
    out: dict[str, str] = {}
    for saved in sorted(
        (s for s in at.answers.values() if not s.is_skipped), key=lambda s: s.target == instance.target
    ):
        if not saved.target or not instance.target or saved.target == instance.target or saved.step == saved.step_id:
            out[saved.step_id] = _joined(saved)
    return out


def _joined(saved: Saved) -> str:
    return saved.value if isinstance(saved.value, str) else "/".join(saved.value)


def _volts(at: Progress, circuit: str) -> float | None:
    for key in (f"{SUPPLY_VOLTS}@{circuit}", SUPPLY_VOLTS):
        saved = at.answers.get(key)
        if saved is not None and not saved.is_skipped and saved.target in ("", circuit):
            return mean_volts(saved.value)
    return None


def limits_of(
    register: Register, tower: str, checklist: Checklist, on: date, volts: float | None = None
) -> tuple[TowerLimit, ...]:
    """Every band that a checklist would judge this tower by, at rated volts or the volts given.

    Args:
        register: The tower's part of the register.
        tower: Tower id.
        checklist: Usually the fall enable.
        on: The day, for calibration.
        volts: Measured volts, V; the heater's rated volts when None.
    """
    return tuple(_limits(register, tower, applicable(checklist, register, tower), on, volts))


def _limits(
    register: Register, tower: str, instances: Sequence[StepInstance], on: date, volts: float | None
) -> Iterator[TowerLimit]:
    seen: set[tuple[str, str]] = set()
    for instance in instances:
        step, target = instance.step, instance.target or ""
        if step.kind not in MEASURED or not step.quantity or (step.quantity, target) in seen:
            continue
        seen.add((step.quantity, target))
        context = bare_context(register, tower, instance, on, {})
        rated = float(context.circuit.volts) if context.circuit else None
        supposed = replace(context, measured_volts=volts or rated, assumed_volts=volts is None)
        yield TowerLimit(target, step.id, limit_for(step.quantity, supposed))
