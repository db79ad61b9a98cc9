"""The rungs of a wiring drawing, between the hot and the neutral rail."""

from seasonlog.faults.circuit import ISOLATED_VOLTS, Circuit
from seasonlog.faults.drawing_power import LEFT_RAIL, RIGHT_RAIL
from seasonlog.faults.drawing_sheet import Part, Sheet

SWITCHED, CALLED, LIMITED, LOWER, COIL = 14, 39, 50, 58, 64
"""Columns of the points s, t, r and k, and of every load that stands beside the neutral."""
ROOM = 13
"""Characters between the point k and the neutral."""
INTERLOCK, AFTER, STAT, LEVEL, LIMIT = 18, 25, 29, 43, 52


def draw_rungs(sheet: Sheet, circuit: Circuit, rails: int, row: int) -> None:
    """Every rung.

    Args:
        sheet: What is drawn on.
        circuit: The circuit.
        rails: Row in which both rails begin.
        row: Row of the main rung.
    """
    _main(sheet, circuit, row)
    sheet.wire((LEFT_RAIL, rails), (LEFT_RAIL, row))
    last = _lamps(sheet, circuit, row)
    draw = {"neutral": _neutral_float, "hot": _hot_float, "isolated": _isolated_float}[circuit.float_leg]
    fed = draw(sheet, circuit, last + 2)
    sheet.wire((SWITCHED, row), (SWITCHED, fed))
    sheet.wire((RIGHT_RAIL, rails), (RIGHT_RAIL, fed))


def _main(sheet: Sheet, circuit: Circuit, row: int) -> None:
    parts = {
        6: ("switch", "switch"),
        INTERLOCK: ("closed", "interlock") if circuit.interlock else ("jumper", "interlock"),
        STAT: ("form_c", "stat"),
        LEVEL: ("open", "level"),
        COIL: ("round", "coil:K"),
    }
    marks = {SWITCHED: "s", AFTER: "p", CALLED: "t", LOWER: "k", 62: "kc", 69: "kr"}
    if circuit.thermal_limit:
        parts[LIMIT] = ("closed", "limit")
        marks[LIMITED] = "r"
        sheet.say("thermal|limit", (LIMIT + 1, row + 1), (LIMIT + 1, row + 2))
    sheet.run(row, LEFT_RAIL, RIGHT_RAIL, parts, marks)
    below = row + 1, row + 2
    sheet.say("heater|switch", *((8, line) for line in below))
    sheet.say("pump|interlock" if circuit.interlock else "jumper|(no pump)", *((19, line) for line in below))
    sheet.say("C|NO|NC|thermostat", (STAT, row - 1), (34, row - 1), (37, row + 1), (32, row + 2))
    sheet.say("contact|of relay R", *((44, line) for line in below))
    sheet.say(f"coil of K|{_rated(circuit.coil_volts, circuit.coil_va)}", *((COIL + 1, line) for line in below))


def _lamps(sheet: Sheet, circuit: Circuit, row: int) -> int:
    """Returns the last row taken."""
    last = row + 2
    if circuit.lamps > 1:
        last += 2
        sheet.say("heating lamp", (COIL + 1, last - 1))
        sheet.wire((LOWER, row), (LOWER, last))
        sheet.run(last, LOWER, RIGHT_RAIL, {COIL: ("round", "lamp_h:H")}, {})
    if circuit.lamps > 0:
        last += 2
        sheet.say("enabled lamp", (COIL + 1, last - 1))
        sheet.run(last, SWITCHED, RIGHT_RAIL, {COIL: ("round", "lamp_a:A")}, {})
    return last


def _leads(sheet: Sheet, row: int, columns: tuple[int, int, int, int]) -> dict[int, str]:
    """What is said around a float between its four points, which are returned for the run."""
    middle = (columns[1] + columns[2]) // 2
    sheet.say("lead|lead", *(((a + b) // 2, row - 1) for a, b in (columns[:2], columns[2:])))
    sheet.parts.append(Part("water", "water", (middle - 9, row + 1)))
    sheet.say("float switch, closed when up", (middle, row + 2))
    return dict(zip(columns, ("ra", "fa", "fb", "rb"), strict=True))


def _relay(circuit: Circuit, volts: float) -> str:
    return f"level relay R|{_rated(volts, circuit.relay_va)}"


def _rated(volts: float, held_va: float) -> str:
    """A coil's plate, without the VA where there is no room for both."""
    both = f"{volts:g} V {held_va:g} VA"
    return both if len(both) <= ROOM else f"{volts:.4g} V"


def _neutral_float(sheet: Sheet, circuit: Circuit, row: int) -> int:
    marks = _leads(sheet, row, (29, 37, 55, 63))
    parts = {19: ("round", "relay_coil:R"), 44: ("float", "float")}
    sheet.run(row, SWITCHED, RIGHT_RAIL, parts, marks)
    sheet.say(_relay(circuit, circuit.control_volts), (20, row + 1), (20, row + 2))
    return row


def _hot_float(sheet: Sheet, circuit: Circuit, row: int) -> int:
    marks = _leads(sheet, row, (20, 28, 46, 54))
    parts = {35: ("float", "float"), COIL: ("round", "relay_coil:R")}
    sheet.run(row, SWITCHED, RIGHT_RAIL, parts, marks)
    sheet.say(_relay(circuit, circuit.control_volts), (65, row + 1), (65, row + 2))
    return row


def _isolated_float(sheet: Sheet, circuit: Circuit, row: int) -> int:
    volts = min(ISOLATED_VOLTS, circuit.control_volts)
    sheet.run(row, SWITCHED, RIGHT_RAIL, {34: ("transformer", "isolated_supply")}, {})
    loop, near, far = row + 5, 17, 69
    sheet.run(row + 2, near, 33, {}, {25: "ia"})
    sheet.run(row + 2, 50, far, {}, {59: "ib"})
    sheet.say(f"isolated float supply, {volts:g} V, not grounded", (42, row + 3))
    for column in (near, far):
        sheet.wire((column, row + 2), (column, loop))
    marks = _leads(sheet, loop, (28, 36, 54, 62))
    sheet.run(loop, near, far, {20: ("round", "relay_coil:R"), 43: ("float", "float")}, marks)
    sheet.say(_relay(circuit, volts), (21, loop + 1), (21, loop + 2))
    return row
