#!/usr/bin/env python3
"""Checks a bundle of seasonlog with nothing but Python 3.11 and this file. Trusts nobody: read it, then run it.

    python3 verify_bundle.py BUNDLE [--quick] [--held NOTE] [--code CODE]

Exit code 0: everything in the bundle is as it was signed. Exit code 1: it is not, and the first bad entry is named.

What is checked: the file is whole; every entry is a canonical line (RFC 8785 without fractions), follows by hash from
the same device's entry before, and is signed by its device (Ed25519, RFC 8032); every checkpoint is signed and fits the
entries under it (Merkle roots of RFC 9162); every attachment has the hash that names it.
--quick   every hash and link, and only the last signature of each device: the links carry it back to all before.
--held    a checkpoint you kept from an earlier time: the bundle must still hold all that it covers.
--code    the 16 characters printed on a paper report: a checkpoint of the bundle must have it.
A device that none enrolled, that was revoked, or that wrote two pasts (a fork) is told: ask who holds it.
What no file can show: a wrong reading typed honestly, a device that never handed anything on, and, without a checkpoint
that somebody else kept (--held, --code), entries that the holder of a key cut off or wrote anew.

Everything below is one list of checks. `need(fact, words)` stops at the first fact that does not hold.
"""

import argparse
import base64
import contextlib
import hashlib
import json
import re
import sys
from functools import cache
from pathlib import Path
from typing import Any, NoReturn

TAG = b"seasonlog entry v1\n"  # put before what is signed, so that no signature passes for one of anything else


class Bad(Exception):  # noqa: N818
    """The first thing that is not as it was signed."""


def need(fact: object, words: str) -> None:
    """Stop at the first fact that does not hold."""
    if not fact:
        raise Bad(words)


# ---- Ed25519 (RFC 8032 section 5.1); points as (X, Y, Z, T)

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
Point = tuple[int, int, int, int]
NEUTRAL: Point = (0, 1, 1, 0)


def add(p: Point, q: Point) -> Point:
    """The sum of two points."""
    a, b = (p[1] - p[0]) * (q[1] - q[0]) % P, (p[1] + p[0]) * (q[1] + q[0]) % P
    c, d = 2 * p[3] * q[3] * D % P, 2 * p[2] * q[2] % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P


