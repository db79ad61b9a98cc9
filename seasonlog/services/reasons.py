"""Words that go into the record: a reason, a note; and the refusal of an input, in one sentence."""

from seasonlog.domain.answers import MOST_TEXT
from seasonlog.domain.text import as_stored
from seasonlog.errors import InputRefusedError, Problem


def refuse(where: str, says: str) -> InputRefusedError:
    """One refused input."""
    return InputRefusedError([Problem(where, says)])


def note_in(where: str, text: str) -> str:
    """A note as stored; refused when too long."""
    kept = as_stored(text)
    if len(kept) > MOST_TEXT:
        raise refuse(where, f"the note has {len(kept)} characters; {MOST_TEXT} is the most")
    return kept


def reason_in(where: str, because: str) -> str:
    """A reason in words; refused when empty."""
    if not because.strip():
        raise refuse(where, "a reason in words is needed")
    return note_in(where, because)
