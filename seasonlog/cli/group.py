"""The `seasonlog` command with its sub-commands: named in one table, imported only when called."""

from collections.abc import Mapping
from importlib import import_module

import click

from seasonlog.cli.frame import Frame, log_option

COMMANDS: dict[str, str] = {
    "demo": "Build the sample sites with some history, to try everything on.",
    "register": "What is installed: import, export, check, list.",
    "limits": "The pass and fail limits of a tower, computed from its heaters' ratings.",
    "today": "Who goes where today, with access and missing parts, and what is exposed tonight.",
    "due": "What is due on a day, site by site; move or drop a due visit.",
    "plan": "Who does which tower on which day; draft, publish, replan.",
    "visit": "Carry out a whole visit from a file of answers.",
    "round": "A round on paper: sheets with every tower's own limits, to fill in by hand.",
    "amend": "Correct an answer, also after sign-off; the first observation stays.",
    "conflicts": "Answers of two devices that contradict each other; a supervisor decides.",
    "sign": "A visit's signatures, each with its meaning; sign it.",
    "change": "Temporary changes: what is still in place; make, restore.",
    "note": "Leave a note about a tower, a visit or a step.",
    "handover": "What changed at a site since you last looked.",
    "search": "Find words in notes, answers, reasons, findings and photos.",
    "attach": "Photos and sound clips: attach a folder by time; list, save, erase.",
    "privacy": "Contact details kept outside the signed lines; where sounds may be recorded.",
    "hear": "What would be taken of a recorded phrase, and why.",
    "voice": "Whether this machine can hear and speak, and what to install.",
    "findings": "What is wrong and needs a person; assign, accept, close.",
    "coverage": "Which towers are proven, and why not; the seasons as a table, a cell with its evidence.",
    "audit": "The auditor's screen: coverage, evidence, history and proof; writes nothing.",
    "record": "A visit, a finding or an entry with its whole history.",
    "trend": "A quantity of a tower over the years, with limits, new devices and drift.",
    "instrument": "Certificates, checks before use, and recalls with all that rests on them.",
    "exposure": "Which towers are exposed tonight, ranked by what freezes first.",
    "report": "A tower, a site's season, the firm, the findings or a visit as HTML or PDF.",
    "export": "Everything the log holds as CSV, one table a file.",
    "copy": "The customer's copy of a visit, one page of plain words.",
    "calendar": "The season's reminders as a calendar file.",
    "verify": "Prove that no entry of the log was changed.",
    "rebuild": "Make the log's tables again from its entries.",
    "backup": "Copy the log into a new file and prove the copy.",
    "restore": "Bring a copy of the log back; what is here is moved aside, never written over.",
    "bundle": "Hand the log on as one text file that anybody can check; take such a file in.",
    "verifier": "Write the one-file program that checks a bundle without us.",
    "checkpoint": "Sign how far the log is, to be kept by somebody else.",
    "serve": "The app in a browser, on a tablet or phone.",
    "hub": "The firm's shared log on PostgreSQL: sync, join, admit, verify; or a trial server.",
    "device": "Which devices may add to the log: list, enrol, revoke.",
    "checklist": "List, show or check checklists.",
    "climate": "When a place freezes first and last, from its own weather record, and the visits' windows.",
    "figures": "Is the heat enough, hours to freeze, expected amps, wiring: of one tower or all.",
    "fault": "It does not heat: ask for the next test, name the cause; the fault table; the wiring drawn.",
    "calc": "A pocket calculator for heaters, branches, thermostats, heat loss and ice.",
}
"""Every command and what it is for."""


class LazyGroup(click.Group):
    """A group whose help needs no command's module."""

    table: Mapping[str, str] = COMMANDS
    """Every command and what it is for."""
    prefix = "seasonlog.cli."
    """What stands before a command's name in the name of its module."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names, in the order of the table."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, imported now."""
        if cmd_name not in self.table:
            return None
        name = cmd_name.replace("-", "_")
        command = getattr(import_module(f"{self.prefix}{name}"), name)
        if isinstance(command, click.Group):
            _tell_whole(command)
        return command if isinstance(command, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The table, without importing anything."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self.table.items()))


def _tell_whole(group: click.Group) -> None:
    """What a sub-command does stands whole in the list of them, wrapped instead of cut after some words."""
    for command in group.commands.values():
        command.short_help = command.short_help or " ".join((command.help or "").split("\n\n")[0].split())


@click.group(cls=LazyGroup, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="seasonlog", prog_name="seasonlog")
@log_option
@click.option("--by", metavar="NAME", help="Who is working; else SEASONLOG_NAME, else asked for once.")
@click.option("--today", metavar="DATE", help="Show what is due on this day instead of today (YYYY-MM-DD).")
@click.pass_context
def seasonlog(ctx: click.Context, log: str | None, by: str | None, today: str | None) -> int | None:
    """Maintenance log and seasonal checklists for cooling-tower basin heaters.

    Without a command the app opens. Every command takes --log FILE, before or after its name.
    """
    ctx.obj = Frame(log)
    if ctx.invoked_subcommand is not None:
        return None
    from seasonlog.cli.app import open_app

    return open_app(ctx.obj, by, today)
