"""What was read before counts: an insulation that fell to under half, a new heater, the temperature beside it.

Rule: 5 to 20 Mohm passes with a watch, and a fall to under half of last year's is a finding (proposed from heater
makers' published application notes; common practice, no source).
"""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from seasonlog.domain.limits import Verdict
from seasonlog.domain.register_items import from_item
from seasonlog.services import closing, register, registry, rounds
from seasonlog.services.logbook import Logbook, Surroundings
from tests.builders import FixedBytes, FixedClock, a_book, a_visit, answered

STEP = "insulation_mohm"
FIRST, LATER = datetime(2025, 9, 15, 12, tzinfo=UTC), datetime(2026, 9, 15, 12, tzinfo=UTC)


def first_year(tmp_path: Path, mohm: str) -> None:
    with a_book(tmp_path, surroundings=Surroundings(FixedClock(FIRST), FixedBytes("first"))) as book:
        at = answered(book, a_visit(book, on=FIRST.date()), {STEP: mohm})
        closing.sign_off(book, at, "Oren Tallis")


def later(tmp_path: Path, *, sites: bool = True) -> Logbook:
    return a_book(tmp_path, sites=sites, surroundings=Surroundings(FixedClock(LATER), FixedBytes("later")))


def verdict(book: Logbook, mohm: str) -> tuple[Verdict, str]:
    at = a_visit(book, on=LATER.date())
    _, found = rounds.judgement(book, at, STEP, mohm)
    return found.verdict, found.says


@pytest.mark.parametrize(
    ("before", "now", "wanted"),
    [
        ("40", "12", Verdict.NEAR_FAIL),
        ("18", "12", Verdict.NEAR_PASS),
        ("2000", "150", Verdict.PASS),
        ("OL", "15", Verdict.NEAR_FAIL),
        ("8", "6", Verdict.NEAR_PASS),
        ("200", "0.5", Verdict.FAIL),
    ],
)
def test_a_fall_to_under_half_is_a_finding(tmp_path: Path, before: str, now: str, wanted: Verdict) -> None:
    first_year(tmp_path, before)
    with later(tmp_path, sites=False) as book:
        assert verdict(book, now)[0] is wanted


def test_without_an_earlier_reading_the_ladder_alone_counts(tmp_path: Path) -> None:
    with later(tmp_path) as book:
        assert verdict(book, "12")[0] is Verdict.NEAR_PASS


def test_a_reading_of_the_same_visit_is_no_last_year(tmp_path: Path) -> None:
    with later(tmp_path) as book:
        at = answered(book, a_visit(book), {STEP: "200"}, until="ohms_line_to_line")
        _, found = rounds.judgement(book, at, STEP, "12")
    assert found.verdict is Verdict.NEAR_PASS


def test_a_new_heater_is_not_held_against_the_old_one(tmp_path: Path) -> None:
    first_year(tmp_path, "40")
    with later(tmp_path, sites=False) as book:
        fitted = {"id": "HOS-1-new", "position": "heater", "of": "HOS-1-H", "installed": "2026-06-01"}
        device, problems = from_item("device", fitted, "test")
        assert device is not None, problems
        register.write(book, register.preview(registry.of_tower(book.db, "HOS-1"), [device]))
        assert verdict(book, "12")[0] is Verdict.NEAR_PASS


def test_the_temperature_stands_beside_the_reading_and_changes_no_verdict(tmp_path: Path) -> None:
    """0.8 Mohm at 86 degF (30 degC) would be 1.6 Mohm at 20 degC (2^((T - 20)/10)): it stays a fail."""
    with later(tmp_path) as book:
        at = answered(book, a_visit(book), until="heater_degf")
        at = rounds.answer(book, at, "heater_degf", "86")
        _, found = rounds.judgement(book, at, STEP, "0.8")
    assert found.verdict is Verdict.FAIL
    assert "0.8 Mohm read at 30 C (86 F), about 1.6 Mohm at 20 C" in found.says


def test_the_volts_of_the_float_leads_speak_beside_the_leg_that_was_found(tmp_path: Path) -> None:
    """Neutral leg: 0 and 0 V closed, one lead live open (circuit theory)."""
    with later(tmp_path) as book:
        at = answered(book, a_visit(book), until="float_lead_a_volts")
        for key, volts in (("float_lead_a_volts", "0"), ("float_lead_b_volts", "0.1"), ("float_open_a_volts", "119"),
                           ("float_open_b_volts", "0")):  # fmt: skip
            at = rounds.answer(book, at, key, volts)
        _, found = rounds.judgement(book, at, "float_leg_found", "neutral")
    assert "by the volts read: the float breaks the neutral leg" in found.says
