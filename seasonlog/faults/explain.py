"""Words for a session: why this test, what each answer would mean, what remains, why it stops."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from seasonlog.faults.catalogue import Fault
from seasonlog.faults.likelihood import MISTAKES, Answers
from seasonlog.faults.observation import MODES, Outcome, Stop, Suspect
from seasonlog.faults.repairs import repair_words, repairs_of
from seasonlog.faults.tests_offered import NOT_RECLOSED
from seasonlog.faults.words_here import words_here

if TYPE_CHECKING:
    from seasonlog.faults.diagnose import Session

NAMES_A_CAUSE = ("one_cause", "group")
"""Ends with something to repair; every other end is a note."""
NAMED = 3
"""Suspects named in one sentence."""
WORTH_NAMING, LEAST_TOLD = 0.02, 0.01
"""Probability from which a suspect is named in a reason, and in what would remain."""
WHY_READY = "Without a full basin, a cold sensor, the switch on and the pump off even a sound heater stays off."
READY_OUTCOMES = (
    ("cold", 0.6, "the heater must run: every test that follows counts"),
    ("iced", 0.2, "the heater must run on the sensor's ice: every test that follows counts"),
    ("low", 0.1, "a sound heater stays off: fill the basin first"),
    ("not_ready", 0.1, "a sound heater stays off: put this right first"),
)
WHY_METER = "The float's volts come through the coil of the level relay: what a meter shows there depends on the meter."
METER_OUTCOMES = (
    ("high", 0.8, "full volts are expected where nothing loads the lead"),
    ("low", 0.1, "a lower reading is expected, and counts as such"),
    ("unknown", 0.1, "taken as high"),
)
BEFORE_NAMING = {
    "own": "A part is measured itself, and what may have broken it, before it is named.",
    "again": "Make this test once more: what was found hangs on its one answer.",
    "odd": "Make this test once more: its answer does not fit the likeliest cause.",
}
"""Why a test is made that is not the most telling, or was made before."""
_SAYS = {
    "one_cause": "One cause explains what was seen.",
    "group": "These causes explain what was seen, and no test left here tells them apart.",
    "left": "These causes are left; what was seen speaks for the first, but not beyond doubt, and no test left helps.",
    "nothing_left": "No test left brings anything new.",
    "enough": "Enough was asked: what remains needs the drawing in hand, or a fresh pair of eyes.",
    "send_technician": "More cannot be seen from outside. Send a qualified technician; open nothing.",
    "fill_first": "A sound heater stays off with the water low. Open the make-up, find out where the water went, "
    "fill to the mark, then answer the first question again.",
    "make_ready": "A sound heater stays off like this. Switch on, pump off, water or sensor cold, then answer the "
    "first question again.",
    "not_seen_ready": "Whether the basin is full, the switch on, the pump off and the water or sensor cold is not "
    "known, so no answer would mean anything. Make it so and see it, then answer the first question.",
}  # fmt: skip
_REASONS = {"not_seen_ready": "make_ready"}
"""Ends that scripts know by one name."""
_CAUTION = "Nothing here says that the heater is safe: it says what was seen. Lock out before the repair, prove dead."


def suspects(faults: Sequence[Fault], chances: Sequence[float]) -> tuple[Suspect, ...]:
    """Every fault with its probability, the likeliest first; of equals the lower number."""
    order = sorted(range(len(faults)), key=lambda n: (-chances[n], faults[n].numbers))
    return tuple(Suspect(faults[n].code, chances[n], faults[n].name) for n in order)


def why(session: "Session", test: Answers, chances: Sequence[float], reason: str = "") -> str:
    """Which suspects a test tells apart, how it is made, and how much doubt it leaves.

    `reason` is a key of `BEFORE_NAMING`, where it is not its information alone that it is made for.
    """
    sides = _sides(session, test, chances)
    told = "; ".join(f"{test.labels[place].replace('_', ' ')}: {names}" for place, names in sides)
    left = sum(outcome.probability * _doubt(_after(test, chances, n)) for n, outcome in _numbered(test, chances))
    first = f"{BEFORE_NAMING[reason]} " if reason else ""
    return (
        f"{first}It tells apart: {told}. The likeliest cause is now {_percent(max(chances))} likely; after this test "
        f"{_percent(1.0 - left)} on average. How: {MODES[test.check.mode]}."
    )


def _sides(session: "Session", test: Answers, chances: Sequence[float]) -> list[tuple[int, str]]:
    """Outcome -> the suspects that make it the likeliest answer."""
    mine: dict[int, list[int]] = {}
    for n, shares in enumerate(test.shares):
        if chances[n] >= WORTH_NAMING:
            mine.setdefault(max(range(len(shares)), key=lambda place: shares[place]), []).append(n)
    return [(place, _names(session.book.faults, chances, numbers)) for place, numbers in sorted(mine.items())]


def _names(faults: Sequence[Fault], chances: Sequence[float], places: Sequence[int]) -> str:
    order = sorted(places, key=lambda n: -chances[n])
    named = ", ".join(f"{faults[n].code} {faults[n].name}" for n in order[:NAMED])
    return named + (f" and {len(order) - NAMED} more" if len(order) > NAMED else "")


def _numbered(test: Answers, chances: Sequence[float]) -> list[tuple[int, Outcome]]:
    totals = [sum(c * s[place] for c, s in zip(chances, test.shares, strict=True)) for place in range(len(test.labels))]
    return [(place, Outcome(test.labels[place], total, "")) for place, total in enumerate(totals)]


def _after(test: Answers, chances: Sequence[float], place: int) -> list[float]:
    weights = [chance * shares[place] for chance, shares in zip(chances, test.shares, strict=True)]
    whole = sum(weights)
    return [weight / whole for weight in weights]


def _doubt(chances: Sequence[float]) -> float:
    return 1.0 - max(chances)


def outcomes(session: "Session", test: Answers, chances: Sequence[float]) -> tuple[Outcome, ...]:
    """Every answer, how likely it is, and what would remain."""
    return tuple(
        Outcome(outcome.answer, outcome.probability, _remaining(session, _after(test, chances, place)))
        for place, outcome in _numbered(test, chances)
    )


def _remaining(session: "Session", after: Sequence[float]) -> str:
    order = [n for n in sorted(range(len(after)), key=lambda n: -after[n])[:NAMED] if after[n] >= LEAST_TOLD]
    return ", ".join(f"{session.book.faults[n].code} {session.book.faults[n].name} {_percent(after[n])}" for n in order)


def _percent(share: float) -> str:
    return f"{min(99.9, 100.0 * share):.0f} %" if share < 0.995 else "over 99 %"


def stop(session: "Session", reason: str, group: tuple[int, ...]) -> Stop:
    """Why a session ends, with the repair and the retest that proves it."""
    found = session.suspects()
    if not group:
        return Stop(_REASONS.get(reason, reason), found, words_here(session.circuit, _SAYS[reason]))
    faults = [session.book.faults[n] for n in group]
    caused = faults if reason in NAMES_A_CAUSE else []
    repair = " ".join(repair_words(fault) for fault in caused)
    steps = dict.fromkeys(step for fault in caused for each in repairs_of(fault) for step in each.steps)
    odd = contradictions(session, faults[0])
    says = _ending(session, reason, faults, odd)
    return Stop(reason, found, says, repair, tuple(steps), (_CAUTION, NOT_RECLOSED), odd)


def _ending(session: "Session", reason: str, faults: Sequence[Fault], odd: Sequence[str]) -> str:
    if reason not in NAMES_A_CAUSE:
        faults = faults[:1]
    likely = {suspect.fault: suspect.probability for suspect in session.suspects()}
    named = ", ".join(f"{fault.code} {fault.name} {_percent(likely[fault.code])}" for fault in faults)
    told = _SAYS[reason if not (reason == "group" and _told_already(session, faults)) else "left"]
    sent = "" if session.qualified or reason == "send_technician" else f" {_SAYS['send_technician']}"
    doubt = f" It leaves unexplained: {', '.join(odd)}; read them again, or look for a second fault." if odd else ""
    likeliest = "" if reason in NAMES_A_CAUSE else "No cause is named; likeliest: "
    return f"{told} {likeliest}{named}.{doubt}{sent}"


def _told_already(session: "Session", faults: Sequence[Fault]) -> bool:
    """A test that was answered tells them apart, but leaves more doubt than one cause may have."""
    places = [session.book.faults.index(fault) for fault in faults]
    tests = [found for name in session.answers if (found := session.book.tests.get(name)) is not None]
    return any(_differ(test.shares[places[0]], test.shares[n]) for test in tests for n in places[1:])


def _differ(one: Sequence[float], other: Sequence[float]) -> bool:
    return sum(abs(a - b) for a, b in zip(one, other, strict=True)) >= 1.0


def contradictions(session: "Session", fault: Fault) -> tuple[str, ...]:
    """Tests whose answers are mistakes if this fault is the only one."""
    place = session.book.faults.index(fault)
    found = []
    for test_id, answer in session.answers.items():
        test = session.book.tests.get(test_id)
        if test is not None and test.shares[place][test.outcome(answer)] <= 1.5 * MISTAKES / len(test.labels):
            found.append(test_id)
    return tuple(found)
