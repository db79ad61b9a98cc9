"""Bundles made to hurt are refused with file, line and reason, the log stays, nothing is written elsewhere; one of each
version kept for ever."""

import hashlib
import random
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from seasonlog.errors import InputRefusedError, LogError
from seasonlog.journal import standalone_verifier
from seasonlog.journal.bundle import Bundle, Head, SignedLine, taken_apart, written
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft
from seasonlog.services import bundles
from seasonlog.services.audit import verify_log
from seasonlog.services.logbook import Logbook
from tests.builders import hostile
from tests.journal.laptops import Laptop, enrolled, finished, refused
from tests.scale import scaled


@pytest.fixture
def two(tmp_path: Path) -> tuple[Laptop, Laptop]:
    return enrolled(tmp_path)


def places_written(folder: Path) -> set[str]:
    return {str(p.relative_to(folder)) for p in folder.rglob("*")}


def test_hostile_json_is_refused_with_file_line_and_reason(two: tuple[Laptop, Laptop], shared: Path) -> None:
    """As a head, as an entry and as a checkpoint of the line; the log stays byte for byte."""
    north, _ = two
    lines = north.export().split(b"\n")[:-2]
    for case in hostile(shared, "json_bundle"):
        text = case["input"] if "input" in case else case["build"]["repeat"] * case["build"]["count"]
        bad = str(text).encode("utf-8", "surrogatepass")
        if b"\n" in bad:
            continue
        for line in (b"head " + bad, b"entry " + b"0" * 128 + b" " + bad, b"checkpoint " + bad):
            assert "x.bundle, line 3: " in refused(north, finished([*lines[:2], line])), case["id"]


def test_archives_of_any_kind_are_no_bundle_and_write_nothing(
    two: tuple[Laptop, Laptop], shared: Path, tmp_path: Path
) -> None:
    north, _ = two
    before = places_written(tmp_path)
    for case in hostile(shared, "bundle_zip"):
        refused(north, archive(case.get("build", {})))
    assert places_written(tmp_path) == before


def archive(build: dict[str, Any]) -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w") as made:
        made.writestr(str(build.get("zip_member", "x")).replace("\0", "_") or "x", str(build.get("content", "x")))
    return file.getvalue()


NAMES = ("../../outside", "/etc/outside", "C:\\outside", "CON", "..%2foutside", "a\u202eb")


@pytest.mark.parametrize("name", NAMES)
def test_no_name_in_a_bundle_is_ever_a_path(two: tuple[Laptop, Laptop], tmp_path: Path, name: str) -> None:
    north, south = two
    before = places_written(tmp_path)
    for word in ("file", "detail"):
        line = f"{word} {name} eA==".encode()
        assert "hash that names it" in refused(north, finished([*south.export().split(b"\n")[:-2], line]))
    assert places_written(tmp_path) == before


