"""The ladder without volts: a node is hot, at neutral, or apart, by reach through closed contacts. Written by itself.

It shares nothing with `seasonlog.faults`: contacts are walked as a graph, a load carries a dead node's reach to
neutral (or to hot) but no current, and a relay is in when one end of its coil is hot and the other at neutral.
Thresholds (faults 19, 34, 35) are given to it, not predicted by it: a volt that is "between" is told to it.
"""

from collections.abc import Iterable

Edge = tuple[str, str]
CONTACTS: dict[str, Edge] = {
    "transformer": ("src", "b"), "switch": ("b", "s"), "interlock": ("s", "p"), "stat": ("p", "t"), "level": ("t", "k"),
    "float": ("fa", "fb"), "float_return": ("fb", "n"),
}  # fmt: skip
LOADS: dict[str, Edge] = {
    "lamp_a": ("s", "n"), "lamp_h": ("k", "n"), "coil": ("k", "n"), "relay": ("s", "fa"),
}  # fmt: skip
THRESHOLD_FAULTS = (19, 34, 35)
NO_POWER = (1, 2, 4, 5, 6, 7, 32)
OPEN = {10: "switch", 12: "interlock", 14: "stat", 18: "stat", 21: "level", 25: "float", 26: "float"}
SHUT = {11: "switch", 13: "interlock", 15: "stat", 17: "stat", 22: "level", 24: "float", 27: "float"}
DEAD_LOADS = {20: "relay", 31: "coil", 33: "coil", 41: "lamp_a", 42: "lamp_h"}
RUNNING = {3: "2", 38: "2", 40: "e"}


def _reach(start: str, edges: Iterable[Edge]) -> set[str]:
    found, edges = {start}, list(edges)
    while True:
        new = {b for a, b in edges if a in found} | {a for a, b in edges if b in found}
        if new <= found:
            return found
        found |= new


def _shut(number: int, state: str, relay_in: bool) -> dict[str, bool]:
    low, warm = state in ("CL", "WL"), state in ("WF", "WL")
    shut = {
        "transformer": number not in NO_POWER, "switch": state != "OFF", "interlock": state != "PUMP",
        "stat": warm == (number == 16), "float": not low, "float_return": True, "level": relay_in != (number == 23),
    }  # fmt: skip
    if number in OPEN:
        shut[OPEN[number]] = False
    if number in SHUT:
        shut[SHUT[number]] = True
    return shut


def _wired(number: int) -> tuple[dict[str, Edge], dict[str, Edge]]:
    contacts, loads = dict(CONTACTS), dict(LOADS)
    if number in (29, 30):
        contacts |= {"float_return": ("s", "fa"), "float": ("fa", "fb")}
        loads["relay"] = ("fb", "n")
    if number == 28:
        contacts["splice"] = ("fa", "n")
    if number == 43:
        loads["coil"] = ("p", "n")
    if number in DEAD_LOADS:
        del loads[DEAD_LOADS[number]]
    return contacts, loads


def cell(number: int, state: str) -> str:
    """The cell code of one fault in one state of the 120 V, neutral-leg, two-lamp circuit, X2 grounded."""
    contacts, loads = _wired(number)
    relay = False
    for _ in range(4):
        shut = _shut(number, state, relay)
        if number == 30 and shut["switch"]:
            shut["transformer"] = False  # the grounded lead clears the fuse as soon as the switch feeds it
        closed = [ends for name, ends in contacts.items() if shut.get(name, True)]
        hot, neutral = _reach("src", closed), _reach("n", closed)
        relay = "relay" in loads and _fed(loads["relay"], hot, neutral) and number != 35
    live = _volts(number, hot, neutral, closed, loads)
    seen = {name: name in loads and _fed(loads[name], hot, neutral) for name in LOADS}
    coil = seen["coil"] and number not in THRESHOLD_FAULTS
    lines = _lines(number, coil)
    looks = "".join(
        c if on else "-" for c, on in zip("AHRK", (seen["lamp_a"], seen["lamp_h"], relay, coil), strict=True)
    )
    return f"{''.join(live[n] for n in 'bsptk')} {live['fa']}{live['fb']} {looks} {lines}"


def _fed(ends: Edge, hot: set[str], neutral: set[str]) -> bool:
    return (ends[0] in hot and ends[1] in neutral) or (ends[1] in hot and ends[0] in neutral)


def _volts(number: int, hot: set[str], neutral: set[str], closed: list[Edge], loads: dict[str, Edge]) -> dict[str, str]:
    """1, 0, or m where a given threshold says so; a node apart hangs on whatever its loads reach, else on ground."""
    found = {}
    for node in (*"bsptk", "fa", "fb"):
        through_loads = _reach(node, closed) & hot or _hangs_hot(node, closed, loads, hot, neutral)
        found[node] = "1" if through_loads else "0"
    if number == 9:  # grounded at X1: what is hot reads nothing, what hangs on neutral reads full volts
        return {node: _wrong_leg(node, found[node], neutral, closed, loads) for node in found}
    if number == 35:
        return {node: {"1": "m"}.get(code, code) for node, code in found.items()}
    if number == 19 and found["k"] == "1":
        found |= {"t": "m", "k": "m"}
    if number == 8:
        return _ungrounded(found, [*closed, *loads.values(), ("src", "n")])
    if number == 7 and "b" not in _reach("n", [*closed, *loads.values()]):
        found["b"] = "m"
    return found


def _hangs_hot(node: str, closed: list[Edge], loads: dict[str, Edge], hot: set[str], neutral: set[str]) -> bool:
    """Through a load it reaches hot, and nothing ties it to neutral."""
    group = _reach(node, closed)
    if group & neutral:
        return False
    beyond = {b if a in group else a for a, b in loads.values() if (a in group) != (b in group)}
    return bool(beyond & hot) and not beyond & neutral


def _wrong_leg(node: str, code: str, neutral: set[str], closed: list[Edge], loads: dict[str, Edge]) -> str:
    if code == "1":
        return "0"
    return "1" if _reach(node, [*closed, *loads.values()]) & neutral else "0"


def _ungrounded(found: dict[str, str], all_edges: list[Edge]) -> dict[str, str]:
    """No bond: each side sits at the share of wires on the other one; seven wires here, two more and a bus at X2."""
    sides = {node: code for node, code in found.items() if node in _reach("n", all_edges)}
    hot = sum(code == "1" for code in sides.values())
    cold = len(sides) - hot + 3
    codes = {"1": _level(cold / (hot + cold)), "0": _level(hot / (hot + cold))}
    return {node: codes[code] if node in sides else "0" for node, code in found.items()}


def _level(share: float) -> str:
    return "1" if share >= 0.85 else "0" if share <= 0.04 else "m"


def _lines(number: int, coil: bool) -> str:
    if number == 36:
        return "0"
    if number == 37:
        return "3"
    if number == 39:
        return "3" if coil else "L"
    return RUNNING.get(number, "3") if coil else "0"
