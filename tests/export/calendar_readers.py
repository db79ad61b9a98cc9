"""Readers of iCalendar files that are not the library we write with, and what they say about a file."""

import warnings
from collections.abc import Sequence

import vobject
from icalendar import Calendar


def unfolded(data: bytes) -> list[str]:
    """The content lines of an iCalendar file, by RFC 5545 section 3.1; fails where a physical line breaks its rules."""
    assert data.endswith(b"\r\n")
    lines = data.removesuffix(b"\r\n").split(b"\r\n")
    assert all(b"\r" not in line and b"\n" not in line and 0 < len(line) <= 75 for line in lines)
    return data.removesuffix(b"\r\n").replace(b"\r\n ", b"").decode("utf-8").split("\r\n")


def by_vobject(data: bytes) -> vobject.base.Component:
    with warnings.catch_warnings():
        # vobject 0.9.9 still asks datetime and dateutil in ways they deprecate; it is the reader here, not our code.
        warnings.simplefilter("ignore", DeprecationWarning)
        return vobject.readOne(data.decode("utf-8"))


def facts_by_icalendar(data: bytes) -> list[tuple[str, int, str, int]]:
    found = Calendar.from_ical(data)
    assert not found.errors
    return [(str(e["UID"]), int(e["SEQUENCE"]), str(e["STATUS"]), len(e.alarms.times)) for e in found.events]


def facts_by_vobject(data: bytes) -> list[tuple[str, int, str, int]]:
    return [
        (e.uid.value, int(e.sequence.value), e.status.value, len(getattr(e, "valarm_list", [])))
        for e in by_vobject(data).vevent_list
    ]


def shape(data: bytes, lines: Sequence[str] | None = None) -> list[str]:
    """Names of the properties and components, in order."""
    return [line.split(":")[0].split(";")[0] + ("" if ":" in line else "?") for line in lines or unfolded(data)]
