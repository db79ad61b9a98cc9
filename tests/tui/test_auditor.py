"""The auditor's screens: what is missing first, every rule, every entry; hostile words; nothing is ever written."""

import hashlib
import re
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot
from textual.widgets import Static

from seasonlog.domain.audit_rules import RULES
from seasonlog.domain.audit_words import AMISS
from seasonlog.domain.coverage_cells import CellKey
from seasonlog.domain.visit import VisitState
from seasonlog.journal.bundle import taken_apart
from seasonlog.services import closing, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from seasonlog.tui.auditor import AuditApp
from seasonlog.tui.screens.auditor import AuditorScreen, CellScreen, RecordScreen, TowerCoverageScreen
from seasonlog.tui.screens.text import TextSheet
from seasonlog.tui.screens.trends import TrendsScreen
from tests.audit_story import LATE, TOWER
from tests.builders import QUALIFIED, TODAY, a_book, a_visit, around, hostile
from tests.tui.conftest import SIZES, row_keys, row_texts, seen, settled, tap_row

Show = Callable[[AuditApp, Pilot[Any]], Awaitable[None]]


@pytest.fixture(scope="module")
def told(winters: tuple[Path, str]) -> tuple[Places, str]:
    """The log's place and the corrected visit."""
    return Places(winters[0]), winters[1]


def the_app(at: Places, *, site: str = "", theme: str = "night") -> AuditApp:
    app = AuditApp(Logbook.open_untouched(at, around()), site, TODAY)
    app.theme = theme
    return app


async def test_what_is_missing_comes_first_and_opens_down_to_the_entry(told: tuple[Places, str]) -> None:
    before = hashlib.sha256(told[0].log.read_bytes()).hexdigest()
    app = the_app(told[0], site="HOS")
    async with app.run_test(size=(100, 40)) as pilot:
        await settled(pilot)
        keys = row_keys(app, "#gaps")
        assert f"cell:{TOWER}/fall-enable/{LATE}" in keys
        assert "MISSING" in row_texts(app, "#gaps")[1]
        app.screen.query_one("#gaps").go_to(f"cell:{TOWER}/fall-enable/{LATE}")  # type: ignore[attr-defined]
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, CellScreen)
        assert "made 47 days after its last sensible day" in seen(app)
        assert "None of these rules binds a basin heater" in " ".join(row_texts(app, "#rules"))
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, RecordScreen)
        assert "visit started: fall-enable" in " ".join(row_texts(app, "#entries"))
        await pilot.press("enter")
        await settled(pilot)
        assert '"checklist": "fall-enable"' in seen(app)
    app.book.close()
    assert hashlib.sha256(told[0].log.read_bytes()).hexdigest() == before


async def test_a_cell_names_its_season_as_the_table_does_at_every_width(told: tuple[Places, str]) -> None:
    """South of the equator a season runs February to January and is named by one year."""
    app = the_app(told[0])
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        for tower, short in (("ORR-1", "2026"), (TOWER, "26/27"), ("NONE-1", "26/27")):
            screen = CellScreen(CellKey(tower, "fall-enable", 2026))
            await app.push_screen(screen)
            forms = [form.plain for form in screen.headings()]
            assert forms == [f"{tower}  fall enable {short}", f"{tower} F {short}", tower]
            await settled(pilot)
    app.book.close()


def test_every_rule_says_what_is_wrong_when_it_is_broken() -> None:
    assert set(AMISS) == {rule.name for rule in RULES}


