"""A record's history in the units of its site: for a person; a script gets the record's own."""

from dataclasses import replace

from seasonlog.domain.units_shown import ON_SCREEN, in_units
from seasonlog.services import registry
from seasonlog.services.logbook import Logbook
from seasonlog.services.record_history import History, Line


def as_read(book: Logbook, found: History, signs: tuple[str, str] = ON_SCREEN) -> History:
    """What was read and allowed in the units of the site; people's own words, and the entries' facts, as they stand."""
    units = registry.units_of(book.db, found.tower)
    lines = tuple(_line(line, units, signs) for line in found.lines)
    own = next((line.entry.says for line in lines if line.entry.uid == found.uid), None)
    return replace(found, says=in_units(found.says, units, signs) if own is None else own, lines=lines)


def _line(line: Line, units: str, signs: tuple[str, str]) -> Line:
    if not line.facts.get("unit"):
        return line
    entry, now = replace(line.entry, says=in_units(line.entry.says, units, signs)), in_units(line.now, units, signs)
    told = replace(line, entry=entry, now=now)
    if line.corrects is None:
        return told
    old, new = (in_units(words, units, signs) for words in (line.corrects.old, line.corrects.new))
    return replace(told, corrects=replace(line.corrects, old=old, new=new))
