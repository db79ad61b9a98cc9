"""What happens in the story beside visits: findings looked after, parts changed, corrections, photos, recalls."""

import struct
import zlib
from collections.abc import Callable, Mapping
from datetime import UTC, date, timedelta
from typing import Any

from seasonlog.domain.fields import Kind as FieldKind
from seasonlog.domain.finding import Finding
from seasonlog.domain.register_items import from_item, to_item
from seasonlog.domain.register_records import SPECS
from seasonlog.journal import queries
from seasonlog.services import (
    attachments,
    closing,
    cold_snap,
    corrections,
    demo_witness,
    findings,
    notes,
    recall,
    registry,
    rounds,
)
from seasonlog.services import register as equipment
from seasonlog.services.days import moment
from seasonlog.services.demo_history import Scene
from seasonlog.services.demo_story import Act

Doing = Callable[[Scene, Mapping[str, Any], str], None]


def act(scene: Scene, told: Act, tower: str = "") -> None:
    """Do what is told; a tower is the one of the visit that it follows."""
    if told.by:
        scene.book.who = told.by
    ACTS[told.do](scene, told.says, tower or str(told.says.get("tower", "")))


def _finding(scene: Scene, says: Mapping[str, Any], tower: str) -> Finding:
    """The open finding of a step."""
    found = findings.open_findings(scene.book, tower=tower)
    return next(f for f in found if not says.get("step") or f.step == says["step"])


def _measure(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    found = _finding(scene, says, tower)
    findings.take_measure(scene.book, found.id, says["measure"], says["told"], says.get("told_at", "at once"))


def _part(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    on = scene.book.today() + timedelta(days=says.get("in_days", 0))
    found = _finding(scene, says, tower)
    findings.note_part(scene.book, found.id, says.get("part") or found.parts[0], says["stage"], on)


def _assign(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    due = scene.book.today() + timedelta(days=says.get("within_days", 7))
    findings.assign(scene.book, _finding(scene, says, tower).id, says["to"], due)


def _offer(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    found = _finding(scene, says, tower)
    findings.answer_offer(scene.book, found.id, says["answer"], says.get("from", ""), says.get("words", ""))


def _close(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    findings.close(scene.book, _finding(scene, says, tower).id, says["because"])


def _amend(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    corrections.amend(scene.book, scene.visit, says["step"], says["value"], says["because"])


def _receive(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    closing.receive(scene.book, rounds.progress(scene.book, scene.visit), says["name"], says.get("words", ""))


def _note(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    notes.leave(scene.book, tower, says["text"])


def _register(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    """A record as the sample files have it, but for some fields; one of its own where they have none."""
    what, ident = says["record"], says["id"]
    known = registry.whole(scene.book.db).table(what).get(ident)
    item: dict[str, Any] = dict(to_item(known)) if known is not None else {"id": ident}
    item |= {key: _dated(scene, what, key, value) for key, value in says["fields"].items()}
    record, problems = from_item(what, item, "story")
    if record is None:
        raise ValueError("; ".join(map(str, problems)))
    equipment.write(scene.book, equipment.preview(registry.whole(scene.book.db), [record]), says["because"])


def _dated(scene: Scene, what: str, key: str, value: object) -> object:
    """A number of days from the day of the act, where a day is wanted."""
    if isinstance(value, int) and not isinstance(value, bool) and SPECS[what][key].kind is FieldKind.DAY:
        return (scene.book.today() + timedelta(days=value)).isoformat()
    return value


def _as_sampled(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    """The record as the sample files have it."""
    record = scene.known.table(says["record"])[says["id"]]
    equipment.write(scene.book, equipment.preview(registry.whole(scene.book.db), [record]), says["because"])


def _retire(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    register = registry.of_tower(scene.book.db, tower)
    for what in ("device", "source", "trace", "circuit", "basin", "tower"):
        for ident in [i for i in register.table(what) if i == tower or i.startswith(f"{tower}-")]:
            equipment.retire(scene.book, what, ident, says["because"])


def _recall(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    since = scene.book.today() - timedelta(days=says["since_days"])
    recall.recall(scene.book, says["instrument"], since, says["because"])


def _review_recall(scene: Scene, says: Mapping[str, Any], tower: str) -> None:
    """Of the visits to one tower, or of all."""
    found = recall.unreviewed(scene.book)[0]
    relied = recall.reliance(scene.book, found.instrument, date.fromisoformat(found.since))
    visits = [v for v in relied.visits if not tower or _tower_of(scene, v) == tower]
    recall.review(scene.book, found.id, says["outcome"], says["because"], visits if tower else ())


def _tower_of(scene: Scene, visit: str) -> str:
    found = queries.visit(scene.book.db, visit)
    return found.tower if found is not None else ""


def _cold_snap(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    first = scene.book.today() + timedelta(days=says["in_days"])
    lows = {first + timedelta(days=n): low for n, low in enumerate(says["lows_degf"])}
    forecast = cold_snap.Forecast({on: float(low) for on, low in lows.items()}, "typed")
    cold_snap.keep(scene.book, cold_snap.look(scene.book, says["site"], forecast, scene.book.today()))


def _photo(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    data = drawn(says["colour"])
    taken = moment(scene.clock.wall_ms(), 0).astimezone(UTC)
    file = attachments.Handed(says["name"], len(data), data, taken, lambda: data)
    wish = attachments.Wish(visit=scene.visit, step=says.get("step", ""), words=says.get("words", ""))
    attachments.attach(scene.book, attachments.proposals(scene.book, [file], wish), wish)


def _erase_photo(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    kept = [each for each in attachments.listed(scene.book, visit=scene.visit) if not each.erased]
    attachments.erase(scene.book, kept[-1].id, says["because"])


def drawn(colour: str, width: int = 64, height: int = 48) -> bytes:
    """A small picture of one colour, as a PNG (ISO/IEC 15948): what stands for a photo in the demonstration.

    Args:
        colour: Red, green and blue as six hex digits.
        width: Pixels.
        height: Pixels.
    """
    row = b"\0" + bytes.fromhex(colour) * width
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(row * height, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in parts)


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


ACTS: Mapping[str, Doing] = {
    "measure": _measure, "part": _part, "assign": _assign, "offer": _offer, "close": _close, "amend": _amend,
    "receive": _receive, "note": _note, "register": _register, "as_sampled": _as_sampled, "retire": _retire,
    "recall": _recall, "review_recall": _review_recall, "cold_snap": _cold_snap, "photo": _photo,
    "erase_photo": _erase_photo, "witness": demo_witness.witness, "revoke": demo_witness.revoke,
}  # fmt: skip
"""Word of the story to what it does."""