async def test_what_is_wrong_stands_first_and_every_rule_is_one_key_away(told: tuple[Places, str]) -> None:
    """Rules that are kept take one row; it opens all of them with the requirement each serves."""
    app = the_app(told[0], site="HOS")
    async with app.run_test(size=(100, 60)) as pilot:
        await settled(pilot)
        await app.push_screen(CellScreen(CellKey(TOWER, "fall-enable", LATE)))
        await settled(pilot)
        texts = row_texts(app, "#rules")
        late = next(at for at, text in enumerate(texts) if text.startswith("Made late"))
        kept = next(at for at, text in enumerate(texts) if "rules kept" in text)
        assert late < kept
        assert "WINDOWS · 1" in texts[kept + 1]
        await tap_row(pilot, "#rules", next(key for key in row_keys(app, "#rules") if key.startswith("rules:")))
        assert isinstance(app.screen, TextSheet)
        shown = " ".join(str(app.screen.words).split())
        for rule in RULES:
            assert rule.title in shown
            assert rule.requirement in shown
    app.book.close()


async def test_every_tower_and_its_seasons(told: tuple[Places, str]) -> None:
    app = the_app(told[0], site="HOS")
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        await pilot.press("2")
        await settled(pilot)
        text = seen(app)
        assert "22/23 F~M!S!" in text
        assert "24/25 F✓M!S!" in text
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, TowerCoverageScreen)
        assert "SEASON 26/27" in seen(app)
        assert row_keys(app, "#cells")[0] == f"trends:{TOWER}"
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, TrendsScreen)
        assert "LOOK AT IT" in seen(app)
        words = str(app.screen.query_one("#plot-told", Static).content)
        assert "falls: 5 readings since 2022-10-20" in words
        assert "inside its warranty" in words
    app.book.close()


async def test_a_correction_shows_old_new_who_when_and_why(told: tuple[Places, str]) -> None:
    at, visit = told
    app = the_app(at)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.push_screen(RecordScreen(visit))
        await settled(pilot)
        text = seen(app)
        assert "2.15 / 18.7 / 18.7 A → 18.6 / 18.7 / 18.7 A" in text
        assert "because point slipped [A] 12" in text
        assert QUALIFIED in text
        assert "2026-09-15 08:" in text
    app.book.close()


async def test_the_proof_with_progress(told: tuple[Places, str]) -> None:
    app = the_app(told[0])
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("v")
        await settled(pilot)
        assert "PROVED" in seen(app)
        assert "every hash, link and signature" in seen(app)
        assert isinstance(app.screen, AuditorScreen)
        assert app.screen.verdict is not None
        assert app.screen.verdict.ok
        assert "PROVED" in row_texts(app, "#proofs")[0]
        assert "began the log" in " ".join(row_texts(app, "#proofs"))
        assert app.screen.query_one("#proofs").scroll_offset.y == 0, "the verdict stands in view"
    app.book.close()


