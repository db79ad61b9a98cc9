"""Photos and clips: kept once by salted hash, matched by time, erased only by an entry, hostile names and bytes."""

import io
import json
import os
import wave
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from seasonlog.domain.attachments import (
    AFTER_MS,
    BEFORE_MS,
    MOST_NAME,
    NEAR_MS,
    PHOTO,
    SOUND,
    Moment,
    Place,
    Span,
    kind_of,
    name_of,
    place_of,
)
from seasonlog.domain.records import Kind, Record
from seasonlog.errors import InputRefusedError, LogError
from seasonlog.intake.photo_time import taken_at
from seasonlog.journal import standalone_verifier
from seasonlog.journal.blobs import MOST_BYTES, SALT_BYTES, Blobs
from seasonlog.journal.search_queries import search_log
from seasonlog.journal.verify import verify
from seasonlog.services import attachments, bundles, closing, privacy, rounds
from seasonlog.services.attachments import Handed, Wish
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from tests.builders import a_book, a_visit, around, hostile

START = datetime(2026, 9, 15, 13, tzinfo=UTC)
"""When the fixed clock begins: 08:00 at the site."""


def a_photo(colour: str = "red", taken: str = "", zone: str = "", form: str = "JPEG") -> bytes:
    """A picture made by Pillow, with the tags that a camera writes."""
    image, out = Image.new("RGB", (8, 8), colour), io.BytesIO()
    exif = image.getexif()
    tags = exif.get_ifd(0x8769)
    if taken:
        tags[0x9003] = taken
    if zone:
        tags[0x9011] = zone
    image.save(out, form, exif=exif)
    return out.getvalue()


def a_sound(seconds: int = 1) -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(8000)
        file.writeframes(bytes(8000 * seconds))
    return out.getvalue()


def handed(name: str, data: bytes, minutes: float = 1) -> Handed:
    return Handed(name, len(data), data[:16], START + timedelta(minutes=minutes), lambda: data)


def a_round(book: Logbook) -> str:
    """A visit with an answer to a step that wants a photo."""
    at = a_visit(book, checklist="short-enable")
    assert at.instance("left_panel_shut") is not None
    return rounds.answer(book, at, "left_panel_shut", "yes", rounds.AnswerOptions(reported=True)).visit.id


def test_a_photo_goes_to_the_step_that_wants_it_by_the_cameras_time_and_is_kept_once(tmp_path: Path) -> None:
    photo = a_photo(taken="2026:09:15 08:00:20")
    with a_book(tmp_path) as book:
        visit = a_round(book)
        (found,) = attachments.proposals(book, [handed("IMG_1.JPG", photo, minutes=99_999)], Wish())
        assert found.place == Place("HOS-1", visit, "left_panel_shut")
        assert (found.taken_at, found.taken_from) == ("2026-09-15T08:00-05:00", "camera")
        assert attachments.listed(book) == []  # looking writes nothing
        assert attachments.wanted(book, rounds.progress(book, visit)) == ["Panels and boxes shut?"]
        (kept,) = attachments.attach(book, [found], Wish(words="panel as left"))
        assert attachments.wanted(book, rounds.progress(book, visit)) == []
        count = book.journal.count()
        assert [a.id for a in attachments.attach(book, [found], Wish())] == [kept.id]
        assert book.journal.count() == count
        elsewhere = attachments.proposals(book, [handed("copy.jpg", photo)], Wish(visit=visit, step="line_amps"))
        attachments.attach(book, elsewhere, Wish())
        (name,) = attachments.store(book.places).names() - {a.details for a in attachments.listed(book)}
        assert attachments.content(book, kept.id) == photo
        whole = (book.places.attachments / name).read_bytes()
    assert name == kept.sha256 == sha256(whole).hexdigest()
    assert whole[:-SALT_BYTES] == photo
    assert sha256(photo).hexdigest() != name  # salted: a hash of the content alone names nothing


