"""The records of the register: one frozen type for each thing that can be installed, owned or employed.

Numbers are `Decimal`, as typed; floats appear inside `calc` alone. What is not known is `unknown` or None and is never
guessed. What a field may hold is declared with it (`fields`); whether two records contradict each other is decided
elsewhere.
"""

# ruff: noqa: RUF009  (each default is a declaration of `fields`, which returns a dataclass field and nothing mutable)

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeAlias

from seasonlog.domain.fields import (
    Spec,
    choice,
    conductor,
    day,
    ident,
    line,
    month_day,
    note,
    number,
    numbers,
    reference,
    several,
    specs_of,
    whole,
    yes_no,
    zone,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A customer's premises with one or more towers."""

    id: str = ident("Short name of the site, unique in the register.")
    name: str = line("The site's name as people say it.", required=True)
    latitude_deg: Decimal = number("Degrees north; south of the equator negative.", "deg", "-90", "90", required=True)
    longitude_deg: Decimal = number("Degrees east; west of Greenwich negative.", "deg", "-180", "180", required=True)
    elevation_ft: Decimal | None = number("Height above the sea.", "ft", "-1500", "20000")
    design_degf: Decimal | None = number("Winter design temperature of the air.", "degf", "-80", "60")
    record_low_degf: Decimal | None = number("Lowest air temperature on record.", "degf", "-100", "60")
    wind_shelter: str = choice("How freely wind reaches the towers.", "open", "partial", "sheltered")
    access: str | None = note("How to get in and up: gate, keys, escort, hours. Kept outside the signed lines.")
    emergency_contact: str | None = note("Whom to call at night, with the number. Kept outside the signed lines.")
    roof_note: str | None = note("What is dangerous up there: edge, ladder, ice, aerosol.")
    time_zone: str = zone("Time zone of the site, by its IANA name such as America/Chicago.")
    units: str = choice("Units people at this site read.", "us", "si", default="us")
    first_freeze: str = month_day("Usual day of the first freeze, as MM-DD.")
    last_freeze: str = month_day("Usual day of the last freeze, as MM-DD.")
    breaker_after_spring: str = choice(
        "How the heater breaker is left in summer where the basin stays full.", "on", "off_locked", default="off_locked"
    )
    tighten: Mapping[str, Decimal] = numbers("Constants of the table of limits that this site holds tighter.")
    permits: str | None = note("Permits to be held before work: roof, energised work, confined space.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tower:
    """One cooling tower or closed-circuit fluid cooler, of one or more cells and basins."""

    id: str = ident("Short name of the tower, unique in the register.")
    site: str = reference("The site it stands on.", "site")
    name: str = line("The tower's name as people say it.", required=True)
    winter: str = choice("How it gets through the winter.", "heated_basin", "remote_sump", "run_wet", "drained")
    kind: str = choice("Open tower or closed-circuit cooler.", "open", "closed_circuit")
    pump_on_tower: bool = yes_no("A spray pump is mounted on the tower itself.", required=True)
    cells: int = whole("Number of cells.", 1, 40, required=True)
    drained_for_cleaning: bool = yes_no("The basin is drained for cleaning each fall.", required=True)
    note: str | None = note("Anything else worth knowing.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Basin:
    """One body of water."""

    id: str = ident("Short name of the basin, unique in the register.")
    tower: str = reference("The tower it belongs to.", "tower")
    name: str | None = line("The basin's name as people say it.")
    area_ft2: Decimal | None = number("Area of the water surface.", "ft2", "0.1", "100000")
    depth_ft: Decimal | None = number("Depth of the water at the operating level.", "ft", "0.01", "60")
    wall_ft2: Decimal | None = number("Wetted wall and floor that lose heat to the air.", "ft2", "0", "100000")
    material: str = choice("What the basin is made of.", "steel", "stainless", "frp", "concrete", "other")
    insulation: str = choice("Insulation on the outside of the basin.", "none", "r4", "other")
    volume_gal: Decimal | None = number("Water at the operating level.", "gal", "1", "1000000")
    operating_level_in: Decimal | None = number("Operating level above the basin floor.", "in", "0", "720")
    trip_level_in: Decimal | None = number("Level above the floor at which the heater must go off.", "in", "0", "720")
    heater_top_in: Decimal | None = number("Highest hot part of the heater above the floor.", "in", "0", "720")
    heat: str = choice("What heats the basin.", "electric", "hot_water", "steam", "none")
    level_device: str = choice(
        "What switches the heater off when the water is low.",
        "float_relay", "conductance_probe", "combined_controller", "none",
    )  # fmt: skip
    level_device_form: str = choice(
        "How the level device hangs in the water.", "stem", "side_arm", "tethered", "stilling_well", "none",
        default="none",
    )  # fmt: skip
    temperature_sensor: bool = yes_no("This basin has a temperature sensor of its own.", required=True)
    makeup_heat_trace: bool = yes_no("Its make-up line is heat traced.", required=True)
    equaliser_to: str | None = reference("The basin at the other end of the equaliser.", "basin", required=False)
    equaliser_valve: bool | None = yes_no("The equaliser has a valve that can be shut.")
    makeup_valve: str = choice("What fills the basin.", "float", "electric", "none")


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One heater circuit: one contactor with its heaters, thermostat and control wiring."""

    id: str = ident("Short name of the heater circuit, unique in the register.")
    tower: str = reference("The tower it belongs to.", "tower")
    basin: str = reference("The basin it heats.", "basin")
    kw: Decimal = number("Rated power of all heaters on the contactor together.", "kW", "0.1", "1000", required=True)
    volts: Decimal = number("Rated volts on the heater's plate.", "V", "12", "1000", required=True)
    phases: int = whole("Phases of the heater.", 1, 3, 1, 3, required=True)
    plate_amps: Decimal | None = number("Line amps printed on the plate.", "A", "0.1", "2000")
    heaters: int = whole("Heaters on the contactor.", 1, 40, required=True)
    connection: str = choice("How the elements are joined.", "wye", "delta", "unknown", default="unknown")
    supply_volts: Decimal | None = number("Nominal volts of the supply in the panel.", "V", "12", "1000")
    breaker_amps: Decimal | None = number("Rating of the branch breaker or fuse.", "A", "1", "2000")
    conductor_awg: str | None = conductor('Branch conductor as printed on it: "10", "1/0", "250 kcmil", "6 mm2".')
    terminal_degc: int | None = whole("Temperature marking of the terminals, C.", 60, 90, 60, 75, 90)
    ground_fault: str = choice(
        "Ground-fault protection of the branch.", "none", "equipment", "personnel", "unknown", default="unknown"
    )
    control_volts: Decimal | None = number("Rated volts of the control circuit.", "V", "5", "600")
    control_run_ft: Decimal | None = number("One-way length of the control wiring.", "ft", "0", "20000")
    control_awg: str | None = conductor("Conductor of the control wiring as printed on it.")
    coil_va: Decimal | None = number("Contactor coil, held in.", "VA", "0.1", "5000")
    coil_inrush_va: Decimal | None = number("Contactor coil, pulling in.", "VA", "0.1", "20000")
    coil_volts: Decimal | None = number("Rated volts of the contactor coil.", "V", "5", "600")
    lamps: int | None = whole("Indicating lamps on the control circuit.", 0, 20)
    thermal_limit: bool | None = yes_no("A thermal limit switch guards the heater.")
    level_relay_va: Decimal | None = number("Coil of the level relay.", "VA", "0.1", "1000")
    control_grounded_leg: str = choice(
        "Which side of the control secondary is grounded.", "x1", "x2", "none", "unknown", default="unknown"
    )
    float_leg: str = choice(
        "Which side of the level relay's coil the float breaks.", "hot", "neutral", "isolated", "unknown",
        default="unknown",
    )  # fmt: skip
    dial_degf: Decimal | None = number("Setting of the thermostat dial.", "degf", "-40", "212")
    differential_degf: Decimal | None = number(
        "Degrees between cut-in and cut-out.", "degf", "0.1", "60", difference=True
    )
    mark: str = choice("What the dial's mark stands for.", "cut_in", "cut_out", "middle", "unknown", default="unknown")
    control: str = choice("What decides when to heat.", "dial", "electronic", "plc", "building")
    switching: str = choice("What switches the heater.", "contactor", "ssr", "scr_burst", "phase_angle")
    poles_switched: str = choice("Lines the contactor opens.", "1", "2", "3", "unknown", default="unknown")
    hard_wired_cutout: bool | None = yes_no("Level and limit cut the heater off without software.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One heat trace circuit."""

    id: str = ident("Short name of the heat trace circuit, unique in the register.")
    tower: str = reference("The tower it belongs to.", "tower")
    protects: str = line("The pipe it keeps from freezing.", required=True)
    length_ft: Decimal | None = number("Length of the cable.", "ft", "0.5", "5000")
    w_per_ft: Decimal | None = number("Rated watts per foot.", "W/ft", "0.5", "100")
    volts: Decimal = number("Rated volts of the cable.", "V", "12", "600", required=True)
    kind: str = choice("Kind of cable.", "self_regulating", "constant_watt")
    stat: str | None = choice("What its thermostat feels.", "line", "ambient", required=False)
    ground_fault_ma: Decimal | None = number("Trip of its ground-fault device.", "mA", "1", "1000")
    end_light: bool | None = yes_no("A lamp at the far end shows that it is live.")
    insulation_test_volts: Decimal | None = number("Test volts its maker allows.", "V dc", "50", "5000")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One energy source of a tower and the point where it is locked out."""

    id: str = ident("Short name of the energy source, unique in the register.")
    tower: str = reference("The tower it feeds.", "tower")
    what: str = choice(
        "What it feeds.", "heater_branch", "control_supply", "remote_contacts", "heat_trace", "fan", "pump",
        "makeup_water", "steam", "hot_water",
    )  # fmt: skip
    panel: str | None = line("Panel the isolating point is in; none for a valve.")
    point: str = line("The breaker, disconnect or valve to lock.", required=True)
    note: str | None = note("Anything that surprises: capacitors, automatic start, shared feeds.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One measuring instrument."""

    id: str = ident("Short name of the instrument, unique in the register.")
    name: str = line("What it is, as people say it.", required=True)
    kind: str = choice(
        "What it measures.", "clamp", "voltmeter", "ohmmeter", "insulation", "thermometer", "angle", "refractometer",
        "timer",
    )  # fmt: skip
    percent: Decimal | None = number("Accuracy: this many percent of the reading ...", "%", "0", "50")
    counts: int | None = whole("... plus this many counts of the last digit.", 0, 100)
    resolution: Decimal | None = number("Value of one count of the last digit.", "", "0.0001", "1000")
    unit: str | None = line("Unit of its readings, range and resolution.")
    range_low: Decimal | None = number("Lowest reading it can show.", "", "-1000", "1000000")
    range_high: Decimal | None = number("Highest reading it can show.", "", "-1000", "1000000")
    calibration_due: date | None = day("Day its calibration runs out.")
    category: str | None = line("Measurement category printed on it.")
    calibrated: date | None = day("Day of its newest calibration.")
    certificate: str | None = line("Number of the certificate of its newest calibration.")
    laboratory: str | None = line("Laboratory that calibrated it.")
    as_found: str | None = choice(
        "How the laboratory found it before adjusting.", "in_tolerance", "out_of_tolerance", "not_told", required=False
    )
    as_found_note: str | None = note("What the laboratory measured as found.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One person who works with the log."""

    id: str = ident("Short name of the person, unique in the register.")
    name: str = line("The person's name.", required=True)
    roles: tuple[str, ...] = several("What the person does.", "technician", "supervisor", "auditor")
    qualified_energised: bool = yes_no("Is a qualified person for energised work.", required=True)
    qualified_until: date | None = day("Last day that qualification holds.")
    qualified_scope: str | None = line("What the qualification covers: equipment, volts, tasks.")
    qualified_by: str | None = line("Who authorised it.")
    qualified_evidence: str | None = line("What it rests on: training, examination, certificate number.")
    employer: str | None = line("Whom the person works for.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One installed device at a position, from the day it went in to the day it came out."""

    id: str = ident("Short name of the device, unique in the register.")
    position: str = choice(
        "The place it fills.", "heater", "thermostat", "level_device", "contactor", "probe_cable", "trace", "instrument"
    )
    of: str = reference(
        "The circuit, basin, heat trace or instrument it is part of.", "circuit", "basin", "trace", "instrument"
    )
    maker: str | None = line("Maker on its plate.")
    model: str | None = line("Model on its plate.")
    serial: str | None = line("Serial number on its plate.")
    installed: date | None = day("Day it was installed.")
    removed: date | None = day("Day it was removed.")
    warranty_end: date | None = day("Last day of its warranty.")
    reason: str | None = note("Why it was installed or removed.")


Record: TypeAlias = Site | Tower | Basin | Circuit | Trace | Source | Instrument | Person | Device

TYPES: Mapping[str, type[Record]] = {
    "site": Site, "tower": Tower, "basin": Basin, "circuit": Circuit, "trace": Trace, "source": Source,
    "instrument": Instrument, "person": Person, "device": Device,
}  # fmt: skip
"""Every record type by the word that names it in files and in the log, parents before children."""
SPECS: Mapping[str, Mapping[str, Spec]] = {what: specs_of(each) for what, each in TYPES.items()}
"""For each record type, by its word, its fields in their order and what is known about each."""
POSITIONS: Mapping[str, str] = {
    "heater": "circuit", "thermostat": "circuit", "contactor": "circuit", "level_device": "basin",
    "probe_cable": "basin", "trace": "trace", "instrument": "instrument",
}  # fmt: skip
"""For each position a device can fill, the type of record it is part of."""
_WORDS = {record_type: word for word, record_type in TYPES.items()}


def word_of(record: Record) -> str:
    """The word that names the record's type: `tower` for a `Tower`."""
    return _WORDS[type(record)]
