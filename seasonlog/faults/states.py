"""What a technician finds or does at a tower: water, level, switch, pump, and everything that is forced by hand."""

from collections.abc import Mapping
from dataclasses import dataclass

COLD, WARM, BETWEEN = "cold", "warm", "between"


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One situation the circuit is looked at in."""

    water: str = COLD
    """`cold`: below cut-in; `warm`: above cut-out; `between`: the thermostat stays as it was."""
    full: bool = True
    """Water at its operating level; otherwise below the trip level."""
    switch: bool = True
    pump: bool = False
    breaker: bool = True
    """Branch breaker on."""
    control_supply: bool = True
    """A control supply of its own is on; says nothing where the transformer hangs on the heater's branch."""
    stat_was_closed: bool = False
    """Last state of the thermostat's contact, for water in between."""
    float_by_hand: str = ""
    """`down` or `up`: the float is held there by hand. Up only with the leads lifted, or water seen over the heater."""
    bulb: str = ""
    """`iced` or `warmed`: what the sensor is held in."""
    stat_jumpered: bool = False
    """A jumper lies from C to NO; set with the circuit dead."""
    coil_lifted: bool = False
    """The wire to the contactor's coil is off."""
    float_lifted: bool = False
    """Both float leads are off at the panel: `fa` and `fb` are the leads' ends, `ra` and `rb` the panel's terminals."""
    limit_opened: bool = False
    """The thermal limit is made to open, by heat or its test button."""


NAMED: Mapping[str, State] = {
    "CF": State(),
    "CL": State(full=False),
    "WF": State(water=WARM),
    "WL": State(water=WARM, full=False),
    "OFF": State(switch=False),
    "PUMP": State(pump=True),
}
"""The six states of the fault table. CF: cold and full, the heater must run; in all others it must be off."""
SAYS: Mapping[str, str] = {
    "CF": "water cold, basin full: it must heat",
    "CL": "water cold, level low: it must stay off",
    "WF": "water warm, basin full: it must stay off",
    "WL": "water warm, level low: it must stay off",
    "OFF": "heater switch off, water cold, basin full: it must stay off",
    "PUMP": "pump running, water cold, basin full: it must stay off",
}
"""Each named state in words."""
STAY_OFF = ("CL", "WF", "WL", "OFF", "PUMP")
