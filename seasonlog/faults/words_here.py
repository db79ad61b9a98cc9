"""Words for one circuit: no pump where the tower has none."""

from dataclasses import replace

from seasonlog.faults.catalogue import Fault, faults_of
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.lines import ANY_LINE, placed

INTERLOCK = 12
NO_PUMP = "jumper between heater switch and thermostat missing"
"""Fault 12 where no pump holds the heater off: a jumper lies in the interlock's place."""
_PUMP_WORDS = (
    ("the pump interlock, pump off, or its jumper", "the jumper between switch and thermostat"),
    ("the heater switch on, the pump off, and", "the heater switch on, and"),
    (", the switch on and the pump off even", " and the switch on even"),
    ("the switch on, the pump off and", "the switch on and"),
    ("switch, interlock, thermostat", "switch, thermostat"),
    ("switch, interlock and thermostat", "switch, jumper and thermostat"),
    (", pump off", ""),
)


def named_here(circuit: Circuit, fault: Fault) -> Fault:
    """A fault by the name it has in this circuit."""
    if circuit.interlock or fault.numbers != (INTERLOCK,):
        return fault
    return replace(fault, name=NO_PUMP)


def faults_here(circuit: Circuit) -> tuple[Fault, ...]:
    """The faults this circuit can have, no fault first, as a table of this circuit names them.

    The two faults that may sit in any line stand in a table for the last one, and are named after it.
    """
    return tuple(
        replace(named_here(circuit, fault), name=placed(fault, circuit.lines).name)
        if fault.numbers in ANY_LINE
        else named_here(circuit, fault)
        for fault in faults_of(circuit)
    )


def words_here(circuit: Circuit, words: str) -> str:
    """Words of a question without the pump where there is none."""
    for old, new in () if circuit.interlock else _PUMP_WORDS:
        words = words.replace(old, new)
    return words
