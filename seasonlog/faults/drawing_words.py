"""What is said above and below a wiring drawing: the plate, how to read it, and the cautions that belong beside it."""

import unicodedata

from seasonlog.domain.text import visible
from seasonlog.faults.circuit import Circuit

CAUTION = "CAUTION:"
MOST_ID = 40
"""Columns of an id in the title."""
FORM_C = (
    "The thermostat's form C contact is told by temperature, not by its label: below cut-in C-NO is closed; above "
    "cut-out C-NC is closed; between them it stays as it was; both closed or both open = failed. Makers label for rise "
    "or for fall: test by temperature."
)
_SPLICE = {
    "grounded": (
        "It switches the grounded side: while it is closed no lead in the water is live, but with the float down the "
        "relay-side lead stands at control volts through the relay's coil. A wet splice on the relay-side lead ({0}) "
        "keeps the relay in with the basin empty: the heater runs dry and no fuse blows."
    ),
    "live": (
        "It switches the side that is not grounded: a live conductor goes under water, both leads at control volts "
        "while the float is closed. A wet splice to ground then blows a fuse and the heater stays off: freezing."
    ),
    "floating": (
        "The secondary is not grounded: one wet splice shows nothing and blows nothing, two act like shorted leads, "
        "and the leads may stand at part of the control volts."
    ),
    "isolated": (
        "It has a supply of its own that is not grounded: one wet splice shows nothing, two act like shorted "
        "leads. No control conductor goes under water. Do not ground this supply or join it to s or n."
    ),
}
_TEST = "Test low level by moving the float down by hand, basin full; never hold it up or bridge it over a bare heater."
_SHORTED = "Leads shorted to each other keep the relay in with the basin empty: the heater runs dry."


def columns(text: str) -> int:
    """Columns a text takes in a terminal: wide characters two, combining marks none."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def title(circuit: Circuit) -> str:
    """The drawing's first line; the id is made visible and cut where it is long."""
    name = visible(circuit.id)
    short = name
    while columns(short) > MOST_ID:
        short = short[: MOST_ID if len(short) > MOST_ID else -1]
    return f"Wiring of heater circuit {short}{'' if short == name else '...'}".rstrip()


def plate(circuit: Circuit) -> str:
    """What the drawing is drawn for."""
    phases = f"three-phase {circuit.connection}" if circuit.phases == 3 else "single-phase"
    lines = f"contactor opens {min(circuit.poles, circuit.lines)} of {circuit.lines} lines"
    supply = "" if circuit.supply_volts == circuit.heater_volts else f" on {circuit.supply_volts:g} V"
    return f"{circuit.heater_kw:g} kW {circuit.heater_volts:g} V {phases}{supply}; {lines}; control {_control(circuit)}"


def _control(circuit: Circuit) -> str:
    ground = "not grounded" if circuit.grounded == "none" else f"{circuit.grounded.upper()} grounded"
    return f"{circuit.control_volts:g} V, {ground}"


def notes(circuit: Circuit, signs: str = "Dots") -> tuple[str, ...]:
    """How to read the drawing; `signs` is what its test points look like."""
    limit = ", thermal limit cold" if circuit.thermal_limit else ""
    pump = ", pump stopped (its contact closed)" if circuit.interlock else ""
    own = "; ia, ib: the float supply's output" if circuit.float_leg == "isolated" else ""
    feeds = "S1 and S2 are the separate supply's lines" if circuit.separate_supply else '"to C1" is the C1 above'
    return (
        f"Drawn with no power, switch off, water warm, basin empty{pump}{limit}. {signs} are test points; no wires "
        f"cross; {feeds}. kc, kr: the coil's own terminals; ra, rb: panel terminals of the float leads; fa, fb: "
        f"the leads' ends there{own}; n: return bus of X2; g: panel ground.",
        FORM_C,
    )


def cautions(circuit: Circuit) -> tuple[str, ...]:
    """What could hurt or mislead whoever works by the drawing."""
    said = (_lockout(circuit), _unswitched(circuit), _float(circuit), _ground(circuit), _TEST)
    return tuple(f"{CAUTION} {each}" for each in said if each)


def _lockout(circuit: Circuit) -> str:
    also = (
        " and the separate control supply, which the heater's breaker does not switch off,"
        if circuit.separate_supply
        else ""
    )
    return (
        f"Lock out at the branch disconnect{also} before a wire is touched, then prove dead: tester on a known live "
        "source, every conductor to every other and to ground, tester on the live source again. Switch off or "
        "contactor open is not locked out."
    )


def _unswitched(circuit: Circuit) -> str:
    live = [f"T{line}" for line in range(circuit.poles + 1, circuit.lines + 1)]
    if not live:
        return ""
    return (
        f"The contactor does not open the line to {' and '.join(live)}: every heater terminal may be live with the "
        "contactor open."
    )


def _side(circuit: Circuit) -> str:
    if circuit.float_leg == "isolated":
        return "isolated"
    grounded_leg = {"x2": "neutral", "x1": "hot"}.get(circuit.grounded, "")
    if not grounded_leg:
        return "floating"
    return "grounded" if circuit.float_leg == grounded_leg else "live"


def _float(circuit: Circuit) -> str:
    where = {"neutral": "in the neutral leg", "hot": "in the hot leg", "isolated": "isolated"}[circuit.float_leg]
    lead = "fb" if circuit.float_leg == "hot" else "fa"
    return f"The float is {where}. {_SPLICE[_side(circuit)].format(lead)} {_SHORTED}"


def _ground(circuit: Circuit) -> str:
    if circuit.grounded != "x1":
        return ""
    return (
        "X1 is grounded, so X2, n and all that hangs on n are live to ground: a ground on k pulls K in past every "
        "contact."
    )


def assumed(circuit: Circuit) -> tuple[str, ...]:
    """What the register does not know and the drawing takes as customary."""
    return tuple(f"Assumed: {visible(each)}." for each in circuit.assumed)
