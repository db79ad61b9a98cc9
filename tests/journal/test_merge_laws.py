"""Merging is a set union: in any order, any grouping, any number of times, devices end with the same entries and order.

The laws are those of a grow-only set (Shapiro et al. 2011, "Conflict-free Replicated Data Types"); the order is that of
hybrid logical clocks (Kulkarni et al. 2014). Four faults put in on purpose are each caught by the same laws.
"""

import hashlib
from collections.abc import Sequence
from typing import Any, ClassVar

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from seasonlog.journal.bundle import Head
from seasonlog.journal.bundle_check import Proved
from seasonlog.journal.encoding import Entry, entry_hash, next_hlc
from seasonlog.journal.merge import Ours, merge
from seasonlog.journal.stored import Stored

LOG = "0" * 32
START_MS, DAY_MS = 1_790_000_000_000, 86_400_000
DEVICES = tuple(hashlib.sha256(bytes([n])).hexdigest()[:16] for n in range(5))


def proved(entries: Sequence[Stored]) -> Proved:
    """A bundle of these entries, proved."""
    ordered = tuple(sorted(entries, key=lambda s: (s.entry.hlc, s.entry.dev, s.entry.seq)))
    return Proved(Head(LOG, "", 0, "", contacts=False), ordered, {}, hashes_of(entries), (), {}, {}, False, 0)


def hashes_of(entries: Sequence[Stored]) -> dict[str, list[bytes]]:
    found: dict[str, list[bytes]] = {}
    for s in sorted(entries, key=lambda s: (s.entry.dev, s.entry.seq)):
        found.setdefault(s.entry.dev, []).append(s.hash)
    return found


class Replica:
    """What one device holds; it takes in by the real merge and writes by the real clock rule."""

    def __init__(self, dev: str = DEVICES[0]) -> None:
        self.dev = dev
        self.held: list[Stored] = []
        """In the order of arrival."""

    def take(self, entries: Sequence[Stored]) -> None:
        news = merge(proved(entries), Ours(LOG, hashes_of(self.held), (), ()), "x", enrol=DEVICES)
        assert (news.forks, news.aside) == ((), ())
        self.keep(news.new)

    def keep(self, new: Sequence[Stored]) -> None:
        self.held.extend(new)

    def hlc(self, wall: int) -> str:
        return next_hlc(max((s.entry.hlc for s in self.held), default=""), wall)

    def digest(self, entry: Entry) -> bytes:
        return entry_hash(entry.line())

    def order(self, stored: Stored) -> Any:
        return (stored.entry.hlc, stored.entry.dev, stored.entry.seq)

    def write(self, wall: int, text: str) -> Stored:
        own = [s for s in self.held if s.entry.dev == self.dev]
        prev = own[-1].hash.hex() if own else ""
        uid = f"checklist:{text.replace(' ', '-')}"
        entry = Entry(LOG, self.dev, len(own) + 1, prev, uid, wall, 0, self.hlc(wall), "", "Example", "note_added",
                      {"text": text})  # fmt: skip
        stored = Stored(0, entry, self.digest(entry), entry.line(), bytes(64))
        self.keep([stored])
        return stored

    def view(self) -> list[bytes]:
        """What a fold sees: the entries in their order."""
        return [s.hash for s in sorted(self.held, key=self.order)]


# The laws of a union


def a_world() -> list[list[Stored]]:
    """Four devices' chains of eight entries, written in turn, with exchanges and clocks a day apart."""
    replicas = [Replica(dev) for dev in DEVICES[:4]]
    for step in range(32):
        writer = replicas[step % 4]
        writer.write(START_MS + step * 1000 + (step % 4 - 2) * DAY_MS, f"note {step}")
        if step % 5 == 0:
            replicas[(step + 1) % 4].take(writer.held)
    return [[s for s in r.held if s.entry.dev == r.dev] for r in replicas]


WORLD = a_world()
part = st.tuples(*(st.integers(0, 8) for _ in WORLD)).map(
    lambda ends: tuple(s for chain, end in zip(WORLD, ends, strict=True) for s in chain[:end])
)
"""What some device may hold: of every device its first so many."""


def union(*parts: Sequence[Stored]) -> tuple[dict[str, list[bytes]], list[bytes]]:
    replica = Replica()
    for each in parts:
        replica.take(each)
    return hashes_of(replica.held), replica.view()


def joined(a: Sequence[Stored], b: Sequence[Stored]) -> list[Stored]:
    replica = Replica()
    replica.take(a)
    replica.take(b)
    return replica.held


@settings(max_examples=1000, deadline=None)
@given(part, part, part)
def test_the_union_commutes_associates_and_repeats_harmlessly(
    a: Sequence[Stored], b: Sequence[Stored], c: Sequence[Stored]
) -> None:
    assert union(a, b) == union(b, a)
    assert union(joined(a, b), c) == union(a, joined(b, c))
    assert union(a, a) == union(a)
    assert union(a, b, a, b) == union(a, b)
    assert set(union(a, b)[1]) == {s.hash for s in (*a, *b)}  # held against Python's own set


