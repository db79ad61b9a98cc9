"""What may come with an answer: a note, a reason, how and when it was entered."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from seasonlog.domain.late import Late

Heard: TypeAlias = Mapping[str, object]
"""How a phrase was heard or typed, as `FIELDS` tells."""


@dataclass(frozen=True, slots=True)
class AnswerOptions:
    """What may come with an answer."""

    note: str = ""
    because: str = ""
    """Why an answer saved before is corrected."""
    retest: bool = False
    """Answered again after a repair, in the same visit."""
    uid: str | None = None
    """Fixed id, so that the same answer is never written twice."""
    reported: bool = False
    """Reported after the event, from a file: a gate not answered yet is noted and does not hold it back."""
    late: Late | None = None
    """Entered from paper: when it was read and by whom."""
    after_closing: bool = False
    """Corrected in a visit that is closed (`corrections.amend`)."""
    heard: Heard | None = None
    """Given as a phrase: the words, how sure, the engine."""


PLAIN = AnswerOptions()
