"""Canonical bytes against RFC 8785's published files and an independent encoder; hashes and time order."""

import hashlib
import json
from typing import Any

import pytest
import rfc8785
from hypothesis import example, given
from hypothesis import strategies as st

from seasonlog.journal import encoding
from seasonlog.journal.encoding import EncodingError, Entry, canonical, entry_from_line, entry_hash, next_hlc, parse

# Inputs and outputs: the author's test data of RFC 8785, testdata/ of cyberphone/json-canonicalization, float-free
# part (`structures` holds 56.0 there, whose canonical form is 56; `values` keeps its text and literals).
PUBLISHED = {
    "arrays": (b'[ 56, { "d": true, "10": null, "1": [ ] } ]', '[56,{"1":[],"10":null,"d":true}]'),
    "french": (
        '{"peach": "This sorting order", "p\u00e9ch\u00e9": "is wrong according to French",'
        '"p\u00eache": "but canonicalization MUST", "sin": "ignore locale"}'.encode(),
        '{"peach":"This sorting order","p\u00e9ch\u00e9":"is wrong according to French",'
        '"p\u00eache":"but canonicalization MUST","sin":"ignore locale"}',
    ),
    "structures": (
        b'{"1": {"f": {"f": "hi","F": 5} ,"\\n": 56}, "10": { }, "": "empty", "a": { }, "111": [ {"e": "yes", "E": "no"} ],'  # noqa: E501
        b'"A": { }}',
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}',
    ),
    "unicode": (b'{"Unnormalized Unicode":"A\\u030a"}', '{"Unnormalized Unicode":"A\u030a"}'),
    "values": (
        b'{"string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/", "literals": [null, true, false]}',
        '{"literals":[null,true,false],"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}',
    ),
    "weird": (
        b'{"\\u20ac": "Euro Sign", "\\r": "Carriage Return", "\\u000a": "Newline", "1": "One",'
        b'"\\u0080": "Control\\u007f", "\\ud83d\\ude02": "Smiley",'
        b'"\\u00f6": "Latin Small Letter O With Diaeresis", "\\ufb33": "Hebrew Letter Dalet With Dagesh",'
        b'"</script>": "Browser Challenge"}',
        '{"\\n":"Newline","\\r":"Carriage Return","1":"One","</script>":"Browser Challenge","\u0080":"Control\u007f",'
        '"\u00f6":"Latin Small Letter O With Diaeresis","\u20ac":"Euro Sign","\U0001f602":"Smiley",'
        '"\ufb33":"Hebrew Letter Dalet With Dagesh"}',
    ),
}
# First 12 hex digits of SHA-256 over each published output file; `values` is left out, since the whole has decimals.
PUBLISHED_SHA = {
    "arrays": "099601b171ca",
    "french": "d99d0ebdcb00",
    "structures": "605f65004ec2",
    "unicode": "0d99aad92a12",
    "weird": "6af595a9aa80",
}

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
WHOLE = st.integers(-encoding.MAX_INT, encoding.MAX_INT)
VALUES = st.recursive(
    st.none() | st.booleans() | WHOLE | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_files_of_rfc_8785_come_out_byte_for_byte(name: str) -> None:
    given_bytes, wanted = PUBLISHED[name]
    assert canonical(parse(given_bytes)) == wanted.encode()
    assert name == "values" or hashlib.sha256(wanted.encode()).hexdigest().startswith(PUBLISHED_SHA[name])


@given(VALUES)
@example({"\ufb33": 1, "\U0001f602": 2})  # sorted by code point these two would change places
@example({"a": {"\ue000": [{"\U00010000": 1, "\ufffd": 2}]}})
def test_an_independent_encoder_writes_the_same_bytes(value: Any) -> None:
    assert canonical(value) == rfc8785.dumps(value)


@given(VALUES)
def test_parsing_gives_the_value_back(value: Any) -> None:
    assert parse(canonical(value)) == value


@pytest.mark.parametrize(
    "value",
    [
        1.5,
        float("nan"),
        2**53,
        -(2**53),
        b"bytes",
        {1: "x"},
        {"a": {None: 1}},
        "\ud800",
        {"\udfff": 1},
        {1, 2},
        pytest.param(object(), id="an object"),
    ],
    ids=repr,
)
def test_what_has_no_canonical_form_is_refused(value: Any) -> None:
    with pytest.raises(EncodingError):
        canonical({"body": [value]})


@pytest.mark.parametrize(
    "data",
    [
        b'{"a":1,"a":1}', b'{"x":{"a":1,"b":2,"a":3}}', b"NaN", b"[Infinity]", b"[-Infinity]", b"[1.0]", b"[1e3]",
        b"[9007199254740992]", b"[" + b"9" * 5000 + b"]", b'["\\ud800"]', b'["\\udc00\\ud800"]', b'{"\\ud800":1}',
        b"[" * 100_000, b" [" * 40 + b"]" * 40, b'["\x80"]', b'["a\nb"]', b"", b"{", b"[1,]", b"[1] 2", b"\xef\xbb\xbf[1]",  # noqa: E501
        b"'a'", b"[01]", "[1]".encode("utf-16"),
    ],
    ids=lambda data: f"{data[:20]!r} {len(data)}",
)  # fmt: skip
def test_what_could_not_have_been_written_is_refused(data: bytes) -> None:
    with pytest.raises(EncodingError):
        parse(data)


def test_nesting_is_refused_at_the_same_depth_both_ways() -> None:
    deepest: Any = []
    for _ in range(encoding.MAX_DEPTH - 1):
        deepest = [deepest]
    assert parse(canonical(deepest)) == deepest
    with pytest.raises(EncodingError, match="deeper"):
        canonical([deepest])
    with pytest.raises(EncodingError, match="deeper"):
        parse(json.dumps([deepest]).encode())


def an_entry(**changes: Any) -> Entry:
    fields = {
        "log": "0" * 32, "dev": "1" * 16, "seq": 1, "prev": "", "uid": "u-1", "wall": 1_790_000_000_000, "offset": -300,
        "hlc": "001790000000000-00000", "anchor": "", "who": "Ada", "kind": "note_added", "body": {"text": "5 A"},
    }  # fmt: skip
    return Entry(**(fields | changes))


def test_a_line_has_the_thirteen_fields_in_canonical_order() -> None:
    assert an_entry().line() == (
        b'{"anchor":"","body":{"text":"5 A"},"dev":"1111111111111111","hlc":"001790000000000-00000","kind":"note_added",'  # noqa: E501
        b'"log":"00000000000000000000000000000000","offset":-300,"prev":"","seq":1,"uid":"u-1","v":1,'
        b'"wall":1790000000000,"who":"Ada"}'
    )


@given(body=st.dictionaries(TEXT, VALUES, max_size=4), who=TEXT.filter(bool))
def test_an_entry_comes_back_from_its_line(body: dict[str, Any], who: str) -> None:
    entry = an_entry(body=body, who=who)
    assert entry_from_line(entry.line()) == entry


@pytest.mark.parametrize(
    "changes",
    [
        {"seq": 0}, {"seq": True}, {"seq": "1"}, {"log": "0" * 31}, {"dev": "G" * 16}, {"prev": "ab"}, {"uid": ""},
        {"uid": 'a"b'}, {"uid": "a\n"}, {"wall": -1}, {"wall": 1.0}, {"offset": 2000}, {"hlc": "1-0"}, {"who": ""},
        {"who": "x" * 201}, {"kind": "Note"}, {"kind": ""}, {"anchor": "x"}, {"v": 2}, {"body": {"text": 1.5}},
        {"body": {"text": "x" * 1_000_000}}, {"hlc": "\u0660" * 15 + "-00000"},
    ],
    ids=lambda changes: f"{next(iter(changes))}={next(iter(changes.values()))!r:.12}",
)  # fmt: skip
def test_a_field_out_of_its_form_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(EncodingError):
        an_entry(**changes).line()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'{"anchor"', b'{ "anchor"'), (b'"v":1', b'"v":2'), (b'"who":"Ada"', b'"who":"Ad\\u0061"'),
        (b'"who":"Ada"', b'"who":"Ada","x":1'), (b'"offset":-300,', b""), (b'"offset":-300', b'"offset":-0'),
        (b'{"text":"5 A"}', b'"5 A"'), (b'{"anchor":"",', b'{"anchor":"","anchor":"",'), (b'"seq":1', b'"seq":1.0'),
        (b'"Ada"}', b'"Ada"} '),
    ],
    ids=lambda part: part.decode(),
)  # fmt: skip
def test_bytes_that_are_not_exactly_an_entry_are_refused(old: bytes, new: bytes) -> None:
    line = an_entry().line()
    assert line.count(old) == 1
    with pytest.raises(EncodingError):
        entry_from_line(line.replace(old, new))


def test_the_hash_is_the_leaf_hash_of_rfc_9162() -> None:
    # transparency-dev/merkle, rfc6962_test.go: leaf "L123456"
    assert entry_hash(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"


WALL = st.integers(0, 10**13)


@given(st.lists(WALL, min_size=2, max_size=20))
def test_time_order_rises_even_when_the_clock_is_set_back(walls: list[int]) -> None:
    stamps = [""]
    for wall in walls:
        stamps.append(next_hlc(stamps[-1], wall))
    assert stamps == sorted(set(stamps))
    assert all(int(stamp[:15]) >= wall for stamp, wall in zip(stamps[1:], walls, strict=True))
    assert all(len(stamp) == 21 for stamp in stamps[1:])


def test_time_order_survives_a_full_counter() -> None:
    assert next_hlc("001790000000000-99999", 5) == "001790000000001-00000"
    assert next_hlc("001790000000000-00041", 5) == "001790000000000-00042"
    assert next_hlc("", 5) == "000000000000005-00000"
