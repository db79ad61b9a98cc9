"""Photos and sound clips: kept beside the log by hash, named by an entry, given up only by an entry that says why.

The file is on disk before the entry that names it; the entry that gives it up is on disk before the file goes. What a
crash leaves between the two, `sweep` mends.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from hashlib import sha256
from zoneinfo import ZoneInfo

from seasonlog.domain.attachments import (
    AFTER_MS,
    BEFORE_MS,
    HEAD_BYTES,
    PHOTO,
    SOUND,
    Attachment,
    Moment,
    Place,
    Span,
    kind_of,
    name_of,
    place_of,
)
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.visit import Progress, VisitState
from seasonlog.intake import photo_time
from seasonlog.journal import attachment_queries as asked
from seasonlog.journal import details, queries
from seasonlog.journal.blobs import MOST_BYTES, SALT_BYTES, Blobs
from seasonlog.services import privacy, registry, rounds
from seasonlog.services.findings import is_supervisor
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from seasonlog.services.reasons import note_in, reason_in, refuse

CLIP_DAYS = 90
"""A clip holds people's voices: so long it is kept unless another day is named. By reasoning, no source."""
MOST_FILES = 500
"""Files looked at in one go."""


def store(at: Places) -> Blobs:
    """The folder of photos and clips of a log."""
    return Blobs(at.attachments)


@dataclass(frozen=True, slots=True)
class Handed:
    """A file somebody hands in."""

    name: str
    size: int
    """Bytes."""
    head: bytes
    """Its first bytes, at least `HEAD_BYTES` of a longer file."""
    changed: datetime
    """The file's own time, with its offset."""
    read: Callable[[], bytes]
    """The whole of it: asked for one file at a time, so that a folder of photos need not fit into memory."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is said about all files of one go."""

    visit: str = ""
    tower: str = ""
    step: str = ""
    sounds: bool = False
    """Take sound clips too; they are left out otherwise."""
    shift: timedelta = timedelta()
    """What the camera's clock was behind."""
    keep_until: date | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Proposal:
    """One file and where it would go, or why it would not."""

    file: Handed
    kind: str
    format: str
    taken_at: str
    taken_from: str
    place: Place | None
    why_not: str = ""
    """Empty when it can be attached."""


def proposals(book: Logbook, files: Sequence[Handed], wish: Wish) -> list[Proposal]:
    """Where each file would go by its time, to be confirmed by a person. Writes nothing.

    Raises:
        InputRefusedError: no such visit, tower or step; too many files.
    """
    if len(files) > MOST_FILES:
        raise refuse("attach", f"{len(files)} files; at most {MOST_FILES} are taken in one go")
    note_in("words", wish.words)
    named = _named(book, wish)
    zone = _zone(book, named.visit.tower if named else wish.tower)
    looked = [_looked_at(file, wish, zone) for file in files]
    spans = [_span(named)] if named else _spans(book, [ms for _, ms in looked if ms is not None], wish.tower)
    return [_placed(book, seen, ms, spans, wish) for seen, ms in looked]


def _named(book: Logbook, wish: Wish) -> Progress | None:
    if wish.tower:
        registry.refuse_unknown(book.db, tower=wish.tower)
    if not wish.visit:
        if wish.step:
            raise refuse(f"step {wish.step}", "belongs to a visit; name the visit too")
        return None
    at = rounds.progress(book, wish.visit)
    if wish.step and at.instance(wish.step) is None:
        raise refuse(f"step {wish.step}", f"is not asked in visit {wish.visit}")
    return at


def _zone(book: Logbook, tower: str) -> tzinfo:
    """The site's time zone, else the one of this machine: what a camera's clock shows."""
    register = registry.of_tower_ever(book.db, tower) if tower else None
    if register is not None and tower in register.towers:
        return ZoneInfo(register.site_of(tower).time_zone)
    return timezone(timedelta(minutes=book.around.clock.offset_minutes()))


