"""A device with two pasts, or written on after it was revoked: everybody who knows the same says the same of it.

Who saw which first decides which entries a log's own tables follow; what is told of the device does not depend on it.
"""

import json
import shutil
from collections.abc import Sequence
from pathlib import Path

import pytest

from seasonlog.domain.records import Kind, Record
from seasonlog.errors import InputRefusedError
from seasonlog.journal.checkpoint import Checkpoint
from seasonlog.journal.encoding import entry_hash
from seasonlog.journal.held import device_hashes
from seasonlog.journal.keys import KeyFiles
from seasonlog.journal.note import Note, signature
from seasonlog.services import bundles, devices
from seasonlog.services.audit import verify_log
from seasonlog.services.reports import Made, stamp
from tests.cli.runner import seasonlog
from tests.journal.laptops import START, Laptop, answer, enrolled, finished
from tests.journal.worlds import sizes_of


def noted(laptop: Laptop) -> tuple[list[str], list[str]]:
    """What everybody must say alike, and what is so in this log only."""
    found = verify_log(laptop.at, quick=False)
    assert found.ok, found.says()
    assert verify_log(laptop.at, quick=True).noted == found.noted
    alike = [words for words in found.noted if words.startswith(("FORK", "REVOKED"))]
    return alike, [words for words in found.noted if words not in alike]


def lines(laptop: Laptop, dev: str) -> set[bytes]:
    """All that is known of a device, in the log or beside it."""
    with laptop.book() as book:
        rows = book.journal.query("SELECT line FROM entry WHERE dev = ? UNION SELECT line FROM aside WHERE dev = ?",
                                  (dev, dev))  # fmt: skip
    return {line for (line,) in rows}


@pytest.fixture
def forked(tmp_path: Path) -> tuple[Laptop, Laptop, Laptop, Laptop]:
    """The laptop whose key was copied, its twin, and two that each saw another of the two first."""
    north, south = enrolled(tmp_path)
    east = Laptop(tmp_path, "east", 3)
    east.take(north.export())
    with north.book() as book:
        devices.enrol(book, east.dev, "the east laptop")
    south.note("before the copy")
    north.take(south.export())
    for other in (south, east):
        other.take(north.export())
    twin = Laptop(tmp_path, "twin", 30)
    shutil.copytree(south.at.home, twin.at.home)
    south.write(answer("480"), answer("481"))
    twin.write(answer("470"))
    return south, twin, north, east


def test_who_saw_one_past_first_says_the_same_as_who_saw_the_other(
    forked: tuple[Laptop, Laptop, Laptop, Laptop], tmp_path: Path
) -> None:
    """Also an auditor who is handed both bundles, whichever way round; and both pasts are kept, entry by entry."""
    south, twin, north, east = forked
    dev, one, other = south.dev, south.export(), twin.export()
    north.take(one)
    east.take(other)
    assert "wrote two entries with number 3" in north.take(other).forks[0]
    assert "wrote two entries with number 3" in east.take(one).forks[0]
    for _ in range(2):  # what each found out goes to the other
        east.take(north.export())
        north.take(east.export())
    auditors = [Laptop(tmp_path, "auditor 1", 50), Laptop(tmp_path, "auditor 2", 51)]
    for auditor, both in zip(auditors, ((one, other), (other, one)), strict=True):
        for data in both:
            auditor.take(data)
    alike, own = zip(*map(noted, (north, east, *auditors)), strict=True)
    assert [words.partition(":")[0] for words in alike[0]] == ["FORK"]
    assert f"device {dev} wrote two entries with number 3 and went on from both: " in alike[0][0]
    assert alike.count(alike[0]) == 4
    assert "does not prove it" not in alike[0][0]
    told = {words for each in own for words in each if words.startswith("tables here follow")}
    assert len(told) == 2, "each says which of the two its own tables follow"
    for laptop, words in zip((north, east), alike, strict=False):
        with laptop.book() as book:
            covers = stamp(book, Made("Ada Example", START.date())).covers
        assert f" {words[0]}; this report follows those beginning with " in covers
    kept = [lines(laptop, dev) for laptop in (north, east, *auditors)]
    assert [len(each) for each in kept] == [5, 5, 5, 5]
    assert kept.count(kept[0]) == 4


def test_a_checkpoint_over_the_other_past_is_not_explained_by_entries_cut_off(
    forked: tuple[Laptop, Laptop, Laptop, Laptop],
) -> None:
    south, twin, north, _ = forked
    north.take(south.export())
    (passed_over,) = north.take(twin.export()).passed_over
    assert "it wrote two pasts from number 3 on" in passed_over
    assert "cut off" not in passed_over
    assert "wrote two entries with number 3" in seasonlog("device", "list", home=north.at.home).out


@pytest.mark.parametrize("shown", [True, False], ids=["with a line of its own making", "with nothing"])
def test_a_fork_that_somebody_only_claims_is_told_as_a_claim(tmp_path: Path, shown: bool) -> None:
    """An enrolled device may say anything; that another one forked takes an entry signed by that one."""
    north, south = enrolled(tmp_path)
    south.take(north.export())
    with south.book() as book:
        first, second = list(book.journal.entries(dev=north.dev))[:2]
        line = second.line.replace(b'"the log begins"', b'"never so"').decode() if shown else ""
        other = entry_hash(line.encode()).hex() if shown else "ab" * 32
        body = {"device": north.dev, "seq": 2, "held": second.hash.hex(), "other": other, "line": line,
                "sig": first.sig.hex()}  # fmt: skip
        book.write(Record(Kind.FORK_FOUND, body))
    north.take(south.export())
    for laptop in (north, south):
        assert "what is here does not prove it: ask who says so" in noted(laptop)[0][0]


