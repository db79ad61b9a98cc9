"""What meters show and what it may be called: blown fuses, a dead line, ways around an open part, no fault."""

import dataclasses
import math
import random

import pytest
from hypothesis import given

from seasonlog.faults.catalogue import FAULTS
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.diagnose import Session, evidence_from_visit
from seasonlog.faults.likelihood import Bench
from seasonlog.faults.observation import Choice, Stop
from seasonlog.faults.tests_offered import READY
from tests.faults.simulate import Technician, trade_weights
from tests.faults.test_diagnose import COLD, REFERENCE, met
from tests.faults.test_diagnose_safety import CIRCUITS, walked


class TestFuses:
    """What a fault blew stays blown: in every later situation, and for the ohmmeter."""

    @pytest.mark.parametrize(
        ("circuit", "number"),
        [(REFERENCE, 30), (REFERENCE, 32), (Circuit(float_leg="hot"), 28), (Circuit(grounded="x1"), 28)],
        ids=["30", "32", "28 hot leg", "28 at X1"],
    )
    def test_in_later_situations_the_bus_is_dead(self, circuit: Circuit, number: int) -> None:
        bench = Bench(circuit, FAULTS[number], "cold")
        for setting in ("call", "off", "pump", "down", "warmed"):
            solved = bench.at(setting)
            assert solved.volts("b", "n") < 0.05 * circuit.control_volts, setting
            assert not solved.contactor

    @pytest.mark.parametrize("number", [30, 28])
    def test_the_ohmmeter_finds_the_fuse_open(self, number: int) -> None:
        """A sound fuse reads 0; an open one is read around through winding, ground and lead: 6.8 ohm, or more."""
        circuit = REFERENCE if number == 30 else Circuit(float_leg="hot")
        check = Session(circuit).test("ohms_secondary_fuse")
        assert Bench(circuit, FAULTS[0], "cold").ohms(check) == 0.0
        assert Bench(circuit, FAULTS[number], "cold").ohms(check) > 5.0

    @pytest.mark.parametrize("shown", [2256.0, "OL"])
    @pytest.mark.parametrize("leg", ["neutral", "hot"])
    def test_a_blown_fuse_is_not_the_cause_before_the_float_leads_were_read(self, leg: str, shown: str | float) -> None:
        session = Session(Circuit(float_leg=leg), priors=trade_weights()).with_answer(READY, "cold")
        answers = {"lamps": "none", "breaker_handle": "on", "ohms_secondary_fuse": shown, "ohms_coil": 300.0}
        for test, answer in answers.items():
            session = session.with_answer(test, answer)
        found = session.next_test()
        while isinstance(found, Choice) and not found.test.id.startswith("ohms_lead_ground"):
            technician = Technician(Bench(session.circuit, FAULTS[6], "cold"), random.Random(1), 0.0, 0.0, exact=True)
            session = session.with_answer(found.test.id, technician.answer(found.test))
            found = session.next_test()
        assert isinstance(found, Choice)

    def test_the_lead_to_ground_tells_them_apart(self) -> None:
        for circuit, number in ((REFERENCE, 6), (REFERENCE, 30), (REFERENCE, 32), (Circuit(float_leg="hot"), 28)):
            session, found = met(number, circuit=circuit)
            assert int(found.suspects[0].fault) == number
            assert "ohms_lead_ground" in session.answers


