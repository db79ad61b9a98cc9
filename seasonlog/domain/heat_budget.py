"""Is the heat of a basin enough, and how long does it last without: from the register and what was last measured.

Adequate is yes, no or cannot tell, for pump and fans off. A basin's figure never stands alone: what freezes first is
told with it, and that still water skins over before the whole of it is cold.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from seasonlog.calc import basin as thermal
from seasonlog.calc import freeze, heater, supply
from seasonlog.calc.signature import Readings, signature
from seasonlog.calc.supply import unbalance_percent
from seasonlog.calc.units import SQRT3
from seasonlog.domain.limits_heater import plate
from seasonlog.domain.named_faults import load_of
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Basin, Circuit, Register, Site
from seasonlog.errors import RatingError

CANNOT_TELL = "cannot_tell"
_WALLS = {"steel": "steel", "stainless": "steel", "frp": "frp"}


@dataclass(frozen=True, slots=True)
class Measured:
    """What was last read on a heater circuit, heater on."""

    volts: tuple[float, ...] = ()
    """Line to line, or empty [V]."""
    amps: tuple[float, ...] = ()
    """Of each line, or empty [A]."""
    words: str = ""
    """When: `on 2026-09-15`."""


@dataclass(frozen=True, slots=True)
class Delivered:
    """Power that reaches the water from one heater circuit."""

    circuit: str
    kw: float
    says: str
    """With its arithmetic, and whether it was measured."""


@dataclass(frozen=True, slots=True)
class At:
    """A basin at one outdoor temperature."""

    label: str
    """`design`, `record low` or `asked for`."""
    outdoor_degf: float
    water_degf: float
    """Held in the basin [degF]."""
    loss_low_kw: float
    loss_high_kw: float
    adequate: str
    """`yes`, `no` or `cannot_tell`."""
    off_hours: tuple[float | None, float | None]
    """Fewest and most hours to 32 degF with the heater off; None: never."""
    holds_degf: tuple[float | None, float | None]
    """Lowest and highest water temperature that the heat holds; None: below 32."""


@dataclass(frozen=True, slots=True)
class BasinHeat:
    """What is known of one basin's heat."""

    basin: str
    first_to_freeze: str
    """What freezes before the basin does, and why."""
    delivered: tuple[Delivered, ...] = ()
    kw: float | None = None
    """All of it together; None: its heat is not in kW."""
    at: tuple[At, ...] = ()
    missing: str = ""
    """Not empty: why nothing can be told, and what to find out."""
    skin_ice: str = field(default=freeze.SKIN_ICE)
    has: str = ""
    """What heat reaches it, in words; empty with `missing`."""

    @property
    def adequate(self) -> str:
        """At the design temperature, or at the first one there is."""
        return self.at[0].adequate if self.at else CANNOT_TELL


def delivered(circuit: Circuit, read: Measured) -> Delivered:
    """Power of a heater circuit at its last measured volts and amps; by its plate where neither was read.

    Args:
        circuit: Its plate.
        read: The last readings.

    Raises:
        RatingError: a value is impossible.

    Source:
        Circuit theory, resistive load: sqrt 3 V I, or V I; uneven lines solved as a network.
    """
    rated, at_heater = float(circuit.volts), volts_at(circuit)
    volts = supply.mean_volts(read.volts) if read.volts else at_heater
    if not read.amps:
        kw = heater.power_at(float(circuit.kw), rated, volts)
        if not read.volts and volts == rated:
            return Delivered(circuit.id, kw, f"{plate(circuit)} by its plate, not measured yet")
        if not read.volts:
            says = f"{kw:.3g} kW: {plate(circuit)} on the {volts:.4g} V of the register, not measured yet"
            return Delivered(circuit.id, kw, says)
        return Delivered(circuit.id, kw, f"{kw:.3g} kW: {plate(circuit)} at {volts:.4g} V {read.words}, no amps read")
    kw, how = _drawn(circuit, read, volts)
    assumed = "" if read.volts else f" (volts not measured, {volts:.4g} V taken)"
    return Delivered(circuit.id, kw, f"{kw:.3g} kW: {how}{assumed} {read.words}".strip())


def volts_at(circuit: Circuit) -> float:
    """Volts a heater is on by the register: those of its panel, line to neutral where it is made for that [V]."""
    rated = float(circuit.volts)
    if circuit.supply_volts is None:
        return rated
    nominal = supply.at_heater(float(circuit.supply_volts), rated, circuit.phases)
    return rated if supply.service_range(rated).holds(nominal) else nominal


