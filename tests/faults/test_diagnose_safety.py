"""What is never asked of anybody, whatever was answered: property tests over random sessions and circuits."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.faults.choose import meter_first
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.diagnose import Session
from seasonlog.faults.observation import DEAD, DOOR, DRAINED, HAND, JUMPER, LIVE, PANEL, Check, Choice
from seasonlog.faults.settings import BASES, LOCKED_OUT, SETTINGS
from seasonlog.faults.tests_offered import BY_HAND, ENERGISED, LOCKOUT, METER, READY, WATER_OVER, checks_of
from tests.faults.simulate import next_of, trade_weights

CIRCUITS = (
    Circuit(id="reference"),
    Circuit(id="hot leg", float_leg="hot", thermal_limit=True),
    Circuit(id="isolated", float_leg="isolated", heaters=2, grounded="none"),
    Circuit(id="single phase 24 V", control_volts=24, coil_volts=24, phases=1, heater_volts=240, supply_volts=240,
            poles=2, lamps=1, interlock=False),
    Circuit(id="no lamps, own supply", lamps=0, connection="wye", heater_volts=208, supply_volts=208, poles=2,
            separate_supply=True),
)  # fmt: skip
ALL = [(circuit, base, check) for circuit in CIRCUITS for base in BASES for check in checks_of(circuit, base)]


@st.composite
def walked(draw: st.DrawFn) -> Session:
    """A session after any answers to what it offered, or to anything else the circuit has."""
    session = Session(draw(st.sampled_from(CIRCUITS)), qualified=draw(st.booleans()), priors=trade_weights())
    for _ in range(draw(st.integers(0, 8))):
        if (check := asked(session)) is None:
            break
        session = draw(stepped(session, check))
    return session


def asked(session: Session) -> Check | None:
    """What is asked next; the decision is kept, its words are not needed."""
    if not session.answers or session.answers.get(READY) not in BASES:
        found = session.next_test()
        return found.test if isinstance(found, Choice) else None
    decision = next_of(session)
    return decision.test and (METER if meter_first(session, decision.test) else decision.test.check)


@st.composite
def stepped(draw: st.DrawFn, session: Session, check: Check) -> Session:
    if check.id != READY and draw(st.integers(0, 5)) == 0:
        return session.cannot_do(check.id)
    choices = check.choices[:2] if check.id == READY else check.choices
    number = st.sampled_from([0.0, 0.3, 5.0, 70.0, 120.0, 277.0, 480.0, 3000.0])
    return session.with_answer(check.id, draw(st.sampled_from(choices) if choices else number))


def broken_rules(circuit: Circuit, base: str, check: Check) -> list[str]:
    """The safety rules a test breaks, in words."""
    state = SETTINGS[check.state](BASES[base])
    rules = {
        "a float is never raised by hand": state.float_by_hand == "up",
        "low water only with the heater's leads lifted": not state.full
        and (check.mode != DRAINED or "Lift and insulate the heater's leads" not in check.caution),
        "a jumper only under lockout, then a qualified person": state.stat_jumpered
        and (check.mode != JUMPER or LOCKOUT not in check.caution or "qualified" not in check.caution),
        "a wire is lifted only with the branch dead": (state.float_lifted or state.coil_lifted)
        and check.mode != DEAD,
        "ohms and inspections of wires only locked out": check.what == "ohms"
        and (check.mode != DEAD or check.state not in LOCKED_OUT or LOCKOUT not in check.caution),
        "live only with probes at listed points": check.mode == LIVE
        and (ENERGISED not in check.caution or not set(check.points) <= set(circuit.points)),
        "volts and amps by clamp are marked live": (check.unit == "V" or "lamp each line" in check.do)
        and not check.live,
        "nothing that carries volts is touched": check.mode in (DOOR, PANEL, HAND)
        and check.what in ("volts", "ohms", "highest"),
        "a float moved by hand needs water over the heater": state.float_by_hand == "down"
        and check.mode != DEAD and not (BY_HAND in check.caution and WATER_OVER in check.caution),
        "a float held down while probes are in hand is held by another": state.float_by_hand == "down"
        and check.mode == LIVE and "second person holds the float" not in check.caution,
        "no jumper across level relay or float": "across level" in check.do or "across the float" in check.do,
        "no breaker, fuse or reset as a test": any(
            word in check.do for word in ("Reset", "reset", "reclose", "new fuse")),
        "every test but a look has a caution": check.mode != DOOR and not check.caution,
    }  # fmt: skip
    return [rule for rule, broken in rules.items() if broken]


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda c: c.id)
def test_no_test_of_any_circuit_breaks_a_rule(circuit: Circuit) -> None:
    broken = {check.id: broken_rules(circuit, base, check) for c, base, check in ALL if c == circuit}
    assert {test: rules for test, rules in broken.items() if rules} == {}


@given(walked())
def test_nothing_offered_breaks_a_rule(session: Session) -> None:
    found = session.next_test()
    if isinstance(found, Choice):
        assert broken_rules(session.circuit, session.base, found.test) == []
        assert found.test.id not in session.cannot
        assert found.test.id == READY or sum(each.test == found.test.id for each in session.observations) < 2


@given(walked())
def test_an_unqualified_person_is_only_asked_to_look_from_outside(session: Session) -> None:
    outside = Session(session.circuit, session.observations, session.cannot, False, session.priors)
    found = outside.next_test()
    if isinstance(found, Choice):
        assert found.test.mode == DOOR
        assert not found.test.live


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda c: c.id)
def test_the_bases_of_a_call_for_heat_are_full_and_untouched(circuit: Circuit) -> None:
    for base in BASES.values():
        assert base.full
        assert (base.float_by_hand, base.stat_jumpered, base.float_lifted) == ("", False, False)
    assert len({check.id for check in checks_of(circuit)}) == len(checks_of(circuit))


def test_the_rules_catch_a_forbidden_test() -> None:
    """The property can fail: a live ohms test of a raised float, and low water with the leads on, are caught."""
    sound = next(check for check in checks_of(CIRCUITS[0]) if check.id == "ohms_stat")
    drained = next(check for check in checks_of(CIRCUITS[0]) if check.id == "coils_low")
    assert broken_rules(CIRCUITS[0], "cold", dataclasses.replace(sound, mode=LIVE))
    assert broken_rules(CIRCUITS[0], "cold", dataclasses.replace(drained, mode=HAND))
    assert broken_rules(CIRCUITS[0], "cold", dataclasses.replace(sound, state="low"))


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda c: c.id)
def test_whoever_is_not_qualified_moves_nothing(circuit: Circuit) -> None:
    """Only lamps, ammeter, breaker handle and a look at the level device are asked from outside."""
    outside = {check.id for check in checks_of(circuit) if check.door_closed}
    assert outside <= {"lamps", "lamp_a", "lamp_h", "ammeter", "breaker_handle", "float_ice"}
