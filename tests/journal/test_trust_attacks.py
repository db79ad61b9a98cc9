"""22 attacks on a handed-on log, each in many worlds of three laptops; and no alarm where everybody was honest.

The attacks are those of the literature on tamper-evident logs (RFC 9162, C2SP tlog-checkpoint and tlog-witness). The
first 14 are an outsider's, the rest the holder's of a device key. With a checkpoint that an auditor kept, 21 of 22 are
found in every world; the last (a clock set to just after the own last entry) is shown by the time bracket, not proved.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import pytest

from seasonlog.journal.bracket import Brackets
from seasonlog.journal.bundle import SignedLine
from seasonlog.journal.bundle_check import Proved
from seasonlog.journal.checkpoint import read
from seasonlog.journal.encoding import entry_hash, next_hlc
from seasonlog.journal.keys import DeviceKey
from seasonlog.journal.merge import Ours, merge
from tests.journal.logs import Seeded
from tests.journal.worlds import NAME, Laptop, World, against, entries, judged, judged_alone, resealed, seal, world

WORLDS = 20


@dataclass
class Scene:
    """One world as an attacker has it: all lines of laptop 0, and the checkpoint that the auditor keeps."""

    world: World
    chance: random.Random

    @property
    def victim(self) -> Laptop:
        return self.world.laptops[0]

    def lines(self) -> dict[str, list[SignedLine]]:
        return {dev: list(lines) for dev, lines in self.victim.seen.items()}

    @property
    def dev(self) -> str:
        """The device that is attacked."""
        return self.victim.key.dev

    def at(self) -> int:
        """Some entry that is neither the first nor the last."""
        return self.chance.randrange(1, len(self.victim.own) - 1)


Lines = dict[str, list[SignedLine]]
Attack = Callable[[Scene, Lines], None]


def edited(one: SignedLine, old: bytes, new: bytes) -> SignedLine:
    line = one.line.replace(old, new)
    assert line != one.line
    return SignedLine(line, one.sig)


def edit_value(s: Scene, lines: Lines) -> None:
    at = s.at()
    lines[s.dev][at] = edited(lines[s.dev][at], b'"text":"', b'"text":"x')


def edit_last(s: Scene, lines: Lines) -> None:
    lines[s.dev][-1] = edited(lines[s.dev][-1], b'"text":"', b'"text":"x')


def edit_time(s: Scene, lines: Lines) -> None:
    at = s.at()
    lines[s.dev][at] = edited(lines[s.dev][at], b'"wall":1', b'"wall":2')


def extra_field(s: Scene, lines: Lines) -> None:
    at = s.at()
    lines[s.dev][at] = edited(lines[s.dev][at], b'{"text"', b'{"a":"b","text"')


def delete_middle(s: Scene, lines: Lines) -> None:
    del lines[s.dev][s.at()]


def delete_first(s: Scene, lines: Lines) -> None:
    del lines[s.dev][0]


def swap_two(s: Scene, lines: Lines) -> None:
    at = s.at()
    a, b = entries(lines[s.dev][at : at + 2])
    sigs = [one.sig for one in lines[s.dev][at : at + 2]]
    lines[s.dev][at] = SignedLine(replace(b, seq=a.seq, prev=a.prev, hlc=a.hlc).line(), sigs[1])
    lines[s.dev][at + 1] = SignedLine(replace(a, seq=b.seq, prev=b.prev, hlc=b.hlc).line(), sigs[0])


def duplicate(s: Scene, lines: Lines) -> None:
    """Appended again under the next number."""
    last, again = entries([lines[s.dev][-1]])[0], entries([lines[s.dev][s.at()]])[0]
    prev = entry_hash(lines[s.dev][-1].line).hex()
    line = replace(again, seq=last.seq + 1, prev=prev, hlc=next_hlc(last.hlc, 0)).line()
    lines[s.dev].append(SignedLine(line, lines[s.dev][s.at()].sig))


def move_to_other_device(s: Scene, lines: Lines) -> None:
    other = s.world.laptops[1].key.dev
    at = s.at()
    lines[s.dev][at] = edited(lines[s.dev][at], f'"dev":"{s.dev}"'.encode(), f'"dev":"{other}"'.encode())


def blank_signature(s: Scene, lines: Lines) -> None:
    at = s.at()
    lines[s.dev][at] = SignedLine(lines[s.dev][at].line, bytes(64))


def swap_signatures(s: Scene, lines: Lines) -> None:
    at, own = s.at(), lines[s.dev]
    own[at], own[at + 1] = SignedLine(own[at].line, own[at + 1].sig), SignedLine(own[at + 1].line, own[at].sig)


def unknown_device(s: Scene, lines: Lines) -> None:
    """A stranger's key goes on with the chain under its own name."""
    key = DeviceKey(Seeded("stranger")(32))
    last = entries([lines[s.dev][-1]])[0]
    lines["stranger"] = [seal(key, replace(last, dev=key.dev, seq=1, prev="", hlc=next_hlc(last.hlc, 0)))]


