"""What the system does to the writer: syncs counted, every write or sync the last one, errors of the disk."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal.store import Journal
from seasonlog.journal.verify import verify
from tests.builders import a_book
from tests.journal.logs import closed_log, new_log, note, surroundings
from tests.journal.traced import a_log, run_appender, strace, uids
from tests.scale import scaled

WRITES = "pwrite64,fdatasync,fsync,ftruncate,unlink,rename"


def test_each_saved_entry_is_synced(tmp_path: Path) -> None:
    """Between two lines that say `saved` there is at least one fsync or fdatasync."""
    said = run_appender(a_log(tmp_path), 20, "-e", "trace=fsync,fdatasync,write", "-s", "32")
    assert len(said.saved) == 20
    assert min(syncs_before_saved(said.trace)) >= 1


def syncs_before_saved(trace: str) -> list[int]:
    """How many syncs came before each line that says `saved`, counted from the one before."""
    syncs = [0]
    for line in trace.splitlines():
        if "write(1, " in line and '"saved' in line:
            syncs.append(0)
        elif re.search(r"\bf(data)?sync\(", line):
            syncs[-1] += 1
    return syncs[:-1]


def test_each_answer_of_a_visit_is_synced_before_it_is_said_to_be_saved(tmp_path: Path) -> None:
    with a_book(tmp_path):
        pass
    answers = tmp_path / "answers.toml"
    answers.write_text('[answers]\nprobe_plumb_deg = "2"\nbasin_clean = "yes"\nno_leaks = "yes"\noff_warm = "yes"\n')
    trace = tmp_path / "trace.txt"
    command = [strace(), "-f", "-qq", "-o", str(trace), "-e", "trace=fsync,fdatasync,write", "-s", "32", sys.executable]
    words = ["visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--by", "Ada", "--answers", str(answers)]
    log = ["--log", str(tmp_path / "seasonlog.db")]
    subprocess.run([*command, "-m", "seasonlog", *words, *log], capture_output=True, timeout=60, check=True)
    syncs = syncs_before_saved(trace.read_text("utf-8", "replace"))
    assert len(syncs) == 4
    assert min(syncs) >= 1


def test_the_real_writer_runs_with_synchronous_full(tmp_path: Path) -> None:
    """2 = FULL, read back from the connection that writes (SQLite's documentation of `synchronous`)."""
    with new_log(tmp_path) as journal:
        connection = journal.pen().connection
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA wal_autocheckpoint").fetchone() == (0,)


def test_killed_at_every_write_and_sync(tmp_path: Path) -> None:
    """The process is killed at its first, second, ... write or sync; whatever it said is saved is there each time."""
    points, count = 0, min(16, scaled(4))
    while True:
        points += 1
        log = a_log(tmp_path / str(points))
        said = run_appender(log, count, "-e", f"trace={WRITES}", "-e", f"inject={WRITES}:signal=KILL:when={points}")
        kept = uids(log)
        assert set(said.saved) <= kept
        assert len(kept - set(said.saved)) <= 2  # the log's first entry, and one committed but not said yet
        assert verify(log, keys_dir=log.parent / "keys").ok
        if len(said.saved) == count and "KILL" not in said.trace:
            break
    assert points >= 12


@pytest.mark.parametrize(("call", "error"), [("fdatasync", "EIO"), ("pwrite64", "EIO"), ("pwrite64", "ENOSPC")])
def test_an_error_of_the_disk_is_one_sentence_and_loses_nothing(tmp_path: Path, call: str, error: str) -> None:
    log = a_log(tmp_path)
    said = run_appender(log, 12, "-e", f"trace={call}", "-e", f"inject={call}:error={error}:when=9")
    assert said.refused, said
    assert "is not saved" in said.refused[0]
    assert "Traceback" not in said.err
    kept = uids(log)
    assert set(said.saved) <= kept
    assert len(said.saved) >= 8  # those before and those after the one error
    assert verify(log).ok


def test_a_full_disk_is_said_and_the_next_save_works_when_there_is_room(tmp_path: Path) -> None:
    script = """
import resource, sys
from pathlib import Path
from seasonlog.errors import LogError
from seasonlog.journal.store import Journal
from tests.builders import a_book
from tests.journal.logs import note, surroundings
folder = Path(sys.argv[1])
journal = Journal.open(folder / "seasonlog.db", **surroundings(folder))
size = (folder / "seasonlog.db-wal").stat().st_size + 200000
resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
import signal
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
saved = 0
try:
    while True:
        journal.append([note("x" * 500, f"n{saved}")])
        saved += 1
except LogError as error:
    print(saved, error)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
journal.append([note("after", f"n{saved}")])
print("again")
journal.close()
"""
    closed_log(tmp_path, 3)
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path)], capture_output=True, text=True, timeout=60, check=False
    )
    first, second = done.stdout.splitlines()
    assert int(first.split()[0]) > 3, done
    assert "not saved" in first
    assert second == "again"
    assert {f"n{i}" for i in range(int(first.split()[0]) + 1)} <= uids(tmp_path / "seasonlog.db")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="mounting a small disk needs root")
def test_a_small_disk_really_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(disk)], check=False)
    assert mounted.returncode == 0
    try:
        journal = new_log(disk)
        saved = 0
        with pytest.raises(LogError, match="full"):  # noqa: PT012  (which save meets the full disk is not known)
            for saved in range(5000):
                journal.append([note("y" * 900, f"n{saved}")])
        assert saved > 20
        assert {f"n{i}" for i in range(saved)} <= uids(disk / "seasonlog.db")
        journal.connection.close()
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=True)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="mounting a disk read-only needs root")
def test_a_read_only_disk_can_be_read_and_says_why_nothing_is_saved(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(disk)], check=True)
    try:
        log = closed_log(disk, 5)
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        assert verify(log).ok
        with Journal.open_read_only(log) as journal:
            assert journal.count() == 6
        with pytest.raises(LogError, match="read-only"):
            Journal.open(log, **surroundings(disk))
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=True)
