"""What is found by eye and hand with the branch locked out, where no meter reading says it; and how often it shows."""

from collections.abc import Iterator, Mapping

from seasonlog.faults import settings as at
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.observation import DEAD, HAND, Check

WIDE: tuple[tuple[str, float, tuple[str, ...], tuple[str, ...], str], ...] = (
    ("contactor_by_hand", 5.0, ("sound", "does_not_close", "does_not_open", "pole_stays_open", "pole_stays_closed"),
     ("armature", "poles_pressed", "poles_released"),
     "Press the contactor's armature with an insulating tool and let go, with the ohmmeter on each pole in turn: does "
     "it close and open, and does every pole with it?"),
    ("wires", 5.0, ("sound", "bridge", "loose_or_brown"), ("bridges", "terminals"),
     "Follow the control wires by eye, and the heater lines at breaker, contactor and heater: any bridge that the "
     "drawing does not show, any loose or brown terminal?"),
)  # fmt: skip
"""One look at one place that answers several narrower ones: id, minutes, answers, what it covers, what to do."""
_ROWS: tuple[tuple[str, str, float, tuple[str, ...], str], ...] = (
    ("float_free", DEAD, 4.0, ("free", "stuck"),
     "Move the float down with a rod and let go: does it hang right, move freely and come back by itself? Never raise "
     "it by hand."),
    ("sensor_place", HAND, 3.0, ("in_place", "not_in_place"),
     "Is the sensor at the bottom of its well, in this basin's water, and the dial set above the water's temperature?"),
    ("bridges", DEAD, 3.0, ("none", "some"),
     "Follow the wires of switch, interlock, thermostat, level relay, limit and float: any jumper or bridge that the "
     "drawing does not show?"),
    ("armature", DEAD, 2.0, ("free", "does_not_close", "does_not_open"),
     "Press the contactor's armature with an insulating tool: does it close and open freely?"),
    ("poles_pressed", DEAD, 3.0, ("all_closed", "not_all"),
     "Contactor pressed in by hand: ohms across each pole; are all closed?"),
    ("poles_released", DEAD, 3.0, ("all_open", "some_closed", "all_closed"),
     "Contactor released: ohms across each pole; are all open?"),
    ("terminals", DEAD, 4.0, ("sound", "loose_or_brown"),
     "Heater lines at breaker, contactor and heater, and the control wires at the switch: any loose or brown one?"),
    ("heater_ohms", DEAD, 4.0, ("right", "unlike", "other_value"),
     "Ohms of the heater between every two lines, leads nulled: as the plate says, unlike each other, or alike but "
     "another value?"),
    ("insulation", DEAD, 6.0, ("holds", "low"),
     "Insulation of the heater to ground, 500 V dc, controls and electronics disconnected, read after 60 s, then "
     "discharge: holds or low?"),
    ("coil_plate", DEAD, 2.0, ("right", "other"),
     "Read the volts on the contactor coil's plate: are they the control volts of this panel?"),
    ("heater_plate", DEAD, 2.0, ("right", "other"), "Read the heater's plate: are its volts those of this supply?"),
    ("lamp_a_bulb", DEAD, 3.0, ("good", "burnt"), 'Ohm or swap the "enabled" lamp: good or burnt out?'),
    ("lamp_h_bulb", DEAD, 3.0, ("good", "burnt"), 'Ohm or swap the "heating" lamp: good or burnt out?'),
)  # fmt: skip
SHOWS: Mapping[str, Mapping[int, Mapping[str, float]]] = {
    "contactor_by_hand": {
        36: {"does_not_close": 0.9},
        37: {"does_not_open": 0.95},
        38: {"pole_stays_open": 0.95},
        39: {"pole_stays_closed": 0.95},
        47: {"pole_stays_open": 0.1},
    },
    "wires": {
        **{number: {"bridge": 0.6} for number in (11, 13, 15, 22, 27, 51)},
        47: {"loose_or_brown": 0.85},
        48: {"loose_or_brown": 0.6},
        33: {"loose_or_brown": 0.3},
    },
    "float_free": {24: {"stuck": 0.9}, 25: {"stuck": 0.9}},
    "sensor_place": {18: {"not_in_place": 0.9}},
    "bridges": {number: {"some": 0.6} for number in (11, 13, 15, 22, 27, 51)},
    "armature": {36: {"does_not_close": 0.9}, 37: {"does_not_open": 0.8}},
    "poles_pressed": {38: {"not_all": 0.95}, 36: {"not_all": 0.9}, 47: {"not_all": 0.1}},
    "poles_released": {39: {"some_closed": 0.95}, 37: {"all_closed": 0.95}},
    "terminals": {47: {"loose_or_brown": 0.85}, 48: {"loose_or_brown": 0.6}, 33: {"loose_or_brown": 0.3}},
    "heater_ohms": {40: {"unlike": 0.96}, 44: {"other_value": 0.96}, 46: {"other_value": 0.96}, 45: {"unlike": 0.3}},
    "insulation": {45: {"low": 0.96}},
    "coil_plate": {34: {"other": 0.96}},
    "heater_plate": {46: {"other": 0.96}},
    "lamp_a_bulb": {41: {"burnt": 0.96}},
    "lamp_h_bulb": {42: {"burnt": 0.96}},
    "breaker_handle": {1: {"tripped": 0.95}, 45: {"tripped": 0.1}},
    "float_ice": {24: {"fouled": 0.5}, 25: {"fouled": 0.6}},
}
"""Test -> fault -> how often an eye finds it; otherwise the first answer. Common practice, no source."""


def inspections(circuit: Circuit, lockout: str) -> Iterator[Check]:
    """The inspections this circuit allows, with the caution of a lockout where one is needed."""
    gone = {"lamp_a_bulb": circuit.lamps < 1, "lamp_h_bulb": circuit.lamps < 2}
    for name, minutes, choices, covers, do in WIDE:
        yield Check(id=name, mode=DEAD, state=at.LOCKED, what="seen", minutes=minutes, choices=choices, do=do,
                    caution=lockout, covers=covers)  # fmt: skip
    for name, mode, minutes, choices, do in _ROWS:
        if not gone.get(name, False):
            setting = at.LOCKED if mode == DEAD else at.CALL
            caution = lockout if mode == DEAD else "Touch no wire; lid and panel of the heater stay shut."
            yield Check(id=name, mode=mode, state=setting, what="seen", minutes=minutes, choices=choices, do=do,
                        caution=caution)  # fmt: skip


def shown(check: str, numbers: tuple[int, ...], choices: tuple[str, ...]) -> dict[str, float]:
    """How often each answer is found when these faults are there; the first answer is that of a sound circuit."""
    found = dict.fromkeys(choices, 0.0)
    for number in numbers:
        for choice, often in SHOWS.get(check, {}).get(number, {}).items():
            found[choice] = 1.0 - (1.0 - found[choice]) * (1.0 - often)
    whole = max(1.0, sum(found.values()))
    found = {choice: often / whole for choice, often in found.items()}
    found[choices[0]] += max(0.0, 1.0 - sum(found.values()))
    return found
