"""Contradictions of basins and towers: levels, level device, sensor, equaliser, volume, heat, sources to lock out."""

from collections.abc import Iterator

from seasonlog.calc.levels import levels
from seasonlog.domain.contradictions_facts import Contradiction, Facts, Rule, at
from seasonlog.domain.register import Basin, Circuit, Tower
from seasonlog.domain.severity import Severity

GALLONS_PER_FT3 = 1728.0 / 231.0
"""Source: US gallon, 231 cubic inches exactly."""
_SHAPE_PERCENT = 10.0
"""Slopes, sumps and rounding make a basin differ from a box. Common practice, no source."""
_COILS = frozenset({"hot_water", "steam"})


def trip_below_heater(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """The level device lets the water fall to the heater's hot part, or nearly."""
    if not facts.circuits_in(basin) or basin.trip_level_in is None or basin.heater_top_in is None:
        return
    trip, top = basin.trip_level_in, basin.heater_top_in
    left, cover = float(trip - top), facts.practice_at(basin.tower).value("heater_cover_in")
    if left >= cover:
        return
    said = f"trip level {trip:f} in, heater top {top:f} in: "
    says = (
        f"{said}{-left:g} in of it stand dry before it is cut off"
        if left < 0
        else f"{said}{left:g} in of water are left over it when it is cut off, {cover:g} in is wanted"
    )
    yield Contradiction(Severity.DRY_FIRE_RISK, at(basin, "trip_level_in"), says)


def operating_below_trip(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """At its normal level the water holds the heater off, or any wave does."""
    if not facts.circuits_in(basin) or basin.operating_level_in is None or basin.trip_level_in is None:
        return
    fall = levels(float(basin.operating_level_in), float(basin.trip_level_in), 0.0).operating_above_trip_in
    wanted = facts.practice_at(basin.tower).value("operating_above_trip_in")
    if fall >= wanted:
        return
    says = (
        f"operating level {basin.operating_level_in:f} in less trip level {basin.trip_level_in:f} in is {fall:g} in, "
        f"{wanted:g} in is wanted: the level device holds the heater off"
    )
    yield Contradiction(Severity.FREEZE_RISK, at(basin, "operating_level_in"), says)


def levels_unknown(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """Whether the heater goes off under water cannot be told."""
    for key in ("trip_level_in", "heater_top_in"):
        if facts.circuits_in(basin) and getattr(basin, key) is None:
            says = "not known: whether the heater goes off while water still covers it cannot be told"
            yield Contradiction(Severity.RECORD_GAP, at(basin, key), says)


def no_level_device(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """A heater that nothing in its own basin guards."""
    circuits = facts.circuits_in(basin)
    if not circuits or basin.level_device != "none":
        return
    behind = f", and the equaliser {_valve_words(basin, facts)}" if _shuttable(basin, facts) else ""
    names = ", ".join(each.id for each in circuits)
    says = f"heater {names} stands in a basin with no level device of its own{behind}: nothing cuts it off when dry"
    yield Contradiction(Severity.DRY_FIRE_RISK, at(basin, "level_device"), says)


def makeup_behind_valve(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """A heated basin whose water comes only through an equaliser that can be shut."""
    if not facts.circuits_in(basin) or basin.makeup_valve != "none" or not _shuttable(basin, facts):
        return
    says = f"no make-up of its own, and the equaliser {_valve_words(basin, facts)}: shut, the basin falls dry"
    yield Contradiction(Severity.DRY_FIRE_RISK, at(basin, "makeup_valve"), says)


def _shuttable(basin: Basin, facts: Facts) -> bool:
    """Whether an equaliser joins it to another basin and is not known to be without a valve; named from either end."""
    return any(each.equaliser_valve is not False for each in facts.equalisers_of(basin))


def _valve_words(basin: Basin, facts: Facts) -> str:
    known = any(each.equaliser_valve for each in facts.equalisers_of(basin))
    return "has a valve that can be shut" if known else "is not known to be without a valve"


def no_temperature_sensor(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """A basin full in frost that nothing measures."""
    if not basin.temperature_sensor and facts.holds_water(basin.tower):
        says = "no temperature sensor of its own: this water can freeze while another basin reads warm"
        yield Contradiction(Severity.FREEZE_RISK, at(basin, "temperature_sensor"), says)


def volume(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """The volume is not what area and depth make."""
    if basin.volume_gal is None or basin.area_ft2 is None or basin.depth_ft is None:
        return
    gallons = float(basin.area_ft2 * basin.depth_ft) * GALLONS_PER_FT3
    off = 100.0 * (float(basin.volume_gal) / gallons - 1.0)
    if abs(off) > _SHAPE_PERCENT:
        says = (
            f"{basin.volume_gal:f} gal, but {basin.area_ft2:f} ft2 x {basin.depth_ft:f} ft x 7.481 is "
            f"{gallons:.0f} gal: {off:+.0f} %"
        )
        yield Contradiction(Severity.RECORD_GAP, at(basin, "volume_gal"), says)


def depth(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """The depth is not the operating level."""
    if basin.depth_ft is None or basin.operating_level_in is None:
        return
    inches = 12.0 * float(basin.depth_ft)
    if abs(float(basin.operating_level_in) - inches) > inches * _SHAPE_PERCENT / 100.0:
        says = f"{basin.depth_ft:f} ft is {inches:g} in, but the operating level is {basin.operating_level_in:f} in"
        yield Contradiction(Severity.RECORD_GAP, at(basin, "depth_ft"), says)


def heat_without_circuit(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """Heated electrically, by nothing that is registered."""
    if basin.heat == "electric" and facts.holds_water(basin.tower) and not facts.circuits_in(basin):
        says = "electric heat, but no heater circuit names this basin"
        yield Contradiction(Severity.FREEZE_RISK, at(basin, "heat"), says)


def circuit_without_heat(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """A heater circuit in a basin that is said to be heated by something else."""
    basin = facts.basin(circuit)
    if basin is not None and basin.heat != "electric":
        says = f"it heats basin {basin.id}, whose heat is said to be {basin.heat}"
        yield Contradiction(Severity.RECORD_GAP, at(circuit, "basin"), says)


def traced_by_nothing(basin: Basin, facts: Facts) -> Iterator[Contradiction]:
    """A traced make-up line without a heat trace circuit."""
    if basin.makeup_heat_trace and facts.holds_water(basin.tower) and not facts.register.traces_of(basin.tower):
        says = f"make-up line is said to be heat traced, but tower {basin.tower} has no heat trace circuit"
        yield Contradiction(Severity.FREEZE_RISK, at(basin, "makeup_heat_trace"), says)


def nothing_heats(tower: Tower, facts: Facts) -> Iterator[Contradiction]:
    """Winters by a heated basin, and nothing heats one."""
    if tower.winter != "heated_basin":
        return
    basins = facts.register.basins_of(tower.id)
    if not basins and not facts.register.circuits_of(tower.id):
        says = "winters by a heated basin, but has neither basin, heater circuit nor coil"
        yield Contradiction(Severity.FREEZE_RISK, at(tower, "winter"), says)
    for basin in basins:
        if basin.heat == "none":
            says = f"tower {tower.id} winters by a heated basin, but nothing heats this one"
            yield Contradiction(Severity.FREEZE_RISK, at(basin, "heat"), says)


def source_missing(tower: Tower, facts: Facts) -> Iterator[Contradiction]:
    """Something that must be locked out is not among the tower's energy sources."""
    listed = {each.what for each in facts.register.sources_of(tower.id)}
    for what, because in _sources_needed(tower, facts):
        if what not in listed:
            says = f"{because}, but no energy source {what} is listed: the lockout would leave it live"
            yield Contradiction(Severity.SHOCK_RISK, f"tower {tower.id}, key source", says)


def _sources_needed(tower: Tower, facts: Facts) -> Iterator[tuple[str, str]]:
    if facts.register.circuits_of(tower.id):
        yield "heater_branch", "it has a heater"
    if facts.register.traces_of(tower.id):
        yield "heat_trace", "it has heat trace"
    if tower.pump_on_tower:
        yield "pump", "a pump is mounted on it"
    for coil in sorted({each.heat for each in facts.register.basins_of(tower.id)} & _COILS):
        yield coil, f"its basin is heated by {coil}"


BASIN_RULES: tuple[Rule, ...] = (
    trip_below_heater, operating_below_trip, levels_unknown, no_level_device, makeup_behind_valve,
    no_temperature_sensor, volume, depth, heat_without_circuit, traced_by_nothing,
)  # fmt: skip
TOWER_RULES: tuple[Rule, ...] = (nothing_heats, source_missing)
