"""A session of the fault finder as a value: answers, undo, what is never offered, what it says."""

import dataclasses
import math
import random
import tomllib

import pytest
from hypothesis import given, settings

from seasonlog.faults.catalogue import FAULTS, both, faults_of
from seasonlog.faults.choose import SURE, SURE_OF_NOTHING, Weighed, decided, gain_bits, offered
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.diagnose import Session, evidence_from_visit
from seasonlog.faults.likelihood import MISTAKES, Bench, answerbook
from seasonlog.faults.observation import AnswerError, Choice, Observation, Stop
from seasonlog.faults.tests_offered import METER, READY, checks_of
from seasonlog.resources import checklists
from tests.faults.simulate import Technician, trade_weights
from tests.faults.test_diagnose_safety import CIRCUITS, walked

REFERENCE = Circuit()
FRESH = Session(REFERENCE, priors=trade_weights())
COLD = FRESH.with_answer(READY, "cold")


def ended(session: Session, answers: dict[str, str | float]) -> Stop:
    """Answers what is known, cannot do the rest."""
    while isinstance(found := session.next_test(), Choice):
        known = answers.get(found.test.id)
        session = session.cannot_do(found.test.id) if known is None else session.with_answer(found.test.id, known)
    return found


def met(*numbers: int, circuit: Circuit = REFERENCE) -> tuple[Session, Stop]:
    """A session of a technician without errors at a heater with these faults."""
    fault = FAULTS[numbers[0]] if len(numbers) == 1 else both(FAULTS[numbers[0]], FAULTS[numbers[1]])
    technician = Technician(Bench(circuit, fault, "cold"), random.Random(1), 0.0, 0.0, exact=True)
    session = Session(circuit, priors=trade_weights())
    while isinstance(found := session.next_test(), Choice):
        answer = "cold" if found.test.id == READY else technician.answer(found.test)
        session = session.with_answer(found.test.id, answer)
    return session, found


some = settings(max_examples=30)
"""Enough to meet a slip by chance in a few days of runs; what must never be asked has its hundred."""


class TestValue:
    @some
    @given(walked())
    def test_undo_restores_exactly(self, session: Session) -> None:
        found = session.next_test()
        if isinstance(found, Choice):
            answer = found.test.choices[0] if found.test.choices else 0.0
            after = session.with_answer(found.test.id, answer)
            assert after.without_last() == session
            assert after.without_last().suspects() == session.suspects()
            assert after.without_last().next_test() == found

    def test_undo_of_nothing_is_nothing(self) -> None:
        assert FRESH.without_last() == FRESH

    @some
    @given(walked())
    def test_the_same_session_says_the_same(self, session: Session) -> None:
        again = Session(session.circuit, session.observations, session.cannot, session.qualified, session.priors)
        assert again.next_test() == session.next_test()
        assert again.suspects() == session.suspects()

    @some
    @given(walked())
    def test_suspects_are_every_fault_of_the_circuit_once_and_sum_to_one(self, session: Session) -> None:
        found = session.suspects()
        assert sorted(s.fault for s in found) == [f"{fault.number:02d}" for fault in faults_of(session.circuit)]
        assert sum(s.probability for s in found) == pytest.approx(1.0)
        assert [s.probability for s in found] == sorted((s.probability for s in found), reverse=True)

    def test_the_order_of_the_answers_does_not_count(self) -> None:
        answers = [("lamps", "none"), ("breaker_handle", "on"), ("ohms_secondary_fuse", 2300.0), ("volts_b", 0.0)]
        ways = [COLD, COLD]
        for test, answer in answers:
            ways[0] = ways[0].with_answer(test, answer)
        for test, answer in reversed(answers):
            ways[1] = ways[1].with_answer(test, answer)
        assert ways[0].probabilities() == pytest.approx(ways[1].probabilities())

    def test_a_corrected_answer_replaces_the_first(self) -> None:
        twice = COLD.with_answer("lamps", "both").with_answer("lamps", "none")
        assert twice.probabilities() == COLD.with_answer("lamps", "none").probabilities()

    def test_a_session_is_frozen(self) -> None:
        with pytest.raises(dataclasses.FrozenInstanceError):
            FRESH.qualified = False  # type: ignore[misc]

    def test_a_test_that_cannot_be_made_is_never_offered_again(self) -> None:
        session = COLD
        refused = []
        while isinstance(found := session.next_test(), Choice):
            assert found.test.id not in refused
            refused.append(found.test.id)
            session = session.cannot_do(found.test.id).cannot_do(found.test.id)
        assert found.reason == "nothing_left"
        assert session.cannot == tuple(refused)


