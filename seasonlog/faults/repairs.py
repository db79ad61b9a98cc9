"""What to do about each fault, and which steps of the fall enable prove the repair."""

from collections.abc import Mapping
from dataclasses import dataclass

from seasonlog.faults.catalogue import FAULTS, Fault
from seasonlog.faults.words_here import NO_PUMP

PROOFS: Mapping[str, str] = {
    "coil_volts": "the coil's own terminals have 85 to 110 % of its rated volts, pulled in",
    "contactor_contacts": "the contactor moves freely and its contacts are sound, locked out",
    "control_ground_volts": "control volts to ground are right",
    "control_x2_volts": "control volts to X2 are right",
    "cut_in_degf": "the contactor pulls in at the cut-in temperature, by natural cold or ice bath",
    "cut_out_degf": "it lets go at the cut-out temperature",
    "bulb_in_water": "the sensor sits in this basin's water",
    "each_heater_same": "each heater draws its share",
    "float_free": "the float moves freely",
    "float_lead_a_volts": "the first float lead reads right to ground with the float closed",
    "float_lead_b_volts": "the second float lead reads right to ground with the float closed",
    "float_lead_mohm": "the float leads hold 1 Mohm to ground in water, off at the panel",
    "float_leg_found": "the leg the float breaks is found and recorded",
    "ground_fault_trips": "the ground-fault device trips and resets by its button, where one is fitted",
    "heat_call": "the contactor is in on a call for heat",
    "insulation_mohm": "the heater's insulation to ground holds, locked out",
    "lamps_right": "the lamps tell the truth",
    "line_amps": "all lines draw what the plate says at the measured volts",
    "off_low_level": "with water seen over the heater, the float moved down by hand opens the contactor",
    "off_pump": "the running pump opens the contactor",
    "off_switch": "the heater switch opens the contactor",
    "off_switch_volts": "all terminals read zero to ground with the switch off",
    "off_warm": "a warm sensor opens the contactor",
    "ohms_line_to_line": "the heater's ohms are right between all lines, locked out",
    "probe_plumb_deg": "the level probe hangs plumb",
    "residual_none": "one jaw around all lines shows nothing",
    "stat_contact": "the thermostat's contact is right by temperature",
    "stat_contact_ohms": "its closed contact reads 0.5 ohm or less, locked out",
    "supply_volts": "supply volts are right between all lines",
    "terminals_tight": "terminals are tight, locked out",
    "thermal_limit": "the thermal limit is in the string, closed cold and open when it is made to open",
}
"""Steps of the fall enable that prove a repair: what each shows, in half a sentence."""


@dataclass(frozen=True, slots=True)
class Repair:
    """What to do, and what proves it."""

    do: str
    """The repair, in sentences."""
    steps: tuple[str, ...]
    """Ids of the checklist steps that prove it, in order."""

    @property
    def says(self) -> str:
        """Repair and proof for a person."""
        if not self.steps:
            return self.do
        return f"{self.do} Then prove it: {'; '.join(PROOFS[step] for step in self.steps)}."