async def test_the_evidence_is_a_bundle_and_no_file_is_lost(
    told: tuple[Places, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    app = the_app(told[0])
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        entries = app.book.journal.count()
    app.book.close()
    files = sorted(file.name for file in tmp_path.iterdir())
    assert files == ["seasonlog-evidence-2026-09-15-1.bundle", "seasonlog-evidence-2026-09-15.bundle"]
    assert len(taken_apart((tmp_path / files[1]).read_bytes(), files[1]).entries) == entries


async def test_an_empty_log(tmp_path: Path) -> None:
    with a_book(tmp_path, sites=False):
        pass
    app = the_app(Places(tmp_path / "seasonlog.db"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Nothing is missing" in seen(app)
        await pilot.press("2")
        await settled(pilot)
        assert "No towers yet" in seen(app)
    app.book.close()


async def test_hostile_words_are_only_words(shared: Path, tmp_path: Path) -> None:
    """Names, reasons and notes of people: shown as typed or by stand-ins, nothing acts on the terminal."""
    from tests.tui.test_hostile import AREAS, acting

    texts = [c["input"] for c in hostile(shared, *AREAS) if isinstance(c.get("input"), str) and c["input"].strip()]
    assert len(texts) > 25
    with a_book(tmp_path) as book:
        at = a_visit(book)
        for number, text in enumerate(texts):
            at = rounds.answer(
                book, at, "supply_volts", ("480",) * 3, rounds.AnswerOptions(note=text, because=f"{number} {text}")
            )
            rounds.add_note(book, TOWER, text, at.visit.id)
        closing.close_unfinished(book, at, VisitState.NOT_POSSIBLE, texts[0])
        visit = at.visit.id
    app = the_app(Places(tmp_path / "seasonlog.db"))
    async with app.run_test(size=(80, 200)) as pilot:
        await settled(pilot)
        for screen in (RecordScreen(visit), CellScreen(CellKey(TOWER, "fall-enable", 2026)), TrendsScreen(TOWER)):
            await app.push_screen(screen)
            await settled(pilot)
            assert acting(app) == []
            for _ in range(12):
                await pilot.press("pagedown")
                assert acting(app) == []
        await app.push_screen(RecordScreen(texts[1]))  # a name nobody has
        await settled(pilot)
        assert acting(app) == []
    app.book.close()


async def gaps(app: AuditApp, pilot: Pilot[Any]) -> None:
    """The first screen."""


async def table(app: AuditApp, pilot: Pilot[Any]) -> None:
    await pilot.press("2")


async def cell(app: AuditApp, pilot: Pilot[Any]) -> None:
    app.push_screen(CellScreen(CellKey(TOWER, "fall-enable", LATE)))


async def record(app: AuditApp, pilot: Pilot[Any]) -> None:
    app.push_screen(RecordScreen(app.book.db.execute("SELECT visit FROM proof WHERE tower='HOS-2'").fetchone()[0]))


async def trends(app: AuditApp, pilot: Pilot[Any]) -> None:
    app.push_screen(TrendsScreen(TOWER))


PICTURES: list[tuple[Show, str, str]] = [
    (gaps, "laptop", "night"), (gaps, "narrow", "sun"), (table, "wide", "night"), (table, "narrow", "night"),
    (cell, "laptop", "night"), (cell, "narrow", "sun"), (record, "laptop", "sun"), (record, "narrow", "night"),
    (trends, "wide", "sun"), (trends, "laptop", "night"), (trends, "narrow", "night"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("show", "size", "theme"), PICTURES, ids=[f"{show.__name__}-{size}-{theme}" for show, size, theme in PICTURES]
)
async def test_picture(show: Show, size: str, theme: str, told: tuple[Places, str], svg: SnapshotAssertion) -> None:
    from tests.tui.test_pictures import at_rest

    app = the_app(told[0], theme=theme)
    async with app.run_test(size=SIZES[size], notifications=False, tooltips=False) as pilot:
        await settled(pilot)
        await show(app, pilot)
        picture = await at_rest(app, pilot)
    app.book.close()
    assert re.sub(r"V-[0-9a-f]{12}", "V-000000000000", picture).encode() == svg


async def test_the_first_screen_says_that_an_instrument_is_recalled(tmp_path: Path) -> None:
    from datetime import date

    from seasonlog.services import recall
    from seasonlog.tui.app import SeasonlogApp

    with a_book(tmp_path) as book:
        recall.recall(book, "CL-01", date(2026, 9, 1), "dropped on the roof [A]")
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            assert "CL-01 is recalled for readings since 2026-09-01" in seen(app)
            assert "dropped on the roof [A]; review R-" in seen(app)


async def test_a_towers_page_tells_what_the_years_tell(told: tuple[Places, str]) -> None:
    from seasonlog.tui.app import SeasonlogApp

    with Logbook.open(told[0], around(), "", writing=False) as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 40)) as pilot:
            app.open_tower(TOWER)
            await settled(pilot)
            rows = " ".join(row_texts(app, "#state"))
            assert "Insulation of the heater to its sheath at HOS-1-H falls 5 readings since 2022-10-20" in rows
            assert "inside its warranty" in rows
            await pilot.press("y")
            await settled(pilot)
            assert isinstance(app.screen, TrendsScreen)
