"""The situations tests are made in: what is found, and what a technician sets up, as states of the model."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from seasonlog.faults.states import WARM, State

COLD_WATER, ICED = "cold", "iced"
BASES = {COLD_WATER: State(), ICED: State(water=WARM, bulb="iced")}
"""How the heater is called for: by cold water, or by the sensor in ice slush."""
CALL, OFF, PUMP, WARMED, ICE, DOWN, JUMPERED, LOW = "call", "off", "pump", "warmed", "ice", "down", "jumpered", "low"
LOCKED, LIFTED, LIFTED_DOWN, COIL_LIFTED = "locked", "lifted", "lifted_down", "coil_lifted"
LIMIT_OPEN = "limit_open"
SETTINGS: Mapping[str, Callable[[State], State]] = {
    CALL: lambda base: base,
    OFF: lambda base: replace(base, switch=False),
    PUMP: lambda base: replace(base, pump=True),
    WARMED: lambda base: replace(base, bulb="warmed"),
    ICE: lambda base: replace(base, bulb="iced"),
    DOWN: lambda base: replace(base, float_by_hand="down"),
    JUMPERED: lambda base: replace(base, stat_jumpered=True),
    LOW: lambda base: replace(base, full=False),
    LOCKED: lambda base: base,
    LIFTED: lambda base: replace(base, float_lifted=True),
    LIFTED_DOWN: lambda base: replace(base, float_lifted=True, float_by_hand="down"),
    COIL_LIFTED: lambda base: replace(base, coil_lifted=True),
    LIMIT_OPEN: lambda base: replace(base, limit_opened=True),
}
"""Setting -> the state it makes of a base. No setting raises the float, bridges the level relay or leaves it dry."""
LOCKED_OUT = (LOCKED, LIFTED, LIFTED_DOWN, COIL_LIFTED, LIMIT_OPEN)
SAYS: Mapping[str, str] = {
    CALL: "basin full, switch on, pump off, cold sensor",
    OFF: "heater switch off, the rest as when calling",
    PUMP: "pump running, the rest as when calling",
    WARMED: "sensor warmed by hand above cut-out, the rest as when calling",
    ICE: "sensor in ice slush, the rest as when calling",
    DOWN: "basin full, water seen over the heater, float held down with a dry insulating rod, cold sensor",
    JUMPERED: "jumper from C to NO, water seen over the heater, the rest as when calling",
    LOW: "heater leads lifted and insulated, control power on, water drained past the trip level, cold sensor",
    LOCKED: "branch locked out, proved dead, sensor cold",
    LIFTED: "branch locked out, proved dead, both float leads off at the panel, basin full",
    LIFTED_DOWN: "branch locked out, proved dead, both float leads off at the panel, float held down",
    LIMIT_OPEN: "branch locked out, proved dead, the thermal limit opened by its test button or a warm sensor",
    COIL_LIFTED: "branch locked out, proved dead, the wire to the contactor's coil off",
}
"""Each setting in words."""