_TRIPPED = "Never reset it as a test: first find the cause and check the heater's insulation, locked out."
_LEVEL = "off_low_level"
_ROWS: Mapping[int, tuple[str, str]] = {
    0: ("Nothing to repair.", ""),
    1: (f"Find out why the breaker is open. {_TRIPPED}", "insulation_mohm ground_fault_trips heat_call line_amps"),
    2: (f"Find the open fuse or pole in L1 or L2. {_TRIPPED}", "insulation_mohm supply_volts heat_call line_amps"),
    3: (f"Find the open fuse, lug or breaker pole in the line that carries nothing. {_TRIPPED}",
        "insulation_mohm supply_volts line_amps"),
    4: ("Find what overloaded the control transformer, then fit a primary fuse of the marked size.",
        "control_x2_volts heat_call"),
    5: ("Replace the control transformer by one of the same volts and at least the same VA; ground the same side.",
        "control_x2_volts control_ground_volts heat_call"),
    6: ("Find the short before a new secondary fuse goes in: coil, float leads, lamp, wire to ground.",
        "control_x2_volts float_lead_mohm heat_call"),
    7: ("Land the X2 lead again and tighten it.", "control_x2_volts control_ground_volts heat_call"),
    8: ("Restore the ground bond of the control secondary, at the side the drawing shows.",
        "control_ground_volts control_x2_volts"),
    9: ("Move the ground bond to the side the drawing shows, and check which side the fuse is in.",
        "control_ground_volts float_lead_a_volts float_lead_b_volts off_low_level"),
    10: ("Replace the heater switch.", "off_switch heat_call"),
    11: ("Take the bypass off, or replace the heater switch.", "off_switch off_switch_volts"),
    12: ("Restore the pump's auxiliary contact, or the jumper where the register shows no pump on the tower.",
         "heat_call off_pump"),
    13: ("Take the jumper off, or replace the pump's auxiliary contact.", "off_pump heat_call"),
    14: ("Replace the thermostat.", "stat_contact stat_contact_ohms heat_call cut_in_degf cut_out_degf"),
    15: ("Take the jumper off, or replace the thermostat.", "stat_contact off_warm cut_out_degf"),
    16: ("Move the wire from NC to NO; go by temperature, not by the label.", "stat_contact off_warm cut_in_degf"),
    17: ("Replace the thermostat: a bulb that lost its charge is not repaired.", "off_warm cut_in_degf cut_out_degf"),
    18: ("Put the bulb back into this basin's water, or replace the sensor, or set the dial as the plate says.",
         "bulb_in_water heat_call cut_in_degf"),
    19: ("Replace the thermostat or its contact; cleaning a pitted contact does not last.",
         "stat_contact_ohms coil_volts heat_call"),
    20: ("Replace the level relay, after checking the float leads for a wet splice.", "float_lead_mohm off_low_level"),
    21: ("Replace the level relay.", "heat_call off_low_level"),
    22: ("Take the jumper off, or replace the level relay; look for what overloaded the contact.", _LEVEL),
    23: ("Move the wire to the relay's NO contact.", "heat_call off_low_level"),
    24: ("Free and clean the float, find what held it.", "float_free probe_plumb_deg off_low_level"),
    25: ("Clean, free and plumb the float.", "float_free probe_plumb_deg heat_call off_low_level"),
    26: ("Replace the float's lead up to a dry box, no splice below the water line.",
         "float_lead_mohm heat_call off_low_level"),
    27: ("Replace the float leads where they are crushed or jumpered.", "float_lead_mohm off_low_level"),
    28: ("Replace the wet splice and lead, and only then a fuse it blew; ask whether the float belongs in an isolated "
         "low-energy circuit.", "float_lead_mohm float_lead_a_volts float_lead_b_volts off_low_level heat_call"),
    29: ("Rewire the float as the drawing shows, so that no line conductor goes under water; the local code decides.",
         "float_leg_found float_lead_a_volts float_lead_b_volts off_low_level"),
    30: ("Replace the grounded lead, rewire the float as the drawing shows, then fit the fuse.",
         "float_lead_mohm float_leg_found off_low_level heat_call"),
    31: ("Replace the contactor or its coil, by the volts on the coil's plate.", "coil_volts heat_call line_amps"),
    32: ("Replace the shorted coil first, then the secondary fuse.", "coil_volts heat_call line_amps"),
    33: ("Land or replace the wire from the coil to neutral.", "coil_volts heat_call"),
    34: ("Fit a coil for the control volts of this panel.", "coil_volts heat_call"),
    35: ("Check the transformer's taps and its primary volts, and what loads it.",
         "control_x2_volts coil_volts heat_call"),
    36: ("Free or replace the contactor.", "contactor_contacts heat_call line_amps"),
    37: ("Replace the contactor: welded contacts are not filed. Keep the branch locked out until then.",
         "contactor_contacts off_switch off_switch_volts off_low_level line_amps"),
    38: ("Replace the contactor, or the contacts of the pole that does not make.", "contactor_contacts line_amps"),
    39: ("Replace the contactor: a welded pole leaves the terminals live.",
         "contactor_contacts off_switch off_switch_volts line_amps"),
    40: ("Replace the heater or its open element.", "ohms_line_to_line insulation_mohm line_amps"),
    41: ("Replace the lamp.", "lamps_right"),
    42: ("Replace the lamp.", "lamps_right"),
    43: ("Land the coil's wire behind thermostat and level contacts, at k.",
         "off_low_level off_warm off_switch heat_call"),
    44: ("Find the dead heater: its fuse, lead or elements.", "each_heater_same ohms_line_to_line line_amps"),
    45: ("Do not energise. Replace the heater or the element.", "insulation_mohm ohms_line_to_line residual_none"),
    46: ("Compare plate and supply; fit a heater made for this supply.", "supply_volts ohms_line_to_line line_amps"),
    47: ("Remake the joint: cut back to bright copper, new lug, torque.", "terminals_tight line_amps"),
    48: ("Remake the joint or replace the switch.", "coil_volts heat_call off_switch"),
    49: ("Check the transformer's taps, primary volts and load before the chattering contacts weld.",
         "control_x2_volts coil_volts contactor_contacts heat_call"),
    50: ("Find out why the limit opened: level, scale, dry firing. Replace it, never bridge it.",
         "thermal_limit off_low_level heat_call"),
    51: ("Take the bypass off, or replace the limit.", "thermal_limit off_low_level"),
    52: ("Replace the damp splice and lead.", "float_lead_mohm off_low_level"),
    53: ("Replace the float's low-energy supply, after checking its leads.", "float_lead_mohm heat_call off_low_level"),
}  # fmt: skip
REPAIRS: Mapping[int, Repair] = {number: Repair(do, tuple(steps.split())) for number, (do, steps) in _ROWS.items()}
"""What to do about each fault of `FAULTS`. Source: common practice."""


_NO_PUMP = Repair("Land the jumper between heater switch and thermostat again.", ("heat_call",))


def repairs_of(fault: Fault) -> tuple[Repair, ...]:
    """What to do about a fault; of a pair, about both."""
    if fault.name == NO_PUMP:
        return (_NO_PUMP,)
    return tuple(REPAIRS[number] for number in fault.numbers)


def repair_words(fault: Fault) -> str:
    """The same in sentences, each fault named."""
    names = [fault.name] if len(fault.numbers) == 1 else [FAULTS[number].name for number in fault.numbers]
    told = zip(fault.numbers, names, repairs_of(fault), strict=True)
    return " ".join(f"{number:02d} {name}: {repair.says}" for number, name, repair in told)