def point_of(code: bytes) -> Point | None:
    """The point that 32 bytes stand for, or None when they stand for none."""
    y, sign = int.from_bytes(code, "little") & ((1 << 255) - 1), code[31] >> 7
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if x * x % P != square:
        x = x * pow(2, (P - 1) // 4, P) % P
    if y >= P or x * x % P != square or (x == 0 and sign):
        return None
    x = P - x if x & 1 != sign else x
    return x, y, 1, x * y % P


def multiples(point: Point) -> list[list[Point]]:
    """0 to 15 times 16^i times a point, for i from 0 to 63."""
    rows = []
    for _ in range(64):
        row = [NEUTRAL]
        for _ in range(15):
            row.append(add(row[-1], point))
        rows.append(row)
        point = add(row[-1], point)
    return rows


def times(rows: list[list[Point]], number: int) -> Point:
    """A number below 16^64 times the point of a table of multiples."""
    total = NEUTRAL
    for row in rows:
        total, number = add(total, row[number & 15]), number >> 4
    return total


def code_of(p: Point) -> bytes:
    """The 32 bytes that stand for a point."""
    inverse = pow(p[2], -1, P)
    return ((p[1] * inverse % P) | (p[0] * inverse % P & 1) << 255).to_bytes(32, "little")


BASE = (4 * pow(5, -1, P) % P).to_bytes(32, "little")


@cache
def table(code: bytes, sign: int) -> list[list[Point]] | None:
    """Multiples of the point that 32 bytes stand for, or of its opposite; made once."""
    point = point_of(code)
    return None if point is None else multiples((sign * point[0] % P, point[1], 1, sign * point[3] % P))


def signature_fits(key: bytes, sig: bytes, message: bytes) -> bool:
    """Whether a signature over a message is that of a public key: s B = R + h A."""
    if len(key) != 32 or len(sig) != 64:
        return False
    base, minus_a = table(BASE, 1), table(key, -1)
    s = int.from_bytes(sig[32:], "little")
    if s >= L or base is None or minus_a is None:
        return False
    h = int.from_bytes(hashlib.sha512(sig[:32] + key + message).digest(), "little") % L
    return code_of(add(times(base, s), times(minus_a, h))) == sig[:32]


# ---- JSON as it may be signed: text, whole numbers below 2^53, true, false, null, lists, objects


def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object in which no key stands twice."""
    found = dict(pairs)
    need(len(found) == len(pairs), "a key stands twice in one object")
    return found


def fraction(digits: str) -> NoReturn:
    """Refuse a number that is not whole."""
    raise Bad(f"the number {digits:.20} is not whole")


def checked(value: Any, depth: int = 1) -> Any:
    """The value with its keys in the order of RFC 8785 (UTF-16 code units)."""
    if isinstance(value, int) and not isinstance(value, bool):
        need(-(2**53) < value < 2**53, "a whole number is 2^53 or more")
    if isinstance(value, dict | list):
        need(depth <= 32, "it is nested deeper than 32 levels")
    if isinstance(value, dict):
        order = sorted(value, key=lambda key: key.encode("utf-16-be"))
        return {key: checked(value[key], depth + 1) for key in order}
    return [checked(item, depth + 1) for item in value] if isinstance(value, list) else value


def parsed(data: bytes) -> Any:
    """The value of some JSON bytes, every rule kept."""
    try:
        raw = json.loads(data.decode(), object_pairs_hook=unique, parse_float=fraction, parse_constant=fraction)
        return checked(raw) if json.dumps(raw, ensure_ascii=False).encode() else None  # half a surrogate pair fails
    except (ValueError, RecursionError) as error:
        raise Bad(f"it is not JSON as it may be signed: {error}") from None


FORMS: dict[str, str] = {
    "log": "[0-9a-f]{32}", "dev": "[0-9a-f]{16}", "prev": "([0-9a-f]{64})?", "anchor": "([0-9a-f]{64})?",
    "uid": "[0-9A-Za-z._:@+-]{1,128}", "hlc": r"[0-2]\d{14}-\d{5}", "who": "(?s:.{1,200})", "kind": "[a-z][a-z_]{0,63}",
}  # fmt: skip
STATES = {"log_started": "began the log", "device_enrolled": "enrolled", "device_revoked": "REVOKED"}  # least stays
HEAD = {"by": str, "contacts": bool, "log": str, "made": int, "software": str}
SPANS = {"v": (1, 1), "seq": (1, 2**53 - 1), "wall": (0, 253_402_214_399_999), "offset": (-1440, 1440)}


def entry_of(line: bytes) -> dict[str, Any]:
    """The fields of an entry's line."""
    need(len(line) <= 1_000_000, "it is longer than an entry may be")
    e = parsed(line)
    need(isinstance(e, dict) and e.keys() == {*FORMS, *SPANS, "body"}, "it has not exactly the fields of an entry")
    need(isinstance(e["body"], dict), "its body is no object")
    for name, form in FORMS.items():
        good = isinstance(e[name], str) and re.fullmatch(form, e[name], re.ASCII)
        need(good, f"its field {name} is out of form")
    for name, (low, high) in SPANS.items():
        need(type(e[name]) is int and low <= e[name] <= high, f"its field {name} is out of its span")
    need(json.dumps(e, ensure_ascii=False, separators=(",", ":")).encode() == line, "it is not in canonical form")
    return dict(e)


# ---- The file


class Device:
    """Where one device's chain stands, and the Merkle tree over it (RFC 9162 section 2.1.1)."""

    def __init__(self, key: bytes) -> None:
        self.key, self.state = key, "NOT ENROLLED"
        self.hashes: list[bytes] = []
        self.hlc = ""
        self.last: tuple[str, bytes] = ("", b"")
        self.peaks: list[bytes] = []
        self.size = 0

    def root(self, size: int) -> str:
        """The root over the first `size` (> 0) entries; asked in rising order, each entry is hashed once."""
        if size < self.size:
            self.peaks, self.size = [], 0
        for node in self.hashes[self.size : size]:
            self.size += 1
            for _ in range((self.size & -self.size).bit_length() - 1):
                node = hashlib.sha256(b"\1" + self.peaks.pop() + node).digest()
            self.peaks.append(node)
        top = self.peaks[-1]
        for peak in reversed(self.peaks[:-1]):
            top = hashlib.sha256(b"\1" + peak + top).digest()
        return top.hex()


def lines_of(data: bytes) -> list[bytes]:
    """The lines of a whole bundle, without the last one."""
    need(not data.startswith(b"seasonlog bundle 1\r"), "line 1: its line ends were changed: copy it as a file")
    need(data.startswith(b"seasonlog bundle 1\n"), "line 1: it is not a bundle of version 1")
    need(data.endswith(b"\n"), "the end: it is cut short")
    at = data.rfind(b"\nend ") + 1
    need(at > 0, "the end: it is cut short, its last line is missing")
    wanted = f"end {data.count(10, 0, at)} {hashlib.sha256(data[:at]).hexdigest()}\n".encode()
    need(data[at:] == wanted, "the end: its last line does not fit the rest")
    return data[:at].split(b"\n")[:-1]


Entries = dict[bytes, tuple[int, dict[str, Any], bytes]]


def taken_apart(lines: list[bytes]) -> tuple[Entries, list[tuple[int, str]], dict[str, Any]]:
    """Entries by hash, checkpoints, and the head; attachments are checked on the way."""
    entries: Entries = {}
    notes: list[tuple[int, str]] = []
    head: dict[str, Any] = {}
    for number, line in enumerate(lines[1:], 2):
        word, _, rest = line.partition(b" ")
        first, _, second = rest.partition(b" ")
        try:
            if word == b"entry":
                need(re.fullmatch(b"[0-9a-f]{128}", first), "its signature is not 128 hex digits")
                digest = hashlib.sha256(b"\0" + second).digest()
                sig = bytes.fromhex(first.decode())
                kept = entries.setdefault(digest, (number, entry_of(second), sig))
                need(kept[2] == sig, "an entry stands twice, with two signatures")
            elif word == b"checkpoint":
                note = parsed(rest)
                need(isinstance(note, str), "a checkpoint is a text")
                notes.append((number, note))
            elif word in (b"file", b"detail"):
                content = base64.b64decode(second, validate=True)
                need(hashlib.sha256(content).hexdigest().encode() == first, "a file has not the hash that names it")
            else:
                need(word == b"head", f"{word[:20]!r} is no kind of line of a bundle")
                need(not head, "there are two heads")
                value = parsed(rest)
                head = value if isinstance(value, dict) else {}
                need({k: type(v) for k, v in head.items()} == HEAD, "the head has not exactly the fields of a head")
        except (Bad, ValueError) as error:
            raise Bad(f"line {number}: {error}") from None
    need(head, "line 2: there is no head")
    need(entries, "there are no entries")
    return entries, notes, head


def joined(e: dict[str, Any], *, first: bool) -> Device:
    """A device, from its first entry."""
    wanted = "log_started" if first else "device_joined"
    need(e["kind"] == wanted, f"its device never joined the log: {wanted} was expected")
    key = e["body"].get("key")
    need(isinstance(key, str) and re.fullmatch("[0-9a-f]{64}", key), "it does not hold its device's key")
    need(hashlib.sha256(bytes.fromhex(key)).hexdigest()[:16] == e["dev"], "the key in it is not that of its device")
    return Device(bytes.fromhex(key))


def chains_of(entries: Entries, log: object, *, quick: bool) -> dict[str, Device]:
    """Every device's chain, each entry following from the one before."""
    devices, states = dict[str, Device](), dict[str, str]()
    ordered = sorted(entries.items(), key=lambda item: (item[1][1]["hlc"], item[1][1]["dev"], item[1][1]["seq"]))
    for count, (digest, (number, e, sig)) in enumerate(ordered, 1):
        where = f"line {number}, device {e['dev']}, number {e['seq']}"
        try:
            if e["dev"] not in devices:
                devices[e["dev"]] = joined(e, first=not devices)
            device = devices[e["dev"]]
            need(e["log"] == log, "it belongs to another log")
            at = len(device.hashes) + 1
            need(e["seq"] == at, f"the device's entry {at} is missing before it")
            before = device.hashes[-1].hex() if device.hashes else ""
            need(e["prev"] == before, "it does not follow from the device's entry before: one of the two was changed")
            need(e["hlc"] > device.hlc, "its place in the order of time is not after the device's entry before")
            need(e["seq"] == 1 or e["kind"] not in ("log_started", "device_joined"), "a device joins only once")
            need(quick or signature_fits(device.key, sig, TAG + digest), "its signature is not the device's")
        except Bad as error:
            raise Bad(f"{where}: {error}") from None
        device.hashes.append(digest)
        device.hlc, device.last = e["hlc"], (where, sig)
        if e["kind"] in STATES and (at == 1 or states.get(e["dev"], "REVOKED") != "REVOKED"):
            named = str(e["body"].get("device", e["dev"]))
            states[named] = min(STATES[e["kind"]], states.get(named, "~"))
        if not quick and count % 100 == 0 and sys.stderr.isatty():
            sys.stderr.write(f"\r{count} of {len(ordered)} entries\r")
    for dev, state in states.items():
        devices.get(dev, Device(b"")).state = state
    for device in devices.values() if quick else ():
        where, sig = device.last
        need(signature_fits(device.key, sig, TAG + device.hashes[-1]), f"{where}: its signature is not the device's")
    return devices


# ---- Checkpoints: signed notes (C2SP signed-note) that state size and root of each device

NOTE = re.compile(
    r"seasonlog checkpoint 1\nlog ([0-9a-f]{32})\nby ([0-9a-f]{16})\nissued (\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z)\n"
    r"((?:[0-9a-f]{16} [1-9]\d{0,15} [0-9a-f]{64}\n)+)", re.ASCII)  # fmt: skip


def signers(note: str, devices: dict[str, Device], *, trust: bool) -> set[str]:
    """The known devices that signed a note; a known key that does not fit spoils it, an unknown one is no matter."""
    text, blank, below = note.rpartition("\n\n")
    need(blank and text and below.endswith("\n"), "it is no signed note")
    need(all(c >= " " or c == "\n" for c in note), "it holds a control character")
    names = []
    for line in below.split("\n")[:-1]:
        found = re.fullmatch("\u2014 ([^\\s+]+) ([A-Za-z0-9+/=]+)", line)
        name, raw = (found[1], base64.b64decode(found[2], validate=True)) if found else ("", b"")
        need(len(raw) > 4, "it holds a line that is no signature")
        if name not in devices:
            continue
        key = devices[name].key
        if raw[:4] == hashlib.sha256(f"{name}\n\1".encode() + key).digest()[:4]:
            message = (text + "\n").encode()
            need(trust or signature_fits(key, raw[4:], message), f"the signature of {name} under it does not fit")
            names.append(name)
    need(len(set(names)) == len(names), "a device signed it twice")
    return set(names)


def checkpoint(note: str, devices: dict[str, Device], log: object, *, trust: bool = False) -> tuple[str, str, str]:
    """Device, time and printed code of a checkpoint that fits the entries."""
    names = signers(note, devices, trust=trust)
    text = note.rpartition("\n\n")[0] + "\n"
    found = NOTE.fullmatch(text)
    need(found, "its text is no checkpoint of version 1")
    stated_log, by, issued, rows = found.groups() if found else ("", "", "", "")
    need(stated_log == log, "it is of another log")
    need(by in names, "the device that states it did not sign it")
    sizes = [row.split(" ") for row in rows.splitlines()]
    need([row[0] for row in sizes] == sorted({row[0] for row in sizes}), "its devices are out of order")
    for dev, size, stated in sizes:
        need(dev in devices, f"device {dev} is left out")
        have = len(devices[dev].hashes)
        gone = "put aside, it is REVOKED" if devices[dev].state == "REVOKED" else "entries were cut off"
        need(have >= int(size), f"device {dev} had {size} entries then and has {have} now: {gone}")
        need(devices[dev].root(int(size)) == stated, f"the first {size} entries of device {dev} are not those of then")
    printed = base64.b32encode(hashlib.sha256(text.encode()).digest()[:10]).decode()
    return by, issued, "-".join(printed[at : at + 4] for at in (0, 4, 8, 12))


def check(data: bytes, *, quick: bool = False, held: str | None = None, code: str | None = None) -> list[str]:
    """Check a bundle; the words to say when all is well. Raises Bad otherwise."""
    entries, notes, head = taken_apart(lines_of(data))
    devices = chains_of(entries, head["log"], quick=quick)
    said = []
    for number, note in notes:
        try:
            said.append(checkpoint(note, devices, head["log"], trust=quick and number != notes[-1][0]))
        except (Bad, ValueError) as error:
            raise Bad(f"line {number}, a checkpoint: {error}") from None
    said += [checkpoint(note, devices, head["log"]) for note in (held,) if note is not None]
    need(code is None or code.upper() in {c[2] for c in said}, f"no checkpoint here has the code {code}")
    looked = "every hash and link, last signatures" if quick else "every hash, link and signature"
    started = (e["body"] for _, e, _ in entries.values() if e["kind"] == "log_started")
    kind = "DEMONSTRATION log, " if next(started).get("demonstration") is True else ""
    words = [f"OK: {kind}{len(entries)} entries of {len(devices)} devices, {len(said)} checkpoints ({looked})"]
    forked = {str(e["body"].get("device")) for _, e, _ in entries.values() if e["kind"] == "fork_found"}
    each = ((dev, len(d.hashes), d.state + ", FORKED" * (dev in forked)) for dev, d in sorted(devices.items()))
    words += [f"device {dev}: {count} entries, {state}" for dev, count, state in each]
    newest = {c[0]: f"newest checkpoint {c[2]} of {c[1]} by device {c[0]}" for c in sorted(said, key=lambda c: c[1])}
    return [*words, *(newest.values() or ["No checkpoint in it: entries cut off at the end would not show."])]


def main(arguments: list[str] | None = None) -> int:
    """The command line."""
    parser = argparse.ArgumentParser(description=str(__doc__).partition("\n")[0])
    parser.add_argument("bundle")
    parser.add_argument("--quick", action="store_true", help="every hash and link, and last signatures only")
    parser.add_argument("--held", metavar="NOTE", help="a checkpoint kept from an earlier time")
    parser.add_argument("--code", help="16 characters from a paper report")
    given = parser.parse_args(arguments)
    bad = 0
    try:
        held = Path(given.held).read_text("utf-8") if given.held else None
        words = check(Path(given.bundle).read_bytes(), quick=given.quick, held=held, code=given.code)
    except (Bad, OSError, ValueError) as error:
        words, bad = [f"NOT OK: {given.bundle}: {error}"], 1
    with contextlib.suppress(BrokenPipeError):
        sys.stdout.write("\n".join(words).encode("ascii", "backslashreplace").decode() + "\n")
        sys.stdout.flush()
    return bad


if __name__ == "__main__":
    sys.exit(main())