class TestAnswers:
    @pytest.mark.parametrize(
        ("test", "answer"),
        [("lamps", "purple"), ("lamps", 3.0), ("volts_k", "many"), ("volts_k", -1.0), ("volts_k", math.nan),
         ("volts_k", math.inf), ("volts_k", 1e12), ("volts_k", "OL"), ("ohms_stat", ""), ("nonsense", "in"),
         ("ohms_limit", 0.0), (READY, "yes")],
    )  # fmt: skip
    def test_what_a_test_cannot_show_is_refused_in_a_sentence(self, test: str, answer: str | float) -> None:
        with pytest.raises(AnswerError, match=test):
            COLD.with_answer(test, answer)

    @pytest.mark.parametrize("answer", ["OL", "ol", "open", math.inf])
    def test_an_ohmmeter_may_show_open(self, answer: str | float) -> None:
        assert COLD.with_answer("ohms_stat", answer).answers["ohms_stat"] == math.inf

    @pytest.mark.parametrize("answer", ["119.5", 119.5, " 119.5 "], ids=["text", "number", "spaces"])
    def test_a_number_may_come_as_text(self, answer: str | float) -> None:
        assert COLD.with_answer("volts_k", answer).answers["volts_k"] == 119.5

    def test_a_reading_that_speaks_for_nothing_changes_nothing(self) -> None:
        """60 ohm across a line fuse is predicted by no fault: it is whole or open."""
        odd = COLD.with_answer("ohms_line_1", 60.0)
        assert odd.probabilities() == pytest.approx(COLD.probabilities())


class TestPosterior:
    def test_it_is_prior_times_likelihood(self) -> None:
        """Second method: the product written out from the table, without logarithms. Agreement 1e-9."""
        session = COLD.with_answer("lamps", "none").with_answer("volts_b", 119.0).with_answer("coils", "both_out")
        book = answerbook(REFERENCE, "cold")
        weights = []
        for n, fault in enumerate(book.faults):
            weight = trade_weights().weights[fault.number]
            for test, answer in (("lamps", "none"), ("volts_b", 119.0), ("coils", "both_out")):
                weight *= book.tests[test].shares[n][book.tests[test].outcome(answer)]
            weights.append(weight)
        assert session.probabilities() == pytest.approx([w / sum(weights) for w in weights], rel=1e-9)

    @pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda c: c.id)
    def test_no_single_wrong_answer_kills_a_fault(self, circuit: Circuit) -> None:
        """Every outcome of every test keeps a share of the mistakes under every fault, and the shares sum to one."""
        for test in answerbook(circuit, "cold").tests.values():
            for shares in test.shares:
                assert sum(shares) == pytest.approx(1.0, abs=1e-6)
                assert min(shares) >= 0.999 * MISTAKES / len(test.labels)

    @pytest.mark.parametrize("test", ["lamps", "coils_down", "volts_k", "ohms_b_to_t", "insulation"])
    def test_expected_information_is_the_mean_fall_of_the_doubt(self, test: str) -> None:
        """Second method: entropy before less mean entropy after each outcome. Agreement 1e-9 bit."""
        found, chances = answerbook(REFERENCE, "cold").tests[test], COLD.probabilities()
        after = 0.0
        for place in range(len(found.labels)):
            joint = [c * shares[place] for c, shares in zip(chances, found.shares, strict=True)]
            after += sum(joint) * entropy([j / sum(joint) for j in joint])
        assert gain_bits(found, chances) == pytest.approx(entropy(chances) - after, abs=1e-9)

    @some
    @given(walked())
    def test_no_test_is_expected_to_add_doubt(self, session: Session) -> None:
        chances = session.probabilities()
        assert all(gain_bits(test, chances) >= -1e-3 for test in offered(session))


