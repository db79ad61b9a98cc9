"""A reading being taken: its limit as it stands in the visit, and what the digits typed so far would be worth.

On a metric site a temperature is read in degC: the field says so, and what is typed there is recorded with its unit.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Self

from textual.content import Content

from seasonlog.domain.answers import Raw, number_of
from seasonlog.domain.checklist import StepInstance
from seasonlog.domain.desk import Desk
from seasonlog.domain.judging import band_words
from seasonlog.domain.limits import Limit
from seasonlog.domain.named_faults import causes_words
from seasonlog.domain.units_shown import with_unit_shown
from seasonlog.domain.visit import Saved
from seasonlog.errors import SeasonlogError
from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.widgets.band_scale import Marker
from seasonlog.tui.wording import VERDICTS, say, sentence
from seasonlog.tui.words import basis_in_units, in_units, is_metric, line_names, number, shown_as


@dataclass(frozen=True, slots=True)
class Reading:
    """The step that reads, and its limit."""

    book: Logbook
    desk: Desk
    limit: Limit | None
    """None where nothing is judged: the reading is only recorded."""
    unit: str
    """As people on this site read it."""
    in_unit: Callable[[float], float]
    """From the step's unit to that."""
    is_converted: bool

    @classmethod
    def of(cls, book: Logbook, desk: Desk) -> Self:
        """The reading of the step at hand."""
        instance = desk.instance
        unit, convert = shown_as(instance.step.unit, desk.at.units)
        limit, metric = rounds.limit_now(book, desk.at, instance.key), is_metric(instance.step.unit, desk.at.units)
        return cls(book, desk, limit, unit, (lambda value: round(convert(value), 2)) if metric else convert, metric)

    @property
    def _instance(self) -> StepInstance:
        return self.desk.instance

    @property
    def basis(self) -> Content:
        """How the limit was arrived at."""
        degc = Content.styled("Type °C; for °F add the unit: 40 F\n", "bold") if self.is_converted else Content("")
        if self.limit is None:
            return degc.rstrip()
        return degc + Content.assemble(("Limit: ", "bold $soft"), say(self._basis_words(self.limit), "$soft"))

    @property
    def ahead(self) -> Content:
        """What is known before anything is typed."""
        if self.limit is None:
            return Content.styled("Recorded, not judged.", "$soft")
        if self.limit.missing:
            return Content.assemble(("? CANNOT TELL YET  ", "bold $tone-unsure"), self._say(self.limit.missing))
        return self._say(f"L{band_words(self.limit)[1:]}", "$soft")

    @property
    def _units(self) -> str:
        return self.desk.at.units

    def _basis_words(self, limit: Limit) -> str:
        return basis_in_units(limit.basis, self._instance.step.unit, self._units)

    def _say(self, words: str, style: str = "") -> Content:
        return say(in_units(words, self._units), style)

    def raw(self, typed: Raw) -> Raw:
        """What is recorded: as typed, with the unit that stood beside the field where it is not the step's own."""
        if isinstance(typed, str):
            return self._with_unit(typed)
        return tuple(self._with_unit(text) for text in typed)

    def _with_unit(self, text: str) -> str:
        return with_unit_shown(text, self._instance.step.unit, self._units)

    def markers(self, texts: Sequence[str]) -> tuple[Marker, ...]:
        """Where the fields' numbers lie; what is no number has no mark."""
        names = line_names(self._instance.step.quantity, len(texts))
        found = []
        for name, text in zip(names, texts, strict=True):
            value = rounds.number_typed(self._instance.step, self._with_unit(text)) if text.strip() else None
            if value is not None:
                found.append(self._marker(name, value))
        return tuple(found)

    def _marker(self, name: str, value: float) -> Marker:
        return (name or ("OL" if value == float("inf") else number(self.in_unit(value))), value)

    def markers_of(self, saved: Saved) -> tuple[Marker, ...]:
        """Where a saved reading lies."""
        values = (saved.value,) if isinstance(saved.value, str) else saved.value
        names = line_names(self._instance.step.quantity, len(values))
        return tuple(self._marker(n, number_of(v)) for n, v in zip(names, values, strict=True))

    def worth(self, texts: Sequence[str]) -> Content:
        """The verdict on what stands in the fields, in words; nothing is saved."""
        given = tuple(text for text in texts if text.strip())
        if not given:
            return self.ahead
        raw = self.raw(given[0] if len(texts) == 1 else given)
        try:
            _, judgement = rounds.judgement(self.book, self.desk.at, self.desk.key, raw)
        except SeasonlogError as error:
            return say(sentence(error, self.desk.key), "bold $tone-near-fail")
        so_far = Content(" so far") if len(given) < len(texts) else Content("")
        badge = VERDICTS[judgement.verdict].badge() + so_far
        if not judgement.causes:
            return badge + self._say(f"  {judgement.says}")
        words = causes_words(judgement.causes)
        named = badge + say(f"  {words}", "bold")
        return Content("\n").join([named, self._say(judgement.says.removesuffix(f"; {words}"))])
