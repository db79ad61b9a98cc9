"""Records collected out of one file, with everything that is wrong with it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from seasonlog.domain.register import TYPES, Record
from seasonlog.domain.register_items import Place, from_item
from seasonlog.domain.text import visible
from seasonlog.errors import Problem

MOST_PROBLEMS = 1000
"""Problems told of one file; more are counted only."""


@dataclass(slots=True)
class Gathering:
    """What has been read so far. A million bad rows cost no more memory than a thousand."""

    name: str
    _problems: list[Problem] = field(default_factory=list)
    _untold: int = 0
    _seen: dict[str, dict[str, int]] = field(default_factory=lambda: {what: {} for what in TYPES})

    def wrong(self, *problems: Problem) -> None:
        """Keep these problems."""
        room = max(0, MOST_PROBLEMS - len(self._problems))
        self._problems.extend(problems[:room])
        self._untold += len(problems[room:])

    def read(self, what: str, item: Mapping[str, object], place: Place, number: int) -> Record | None:
        """The record an item describes, or None and its problems kept.

        Args:
            what: Type of record, one of `TYPES`.
            item: Keys to values.
            place: Where each key stands.
            number: Row or line of the record, told when its id comes again.
        """
        record, problems = from_item(what, item, place)
        self.wrong(*problems)
        if record is not None and (first := self._seen[what].setdefault(record.id, number)) != number:
            says = f'"{visible(record.id)}" is given twice; the first {what} with this id stands at {first}'
            self.wrong(Problem(place("id"), says))
            return None
        return record

    def problems(self) -> list[Problem]:
        """Every problem kept, then how many more there were."""
        more = Problem(self.name, f"has {self._untold} more problems; correct the ones above and try again")
        return [*self._problems, *([more] if self._untold else [])]