def entropy(chances: list[float] | tuple[float, ...]) -> float:
    return -sum(p * math.log2(p) for p in chances if p > 0)


class TestNextTest:
    def test_first_it_asks_whether_the_heater_must_run(self) -> None:
        found = FRESH.next_test()
        assert isinstance(found, Choice)
        assert found.test.id == READY

    @pytest.mark.parametrize(("answer", "reason"), [("low", "fill_first"), ("not_ready", "make_ready")])
    def test_a_heater_that_need_not_run_is_put_right_first(self, answer: str, reason: str) -> None:
        stopped = FRESH.with_answer(READY, answer)
        found = stopped.next_test()
        assert isinstance(found, Stop)
        assert found.reason == reason
        assert isinstance(stopped.with_answer(READY, "cold").next_test(), Choice)

    @pytest.mark.parametrize("given", [True, False], ids=["from a visit", "in the session"])
    def test_the_first_question_stays_open_whatever_else_was_seen(self, given: bool) -> None:
        seen = FRESH.with_answer("coils", "both_out", given).with_answer("lamps", "enabled_only", given)
        found = seen.next_test()
        assert isinstance(found, Choice)
        assert found.test.id == READY
        assert found.why

    def test_a_first_question_that_cannot_be_answered_ends_in_making_ready(self) -> None:
        """Never skipped: no repair is told and no test asked past it, and its answer opens the search again."""
        for session in (FRESH, FRESH.with_answer("coils", "both_out")):
            found = session.cannot_do(READY).next_test()
            assert isinstance(found, Stop)
            assert (found.reason, found.repair, found.retest) == ("make_ready", "", ())
            assert "not known" in found.says
            assert isinstance(session.cannot_do(READY).with_answer(READY, "cold").next_test(), Choice)

    @some
    @given(walked())
    def test_it_is_the_decision_in_words(self, session: Session) -> None:
        """What the simulated technicians follow, `choose.decided`, is what a person is asked."""
        found, decision = session.next_test(), decided(session)
        if not (isinstance(found, Choice) and found.test.id in (READY, METER.id)):
            if isinstance(found, Choice):
                assert decision.test is not None
                assert decision.test.check == found.test
            elif session.answers.get(READY) == "cold":
                assert (decision.test, decision.reason) == (None, found.reason)

    def test_looking_comes_before_measuring(self) -> None:
        found = COLD.next_test()
        assert isinstance(found, Choice)
        assert found.test.mode == "door"

    @some
    @given(walked())
    def test_looks_and_dead_tests_of_as_much_information_go_before_live_ones(self, session: Session) -> None:
        """Held in any session: with a live test asked, no look is left that brings two fifths of its bits, and no dead
        test that brings three fifths of them."""
        found = session.next_test()
        if isinstance(found, Choice) and found.test.live:
            now = Weighed(session)
            bits = {each.check.id: (each.check.mode, now.bits_of(each)) for each in now.tests}
            mine = bits[found.test.id][1]
            shares = {"door": 0.4, "panel": 0.4, "hand": 0.9, "dead": 0.6}
            assert [name for name, (mode, gain) in bits.items() if gain >= shares.get(mode, 99.0) * mine] == []

    @pytest.mark.parametrize(
        ("number", "look", "live"),
        [(26, "ohms_float", "volts_fa_down"), (38, "coils", "line_amps"), (40, "coils", "line_amps")],
    )
    def test_the_look_or_the_dead_test_is_made_before_the_live_reading(self, number: int, look: str, live: str) -> None:
        session, _ = met(number)
        asked = [each.test for each in session.observations]
        assert look in asked
        assert live not in asked or asked.index(look) < asked.index(live)

    @some
    @given(walked())
    def test_a_choice_tells_what_every_answer_would_mean(self, session: Session) -> None:
        found = session.next_test()
        if isinstance(found, Choice):
            assert sum(outcome.probability for outcome in found.outcomes) == pytest.approx(1.0, abs=1e-6)
            assert all(outcome.means for outcome in found.outcomes)
            assert found.why
        else:
            assert found.says
            assert found.suspects == session.suspects()

    def test_what_an_answer_was_said_to_mean_is_what_it_means(self) -> None:
        found = COLD.next_test()
        assert isinstance(found, Choice)
        for outcome in found.outcomes:
            first = COLD.with_answer(found.test.id, outcome.answer).suspects()[0]
            assert outcome.means.startswith(first.fault)

    def test_a_wide_look_is_not_asked_again_in_parts(self) -> None:
        names = {each.check.id for each in offered(COLD.with_answer("lamps", "none"))}
        assert not names & {"lamps", "lamp_a", "lamp_h"}
        assert "lamps" not in {each.check.id for each in offered(COLD.with_answer("lamp_a", "off"))}

    def test_sensor_in_ice_is_another_state_than_cold_water(self) -> None:
        """A sensor that hangs in warm air (18) heats when it lies in ice: what was seen then must not rule it out."""
        iced = FRESH.with_answer(READY, "iced").with_answer("coils", "both_in")
        cold = COLD.with_answer("coils", "both_in")
        chance = [next(s.probability for s in each.suspects() if s.fault == "18") for each in (iced, cold)]
        assert chance[0] > 10 * chance[1]
        assert "coils_ice" not in {check.id for check in checks_of(REFERENCE, "iced")}


