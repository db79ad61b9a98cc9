"""What every fault would show in every test: how likely each answer is. Kept per circuit; mistakes are allowed for."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from seasonlog.faults import settings as at
from seasonlog.faults.catalogue import FAULTS, Fault, faults_of
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.inspections import shown
from seasonlog.faults.lines import DEAD_LINES, ONE_LINE, placed, wired_for
from seasonlog.faults.observation import Check
from seasonlog.faults.power import NO_AMPS
from seasonlog.faults.readings import LAMPS, METER_OHMS
from seasonlog.faults.solve import Solved, ohms, solve
from seasonlog.faults.spans import Mixed, gauss, masses, outcomes_of
from seasonlog.faults.tests_offered import checks_of
from seasonlog.faults.words_here import named_here

MISTAKES = 0.04
"""Share of answers that are wrong whatever was measured. Common practice, no source."""
VOLTS_SPREAD = 0.04
"""Standard deviation of a voltage reading, over rated volts: meter, supply, drop. Common practice, no source."""
FLOATING_SPREAD = 0.35
"""The same of a point that only stray coupling reaches, over its own volts. Common practice, no source."""
FLOATING = 0.3
"""Share of its volts a point loses to `FLOATING_METER_OHMS` from which it counts as floating."""
FLOATING_METER_OHMS = 100e3
OHMS_SPREAD = 0.12
"""Standard deviation of an ohms reading in decades: contacts and wires. Common practice, no source."""
LOADS_SPREAD, LOADS_OHMS = 0.25, (1.0, 5e4)
"""The same between these ohms, where coils, windings and lamps are read that differ from make to make."""
LEAD_OHMS = 0.5
"""Leads and contact of the probes: ohms below it are alike."""
OPEN_DECADES = 8.5
BLUR = 0.05
"""Spread of the share of volts at which two people call a lamp lit, dim or off."""
SNEAK_OHMS, SNEAKS = 600.0, 0.5
"""An open contact, fuse or wire whose ohms are at least this much is read around through lamps, coils and relays; and
how often: some are of another make, or lifted, and the meter shows open. Common practice, no source."""
BLOWN_TEST, BLOWN_FUSE, FUSE_OPEN = "ohms_secondary_fuse", "secondary_fuse", 6
LOADS = ("ohms_coil", "ohms_secondary", "ohms_relay_coil", "ohms_bond", "ohms_x1_ground", "ohms_lead_ground",
         "ohms_lead_ground_down")  # fmt: skip
"""Ohms tests of a load or an insulation: what they show is what is there."""
NO_AMMETER = 0.5
"""Share of panels without an ammeter in the door. Common practice, no source."""
UNNAMED_LINE, OTHER_LINE = 0.2, 0.15
"""How often nobody says which line is dead; how often it is each line that the model does not name."""
JOINT_VOLTS = 0.5
"""Volts across a pole under load below which none is told apart. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Answers:
    """One test: its possible outcomes, and how likely each is under each fault."""

    check: Check
    labels: tuple[str, ...]
    """Outcomes in words; of a number one for each group of predictions, the last for anything else."""
    shares: tuple[tuple[float, ...], ...]
    """Fault -> outcome -> probability, mistakes included."""
    edges: tuple[tuple[float, float], ...] = ()
    """Of a number: the span of each outcome but the last, on the test's own scale."""
    unit_scale: float = 1.0
    kinds: tuple[tuple[tuple[float, ...], float], ...] = ()
    """Each different row of `shares` once, with its entropy [bit]: faults that answer alike are weighed together."""
    kind_of: tuple[int, ...] = ()
    """Fault -> its place in `kinds`."""

    def outcome(self, answer: str | float) -> int:
        """Place of the outcome an answer belongs to."""
        if self.check.choices:
            return self.check.choices.index(str(answer))
        x = scaled(self.check, float(answer), self.unit_scale)
        return next((n for n, (low, high) in enumerate(self.edges) if low <= x < high), len(self.edges))


@dataclass(frozen=True, slots=True)
class Answerbook:
    """All tests of one circuit under all its faults."""

    faults: tuple[Fault, ...]
    tests: Mapping[str, Answers]
    _again: dict[tuple[str, int], Answers] = field(default_factory=dict, compare=False, repr=False)

    def again(self, test_id: str, first: int) -> Answers:
        """A test that is made a second time, after this outcome: what is there stays as it was, a mistake does not.

        Under a fault for which the first answer was a mistake any of its own answers may follow; under one that shows
        just this, the same follows.
        """
        key = (test_id, first)
        if key not in self._again:
            self._again[key] = _second(self.tests[test_id], first)
        return self._again[key]


