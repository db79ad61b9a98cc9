"""One contradiction of the register, and what every rule that looks for them may ask."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, TypeAlias

from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Basin, Circuit, Record, Register, Tower, word_of
from seasonlog.domain.severity import Severity

UNHEATED = frozenset({"drained", "remote_sump"})
"""Ways to winter that leave no water in the basin to freeze."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Something in the register that cannot be so, must not be so, or is not known where safety needs it."""

    severity: Severity
    """What it may lead to."""
    where: str
    """Record and key, as a person would look for it: `circuit HOS-2-H, key plate_amps`."""
    says: str
    """One sentence with the arithmetic."""


@dataclass(frozen=True)
class Facts:
    """What a rule may ask."""

    register: Register
    """Everything installed."""
    practice: PracticeTable
    """The table of constants, as shipped."""
    on: date
    """The day of the check, for what runs out."""

    @cached_property
    def _equalisers(self) -> dict[str, list[Basin]]:
        found: dict[str, list[Basin]] = {}
        for basin in self.register.basins.values():
            if basin.equaliser_to is not None:
                for end in (basin.id, basin.equaliser_to):
                    found.setdefault(end, []).append(basin)
        return found

    def equalisers_of(self, basin: Basin) -> tuple[Basin, ...]:
        """The basins that name an equaliser which ends at this one, itself included; also from other towers."""
        return tuple(self._equalisers.get(basin.id, ()))

    def tower(self, tower_id: str) -> Tower | None:
        """The tower, or None where the link leads nowhere."""
        return self.register.towers.get(tower_id)

    def basin(self, circuit: Circuit) -> Basin | None:
        """The basin a circuit heats, or None where the link leads nowhere."""
        return self.register.basins.get(circuit.basin)

    def circuits_in(self, basin: Basin) -> tuple[Circuit, ...]:
        """The heater circuits in a basin."""
        return tuple(each for each in self.register.circuits_of(basin.tower) if each.basin == basin.id)

    def holds_water(self, tower_id: str) -> bool:
        """Whether the tower's basin is full in frost; taken as full where the tower is not in the register."""
        tower = self.tower(tower_id)
        return tower is None or tower.winter not in UNHEATED

    def practice_at(self, tower_id: str) -> PracticeTable:
        """The table as the tower's site holds it; the plain one where the site's own constants are refused."""
        tower = self.tower(tower_id)
        site = self.register.sites.get(tower.site) if tower is not None else None
        if site is None or self.practice.tighten_problems(site.tighten, site.id):
            return self.practice
        return self.practice.with_site(site.tighten)


Rule: TypeAlias = Callable[[Any, Facts], Iterable[Contradiction]]
"""Takes one record of the type it is listed under, and the facts; yields what is wrong with it."""


def at(record: Record, key: str) -> str:
    """Where a contradiction sits, in words."""
    return f"{word_of(record)} {record.id}, key {key}"