def test_erasing_is_an_entry_and_every_other_proof_still_verifies(tmp_path: Path) -> None:
    photo = a_photo()
    with a_book(tmp_path) as book:
        visit = a_round(book)
        files = attachments.proposals(book, [handed("a.jpg", photo)], Wish(visit=visit))
        (kept,) = attachments.attach(book, files, Wish())
        again = attachments.proposals(book, [handed("a.jpg", photo)], Wish(visit=visit, step="line_amps"))
        (other,) = attachments.attach(book, again, Wish())
        book.who = "Jessa Wickmoor"
        with pytest.raises(InputRefusedError, match="that person or a supervisor may erase it"):
            attachments.erase(book, kept.id, "a face")
        book.who = "Halden Pruskett"
        with pytest.raises(InputRefusedError, match="reason"):
            attachments.erase(book, kept.id, " ")
        gone = attachments.erase(book, kept.id, "a face")
        assert "ERASED on 2026-09-15 by Halden Pruskett: a face" in gone.says
        assert attachments.content(book, other.id) == photo  # another entry still needs the file
        attachments.erase(book, other.id, "a face")
        assert attachments.store(book.places).names() == frozenset()
        with pytest.raises(InputRefusedError, match="was erased"):
            attachments.content(book, kept.id)
        with pytest.raises(InputRefusedError, match="was erased"):
            attachments.erase(book, kept.id, "again")
        assert [a.sha256 for a in attachments.listed(book, visit=visit)] == [kept.sha256, kept.sha256]
    assert verify(tmp_path / "seasonlog.db", depth="full").ok


SAID, FILE = "Oren at the open panel", "IMG oren.jpg"
"""What may name people."""


def said_and_erased(folder: Path) -> tuple[Path, bytes]:
    """A log with a photo of many words, then a bundle of it; after it the photo is erased."""
    with a_book(folder) as book:
        visit = a_round(book)
        files = attachments.proposals(book, [handed(FILE, a_photo())], Wish(visit=visit))
        (kept,) = attachments.attach(book, files, Wish(words=SAID))
        assert (kept.words, kept.name) == (SAID, FILE)
        assert kept.says.endswith(f": {SAID}")
        before = bundles.export(book).data
        attachments.erase(book, kept.id, "a face")
    return folder / "seasonlog.db", before


def test_words_and_file_name_stand_in_no_signed_line_and_go_with_the_photo(tmp_path: Path) -> None:
    log, before = said_and_erased(tmp_path)
    with Logbook.open(Places(log), around(), "Ada", writing=True) as book:
        lines = b"".join(s.line for s in book.journal.entries())
        (gone,) = attachments.listed(book)
        assert (gone.words, gone.name) == ("", "")
        assert attachments.store(book.places).names() == frozenset()
        assert [hit for hit in search_log(book.db, "Oren") if hit.what == "photo"] == []
        after = bundles.export(book).data
    assert SAID.encode() not in lines
    assert FILE.encode() not in lines
    assert SAID.encode() not in b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())
    assert verify(log, depth="full").ok
    for data in (before, after):
        assert standalone_verifier.check(data)[0].startswith("OK: ")


def test_they_go_where_the_photo_goes_and_are_given_up_there_too(tmp_path: Path) -> None:
    log, before = said_and_erased(tmp_path / "here")
    there = Places(tmp_path / "there" / "seasonlog.db")
    with Logbook.open(Places(log), around(), "Ada", writing=True) as book:
        after = bundles.export(book).data
    bundles.take(there, around(), "Verita Collumby", bundles.look(there, around(), before, "x.bundle"))
    with Logbook.open(there, around(), "", writing=False) as book:
        (brought,) = attachments.listed(book)
        assert (brought.words, brought.name) == (SAID, FILE)
        assert [hit.text for hit in search_log(book.db, "oren at") if hit.what == "photo"] == [SAID]
    bundles.take(there, around(), "Verita Collumby", bundles.look(there, around(), after, "x.bundle"))
    with Logbook.open(there, around(), "", writing=False) as book:
        (gone,) = attachments.listed(book)
        assert (gone.words, attachments.store(book.places).names()) == ("", frozenset())