@dataclass
class Bench:
    """One circuit with one fault, solved in each setting once."""

    circuit: Circuit
    fault: Fault
    base: str
    meter_ohms: float = METER_OHMS
    """Of the voltmeter on the float leads."""
    _solved: dict[str, Solved] = field(default_factory=dict)
    _ohms: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.circuit = wired_for(self.circuit, self.fault)

    def at(self, setting: str) -> Solved:
        """The circuit in a setting, reached from the heat call: what blew there stays blown in every other."""
        if setting not in self._solved:
            before = None if setting == at.CALL else self.at(at.CALL)
            state = at.SETTINGS[setting](at.BASES[self.base])
            start, blown = (before.coils, before.blows) if before else (None, ())
            self._solved[setting] = solve(self.circuit, state, self.fault, start, blown=blown)
        return self._solved[setting]

    def volts(self, check: Check) -> tuple[float, bool]:
        """What the meter shows, and whether the point floats."""
        solved = self.at(check.state)
        if check.what == "highest":
            return max(solved.volts(point) for point in check.points), False
        one, other = check.points
        meter = self.meter_ohms if on_float(check) else METER_OHMS
        shown_volts = solved.volts(one, other, meter)
        if meter < FLOATING_METER_OHMS or shown_volts < VOLTS_SPREAD * self.circuit.control_volts:
            return shown_volts, False
        loaded = solved.volts(one, other, FLOATING_METER_OHMS)
        return shown_volts, loaded < (1.0 - FLOATING) * shown_volts

    def ohms(self, check: Check) -> float:
        """What the ohmmeter shows."""
        if check.id not in self._ohms:
            state = at.SETTINGS[check.state](at.BASES[self.base])
            one, other = check.points
            blown = self.at(at.CALL).blows
            self._ohms[check.id] = ohms(self.circuit, one, other, self.fault, state, blown)
        return self._ohms[check.id]

    def choice(self, check: Check) -> dict[str, float]:
        """How likely each answer is, mistakes apart."""
        if check.what == "seen":
            return shown(check.id, self.fault.numbers, check.choices)
        return _CHOICES[check.what](self.at(check.state), check)


def _lamp(solved: Solved, check: Check) -> dict[str, float]:
    return _lamp_named(solved, check.points[0])


def _lamps(solved: Solved, check: Check) -> dict[str, float]:
    enabled, heating = (_lamp_named(solved, name) for name in check.points)
    return _two(enabled, heating, "lit", "off", ("both", "enabled_only", "heating_only", "none", "dim"))


def _two(
    one: Mapping[str, float], other: Mapping[str, float], yes: str, no: str, answers: tuple[str, str, str, str, str]
) -> dict[str, float]:
    """Two things looked at together: both, the one, the other, neither, and what is clear of none of these."""
    seen = ((yes, yes), (yes, no), (no, yes), (no, no))
    clear = {answer: one[a] * other[b] for answer, (a, b) in zip(answers, seen, strict=False)}
    return {**clear, answers[-1]: max(0.0, 1.0 - sum(clear.values()))}


def _lamp_named(solved: Solved, name: str) -> dict[str, float]:
    point, part, _ = LAMPS[name]
    volts = abs(solved.control.volts(point) - solved.control.volts("n")) / solved.circuit.control_volts
    share = 0.0 if part in solved.rungs.effects.opened else volts
    lit, glows = _above(share, 0.5), _above(share, 0.1)
    return {"lit": lit, "dim": glows - lit, "off": 1.0 - glows}


def _above(share: float, limit: float) -> float:
    return gauss((share - limit) / BLUR)


def _coil(solved: Solved, check: Check) -> dict[str, float]:
    return _coil_named(solved, check.points[0])


def _coils(solved: Solved, check: Check) -> dict[str, float]:
    relay, contactor = (_coil_named(solved, name) for name in check.points)
    return _two(relay, contactor, "in", "out", ("both_in", "relay_only", "contactor_only", "both_out", "chatters"))


def _coil_named(solved: Solved, name: str) -> dict[str, float]:
    inside = solved.contactor if name == "K" else solved.relay
    if name in solved.chatter and not inside:
        return {"in": 0.1, "out": 0.4, "chatters": 0.5}
    return {"in": float(inside), "out": float(not inside), "chatters": 0.0}


_PATTERN = {"3": "full", "1": "full", "2": "one_line_zero", "e": "uneven", "h": "low", "L": "none", "0": "none"}
_COARSE = {"full": "even", "low": "even", ONE_LINE: "uneven", "uneven": "uneven", "none": "shows_nothing"}


