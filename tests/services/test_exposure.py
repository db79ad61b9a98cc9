"""The exposure board from a log: who is on it, in what order, by which proof; and that the quick proof is the same."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from seasonlog.domain.protection import Protection
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register_items import to_item
from seasonlog.domain.register_records import Device
from seasonlog.domain.visit import Progress, VisitState
from seasonlog.errors import InputRefusedError, RatingError
from seasonlog.journal import queries
from seasonlog.services import board, closing, findings, register, registry, rounds
from seasonlog.services.demo import healthy as healthy_answer
from seasonlog.services.exposure import Asked, ExposureBoard, Placed, exposure, typed_wind, weather_words
from seasonlog.services.logbook import Logbook
from tests.builders import INSTRUMENTS, TODAY, a_book, a_visit, answered, sample_register

DESIGN = Asked(site="HOS")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as opened:
        yield opened


def enabled(book: Logbook, tower: str = "HOS-1", **wrong: str | tuple[str, ...]) -> Progress:
    """A whole fall enable, signed."""
    return closing.sign_off(book, answered(book, a_visit(book, tower), wrong), closing.NOT_AVAILABLE)


def placed(found: ExposureBoard, tower: str) -> Placed | None:
    return next((each for each in found.exposed if each.found.tower == tower), None)


def test_every_tower_of_the_samples_has_one_place(book: Logbook) -> None:
    found = exposure(book, TODAY, Asked())
    drained = {each.tower for each in found.drained}
    exposed = [each.found.tower for each in found.exposed]
    assert drained == {"ICE-3", "ULV-5"}
    assert {*exposed, *drained, *(each.tower for each in found.unjudged)} == set(sample_register().towers)
    assert len(exposed) + len(drained) + len(found.unjudged) + found.covered == 22
    assert [each.rank for each in found.exposed] == list(range(1, len(exposed) + 1))
    firsts = [each.found.first.hours for each in found.exposed if each.found.first]
    assert firsts == sorted(firsts)


def test_the_basin_is_never_the_first_thing_told(book: Logbook) -> None:
    """Skin ice or a bare line stands before every basin (practice: never the basin figure alone)."""
    for each in exposure(book, TODAY, Asked()).exposed:
        assert each.found.first is not None
        assert each.found.first.kind != "basin"


def test_a_proven_tower_leaves_the_board_until_a_finding_opens(book: Logbook) -> None:
    before = exposure(book, TODAY, DESIGN)
    enabled(book)
    after = exposure(book, TODAY, DESIGN)
    assert placed(before, "HOS-1") is not None
    assert placed(after, "HOS-1") is None
    assert after.covered == before.covered + 1
    at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), TODAY)
    rounds.answer(book, rounds.answer(book, at, "weather", "good"), "line_amps", ("0", "18.7", "18.7"))
    again = placed(exposure(book, TODAY, DESIGN), "HOS-1")
    assert again is not None
    assert "open finding F-" in again.found.reasons[0]
    assert any("8.9" in reason and "kW of 11.9 to 16.2 kW lost" in reason for reason in again.found.reasons)
    assert again.last.visit == at.visit.id
    assert "mid-winter 2026-09-15, open" in again.last.visit_words
    assert "open: " in again.last.finding_words
    assert again.last.readings_on == TODAY.isoformat()


def test_an_accepted_finding_still_freezes_water(book: Logbook) -> None:
    enabled(book, line_amps=("0", "18.7", "18.7"))
    (found,) = queries.findings(book.db, open_only=True)
    book.who = "Halden Pruskett"
    findings.accept(book, found.id, "Oren Tallis", TODAY + timedelta(days=9), "part on order")
    assert placed(exposure(book, TODAY, DESIGN), "HOS-1") is not None


def test_a_proven_tower_is_exposed_at_a_forecast_its_heat_does_not_cover(book: Logbook) -> None:
    enabled(book)
    mild, cold = (exposure(book, TODAY, Asked(degf, site="HOS")) for degf in (-8.0, -35.0))
    assert placed(mild, "HOS-1") is None
    found = placed(cold, "HOS-1")
    assert found is not None
    assert "at -35 degF" in found.found.reasons[0]
    assert "with 17.5 kW" in found.found.threats[0].what


def test_more_wind_is_never_later(book: Logbook) -> None:
    calm, windy = (exposure(book, TODAY, Asked(0.0, mph, "HOS")) for mph in (0.0, 40.0))
    for each in calm.exposed:
        other = placed(windy, each.found.tower)
        assert other is not None
        assert each.found.first is not None
        assert other.found.first is not None
        assert (other.found.first.hours or 0.0) <= (each.found.first.hours or 0.0)


def test_nothing_freezes_in_warm_air_but_the_tower_stays_on_the_board(book: Logbook) -> None:
    found = exposure(book, TODAY, Asked(50.0, site="HOS"))
    assert "HOS-1" in {each.found.tower for each in found.not_now}
    assert found.exposed == ()


def test_a_drained_tower_tells_its_proof(book: Logbook) -> None:
    (before,) = [each for each in exposure(book, TODAY, Asked()).drained if each.tower == "ICE-3"]
    enabled(book, "ICE-3")
    (after,) = [each for each in exposure(book, TODAY, Asked()).drained if each.tower == "ICE-3"]
    assert (before.proven, before.words) == (False, "not proven drained: no fall enable in this season")
    assert after.proven
    assert after.words == "proof of drained: Fall enable on 2026-09-15 by Mirel Oduvane"


def test_a_tower_drained_on_a_day_moves_to_the_end_from_that_day(book: Logbook) -> None:
    register.set_winter_mode(book, "HOS-1", "drained", TODAY, "out of use")
    assert placed(exposure(book, TODAY - timedelta(days=1), DESIGN), "HOS-1") is not None
    found = exposure(book, TODAY, DESIGN)
    assert placed(found, "HOS-1") is None
    assert [each.tower for each in found.drained] == ["HOS-1"]


def test_a_short_enable_counts_as_provisional_for_fourteen_days(book: Logbook) -> None:
    at = answered(book, a_visit(book, "HOS-1", "short-enable"))
    closing.sign_off(book, at, closing.NOT_AVAILABLE)
    found = exposure(book, TODAY, DESIGN)
    assert placed(found, "HOS-1") is None
    assert found.provisional == 1
    assert placed(exposure(book, TODAY + timedelta(days=15), DESIGN), "HOS-1") is not None


def test_proven_steam_heat_is_told_as_cannot_tell(book: Logbook) -> None:
    enabled(book, "ULV-3")
    found = exposure(book, TODAY, Asked(site="ULV"))
    assert [(each.tower, each.why) for each in found.unjudged] == [
        ("ULV-3", "the heat of ULV-3-B is not in kW on record")
    ]


def test_one_site_only_and_no_unknown_one(book: Logbook) -> None:
    assert {each.found.site for each in exposure(book, TODAY, DESIGN).exposed} == {"HOS"}
    with pytest.raises(InputRefusedError, match="site NOWHERE"):
        exposure(book, TODAY, Asked(site="NOWHERE"))


@pytest.mark.parametrize(
    "asked",
    [Asked(float("nan")), Asked(1e9), Asked(-200.0), Asked(0.0, -1.0), Asked(0.0, float("inf")), Asked(0.0, 500.0)],
)
def test_impossible_weather_is_refused(book: Logbook, asked: Asked) -> None:
    with pytest.raises(RatingError):
        exposure(book, TODAY, asked)


def unqualified(book: Logbook) -> None:
    book.who = "Nobody Known"
    enabled(book)


def another_goes_on(book: Logbook) -> None:
    at = answered(book, a_visit(book), until="line_amps")
    book.who = "Nobody Known"
    for instance in at.remaining:
        at = rounds.answer(book, at, instance.key, healthy_answer(at, instance, TODAY))
    closing.sign_off(book, at, closing.NOT_AVAILABLE)


def skipped(book: Logbook) -> None:
    at = a_visit(book)
    at = answered(book, at, until="line_amps")
    at = rounds.skip(book, at, "line_amps", "no meter")
    left = [i.key for i in at.remaining]
    for key in left:
        at = rounds.skip(book, at, key, "not done")
    closing.sign_off(book, at, closing.NOT_AVAILABLE)


def without_instruments(book: Logbook) -> None:
    at = rounds.start(book, rounds.Start("HOS-1", "fall-enable", {}), TODAY)
    closing.sign_off(book, answered(book, at), closing.NOT_AVAILABLE)


def replaced(book: Logbook) -> None:
    enabled(book)
    gone, new = (
        Device(id=name, position="heater", of="HOS-1-H", installed=day, removed=out)
        for name, day, out in (("D-1", date(2020, 1, 1), TODAY), ("D-2", TODAY + timedelta(days=1), None))
    )
    for device in (gone, new):
        book.write(Record(Kind.REGISTER_RECORDED, {"what": "device", "id": device.id, "item": to_item(device)}))


def one_more_circuit(book: Logbook) -> None:
    """Installed after the enable: nothing about it was ever asked."""
    enabled(book)
    more = replace(sample_register().circuits["HOS-1-H"], id="HOS-1-H2")
    book.write(Record(Kind.REGISTER_RECORDED, {"what": "circuit", "id": more.id, "item": to_item(more)}))


def wet_again(book: Logbook) -> None:
    enabled(book)
    register.set_winter_mode(book, "HOS-1", "drained", TODAY, "out of use")
    register.set_winter_mode(book, "HOS-1", "heated_basin", TODAY + timedelta(days=1), "in use")


def not_possible(book: Logbook) -> None:
    closing.close_unfinished(book, a_visit(book), VisitState.NOT_POSSIBLE, "gate locked")


def left_open(book: Logbook) -> None:
    answered(book, a_visit(book), until="line_amps")


def failed(book: Logbook) -> None:
    enabled(book, line_amps=("0", "18.7", "18.7"))


def enabled_twice(book: Logbook) -> None:
    not_possible(book)
    enabled(book)


def unsigned(book: Logbook) -> None:
    at = answered(book, a_visit(book))
    body = {"visit": at.visit.id, "outcome": "complete", "because": ""}
    book.write(Record(Kind.VISIT_CLOSED, body))


def healthy(book: Logbook) -> None:
    enabled(book)


HISTORIES: list[Callable[[Logbook], None]] = [
    healthy, enabled_twice, failed, left_open, not_possible, wet_again, one_more_circuit, replaced, without_instruments,
    skipped, another_goes_on, unqualified, unsigned,
]  # fmt: skip


@pytest.mark.parametrize("history", HISTORIES, ids=lambda history: history.__name__)
def test_the_quick_proof_says_what_every_other_board_says(book: Logbook, history: Callable[[Logbook], None]) -> None:
    """`board.covered` is the one answer to proven or not; the exposure board only gets there sooner."""
    history(book)
    for on in (TODAY, TODAY + timedelta(days=2)):
        state = board.covered(book, registry.of_tower(book.db, "HOS-1"), "HOS-1", on)
        shown = exposure(book, on, DESIGN)
        found = placed(shown, "HOS-1")
        if any(each.tower == "HOS-1" for each in shown.drained):
            continue
        assert (found is None) == (state.protection is Protection.PROVEN)
        if found is not None:
            assert found.found.reasons[0] in state.reasons
    assert (history in (healthy, enabled_twice)) == (state.protection is Protection.PROVEN)


def test_instruments_out_of_calibration_prove_nothing(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        clamp = replace(sample_register().instruments["CL-01"], calibration_due=date(2020, 1, 1))
        book.write(Record(Kind.REGISTER_RECORDED, {"what": "instrument", "id": clamp.id, "item": to_item(clamp)}))
        enabled(book)
        found = placed(exposure(book, TODAY, DESIGN), "HOS-1")
        assert found is not None
        assert any("CL-01 was out of calibration" in reason for reason in found.found.reasons)


@pytest.mark.parametrize(
    ("text", "units", "mph"),
    [("15", "us", 15.0), (" 15 mph ", "si", 15.0), ("24.1", "si", 14.98), ("40 km/h", "us", 24.85), ("0", "us", 0.0)],
)
def test_a_wind_is_read_as_people_type_it(text: str, units: str, mph: float) -> None:
    assert typed_wind(text, units) == pytest.approx(mph, abs=0.01)


@pytest.mark.parametrize("text", ["", "gale", "-5", "1e3", "999", "15 kn", "nan", "٣", "151"])
def test_what_is_no_wind_is_refused(text: str) -> None:
    with pytest.raises(InputRefusedError, match="wind"):
        typed_wind(text, "us")


def test_the_weather_is_told_in_the_units_of_the_site(book: Logbook) -> None:
    nights = {each.found.site: each for each in exposure(book, TODAY, Asked()).exposed}
    hospital, creamery = nights["HOS"].found.night, nights["ORR"].found.night
    assert hospital is not None
    assert creamery is not None
    assert weather_words(hospital, "us") == "-8 degF, 15 mph (design)"
    assert weather_words(creamery, "si") == "-7 degC, 24 km/h (design)"
