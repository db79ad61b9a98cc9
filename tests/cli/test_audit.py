"""Coverage, records, trends and instruments on the command line; the auditor's command writes nothing."""

import hashlib
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from seasonlog.journal.bundle import taken_apart
from seasonlog.services import closing, register, registry
from tests.audit_story import LATE, TOWER
from tests.builders import a_book, a_visit, answered
from tests.cli.runner import Ran, seasonlog


@pytest.fixture(scope="module")
def told(winters: tuple[Path, str]) -> tuple[Path, str]:
    return winters


def run(told: tuple[Path, str], *words: str | Path, name: str | None = None) -> Ran:
    return seasonlog(*words, "--log", told[0], name=name)


def test_the_table_names_what_is_missing_first(told: tuple[Path, str]) -> None:
    ran = run(told, "coverage", "--seasons", "5", "--site", "HOS", "--today", "2026-09-15")
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert lines[0].startswith("MISSING")
    assert f"LATE      {TOWER}/fall-enable/{LATE}  made {LATE}-10-20 by Mirel Oduvane" in lines
    document = run(told, "coverage", "--seasons", "5", "--site", "HOS", "--today", "2026-09-15", "--json").json
    assert len(document["cells"]) == len(lines) - 1
    assert document["seasons"] == [2022, 2023, 2024, 2025, 2026]


def test_both_tables_name_the_towers_in_one_order(told: tuple[Path, str]) -> None:
    """Site by site, whenever they were put on record."""
    log = ("--today", "2026-09-15", "--json")
    proven = [row["tower"] for row in run(told, "coverage", *log).json]
    table = [row["tower"] for row in run(told, "coverage", "--seasons", "1", *log).json["towers"] if not row["retired"]]
    assert proven == table
    assert len(table) > 5


def test_a_cell_opens(told: tuple[Path, str]) -> None:
    cell = f"{TOWER}/fall-enable/{LATE}"
    ran = run(told, "coverage", "--open", cell, "--today", "2026-09-15")
    assert "broken      Made in its window: made 47 days after" in ran.out
    assert "None of these rules binds a basin heater" in ran.out
    found = run(told, "coverage", "--open", cell, "--today", "2026-09-15", "--json").json
    assert found["visits"][0]["results"][0]["rule"] == "in_its_window"
    assert found["visits"][0]["evidence"][0]["kind"] == "visit_started"
    for wrong in ("HOS-1", "HOS-1/fall-enable/x", "HOS-1/fall-enable/20266"):
        assert run(told, "coverage", "--open", wrong).code == 2
    assert run(told, "coverage", "--open", "HOS-9/fall-enable/2026").code == 3
    unknown = run(told, "coverage", "--open", f"{TOWER}/fall-enabel/2026")
    assert (unknown.code, unknown.out) == (3, "")
    assert "checklist fall-enabel: is not known; there are cold-snap, commissioning, fall-enable" in unknown.err


def test_a_tower_that_is_gone_and_why_a_cell_was_not_asked_are_told(tmp_path: Path) -> None:
    """Retired, drained, not on record yet: each leaves a cell empty, and the reader must see which it is."""
    with a_book(tmp_path) as book:
        drained = replace(registry.whole(book.db).towers[TOWER], id="HOS-8", winter="drained")
        register.write(book, register.preview(registry.whole(book.db), [drained]))
        closing.sign_off(book, answered(book, a_visit(book, "HOS-8")), closing.NOT_AVAILABLE)
        register.retire(book, "tower", "HOS-8", "taken down")
    log = (str(tmp_path / "seasonlog.db"), "--today", "2026-09-20")
    (line,) = [
        each for each in seasonlog("coverage", "--seasons", "1", "--log", *log).out.splitlines() if "HOS-8/fall" in each
    ]
    assert line.endswith("(the tower was retired on 2026-09-15)")
    told = seasonlog("coverage", "--open", "HOS-8/mid-winter/2026", "--log", *log).out
    assert "NOT ASKED  HOS-8 mid-winter 2026: not asked\n" in told
    assert "HOS-8 is on record since 2026-09-15, retired on 2026-09-15; winters as drained\n" in told
    nothing = seasonlog("trend", "HOS-2", "--log", *log)
    assert (nothing.code, nothing.out) == (0, "")
    assert "HOS-2: nothing was measured on it yet." in nothing.err


