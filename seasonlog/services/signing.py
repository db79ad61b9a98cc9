"""What a signature signs, so that it stays with its record (as 21 CFR 11.50 and 11.70 ask, from memory).

A signature names the entry that started the visit, and the hash of its own meaning, its name and every answer and
temporary change as they stood. Moved to another visit it names a record that is not there, and counts for nothing;
when an answer was corrected afterwards, it is told that the signature is of what stood before.
"""

import json
from hashlib import sha256

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.visit import Meaning, Progress, Signature

MOVED = "made for another record; it counts for nothing here"
AMENDED = "an answer was corrected after it was signed"
PURPOSE = "seasonlog signature v1"


def signs(at: Progress, meaning: Meaning, name: str) -> str:
    """Hash of what a signature given now would sign: SHA-256, hex, over one JSON list."""
    answers = sorted([key, saved.hash] for key, saved in at.answers.items())
    changes = sorted([change.id, change.what, change.where, change.restored] for change in at.changes)
    signed = [PURPOSE, at.visit.record, str(meaning), name, answers, changes]
    return sha256(json.dumps(signed, separators=(",", ":")).encode()).hexdigest()


def signed(at: Progress, meaning: Meaning, name: str, words: str) -> Record:
    """A signature of the visit as it stands."""
    body = {"visit": at.visit.id, "meaning": str(meaning), "name": name, "words": words}
    return Record(Kind.VISIT_SIGNED, body | {"record": at.visit.record, "signs": signs(at, meaning, name)})


def doubts(at: Progress, signature: Signature) -> str:
    """What is to be said beside a signature; empty when it holds (or is of a version that named nothing)."""
    if signature.moved:
        return MOVED
    holds = signature.signs in ("", signs(at, signature.meaning, signature.name))
    return "" if holds else AMENDED
