"""The power part of a wiring drawing: lines, breaker, contactor poles, heater, and the control transformer."""

from itertools import pairwise

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing_sheet import Part, Sheet
from seasonlog.faults.power import supply

LINE, BREAKER, LOAD, FUSE, FEED, POLE, TERMINAL = 3, 10, 18, 26, 35, 43, 52
"""Columns: point L, breaker, point B, line fuse, point C, pole, point T."""
STAR, CLOSING = 72, 72
"""Columns of a wye's star point, and of the third element of a delta."""
ELEMENT = 62
"""Column of the other elements."""
FIRST, STEP = 2, 3
"""Row of the first line, and from line to line."""
PRIMARY, SECONDARY, WINDING = (25, 53), (25, 53), 31
LEFT_RAIL, RIGHT_RAIL = 2, 73


def draw_power(sheet: Sheet, circuit: Circuit) -> int:
    """Lines, breaker, poles and heater, from row 0 on; returns the row of the last line."""
    rows = [FIRST + STEP * line for line in range(circuit.lines)]
    top = FIRST - 2
    sheet.say("branch breaker|line fuses, if any|contactor K", (BREAKER, top), (FUSE + 1, top), (POLE + 1, top))
    _heater_label(sheet, circuit, top)
    ends = _heater(sheet, circuit, rows)
    for line, (row, end) in enumerate(zip(rows, ends, strict=True), start=1):
        _line(sheet, circuit, line, row, end)
    for above, below in pairwise(rows):
        sheet.links.append(((BREAKER + 1, above), (BREAKER + 1, below)))
        if rows.index(below) < circuit.poles:
            sheet.links.append(((POLE + 1, above), (POLE + 1, below)))
    return rows[-1]


def _line(sheet: Sheet, circuit: Circuit, line: int, row: int, end: int) -> None:
    parts = {BREAKER: ("breaker", "breaker"), FUSE: ("fuse", f"line{line}")}
    if line <= circuit.poles:
        parts[POLE] = ("open", f"pole{line}")
    else:
        sheet.say("not switched", (POLE + 1, row + 1))
    if circuit.phases == 3 and circuit.connection == "wye":
        parts[ELEMENT - 3] = ("element", f"element{line}")
    marks = {LINE: f"L{line}", LOAD: f"B{line}", FEED: f"C{line}", TERMINAL: f"T{line}"}
    sheet.run(row, LINE, end, parts, marks)


def _heater_label(sheet: Sheet, circuit: Circuit, row: int) -> None:
    count = "heater" if circuit.heaters == 1 else f"{circuit.heaters} heaters"
    joined = f"{circuit.connection}" if circuit.phases == 3 else "single-phase"
    sheet.say(f"{count}, {joined}", (64, row))


def _heater(sheet: Sheet, circuit: Circuit, rows: list[int]) -> list[int]:
    """The elements; returns the column at which each line ends."""
    if circuit.phases == 3 and circuit.connection == "wye":
        sheet.wire((STAR, rows[0]), (STAR, rows[-1]))
        sheet.say("star point", (66, rows[-1] - 1))
        return [STAR, STAR, STAR]
    for number, row in enumerate(rows[:-1], start=1):
        sheet.parts.append(Part("element_down", f"element{number}", (ELEMENT - 1, row + 1)))
    if circuit.phases != 3:
        return [ELEMENT, ELEMENT]
    sheet.wire((CLOSING, rows[0]), (CLOSING, rows[0] + 1))
    sheet.parts.append(Part("element_down", "element3", (CLOSING - 1, rows[0] + 2)))
    sheet.wire((CLOSING, rows[0] + 4), (CLOSING, rows[-1]))
    return [CLOSING, ELEMENT, CLOSING]


def draw_transformer(sheet: Sheet, circuit: Circuit, row: int) -> None:
    """The control transformer on three rows from this one on, down to the tops of both rails a row below."""
    feeds = ("S1", "S2") if circuit.separate_supply else ("C1", "C2")
    sheet.say("|".join(f"to {feed}" for feed in feeds), (4, row), (71, row))
    if circuit.separate_supply:
        sheet.say("separate control supply", (11, row - 1))
    fuses = {14: ("fuse", "primary_fuse")}
    if not _second_is_neutral(circuit):
        fuses[60] = ("fuse", "primary_fuse")
    sheet.run(
        row, 7, 68,
        {8: ("from", feeds[0]), 67: ("to", feeds[1]), WINDING: ("transformer", "winding"), **fuses},
        {PRIMARY[0]: "H1", PRIMARY[1]: "H4"},
    )  # fmt: skip
    sheet.say("primary fuse" if len(fuses) == 1 else "primary fuses", (15, row + 1))
    _secondary(sheet, row + 2)
    _bond(sheet, circuit, row + 3)
    primary = "" if circuit.separate_supply else f"{circuit.supply_volts:g} V in, "
    sheet.say(f"control transformer|{primary}{circuit.control_volts:g} V out", (39, row + 3), (39, row + 4))


def _second_is_neutral(circuit: Circuit) -> bool:
    return supply(circuit)[1] == 0


def _secondary(sheet: Sheet, row: int) -> None:
    sheet.run(row, LEFT_RAIL, WINDING - 1, {10: ("fuse", "secondary_fuse")}, {SECONDARY[0]: "X1"})
    sheet.run(row, WINDING + 16, RIGHT_RAIL, {}, {SECONDARY[1]: "X2"})
    sheet.say("secondary fuse", (11, row + 1))
    for rail in (LEFT_RAIL, RIGHT_RAIL):
        sheet.wire((rail, row), (rail, row + 1))
    sheet.mark("b", (LEFT_RAIL, row + 1), (LEFT_RAIL - 2, row + 1))
    sheet.mark("n", (RIGHT_RAIL, row + 1), (RIGHT_RAIL + 2, row + 1))


def _bond(sheet: Sheet, circuit: Circuit, row: int) -> None:
    """The ground, and the wire that grounds the secondary."""
    x, y = (SECONDARY[0], row + 1) if circuit.grounded == "x1" else (60, row)
    sheet.mark("g", (x, y), (x - 2, y))
    sheet.parts.append(Part("ground", "ground", (x - 1, y + 1)))
    if circuit.grounded == "x1":
        sheet.wire((x, row - 1), (x, y))
        sheet.say("bond", (x - 4, row))
    elif circuit.grounded == "x2":
        sheet.wire((x, row), (RIGHT_RAIL, row))
        sheet.say("bond", (66, row + 1))
    else:
        sheet.say("no bond", (66, row))