def _looked_at(file: Handed, wish: Wish, zone: tzinfo) -> tuple[Proposal, int | None]:
    found = kind_of(file.head)
    if found is None:
        return _refused(file, "is neither a photo (JPEG, PNG, HEIC, WebP) nor a sound (WAV, Ogg, MP3, M4A, FLAC)"), None
    if file.size > MOST_BYTES:
        return _refused(file, f"holds {file.size / 1e6:.0f} MB; {MOST_BYTES // 1_000_000} MB are the most"), None
    camera = photo_time.taken_at(file.read()) if found[0] == PHOTO else None
    taken = (camera or file.changed) + wish.shift
    local = taken.replace(tzinfo=zone) if taken.tzinfo is None else taken.astimezone(zone)
    text = local.isoformat(timespec="minutes")
    seen = Proposal(file, *found, text, "camera" if camera else "file", None)
    return seen, int(local.astimezone(UTC).timestamp() * 1000)


def _refused(file: Handed, why: str) -> Proposal:
    return Proposal(file, "", "", "", "", None, why)


def _placed(book: Logbook, seen: Proposal, ms: int | None, spans: Sequence[Span], wish: Wish) -> Proposal:
    if ms is None:
        return seen
    if seen.kind == SOUND and not wish.sounds:
        return _put(seen, None, "is a sound clip; clips are left out unless asked for (--sounds)")
    by_time = place_of(ms, seen.kind, spans)
    place = _forced(by_time, spans, wish)
    if place is None:
        return _put(seen, None, f"was taken {seen.taken_at} ({seen.taken_from}), when no visit was open there")
    if seen.kind == SOUND and not privacy.recording(book, _site(book, place.tower)).allowed:
        return _put(seen, None, f"is a sound clip, and the site of {place.tower} has not allowed recording")
    return _put(seen, place, "")


def _forced(by_time: Place | None, spans: Sequence[Span], wish: Wish) -> Place | None:
    """What was named wins over the time."""
    if wish.step:
        return Place(spans[0].tower, wish.visit, wish.step)
    if by_time is None and wish.visit:
        return Place(spans[0].tower, wish.visit, "")
    return by_time or (Place(wish.tower, "", "") if wish.tower else None)


def _put(seen: Proposal, place: Place | None, why_not: str) -> Proposal:
    return Proposal(seen.file, seen.kind, seen.format, seen.taken_at, seen.taken_from, place, why_not)


def _site(book: Logbook, tower: str) -> str:
    item = queries.item(book.db, "tower", tower, ever=True)
    return str(item.fields["site"]) if item else ""


def _spans(book: Logbook, taken: Sequence[int], tower: str) -> list[Span]:
    if not taken:
        return []
    found = asked.visits_between(book.db, min(taken) - AFTER_MS, max(taken) + BEFORE_MS)
    visits = [rounds.progress(book, visit) for visit in found]
    return [_span(at) for at in visits if tower in ("", at.visit.tower)]


def _span(at: Progress) -> Span:
    moments = [
        Moment(key, moment_of(saved.observed_at, saved.wall_ms), _wants_photo(at, key))
        for key, saved in at.answers.items()
    ]
    times = [at.visit.started_wall_ms, *(m.wall_ms for m in moments)]
    ends = at.visit.closed_wall_ms if at.visit.state is not VisitState.OPEN else max(times)
    paper = any(saved.observed_at for saved in at.answers.values())
    begins = min(m.wall_ms for m in moments) if paper else at.visit.started_wall_ms
    return Span(at.visit.id, at.visit.tower, begins, max(times) if paper else ends, moments)


def _wants_photo(at: Progress, key: str) -> bool:
    instance = at.instance(key)
    return instance is not None and instance.step.photo


def moment_of(observed_at: str, wall_ms: int) -> int:
    """When something was read: as written on paper, else when it was entered [ms UTC]."""
    return int(datetime.fromisoformat(observed_at).timestamp() * 1000) if observed_at else wall_ms


def attach(book: Logbook, chosen: Iterable[Proposal], wish: Wish) -> list[Attachment]:
    """Keep the files and write the entries, one commit; a file attached there before is not written again."""
    kept = store(book.places)
    records = list(_records(book, chosen, wish, kept))
    stored = book.write(*records) if records else ()
    return [found for s in stored if (found := asked.attachment(book.db, str(s.entry.body["attachment"]))) is not None]


