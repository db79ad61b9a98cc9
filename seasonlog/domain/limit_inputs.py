"""What a limit was worked from that was itself read: amps are judged at the volts that a voltmeter showed.

A limit is worth no more than what went into it. Where an instrument is recalled, every result it had a part in is in
doubt, not only what was read off it (ISO/IEC 17025 7.10, nonconforming work, from memory).
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from seasonlog.domain.checklist import StepInstance
    from seasonlog.domain.judging import Judgement
    from seasonlog.domain.visit import Progress

INPUTS: Mapping[str, str] = {
    "line_amps": "supply_volts",
    "trace_amps": "trace_volts",
    "cut_out_degf": "cut_in_degf",
}  # fmt: skip
"""Quantity to the step whose reading of the same visit its limit is worked from.

Whoever adds one raises the version of the views: entries that do not tell are folded by this table.
"""


def keys(quantity: str, target: str) -> Sequence[str]:
    """Step keys under which a visit may hold what the limit of a quantity is worked from, the likeliest first."""
    step = INPUTS.get(quantity)
    return (f"{step}@{target}", step) if step else ()


def record(visit: str, uid: str, day: str, body: Mapping[str, Any]) -> dict[str, str]:
    """A reading as the entry of another names it, whose limit was worked from it.

    Args:
        visit: Visit it was read in.
        uid: Of its entry.
        day: Day it was read, YYYY-MM-DD.
        body: Its `step`, `value`, `unit` and `instrument`.
    """
    says = reading_words(body["value"], body["unit"])
    return {
        "uid": uid, "visit": visit, "day": day, "step": body["step"], "instrument": body["instrument"], "says": says,
    }  # fmt: skip


def reading_words(value: str | Sequence[str], unit: str) -> str:
    """A reading as recorded, with its unit."""
    text = value if isinstance(value, str) else " / ".join(value)
    return f"{text} {unit}".strip()


def inputs_of(at: "Progress", instance: "StepInstance", judgement: "Judgement") -> list[dict[str, str]]:
    """What the limit of a step is worked from of its own visit, so far as an instrument was named for it."""
    return list(_inputs(at, instance)) if judgement.limits and not judgement.limits[0].missing else []


def _inputs(at: "Progress", instance: "StepInstance") -> Iterator[dict[str, str]]:
    for key in keys(instance.step.quantity, instance.target or ""):
        saved = at.answers.get(key)
        if saved is not None and not saved.is_skipped and saved.target in ("", instance.target or ""):
            body = {"step": key, "value": saved.value, "unit": saved.unit, "instrument": saved.instrument}
            if saved.instrument:
                yield record(at.visit.id, saved.uid, saved.day, body)
            return
