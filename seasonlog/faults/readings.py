"""What can be seen and measured on a solved circuit."""

from dataclasses import dataclass

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.ladder import Ladder
from seasonlog.faults.network import GROUND, Net
from seasonlog.faults.power import NO_AMPS, Power

METER_OHMS = 10e6
"""An ordinary digital voltmeter."""
LOW_METER_OHMS = 3e3
"""A low-impedance meter or tester, which does not show stray volts."""
LIT, DIM = 0.5, 0.1
"""Shares of rated volts from which a lamp is lit, or glows. Common practice, no source."""
LAMPS = {"A": ("s", "lamp_a", 1), "H": ("k", "lamp_h", 2)}
"""Each lamp: the point it is fed from, its part, and how many lamps a circuit with it has."""


@dataclass(frozen=True, slots=True)
class Readings:
    """A solved circuit, to be looked at."""

    circuit: Circuit
    control: Net
    power: Power
    turn: complex
    """Direction of the control volts among the phasors of the supply."""
    rungs: Ladder
    relay: bool
    """The level relay is in."""
    coil: bool
    """The contactor's coil is held by enough volts."""
    contactor: bool
    """The contactor is in, as the eye sees it."""
    chatter: tuple[str, ...]
    """`R`, `K`: coils at 60 to 85 % of rated volts, or that never settle: they may buzz or chatter; taken as out."""

    def volts(self, one: str, other: str = GROUND, meter_ohms: float = METER_OHMS) -> float:
        """What an AC voltmeter shows between two test points [V].

        Args:
            one: A test point of `circuit.points`.
            other: Another; ground when not given.
            meter_ohms: Impedance of the meter; it loads the circuit, but is not taken to pull a relay in or out.
        """
        for net in (self.control, self.power.net):
            if all(point == GROUND or point in net.root for point in (one, other)):
                return abs(net.between(one, other, meter_ohms))
        return abs(self._phasor(one, meter_ohms) - self._phasor(other, meter_ohms))

    def _phasor(self, point: str, meter_ohms: float) -> complex:
        if point in self.control.root:
            return self.turn * self.control.between(point, GROUND, meter_ohms)
        return self.power.net.between(point, GROUND, meter_ohms)

    def share(self, one: str, other: str = GROUND, meter_ohms: float = METER_OHMS) -> float:
        """The same as a share of rated control volts."""
        return self.volts(one, other, meter_ohms) / self.circuit.control_volts

    def lamp(self, name: str) -> str:
        """`lit`, `dim` or `off`; `none` where the circuit has no such lamp. `A`: enabled; `H`: heating."""
        point, part, least = LAMPS[name]
        if self.circuit.lamps < least:
            return "none"
        share = abs(self.control.volts(point) - self.control.volts("n")) / self.circuit.control_volts
        if part in self.rungs.effects.opened or share < DIM:
            return "off"
        return "lit" if share >= LIT else "dim"

    @property
    def line_amps(self) -> tuple[float, ...]:
        """What a clamp shows on each line to the heater [A]."""
        return self.power.amps

    @property
    def heater(self) -> str:
        """Pattern of the lines to the heater; see `Power.code`."""
        return self.power.code

    @property
    def heats(self) -> bool:
        """Whether the heater gives heat, be it in part."""
        return self.power.power_share > NO_AMPS**2 and max(self.power.shares) >= NO_AMPS

    @property
    def terminals_live(self) -> bool:
        """Whether a heater terminal has line volts to ground: current or not."""
        return self.power.code != "0"
