"""`seasonlog calc signature`: three clamp readings, and what is wrong."""

import click

from seasonlog.calc.instrument import Accuracy
from seasonlog.calc.signature import Meters, Readings, Signature
from seasonlog.calc.signature import signature as solve
from seasonlog.calc.signature_cases import Load
from seasonlog.cli.calc_frame import LIVE_CAUTION, Answer, connection_option, heater_options, json_option, number, show
from seasonlog.cli.calc_frame import three as numbers


@click.command()
@heater_options
@connection_option
@click.option("--amps", metavar="A,B,C", required=True, help="Clamp readings of the lines, heater on: 21.6,21.5,21.7.")
@click.option("--measured-volts", metavar="V[,V,V]", help="Volts between the lines, heater on: one, or A-B,B-C,C-A.")
@click.option("--ohms", metavar="AB,BC,CA", help="Cold ohms between the heater's terminals; OL for open.")
@number("--residual-amps", "A", "A clamp around all lines together.")
@click.option("--heaters", type=click.IntRange(1, 40), help="Heaters on the contactor, where known.")
@number("--clamp-resolution-amps", "A", "Last digit of the clamp.", default=0.1)
@json_option
def signature(
    kw: float, volts: float, phases: str, connection: str, amps: str, measured_volts: str | None, ohms: str | None,
    residual_amps: float | None, heaters: int | None, clamp_resolution_amps: float, as_json: bool,
) -> int:  # fmt: skip
    """What is wrong with a heater, from the clamp readings of its lines.

    seasonlog calc signature --kw 18 --volts 480 --connection wye --amps 0,18.7,18.8
    """
    load = Load(kw, volts, int(phases), connection, heaters)
    readings = Readings(
        numbers(amps, "--amps"),
        () if measured_volts is None else numbers(measured_volts, "--measured-volts"),
        () if ohms is None else numbers(ohms.upper().replace("OL", "inf"), "--ohms"),
        residual_amps,
    )
    meters = Meters(clamp=Accuracy(2.0, 5.0, clamp_resolution_amps))
    found = solve(load, readings, meters)
    return show(Answer(_plain(found), _document(found), _working(found, readings), _BASIS, (LIVE_CAUTION,)), as_json)


def _plain(found: Signature) -> list[str]:
    lines = []
    for at, cause in enumerate(found.causes, 1):
        where = f" {cause.where}" if cause.where else ""
        lines.append(f"{at}. {cause.cause.replace('_', ' ')}{where} (fit {cause.fit:.2f}): {cause.says}.")
        lines.append(f"   next: {cause.next_test}")
    return lines


def _working(found: Signature, readings: Readings) -> list[str]:
    read = " / ".join(f"{a:g}" for a in readings.amps)
    shares = " / ".join(f"{a / found.expected_amps:.3f}" for a in readings.amps)
    uneven = "" if found.unbalance_percent is None else f"; unbalance {found.unbalance_percent:.1f} %"
    return [f"{read} A of {found.expected_amps:.2f} A expected: {shares}{uneven}"]


def _document(found: Signature) -> dict[str, object]:
    causes = [
        {"cause": c.cause, "where": c.where, "fit": c.fit, "says": c.says, "next_test": c.next_test}
        for c in found.causes
    ]
    return {
        "causes": causes,
        "unbalance_percent": found.unbalance_percent,
        "expected_line_amps": found.expected_amps,
    }


_BASIS = (
    "each cause solved as a network of conductances (Kirchhoff), elements within -10/+5 % watts (trade custom), clamp "
    "2 % + 5 counts; order of causes that fit alike: common practice, no source",
)
