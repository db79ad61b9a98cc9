"""Does the log keep what it said is saved? Every test of that, in one run, with the figures that are promised.

python -m tests.durability          some five minutes
python -m tests.durability --long   a quarter of an hour: ten times as many cuts, kills and flips
"""

import os
import subprocess
import sys
import time

ROWS = (
    ("kill -9 while visits are answered", "tests/services/test_killed_visits.py", ""),
    ("power cut; with less than FULL it must fail", "tests/journal/test_crash_power.py", ""),
    ("killed at every write and sync", "tests/journal/test_crash_system_calls.py", "killed_at_every or synced"),
    ("five faults of the disk", "tests/journal/test_crash_system_calls.py", "disk"),
    ("a save that failed stays on the screen", "tests/tui/test_visit.py", "could_not_be_saved"),
    ("two programs write at once", "tests/journal/test_store.py", "two_processes"),
    ("backup while writing; restore", "tests/journal/test_store.py tests/services/test_copies.py", "backup or restore"),
    ("flipped bits of the log", "tests/journal/test_attacks.py", "flipped"),
    ("... also of its tables, definitions, evidence", "tests/journal/test_tables_rot.py", "flipped"),
    ("flipped bits and cuts of a bundle", "tests/journal/test_bundle.py", "flipped or cut"),
)
"""What is tested, where, and which of the tests there."""


def main(arguments: list[str]) -> int:
    factor = "40" if "--long" in arguments else "4"
    environ = os.environ | {"SEASONLOG_DURABILITY": factor}
    missed = 0
    for name, places, words in ROWS:
        began = time.monotonic()
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n0", *places.split()]
        done = subprocess.run(
            [*command, *(["-k", words] if words else [])], env=environ, capture_output=True, text=True
        )
        good = done.returncode == 0
        missed += not good
        last = (done.stdout.strip().splitlines() or ["nothing ran"])[-1]
        print(f"{'ok  ' if good else 'MISS'} {name:48} {time.monotonic() - began:6.0f} s  {last}", flush=True)
        if not good:
            print(done.stdout[-3000:])
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
