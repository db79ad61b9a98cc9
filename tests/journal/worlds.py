"""Small worlds of three laptops that write, meet and keep checkpoints, in memory; for attacks, merges and verifiers."""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from seasonlog.errors import InputRefusedError
from seasonlog.journal import merkle, standalone_verifier
from seasonlog.journal.bundle import Bundle, Head, SignedLine, taken_apart, written
from seasonlog.journal.bundle_check import Proved, bears_out, proved
from seasonlog.journal.checkpoint import Checkpoint, Size
from seasonlog.journal.encoding import Entry, entry_from_line, entry_hash, next_hlc, signed_bytes
from seasonlog.journal.keys import DeviceKey
from seasonlog.journal.note import Note, signature
from tests.journal.logs import NOON, Seeded

NAME = "from the north.bundle"


def sizes_of(hashes: Mapping[str, list[bytes]]) -> dict[str, Size]:
    """How far each device has written, worked out from every one of its hashes."""
    return {dev: Size(len(own), merkle.root(own)) for dev, own in hashes.items() if own}


@dataclass
class Laptop:
    """One device: its key, what it wrote, what it has seen of all."""

    key: DeviceKey
    now: int
    """Its clock [ms]."""
    seen: dict[str, list[SignedLine]] = field(default_factory=dict)
    """Device to its lines."""
    notes: list[Note] = field(default_factory=list)

    @property
    def own(self) -> list[SignedLine]:
        return self.seen.setdefault(self.key.dev, [])


def seal(key: DeviceKey, entry: Entry) -> SignedLine:
    line = entry.line()
    return SignedLine(line, key.sign(signed_bytes(entry_hash(line))))


def entries(lines: Sequence[SignedLine]) -> list[Entry]:
    return [entry_from_line(one.line) for one in lines]


@dataclass
class World:
    """Three laptops of one log."""

    chance: random.Random
    log: str
    laptops: list[Laptop]

    def write(self, who: Laptop, text: str, kind: str = "note_added", **fields: Any) -> SignedLine:
        who.now += self.chance.randrange(1_000, 600_000)
        own = who.own
        if not own and kind == "note_added":
            self.write(who, "", "device_joined")
        body = {"text": text} if kind == "note_added" else {"key": who.key.public.hex(), "demonstration": False}
        latest = max((e.hlc for lines in who.seen.values() for e in entries(lines[-1:])), default="")
        anchors = [n for n in who.notes if f"\nby {who.key.dev}\n" not in n.text] or who.notes
        made = Entry(
            log=self.log, dev=who.key.dev, seq=len(own) + 1, prev=entry_hash(own[-1].line).hex() if own else "",
            uid=f"{who.key.dev}.{len(own)}", wall=who.now, offset=-300, hlc=next_hlc(latest, who.now),
            anchor=entry_hash_of(anchors[-1]) if anchors else "", who="Ada Example", kind=kind, body=body,
        )  # fmt: skip
        sealed = seal(who.key, replace(made, **fields))
        own.append(sealed)
        return sealed

    def state(self, who: Laptop) -> Note:
        who.now += 1000
        hashes = {dev: [entry_hash(one.line) for one in lines] for dev, lines in who.seen.items()}
        text = Checkpoint(self.log, who.key.dev, who.now, sizes_of(hashes)).text()
        note = Note(text, (signature(who.key.dev, who.key.public, who.key.sign, text),))
        who.notes.append(note)
        return note

    def meet(self, one: Laptop, other: Laptop) -> None:
        """Both hand on all they have; each then states what it has. Clocks differ by what they differ."""
        for giver, taker in ((one, other), (other, one)):
            for dev, lines in giver.seen.items():
                if len(lines) > len(taker.seen.get(dev, ())):
                    taker.seen[dev] = list(lines)
            taker.notes += [note for note in giver.notes if note not in taker.notes]
        for laptop in (one, other):
            self.state(laptop)

    def bundle(
        self, who: Laptop, lines: Sequence[SignedLine] | None = None, notes: Sequence[Note] | None = None
    ) -> bytes:
        head = Head(self.log, who.key.dev, who.now, "seasonlog tests")
        every = [one for dev in who.seen.values() for one in dev] if lines is None else lines
        return b"".join(written(Bundle(head, tuple(every), tuple(who.notes if notes is None else notes))))


def entry_hash_of(note: Note) -> str:
    from seasonlog.journal.checkpoint import hash_of

    return hash_of(note.text).hex()


@cache
def world(number: int, size: int = 30) -> World:
    """A world with some history; the same in every run. Never change it: copy what you need."""
    chance, seeded = random.Random(number), Seeded(f"world {number}")
    laptops = [Laptop(DeviceKey(seeded(32)), NOON + chance.randrange(-86_400_000, 86_400_000)) for _ in range(3)]
    made = World(chance, seeded(16).hex(), laptops)
    made.write(laptops[0], "", "log_started")
    for other in laptops[1:]:
        made.meet(laptops[0], other)
        made.write(other, "here I am")
    for count in range(size):
        made.write(chance.choice(laptops), f"note {count}")
        if chance.random() < 0.15:
            made.meet(*chance.sample(laptops, 2))
    made.meet(laptops[1], laptops[2])
    made.meet(laptops[0], laptops[1])
    return made


def judged(data: bytes) -> Proved | str:
    """What the program's own verifier makes of a bundle: its content, or the words of the refusal."""
    try:
        return proved(taken_apart(data, NAME), NAME)
    except InputRefusedError as error:
        return str(error)


def against(found: Proved | str, held: str) -> Proved | str:
    """The same, held against a checkpoint that somebody kept."""
    if isinstance(found, str):
        return found
    try:
        bears_out(found, held, NAME)
    except InputRefusedError as error:
        return str(error)
    return found


def judged_alone(data: bytes, held: str | None = None, *, quick: bool = False) -> str:
    """What the one-file verifier says: empty when all is well."""
    try:
        standalone_verifier.check(data, held=held, quick=quick)
    except standalone_verifier.Bad as error:
        return str(error)
    return ""


Change = Callable[[Entry], Entry]


def resealed(key: DeviceKey, lines: Sequence[SignedLine], at: int, change: Change) -> list[SignedLine]:
    """What the holder of a key can do: change an entry and sign everything after it again."""
    out = list(lines[:at])
    for number, entry in enumerate(entries(lines[at:]), at):
        prev = entry_hash(out[-1].line).hex() if out else ""
        entry = replace(change(entry) if number == at else entry, prev=prev, seq=number + 1)
        before = entry_from_line(out[-1].line).hlc if out else ""
        if entry.hlc <= before:
            entry = replace(entry, hlc=next_hlc(before, 0))
        out.append(seal(key, entry))
    return out
