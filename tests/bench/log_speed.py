"""The log: a saved answer against a raw durable commit, and the proof of a long log against a bare loop."""

import json
import os
import secrets
import statistics
from collections.abc import Iterator
from pathlib import Path

from seasonlog.journal.clock import SystemClock
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft
from seasonlog.journal.verify import verify
from seasonlog.services import rounds
from tests.bench import floors
from tests.builders import a_book, a_visit

ENTRIES = int(os.environ.get("SEASONLOG_BENCH_ENTRIES", "100000"))
"""A million when the environment says so: some twenty minutes."""
ANSWERS = 200


def saved_answer(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    commits: list[str] = []
    ours, floor = [], []
    raw = floors.raw_log(folder)
    with a_book(folder) as book:
        at = rounds.answer(book, a_visit(book), "supply_volts", ("480", "479", "481"))
        book.journal.pen().connection.set_trace_callback(commits.append)
        for number in range(ANSWERS):
            floor.append(floors.seconds(lambda: floors.raw_commit(raw, b"x" * 1500)))
            options = rounds.AnswerOptions(because=f"bench {number}")
            given = ("21.5", "21.4", f"21.{number % 8}")
            ours.append(
                floors.seconds(
                    lambda at=at, given=given, options=options: rounds.answer(book, at, "line_amps", given, options)
                )
            )
            at = rounds.progress(book, at.visit.id, at.register)
    extra = 1000 * (statistics.median(ours) - statistics.median(floor))
    yield "saved answer above a raw commit (median)", extra, 1.5, "ms"
    yield "durable commits per saved answer", sum(sql == "COMMIT" for sql in commits) / ANSWERS, 1, "commits"


def verified(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    path = folder / "seasonlog.db"
    body = {"visit": "V-3f9a0c1b7e22", "step": "line_amps", "value": ["18.6", "18.7", "18.7"], "verdict": "pass",
            "basis": "18 kW, 480 V, 3-phase: 21.65 A; at 474 V measured 21.38 A"}  # fmt: skip
    tools = {"keys_dir": folder / "keys", "clock": SystemClock(), "random_bytes": secrets.token_bytes}
    with Journal.create(path, who="Bench", **tools) as journal:
        for _ in range(ENTRIES // 5000):
            journal.append([Draft("step_answered", body, "Bench")] * 5000)
        rows = [
            (json.loads(line)["dev"], line, sig)
            for line, sig in journal.connection.execute("SELECT line, sig FROM entry")
        ]
        keys = {journal.first.entry.dev: bytes.fromhex(str(journal.first.entry.body["key"]))}
    quick = min(floors.seconds(lambda: verify(path, depth="quick")) for _ in range(3))
    hashes = min(floors.seconds(lambda: floors.bare_hashes(path)) for _ in range(3))
    yield f"verify --quick of {ENTRIES} entries", quick, 1.5 * ENTRIES / 100_000, "s"
    yield "verify --quick / bare loop over the same hashes", quick / hashes, 4, "ratio"
    bare = floors.seconds(lambda: floors.bare_verify(keys, rows))
    full = floors.seconds(lambda: verify(path))
    yield "verify (full) / bare loop over the same signatures", full / bare, 2, "ratio"
