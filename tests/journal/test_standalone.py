"""The one-file verifier: published vectors, each of its checks missed when it is taken out, agreement with ours."""

import ast
import copy
import hashlib
import json
import re
import subprocess
import sys
import types
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from seasonlog.journal import standalone_verifier as alone
from seasonlog.journal.bundle import FIRST_LINE, SignedLine
from seasonlog.journal.bundle_check import Proved, signature_fits
from seasonlog.journal.checkpoint import read
from seasonlog.journal.encoding import Entry
from seasonlog.journal.note import Note, signature
from seasonlog.services.bundles import shown
from tests.journal.test_merkle import LEAVES, ROOTS
from tests.journal.worlds import Laptop, World, entries, judged, seal, world

SOURCE = Path(alone.__file__)
WYCHEPROOF = json.loads((Path(__file__).parent / "data" / "ed25519_wycheproof.json").read_text("utf-8"))["tests"]

RFC_8032 = [  # section 7.1, tests 1 to 3: public key, message, signature
    ("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"),
    ("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"),
    ("fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"),
]  # fmt: skip


def test_it_is_one_short_file_of_the_standard_library() -> None:
    tree = ast.parse(SOURCE.read_text("utf-8"))
    imported = {a.name.partition(".")[0] for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    imported |= {str(n.module).partition(".")[0] for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert imported <= sys.stdlib_module_names
    assert len(SOURCE.read_text("utf-8").splitlines()) <= 400


@pytest.mark.parametrize(("key", "message", "sig"), RFC_8032)
def test_both_verifiers_take_the_signatures_of_rfc_8032(key: str, message: str, sig: str) -> None:
    for fits in (alone.signature_fits, signature_fits):
        assert fits(bytes.fromhex(key), bytes.fromhex(sig), bytes.fromhex(message))
        assert not fits(bytes.fromhex(key), bytes.fromhex(sig), bytes.fromhex(message) + b"x")


def test_both_verifiers_decide_every_wycheproof_vector_alike() -> None:
    """Project Wycheproof, ed25519_test.json, 210 vectors: valid and invalid as stated; the 29 `acceptable` ones (keys
    of small or mixed order) the same in both."""
    assert len(WYCHEPROOF) == 210
    wrong = []
    for number, key, message, sig, result, _ in WYCHEPROOF:
        given = bytes.fromhex(key), bytes.fromhex(sig), bytes.fromhex(message)
        ours, theirs = signature_fits(*given), alone.signature_fits(*given)
        if ours != theirs or (result != "acceptable" and ours != (result == "valid")):
            wrong.append((number, result, ours, theirs))
    assert wrong == []


@pytest.mark.parametrize("size", range(1, 9))
def test_its_roots_are_those_of_rfc_9162(size: int) -> None:
    """The roots of certificate transparency's reference leaves, in rising and in falling order."""
    device = alone.Device(b"")
    device.hashes = list(LEAVES)
    assert [device.root(n) for n in (size, 8, size)] == [ROOTS[n].hex() for n in (size, 8, size)]


# ---- Spoilt bundles, one for every check ----


@cache
def tiny() -> World:
    return world(1, 12)


def lines_of(made: World) -> dict[str, list[SignedLine]]:
    return {dev: list(lines) for dev, lines in made.laptops[0].seen.items()}


def finished(lines: Sequence[bytes]) -> bytes:
    body = b"".join(line + b"\n" for line in lines)
    return body + f"end {len(lines)} {hashlib.sha256(body).hexdigest()}\n".encode()


def raw(data: bytes) -> list[bytes]:
    return data.split(b"\n")[:-2]


def good() -> bytes:
    made = tiny()
    return made.bundle(made.laptops[0], notes=made.laptops[0].notes[-1:])


def victim() -> Laptop:
    return tiny().laptops[0]


def with_line(change: Callable[[bytes], bytes]) -> bytes:
    """The bundle with the victim's second entry's line changed, whatever its signature says."""
    lines = lines_of(tiny())
    own = lines[victim().key.dev]
    own[1] = SignedLine(change(own[1].line), own[1].sig)
    return bundled(lines)


def bundled(lines: dict[str, list[SignedLine]], notes: Sequence[Note] = ()) -> bytes:
    made = tiny()
    return made.bundle(made.laptops[0], [one for own in lines.values() for one in own], notes)


def with_entry(at: int, change: Callable[[Entry], Entry], laptop: int = 0) -> bytes:
    """The bundle as the holder of the key would sign it with one entry changed, and none after it."""
    key, lines = tiny().laptops[laptop].key, lines_of(tiny())
    own = lines[key.dev]
    lines[key.dev] = [*own[:at], seal(key, change(entries(own)[at]))]
    return bundled(lines)


def edited(old: bytes, new: bytes) -> bytes:
    data = good()
    assert old in data
    return finished(raw(data.replace(old, new, 1)))


def added(line: bytes) -> bytes:
    return finished([*raw(good()), line])


def with_note(change: Callable[[str], str], *, signed: bool = True) -> bytes:
    """The bundle with its checkpoint's text changed, signed by the victim, or left with the old signature."""
    note = victim().notes[-1]
    text = change(note.text)
    sigs = (signature(victim().key.dev, victim().key.public, victim().key.sign, text),) if signed else note.signatures
    return bundled(lines_of(tiny()), [Note(text, sigs)])


def with_encoded_note(change: Callable[[str], str]) -> bytes:
    lines = [line for line in raw(good()) if not line.startswith(b"checkpoint")]
    return finished([*lines, b"checkpoint " + json.dumps(change(victim().notes[-1].encoded())).encode()])


def a_size(text: str, size: str) -> str:
    return re.sub(rf"({victim().key.dev}) (\d+) ", rf"\1 {size} ", text)


def repeated(encoded: str) -> str:
    return encoded + encoded.rsplit("\n\n")[1]


def stranger_first(e: Entry) -> Entry:
    return replace(e, kind="note_added")


def with_last_unsigned() -> bytes:
    lines = lines_of(tiny())
    own = lines[victim().key.dev]
    own[-1] = SignedLine(own[-1].line, bytes(64))
    return bundled(lines)


NESTED = b"[" * 31 + b"]" * 31
CASES: list[tuple[str, Callable[[], bytes], dict[str, Any]]] = [
    ("a key stands twice", lambda: with_line(lambda x: x.replace(b'{"anchor"', b'{"anchor":"","anchor"')), {}),
    ("2^53", lambda: with_line(lambda x: re.sub(b'"text":"[^"]*"', b'"text":9007199254740992', x)), {}),
    ("2^53", lambda: with_line(lambda x: re.sub(b'"text":"[^"]*"', b'"text":-9007199254740992', x)), {}),
    ("not whole", lambda: with_line(lambda x: re.sub(b'"text":"[^"]*"', b'"text":1.5', x)), {}),
    ("not whole", lambda: with_line(lambda x: re.sub(b'"text":"[^"]*"', b'"text":NaN', x)), {}),
    ("nested deeper", lambda: with_line(lambda x: re.sub(b'"text":"[^"]*"', b'"text":' + NESTED, x)), {}),
    ("not JSON", lambda: with_line(lambda x: re.sub(b'"text":"[^"]*"', b'"text":' + b"[" * 100_000, x)), {}),
    ("not JSON", lambda: with_line(lambda x: x.replace(b'"text":"', b'"text":"\xff')), {}),
    ("longer than", lambda: with_line(lambda x: x.replace(b'"text":"', b'"text":"' + b"x" * 1_000_000)), {}),
    ("exactly the fields of an entry", lambda: with_line(lambda x: x.replace(b',"wall"', b',"w":1,"wall"')), {}),
    ("its body is no object", lambda: with_line(lambda x: re.sub(b'"body":{[^}]*}', b'"body":"x"', x)), {}),
    ("field uid is out", lambda: with_line(lambda x: x.replace(b'"uid":"', b'"uid":" ')), {}),
    ("field hlc is out", lambda: with_line(lambda x: re.sub(b'"hlc":"\\d', b'"hlc":"9', x)), {}),
    ("field v is out", lambda: with_line(lambda x: x.replace(b'"v":1', b'"v":2')), {}),
    ("field seq is out", lambda: with_line(lambda x: re.sub(b'"seq":(\\d+)', b'"seq":"\\1"', x)), {}),
    ("field wall is out", lambda: with_line(lambda x: re.sub(b'"wall":\\d+', b'"wall":253402300800000', x)), {}),
    ("canonical", lambda: with_line(lambda x: x.replace(b'"kind":', b'"kind": ')), {}),
    ("not a bundle of version 1", lambda: edited(FIRST_LINE, b"seasonlog bundle 2"), {}),
    ("line ends were changed", lambda: good().replace(b"\n", b"\r\n"), {}),
    ("the fields of a head", lambda: edited(b'"contacts":false', b'"contacts":7'), {}),
    ("the fields of a head", lambda: edited(b'"software":"seasonlog tests"', b'"software":7'), {}),
    ("the fields of a head", lambda: finished(raw(re.sub(b'"made":[0-9]+', b'"made":true', good(), count=1))), {}),
    ("cut short", lambda: good()[:-1], {}),
    ("last line is missing", lambda: b"\n".join(raw(good())) + b"\n", {}),
    ("does not fit the rest", lambda: good().replace(b"Ada", b"Eve", 1), {}),
    ("128 hex digits", lambda: finished([*raw(good())[:2], b"entry 00 {}"]), {}),
    ("two signatures", lambda: added(re.sub(b"^entry [0-9a-f]{128}", b"entry " + b"0" * 128, raw(good())[2])), {}),
    ("a checkpoint is a text", lambda: added(b"checkpoint 5"), {}),
    ("hash that names it", lambda: added(b"file " + b"0" * 64 + b" eA=="), {}),
    ("no kind of line", lambda: added(b"../../outside x"), {}),
    ("two heads", lambda: added(raw(good())[1]), {}),
    ("the fields of a head", lambda: edited(b'"made"', b'"maid"'), {}),
    ("there is no head", lambda: finished([raw(good())[0], *raw(good())[2:]]), {}),
    ("there are no entries", lambda: finished(raw(good())[:2]), {}),
    ("never joined", lambda: with_entry(0, stranger_first), {}),
    ("never joined", lambda: with_entry(0, stranger_first, laptop=1), {}),
    ("hold its device's key", lambda: with_entry(0, lambda e: replace(e, body={"demonstration": False})), {}),
    ("not that of its device", lambda: with_entry(0, lambda e: replace(e, body={"key": "ab" * 32})), {}),
    ("another log", lambda: with_entry(2, lambda e: replace(e, log="0" * 32)), {}),
    ("is missing before it", lambda: with_entry(2, lambda e: replace(e, seq=9)), {}),
    ("one of the two was changed", lambda: with_entry(2, lambda e: replace(e, prev="0" * 64)), {}),
    ("order of time", lambda: with_entry(1, lambda e: replace(e, hlc=entries(victim().own)[0].hlc)), {}),
    ("joins only once", lambda: with_entry(2, lambda e: replace(e, kind="device_joined")), {}),
    ("its signature is not the device's", lambda: with_line(lambda x: x.replace(b'"text":"', b'"text":"x')), {}),
    ("its signature is not the device's", lambda: with_last_unsigned(), {"quick": True}),
    ("no signed note", lambda: with_encoded_note(lambda n: n.replace("\n\n", "\n")), {}),
    ("control character", lambda: with_encoded_note(lambda n: n.replace("by ", "by \t")), {}),
    ("no signature", lambda: with_encoded_note(lambda n: n + "x\n"), {}),
    ("under it does not fit", lambda: with_note(lambda t: t.replace("issued 2", "issued 3"), signed=False), {}),
    ("signed it twice", lambda: with_encoded_note(repeated), {}),
    ("no checkpoint of version 1", lambda: with_note(lambda t: t.replace("checkpoint 1", "checkpoint 2")), {}),
    ("it is of another log", lambda: with_note(lambda t: re.sub("log [0-9a-f]{32}", "log " + "0" * 32, t)), {}),
    ("did not sign it", lambda: with_note(lambda t: re.sub("by [0-9a-f]{16}", f"by {'0' * 16}", t)), {}),
    ("out of order", lambda: with_note(lambda t: t + t.splitlines()[-1] + "\n"), {}),
    ("is left out", lambda: with_note(lambda t: t + f"{'f' * 16} 1 {'0' * 64}\n"), {}),
    ("were cut off", lambda: with_note(lambda t: a_size(t, "99")), {}),
    ("not those of then", lambda: with_note(lambda t: a_size(t, "1")), {}),
    ("has the code", good, {"code": "AAAA-AAAA-AAAA-AAAA"}),
]  # fmt: skip


def outcome(module: Any, data: bytes, options: dict[str, Any]) -> tuple[str, int]:
    """What a verifier says, and the line of its check that said it; any other exception is no answer."""
    try:
        module.check(data, **options)
    except module.Bad as error:
        return str(error), checking_line(error)
    except Exception as error:  # noqa: BLE001
        return f"crashed: {error!r}", 0
    return "", 0


def checking_line(error: BaseException) -> int:
    """The line of the check that failed first, below any that only tells where."""
    while isinstance(error.__context__, alone.Bad) or type(error.__context__).__name__ == "Bad":
        error = error.__context__  # type: ignore[assignment]
    frames, at = [], error.__traceback__
    while at is not None:
        frames.append(at)
        at = at.tb_next
    return next((f.tb_lineno for f in reversed(frames) if f.tb_frame.f_code.co_name != "need"), 0)


@cache
def spoilt() -> list[tuple[bytes, dict[str, Any], str, int]]:
    return [(data, options, *outcome(alone, data, options)) for data, options in ((c[1](), c[2]) for c in CASES)]


def test_every_spoilt_bundle_is_refused_in_words() -> None:
    for (words, _, _), (_, _, says, _) in zip(CASES, spoilt(), strict=True):
        assert words in says, (words, says)
    assert outcome(alone, good(), {}) == ("", 0)
    assert outcome(alone, good(), {"quick": True}) == ("", 0)


def test_both_verifiers_agree_on_every_spoilt_bundle() -> None:
    """All but the options that only the one file has; ours has no quick look at a bundle."""
    for (words, _, _), (data, options, _, _) in zip(CASES, spoilt(), strict=True):
        found = judged(data)
        assert isinstance(found, Proved) == ("code" in options), (words, found)
    assert isinstance(judged(good()), Proved)


@cache
def checks() -> dict[int, int]:
    """First and last line of every `need(...)` of the one file."""
    tree = ast.parse(SOURCE.read_text("utf-8"))
    calls = [n.value for n in ast.walk(tree) if isinstance(n, ast.Expr) and isinstance(n.value, ast.Call)]
    return {c.lineno: c.end_lineno or c.lineno for c in calls if isinstance(c.func, ast.Name) and c.func.id == "need"}


def mutant(first: int, last: int, instead: str = "pass") -> Any:
    lines = SOURCE.read_text("utf-8").splitlines()
    indent = lines[first - 1][: len(lines[first - 1]) - len(lines[first - 1].lstrip())]
    source = "\n".join([*lines[: first - 1], indent + instead, *[""] * (last - first), *lines[last:]])
    module = types.ModuleType("mutant")
    exec(compile(source, "mutant", "exec"), module.__dict__)
    return module


@pytest.mark.parametrize("line", sorted(checks()))
def test_no_check_can_be_taken_out_unnoticed(line: int) -> None:
    """Each `need` deleted in turn: at least one spoilt bundle is then accepted, or refused for another reason."""
    cases = [case for case in spoilt() if line <= case[3] <= checks()[line]]
    assert cases, "no spoilt bundle meets this check"
    without = mutant(line, checks()[line])
    assert any(outcome(without, data, options)[0] != says for data, options, says, _ in cases)


REFUSALS = {  # of `signature_fits` and `point_of`: what is put instead, and what then goes wrong
    "if len(key) != 32 or len(sig) != 64:": "if False:",
    "if s >= L or base is None or minus_a is None:": "if base is None or minus_a is None:",
    "if y >= P or x * x % P != square or (x == 0 and sign):": "if False:",
    "return code_of(add(times(base, s), times(minus_a, h))) == sig[:32]": "return True",
}


@pytest.mark.parametrize("line", REFUSALS)
def test_no_check_of_a_signature_can_be_taken_out_unnoticed(line: str) -> None:
    (at,) = [n for n, text in enumerate(SOURCE.read_text("utf-8").splitlines(), 1) if text.strip() == line]
    without = mutant(at, at, REFUSALS[line])
    key, message, sig = (bytes.fromhex(text) for text in RFC_8032[1])
    s = int.from_bytes(sig[32:], "little") + alone.L
    no_point = next(n.to_bytes(32, "little") for n in range(2, 99) if alone.point_of(n.to_bytes(32, "little")) is None)
    probes = [
        (key, sig + b"\0", message),
        (key, sig[:32] + s.to_bytes(32, "little"), message),
        (key, bytes(64), message),
    ]
    assert not any(alone.signature_fits(*probe) for probe in probes)
    noticed = any(without.signature_fits(*probe) for probe in probes) or without.point_of(no_point) is not None
    assert noticed


def run(*words: str | Path) -> tuple[int, str]:
    done = subprocess.run([sys.executable, "-I", SOURCE, *map(str, words)], capture_output=True, text=True, check=False)
    assert done.stderr == ""
    return done.returncode, done.stdout


def test_it_runs_alone_and_says_yes_or_no(tmp_path: Path) -> None:
    """Exit code 0 or 1; the first bad entry by line, device and number; a checkpoint and a code that were kept."""
    file = tmp_path / "north.bundle"
    file.write_bytes(good())
    note = victim().notes[-1]
    (tmp_path / "kept.txt").write_text(note.encoded(), "utf-8")
    code, says = run(file, "--held", tmp_path / "kept.txt", "--code", read(note.text).code)
    assert (code, says.startswith(f"OK: {len(raw(good())) - 3} entries of 3 devices")) == (0, True)
    file.write_bytes(with_line(lambda x: x.replace(b'"text":"', b'"text":"x')))
    code, says = run(file)
    assert code == 1
    assert f"device {victim().key.dev}, number 2: its signature is not the device's" in says
    assert run(tmp_path / "none")[0] == 1


def test_a_checkpoint_that_was_kept_shows_what_was_cut_off(tmp_path: Path) -> None:
    lines = lines_of(tiny())
    del lines[victim().key.dev][-1]
    data, held = bundled(lines), victim().notes[-1].encoded()
    assert outcome(alone, data, {})[0] == ""
    assert "cut off" in outcome(alone, data, {"held": held})[0]


def test_a_device_that_nobody_enrolled_or_that_was_revoked_is_told() -> None:
    """Enrolled by the first device, revoked by it, enrolled by one that itself is not: both verifiers say the same."""
    made = copy.deepcopy(world(1, 6))
    first, second, third = made.laptops
    made.write(third, "", "device_enrolled", body={"device": third.key.dev, "name": "myself"})
    made.write(first, "", "device_enrolled", body={"device": second.key.dev, "name": "second"})
    made.meet(first, second)
    data = made.bundle(first)
    assert states(data) == {first.key.dev: "began the log", second.key.dev: "enrolled", third.key.dev: "NOT ENROLLED"}
    made.write(
        first, "", "device_revoked", body={"device": second.key.dev, "entries": 2, "checkpoint": "", "because": "lost"}
    )
    made.write(first, "", "device_enrolled", body={"device": second.key.dev, "name": "found again"})
    assert states(made.bundle(first))[second.key.dev] == "REVOKED"


def test_a_fork_that_somebody_found_is_told() -> None:
    made = copy.deepcopy(world(1, 6))
    first, second, third = made.laptops
    made.write(first, "", "device_enrolled", body={"device": second.key.dev, "name": "second"})
    for other in (second, third):
        body = {"device": other.key.dev, "seq": 1, "held": "a", "other": "b", "line": "", "sig": ""}
        made.write(first, "", "fork_found", body=body)
    assert states(made.bundle(first)) == {
        first.key.dev: "began the log", second.key.dev: "enrolled, FORKED", third.key.dev: "NOT ENROLLED, FORKED",
    }  # fmt: skip


def test_a_checkpoint_that_counts_what_a_revoked_device_wrote_later_is_not_called_cut_off() -> None:
    made = copy.deepcopy(world(1, 6))
    first, second, _ = made.laptops
    made.meet(first, second)
    held = made.state(second).encoded()
    body = {"device": second.key.dev, "entries": 1, "checkpoint": "", "because": "lost"}
    made.write(first, "", "device_revoked", body=body)
    first.seen[second.key.dev] = first.seen[second.key.dev][:1]
    data = made.bundle(first, notes=[])
    assert "put aside, it is REVOKED" in outcome(alone, data, {"held": held})[0]


def test_the_code_of_a_checkpoint_that_was_kept_counts_too() -> None:
    """As in the program; and small letters are as good."""
    lines = lines_of(tiny())
    note = victim().notes[-1]
    data, code = bundled(lines), read(note.text).code.lower()
    assert outcome(alone, data, {"held": note.encoded(), "code": code})[0] == ""
    assert shown(data, "x", kept=note.encoded(), code=code).found.entries


def states(data: bytes) -> dict[str, str]:
    said = [words for words in alone.check(data) if words.startswith("device")]
    ours = [words for words in shown(data, "a bundle").lines() if words.startswith("device")]
    assert [words.partition(", the first")[0] for words in ours] == said
    return {words.split()[1].rstrip(":"): words.partition("entries, ")[2] for words in said}


def test_the_verdict_does_not_scroll_away_behind_hundreds_of_checkpoints() -> None:
    """Both count them and name the newest of each device (common sense, no source)."""
    data = (Path(__file__).parent.parent / "data" / "bundles" / "v1" / "two-laptops.bundle").read_bytes()
    found = shown(data, "x")
    stated = {c.stated.by: c.stated.code for c in sorted(found.found.checkpoints, key=lambda c: c.stated.issued_ms)}
    assert len(stated) == 2
    for words in (alone.check(data), found.lines()):
        assert ", 9 checkpoints" in words[0]
        told = [line.split() for line in words if line.startswith("newest checkpoint")]
        assert {line[line.index("device") + 1].rstrip(","): line[2] for line in told} == stated
