"""`seasonlog device`: which devices may add to the log."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import entries


@click.group()
def device() -> None:
    """Which devices may add to the log: list them, enrol a new one, revoke a lost one."""


@device.command(name="list")
@log_option
@shows
@click.pass_obj
def list_(obj: Frame, log: str | None, as_json: bool, today: str | None) -> int:
    """Every device, whether it may add, and what is put aside."""
    from seasonlog.services.devices import STATES, all_devices

    with frame.reading(obj, log) as book:
        found = all_devices(book)
    if as_json:
        frame.out_json({
            "devices": [{"device": d.dev, "name": d.name, "state": d.state, "entries": d.written, "who": d.who,
                         "because": d.because, "own": d.dev == found.own} for d in found.devices],
            "forks": [{"device": f.dev, "seq": f.seq, "held": f.held, "other": f.other} for f in found.forks],
            "aside": [{"device": dev, "why": why, "entries": count} for dev, why, count in found.aside],
        })  # fmt: skip
        return 0
    frame.table(
        [["device", "", "name", "state", "entries"]]
        + [[d.dev, "this one" if d.dev == found.own else "", d.name, STATES[d.state], str(d.written)]
           for d in found.devices]
    )  # fmt: skip
    for each in found.branches:
        frame.out(f"{each}. Its key was copied, or worse; tables here follow {each.here[:16] or 'neither'}.")
    for dev, why, count in found.aside:
        frame.out(f"{entries(count)} of device {dev} {'is' if count == 1 else 'are'} put aside: {why}")
    return 0


@device.command()
@click.argument("device_id", metavar="DEVICE")
@click.option("--name", metavar="WORDS", default="", help="What people call it.")
@click.option("--because", metavar="WORDS", default="", help="Why.")
@by_option
@log_option
@click.pass_obj
def enrol(obj: Frame, device_id: str, name: str, because: str, by: str | None, log: str | None) -> int:
    """A supervisor lets DEVICE add to the log. Look at the device itself first: its own list shows its id."""
    from seasonlog.services import devices

    with frame.writing(obj, log, by) as book:
        devices.enrol(book, device_id, name, because)
    frame.say(f"Device {device_id} is enrolled.")
    return 0


@device.command()
@click.argument("device_id", metavar="DEVICE")
@click.option("--because", metavar="WORDS", required=True, help="Why, such as: lost on 3 October.")
@by_option
@log_option
@click.pass_obj
def revoke(obj: Frame, device_id: str, because: str, by: str | None, log: str | None) -> int:
    """A supervisor revokes DEVICE, lost or handed back. Its entries up to now stay good; later ones are put aside."""
    from seasonlog.services import devices

    with frame.writing(obj, log, by) as book:
        last = devices.revoke(book, device_id, because)
    frame.say(
        f"Device {device_id} is revoked; its entries up to number {last} stay good. Hand the others a bundle now."
    )
    return 0