def key_swapped(s: Scene, lines: Lines) -> None:
    """The whole chain signed again with another key, under the old name."""
    key = DeviceKey(Seeded("another key")(32))
    first = entries(lines[s.dev])[0]
    lines[s.dev] = resealed(key, lines[s.dev], 0, lambda e: replace(e, body={**first.body, "key": key.public.hex()}))


def other_logs_entry(s: Scene, lines: Lines) -> None:
    """The very key writes for another log, and the entry is put in here."""
    at = s.at()
    lines[s.dev] = resealed(s.victim.key, lines[s.dev], at, lambda e: replace(e, log="0" * 32))


def truncate_tail(s: Scene, lines: Lines) -> None:
    del lines[s.dev][-1 - s.chance.randrange(3) :]


def drop_a_laptop(s: Scene, lines: Lines) -> None:
    del lines[s.world.laptops[2].key.dev]


def rewrite_old_value(s: Scene, lines: Lines) -> None:
    lines[s.dev] = resealed(s.victim.key, lines[s.dev], s.at(), lambda e: replace(e, body={"text": "never so"}))


def insert_back_dated(s: Scene, lines: Lines) -> None:
    at, own = s.at(), lines[s.dev]
    extra = seal(s.victim.key, replace(entries(own)[at], hlc=next_hlc(entries(own)[at - 1].hlc, 0), uid="new"))
    lines[s.dev] = resealed(s.victim.key, [*own[:at], extra, *own[at:]], at, lambda e: e)


def fork_tail(s: Scene, lines: Lines) -> None:
    at = len(lines[s.dev]) - 1
    lines[s.dev] = resealed(s.victim.key, lines[s.dev], at, lambda e: replace(e, body={"text": "another end"}))


def truncate_and_continue(s: Scene, lines: Lines) -> None:
    own = lines[s.dev][: s.at()]
    last = entries(own)[-1]
    for _ in range(len(lines[s.dev])):
        prev = entry_hash(own[-1].line).hex()
        last = replace(last, seq=last.seq + 1, prev=prev, hlc=next_hlc(last.hlc, 0), uid=f"n{last.seq}",
                       kind="note_added", body={"text": "instead"})  # fmt: skip
        own.append(seal(s.victim.key, last))
    lines[s.dev] = own


def appended(s: Scene, lines: Lines, wall: int) -> None:
    last = entries([lines[s.dev][-1]])[0]
    prev = entry_hash(lines[s.dev][-1].line).hex()
    new = replace(last, seq=last.seq + 1, prev=prev, wall=wall, hlc=next_hlc(last.hlc, wall), uid="late")
    lines[s.dev].append(seal(s.victim.key, new))


def append_with_an_earlier_date(s: Scene, lines: Lines) -> None:
    appended(s, lines, entries([lines[s.dev][-1]])[0].wall - 86_400_000)


def clock_just_after_the_last(s: Scene, lines: Lines) -> None:
    appended(s, lines, entries([lines[s.dev][-1]])[0].wall + 1)


OUTSIDER: Sequence[Attack] = (
    edit_value, edit_last, edit_time, extra_field, delete_middle, delete_first, swap_two, duplicate,
    move_to_other_device, blank_signature, swap_signatures, unknown_device, key_swapped, other_logs_entry,
)  # fmt: skip
KEY_HOLDER: Sequence[Attack] = (
    truncate_tail, drop_a_laptop, rewrite_old_value, insert_back_dated, fork_tail, truncate_and_continue,
)  # fmt: skip
SEEN_OTHERWISE: Sequence[Attack] = (append_with_an_earlier_date, clock_just_after_the_last)


def test_there_are_twenty_two() -> None:
    assert len({*OUTSIDER, *KEY_HOLDER, *SEEN_OTHERWISE}) == 22