class TestReadAgain:
    """An answer may be a mistake: what does not fit, or what a finding hangs on, is read once more."""

    def test_the_last_of_two_unlike_answers_counts_and_two_alike_weigh_more(self) -> None:
        """Source: Bayes' rule with mistakes that come and go while what is there stays, written out by hand."""
        once = COLD.with_answer("lamps", "none")
        assert once.with_answer("lamps", "both").probabilities() == COLD.with_answer("lamps", "both").probabilities()
        lamps, faults = once.book.tests["lamps"], once.book.faults
        place, weights = lamps.outcome("none"), []
        for n, fault in enumerate(faults):
            share = lamps.shares[n][place]
            mistake = MISTAKES / len(lamps.labels)
            weights.append(trade_weights().weights[fault.number] * (share - mistake + mistake * share))
        twice = once.with_answer("lamps", "none").probabilities()
        assert twice == pytest.approx([w / sum(weights) for w in weights], rel=1e-9, abs=1e-6)
        assert max(twice) > max(once.probabilities())

    def test_what_does_not_fit_is_read_again_and_says_why(self) -> None:
        """A dead line that fuse and poles do not bear out is a slip of the clamp until it is read twice."""
        session = COLD
        for test, answer in {"lamps": "both", "coils": "both_in", "coils_down": "both_out", "line_amps": "line_c_zero",
                             "ohms_line_3": 0.2, "poles_pressed": "all_closed"}.items():  # fmt: skip
            session = session.with_answer(test, answer)
        asked = []
        while isinstance(found := session.next_test(), Choice) and found.test.id not in session.answers:
            asked.append(found.test.id)
            session = session.cannot_do(found.test.id)
        assert isinstance(found, Choice)
        assert found.test.id in ("line_amps", "poles_pressed")
        assert found.why.startswith("Make this test once more")
        assert len(asked) < 3

    def test_a_tripped_handle_alone_names_no_breaker(self) -> None:
        found = COLD.with_answer("lamps", "none").with_answer("breaker_handle", "tripped").next_test()
        assert isinstance(found, Choice)
        assert found.test.id == "breaker_handle"
        assert "hangs on its one answer" in found.why

    @some
    @given(walked())
    def test_nothing_is_asked_a_third_time_nor_twice_where_each_answer_is_the_last_word(self, session: Session) -> None:
        found = session.next_test()
        if isinstance(found, Choice) and found.test.id != READY:
            assert sum(each.test == found.test.id for each in session.observations) < 2
        final = dataclasses.replace(session, once=True).next_test()
        assert isinstance(final, Stop) or final.test.id == READY or final.test.id not in session.answers


