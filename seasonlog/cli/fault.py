"""`seasonlog fault`: it does not heat, find out why; the fault table, dry-fire faults and wiring of a circuit."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.calc_frame import json_option, rounded
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.domain.register import Register
    from seasonlog.faults.circuit import Circuit
    from seasonlog.services.fault_finding import Search

SHOWS = ("table", "caught_by", "dry_fire", "drawing", "template")
NEEDS_NO_TOWER = ("table", "caught_by")


@click.command()
@click.option("--tower", metavar="T", help="The tower.")
@click.option("--circuit", default="", metavar="C", help="Its heater circuit, where it has several.")
@click.option("--visit", default="", metavar="V", help="Everything read in this visit is evidence.")
@click.option("--observe", metavar="FILE", help="What was seen, as a TOML file, or - for standard input.")
@click.option("--template", is_flag=True, help="Print such a file with every test of this circuit, to fill in.")
@click.option("--table", is_flag=True, help="Print what every fault shows in every state; without --tower of a "
              "reference circuit.")  # fmt: skip
@click.option("--caught-by", is_flag=True, help="Print which steps of the fall enable catch each fault; without "
              "--tower of a reference circuit.")  # fmt: skip
@click.option("--dry-fire", is_flag=True, help="Print the faults that let this heater run in an empty basin.")
@click.option("--drawing", is_flag=True, help="Print the wiring of this circuit, terminal by terminal.")
@click.option("--svg", is_flag=True, help="With --drawing: as a picture to print, into the file of -o.")
@click.option("-o", "--output", metavar="FILE", help="With --drawing: write it here.")
@click.option("--at-panel", default="", metavar="NAME", help="Who stands at the panel, for the record, where it is "
              "not --by.")  # fmt: skip
@by_option
@log_option
@json_option
@click.pass_obj
def fault(
    obj: Frame, tower: str | None, circuit: str, visit: str, observe: str | None, template: bool, table: bool,
    caught_by: bool, dry_fire: bool, drawing: bool, svg: bool, output: str | None, at_panel: str, by: str | None,
    log: str | None, as_json: bool,
) -> int:  # fmt: skip
    """The heater does not come on: what may be wrong, and which test to make next.

    With --observe: the causes with their probability and the next test. Without it, on a terminal: one question at a
    time, for two people on the telephone. Nothing is written into the log unless --by names somebody who says yes.
    """
    flags = (table, caught_by, dry_fire, drawing, template)
    shown = [name for name, wanted in zip(SHOWS, flags, strict=True) if wanted]
    _refuse_nonsense(shown, tower=tower, observe=observe, visit=visit, circuit=circuit)
    _refuse_forms(shown, output=output, svg=svg, as_json=as_json)
    where = _Where(obj, log, tower or "", circuit, visit)
    if shown == ["table"]:
        return _table(where, as_json)
    if shown == ["caught_by"]:
        return _caught_by(where, as_json)
    if shown == ["dry_fire"]:
        return _dry_fire(where, as_json)
    if shown == ["drawing"]:
        return _drawing(where, svg, output)
    if observe is None and not shown and not as_json and frame.is_terminal():
        return _talk(where, by, at_panel)
    if at_panel:
        raise UsageError("--at-panel goes with the dialogue on a terminal: it is kept where the end is recorded.")
    return _answered(where, observe, shown == ["template"], as_json)


class _Where:
    """The circuit asked about, and the log it stands in."""

    def __init__(self, obj: Frame, log: str | None, tower: str, circuit: str, visit: str) -> None:
        self.obj, self.log, self.tower, self.named, self.visit = obj, log, tower, circuit, visit

    def circuit(self) -> "Circuit":
        """As the ladder takes it; the reference circuit when no tower is named."""
        if not self.tower:
            from seasonlog.faults.circuit import Circuit

            return Circuit(id="reference")
        from seasonlog.services import fault_finding

        with frame.reading(self.obj, self.log) as book:
            return fault_finding.circuit(book, self.tower, self.named)[1]

    def registered(self) -> "tuple[Register, Circuit]":
        """With the register its tower stands in; the reference circuit with its own when no tower is named."""
        from seasonlog.services import fault_catches, fault_finding

        if not self.tower:
            return fault_catches.reference()
        with frame.reading(self.obj, self.log) as book:
            return fault_finding.circuit(book, self.tower, self.named)

    def search(self) -> "Search":
        """A search over it, with what the visit read."""
        from seasonlog.services import fault_finding

        with frame.reading(self.obj, self.log) as book:
            return fault_finding.begin(book, self.tower, self.named, self.visit)


def _refuse_nonsense(shown: list[str], *, tower: str | None, observe: str | None, visit: str, circuit: str) -> None:
    if len(shown) > 1:
        raise UsageError(f"Ask for one thing at a time: {' or '.join(_option(each) for each in shown)}.")
    if not tower and (circuit or not shown or shown[0] not in NEEDS_NO_TOWER):
        raise UsageError(
            "Name the tower: --tower T. Only --table and --caught-by work without one, for a reference circuit."
        )
    if shown and (observe is not None or visit):
        raise UsageError(f"{'--visit' if visit else '--observe'} and {_option(shown[0])} do not go together.")


def _refuse_forms(shown: list[str], *, output: str | None, svg: bool, as_json: bool) -> None:
    if shown != ["drawing"] and (svg or output):
        raise UsageError("--svg and -o go with --drawing.")
    if svg and not output:
        raise UsageError("Name the file of the picture: --drawing --svg -o FILE.svg.")
    if as_json and shown in (["drawing"], ["template"]):
        raise UsageError(f"{_option(shown[0])} has no form for --json.")


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _table(where: _Where, as_json: bool) -> int:
    from seasonlog.services import fault_finding_report as report

    circuit = where.circuit()
    if as_json:
        frame.out_json(report.table_document(circuit))
        return 0
    frame.table(report.table_rows(circuit))
    frame.out("")
    for line in report.table_legend(circuit):
        frame.out(line)
    _assumed(circuit.assumed)
    return 0


def _caught_by(where: _Where, as_json: bool) -> int:
    from seasonlog.services import fault_catches

    register, circuit = where.registered()
    found = fault_catches.caught_by(register, circuit)
    if as_json:
        frame.out_json(fault_catches.document(circuit, found))
        return 0
    for line in fault_catches.lines(found):
        frame.out(line)
    _assumed(circuit.assumed)
    return 0


def _dry_fire(where: _Where, as_json: bool) -> int:
    from seasonlog.services import fault_finding_report as report

    circuit = where.circuit()
    found = report.dry_fire_of(circuit)
    if as_json:
        frame.out_json(report.dry_fire_document(circuit))
        return 0
    frame.out(f"{circuit.id}: {found.intro}")
    for each in found.faults:
        frame.out(f"  {each.fault.code}  {each.fault.name}: {report.dry_fire_says(each)}")
    frame.out(found.caution)
    _assumed(circuit.assumed)
    return 0


def _drawing(where: _Where, svg: bool, output: str | None) -> int:
    from seasonlog.faults.drawing import wiring_text

    circuit = where.circuit()
    if svg:
        from seasonlog.export.wiring_svg import wiring_svg

        text = wiring_svg(circuit)
    else:
        text = wiring_text(circuit)
    if output:
        frame.write_file(Path(output), text.encode())
        return 0
    for line in text.splitlines():
        frame.out(line)
    return 0


def _assumed(sentences: tuple[str, ...]) -> None:
    for each in sentences:
        frame.out(f"assumed: {each}")


def _answered(where: _Where, observe: str | None, template: bool, as_json: bool) -> int:
    """One answer for a script, for a file, or for whoever has no terminal."""
    from seasonlog.services import fault_finding, fault_finding_report

    search = where.search()
    if template:
        for line in fault_finding_report.template(search):
            frame.out(line)
        return 0
    if observe is not None:
        from seasonlog.intake.observations_file import read_observations

        name = "standard input" if observe == "-" else observe
        search = fault_finding.observed(search, read_observations(frame.file_bytes(observe, dash=True), name))
    found = search.next()
    if as_json:
        frame.out_json(rounded(fault_finding_report.document(search, found)))
        return 0
    from seasonlog.cli.fault_words import now

    for line in now(search, found):
        frame.out(line)
    return 0


def _talk(where: _Where, by: str | None, at_panel: str) -> int:
    """A dialogue; at its end it may be written into the log."""
    from seasonlog.cli.fault_talk import Talk

    search = where.search().with_person(at_panel) if at_panel else where.search()
    talk = Talk(search, lambda: str(click.prompt(">", prompt_suffix=" ", default="", show_default=False)))
    stop = talk.run()
    if stop is None:
        return 0
    if not by:
        frame.say("Nothing was written. With --by NAME you are asked whether it goes into the log.")
    elif click.confirm("Record it in the log?", default=False):
        from seasonlog.services.fault_finding_record import record

        with frame.writing(where.obj, where.log, by) as book:
            found = record(book, talk.search, stop)
        frame.say(f"finding {found.id} is in the log." if found else "It is in the log, as a note.")
    else:
        frame.say("Nothing was written.")
    return 0