def _drawn(circuit: Circuit, read: Measured, volts: float) -> tuple[float, str]:
    mean = sum(read.amps) / len(read.amps)
    shown = " / ".join(f"{a:.4g}" for a in read.amps)
    if circuit.phases == 1:
        return volts * mean / 1000.0, f"{volts:.4g} V x {mean:.4g} A"
    if mean == 0.0:
        return 0.0, "no line draws current"
    if unbalance_percent(read.amps) > 10.0:
        fitting = signature(load_of(circuit), Readings(read.amps, read.volts)).causes
        fits = [cause for cause in fitting if cause.cause != CANNOT_TELL and cause.fit > 0.5 * fitting[0].fit]
        if fits:
            return min(cause.left_kw for cause in fits), f"lines draw {shown} A unevenly"
    return SQRT3 * volts * mean / 1000.0, f"sqrt 3 x {volts:.4g} V x {mean:.4g} A"


def model(basin: Basin, site: Site, practice: PracticeTable) -> tuple[thermal.Basin, float]:
    """A basin as its heat loss is worked, and the share of the wind that reaches its water.

    Raises:
        RatingError: something that the loss hangs on is not on record, or not modelled.
    """
    if basin.area_ft2 is None or basin.depth_ft is None or basin.wall_ft2 is None:
        lacking = [n for n in ("area_ft2", "depth_ft", "wall_ft2") if getattr(basin, n) is None]
        raise RatingError(f"not on record: {', '.join(lacking)} of {basin.id}")
    wall = "r4" if basin.insulation == "r4" else _WALLS.get(basin.material)
    if wall is None or basin.insulation == "other":
        raise RatingError(f"what walls of {basin.material}, insulation {basin.insulation}, lose is not modelled")
    share = practice.value(f"wind_share_{site.wind_shelter}_percent") / 100.0
    return thermal.Basin(float(basin.area_ft2), float(basin.depth_ft), float(basin.wall_ft2), wall), share


def basin_heat(
    register: Register,
    basin: Basin,
    practice: PracticeTable,
    read: Mapping[str, Measured],
    *,
    asked_degf: float | None = None,
    broken: Sequence[str] = (),
) -> BasinHeat:
    """Whether a basin's heat is enough at the site's design temperature and its record low, and how long without.

    Args:
        register: The tower's part of the register.
        basin: One of its basins.
        practice: The table of constants as the site holds it.
        read: Circuit id to what was last measured on it.
        asked_degf: One more outdoor temperature [degF].
        broken: What freezes first because it failed, in words.

    Source:
        `calc.basin` and `calc.freeze`; fans and pump off.
    """
    site = register.site_of(basin.tower)
    first = _first_to_freeze(basin, broken)
    try:
        found, kw = _heat_of(register, basin, read)
        shape, share = model(basin, site, practice)
        outdoor = _outdoor(site, asked_degf)
        at = tuple(_at(shape, share, practice, label, degf, kw) for label, degf in outdoor)
    except RatingError as unknown:
        return BasinHeat(basin.id, first, missing=str(unknown))
    return BasinHeat(basin.id, first, found, kw, at, has=_has(found, kw))


def _heat_of(
    register: Register, basin: Basin, read: Mapping[str, Measured]
) -> tuple[tuple[Delivered, ...], float | None]:
    circuits = [c for c in register.circuits_of(basin.tower) if c.basin == basin.id]
    found = tuple(delivered(circuit, read.get(circuit.id, Measured())) for circuit in circuits)
    if basin.heat in ("hot_water", "steam"):
        return found, None
    return found, sum(each.kw for each in found)


def _has(found: Sequence[Delivered], kw: float | None) -> str:
    if kw is None:
        return "heat not in kW on record"
    return f"{kw:.3g} kW reach it" if found else "no heater on record"


def _outdoor(site: Site, asked_degf: float | None) -> list[tuple[str, float]]:
    known = (("design", site.design_degf), ("record low", site.record_low_degf))
    found = [(label, float(degf)) for label, degf in known if degf is not None]
    if asked_degf is not None:
        found.append(("asked for", asked_degf))
    if not found:
        raise RatingError(f"neither design_degf nor record_low_degf of site {site.id} is on record")
    return found


def _at(
    shape: thermal.Basin, share: float, practice: PracticeTable, label: str, outdoor_degf: float, kw: float | None
) -> At:
    weather = thermal.Weather(outdoor_degf, practice.value("design_wind_mph"))
    water = practice.value("hold_water_degf")
    lost = thermal.loss_range(shape, water, weather, share)
    low, high = max(0.0, lost.low_kw), max(0.0, lost.high_kw)
    adequate = CANNOT_TELL if kw is None else thermal.adequate(kw, low, high)
    off = freeze.freeze_hours(shape, weather, 0.0, water, share)
    holds = (None, None) if kw is None else freeze.steady_range(shape, weather, kw, share)
    return At(label, outdoor_degf, water, low, high, adequate, off, holds)


def _first_to_freeze(basin: Basin, broken: Sequence[str]) -> str:
    if broken:
        return f"{broken[0]}, before the basin"
    if basin.makeup_valve != "none" and not basin.makeup_heat_trace:
        return "the make-up valve and its line, which have no heat trace, before the basin"
    return "the skin of the still water, before the whole basin is cold"