def _records(book: Logbook, chosen: Iterable[Proposal], wish: Wish, kept: Blobs) -> Iterator[Record]:
    seen: set[str] = set()
    for each in chosen:
        if each.place is None:
            continue
        place, data = each.place, each.file.read()
        if kind_of(data[:HEAD_BYTES]) != (each.kind, each.format):
            raise refuse(name_of(each.file.name), "has changed since it was looked at; nothing was attached")
        name = kept.put(data, book.around.salts)
        key = sha256(f"{name}|{place.tower}|{place.visit}|{place.step}".encode()).hexdigest()
        ident = f"P-{key[:8].upper()}"
        is_new = ident not in seen and asked.attachment(book.db, ident) is None
        seen.add(ident)
        body = {
            "attachment": ident,
            "sha256": name,
            "kind": each.kind,
            "format": each.format,
            "bytes": len(data),
            "name": "",
            "tower": place.tower,
            "visit": place.visit,
            "step": place.step,
            "taken_at": each.taken_at,
            "taken_from": each.taken_from,
            "keep_until": _keep_until(book, each.kind, wish),
            "words": "",
        }
        yield Record(Kind.ATTACHED, body | (_apart(book, each, wish, kept) if is_new else {}), f"attach:{key[:24]}")


def _apart(book: Logbook, each: Proposal, wish: Wish, kept: Blobs) -> dict[str, str]:
    """File name and words may name people: they go when the photo goes, so that they stand in no signed line."""
    told = {"name": name_of(each.file.name), "words": note_in("words", wish.words)}
    if not any(told.values()):
        return {}
    return {"details": kept.take(details.written(told) + book.around.salts(SALT_BYTES))}


def _keep_until(book: Logbook, kind: str, wish: Wish) -> str:
    if wish.keep_until is not None:
        return wish.keep_until.isoformat()
    return (book.today() + timedelta(days=CLIP_DAYS)).isoformat() if kind == SOUND else ""


def listed(book: Logbook, *, tower: str = "", visit: str = "") -> list[Attachment]:
    """Attachments, erased ones too, oldest first."""
    return asked.attachments(book.db, tower=tower, visit=visit)


def wanted(book: Logbook, at: Progress) -> list[str]:
    """Steps that were answered, ask for a photo and have none yet, by name."""
    have = {each.step for each in listed(book, visit=at.visit.id) if each.kind == PHOTO}
    answered_ = (i for i in at.instances if i.step.photo and i.key in at.answers and not at.answers[i.key].is_skipped)
    return [instance.named for instance in answered_ if instance.key not in have]


def named(book: Logbook, ident: str) -> Attachment:
    """One attachment.

    Raises:
        InputRefusedError: no such attachment.
    """
    found = asked.attachment(book.db, ident.upper())
    if found is None:
        raise refuse(f"attachment {ident}", "is not in this log; `seasonlog attach list` names all")
    return found


def content(book: Logbook, ident: str) -> bytes:
    """The bytes as they were handed in.

    Raises:
        InputRefusedError: erased, or not on this device.
    """
    found = named(book, ident)
    data = None if found.erased else store(book.places).read(found.sha256)
    if data is None:
        why = f"was erased {found.erased}" if found.erased else "is not on this device; it comes with a bundle"
        raise refuse(f"attachment {found.id}", why)
    return data


def erase(book: Logbook, ident: str, because: str) -> Attachment:
    """Give up a photo or clip: an entry that says who and why, then the file goes. The hash stays.

    Before its day (and a photo without one: ever) only a supervisor or whoever attached it may.
    """
    found = named(book, ident)
    if found.erased:
        raise refuse(f"attachment {found.id}", f"was erased {found.erased}")
    past = bool(found.keep_until) and found.keep_until < book.today().isoformat()
    if not (past or book.who == found.who or is_supervisor(book)):
        raise refuse(
            f"attachment {found.id}",
            f"was attached by {found.who} and is to be kept; that person or a supervisor may erase it",
        )
    body = {"attachment": found.id, "sha256": found.sha256, "because": reason_in(f"attachment {found.id}", because)}
    book.write(Record(Kind.ATTACHMENT_ERASED, body, f"erase:{found.id}"))
    sweep(book)
    return named(book, found.id)


def sweep(book: Logbook) -> int:
    """Remove the files that no attachment needs any more: after an erasure here, or one that came from elsewhere."""
    kept = store(book.places)
    return sum(kept.discard(name) for name in sorted(asked.erased_names(book.db) & kept.names()))