class TestStop:
    @pytest.mark.parametrize("number", [6, 12, 18, 25, 31, 37, 40])
    def test_it_ends_in_the_fault_the_repair_and_the_retest(self, number: int) -> None:
        session, found = met(number)
        assert int(found.suspects[0].fault) == number
        assert found.reason == "one_cause"
        assert found.suspects[0].probability >= SURE
        assert f"{number:02d} {FAULTS[number].name}" in found.repair
        assert found.retest
        assert found.unexplained == session.unexplained() == ()

    def test_nothing_wrong_is_said_late_and_only_when_sure(self) -> None:
        session, found = met(0)
        assert found.suspects[0].fault == "00"
        assert found.suspects[0].probability >= SURE_OF_NOTHING
        seen = {each.test.rsplit("_", 1)[-1] for each in session.observations}
        assert {"down", "warmed", "pump", "off"} <= seen

    def test_faults_no_test_here_can_split_are_told_as_a_group(self) -> None:
        """Coil open or its return open: coil volts and ohms cannot be read here."""
        found = ended(COLD, {"lamps": "both", "coils": "relay_only", "line_amps": "none", "armature": "free",
                             "ohms_b_to_t": 0.2})  # fmt: skip

        assert [s.fault for s in found.suspects[:2]] == ["31", "33"]
        assert found.reason == "group"
        assert "31 contactor coil open" in found.says
        assert "33 contactor coil return wire open" in found.repair

    def test_retest_steps_are_steps_of_the_shipped_checklist(self) -> None:
        with (checklists() / "fall-enable.toml").open("rb") as file:
            steps = {step["id"] for section in tomllib.load(file)["section"] for step in section["step"]}
        for number in (6, 18, 25, 31, 37):
            assert set(met(number)[1].retest) <= steps

    def test_unqualified_ends_in_sending_a_technician(self) -> None:
        session = Session(REFERENCE, qualified=False, priors=trade_weights())
        found = ended(session, {READY: "cold", "lamps": "enabled_only"})
        assert found.reason == "send_technician"
        assert "qualified technician" in found.says

    def test_a_tripped_breaker_is_not_reclosed(self) -> None:
        found = ended(Session(REFERENCE, qualified=False, priors=trade_weights()),
                      {READY: "cold", "lamps": "none", "breaker_handle": "tripped"})  # fmt: skip
        assert found.suspects[0].fault == "01"
        assert any("not closed or replaced" in caution for caution in found.cautions)
        assert "qualified technician" in found.says


class TestPairs:
    def test_two_faults_are_told_where_no_single_one_explains(self) -> None:
        """No lamp lit and the relay in: the thermostat (14) and the enabled lamp (41)."""
        session, found = met(14, 41)
        assert found.unexplained == ("lamps",)
        pairs = session.pairs()
        assert pairs[0].fault == "14+41"
        assert sum(pair.probability for pair in pairs) <= 1.0 + 1e-9

    def test_they_are_not_told_where_one_explains(self) -> None:
        session, _ = met(14)
        assert session.pairs() == ()


