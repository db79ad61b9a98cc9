"""Contact details lie outside the signed lines, named by salted hash; giving them up leaves every proof as it was."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Register
from seasonlog.domain.register_items import to_item
from seasonlog.errors import InputRefusedError
from seasonlog.journal import details
from seasonlog.journal.verify import verify
from seasonlog.services import audit, privacy, registry
from seasonlog.services import register as equipment
from seasonlog.services.logbook import Logbook
from tests.builders import a_book, sample_register

SECRET = "gate code 4471#"


def _write(book: Logbook, **changes: object) -> None:
    site = replace(registry.whole(book.db).sites["HOS"], **changes)  # type: ignore[arg-type]
    equipment.write(book, equipment.preview(registry.whole(book.db), [site]))


def _lines(book: Logbook) -> bytes:
    return b"\n".join(stored.line for stored in book.journal.entries())


def test_no_contact_detail_stands_in_a_signed_line_or_a_table_and_the_register_is_whole(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _write(book, access=SECRET)
        register = registry.whole(book.db)
        lines = _lines(book)
        tables = b"\n".join(repr(row).encode() for row in book.db.execute("SELECT * FROM register_item"))
    assert register.sites["HOS"].access == SECRET
    assert {i: replace(s, access=None) for i, s in register.sites.items()} == {
        i: replace(s, access=None) for i, s in sample_register().sites.items()
    }
    for site in sample_register().sites.values():
        for secret in (site.access, site.emergency_contact, SECRET):
            assert secret
            assert json.dumps(secret, ensure_ascii=False)[1:-1].encode() not in lines
            assert secret.encode() not in tables


def test_the_same_words_keep_their_file_and_other_words_get_their_own(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        first = details.named_by(book.db, "site", "HOS")
        _write(book, name="Another name")
        assert details.named_by(book.db, "site", "HOS") == first
        _write(book, access=SECRET)
        assert details.named_by(book.db, "site", "HOS") != first
        kept = privacy.kept_details(book, "HOS")
        assert [k.is_current for k in kept] == [False, True]
        assert "may be given up" in kept[0].says(book.today())
        book.who = "Halden Pruskett"
        assert privacy.discard(book, "HOS", "number replaced", replaced_only=True) == 1
        assert registry.whole(book.db).sites["HOS"].access == SECRET


def test_giving_up_is_an_entry_and_every_other_proof_still_verifies(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _write(book, access=SECRET)
        with pytest.raises(InputRefusedError, match="only a supervisor"):
            privacy.discard(book, "HOS", "asked to")
        book.who = "Halden Pruskett"
        assert privacy.discard(book, "HOS", "asked to") == 2
        site = registry.whole(book.db).sites["HOS"]
        assert (site.access, site.emergency_contact) == (None, None)
        assert "given up on 2026-09-15 by Halden Pruskett: asked to" in privacy.of_site(book, "HOS").missing
        assert all(k.discarded for k in privacy.kept_details(book, "HOS"))
        with pytest.raises(InputRefusedError, match="has no contact details"):
            privacy.discard(book, "HOS", "again")
        left = b"".join(f.read_bytes() for f in book.places.details.iterdir())
        assert SECRET.encode() not in left
        assert registry.whole(book.db).sites["DAT"].access
        places = book.places
    assert verify(tmp_path / "seasonlog.db", depth="full").ok
    assert audit.verify_log(places, quick=False).ok


def test_a_log_without_its_details_works_and_says_so(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        for file in book.places.details.iterdir():
            file.unlink()
        assert registry.whole(book.db).sites["HOS"].access is None
        assert privacy.of_site(book, "HOS").missing == "kept apart, not on this device"
        (kept,) = privacy.kept_details(book, "HOS")
        assert "come with a bundle" in kept.says(book.today())
        equipment.write(book, equipment.preview(registry.whole(book.db), list(sample_register().sites.values())))
        assert registry.whole(book.db).sites["HOS"].access == sample_register().sites["HOS"].access


def test_an_entry_of_an_older_version_keeps_working_and_is_told(tmp_path: Path) -> None:
    with a_book(tmp_path, sites=False) as book:
        for record in sample_register().sites.values():
            item = to_item(record)
            book.write(Record(Kind.REGISTER_RECORDED, {"what": "site", "id": record.id, "item": item}))
        assert registry.whole(book.db).sites == Register.of(sample_register().sites.values()).sites
        assert privacy.in_lines(book) == sorted(f"site {s}" for s in sample_register().sites)
        assert privacy.kept_details(book) == []


def test_a_salted_hash_cannot_be_found_by_trying_every_code(tmp_path: Path) -> None:
    """All 10,000 four-digit codes hashed the plain way: none gives the name in the line, with or without the JSON."""
    from hashlib import sha256

    with a_book(tmp_path) as book:
        _write(book, access="0042", emergency_contact=None)
        named = details.named_by(book.db, "site", "HOS")
    assert named is not None
    tries = (f"{n:04d}" for n in range(10_000))
    assert not any(
        named["sha256"] in (sha256(t.encode()).hexdigest(), sha256(details.written({"access": t})).hexdigest())
        for t in tries
    )


@pytest.mark.parametrize("content", [b"", b"[]", b'"x"', b"{", b"\xff", b'{"access": 3, "name": "Other"}'])
def test_a_strange_detail_file_changes_nothing_else(tmp_path: Path, content: bytes) -> None:
    """Whoever brings a file can fill in the fields kept apart and no others."""
    with a_book(tmp_path) as book:
        name = privacy.store(book.places).take(content + bytes(32))
        item = to_item(replace(sample_register().sites["HOS"], access=None, emergency_contact=None))
        body = {"what": "site", "id": "HOS", "item": {**item, details.KEY: {"sha256": name, "keep_until": ""}}}
        book.write(Record(Kind.REGISTER_RECORDED, body))
        site = registry.whole(book.db).sites["HOS"]
    assert (site.name, site.access) == (sample_register().sites["HOS"].name, None)
