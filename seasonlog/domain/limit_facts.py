"""What a limit is worked from, fetched from the register and the visit; what is not known stops it, in words."""

from dataclasses import dataclass
from decimal import Decimal

from seasonlog.calc.instrument import Accuracy, expanded
from seasonlog.domain.guard import Edges, Meter
from seasonlog.domain.limit import LimitContext
from seasonlog.domain.register import Basin, Circuit, Instrument, Site, Trace

_SCALE = {
    "A": {"a": 1.0, "ma": 0.001},
    "V": {"v": 1.0, "mv": 0.001, "kv": 1000.0},
    "ohm": {"ohm": 1.0, "kohm": 1000.0},
    "Mohm": {"mohm": 1.0, "gohm": 1000.0, "kohm": 0.001, "ohm": 1e-6},
    "degf": {"degf": 1.0, "f": 1.0, "degc": 1.8, "c": 1.8},
    "deg": {"deg": 1.0, "degrees": 1.0},
    "s": {"s": 1.0, "min": 60.0},
    "min": {"min": 1.0, "s": 1.0 / 60.0},
}
"""One count in an instrument's unit, in the unit of a limit. A difference: degC count 1.8, without the offset."""
_CUSTOMARY_UNIT = {"timer": "s", "ohmmeter": "ohm"}
UNNAMED = "no instrument named: customary accuracy assumed"


class MissingFactError(Exception):
    """A limit cannot be worked out; the words say what is not known. Never leaves `limit_for`."""


@dataclass(frozen=True, slots=True)
class Reader:
    """The instrument a reading is taken with, as far as its accuracy goes."""

    accuracy: Accuracy
    """In the unit of the limit."""
    who: str
    """Which instrument, or that none was named."""
    reach: Edges = Edges()  # noqa: RUF009  (frozen, holds nothing mutable)
    """Lowest and highest reading it can show, in the unit of the limit; None: not known."""

    @property
    def meter(self) -> Meter:
        """What it leaves of a limit by itself."""
        return Meter(lambda value: expanded(self.accuracy.at(value)), self.who, self.reach)


def reader(context: LimitContext, kind: str, unit: str) -> Reader:
    """The instrument of a kind used in this visit, accuracy in the unit of the limit.

    Without one the customary accuracy of the table of limits is taken, and the words say so.

    Raises:
        MissingFactError: the instrument is overdue, or its unit does not fit.
    """
    named = context.instruments.get(kind)
    if named is None:
        return Reader(_customary(context, kind, unit), UNNAMED)
    due = named.calibration_due
    if due is not None and due < context.on:
        raise MissingFactError(f"{named.id} was due for calibration on {due}: its readings prove nothing")
    who = named.id if due else f"{named.id}, no calibration date on record"
    own, reach = _own_accuracy(named, unit), _reach(named, unit)
    if own is None:
        said = f"{who}, its accuracy not known: customary accuracy assumed"
        return Reader(_customary(context, kind, unit), said, reach)
    return Reader(own, who, reach)


def both(clamp: Reader, voltmeter: Reader) -> str:
    """Which two instruments took part, said once where the words are the same."""
    if clamp.who == voltmeter.who:
        return clamp.who
    which = {"clamp": clamp.who, "voltmeter": voltmeter.who}
    return "; ".join(who.replace("no instrument named", f"no {kind} named") for kind, who in which.items())


def meter(context: LimitContext, kind: str, unit: str) -> Meter:
    """How far off a reading with the visit's instrument of a kind may be. Raises as `reader`."""
    return reader(context, kind, unit).meter


def _reach(instrument: Instrument, unit: str) -> Edges:
    scale = _scale(instrument.unit or unit, unit)
    if scale is None:
        return Edges()
    zero = 32.0 if unit == "degf" and scale != 1.0 else 0.0
    ends = (instrument.range_low, instrument.range_high)
    return Edges(*(None if end is None else float(end) * scale + zero for end in ends))


def _own_accuracy(instrument: Instrument, unit: str) -> Accuracy | None:
    if instrument.percent is None or instrument.counts is None or instrument.resolution is None:
        return None
    scale = _scale(instrument.unit or unit, unit)
    if scale is None:
        raise MissingFactError(f"{instrument.id} reads in {instrument.unit}, this reading is in {unit}")
    return Accuracy(float(instrument.percent), float(instrument.counts), float(instrument.resolution) * scale)


def _scale(have: str, want: str) -> float | None:
    folded = have.casefold().replace("°", "").replace("ω", "ohm").strip()
    return _SCALE[want].get(folded)


def _customary(context: LimitContext, kind: str, unit: str) -> Accuracy:
    value = context.practice.value
    scale = _scale(_CUSTOMARY_UNIT.get(kind, unit), unit) or 1.0
    return Accuracy(value(f"{kind}_percent"), value(f"{kind}_counts"), value(f"{kind}_resolution") * scale)


def known(value: Decimal | None, says: str) -> float:
    """A number of the register, as calc takes it.

    Raises:
        MissingFactError: it is not known; never guessed.
    """
    if value is None:
        raise MissingFactError(f"{says} is not in the register")
    return float(value)


def the_circuit(context: LimitContext) -> Circuit:
    """The heater circuit of the reading."""
    if context.circuit is None:
        raise MissingFactError("no heater circuit belongs to this reading")
    return context.circuit


def the_basin(context: LimitContext) -> Basin:
    """The basin of the reading: the one named, or the one the circuit heats."""
    basin = context.basin
    if basin is None and context.circuit is not None:
        basin = context.register.basins.get(context.circuit.basin)
    if basin is None:
        raise MissingFactError("no basin belongs to this reading")
    return basin


def the_trace(context: LimitContext) -> Trace:
    """The heat trace circuit of the reading."""
    if context.trace is None:
        raise MissingFactError("no heat trace circuit belongs to this reading")
    return context.trace


def the_site(context: LimitContext) -> Site:
    """The site of the tower visited."""
    site = context.register.sites.get(context.tower.site)
    if site is None:
        raise MissingFactError(f"site {context.tower.site} is not in the register")
    return site


def answered(context: LimitContext, step: str) -> str | None:
    """What was answered to a step in this visit, for this circuit, trace or basin first; None when nothing."""
    targets = (context.circuit, context.trace, context.basin)
    keys = [f"{step}@{target.id}" for target in targets if target is not None]
    return next((context.answers[key] for key in (*keys, step) if key in context.answers), None)


def answered_number(context: LimitContext, step: str) -> float | None:
    """An answered reading as a number; None when not answered, or over range."""
    text = answered(context, step)
    try:
        number = Decimal(text) if text is not None else None
    except ArithmeticError:
        return None
    return float(number) if number is not None and number.is_finite() else None
