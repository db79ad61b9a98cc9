"""Bundles between real logs: taken in once, whole or not at all, in any order to the same end; forks and strangers."""

import hashlib
import random
import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from seasonlog.domain.finding import finding_id
from seasonlog.domain.records import Kind, Record
from seasonlog.errors import InputRefusedError, LogError
from seasonlog.journal import standalone_verifier, trust_queries
from seasonlog.journal.bundle import taken_apart
from seasonlog.services import bundles, devices
from seasonlog.services.audit import verify_log
from seasonlog.services.logbook import Surroundings
from tests.builders import FixedBytes, FixedClock
from tests.journal.laptops import START, Laptop, answer, enrolled, finished, refused
from tests.scale import scaled


@pytest.fixture
def two(tmp_path: Path) -> tuple[Laptop, Laptop]:
    return enrolled(tmp_path)


def test_a_second_device_joins_by_taking_a_bundle_in(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    south.note("from the south")
    assert north.take(south.export()).entries == 2  # its key and its note
    assert south.take(north.export()).entries == 1  # the enrolment
    assert north.tables() == south.tables()
    for laptop in two:
        assert verify_log(laptop.at, quick=False).ok
    with north.book() as book:
        assert [(d.dev, d.state) for d in trust_queries.devices(book.db)] == [
            (north.dev, "first"),
            (south.dev, "enrolled"),
        ]


def test_a_single_device_needs_no_ceremony(tmp_path: Path) -> None:
    lone = Laptop(tmp_path, "lone")
    lone.note("alone")
    data = lone.export()
    assert (lone.look(data).is_nothing, lone.take(data).entries) == (True, 0)
    assert verify_log(lone.at, quick=False).ok


def test_the_same_bundle_again_adds_nothing(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    south.note("once")
    data = south.export()
    assert north.take(data).entries == 2
    before = north.at.log.read_bytes(), north.count()
    assert north.look(data).is_nothing
    assert north.take(data).entries == 0
    assert (north.at.log.read_bytes(), north.count()) == before


@pytest.mark.parametrize("seed", range(4))
def test_lines_in_any_order_each_twice_give_the_same_log(two: tuple[Laptop, Laptop], tmp_path: Path, seed: int) -> None:
    north, south = two
    south.note("in order")
    first, second, *rest = south.export().split(b"\n")[:-2]
    mixed = rest * 2
    random.Random(seed).shuffle(mixed)
    other = Laptop(tmp_path, "other")
    shutil.copytree(north.at.home, other.at.home)
    north.take(south.export())
    assert other.take(finished([first, second, *mixed])).entries == 2
    assert other.tables() == north.tables()


def test_a_bundle_cut_at_any_byte_is_refused_whole(two: tuple[Laptop, Laptop]) -> None:
    """Every cut in the last 300 bytes and 200 more; both verifiers."""
    north, south = two
    south.note("cut")
    data = south.export()
    chance = random.Random(3)
    cuts = {*range(len(data) - 300, len(data)), *(chance.randrange(len(data)) for _ in range(200))}
    for cut in cuts:
        with pytest.raises(InputRefusedError):
            taken_apart(data[:cut], "x")
        with pytest.raises(standalone_verifier.Bad):
            standalone_verifier.check(data[:cut])
    refused(north, data[: len(data) // 2])


def test_a_flipped_bit_is_always_refused(two: tuple[Laptop, Laptop]) -> None:
    """Also when the last line was made to fit again: then a hash, a signature or a root does not. Both verifiers agree;
    where both accept, the flip was in the head, which nothing rests on."""
    _, south = two
    south.note("flip")
    data = south.export()
    whole = content(data)
    chance = random.Random(5)
    for _ in range(scaled(250)):
        spoilt = bytearray(data)
        spoilt[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        assert content(bytes(spoilt)) is None
        fitted = finished(bytes(spoilt).split(b"\n")[:-2])
        found = content(fitted)
        assert found in (None, whole)
        assert (found is None) == is_refused_alone(fitted), fitted


def content(data: bytes) -> bytes | None:
    """Lines and signatures of a good bundle; None when it is refused."""
    try:
        found = bundles.shown(data, "x").found
    except InputRefusedError:
        return None
    return b"".join(s.line + s.sig for s in found.entries)


def is_refused_alone(data: bytes) -> bool:
    try:
        standalone_verifier.check(data)
    except standalone_verifier.Bad:
        return True
    return False


def test_every_order_of_taking_in_ends_in_the_same_tables(tmp_path: Path) -> None:
    """Three laptops write apart; whoever takes in what first, all show the same in the end, late entries too."""
    a, b, c = (Laptop(tmp_path, name, off) for name, off in (("a", 0), ("b", -90), ("c", 45)))
    a.note("begin")
    for other in (b, c):
        other.take(a.export())
        with a.book() as book:
            devices.enrol(book, other.dev, other.name)
    for at, laptop in enumerate((c, a, b, a, c, b)):
        laptop.note(f"note {at}")
        laptop.write(answer(str(470 + at)))
    from_a, from_b, from_c = (laptop.export() for laptop in (a, b, c))
    for laptop, bundle in ((b, from_a), (b, from_c), (c, from_a), (c, from_b), (a, from_c), (a, from_b)):
        laptop.take(bundle)
    assert a.tables() == b.tables() == c.tables()
    assert [verify_log(laptop.at, quick=False).ok for laptop in (a, b, c)] == [True] * 3


@pytest.mark.parametrize("seed", range(4))
def test_any_history_ends_in_the_same_tables_wherever_it_is_folded(tmp_path: Path, seed: int) -> None:
    """Findings, notes, register and plan written apart and met at random; folded bit by bit and all at once."""
    chance = random.Random(seed)
    laptops = [Laptop(tmp_path, name, chance.randrange(-2000, 2000)) for name in ("a", "b", "c")]
    laptops[0].note("begin")
    for other in laptops[1:]:
        other.take(laptops[0].export())
        with laptops[0].book() as book:
            devices.enrol(book, other.dev, other.name)
    for step in range(25):
        chance.choice(laptops).write(*something(chance, step))
        if chance.random() < 0.3:
            giver, taker = chance.sample(laptops, 2)
            taker.take(giver.export(), enrol=giver.dev if giver is not laptops[0] else "")
    for giver in laptops:
        for taker in laptops:
            taker.take(giver.export(), enrol=giver.dev)
    for taker in laptops:  # the enrolments of the last round
        for giver in laptops:
            taker.take(giver.export())
    assert laptops[0].tables() == laptops[1].tables() == laptops[2].tables()
    assert [verify_log(laptop.at, quick=False).ok for laptop in laptops] == [True] * 3


FAILED = {"severity": "freeze_risk", "title": "no heat", "parts": ["fuse"], "unprotected": "", "causes": []}


def something(chance: random.Random, step: int) -> list[Record]:
    tower, visit = f"T-{chance.randrange(2)}", f"V-{chance.randrange(3)}"
    found = finding_id(visit, "supply_volts")
    value, kept = str(470 + step), {"visit": visit, "tower": tower}
    due = {"tower": tower, "checklist": "fall-enable", "season": 2026, "ordinal": 1}
    return chance.choice((
        [answer(value, **kept)], [answer(value, **kept, verdict="fail", finding=FAILED)],
        [Record(Kind.NOTE_ADDED, {**kept, "step": "", "text": value})],
        [Record(Kind.FINDING_ASSIGNED, {"finding": found, "to": value, "due": ""})],
        [Record(Kind.FINDING_CLOSED, {"finding": found, "because": value})],
        [Record(Kind.REGISTER_RECORDED, {"what": "tower", "id": tower, "item": {"name": value, "site": "S"}})],
        [Record(Kind.REGISTER_RETIRED, {"what": "tower", "id": tower, "because": "x"})],
        [Record(Kind.DUE_MOVED, {**due, "to": "2026-10-01", "because": value})],
        [Record(Kind.DUE_DROPPED, {**due, "because": value})],
        [Record(Kind.HANDOVER_READ, {"site": "S"})],
        [Record(Kind.WINTER_MODE_SET, {"tower": tower, "mode": "wet", "since": "2026-10-01", "because": value})],
    ))  # fmt: skip


def test_two_answers_given_apart_are_both_kept_until_a_supervisor_decides(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    north.write(answer("480"))
    with north.book() as book:
        first = book.journal.last().entry.uid
    south.take(north.export())
    north.write(answer("481", corrects=first, because="misread"))
    south.write(answer("479", corrects=first, because="typed wrong"))
    north.take(south.export())
    south.take(north.export())
    assert north.tables() == south.tables()
    with north.book() as book:
        (conflict,) = trust_queries.conflicts(book.db)
        assert (conflict.visit, conflict.step, len(conflict.answers)) == ("V-1", "supply_volts", 2)
        values = [found.entry.body["value"] for uid in conflict.answers if (found := book.journal.find(uid))]
        assert sorted(values) == ["479", "481"]
    north.write(answer("480", decides=list(conflict.answers), because="read again"))
    with north.book() as book:
        assert trust_queries.conflicts(book.db) == []
        assert len(trust_queries.conflicts(book.db, decided=True)) == 1


def test_an_answer_corrected_after_it_was_seen_is_no_conflict(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    north.write(answer("480"))
    with north.book() as book:
        first = book.journal.last().entry.uid
    south.take(north.export())
    south.write(answer("481", corrects=first, because="misread"))
    south.write(answer("482", retest=True))
    north.take(south.export())
    north.write(answer("483", retest=True))
    with north.book() as book:
        assert trust_queries.conflicts(book.db) == []


def test_a_stranger_is_refused_until_a_supervisor_enrols_it(two: tuple[Laptop, Laptop], tmp_path: Path) -> None:
    north, _ = two
    stranger = Laptop(tmp_path, "stranger", 20)
    stranger.take(north.export())
    data = stranger.export()
    assert f"device {stranger.dev} is not enrolled here" in refused(north, data)
    assert north.take(data, enrol=stranger.dev).entries == 1
    stranger.note("now known")
    assert north.take(stranger.export()).entries == 1


def test_a_copied_key_shows_as_a_fork_and_both_are_kept(two: tuple[Laptop, Laptop], tmp_path: Path) -> None:
    """An image of the whole machine, key and all, writes on beside the original."""
    north, south = two
    south.note("before the copy")
    north.take(south.export())
    twin = Laptop(tmp_path, "twin", 30)
    shutil.copytree(south.at.home, twin.at.home)
    south.note("the one")
    twin.note("the other")
    assert north.take(south.export()).entries == 1
    taken = north.take(twin.export())
    assert (taken.entries, len(taken.forks), taken.aside) == (0, 1, 1)
    assert f"device {south.dev} wrote two entries" in taken.forks[0]
    assert north.take(twin.export()).forks == taken.forks
    with north.book() as book:
        (fork,) = trust_queries.forks(book.db)
        told = devices.all_devices(book)
        proof = next(book.journal.entries(kind=Kind.FORK_FOUND)).entry.body
    assert fork.dev == south.dev
    assert told.aside == [(south.dev, "the other branch of a fork", 1)]
    assert hashlib.sha256(b"\0" + proof["line"].encode()).hexdigest() == fork.other
    proved = verify_log(north.at, quick=False)
    assert (proved.ok, f"FORK: device {south.dev} wrote two entries" in proved.says()) == (True, True)


def test_a_lost_laptop_is_revoked_and_what_it_writes_later_is_put_aside(
    two: tuple[Laptop, Laptop], tmp_path: Path
) -> None:
    north, south = two
    south.note("in good hands")
    north.take(south.export())
    with north.book() as book:
        assert devices.revoke(book, south.dev, "left on a roof") == 2
    south.note("in other hands")
    taken = north.take(south.export())
    assert (taken.entries, taken.aside) == (0, 1)
    assert len(taken.passed_over) == 1  # its checkpoint covers what is put aside
    third = Laptop(tmp_path, "third")
    third.take(north.export())
    assert third.count() == north.count() + 1
    assert verify_log(north.at, quick=False).ok


def test_a_device_that_sees_its_own_fork_goes_on_as_a_new_one(two: tuple[Laptop, Laptop], tmp_path: Path) -> None:
    north, south = two
    north.take(south.export())
    twin = Laptop(tmp_path, "twin", 30)
    shutil.copytree(south.at.home, twin.at.home)
    south.note("the one")
    twin.note("the other")
    north.take(south.export())
    old = twin.dev
    assert len(twin.take(north.export()).forks) == 1
    assert twin.dev != old
    twin.note("under a new key")
    new = twin.dev
    taken = north.take(twin.export(), enrol=new)
    assert (taken.entries, taken.aside) == (3, 1)  # its key, what it says of the fork, its note; the other branch
    assert verify_log(twin.at, quick=False).ok


def test_less_than_was_seen_before_is_refused(two: tuple[Laptop, Laptop]) -> None:
    """Tail removed, and an older state stated anew: the rule of a witness (C2SP tlog-witness)."""
    north, south = two
    for number in range(3):
        south.note(f"note {number}")
    older = shutil.copytree(south.at.home, south.at.home.with_name("older"))
    for number in range(3):
        south.note(f"later note {number}")
    north.take(south.export())
    shutil.rmtree(south.at.home)
    shutil.move(older, south.at.home)
    south.around = Surroundings(FixedClock(START + timedelta(days=1)), FixedBytes("south again"))
    says = refused(north, south.export())
    assert "shorter than a checkpoint already seen" in says


def test_an_old_bundle_is_no_alarm(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    south.note("early")
    early = south.export()
    south.note("late")
    north.take(south.export())
    taken = north.take(early)
    assert (taken.entries, taken.forks, taken.aside) == (0, (), 0)


def test_a_clock_set_back_is_no_alarm(two: tuple[Laptop, Laptop]) -> None:
    """What a checkpoint covers tells which of two by one device came first, not what its clock said."""
    north, south = two
    south.note("before")
    north.take(south.export())
    south.around = Surroundings(FixedClock(START - timedelta(hours=5)), FixedBytes("south set back"))
    south.note("after the clock was set back")
    assert north.take(south.export()).entries == 1


def test_another_log_is_refused(two: tuple[Laptop, Laptop], tmp_path: Path) -> None:
    other = Laptop(tmp_path, "elsewhere")
    other.note("mine")
    assert "another log" in refused(two[0], other.export())


def test_a_bundle_is_never_made_a_log_over_another_file(two: tuple[Laptop, Laptop], tmp_path: Path) -> None:
    north, _ = two
    fresh = Laptop(tmp_path, "fresh")
    looked = fresh.look(north.export())
    fresh.note("a log came to be in between")
    with pytest.raises(LogError, match="there already"):
        bundles.take(fresh.at, fresh.around, "Ada", looked)


def test_photos_go_and_contacts_go_only_when_asked(two: tuple[Laptop, Laptop]) -> None:
    from seasonlog.journal.blobs import Blobs

    north, south = two
    photo = Blobs(north.at.attachments).put(b"a photo", north.around.random_bytes)
    number = Blobs(north.at.details).put(b"555-0100", north.around.random_bytes)
    body = {"attachment": "A-1", "sha256": photo, "kind": "photo", "format": "jpeg", "bytes": 7, "name": "x.jpg",
            "tower": "T-1", "visit": "", "step": "", "taken_at": "", "taken_from": "", "keep_until": "",
            "words": ""}  # fmt: skip
    north.write(Record(Kind.ATTACHED, body))
    item = {"id": "T", "name": "T", "kept_apart": {"sha256": number, "keep_until": ""}}
    north.write(Record(Kind.REGISTER_RECORDED, {"what": "site", "id": "T", "item": item}))
    without = north.export()
    assert b"NTU1LTAxMDA" not in without
    assert south.take(without).files == 1
    assert (Blobs(south.at.attachments).read(photo), Blobs(south.at.details).read(number)) == (b"a photo", None)
    south.take(north.export(with_contacts=True))
    assert Blobs(south.at.details).read(number) == b"555-0100"
