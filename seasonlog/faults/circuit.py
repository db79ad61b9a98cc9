"""The heater circuit of one tower as the ladder model takes it, built from the register.

Circuits the ladder does not cover are refused in words. What the register does not know is taken as customary, and
each such assumption is told beside every result.
"""

from dataclasses import dataclass

from seasonlog.calc.control import PICK_UP_SHARE
from seasonlog.domain.register import Basin, Register
from seasonlog.domain.register import Circuit as Entry
from seasonlog.faults.effects import UnmodelledError

PULL_IN = PICK_UP_SHARE
"""Share of rated volts at which a coil must close. Source: IEC 60947-4-1, NEMA ICS 2 (from memory)."""
MAY_CHATTER = 0.60
"""From this share to `PULL_IN` an AC coil may buzz or chatter. Common practice, no source."""
LAMP_WATTS = 2.4
"""6 kohm at 120 V. Common practice, no source."""
LEAST_TRANSFORMER_VA = 50.0
REGULATION = 0.02
"""Volts a control transformer loses at its own VA. Common practice, no source."""
FUSE_FACTOR = 3.0
"""Secondary current over the transformer's rated one that clears the fuse. Common practice, no source."""
ISOLATED_VOLTS = 24.0
"""An isolated low-energy float circuit. Source: Class 2, 30 V at most (second hand)."""
CONTROL_VOLTS, COIL_VA, RELAY_VA = 120.0, 8.0, 2.0
"""Small definite-purpose contactor and its level relay. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """A heater circuit that the ladder covers. As it stands: 18 kW, 480 V, delta, 120 V control, neutral-leg float."""

    id: str = ""
    control_volts: float = CONTROL_VOLTS
    float_leg: str = "neutral"
    """`neutral`, `hot` or `isolated`."""
    grounded: str = "x2"
    """Side of the secondary that is grounded: `x1`, `x2` or `none`."""
    interlock: bool = True
    """A pump contact holds the heater off; otherwise a jumper lies in its place."""
    lamps: int = 2
    """0; 1: the lamp "enabled"; 2: "heating" too."""
    thermal_limit: bool = False
    coil_va: float = COIL_VA
    """Held in [VA]."""
    coil_inrush_va: float | None = None
    """Pulling in [VA]; as held in when None."""
    coil_volts: float = CONTROL_VOLTS
    relay_va: float = RELAY_VA
    coil_drop_out: float = 0.5
    """Share of rated volts at which the contactor lets go. Source: 0.20 to 0.75, IEC 60947-4-1 (from memory)."""
    relay_drop_out: float = 0.2
    """The same of the level relay: 0.1 to 0.3. Common practice, no source."""
    heater_kw: float = 18.0
    """All heaters on the contactor together."""
    heater_volts: float = 480.0
    supply_volts: float = 480.0
    """Line to line; of a single-phase heater across it."""
    phases: int = 3
    connection: str = "delta"
    poles: int = 3
    """Lines the contactor opens."""
    heaters: int = 1
    separate_supply: bool = False
    """Control power comes from elsewhere: the heater's breaker does not switch it off."""
    assumed: tuple[str, ...] = ()
    """Sentences: what the register does not say and how it was taken."""

    @property
    def lines(self) -> int:
        """Lines that feed the heater: 3, or 2 of a single-phase heater."""
        return 3 if self.phases == 3 else 2

    @property
    def transformer_va(self) -> float:
        """What the control transformer is taken to be made for [VA]."""
        burden = max(self.coil_va, self.coil_inrush_va or 0.0) + self.relay_va + self.lamps * LAMP_WATTS
        return max(LEAST_TRANSFORMER_VA, 1.25 * burden)

    @property
    def points(self) -> tuple[str, ...]:
        """Every test point: lines, breaker, contactor, terminals, transformer, ladder, float, coil, neutral, ground."""
        lines = tuple(f"{side}{line}" for side in "LBCT" for line in range(1, self.lines + 1))
        limit = ("r",) if self.thermal_limit else ()
        own = ("ia", "ib") if self.float_leg == "isolated" else ()
        ladder = ("X1", "X2", "b", "s", "p", "t", *limit, "k", "kc", "kr", "ra", "fa", "fb", "rb", *own, "n", "g")
        return (*lines, "H1", "H4", *ladder)