# Devices that write, send, lose, repeat and reorder


class Devices(RuleBasedStateMachine):
    """Three to five devices; messages are what a device held of every chain up to somewhere."""

    replica: ClassVar[type[Replica]] = Replica

    @initialize(count=st.integers(3, 5))
    def begin(self, count: int) -> None:
        self.replicas = [self.replica(dev) for dev in DEVICES[:count]]
        self.clocks = [START_MS] * count
        self.written: list[Stored] = []
        self.seen_before: dict[bytes, set[bytes]] = {}
        self.network: list[tuple[int, list[Stored]]] = []

    @rule(at=st.integers(0, 4), jump=st.sampled_from((0, 0, 0, 1000, DAY_MS, -DAY_MS)), text=st.sampled_from("ab"))
    def write(self, at: int, jump: int, text: str) -> None:
        at %= len(self.replicas)
        self.clocks[at] += jump
        before = {s.hash for s in self.replicas[at].held}
        latest = max(map(self.replicas[at].order, self.replicas[at].held), default=None)
        stored = self.replicas[at].write(self.clocks[at], text)
        assert stored.hash not in self.seen_before, "two entries are taken for one"
        assert latest is None or self.replicas[at].order(stored) > latest, "it sorts before what its writer had seen"
        self.written.append(stored)
        self.seen_before[stored.hash] = before

    @rule(at=st.integers(0, 4), to=st.integers(0, 4), upto=st.integers(0, 30))
    def send(self, at: int, to: int, upto: int) -> None:
        """Of every device the first so many: the rest was cut off."""
        at, to = at % len(self.replicas), to % len(self.replicas)
        self.network.append((to, [s for s in self.replicas[at].held if s.entry.seq <= upto]))

    @rule(which=st.integers(0, 1000), again=st.booleans())
    def deliver(self, which: int, again: bool) -> None:
        """Any message, not the oldest; it may come once more."""
        if self.network:
            which %= len(self.network)
            to, entries = self.network[which] if again else self.network.pop(which)
            self.replicas[to].take(entries)

    @rule(which=st.integers(0, 1000))
    def lose(self, which: int) -> None:
        if self.network:
            self.network.pop(which % len(self.network))

    @invariant()
    def no_device_loses_what_it_wrote(self) -> None:
        for replica in getattr(self, "replicas", ()):
            own = {s.hash for s in self.written if s.entry.dev == replica.dev}
            assert own <= {s.hash for s in replica.held}, "an entry that was acknowledged is lost"

    def teardown(self) -> None:
        """Everybody hears everybody: all hold all, in one order, causes before effects."""
        replicas = getattr(self, "replicas", [])
        for one in replicas:
            for other in replicas:
                one.take(other.held)
        for one in reversed(replicas):
            for other in replicas:
                one.take(other.held)
        for replica in replicas:
            assert {s.hash for s in replica.held} == {s.hash for s in self.written}
            assert len(replica.held) == len(self.written)
            assert replica.view() == replicas[0].view(), "devices with the same entries disagree about their order"
            place = {digest: number for number, digest in enumerate(replica.view())}
            assert all(place[e] < place[d] for d, seen in self.seen_before.items() for e in seen)


def many(examples: int, steps: int) -> settings:
    return settings(
        max_examples=examples, stateful_step_count=steps, deadline=None, suppress_health_check=list(HealthCheck)
    )


def test_devices_that_exchange_in_any_way_end_alike() -> None:
    run_state_machine_as_test(Devices, settings=many(40, 40))


@pytest.mark.long
def test_devices_that_exchange_in_any_way_end_alike_many_times() -> None:
    run_state_machine_as_test(Devices, settings=many(400, 60))


# Faults put in on purpose


class ByWallClock(Replica):
    """The order is that of each device's own clock."""

    def hlc(self, wall: int) -> str:
        return next_hlc("", wall)


class Bounded(Replica):
    """Holds the latest few entries only."""

    def keep(self, new: Sequence[Stored]) -> None:
        self.held = [*self.held, *new][-6:]


class HashOfContent(Replica):
    """The hash leaves out which device wrote and after what."""

    def digest(self, entry: Entry) -> bytes:
        e = entry
        return entry_hash(
            Entry(e.log, DEVICES[0], 1, "", e.uid, e.wall, e.offset, e.hlc, "", e.who, e.kind, e.body).line()
        )


class ByTimeOnly(Replica):
    """Entries of one moment stay in the order in which they arrived."""

    def order(self, stored: Stored) -> Any:
        return stored.entry.hlc


@pytest.mark.parametrize("fault", [ByWallClock, Bounded, HashOfContent, ByTimeOnly])
def test_each_fault_is_caught_by_the_laws(fault: type[Replica]) -> None:
    class Faulty(Devices):
        replica = fault

    # Found is enough: the shortest example of a fault takes minutes.
    quick = settings(many(500, 40), database=None, phases=[Phase.generate], report_multiple_bugs=False)
    with pytest.raises(AssertionError):
        run_state_machine_as_test(Faulty, settings=quick)
