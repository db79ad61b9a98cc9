"""`seasonlog privacy`: contact details kept apart, and where recording is allowed."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.services.logbook import Logbook


@click.group()
def privacy() -> None:
    """Contact details kept outside the signed lines, and where sounds may be recorded."""


@privacy.command("list")
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@log_option
@click.pass_obj
def list_(obj: Frame, site: str, log: str | None) -> int:
    """Contact details with how long they are kept; what older entries hold in their lines; where recording is on."""
    from seasonlog.services import privacy as service
    from seasonlog.services import registry

    with frame.reading(obj, log) as book:
        registry.refuse_unknown(book.db, site=site)
        for each in service.kept_details(book, site):
            frame.out(f"{each.what} {each.id}  entered {each.day}  {each.sha256[:16]}  {each.says(book.today())}")
        for name in service.in_lines(book):
            if site in ("", name.partition(" ")[2]):
                frame.out(f"{name}  in the signed line of an older version: it stays there and goes with every bundle")
        for one in [site] if site else sorted(registry.towers_and_sites(book.db).sites):
            frame.out(f"site {one}  {service.recording(book, one).says}")
    return 0


@privacy.command()
@click.argument("site", metavar="SITE")
@click.option("--because", required=True, metavar="TEXT", help="Why they are given up.")
@click.option("--replaced", is_flag=True, help="Only those that a newer entry replaced.")
@by_option
@log_option
@click.pass_obj
def discard(obj: Frame, site: str, because: str, replaced: bool, by: str | None, log: str | None) -> int:
    """Give up a site's contact details: an entry says who and why, the files go, all else still verifies."""
    from seasonlog.domain.plain_words import counted
    from seasonlog.services import privacy as service

    with frame.writing(obj, log, by) as book:
        count = service.discard(book, site, because, replaced_only=replaced)
    frame.say(f"Contact details of {site} given up: {counted(count, 'file')}. The hash stays.")
    return 0


@privacy.command()
@click.argument("site", metavar="SITE")
@click.option("--allow", "wish", flag_value="allow", help="The site allows recording.")
@click.option("--stop", "wish", flag_value="stop", help="The site takes it back.")
@click.option("--said-by", metavar="NAME", help="Who at the site said so.")
@click.option("--until", metavar="DATE", help="Last day.")
@click.option("--because", metavar="TEXT", help="In which words, for what.")
@by_option
@log_option
@click.pass_obj
def recording(
    obj: Frame, site: str, wish: str | None, said_by: str | None, until: str | None, because: str | None,
    by: str | None, log: str | None,
) -> int:  # fmt: skip
    """Whether sounds may be recorded at a site; off until it allows it."""
    from seasonlog.services import privacy as service
    from seasonlog.services import registry

    with frame.reading(obj, log) if wish is None else frame.writing(obj, log, by) as book:
        registry.refuse_unknown(book.db, site=site)
        if wish is not None:
            _say(book, site, wish, said_by, until, because)
        frame.out(service.recording(book, site).says)
    return 0


def _say(book: "Logbook", site: str, wish: str, said_by: str | None, until: str | None, because: str | None) -> None:
    from seasonlog.services import privacy as service

    if said_by is None or because is None:
        raise UsageError("Who at the site said so, and in which words: give --said-by NAME and --because TEXT.")
    if wish == "allow":
        service.allow_recording(book, site, said_by, because, frame.day_from(until, "--until") if until else None)
    else:
        service.stop_recording(book, site, said_by, because)
