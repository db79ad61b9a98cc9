"""What is said about a site beside its towers: how to get in and up, whom to call, what changed of late."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.domain.register import Site
from seasonlog.tui import rows
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, plain, say, say_lines
from seasonlog.tui.words import number, shown_as

if TYPE_CHECKING:
    from datetime import date

    from seasonlog.domain.climate_record import SiteClimate
    from seasonlog.services.board import Handover
    from seasonlog.services.climate import SiteBasis
    from seasonlog.services.privacy import Privacy

STILL_IN_PLACE = Look("▲", "STILL IN PLACE", "near-fail")


def fact(label: str, text: str, tone: str = "") -> Content:
    """A heading of our own and somebody's words under it."""
    return Content.assemble((label, "bold $soft"), "\n", say_lines(text, f"bold $tone-{tone}" if tone else ""), "\n\n")


def facts(basis: "SiteBasis", private: "Privacy") -> Content:
    """How to get in, whom to call, what is dangerous, what to hold, whose freeze dates count; recording, while on."""
    site = basis.site
    unknown = "not on record"
    missing = private.missing or unknown
    parts = [
        *([fact("● SOUND", private.recording.says, "fail")] if private.recording.allowed else []),
        fact("AT NIGHT CALL", site.emergency_contact or missing, "hot"),
        fact("ON THE ROOF", site.roof_note or unknown, "near-fail"),
        fact("GETTING IN", site.access or missing),
        fact("PERMITS", site.permits or unknown),
        fact("WINTER", _winter(basis)),
    ]
    return Content("").join(parts).rstrip()


def _winter(basis: "SiteBasis") -> str:
    from seasonlog.services.season_strip import basis_words, serves_site

    site, climate = basis.site, basis.climate
    freeze = f"freezes {basis_words(site, climate)}"
    if climate is not None:
        freeze += f" ({_source(site, climate)})" if serves_site(climate, site) else "; its record does not serve"
    design, lowest = _temperature(site, site.design_degf), _temperature(site, site.record_low_degf)
    return f"{freeze}; designed for {design}, lowest on record {lowest}"


def _source(site: Site, climate: "SiteClimate") -> str:
    return f"{climate.source}, at {_temperature(site, climate.threshold_degf)}"


def _temperature(site: Site, degf: object) -> str:
    if degf is None:
        return "unknown"
    unit, convert = shown_as("degf", site.units)
    return f"{number(convert(float(str(degf))))} {unit}"


def changes(handover: "Handover", today: "date", when: rows.When) -> list[Row]:
    """What changed since this person last looked; what is still in place comes first."""
    found = [*_in_place(handover.open_changes), *_findings(handover, today), *_visits(handover, when)]
    found += [*_notes(handover, when)]
    return found or [Row("", Content("Nothing new"), Content("Nothing changed here since you last looked."))]


def _in_place(open_changes: Sequence[tuple[str, str]]) -> Iterator[Row]:
    if open_changes:
        yield heading("STILL IN PLACE")
    for tower, words in open_changes:
        yield Row(f"tower:{tower}", say(tower), say(words), look=STILL_IN_PLACE)


def _findings(handover: "Handover", today: "date") -> Iterator[Row]:
    if handover.new_findings:
        yield heading("FINDINGS")
    for found in reversed(handover.new_findings):
        yield rows.finding(found, today)


def _visits(handover: "Handover", when: rows.When) -> Iterator[Row]:
    if handover.visits:
        yield heading("VISITS")
    for visit in reversed(handover.visits):
        yield rows.visit(visit, f"{visit.tower} · {plain(visit.checklist)}", when)


def _notes(handover: "Handover", when: rows.When) -> Iterator[Row]:
    if handover.notes:
        yield heading("NOTES")
    for note in reversed(handover.notes):
        yield rows.note(note, when)