def revoked(tmp_path: Path) -> tuple[Laptop, Laptop, int]:
    """North, which revoked south; south, which wrote on; the number of south's last entry that counts."""
    north, south = enrolled(tmp_path)
    south.note("in good hands")
    north.take(south.export())
    with north.book() as book:
        last = devices.revoke(book, south.dev, "left on a roof")
    south.note("in other hands")
    south.note("and on")
    return north, south, last


def says_revoked(words: str, last: int) -> bool:
    asks = "ask who held that laptop after it was revoked, and whoever has the later ones for a bundle"
    return f"its key is revoked, so that only its first {last} entries count" in words and asks in words


def test_a_checkpoint_by_a_revoked_key_is_refused_in_words_that_say_so(tmp_path: Path) -> None:
    north, south, last = revoked(tmp_path)
    (passed_over,) = north.take(south.export()).passed_over
    assert f"a checkpoint of device {south.dev}, whose key is revoked, is refused" in passed_over
    assert says_revoked(passed_over, last)
    assert "cut off" not in passed_over


def test_a_checkpoint_of_a_device_with_no_entry_that_counts_does_not_spoil_the_log(tmp_path: Path) -> None:
    """Enrolled and revoked before it was met; its checkpoint leaves itself out, so that all it states holds."""
    north, _ = enrolled(tmp_path)
    lost = Laptop(tmp_path, "lost", 40)
    lost.take(north.export())
    with north.book() as book:
        devices.enrol(book, lost.dev, "lost")
        devices.revoke(book, lost.dev, "lost on the way")
    with lost.book() as book:
        log, own = book.journal.log_id, KeyFiles(lost.at.keys, book.journal.log_id).load()
        assert own is not None
        sizes = sizes_of({dev: each for dev, each in device_hashes(book.db).items() if dev != own.dev})
    text = Checkpoint(log, own.dev, 1_790_000_000_000, sizes).text()
    note = Note(text, (signature(own.dev, own.public, own.sign, text),))
    data = lost.export().split(b"\n")[:-2]
    news = north.take(finished([*data, b"checkpoint " + json.dumps(note.encoded()).encode()]))
    assert any("none of its entries stands in this log" in words for words in news.passed_over), news
    assert verify_log(north.at, quick=False).ok


def test_an_auditor_who_kept_a_checkpoint_by_a_revoked_key_is_told_so(tmp_path: Path) -> None:
    """By the log, and by a bundle of those who revoked it."""
    north, south, last = revoked(tmp_path)
    with south.book() as book:
        note = devices.checkpoint(book)[0]
    for quick in (True, False):
        found = verify_log(north.at, quick=quick, kept=note)
        assert not found.ok
        assert says_revoked(found.says(), last), found.says()
    with pytest.raises(InputRefusedError) as error:
        bundles.shown(north.export(), "north.bundle", kept=note)
    assert says_revoked(str(error.value), last)


def test_a_checkpoint_by_a_device_that_was_left_out_names_it(tmp_path: Path) -> None:
    """Nobody here knows its key, so its signature cannot be checked: that is the alarm."""
    north, south = enrolled(tmp_path)
    early = north.export()
    south.take(early)
    south.note("not handed on")
    with south.book() as book:
        note = devices.checkpoint(book)[0]
    says = f"device {south.dev} states it, of which there is no entry here: that device was left out"
    with pytest.raises(InputRefusedError, match=says):
        bundles.shown(early, "north.bundle", kept=note)
    fresh = Laptop(tmp_path, "fresh", 40)
    fresh.take(early)
    for quick in (True, False):
        assert says in verify_log(fresh.at, quick=quick, kept=note).says()


def test_entries_really_cut_off_are_still_called_so(tmp_path: Path) -> None:
    """Of another device than the revoked one."""
    north, _, _ = revoked(tmp_path)
    early = north.export()
    north.note("later")
    with north.book() as book:
        note = devices.checkpoint(book)[0]
    with pytest.raises(InputRefusedError, match="entries were cut off"):
        bundles.shown(early, "north.bundle", kept=note)


def test_who_took_later_entries_in_before_it_knew_says_the_same(tmp_path: Path) -> None:
    """They stand in one log and are put aside in the other; what is told of the device is the same."""
    north, south, last = revoked(tmp_path)
    east = Laptop(tmp_path, "east", 3)
    data = south.export()
    east.take(data)
    east.take(north.export())
    north.take(data)
    alike: Sequence[Sequence[str]] = [noted(laptop)[0] for laptop in (north, east)]
    assert (
        alike[0]
        == alike[1]
        == [f"REVOKED: of device {south.dev} the first {last} entries count; 2 later ones are known"]
    )
    assert "2 of these of device" in noted(east)[1][-1]


def test_a_laptop_that_learns_it_was_revoked_goes_on_as_a_new_device(tmp_path: Path) -> None:
    """Found again after all: what it writes under the old key would be put aside by everybody, for ever."""
    north, south, _ = revoked(tmp_path)
    old = south.dev
    south.take(north.export())
    south.note("found again")
    assert south.dev != old
    taken = north.take(south.export(), enrol=south.dev)
    assert taken.entries == 2  # its new key and its note
    with north.book() as book:
        assert "found again" in {s.entry.body.get("text") for s in book.journal.entries()}
