"""A whole visit by phrases: the log is the one that keys would have written, but for how it was entered."""

import json
from pathlib import Path
from typing import Any

import pytest

from seasonlog.domain.desk import Mode, opened
from seasonlog.services import checklists, rounds
from seasonlog.services.demo import healthy
from seasonlog.services.logbook import Logbook
from seasonlog.voice.session import Session
from tests.builders import a_book, a_visit, sample_register
from tests.voice.phrasing import said

HOW = {"heard"}
"""What may differ: how an answer was entered."""


def by_keys(book: Logbook, tower: str, checklist: str) -> None:
    at = a_visit(book, tower, checklist)
    desk = opened(at)
    while desk.at.next_step is not None:
        desk.go_to(desk.at.next_step.key)
        raw = healthy(desk.at, desk.instance, book.today())
        desk.saw(rounds.answer(book, desk.at, desk.key, raw))


def by_phrases(book: Logbook, tower: str, checklist: str) -> Session:
    session = Session(book, opened(a_visit(book, tower, checklist)))
    for _ in range(400):
        desk = session.desk
        if desk.at.next_step is None:
            return session
        if desk.mode is Mode.READ_CAUTION:
            session.type("understood")
            continue
        metric = desk.at.register.site_of(tower).units == "si"
        phrase = said(desk.instance, healthy(desk.at, desk.instance, book.today()), metric=metric)
        outcome = session.type(phrase)
        if not outcome.saved:
            raise AssertionError((desk.key, phrase, outcome))
        if desk.saved is not None:
            session.type("next")
    raise AssertionError("the visit does not end")


def bodies(book: Logbook) -> list[dict[str, Any]]:
    """What the log holds of answers, without how each was entered."""
    lines = [json.loads(line) for (line,) in book.db.execute("SELECT line FROM entry ORDER BY pos")]
    kept = [line["body"] for line in lines if line["kind"] in ("step_answered", "step_skipped")]
    return [{name: value for name, value in body.items() if name not in HOW} for body in kept]


def heards(book: Logbook) -> list[Any]:
    lines = [json.loads(line) for (line,) in book.db.execute("SELECT line FROM entry ORDER BY pos")]
    return [line["body"].get("heard") for line in lines if line["kind"] == "step_answered"]


def test_a_fall_enable_by_phrases_alone_is_the_log_that_keys_write(tmp_path: Path) -> None:
    with a_book(tmp_path / "keys") as keys, a_book(tmp_path / "phrases") as phrases:
        by_keys(keys, "HOS-1", "fall-enable")
        session = by_phrases(phrases, "HOS-1", "fall-enable")
        assert not session.desk.at.hindrances
        wanted, given = bodies(keys), bodies(phrases)
        assert len(wanted) > 80
        assert [{**body, "visit": ""} for body in given] == [{**body, "visit": ""} for body in wanted]
        assert not any(heards(keys))
        assert all(heard["tier"] == "typed" and heard["text"] for heard in heards(phrases))


@pytest.mark.parametrize("checklist", sorted(checklists.shipped()))
def test_every_step_of_every_checklist_can_be_answered_by_a_phrase(tmp_path: Path, checklist: str) -> None:
    """On two towers by default, on every sample tower under `long`."""
    with a_book(tmp_path) as book:
        for tower in ("HOS-1", "ULV-2"):
            session = by_phrases(book, tower, checklist)
            open_keys = [i.key for i in session.desk.at.remaining if not session.desk.at.waits_for(i.key)]
            assert not open_keys, open_keys


@pytest.mark.long
@pytest.mark.parametrize("checklist", sorted(checklists.shipped()))
def test_on_every_sample_tower(tmp_path: Path, checklist: str) -> None:
    with a_book(tmp_path) as book:
        for tower in sample_register().towers:
            at = by_phrases(book, tower, checklist).desk.at
            assert not [i.key for i in at.remaining if not at.waits_for(i.key)]