def _amps(solved: Solved, check: Check) -> dict[str, float]:
    found = _PATTERN[solved.heater]
    if found == ONE_LINE and found in check.choices:
        return _dead_line(solved, check)
    found = found if found in check.choices else _COARSE[found]
    seen = 1.0 - NO_AMMETER if "no_ammeter" in check.choices else 1.0
    told = {choice: seen * (choice == found) for choice in check.choices}
    return told | ({"no_ammeter": NO_AMMETER} if "no_ammeter" in told else {})


def _dead_line(solved: Solved, check: Check) -> dict[str, float]:
    """The faults of one line stand in the model for any line, so every line may be the dead one."""
    told = dict.fromkeys(check.choices, 0.0) | dict.fromkeys(DEAD_LINES, OTHER_LINE) | {ONE_LINE: UNNAMED_LINE}
    dead = next(n for n, share in enumerate(solved.power.shares) if share < NO_AMPS)
    told[DEAD_LINES[dead]] = 1.0 - UNNAMED_LINE - OTHER_LINE * (len(DEAD_LINES) - 1)
    return told


def _residual(solved: Solved, check: Check) -> dict[str, float]:
    some = solved.power.residual_amps > 0.02 * max(solved.power.amps, default=0.0) + 0.05
    return dict(zip(check.choices, (float(not some), float(some)), strict=True))


_CHOICES = {"lamp": _lamp, "lamps": _lamps, "coil": _coil, "coils": _coils, "amps": _amps, "residual": _residual}


def scaled(check: Check, value: float, volts: float) -> float:
    """A reading on its test's own scale: share of volts, or decades of ohms."""
    if check.unit == "V":
        return value / volts
    return OPEN_DECADES if math.isinf(value) else min(OPEN_DECADES, math.log10(value + LEAD_OHMS))


def volts_scale(circuit: Circuit, check: Check) -> float:
    """The volts a reading is a share of: control volts, or the supply's where a line is probed."""
    if check.id == "volts_joint":
        return JOINT_VOLTS / VOLTS_SPREAD / 3.0
    power = check.points[0][0] in "LBCTH"
    return circuit.supply_volts if power else circuit.control_volts


@lru_cache(maxsize=8)
def _benches(circuit: Circuit, base: str) -> tuple[Bench, ...]:
    return tuple(Bench(circuit, named_here(circuit, fault), base) for fault in faults_of(circuit))


@lru_cache(maxsize=32)
def answerbook(circuit: Circuit, base: str, line: int = 0, meter_ohms: float = METER_OHMS) -> Answerbook:
    """Every test of this circuit under every fault it can have.

    Args:
        circuit: The circuit.
        base: How the heater is called for: a key of `settings.BASES`.
        line: The line that was read dead, the faults of one line placed in it; 0 when none was.
        meter_ohms: Impedance of the voltmeter on the float leads.
    """
    if meter_ohms != METER_OHMS:
        return _with_meter(circuit, answerbook(circuit, base, line), base, meter_ohms)
    benches = [_placed(bench, line) for bench in _benches(circuit, base)]
    tests = {check.id: answers(circuit, check, benches) for check in checks_of(circuit, base, line)}
    return Answerbook(tuple(bench.fault for bench in benches), tests)


def _placed(bench: Bench, line: int) -> Bench:
    fault = placed(bench.fault, line)
    return bench if fault is bench.fault else Bench(bench.circuit, fault, bench.base)


def _with_meter(circuit: Circuit, book: Answerbook, base: str, meter_ohms: float) -> Answerbook:
    """The same with another meter on the float leads."""
    benches = [Bench(circuit, fault, base, meter_ohms) for fault in book.faults]
    others = {name: answers(circuit, t.check, benches) for name, t in book.tests.items() if on_float(t.check)}
    return Answerbook(book.faults, {**book.tests, **others})


def on_float(check: Check) -> bool:
    """Volts of a float lead, which a meter of low impedance pulls down."""
    return check.unit == "V" and bool({"fa", "fb"} & set(check.points))


def answers(circuit: Circuit, check: Check, benches: Sequence[Bench]) -> Answers:
    """One test under these faults."""
    if check.choices:
        chances = [bench.choice(check) for bench in benches]
        shares = [tuple(_mistaken(each[c], len(check.choices)) for c in check.choices) for each in chances]
        return _kept(check, check.choices, shares)
    scale = volts_scale(circuit, check)
    predicted = [_predicted(bench, check, scale) for bench in benches]
    edges, middles = outcomes_of([each for mixed in predicted for each, _ in mixed])
    shares = [tuple(_mistaken(p, len(edges) + 1) for p in masses(each, edges)) for each in predicted]
    labels = (*(_label(check, x, scale) for x in middles), "anything else")
    return _kept(check, labels, shares, edges, scale)


