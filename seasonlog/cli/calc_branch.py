"""`seasonlog calc branch`: what a heater's branch must carry, and what is wrong with the one installed."""

from typing import Any

import click

from seasonlog.calc import branch as rules
from seasonlog.calc.ampacity import AMPACITY, SUNLIT_ROOF_DEGC, Run, Wire, run_factor
from seasonlog.calc.heater import line_amps as heater_amps
from seasonlog.calc.units import degf_from_degc
from seasonlog.cli.calc_frame import LOCAL_CODE, Answer, json_option, number, show
from seasonlog.domain.plain_words import counted
from seasonlog.errors import RatingError, UsageError

_COLUMNS = click.Choice(["60", "75", "90"])


@click.command()
@number("--kw", "KW", "Rated power of all heaters on the branch together.")
@number("--volts", "V", "Rated volts on the plate, line to line for three phases.")
@click.option("--phases", type=click.Choice(["1", "3"]), default="3", help="Phases; 3 when not given.")
@number("--line-amps", "A", "Line amps, instead of power, volts and phases.")
@click.option("--terminal-degc", type=_COLUMNS, help="Marking of the terminals; not marked when not given.")
@click.option("--insulation-degc", type=_COLUMNS, help="Rating of the insulation; as the terminals when not given.")
@number("--ambient-degc", "C", "Warmest air around the conduit.", default=30.0)
@click.option(
    "--conductors", type=int, default=3, metavar="N", help="Current-carrying ones in the conduit; 3 if not given."
)
@click.option("--sunlit-roof", is_flag=True, help="The conduit lies less than 7/8 in above a sunlit roof.")
@click.option("--awg", metavar="SIZE", help="Copper conductor installed, to be checked: 10, 1/0.")
@number("--ocpd-amps", "A", "Breaker or fuse installed, to be checked.")
@json_option
def branch(
    kw: float | None, volts: float | None, phases: str, line_amps: float | None, terminal_degc: str | None,
    insulation_degc: str | None, ambient_degc: float, conductors: int, sunlit_roof: bool, awg: str | None,
    ocpd_amps: float | None, as_json: bool,
) -> int:  # fmt: skip
    """Minimum amps, breaker and copper conductor of a heater's branch; and an audit of the one installed.

    seasonlog calc branch --kw 18 --volts 480 --phases 3 --terminal-degc 75 --awg 12 --ocpd-amps 30
    """
    amps, how = _amps(kw, volts, phases, line_amps)
    terminals = None if terminal_degc is None else int(terminal_degc)
    insulation = None if insulation_degc is None else int(insulation_degc)
    run = Run(insulation, ambient_degc, conductors, sunlit_roof)
    found = rules.branch(amps, terminals, run)
    each = rules.branch(amps / rules.circuits_needed(amps), terminals, run) if found.subdivide else None
    is_audit = awg is not None or ocpd_amps is not None
    faults = rules.audit(amps, ocpd_amps, _size(awg), terminals, run)
    notes = _notes(ocpd_amps)
    plain = [
        _plain(found),
        *_marked(found, terminals, run),
        *_split(found, each),
        *(_audit_lines(faults) if is_audit else ()),
        *notes,
    ]
    working = [how, *_working(found, terminals, run)]
    document = _document(found, each, run) | {
        "audit": [{"name": fault.name, "says": fault.says} for fault in faults] if is_audit else None,
        "notes": notes,
    }
    return show(Answer(plain, document, working, (_BASIS,), (_CAUTION,)), as_json)


def _amps(kw: float | None, volts: float | None, phases: str, line_amps: float | None) -> tuple[float, str]:
    if line_amps is not None:
        if kw is not None or volts is not None:
            raise UsageError("Give either --line-amps, or --kw and --volts: not both.")
        return line_amps, f"{line_amps:g} A as given"
    if kw is None or volts is None:
        raise UsageError("Give the heater's --kw and --volts (and --phases), or its --line-amps.")
    amps = heater_amps(kw, volts, int(phases))
    root = "sqrt 3 x " if phases == "3" else ""
    return amps, f"{1000 * kw:g} W / ({root}{volts:g} V) = {amps:.2f} A"


def _size(awg: str | None) -> str | None:
    """The size as the table names it; a size that is not in it cannot be checked."""
    if awg is None:
        return None
    size = awg.strip().removeprefix("#").upper().removesuffix("AWG").strip()
    if size not in AMPACITY:
        raise RatingError(f"conductor {awg} is not in the table; it has copper of {', '.join(AMPACITY)} AWG")
    return size