def test_a_file_nobody_names_is_not_kept(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    data = b"stray"
    line = f"file {hashlib.sha256(data).hexdigest()} c3RyYXk=".encode()
    assert north.take(finished([*south.export().split(b"\n")[:-2], line])).files == 0


def test_an_entry_no_fold_can_read_is_refused_in_words(two: tuple[Laptop, Laptop], tmp_path: Path) -> None:
    """Signed well by an enrolled device, and yet without what its kind must hold."""
    north, south = two
    with south.book() as book:
        bare = Journal.open(
            south.at.log, keys_dir=south.at.keys, clock=book.around.clock, random_bytes=book.around.random_bytes
        )
        with bare:
            bare.append([Draft("step_answered", {"visit": 5}, "south Example")])
            data = b"".join(written(bundle_of(bare, book)))
    assert "holds an entry that this version cannot read" in refused(north, data)
    fresh = Laptop(tmp_path, "fresh")
    assert "cannot read" in refused(fresh, data)
    assert not fresh.at.log.exists()


SITE = {"what": "site", "id": "S"}
ODD: tuple[tuple[str, dict[str, Any]], ...] = (
    ("device_revoked", {}), ("device_revoked", {"device": 5, "entries": "x", "because": 1}),
    ("device_revoked", {"device": "f" * 16, "entries": -1, "because": "b"}),
    ("device_revoked", {"device": ["a"], "entries": 1, "because": "b", "checkpoint": ""}),
    ("device_enrolled", {"device": {"a": 1}, "name": "n"}), ("device_enrolled", {"device": "../../etc", "name": "n"}),
    ("fork_found", {"device": [1], "seq": "x", "held": 1, "other": 2, "line": 3, "sig": 4}),
    ("fork_found", {"device": "x", "seq": 2**50, "held": "zz", "other": "yy", "line": "no", "sig": "q"}),
    ("register_recorded", SITE | {"item": {"name": "n", "kept_apart": "x"}}),
    ("register_recorded", SITE | {"item": {"kept_apart": {"sha256": 5}}}),
    ("register_recorded", {"what": ["x"], "id": "a", "item": {}}),
    ("note_added", {"visit": [], "tower": {}, "step": None, "text": 5}), ("attached", {}),
)  # fmt: skip


@pytest.mark.parametrize(("kind", "body"), ODD, ids=[f"{kind} {body}" for kind, body in ODD])
def test_whatever_an_enrolled_device_signs_is_answered_in_words(
    two: tuple[Laptop, Laptop], tmp_path: Path, kind: str, body: dict[str, Any]
) -> None:
    """Shown, refused or taken in, by others and in the very log that holds it; never a crash, never half of it."""
    north, south = two
    with south.book() as book:
        at = south.at
        bare = Journal.open(at.log, keys_dir=at.keys, clock=book.around.clock, random_bytes=book.around.random_bytes)
        with bare:
            bare.append([Draft(kind, body, "south Example")])
            data = b"".join(written(bundle_of(bare, book)))
    assert bundles.shown(data, "x").lines()[0].startswith("OK: ")
    assert standalone_verifier.check(data)[0].startswith("OK: ")
    says = taken_or_not(north, data)
    assert verify_log(north.at, quick=False).ok
    if not says:
        south.book().close()
        assert verify_log(south.at, quick=False).ok
        return
    assert "holds an entry that this version cannot read" in says
    with pytest.raises(LogError, match="this version cannot read entry"):
        south.book()
    assert "its tables cannot be made" in verify_log(south.at, quick=False).says()


def taken_or_not(laptop: Laptop, data: bytes) -> str:
    try:
        laptop.take(data)
    except InputRefusedError as error:
        return str(error)
    return ""


def bundle_of(journal: Journal, book: Logbook) -> Bundle:
    lines = tuple(SignedLine(s.line, s.sig) for s in journal.entries())
    return Bundle(Head(journal.log_id, journal.device_id, book.around.clock.wall_ms(), "tests"), lines)


# ---- Kept for ever ----

KEPT = sorted((Path(__file__).parent.parent / "data" / "bundles").glob("v*/*.bundle"))


def test_a_bundle_of_every_version_is_kept() -> None:
    assert [f"{file.parent.name}/{file.stem}" for file in KEPT] == ["v1/photos-apart", "v1/two-laptops"]


@pytest.mark.parametrize("file", KEPT, ids=lambda file: file.stem)
def test_a_bundle_of_every_version_is_good_for_ever(file: Path, tmp_path: Path) -> None:
    data = file.read_bytes()
    assert standalone_verifier.check(data)[0].startswith("OK: ")
    parts = taken_apart(data, file.name)
    assert b"".join(written(parts)) == data
    laptop = Laptop(tmp_path, "auditor")
    laptop.take(data)
    assert laptop.count() == len(parts.entries) + 1
    assert verify_log(laptop.at, quick=False).ok


BITS = (
    b'"',
    b"\\",
    b"{",
    b"]",
    b"\xff",
    b"\0",
    b"\xe2\x80\xa8",
    b"99999999999999999999",
    b"1e5",
    b"\n",
    b"\\ud800",
    b"-",
)


def mangled(lines: list[bytes], chance: random.Random) -> bytes:
    """Some lines of a bundle cut, doubled, swapped or written into, and the last line made to fit again."""
    out = list(lines)
    for _ in range(chance.choice((1, 1, 2, 4))):
        at = chance.randrange(len(out))
        line, cut = out[at], chance.randrange(len(out[at]) + 1)
        out[at] = chance.choice((
            line[:cut] + chance.choice(BITS) + line[cut:], line[:cut] + line[cut + chance.randrange(1, 20) :],
            line[:cut] + line[:cut] + line[cut:], chance.choice(out)[:cut] + line[cut:],
            line[:cut] + bytes([chance.randrange(256)]) + line[cut + 1 :], chance.choice(out),
        ))  # fmt: skip
    return finished(out)


def test_both_verifiers_agree_on_mangled_bundles_and_neither_crashes() -> None:
    lines = KEPT[0].read_bytes().split(b"\n")[:-2]
    chance = random.Random(11)
    verdicts = []
    half = finished([lines[0], lines[1].replace(b"seasonlog 0", b"\\ud800 0"), *lines[2:]])  # the long run found it
    assert half != finished(lines)
    for data in (half, *(mangled(lines, chance) for _ in range(scaled(120)))):
        try:
            ours = bundles.shown(data, "x").found is not None
        except InputRefusedError:
            ours = False
        try:
            alone = standalone_verifier.check(data) != []
        except standalone_verifier.Bad:
            alone = False
        verdicts.append((ours, alone))
    assert [one for one in verdicts if one[0] != one[1]] == []
    assert verdicts.count((False, False)) > len(verdicts) / 2
