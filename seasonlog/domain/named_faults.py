"""What is wrong with a heater, named from the amps of a visit, its volts and its ohms where they were read."""

from collections.abc import Sequence

from seasonlog.calc.signature import Meters, Readings, signature
from seasonlog.calc.signature_cases import Load
from seasonlog.calc.signature_words import UNSURE, Cause
from seasonlog.domain.answers import OVER_RANGE, number_of
from seasonlog.domain.limit import LimitContext
from seasonlog.domain.limit_facts import MissingFactError, answered, reader
from seasonlog.domain.limits_heater import is_chopped, tolerance
from seasonlog.domain.register import Circuit
from seasonlog.domain.severity import Severity
from seasonlog.errors import RatingError

MOST_IN_WORDS = 2
"""How many causes a sentence names; the others are listed beside it."""


def named_causes(amps: Sequence[float], context: LimitContext) -> tuple[Cause, ...]:
    """Causes that would explain the amps of a heater, best first; none where amps are no guide.

    Args:
        amps: Of each line, heater on [A].
        context: The circuit, and what was answered in this visit.
    """
    circuit = context.circuit
    if circuit is None or is_chopped(context, circuit) or float("inf") in amps:
        return ()
    try:
        found = signature(
            load_of(circuit), _readings(amps, context, circuit), _meters(context), tolerance(context.practice)
        )
    except (RatingError, MissingFactError):
        return ()
    return tuple(cause for cause in found.causes if cause.cause != "healthy")


def causes_words(causes: Sequence[Cause]) -> str:
    """`looks like line open A or element open A`; of causes that fit badly: `cannot tell; may be ...`."""
    known = [cause for cause in causes if cause.cause != "cannot_tell"]
    if not known:
        return causes[0].says if causes else ""
    names = " or ".join(f"{c.cause.replace('_', ' ')} {c.where}".strip() for c in known[:MOST_IN_WORDS])
    if known[0].fit < UNSURE:
        return f"cannot tell what it is: may be {names}, or a poor joint or uneven supply"
    return f"looks like {names}{' (and others)' if len(known) > MOST_IN_WORDS else ''}"


def graver(causes: Sequence[Cause], severity: str, unprotected: str) -> tuple[str, str]:
    """Severity and tonight's words of a finding, as its first cause has them where that is worse than missing heat."""
    return _GRAVER.get(causes[0].cause, (severity, unprotected)) if causes else (severity, unprotected)


_GRAVER = {
    "ground_fault": (
        str(Severity.SHOCK_RISK),
        "Current may return through ground: lock the heater off until its insulation is tested; drain, circulate or "
        "bring other heat.",
    ),
}
"""Causes that are worse than heat that is missing."""


def cause_record(cause: Cause) -> dict[str, str]:
    """A cause as an entry keeps it."""
    return {
        "cause": cause.cause, "where": cause.where, "fit": f"{cause.fit:.3f}", "says": cause.says,
        "next_test": cause.next_test,
    }  # fmt: skip


def load_of(circuit: Circuit) -> Load:
    """What hangs on a contactor, as its signature is solved."""
    return Load(float(circuit.kw), float(circuit.volts), circuit.phases, circuit.connection, circuit.heaters)


def _readings(amps: Sequence[float], context: LimitContext, circuit: Circuit) -> Readings:
    lines = (1, 3) if circuit.phases == 3 else (1,)
    volts = _numbers(answered(context, "supply_volts"))
    ohms = _numbers(answered(context, "ohms_line_to_line"))
    if context.measured_volts is not None and len(volts) not in lines:
        volts = (context.measured_volts,)
    return Readings(
        tuple(amps),
        volts if len(volts) in lines and all(0 < v < float("inf") for v in volts) else (),
        ohms if len(ohms) == lines[-1] else (),
    )


def _numbers(joined: str | None) -> tuple[float, ...]:
    parts = joined.split("/") if joined else []
    return tuple(number_of(part) for part in parts if part == OVER_RANGE or part)


def _meters(context: LimitContext) -> Meters:
    return Meters(
        reader(context, "clamp", "A").accuracy,
        reader(context, "voltmeter", "V").accuracy,
        reader(context, "ohmmeter", "ohm").accuracy,
    )