def _plain(found: rules.Branch) -> str:
    return (
        f"{found.amps:.2f} A: {found.minimum_amps:.2f} A or more, so a device of {found.ocpd_amps} A and copper of "
        f"{found.conductor_awg} AWG"
    )


def _marked(found: rules.Branch, terminals: int | None, run: Run) -> list[str]:
    """What terminals marked 75 C would allow, where not marked ones ask for more copper."""
    if terminals is not None or found.wire.terminal_degc == 75:
        return []
    smaller = rules.branch(found.amps, 75, run).conductor_awg
    said = f"with both ends marked 75 C, {smaller} AWG would do: read the terminals"
    return [said] if smaller != found.conductor_awg else []


def _split(found: rules.Branch, each: rules.Branch | None) -> list[str]:
    if each is None:
        return []
    return [
        f"above the {rules.MOST_CIRCUIT_AMPS:g} A of one circuit: split into {rules.circuits_needed(found.amps)} of "
        f"{each.amps:.2f} A, each with {each.ocpd_amps} A and {each.conductor_awg} AWG"
    ]


def _audit_lines(faults: tuple[rules.Fault, ...]) -> list[str]:
    if not faults:
        return ["as installed: no fault found in what was given"]
    return [f"as installed: {fault.says} ({fault.name})" for fault in faults]


def _notes(ocpd_amps: float | None) -> list[str]:
    """What is odd about the device installed, though no rule is broken by it."""
    if ocpd_amps is None or ocpd_amps in rules.STANDARD_OCPD_AMPS:
        return []
    from seasonlog.calc.fuses import STANDARD_FUSE_AMPS

    if ocpd_amps in STANDARD_FUSE_AMPS:
        return [f"note: {ocpd_amps:g} A is a standard size of fuse, of no breaker: read what is installed"]
    near = sorted(STANDARD_FUSE_AMPS, key=lambda size: abs(size - ocpd_amps))[:2]
    sizes = " and ".join(f"{size} A" for size in sorted(near))
    return [
        f"note: {ocpd_amps:g} A is no standard size of breaker or fuse (240.6(A)); the nearest are {sizes}: read its "
        "label again, unless it is a breaker with an adjustable trip"
    ]


def _working(found: rules.Branch, terminals: int | None, run: Run) -> list[str]:
    wire = found.wire
    marked = "marked" if terminals is not None else "not marked, so"
    return [
        f"1.25 x {found.amps:.2f} = {found.minimum_amps:.2f} A; next standard size {found.ocpd_amps} A",
        f"terminals {marked} {wire.terminal_degc} C: {wire.awg} AWG carries {wire.column_amps} A by that column; "
        f"protected by {wire.most_ocpd_amps} A at most",
        f"{_surroundings(run)}: x {_factor(wire, run):.3g}, {wire.corrected_amps:.1f} A by its insulation, "
        f"{found.amps:.2f} A wanted",
    ]


def _surroundings(run: Run) -> str:
    roof = f" + {SUNLIT_ROOF_DEGC:g} C over a sunlit roof" if run.sunlit_roof else ""
    conductors = counted(run.conductors, "conductor")
    return f"{run.ambient_degc:g} C ({degf_from_degc(run.ambient_degc):.0f} F){roof}, {conductors}"


def _factor(wire: Wire, run: Run) -> float:
    return run_factor(run.insulation_degc or wire.terminal_degc, run)


def _document(found: rules.Branch, each: rules.Branch | None, run: Run) -> dict[str, Any]:
    return {
        "line_amps": found.amps, "minimum_amps": found.minimum_amps, "ocpd_amps": found.ocpd_amps,
        "conductor_awg": found.conductor_awg, "subdivide": found.subdivide,
        "circuits": rules.circuits_needed(found.amps), "edition": found.edition,
        "terminal_column_degc": found.wire.terminal_degc, "column_amps": found.wire.column_amps,
        "correction": _factor(found.wire, run), "corrected_amps": found.wire.corrected_amps,
        "most_ocpd_amps": found.wire.most_ocpd_amps,
        "per_circuit": None if each is None else {
            "line_amps": each.amps, "ocpd_amps": each.ocpd_amps, "conductor_awg": each.conductor_awg,
        },
    }  # fmt: skip


_BASIS = (
    f"{rules.EDITION}: 125 % of a continuous load 425.4(B), standard sizes 240.6(A), protection 240.4(B) and (D), "
    "ampacity Table 310.16, ambient and bundling 310.15, terminals 110.14(C)(1), 48 A 422.11(F) of 2008"
)
_CAUTION = (
    f"CAUTION: {LOCAL_CODE} Lock out at the branch disconnect and prove dead before any wire is touched; a breaker or "
    "conductor is changed by a qualified person."
)
