"""Untrusted text in a calendar: shown as it was typed, and unable to add a line for any reader.

The cases come from this file and, where they lie beside the checkout, from the collection of hostile inputs.
"""

import base64
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.season_due import DueKey
from seasonlog.export.calendar import to_ics
from seasonlog.export.calendar_event import CalendarEvent, EventStatus
from tests.export.calendar_readers import by_vobject, facts_by_icalendar, facts_by_vobject, shape, unfolded

COLLECTION = Path(__file__).parents[3] / "shared" / "data" / "hostile_inputs.json"
PLAIN = CalendarEvent(
    log_id="b5c1f0d2a4e64f0c",
    key=DueKey("HOS-1", FALL_ENABLE, 2026, 1),
    sequence=0,
    stamp=datetime(2026, 8, 1, 12, 30, 5, tzinfo=UTC),
    status=EventStatus.TENTATIVE,
    done=False,
    start=datetime(2026, 9, 15, 8, tzinfo=ZoneInfo("America/Chicago")),
    minutes=120,
    summary="a",
    description="b",
    location="c",
)
HOSTILE = [
    "T1\r\nATTENDEE:mailto:x@example.org",
    "T1\rEND:VEVENT",
    "T1\nBEGIN:VALARM",
    *(f"T1{char}ATTENDEE:x" for char in "\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029"),
    'semi;colon, comma \\ backslash \\n "quotes"',
    "\x00\x1b]0;title\x07\u202etxt",
    "x" * 5000,
    "\u00e9\u4e2d\U0001f4a7" * 60,
    "\ud800",
    "",
]
"""Line breaks by every convention Python's str.splitlines knows, iCalendar's own marks, and long or broken Unicode."""


@pytest.mark.parametrize("text", HOSTILE, ids=ascii)
def test_no_text_can_add_a_line_for_any_reader(text: str) -> None:
    check_harmless(text)


def check_harmless(text: str) -> None:
    data = to_ics([replace(PLAIN, summary=text, description=text, location=text)], text)
    assert shape(data) == shape(to_ics([PLAIN], "n"))
    by_any_line_end = data.decode().replace("\r\n ", "").splitlines()
    assert by_any_line_end == unfolded(data)
    assert "ATTENDEE" not in shape(data, by_any_line_end)
    parsed = [Calendar.from_ical(data).events[0], by_vobject(data).vevent]
    assert str(parsed[0]["SUMMARY"]) == parsed[1].summary.value
    assert len(facts_by_vobject(data)) == len(facts_by_icalendar(data)) == 1


@pytest.mark.parametrize("text", [text for text in HOSTILE if text.isprintable() and text], ids=ascii)
def test_what_can_be_shown_comes_back_as_it_was_typed(text: str) -> None:
    data = to_ics([replace(PLAIN, summary=text, description=f"{text}\r\n{text}", location=text)], text)
    found = by_vobject(data).vevent
    assert (found.summary.value, found.location.value) == (text, text)
    assert found.description.value == f"{text}\n{text}"
    read = Calendar.from_ical(data).events[0]
    assert (read.summary, read.description) == (text, f"{text}\n{text}")


@given(st.text(max_size=200))
def test_no_text_whatever_can_add_a_line(text: str) -> None:
    check_harmless(text)


def test_the_collected_hostile_texts_are_harmless(subtests: pytest.Subtests) -> None:
    if not COLLECTION.exists():
        pytest.skip("the collection of hostile inputs is not beside the checkout")
    cases = json.loads(COLLECTION.read_text(encoding="utf-8"))["cases"]
    texts = {case["id"]: text_of(case) for case in cases if "input" in case or "input_b64" in case}
    assert sum(name.startswith("ics_export") for name in texts) >= 6
    for name, text in texts.items():
        with subtests.test(case=name):
            check_harmless(text)


def text_of(case: dict[str, str]) -> str:
    if "input" in case:
        return str(case["input"])
    return base64.b64decode(case["input_b64"]).decode("utf-8", "surrogateescape")
