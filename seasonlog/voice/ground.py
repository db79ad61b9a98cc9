"""What may be said now, made from a visit and the place in it. Pure but for `ground_of`, which asks for the limit."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from seasonlog.domain.checklist import MEASURED, StepInstance, StepKind
from seasonlog.domain.desk import Desk, Mode
from seasonlog.domain.judging import band_words
from seasonlog.domain.limits import QUANTITIES, Limit
from seasonlog.domain.register import Register
from seasonlog.domain.units_shown import ALOUD, basis_in_units, in_units, is_metric
from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.voice.grammar_choice import spoken_choices
from seasonlog.voice.intents import Answer, AskedStep, Command, Expecting, Ground, Skip
from seasonlog.voice.naming import all_names
from seasonlog.voice.words import Vocabulary, shipped

_BY_UNIT: Mapping[str, tuple[float, float]] = {
    "a": (0, 2000), "v": (0, 1000), "degf": (-40, 212), "in": (-120, 720), "min": (0, 1440), "s": (0, 600),
    "ohm": (0, 99999), "mohm": (0, 99999),
}  # fmt: skip
"""What can be, for readings without a quantity: what the quantities of that unit allow."""
_EXPECTING: Mapping[Mode, Expecting] = {
    Mode.READ_CAUTION: Expecting.CAUTION,
    Mode.ASK: Expecting.ANSWER,
    Mode.SAVED: Expecting.TOLD,
    Mode.SKIPPED: Expecting.TOLD,
    Mode.WAITS: Expecting.WAITS,
    Mode.CLOSED: Expecting.CLOSED,
}


@dataclass(frozen=True, slots=True)
class Said:
    """What the dialogue itself remembers."""

    asked_back: Answer | Skip | Command | None = None
    lines: tuple[str, ...] = ()
    last: str = ""


NOTHING = Said()


def ground_of(book: Logbook, desk: Desk, said: Said = NOTHING, vocabulary: Vocabulary | None = None) -> Ground:
    """What may be said at this place of a visit.

    Args:
        book: The log; the limit of the step at hand depends on it.
        desk: The visit and the place in it.
        said: What the dialogue remembers.
        vocabulary: What people call things; None: the table that comes with the program.
    """
    step = desk.instance.step
    limit = rounds.limit_now(book, desk.at, desk.key) if step.kind in MEASURED else None
    return ground_from(desk, limit, said, vocabulary)


def ground_from(desk: Desk, limit: Limit | None, said: Said = NOTHING, vocabulary: Vocabulary | None = None) -> Ground:
    """The same, from the limit of the step at hand."""
    expecting = Expecting.CONFIRM if said.asked_back is not None else _EXPECTING[desk.mode]
    steps = tuple(_asked(desk, instance, limit if instance.key == desk.key else None) for instance in desk.at.instances)
    table = vocabulary or shipped()
    waits = tuple(instance.step.title for instance in desk.waits_for) if desk.mode is Mode.WAITS else ()
    bare = Ground(desk.key, steps, expecting, said.asked_back, said.lines, waits, said.last, vocabulary=vocabulary)
    return replace(bare, names=all_names(steps, table), choices=spoken_choices(steps, table))


def _asked(desk: Desk, instance: StepInstance, limit: Limit | None) -> AskedStep:
    step, saved = instance.step, desk.at.answers.get(instance.key)
    quantity = QUANTITIES.get(step.quantity)
    least, most = (quantity.least, quantity.most) if quantity else _BY_UNIT.get(step.unit.casefold(), (-99999, 99999))
    register = desk.at.register
    return AskedStep(
        key=instance.key,
        step_id=step.id,
        title=step.title,
        kind=step.kind,
        target=instance.target or "" if "@" in instance.key else "",
        target_words=target_words(register, instance) if "@" in instance.key else "",
        says=quantity.says if quantity else "",
        section=step.section,
        per=step.per,
        unit=step.unit,
        quantity=step.quantity,
        lines=3 if step.kind is StepKind.THREE_LINES else 1,
        least=least,
        most=most,
        choices=step.choices,
        expect=step.expect,
        caution=desk.to_read(instance),
        do=step.do,
        live=step.live,
        edges=_edges(limit),
        limit_low=limit.low if limit else None,
        limit_high=limit.high if limit else None,
        limit_words=_words(limit, desk.at.units),
        is_open=saved is None,
        saved=saved.value if saved is not None and not saved.is_skipped else "",
        is_unread=desk.is_unread(instance),
        metric=is_metric(step.unit, desk.at.units),
    )


def target_words(register: Register, instance: StepInstance) -> str:
    """What the register calls the thing a step is about; empty where it has no name."""
    records: Mapping[str, Mapping[str, object]] = {
        "basin": register.basins, "trace": register.traces, "source": register.sources,
    }  # fmt: skip
    record = records.get(instance.target_type, {}).get(instance.target or "")
    found = [getattr(record, name, None) for name in ("name", "protects", "what")]
    return next((str(words).replace("_", " ") for words in found if words), "")


def _edges(limit: Limit | None) -> tuple[float, ...]:
    if limit is None:
        return ()
    found = (limit.fail_low, limit.low, limit.pass_low, limit.pass_high, limit.high, limit.fail_high)
    return tuple(sorted({edge for edge in found if edge is not None}))


def _words(limit: Limit | None, units: str) -> str:
    if limit is None:
        return ""
    if limit.missing:
        return in_units(limit.missing, units, ALOUD)
    return f"{in_units(band_words(limit), units, ALOUD)}. {basis_in_units(limit.basis, limit.unit, units, ALOUD)}"


@lru_cache(maxsize=8)
def own_vocabulary(text: str) -> Vocabulary:
    """The shipped table with a person's own file added to it."""
    from seasonlog import resources
    from seasonlog.voice.words import vocabulary

    return vocabulary((resources.checklists() / "practice" / "phrases.toml").read_text("utf-8"), text)
