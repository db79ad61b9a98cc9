"""Every fault by number, and what it does to the circuit: 00 to 43 as the trade table numbers them, then others."""

from collections.abc import Mapping
from dataclasses import dataclass

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.effects import HEALTHY, Effects, composed
from seasonlog.faults.ladder import GROUNDED_OHMS

LOW_CONTROL = 7.0 / 12.0
"""70 of 120 V, 14 of 24 V."""
WET_OHMS = 20e3
"""A wet splice that leaks. Derived: holds a 2 VA relay of 120 V that lets go at 20 %."""
BAD_CONTACT_OHMS = 500.0
BAD_JOINT_OHMS = 300.0
BAD_LUG_OHMS = 0.1


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, or two at once."""

    numbers: tuple[int, ...]
    """Its number; two of a pair."""
    name: str
    effects: Effects
    latches: bool = False
    """It is found with the secondary fuse blown, whatever state it is found in."""

    @property
    def number(self) -> int:
        """Its number, or that of the first of a pair."""
        return self.numbers[0]

    @property
    def code(self) -> str:
        """`07`, or `07+22` of a pair."""
        return "+".join(f"{number:02d}" for number in self.numbers)


def both(one: Fault, other: Fault) -> Fault:
    """Two faults at once.

    Raises:
        UnmodelledError: they sit in the same part, so that one hides the other.
    """
    first, second = sorted((one, other), key=lambda fault: fault.numbers)
    return Fault(
        first.numbers + second.numbers,
        f"{first.name}, and {second.name}",
        composed(first.effects, second.effects),
        first.latches or second.latches,
    )


def _open(*names: str) -> Effects:
    return Effects(opened=frozenset(names))


def _closed(*names: str) -> Effects:
    return Effects(closed=frozenset(names))


def _series(name: str, ohms: float) -> Effects:
    return Effects(series=frozenset({(name, ohms)}))


def _grounded(lead: str, ohms: float = GROUNDED_OHMS, leg: str = "") -> Effects:
    return Effects(grounds=frozenset({(lead, ohms)}), float_leg=leg)


_ROWS: tuple[tuple[str, Effects], ...] = (
    ("no fault", HEALTHY),
    ("branch breaker open or tripped", _open("breaker")),
    ("line fuse or pole open on L1 or L2", _open("line1")),
    ("line fuse open on L3", _open("last_line")),
    ("control transformer primary fuse open", _open("primary_fuse")),
    ("control transformer winding open", _open("winding")),
    ("control secondary fuse open", _open("secondary_fuse")),
    ("control transformer return (X2) lead open", _open("x2_lead")),
    ("ground bond of the control secondary missing", _open("bond")),
    ("control secondary grounded on the wrong leg", Effects(bond_at="X1")),
    ("heater switch contact open", _open("switch")),
    ("heater switch bypassed or welded", _closed("switch")),
    ("pump interlock open, or its jumper missing", _open("interlock")),
    ("pump interlock jumpered or stuck closed", _closed("interlock")),
    ("thermostat contact stuck open", _open("stat")),
    ("thermostat contact stuck closed or jumpered", _closed("stat")),
    ("thermostat wired on the wrong throw (C to NC)", Effects(turned=frozenset({"stat"}))),
    ("thermostat bulb has lost its charge and calls for ever", _closed("stat")),
    ("thermostat bulb in warm air, sensor reads warm, or cut-in below the water", Effects(bulb="warm")),
    ("thermostat contact of high resistance", _series("stat", BAD_CONTACT_OHMS)),
    ("level relay coil open", _open("relay_coil")),
    ("level relay contact stuck open", _open("level")),
    ("level relay contact welded or jumpered", _closed("level")),
    ("level relay wired on its NC throw", Effects(turned=frozenset({"level"}))),
    ("float stuck up", Effects(stuck_float="up")),
    ("float stuck down, fouled or tilted", Effects(stuck_float="down")),
    ("float lead broken", _open("float")),
    ("float leads shorted together", _closed("float")),
    ("relay-side float lead grounded (wet splice)", _grounded("relay_lead")),
    ("float wired in the hot leg: a line conductor in the water", Effects(float_leg="hot")),
    ("float in the hot leg and its line-side lead grounded", _grounded("other_lead", leg="hot")),
    ("contactor coil open", _open("coil")),
    ("contactor coil shorted, secondary fuse blown", Effects(shorts=frozenset({("kc", "kr")}))),
    ("contactor coil return wire open", _open("coil_return")),
    ("contactor coil rated for twice the control volts", Effects(coil_ratio=2.0)),
    ("control volts low, about 58 % of rated", Effects(control_share=LOW_CONTROL)),
    ("contactor mechanically stuck open", _open("armature")),
    ("contactor welded on all poles", _closed("all_poles")),
    ("one contactor pole not making", _open("last_pole")),
    ("one contactor pole welded", _closed("pole1")),
    ("one heater element open", Effects(heater="element_open")),
    ("enabled lamp burnt out", _open("lamp_a")),
    ("heating lamp burnt out", _open("lamp_h")),
    ("contactor coil fed ahead of thermostat and level contacts", Effects(coil_from="p")),
    ("one of the heaters on the contactor dead", Effects(heater="one_dead")),
    ("heater element grounded inside", Effects(heater="element_grounded")),
    ("heater made for twice the volts of the supply", Effects(heater_ratio=2.0)),
    ("bad lug or contact in a heater line", _series("pole1", BAD_LUG_OHMS)),
    ("bad joint in the control string, at the heater switch", _series("switch", BAD_JOINT_OHMS)),
    ("control volts at 75 % of rated: coils may chatter", Effects(control_share=0.75)),
    ("thermal limit open", _open("limit")),
    ("thermal limit bypassed or stuck closed", _closed("limit")),
    ("relay-side float lead leaking to ground (damp splice)", _grounded("relay_lead", WET_OHMS)),
    ("isolated float supply dead", _open("isolated_supply")),
)
_COIL_SHORTED = 32

FAULTS: Mapping[int, Fault] = {
    number: Fault((number,), name, effects, number == _COIL_SHORTED) for number, (name, effects) in enumerate(_ROWS)
}
"""Every fault by number; 0 is none."""
NONE = FAULTS[0]
TABLE = tuple(range(44))
"""Numbers of the faults that the trade table lists; the rest stand outside it."""


def why_not(number: int, circuit: Circuit) -> str:
    """Why a circuit cannot have a fault, as a sentence; empty where it can."""
    cannot = {
        3: (circuit.phases != 3, "a single-phase heater has no third line"),
        8: (circuit.grounded == "none", "this secondary has no ground by design"),
        9: (circuit.grounded != "x2", "this secondary is not grounded at X2"),
        13: (not circuit.interlock, "no pump holds this heater off"),
        29: (circuit.float_leg == "hot", "this float is in the hot leg as the register has it"),
        41: (circuit.lamps < 1, "this circuit has no enabled lamp"),
        42: (circuit.lamps < 2, "this circuit has no heating lamp"),
        44: (circuit.heaters < 2, "only one heater hangs on this contactor"),
        50: (not circuit.thermal_limit, "this circuit has no thermal limit"),
        51: (not circuit.thermal_limit, "this circuit has no thermal limit"),
        53: (circuit.float_leg != "isolated", "this float has no supply of its own"),
    }
    so, says = cannot.get(number, (False, ""))
    return says if so else ""


def faults_of(circuit: Circuit) -> tuple[Fault, ...]:
    """The faults this circuit can have, no fault first."""
    return tuple(fault for number, fault in FAULTS.items() if not why_not(number, circuit))
