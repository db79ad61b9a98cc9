"""The device's key: RFC 8032, private on disk, and never two entries with one number."""

import shutil
import stat
import sys
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal.encoding import fingerprint
from seasonlog.journal.keys import DeviceKey, KeyFiles, Tail
from seasonlog.journal.store import Journal
from seasonlog.journal.verify import verify
from tests.journal.logs import Seeded, closed_log, new_log, note, surroundings

# RFC 8032 section 7.1, tests 1 to 3: secret key, public key, message, signature.
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655"
        "141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00"
        "d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc02"
        "7beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032, ids=["test-1", "test-2", "test-3"])
def test_a_key_signs_as_rfc_8032_says(secret: str, public: str, message: str, signature: str) -> None:
    key = DeviceKey(bytes.fromhex(secret))
    assert key.public.hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature
    assert key.dev == fingerprint(bytes.fromhex(public))


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps permissions elsewhere")
def test_only_the_user_may_read_the_key(tmp_path: Path) -> None:
    with new_log(tmp_path):
        pass
    modes = {path.suffix: stat.S_IMODE(path.stat().st_mode) for path in (tmp_path / "keys").iterdir()}
    assert modes == {".key": 0o600, ".tail": 0o600}
    assert stat.S_IMODE((tmp_path / "keys").stat().st_mode) == 0o700


def test_the_key_on_disk_is_the_one_that_signed(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        journal.append([note("x")])
        files = KeyFiles(tmp_path / "keys", journal.log_id)
        key, last = files.load(), journal.last()
        assert key is not None
        assert key.dev == journal.device_id == last.entry.dev
        assert journal.first.entry.body["key"] == key.public.hex()
        assert files.tail() == Tail(key.dev, last.entry.seq, last.hash)


def test_a_new_key_leaves_the_old_one_aside(tmp_path: Path) -> None:
    files = KeyFiles(tmp_path, "ab" * 16)
    made = [files.make(Seeded(f"key {number}")) for number in range(3)]
    assert len({key.dev for key in made}) == 3
    loaded = files.load()
    assert loaded is not None
    assert loaded.dev == made[2].dev
    assert [path.suffix for path in sorted(tmp_path.glob("*.retired*"))] == [".retired-1", ".retired-2"]


@pytest.mark.parametrize("left", [b"", b"not hex", b"abcd", b"\xff" * 64], ids=["empty", "words", "short", "bytes"])
def test_a_spoilt_key_file_is_put_aside_for_a_new_device(tmp_path: Path, left: bytes) -> None:
    log = closed_log(tmp_path, 2)
    (key,) = (tmp_path / "keys").glob("*.key")
    key.write_bytes(left)
    appended_by_a_new_device(log)


@pytest.mark.parametrize("left", [b"", b"x" * 99, b"0 0 0\n"], ids=["empty", "long", "short"])
def test_a_device_that_lost_its_memory_begins_anew(tmp_path: Path, left: bytes) -> None:
    log = closed_log(tmp_path, 2)
    (tail,) = (tmp_path / "keys").glob("*.tail")
    tail.write_bytes(left)
    appended_by_a_new_device(log)


def appended_by_a_new_device(log: Path) -> None:
    with Journal.open(log, **surroundings(log.parent, "anew")) as journal:
        first, (stored,) = journal.first, journal.append([note("after")])
        assert stored.entry.dev != first.entry.dev
        assert stored.entry.seq == 2
    assert verify(log, keys_dir=log.parent / "keys").ok


def test_a_restored_log_begins_one_new_device_and_stays_with_it(tmp_path: Path) -> None:
    log = closed_log(tmp_path, 3)
    shutil.copy(log, tmp_path / "copy")
    with Journal.open(log, **surroundings(tmp_path)) as journal:
        journal.append([note("lost with the restore")])
    shutil.copy(tmp_path / "copy", log)
    devices = set()
    for run in range(3):
        with Journal.open(log, **surroundings(tmp_path, f"run {run}")) as journal:
            devices.add(journal.append([note("after")])[0].entry.dev)
    assert len(devices) == 1
    assert verify(log, keys_dir=tmp_path / "keys").devices == 2


def test_a_copy_that_another_machine_wrote_on_begins_a_new_device_here(tmp_path: Path) -> None:
    """Both wrote their fourth entry with the same key; the one brought back is not the one remembered here."""
    log = closed_log(tmp_path / "here", 2)
    shutil.copytree(tmp_path / "here", tmp_path / "there")
    for place in ("here", "there"):
        with Journal.open(tmp_path / place / "seasonlog.db", **surroundings(tmp_path / place, place)) as journal:
            device = journal.append([note(f"written {place}")])[0].entry.dev
    shutil.copy(tmp_path / "there" / "seasonlog.db", log)
    found = verify(log, keys_dir=tmp_path / "here" / "keys")
    assert (found.ok, found.first_bad and found.first_bad.seq) == (False, 4)
    with Journal.open(log, **surroundings(tmp_path / "here", "again")) as journal:
        assert journal.append([note("after")])[0].entry.dev != device
    assert verify(log, keys_dir=tmp_path / "here" / "keys").ok


def test_an_open_program_goes_on_with_the_key_another_one_made(tmp_path: Path) -> None:
    """The keys folder is lost while two programs have the log open; neither ever writes a number twice."""
    with new_log(tmp_path, "one") as first, Journal.open(first.path, **surroundings(tmp_path, "two")) as second:
        first.append([note("a")])
        shutil.rmtree(tmp_path / "keys")
        made = second.append([note("b")])[0].entry
        went_on = first.append([note("c")])[0].entry
        assert (went_on.dev, went_on.seq) == (made.dev, made.seq + 1)
    assert verify(first.path).ok


def test_what_a_killed_key_making_left_does_no_harm(tmp_path: Path) -> None:
    files = KeyFiles(tmp_path, "cd" * 16)
    for name in (".key.new", ".tail.new"):
        (tmp_path / ("cd" * 16 + name)).write_bytes(b"half")
    key = files.make(Seeded())
    assert files.load() is not None
    assert files.tail() == Tail(key.dev, 0, bytes(32))
    assert not list(tmp_path.glob("*.new"))


def test_a_keys_folder_that_cannot_be_made_is_said_and_nothing_is_written(tmp_path: Path) -> None:
    log = closed_log(tmp_path, 1)
    shutil.rmtree(tmp_path / "keys")
    (tmp_path / "keys").write_text("a file in the way")
    with Journal.open(log, **surroundings(tmp_path, "x")) as journal:
        with pytest.raises(LogError, match="not saved"):
            journal.append([note("b")])
        assert journal.count() == 2
