"""`seasonlog trend`: a quantity of a tower over the years, with its limits, its devices, and whether it drifts."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.command()
@click.argument("tower", metavar="TOWER")
@click.argument("quantity", metavar="[QUANTITY]", default="")
@click.option("--target", default="", metavar="ID", help="Circuit, basin or trace, where the tower has several.")
@log_option
@shows
@click.pass_obj
def trend(obj: Frame, tower: str, quantity: str, target: str, log: str | None, as_json: bool, today: str | None) -> int:
    """A quantity of a tower over the years: every reading, each new device, and whether it drifts towards its limit.

    Without a QUANTITY every series of the tower is named. A drift is told by the test of Mann and Kendall, its slope is
    that of Theil and Sen; both start anew at each device.
    """
    from seasonlog.services import trends

    with frame.reading(obj, log) as book:
        found = [trends.trend(book, tower, quantity, target)] if quantity else list(trends.trends(book, tower, least=1))
    if as_json:
        documents = [trends.document(each) for each in found]
        frame.out_json(documents[0] if quantity else documents)
        return 0
    if not found:
        frame.say(f"{tower}: nothing was measured on it yet.")
    for each in found:
        for line in trends.lines(each, whole=bool(quantity)):
            frame.out(line)
    return 0