def circuit_of(register: Register, circuit_id: str) -> Circuit:
    """The circuit of the register as the ladder takes it.

    Args:
        register: The register as of now.
        circuit_id: Id of a heater circuit in it.

    Raises:
        UnmodelledError: the ladder does not cover such a circuit, or the register has none of this id.
    """
    entry = register.circuits.get(circuit_id)
    if entry is None or entry.basin not in register.basins or entry.tower not in register.towers:
        raise UnmodelledError(f"the register has no heater circuit {circuit_id!r} with its tower and basin")
    refused = why_unmodelled(entry, register.basins[entry.basin])
    if refused:
        raise UnmodelledError(f"circuit {circuit_id}: {refused}; its faults are not worked out here, send a technician")
    separate = any(source.what == "control_supply" for source in register.sources_of(entry.tower))
    return _built(entry, register.towers[entry.tower].pump_on_tower, separate)


def why_unmodelled(entry: Entry, basin: Basin) -> str:
    """Why the ladder does not cover a circuit, as half a sentence; empty when it does."""
    level = {
        "conductance_probe": "its level device is a conductance probe, whose electronics the ladder does not know",
        "combined_controller": "one combined controller does level and temperature, and the ladder does not know it",
        "none": "its basin has no level device, so the ladder has nothing that keeps it from running dry",
    }
    if basin.heat != "electric":
        return f"its basin is heated by {basin.heat.replace('_', ' ')}, not by an electric heater"
    if entry.control in ("plc", "building"):
        who = "a PLC" if entry.control == "plc" else "the building's controls"
        return f"{who} decides when to heat, and the ladder does not know that program"
    if entry.switching != "contactor":
        return f"it is switched by firing control ({entry.switching.replace('_', ' ')}), not by a contactor"
    return level.get(basin.level_device, "")


def _built(entry: Entry, pump_on_tower: bool, separate: bool) -> Circuit:
    control = float(entry.control_volts or entry.coil_volts or CONTROL_VOLTS)
    volts = float(entry.volts)
    return Circuit(
        id=entry.id,
        control_volts=control,
        float_leg="neutral" if entry.float_leg == "unknown" else entry.float_leg,
        grounded="x2" if entry.control_grounded_leg == "unknown" else entry.control_grounded_leg,
        interlock=pump_on_tower,
        lamps=min(2, entry.lamps or 0),
        thermal_limit=bool(entry.thermal_limit),
        coil_va=float(entry.coil_va or COIL_VA),
        coil_inrush_va=None if entry.coil_inrush_va is None else float(entry.coil_inrush_va),
        coil_volts=float(entry.coil_volts or control),
        relay_va=float(entry.level_relay_va or RELAY_VA),
        heater_kw=float(entry.kw),
        heater_volts=volts,
        supply_volts=float(entry.supply_volts or volts),
        phases=entry.phases,
        connection="delta" if entry.connection == "unknown" else entry.connection,
        poles=_poles(entry),
        heaters=entry.heaters,
        separate_supply=separate,
        assumed=_assumed(entry, control, separate),
    )


def _poles(entry: Entry) -> int:
    lines = 3 if entry.phases == 3 else 2
    return lines if entry.poles_switched == "unknown" else min(lines, int(entry.poles_switched))


def _assumed(entry: Entry, control: float, separate: bool) -> tuple[str, ...]:
    told = {
        f"control volts are not in the register: taken as {control:g} V": entry.control_volts is None,
        "the float's leg is not in the register: taken as neutral; fault 29 is a float in the hot leg": (
            entry.float_leg == "unknown"
        ),
        "the grounded side of the control secondary is not in the register: taken as X2": (
            entry.control_grounded_leg == "unknown"
        ),
        "the number of lamps is not in the register: taken as none": entry.lamps is None,
        f"{entry.lamps} lamps are in the register: two are known here, enabled and heating": (entry.lamps or 0) > 2,
        f"the coil's VA is not in the register: taken as {COIL_VA:g} VA": entry.coil_va is None,
        f"the level relay's VA is not in the register: taken as {RELAY_VA:g} VA": entry.level_relay_va is None,
        "whether there is a thermal limit is not in the register: taken as none": entry.thermal_limit is None,
        "how the elements are joined is not in the register: taken as delta": (
            entry.connection == "unknown" and entry.phases == 3
        ),
        "the lines the contactor opens are not in the register: taken as all": entry.poles_switched == "unknown",
        "the volts of the separate control supply are not in the register: taken as the heater's own": separate,
    }
    return tuple(sentence for sentence, so in told.items() if so)