def test_attached_again_leaves_no_words_behind_that_nothing_names(tmp_path: Path) -> None:
    photo = a_photo()
    with a_book(tmp_path) as book:
        visit = a_round(book)
        both = [handed("a.jpg", photo), handed("b.jpg", photo)]
        for said in ("first", "second"):
            attachments.attach(book, attachments.proposals(book, both, Wish(visit=visit)), Wish(words=said))
        (kept,) = attachments.listed(book)
        assert (kept.words, kept.name) == ("first", "a.jpg")
        assert attachments.store(book.places).names() == {kept.sha256, kept.details}


def test_what_an_older_version_wrote_into_the_line_reads_as_it_did_and_is_named(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = a_round(book)
        name = attachments.store(book.places).put(a_photo(), book.around.salts)
        body = {"attachment": "P-00000001", "sha256": name, "kind": "photo", "format": "jpeg", "bytes": 9, "name": FILE,
                "tower": "HOS-1", "visit": visit, "step": "", "taken_at": "", "taken_from": "", "keep_until": "",
                "words": SAID}  # fmt: skip
        book.write(Record(Kind.ATTACHED, body))
        (old,) = attachments.listed(book)
        assert (old.words, old.name, old.details) == (SAID, FILE, "")
        assert "photo P-00000001" in privacy.in_lines(book)
        attachments.erase(book, old.id, "a face")
        assert attachments.store(book.places).names() == frozenset()


@pytest.mark.parametrize("content", [b"", b"[" * 9000, b"\xff", b'{"words": 3, "name": "x.jpg", "tower": "HOS-2"}'])
def test_a_strange_file_of_words_changes_nothing_else(tmp_path: Path, content: bytes) -> None:
    with a_book(tmp_path) as book:
        kept = attachments.store(book.places)
        body = {"attachment": "P-1", "sha256": kept.put(b"x", book.around.salts), "kind": "photo", "format": "jpeg",
                "bytes": 1, "name": "", "tower": "HOS-1", "visit": "", "step": "", "taken_at": "", "taken_from": "",
                "keep_until": "", "words": "", "details": kept.take(content + bytes(SALT_BYTES))}  # fmt: skip
        book.write(Record(Kind.ATTACHED, body))
        (found,) = attachments.listed(book)
        assert (found.words, found.tower) == ("", "HOS-1")


def test_what_a_crash_leaves_between_entry_and_file_is_mended(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = a_round(book)
        files = attachments.proposals(book, [handed("a.jpg", a_photo())], Wish(visit=visit))
        (kept,) = attachments.attach(book, files, Wish())
        held = attachments.store(book.places).kept(kept.sha256)
        attachments.erase(book, kept.id, "a face")
        assert held is not None
        attachments.store(book.places).take(held, kept.sha256)  # as if it had been killed before the file went
        assert attachments.sweep(book) == 1
        assert attachments.store(book.places).names() == frozenset()


def test_clips_are_off_until_asked_for_and_allowed(tmp_path: Path) -> None:
    clip = handed("fan.wav", a_sound())
    with a_book(tmp_path) as book:
        visit = a_round(book)
        (found,) = attachments.proposals(book, [clip], Wish(visit=visit))
        assert "left out unless asked for" in found.why_not
        (found,) = attachments.proposals(book, [clip], Wish(visit=visit, sounds=True))
        assert "has not allowed recording" in found.why_not
        with pytest.raises(InputRefusedError, match="is past"):
            privacy.allow_recording(book, "HOS", "Oren Tallis", "fan noise", START.date() - timedelta(days=1))
        assert privacy.allow_recording(book, "HOS", "Oren Tallis", "fan noise", START.date()).allowed
        assert not privacy.recording(book, "HOS", START.date() + timedelta(days=1)).allowed
        (found,) = attachments.proposals(book, [clip], Wish(visit=visit, sounds=True))
        (kept,) = attachments.attach(book, [found], Wish(sounds=True))
        assert (kept.kind, kept.step, kept.keep_until) == (SOUND, "", "2026-12-14")  # 90 days
        assert not privacy.stop_recording(book, "HOS", "Oren Tallis", "enough").allowed
        (found,) = attachments.proposals(book, [clip], Wish(visit=visit, sounds=True))
        assert "has not allowed recording" in found.why_not


def test_what_is_neither_photo_nor_sound_or_too_large_is_left_out_with_a_sentence(tmp_path: Path) -> None:
    huge = Handed("huge.jpg", MOST_BYTES + 1, b"\xff\xd8\xff", START, lambda: b"")
    with a_book(tmp_path) as book:
        visit = a_round(book)
        files = [handed("a.jpg", b"MZ" + bytes(30)), handed("empty.jpg", b""), huge]
        found = attachments.proposals(book, files, Wish(visit=visit))
        assert [f.place for f in found] == [None, None, None]
        assert "neither a photo" in found[0].why_not
        assert "25 MB are the most" in found[2].why_not
        (good,) = attachments.proposals(book, [handed("b.jpg", a_photo())], Wish(visit=visit))
        swapped = Handed("b.jpg", 9, b"\xff\xd8\xff", START, lambda: b"MZ something else")
        with pytest.raises(InputRefusedError, match="has changed since it was looked at"):
            attachments.attach(book, [attachments.Proposal(swapped, PHOTO, "jpeg", "", "", good.place)], Wish())
        with pytest.raises(InputRefusedError, match="at most 500"):
            attachments.proposals(book, [huge] * 501, Wish())
        for wish in (Wish(visit="no-such"), Wish(tower="no-such"), Wish(step="x"), Wish(visit=visit, step="no_such")):
            with pytest.raises(InputRefusedError):
                attachments.proposals(book, [], wish)


def test_no_name_leaves_the_folder_and_every_hostile_name_is_only_words(tmp_path: Path, shared: Path) -> None:
    kept = Blobs(tmp_path / "store")
    (tmp_path / "secret").write_text("secret")
    bad = ["../secret", "..", "", "/etc/passwd", "A" * 64, "g" * 64, "a" * 63, "a" * 65, "a" * 64 + "\n", "\0" * 64]
    assert [kept.read(name) for name in bad] == [None] * len(bad)
    assert not any(kept.discard(name) for name in bad)
    with a_book(tmp_path) as book:
        visit = a_round(book)
        cases = hostile(shared, "identifier", "unicode", "terminal", "markup")
        names = [str(c["input"]) for c in cases if isinstance(c.get("input"), str)] + [
            "\udcff\udc80.jpg",
            "../../x.jpg",
        ]
        assert len(names) > 20
        for n, name in enumerate(names):
            files = [handed(name, a_photo(taken=f"2026:09:15 08:00:{n % 60:02d}", colour=f"#{n:06x}"))]
            found = attachments.proposals(book, files, Wish(visit=visit))
            (one,) = attachments.attach(book, found, Wish(visit=visit))
            assert one.name == name_of(name)
            assert len(one.name) <= MOST_NAME
        written = {p.name for p in book.places.home.rglob("*") if p.is_file()}
    assert all(len(n) == 64 or n.startswith(("seasonlog", "secret")) or "." in n for n in written)
    assert {p.parent.name for p in tmp_path.rglob("*") if len(p.name) == 64} == {"attachments", "details"}


def test_a_link_or_a_damaged_file_is_not_taken_for_what_the_log_names(tmp_path: Path) -> None:
    kept = Blobs(tmp_path)
    name = kept.put(b"content", os.urandom)
    (tmp_path / name).write_bytes(b"something else")
    with pytest.raises(LogError, match="is damaged"):
        kept.read(name)
    (tmp_path / "target").write_bytes(b"content")
    (tmp_path / name).unlink()
    (tmp_path / name).symlink_to(tmp_path / "target")
    with pytest.raises(LogError):
        kept.read(name)
    with pytest.raises(LogError, match="is not what its name says"):
        kept.take(b"x" * 40, name)
    with pytest.raises(LogError, match="more than"):
        kept.put(bytes(MOST_BYTES + 1), os.urandom)


@given(st.binary(max_size=40), st.integers(0, 300))
def test_a_photos_bytes_never_break_the_reader(junk: bytes, at: int) -> None:
    photo = a_photo(taken="2026:09:15 08:00:20")
    taken_at(photo[:at] + junk + photo[at:])
    taken_at(junk)
    assert kind_of(junk[:16]) is None or len(junk) >= 2


@pytest.mark.parametrize(
    ("taken", "zone", "says"),
    [
        ("2026:09:15 08:00:20", "", "2026-09-15T08:00:20"),
        ("2026:09:15 08:00:20", "-05:00", "2026-09-15T08:00:20-05:00"),
        ("2026:02:30 08:00:20", "", None),
        ("0000:00:00 00:00:00", "", None),
        ("2026:09:15 08:00:20", "nonsense", "2026-09-15T08:00:20"),
        ("", "", None),
    ],
)
@pytest.mark.parametrize("form", ["JPEG", "WEBP"])
def test_the_cameras_time_is_read_from_what_pillow_wrote(taken: str, zone: str, says: str | None, form: str) -> None:
    found = taken_at(a_photo(taken=taken, zone=zone, form=form))
    assert (found.isoformat() if found else None) == says


def test_formats_are_told_by_their_first_bytes() -> None:
    """Held against files that Pillow and the wave module wrote, and the formats' public signatures."""
    assert [kind_of(a_photo(form=f)[:16]) for f in ("JPEG", "PNG", "WEBP")] == [
        (PHOTO, "jpeg"), (PHOTO, "png"), (PHOTO, "webp"),
    ]  # fmt: skip
    assert kind_of(a_sound()[:16]) == (SOUND, "wav")
    assert kind_of(b"\0\0\0\x18ftypheic\0\0\0\0") == (PHOTO, "heic")
    assert kind_of(b"\0\0\0\x18ftypisom\0\0\0\0") is None  # a film
    assert kind_of(b"<svg xmlns=") is None
    assert kind_of(b"%PDF-1.7") is None


_Drawn = list[tuple[int, int, list[tuple[int, bool]]]]
_SPANS = st.lists(
    st.tuples(st.integers(0, 10**8), st.integers(0, 10**7), st.lists(st.tuples(st.integers(0, 10**7), st.booleans()))),
    max_size=4,
)  # fmt: skip


@given(st.integers(0, 10**8), _SPANS)
def test_a_place_is_the_nearest_by_a_plain_count(
    taken: int, drawn: list[tuple[int, int, list[tuple[int, bool]]]]
) -> None:
    """Held against looking at every millisecond of distance by the simplest code."""
    spans = [
        Span(
            f"V{n}", "T", begin, begin + long, [Moment(f"s{i}", begin + at, wants) for i, (at, wants) in enumerate(ms)]
        )
        for n, (begin, long, ms) in enumerate(drawn)
    ]
    found = place_of(taken, PHOTO, spans)
    possible = [s for s in spans if s.begins_ms - BEFORE_MS <= taken <= s.ends_ms + AFTER_MS]
    assert (found is None) == (not possible)
    if found is not None:
        (span,) = [s for s in spans if s.visit == found.visit]
        outside = [0 if s.begins_ms <= taken <= s.ends_ms else min(abs(taken - s.begins_ms), abs(taken - s.ends_ms))
                   for s in possible]  # fmt: skip
        assert span.gap_ms(taken) == min(outside)
        near = {m.step: abs(m.wall_ms - taken) for m in span.moments if m.wants_photo}
        nearest = min(near.values(), default=NEAR_MS + 1)
        assert near[found.step] == nearest if found.step else nearest > NEAR_MS
        sound = place_of(taken, SOUND, spans)
        assert sound is not None
        assert sound.step == ""


def test_a_photo_of_a_closed_visit_is_attached_too(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = a_round(book)
        closing.close_unfinished(book, rounds.progress(book, visit), rounds.VisitState.INCOMPLETE, "dark")
        files = [handed("a.jpg", a_photo(), minutes=30), handed("b.jpg", a_photo("blue"), minutes=24 * 60)]
        near, far = attachments.proposals(book, files, Wish())
    assert near.place == Place("HOS-1", visit, "")
    assert "when no visit was open there" in far.why_not
    assert json.dumps(near.taken_at)