def test_a_record_tells_old_new_who_when_and_why(told: tuple[Path, str]) -> None:
    ran = run(told, "record", told[1])
    (line,) = [each for each in ran.out.splitlines() if "CORRECTION" in each]
    for words in (
        "2.15 / 18.7 / 18.7 A -> 18.6 / 18.7 / 18.7 A",
        "by Mirel Oduvane",
        "2026-09-15 08:",
        "point slipped",
    ):
        assert words in line
    (change,) = [e["correction"] for e in run(told, "record", told[1], "--json").json["entries"] if e["correction"]]
    assert {"old", "new", "who", "when", "why", "corrects"} == set(change)
    assert all(change.values())
    assert run(told, "record", "V-nobody").code == 3


def test_a_trend_in_words_and_as_data(told: tuple[Path, str]) -> None:
    ran = run(told, "trend", TOWER, "insulation_mohm")
    assert "LOOK: Insulation of the heater to its sheath at HOS-1-H falls" in ran.out
    document = run(told, "trend", TOWER, "insulation_mohm", "--json").json
    assert [p["value"] for p in document["points"]][-2:] == [47.0, 33.0]
    assert document["runs"][-1]["matters"] is True
    assert "line_amps" in run(told, "trend", TOWER).out
    assert run(told, "trend", TOWER, "no_such").code == 3


def test_the_auditors_command_writes_nothing(told: tuple[Path, str], tmp_path: Path) -> None:
    before = hashlib.sha256(told[0].read_bytes()).hexdigest()
    ran = run(told, "audit", "--site", "HOS", "--today", "2026-09-15")
    assert ran.out == run(told, "coverage", "--seasons", "5", "--site", "HOS", "--today", "2026-09-15").out
    target = tmp_path / "evidence.bundle"
    assert run(told, "audit", "--bundle", target).code == 0
    assert len(taken_apart(target.read_bytes(), "x").entries) > 1000
    assert hashlib.sha256(told[0].read_bytes()).hexdigest() == before


def test_an_instrument_is_recalled_and_reviewed(told: tuple[Path, str], tmp_path: Path) -> None:
    shutil.copytree(told[0].parent, tmp_path / "copy")
    log = (tmp_path / "copy" / told[0].name, "")
    listed = run(log, "instrument", "recall", "IN-01", "--since", "2025-01-01")
    assert listed.out.splitlines()[-1].startswith("4 readings, 2 visits, 1 tower rest on IN-01")
    assert (
        run(log, "instrument", "recall", "IN-01", "--since", "2025-01-01", "--because", "as found 30 % high").code == 2
    )
    done = run(
        log, "instrument", "recall", "IN-01", "--since", "2025-01-01", "--because", "high", "--json", name="Halden"
    )
    (recall,) = done.json["recalls"]
    assert {r["verdict"] for r in done.json["readings"]} == {"cannot_tell"}
    assert "not proven" in run(log, "coverage", "--site", "HOS", "--today", "2026-09-15").out.splitlines()[0]
    assert "NOT REVIEWED" in run(log, "instrument", "list").out
    assert run(log, "instrument", "review", recall["recall"], "--because", "x", name="Halden").code == 2
    back = run(log, "instrument", "review", recall["recall"], "--stands", "--because", "same as IN-02", name="Halden")
    assert back.code == 0
    assert "  proven" in run(log, "coverage", "--site", "HOS", "--today", "2026-09-15").out.splitlines()[0]
    checked = run(log, "instrument", "check", "IN-01", "1 Mohm box: 1.0", name="Halden")
    assert checked.out.startswith("IN-01 checked on")


def test_a_quick_proof_says_that_it_did_not_look_at_the_tables(told: tuple[Path, str]) -> None:
    """What a reader relies on next, coverage, is read from tables; only the full proof holds them against the log."""
    assert "quick (every hash and link, last signatures; tables not looked at)" in run(told, "verify", "--quick").out
    assert "full (every hash, link and signature)" in run(told, "verify").out


def test_a_yearly_review_says_that_it_was_written_and_an_entry_is_not_taken_for_a_visit(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = a_visit(book).visit.id
    log = ("--log", str(tmp_path / "seasonlog.db"))
    ran = seasonlog("coverage", "--review", "looked through", *log, name="Halden Pruskett")
    assert (ran.code, "The yearly review is in the log" in ran.err) == (0, True)
    wrong = seasonlog("verify", "--entry", visit, *log)
    assert (wrong.code, "`seasonlog record` names every entry of a visit" in wrong.err) == (3, True)
    assert seasonlog("verify", "--entry", f"{visit}:start", *log).code == 0
