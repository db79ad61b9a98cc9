"""`seasonlog calc heater`: what a healthy heater shows a meter."""

import click

from seasonlog.calc import heater as rules
from seasonlog.calc.nameplate import plate_check
from seasonlog.cli.calc_frame import LIVE_CAUTION, Answer, heater_options, json_option, number, show


@click.command()
@heater_options
@number("--measured-volts", "V", "Volts at the heater, on; its rated volts when not given.")
@number("--plate-amps", "A", "Line amps printed on the plate, to be checked.")
@json_option
def heater(
    kw: float, volts: float, phases: str, measured_volts: float | None, plate_amps: float | None, as_json: bool
) -> int:
    """Amps, ohms and power of a heater, and the bands they may stray in.

    seasonlog calc heater --kw 18 --volts 480 --phases 3 --measured-volts 474
    """
    count, at_volts = int(phases), volts if measured_volts is None else measured_volts
    rated = rules.line_amps(kw, volts, count)
    amps, power = rules.amps_at(rated, volts, at_volts), rules.power_at(kw, volts, at_volts)
    ohms = rules.ohms_line_to_line(kw, volts, count)
    amps_band, ohms_band = rules.amps_band(amps), rules.ohms_band(ohms)
    note = None if plate_amps is None else plate_check(kw, volts, count, plate_amps).says
    root = "sqrt 3 x " if count == 3 else ""
    between = "between any two lines" if count == 3 else "between its terminals"
    plain = [
        f"{amps:.2f} A in each line at {at_volts:g} V, {power:.2f} kW; {ohms:.2f} ohm {between}",
        f"allowed: {amps_band.low:.2f} to {amps_band.high:.2f} A; cold {ohms_band.low:.2f} to {ohms_band.high:.2f} ohm",
        *([f"plate: {note}"] if note else []),
    ]
    working = [
        f"{1000 * kw:g} W / ({root}{volts:g} V) = {rated:.2f} A; x {at_volts:g}/{volts:g} = {amps:.2f} A",
        f"{kw:g} kW x ({at_volts:g}/{volts:g})^2 = {power:.2f} kW",
        f"{'2 x ' if count == 3 else ''}{volts:g}^2 / {1000 * kw:g} = {ohms:.2f} ohm{', wye or delta' if root else ''}",
    ]
    document = {
        "line_amps": amps, "rated_line_amps": rated, "ohms_line_to_line": ohms, "power_kw": power,
        "amps_low": amps_band.low, "amps_high": amps_band.high, "ohms_low": ohms_band.low, "ohms_high": ohms_band.high,
        "plate_note": note,
    }  # fmt: skip
    return show(Answer(plain, document, working, _BASIS, (LIVE_CAUTION,)), as_json)


_BASIS = (
    "circuit theory; element tolerance -10/+5 % watts: trade custom, no standard text read; cold ohms down to 1/1.03 "
    "of hot ones",
)
