"""What was read earlier and written on paper: when, and by whom, apart from when it was entered and by whom."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from seasonlog.domain.visit import Saved


@dataclass(frozen=True, slots=True)
class Late:
    """An entry from paper."""

    observed: datetime
    """When it was read, local time of the site with its offset."""
    by: str
    """Who filled in the paper."""

    @property
    def day(self) -> date:
        """The site's day."""
        return self.observed.date()

    @property
    def marks(self) -> dict[str, str]:
        """The fields of an answer or a skip that say so."""
        return {"observed_at": self.observed.isoformat(timespec="minutes"), "from_paper": self.by}


def late_of(saved: Saved) -> Late | None:
    """How an answer was observed, when it was entered from paper."""
    return Late(datetime.fromisoformat(saved.observed_at), saved.from_paper) if saved.observed_at else None


def paper_of(answers: Iterable[Saved]) -> Late | None:
    """The newest observation of a visit entered from paper as a whole; None when anything was answered on the spot."""
    found = [late_of(saved) for saved in answers]
    late = [each for each in found if each is not None]
    return max(late, key=lambda each: each.observed) if late and len(late) == len(found) else None