class TestDeadLine:
    """0 / 18.7 / 18.7 A: line A, and nothing is said of L3."""

    @pytest.mark.parametrize(
        ("amps", "words", "test"),
        [((0.0, 18.7, 18.7), "line A (L1)", "ohms_line_1"), ((18.7, 0.0, 18.7), "line B (L2)", "ohms_line_1"),
         ((18.7, 18.7, 0.0), "line C (L3)", "ohms_line_3")],
    )  # fmt: skip
    @pytest.mark.parametrize("number", [3, 38])
    def test_suspects_tests_and_repair_name_the_line(
        self, number: int, amps: tuple[float, ...], words: str, test: str
    ) -> None:
        given = evidence_from_visit(REFERENCE, [("line_amps", amps)])
        session = COLD.with_answer("lamps", "both").with_answer("coils", "both_in").with_evidence(given)
        named = {each.fault: each.says for each in session.suspects()}
        assert all(words in named[f"{each:02d}"] for each in (3, 38))
        assert words in session.test(test).do
        point = words[-2]
        assert session.test(test).points == (f"B{point}", f"C{point}")
        fuse = math.inf if number == 3 else 0.2
        session = session.with_answer(test, fuse).with_answer(
            "poles_pressed", "all_closed" if number == 3 else "not_all"
        )
        found = session.next_test()
        assert isinstance(found, Stop)
        assert found.suspects[0].fault == f"{number:02d}"
        assert words in found.says
        assert words in found.repair

    def test_a_look_at_the_contacts_is_no_reading_of_the_poles(self) -> None:
        found = evidence_from_visit(REFERENCE, [("contactor_contacts", "yes")])
        assert [each.test for each in found] == ["armature"]

    def test_a_dead_line_nobody_named_leaves_the_line_open(self) -> None:
        session = COLD.with_answer("line_amps", "one_line_zero")
        assert session.line == 0
        assert {each.fault for each in session.suspects()[:2]} == {"03", "38"}


class TestMeters:
    @pytest.mark.parametrize("test", ["ohms_secondary_fuse", "ohms_switch", "ohms_x2_lead", "ohms_coil_return",
                                      "ohms_interlock", "ohms_stat"])  # fmt: skip
    def test_open_is_open_whether_or_not_lamps_lead_around_it(self, test: str) -> None:
        """Both readings speak for the part; neither lets it pass as sound."""
        part = {"ohms_secondary_fuse": 6, "ohms_switch": 10, "ohms_x2_lead": 7, "ohms_coil_return": 33,
                "ohms_interlock": 12, "ohms_stat": 14}[test]  # fmt: skip
        before = chance(COLD, part)
        around = Bench(REFERENCE, FAULTS[part], "cold").ohms(COLD.test(test))
        for shown in (math.inf, around):
            assert chance(COLD.with_answer(test, shown), part) > 3.0 * before
        assert chance(COLD.with_answer(test, 0.1), part) < 0.2 * before

    def test_a_low_impedance_meter_reads_a_healthy_float_lower(self) -> None:
        """45 V behind the relay's coil is a fault on a 10 Mohm meter and none on a 3 kohm one (35 to 46 V known)."""
        with_low = COLD.with_answer("float_meter", "low").with_answer("volts_fa_down", 38.0)
        with_high = COLD.with_answer("float_meter", "high").with_answer("volts_fa_down", 38.0)
        assert chance(with_low, 0) > 1.5 * chance(with_high, 0)

    def test_the_meter_is_asked_before_a_float_lead_is_measured(self) -> None:
        session, _ = met(26)
        asked = [each.test for each in session.observations]
        leads = [n for n, test in enumerate(asked) if test.startswith(("volts_fa", "volts_fb"))]
        assert not leads or asked.index("float_meter") < leads[0]

    def test_no_ammeter_says_nothing_and_an_ammeter_at_nothing_does(self) -> None:
        outside = dataclasses.replace(COLD, qualified=False)
        assert outside.with_answer("ammeter", "no_ammeter").probabilities() == pytest.approx(outside.probabilities())
        assert chance(outside.with_answer("ammeter", "shows_nothing"), 0) < 0.2 * chance(outside, 0)


def chance(session: Session, number: int) -> float:
    return next(each.probability for each in session.suspects() if int(each.fault) == number)


class TestNoFault:
    @pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda c: c.id)
    def test_it_stands_in_no_named_group_and_nothing_seen_is_no_cause(self, circuit: Circuit) -> None:
        session = Session(circuit, priors=trade_weights()).with_answer(READY, "cold")
        while isinstance(found := session.next_test(), Choice):
            session = session.cannot_do(found.test.id)
        assert found.reason == "nothing_left"
        assert (found.repair, found.retest) == ("", ())
        assert "No cause is named" in found.says

    @given(walked())
    def test_a_repair_is_told_only_for_one_cause_or_a_known_group(self, session: Session) -> None:
        found = session.next_test()
        if isinstance(found, Stop):
            assert bool(found.repair) == (found.reason in ("one_cause", "group"))
            assert found.reason != "group" or "00 no fault" not in found.says