def attacked(attack: Attack, number: int) -> tuple[Scene, bytes, str]:
    """The bundle an attacker hands out, without checkpoints, and the note the auditor kept."""
    scene = Scene(world(number), random.Random(number))
    held = scene.victim.notes[-1].encoded()
    lines = scene.lines()
    attack(scene, lines)
    return scene, scene.world.bundle(scene.victim, [one for own in lines.values() for one in own], []), held


def check_matrix(attack: Attack, numbers: range) -> None:
    for number in numbers:
        _, data, held = attacked(attack, number)
        by_itself = judged(data)
        with_note = against(by_itself, held)
        assert isinstance(with_note, str), f"{attack.__name__} in world {number} was not seen"
        assert isinstance(by_itself, str) == (attack in OUTSIDER), (attack.__name__, number)
        if number < 2:
            assert judged_alone(data, held), f"the one-file verifier did not see {attack.__name__} in world {number}"
            assert bool(judged_alone(data)) == (attack in OUTSIDER)


@pytest.mark.parametrize("attack", [*OUTSIDER, *KEY_HOLDER], ids=lambda attack: attack.__name__)
def test_every_attack_is_found_with_a_checkpoint_that_was_kept(attack: Attack) -> None:
    check_matrix(attack, range(WORLDS))


@pytest.mark.long
@pytest.mark.parametrize("attack", [*OUTSIDER, *KEY_HOLDER], ids=lambda attack: attack.__name__)
def test_every_attack_is_found_in_five_hundred_worlds(attack: Attack) -> None:
    check_matrix(attack, range(500))


def test_a_date_before_the_own_last_entry_is_told() -> None:
    check_dates(range(WORLDS))


@pytest.mark.long
def test_a_date_before_the_own_last_entry_is_told_in_five_hundred_worlds() -> None:
    check_dates(range(500))


def check_dates(numbers: range) -> None:
    for number in numbers:
        _, data, held = attacked(append_with_an_earlier_date, number)
        found = against(judged(data), held)
        assert isinstance(found, Proved)
        assert found.clock_set_back >= 1


def test_a_clock_set_to_just_after_the_own_last_entry_is_shown_by_the_bracket_where_a_note_came_between() -> None:
    """No log can prove it; where the holder had taken in a later checkpoint of another, the bracket shows it."""
    shown = 0
    for number in range(WORLDS):
        scene, data, held = attacked(clock_just_after_the_last, number)
        found = against(judged(data), held)
        assert isinstance(found, Proved)
        late = next(s.entry for s in found.entries if s.entry.uid == "late")
        others = [n for n in scene.victim.notes if f"by {scene.dev}" not in n.text]
        named = replace(late, anchor=read(others[-1].text).hash.hex())
        shown += not Brackets(read(n.text) for n in scene.victim.notes).of(named).fits
    assert 0 < shown < WORLDS


def test_a_peer_who_holds_a_copy_names_forks_and_takes_nothing_false_in() -> None:
    for attack in (rewrite_old_value, fork_tail, insert_back_dated, truncate_and_continue):
        for number in range(4):
            scene, data, _ = attacked(attack, number)
            found = judged(data)
            assert isinstance(found, Proved)
            peer = scene.world.laptops[1]
            news = merge(found, ours(scene.world, peer), NAME)
            assert [fork.other.entry.dev for fork in news.forks] == [scene.dev], attack.__name__
            assert not [s for s in news.new if s.entry.dev == scene.dev]


def ours(made: World, laptop: Laptop) -> Ours:
    hashes = {dev: [entry_hash(one.line) for one in lines] for dev, lines in laptop.seen.items()}
    return Ours(made.log, hashes, [read(n.text) for n in laptop.notes], [])


@pytest.mark.parametrize("number", range(WORLDS))
def test_honest_laptops_are_never_accused(number: int) -> None:
    """Also one that was silent for long, with a clock a day off, and hands on late."""
    check_honest(number)


@pytest.mark.long
def test_honest_laptops_are_never_accused_in_five_hundred_worlds() -> None:
    for number in range(500):
        check_honest(number)


def check_honest(number: int) -> None:
    made = world(number)
    for giver in made.laptops:
        data = made.bundle(giver)
        found = judged(data)
        assert isinstance(found, Proved), found
        if number < 2:
            assert judged_alone(data) == ""
            assert judged_alone(data, quick=True) == ""
        for taker in made.laptops:
            news = merge(found, ours(made, taker), NAME)
            assert (news.forks, news.aside, news.passed_over) == ((), (), ())
            for note in giver.notes:
                assert against(found, note.encoded()) is found