def _kept(
    check: Check, labels: tuple[str, ...], shares: Sequence[tuple[float, ...]],
    edges: Sequence[tuple[float, float]] = (), scale: float = 1.0,
) -> Answers:  # fmt: skip
    places = {row: n for n, row in enumerate(dict.fromkeys(shares))}
    kinds = tuple((row, _entropy_bits(row)) for row in places)
    return Answers(check, labels, tuple(shares), tuple(edges), scale, kinds, tuple(places[row] for row in shares))


def _second(test: Answers, first: int) -> Answers:
    rows = {row: _second_row(row, first) for row in dict.fromkeys(test.shares)}
    shares = [rows[row] for row in test.shares]
    return _kept(test.check, test.labels, shares, test.edges, test.unit_scale)


def _second_row(row: Sequence[float], first: int) -> tuple[float, ...]:
    mistaken = _mistaken_share(row[first], len(row))
    return tuple(mistaken * share + (1.0 - mistaken) * (place == first) for place, share in enumerate(row))


def _mistaken_share(share: float, outcomes: int) -> float:
    """How likely an answer of this share was a mistake."""
    return min(1.0, MISTAKES / outcomes / share)


def second_share(share: float, outcomes: int) -> float:
    """How likely an answer of this share comes again when the test is made once more."""
    mistaken = _mistaken_share(share, outcomes)
    return mistaken * share + (1.0 - mistaken)


def share_of(test: Answers, bench: Bench, answer: str | float) -> float:
    """How likely an answer is for a circuit that is not in the book: one with two faults."""
    if test.check.choices:
        return _mistaken(bench.choice(test.check)[str(answer)], len(test.labels))
    found = masses(_predicted(bench, test.check, test.unit_scale), test.edges)
    return _mistaken(found[test.outcome(answer)], len(test.labels))


def _entropy_bits(shares: Sequence[float]) -> float:
    return -sum(p * math.log2(p) for p in shares if p > 0.0)


def _mistaken(probability: float, outcomes: int) -> float:
    return (1.0 - MISTAKES) * probability + MISTAKES / outcomes


def _predicted(bench: Bench, check: Check, scale: float) -> Mixed:
    if check.unit == "ohm":
        shown_ohms = _predicted_ohms(bench.ohms(check), check)
        return (*_halved(shown_ohms), *_halved(_open_fuse(bench, check))) if _reads_lead(bench, check) else shown_ohms
    volts, floats = bench.volts(check)
    x = scaled(check, volts, scale)
    return (((x, VOLTS_SPREAD + (FLOATING_SPREAD * x if floats else 0.0)), 1.0),)


def _reads_lead(bench: Bench, check: Check) -> bool:
    """Across a fuse that a grounded lead blew, the meter may read back through winding, ground and lead, or not."""
    return check.id == BLOWN_TEST and BLOWN_FUSE in bench.at(at.CALL).blows


def _open_fuse(bench: Bench, check: Check) -> Mixed:
    return _predicted_ohms(Bench(bench.circuit, FAULTS[FUSE_OPEN], bench.base).ohms(check), check)


def _halved(mixed: Mixed) -> Mixed:
    return tuple((each, 0.5 * share) for each, share in mixed)


def _predicted_ohms(shown_ohms: float, check: Check) -> Mixed:
    loads = LOADS_OHMS[0] < shown_ohms < LOADS_OHMS[1]
    one = (scaled(check, shown_ohms, 1.0), LOADS_SPREAD if loads else OHMS_SPREAD)
    if check.id in LOADS or not SNEAK_OHMS <= shown_ohms < math.inf:
        return ((one, 1.0),)
    return ((one, SNEAKS), ((OPEN_DECADES, OHMS_SPREAD), 1.0 - SNEAKS))


def _label(check: Check, x: float, scale: float) -> str:
    if check.unit == "V":
        return f"near {x * scale:.0f} V"
    if x >= OPEN_DECADES - 1.0:
        return "OL (open)"
    value = max(0.0, 10.0**x - LEAD_OHMS)
    if value >= 1000.0:
        return f"near {value / 1000.0:.1f} kohm"
    return f"near {value:.0f} ohm" if value >= 10.0 else f"near {value:.1f} ohm"
