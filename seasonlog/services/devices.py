"""The devices of a log: who may add, who may no longer, and checkpoints on demand."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seasonlog.domain.records import Kind, Record
from seasonlog.errors import InputRefusedError, LogError, Problem
from seasonlog.journal import held, trust_queries
from seasonlog.journal.absorb import state_checkpoint
from seasonlog.journal.checkpoint import code_of, hash_of
from seasonlog.journal.trust_queries import Device, Fork
from seasonlog.services import registry
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from seasonlog.services.reasons import note_in, reason_in, refuse
from seasonlog.services.rounds import person_of

if TYPE_CHECKING:
    from seasonlog.journal.two_pasts import Branches

STATES = {"first": "began the log", "joined": "NOT ENROLLED", "enrolled": "enrolled", "revoked": "REVOKED"}
"""What a device's state is called."""


@dataclass(frozen=True, slots=True)
class Devices:
    """All devices, and what is wrong with some."""

    devices: Sequence[Device]
    forks: Sequence[Fork]
    branches: "Sequence[Branches]"
    """The same, each told once."""
    aside: Sequence[tuple[str, str, int]]
    """Device, why, how many entries of it are put aside."""
    own: str
    """This device, empty before it has written."""


def all_devices(book: Logbook) -> Devices:
    """Every device of the log."""
    from seasonlog.journal.two_pasts import branches  # not on the start path

    aside = book.journal.query("SELECT dev, why, count(*) FROM aside GROUP BY dev, why ORDER BY dev, why")
    return Devices(
        trust_queries.devices(book.db), trust_queries.forks(book.db), branches(book.db),
        [tuple(a) for a in aside], book.journal.device_id,
    )  # fmt: skip


def enrolment(dev: str, name: str, because: str) -> Record:
    """The entry that lets a device add."""
    body = {"device": dev, "name": note_in("device name", name)}
    return Record(Kind.DEVICE_ENROLLED, body | ({"because": note_in("because", because)} if because else {}))


def enrol(book: Logbook, dev: str, name: str, because: str = "") -> None:
    """A supervisor lets a device add: others then take its entries in.

    Raises:
        InputRefusedError: no device id, a revoked device, or not a supervisor.
    """
    _refuse_unless_supervisor(book)
    known = {d.dev: d for d in trust_queries.devices(book.db)}
    if len(dev) != 16 or not set(dev) <= set("0123456789abcdef"):
        raise refuse(f"device {dev}", "is not the id of a device: 16 hex digits, as `seasonlog device list` shows them")
    if dev in known and known[dev].state == "revoked":
        raise refuse(f"device {dev}", "is revoked for good; the laptop gets a new key when it joins again")
    book.write(enrolment(dev, name, because))


def revoke(book: Logbook, dev: str, because: str) -> int:
    """A supervisor revokes a device, lost or handed back; returns the number of its last entry that counts.

    What is here of it stays good, as the last checkpoint that knows of it bears out; what it writes after that is put
    aside wherever this entry is known.

    Raises:
        InputRefusedError: an unknown device, this very device, no reason, or not a supervisor.
    """
    _refuse_unless_supervisor(book)
    known = {d.dev: d for d in trust_queries.devices(book.db)}
    if dev not in known:
        raise refuse(f"device {dev}", "is not a device of this log; `seasonlog device list` names all")
    if dev == book.journal.device_id:
        raise refuse(f"device {dev}", "is this very device; revoke it on another one")
    checkpoint = next((c for c in reversed(held.checkpoints(book.db)) if dev in c.sizes), None)
    body = {
        "device": dev,
        "entries": known[dev].written,
        "checkpoint": checkpoint.hash.hex() if checkpoint else "",
        "because": reason_in(f"device {dev}", because),
    }
    book.write(Record(Kind.DEVICE_REVOKED, body))
    return known[dev].written


def refuse_unless_supervisor(at: Places, around: Surroundings, who: str) -> None:
    """The same question before a log is opened for writing.

    Raises:
        LogError: there is no log.
        InputRefusedError: the person is not a supervisor.
    """
    if not at.log.exists():
        raise LogError(f"there is no log at {at.log} in which a device could be enrolled")
    with Logbook.open(at, around, "", writing=False) as book:
        _refuse_unless_supervisor(book, who)


def _refuse_unless_supervisor(book: Logbook, who: str = "") -> None:
    """Where the register names supervisors, only they say which device may add; a log without any asks nobody."""
    name = who or book.who
    register = registry.shared(book.db)
    supervisors = sorted(p.name for p in register.people.values() if "supervisor" in p.roles)
    person = person_of(register, name)
    if supervisors and (person is None or "supervisor" not in person.roles):
        words = f"is not a supervisor; {', '.join(supervisors)} may say which device may add"
        raise InputRefusedError([Problem(f'"{name}"', words)])


def checkpoint(book: Logbook) -> tuple[str, str]:
    """A checkpoint of everything that is here: the signed note, and its code to be written down."""
    note = state_checkpoint(book.journal, book.who)
    return note.encoded(), code_of(hash_of(note.text))


def integrity_code(book: Logbook) -> str:
    """The code to print on a report: of a checkpoint over everything that is here, made now when the last is older.

    16 characters in groups of four: the first 80 bits of the checkpoint's hash (RFC 4648 base 32). Whoever keeps the
    paper can later be shown the checkpoint, and from it that nothing it covers was taken away or changed. Empty for a
    log that is only read and holds no checkpoint.
    """
    held_here = held.checkpoints(book.db)
    newest = held_here[-1] if held_here else None
    if newest is not None and sum(size.entries for size in newest.sizes.values()) == book.journal.count():
        return newest.code
    if not book.who:
        return newest.code if newest else ""
    return checkpoint(book)[1]