class TestEvidence:
    def test_a_failed_visit_step_starts_with_what_was_read(self) -> None:
        """Heat call failed, 120 V at the coil: the coil leads before anything is asked, then the armature."""
        given = evidence_from_visit(
            REFERENCE,
            [("level_above_heater_in", 6.0), ("heat_call_method", "natural"),
             ("control_x2_volts", 120.0), ("control_ground_volts", 119.0),
             ("heat_call", "no"), ("coil_volts", 119.0), ("weather", "good"), ("heater_degf", 41.0)],
        )  # fmt: skip
        session = FRESH.with_evidence(given)
        assert session.asked == 0
        assert {each.test for each in given} == {READY, "volts_b_x2", "volts_b", "contactor", "volts_coil"}
        assert [s.fault for s in session.suspects()[:2]] == ["31", "36"]

    def test_evidence_does_not_count_against_the_most_tests(self) -> None:
        given = [Observation("lamps", "both")] * 20
        assert isinstance(FRESH.with_evidence(given).next_test(), Choice)

    @pytest.mark.parametrize(
        ("answer", "test", "kept"),
        [(("off_switch", "no"), "contactor_off", "in"), (("off_warm", "yes"), "contactor_warmed", "out"),
         (("off_low_level", "no"), "contactor_down", "in"), (("off_switch_volts", (0.0, 277.0, 0.0)),
          "volts_terminals_off", 277.0), (("line_amps", (21.7, 21.6, 21.5)), "line_amps", "full"),
         (("line_amps", (18.8, 18.7, 0.0)), "line_amps", "line_c_zero"),
         (("line_amps", (0.0, 18.7, 18.7)), "line_amps", "line_a_zero"),
         (("line_amps", (18.7, 0.0, 18.7)), "line_amps", "line_b_zero"),
         (("float_meter", "low"), "float_meter", "low"), (("contactor_contacts", "yes"), "armature", "free"),
         (("line_amps", (12.5, 12.5, 21.7)), "line_amps", "uneven"),
         (("line_amps", (5.4, 5.4, 5.4)), "line_amps", "low"),
         (("line_amps", (0.0, 0.0, 0.0)), "line_amps", "none"), (("float_free", "no"), "float_free", "stuck"),
         (("stat_contact_ohms", 0.2), "ohms_stat", 0.2),
         (("control_x2_volts", "118.5"), "volts_b_x2", 118.5)],
    )  # fmt: skip
    def test_each_step_says_one_thing(self, answer: tuple[str, object], test: str, kept: str | float) -> None:
        """Source of the amps: 18 kW 480 V delta, 21.65 A; 0.866 of it with a line lost, 0.577 and 1 with one element
        open, a quarter with a heater of twice the volts."""
        found = evidence_from_visit(REFERENCE, [answer])  # type: ignore[list-item]
        assert found == (Observation(test, kept, given=True),)

    @pytest.mark.parametrize("method", ["dial", "simulated", "jumper"])
    def test_a_call_that_is_none_by_temperature_says_nothing_of_the_string(self, method: str) -> None:
        assert evidence_from_visit(REFERENCE, [("heat_call_method", method), ("heat_call", "yes")]) == ()

    def test_an_ice_bath_is_told_as_such(self) -> None:
        found = evidence_from_visit(
            REFERENCE, [("level_above_heater_in", "5.5"), ("heat_call_method", "ice_bath"), ("heat_call", "yes")]
        )
        assert found[0] == Observation(READY, "iced", given=True)

    @pytest.mark.parametrize(
        ("answers", "ready"),
        [([("heat_call_method", "natural"), ("heat_call", "no")], None),
         ([("level_above_heater_in", 6.0)], None),
         ([("level_above_heater_in", -1.0), ("heat_call_method", "natural")], "low"),
         ([("level_above_heater_in", 0.0)], "low"),
         ([("level_above_heater_in", 1.0), ("heat_call_method", "natural")], None),
         ([("level_above_heater_in", 6.0), ("heat_call_method", "jumper")], None),
         ([("level_above_heater_in", 6.0), ("heat_call_method", "natural")], "cold")],
    )  # fmt: skip
    def test_a_visit_answers_the_first_question_only_with_a_level(
        self, answers: list[tuple[str, str | float]], ready: str | None
    ) -> None:
        """Full is measured, not supposed: a heat call alone does not say that water stood over the heater."""
        found = {each.test: each.answer for each in evidence_from_visit(REFERENCE, answers)}
        assert found.get(READY) == ready

    def test_what_this_circuit_has_no_test_for_is_left_out(self) -> None:
        bare = Session(Circuit(lamps=0, interlock=False))
        kept = bare.with_evidence(evidence_from_visit(bare.circuit, [("left_enabled_lamp", "no"), ("off_pump", "no")]))
        assert kept.observations == ()
