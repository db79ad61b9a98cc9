"""What freezes first at a tower tonight, and in how many hours: bare lines, dead heat trace, skin of ice, the basin.

Every figure is the low one: from the water a basin is held at, heater off where it is not proven, the most draught to
plan for. The basin never stands alone: a bare line and the skin of still water come before it. What no figure can be
given for is named as such.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from seasonlog.calc import basin as thermal
from seasonlog.domain.coverage import Coverage
from seasonlog.domain.exposure_hours import DENSEST_DEGF, Worked, bare_line_hours, jacketed_line_hours, worked
from seasonlog.domain.finding import Finding
from seasonlog.domain.heat_budget import CANNOT_TELL, Measured, delivered, model
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.protection import Protection
from seasonlog.domain.register import Basin, Register, Site
from seasonlog.domain.severity import Severity
from seasonlog.errors import RatingError

BARE_LINE = "bare 1 in pipe, common practice, no source; to 32 degF, not to a plug of ice"
JACKETED_LINE = "1 in pipe in 1/2 in of insulation, common practice, no source; to 32 degF, not to a plug of ice"
SKIN = "from the hour the mixed water is down to 39.2 degF, where still water turns coldest on top"
KIND_WORDS = {
    "makeup_line": "bare make-up line", "heat_trace": "dead heat trace", "skin_of_ice": "skin of ice",
    "basin": "basin", "coil": "coil",
}  # fmt: skip
"""What freezes, in a word or two."""
COIL_STEPS = ("coil_", "glycol_", "dampers_")
"""How the ids of steps begin that look after the coil of a closed-circuit cooler."""


class FreezeKind(StrEnum):
    """What can freeze."""

    MAKEUP = "makeup_line"
    """The make-up valve and its line, with no heat trace and not proven guarded."""
    TRACE = "heat_trace"
    """A pipe whose heat trace failed or is not proven."""
    SKIN = "skin_of_ice"
    BASIN = "basin"
    COIL = "coil"
    """Of a closed-circuit cooler: no figure is worked."""


@dataclass(frozen=True, slots=True)
class Threat:
    """One thing that can freeze."""

    kind: FreezeKind
    what: str
    """In words: `make-up valve and line of HOS-1-B, bare`."""
    hours: float | None
    """Fewest hours to it; None: not in this weather, or nobody can tell (`missing`)."""
    says: str
    """What the figure rests on."""
    missing: str = ""
    """Not empty: why there is no figure."""

    @property
    def when(self) -> str:
        """The hours in words; a skin of ice is possible from then on, which is not the hour it forms."""
        words = hours_words(self.hours or 0.0)
        return f"from {words} on" if self.kind is FreezeKind.SKIN else words


@dataclass(frozen=True, slots=True)
class Night:
    """The weather a site is asked about."""

    label: str
    """`design`, `record low` or `asked for`."""
    outdoor_degf: float
    wind_mph: float


@dataclass(frozen=True, slots=True)
class BasinNight:
    """One basin in this weather."""

    basin: str
    kw: float | None
    """Heat that reaches the water [kW]; None: not in kW on record."""
    worked: Worked | None
    missing: str = ""
    """Not empty: why nothing can be worked out."""

    @property
    def adequate(self) -> str:
        """Is the heat enough: `yes`, `no` or `cannot_tell`."""
        return self.worked.adequate if self.worked is not None else CANNOT_TELL


@dataclass(frozen=True, slots=True)
class Standing:
    """What the record says about a tower on the day."""

    mode: str
    """How it winters."""
    coverage: Coverage
    findings: Sequence[Finding] = ()
    """Open ones."""
    good: frozenset[str] = field(default=frozenset())
    """Keys of the steps that passed in this season's last fall enable."""

    @property
    def hazards(self) -> list[Finding]:
        """Findings by which the tower can freeze."""
        return [f for f in self.findings if f.severity is Severity.FREEZE_RISK or f.unprotected]

    @property
    def is_proven(self) -> bool:
        """Its heat may be counted on: proven or provisionally proven, and nothing open against it."""
        return self.coverage.protection is not Protection.NOT_PROVEN and not self.hazards

    def passed(self, step: str, target: str) -> bool:
        """Did a step on a target pass in this season's last fall enable."""
        return step in self.good or f"{step}@{target}" in self.good


@dataclass(frozen=True, slots=True)
class Exposed:
    """A tower that may freeze, and by what."""

    tower: str
    site: str
    mode: str
    night: Night | None
    """None: neither the site's design temperature nor its record low is on record, and none was asked for."""
    reasons: tuple[str, ...]
    """Why it is exposed."""
    threats: tuple[Threat, ...]
    """What freezes, the first one first; those without a figure last."""
    basins: tuple[BasinNight, ...]
    water_degf: float = math.nan
    """Held in basin and lines at the start [degF]."""

    @property
    def nothing_freezes(self) -> bool:
        """All that could freeze has been worked out, and none of it does in this weather."""
        worked_out = all(threat.hours is None and not threat.missing for threat in self.threats)
        return self.night is not None and bool(self.threats) and worked_out

    @property
    def first(self) -> Threat | None:
        """What freezes first, of what has a figure."""
        return next((threat for threat in self.threats if threat.hours is not None), None)

    @property
    def without_figure(self) -> tuple[Threat, ...]:
        """What may freeze sooner still, for all that is known."""
        return tuple(threat for threat in self.threats if threat.missing)

    @property
    def order(self) -> tuple[int, tuple[float, ...], str, str]:
        """Where it stands: figures by hours, then no figure, then nothing freezes in this weather."""
        hours = tuple(t.hours for t in self.threats if t.hours is not None)
        return (0 if hours else 1 if self.without_figure else 2), hours, self.site, self.tower


def night_of(site: Site, practice: PracticeTable, outdoor_degf: float | None, wind_mph: float | None) -> Night | None:
    """The weather asked about, else the site's design temperature, else its record low; None where none is known.

    Args:
        site: The site.
        practice: Its table of constants: holds the customary wind.
        outdoor_degf: Forecast or asked-for air [degF].
        wind_mph: Free wind at the site [mph].

    Raises:
        RatingError: no weather is like that.
    """
    wind = practice.value("design_wind_mph") if wind_mph is None else wind_mph
    known = (("asked for", outdoor_degf), ("design", site.design_degf), ("record low", site.record_low_degf))
    label, degf = next(((label, float(degf)) for label, degf in known if degf is not None), ("", math.nan))
    if not label:
        return None
    thermal.Weather(degf, wind)
    return Night(label, degf, wind)


def basin_night(
    register: Register, basin: Basin, practice: PracticeTable, read: Mapping[str, Measured], night: Night | None
) -> BasinNight:
    """One basin's heat, loss and hours.

    Args:
        register: The tower's part of the register.
        basin: One of its basins.
        practice: The table of constants as the site holds it.
        read: Circuit id to what was last measured on it.
        night: The weather.

    Source:
        `calc.basin` and `calc.freeze`; fans and pump off.
    """
    try:
        kw = _heat_kw(register, basin, read)
        shape, share = model(basin, register.site_of(basin.tower), practice)
        if night is None:
            raise RatingError("no outdoor temperature: the site has neither design_degf nor record_low_degf on record")
        weather = thermal.Weather(night.outdoor_degf, night.wind_mph)
        return BasinNight(basin.id, kw, worked(shape, share, weather, practice.value("hold_water_degf"), kw))
    except RatingError as unknown:
        return BasinNight(basin.id, None, None, str(unknown))


def _heat_kw(register: Register, basin: Basin, read: Mapping[str, Measured]) -> float | None:
    if basin.heat in ("hot_water", "steam"):
        return None
    circuits = [c for c in register.circuits_of(basin.tower) if c.basin == basin.id]
    return sum(delivered(circuit, read.get(circuit.id, Measured())).kw for circuit in circuits)


def exposed(
    register: Register, tower: str, water_degf: float, standing: Standing, night: Night | None,
    basins: Sequence[BasinNight],
) -> Exposed | None:  # fmt: skip
    """A tower that holds water: exposed and by what, or None when it is proven and its heat covers the loss.

    Args:
        register: The tower's part of the register.
        tower: Its id.
        water_degf: Held in basin and lines at the start [degF].
        standing: What the record says of it.
        night: The weather.
        basins: Each of its basins in this weather.
    """
    reasons = tuple(_reasons(standing, basins, night))
    if not reasons:
        return None
    found = [] if night is None else list(_lines(register, tower, standing, night, water_degf))
    found += _of_basins(basins, standing, water_degf)
    found += [] if _too_warm(night, basins) else _coil(register, tower, standing)
    threats = sorted(found, key=lambda t: (bool(t.missing), math.inf if t.hours is None else t.hours))
    site = register.towers[tower].site
    return Exposed(tower, site, standing.mode, night, reasons, tuple(threats), tuple(basins), water_degf)


def unjudged(standing: Standing, basins: Iterable[BasinNight]) -> str:
    """Why nobody can tell whether a proven tower's heat is enough; empty when it can be told."""
    if standing.mode != "heated_basin":
        return ""
    for basin in basins:
        if basin.missing:
            return basin.missing
        if basin.kw is None:
            return f"the heat of {basin.basin} is not in kW on record"
    return ""


def _reasons(standing: Standing, basins: Sequence[BasinNight], night: Night | None) -> Iterator[str]:
    told = standing.coverage.reasons if standing.coverage.protection is Protection.NOT_PROVEN else ()
    yield from told
    for finding in standing.hazards:
        if not any(finding.id in reason for reason in told):
            yield finding.reason
    if standing.mode == "heated_basin" and night is not None:
        yield from (_short(basin, night) for basin in basins if basin.kw is not None and basin.adequate != "yes")


def _short(basin: BasinNight, night: Night) -> str:
    lost = basin.worked
    if lost is None:
        return basin.missing
    enough = "is not enough" if lost.adequate == "no" else "may not be enough"
    holds = "does not hold 32 degF" if lost.holds_degf is None else f"holds {lost.holds_degf:.1f} degF"
    figures = f"{basin.kw:.3g} kW of {lost.loss_low_kw:.3g} to {lost.loss_high_kw:.3g} kW lost"
    return f"heat of {basin.basin} {enough} at {night.outdoor_degf:g} degF: {figures}; it {holds}"


def _lines(register: Register, tower: str, standing: Standing, night: Night, water_degf: float) -> Iterator[Threat]:
    bare = bare_line_hours(night.outdoor_degf, night.wind_mph, water_degf)
    for basin in register.basins_of(tower):
        if basin.makeup_valve != "none" and not basin.makeup_heat_trace and not _guarded(basin, standing):
            yield Threat(FreezeKind.MAKEUP, f"make-up valve and line of {basin.id}, no heat trace", bare, BARE_LINE)
    hours = jacketed_line_hours(night.outdoor_degf, water_degf)
    for trace in register.traces_of(tower):
        failed = next((f for f in standing.findings if f.target == trace.id), None)
        if failed is not None:
            what = f"{trace.protects}, heat trace {trace.id} failed ({failed.title.casefold()})"
            yield Threat(FreezeKind.TRACE, what, hours, JACKETED_LINE)
        elif not standing.passed("trace_insulation_mohm", trace.id) and not standing.is_proven:
            what = f"{trace.protects}, heat trace {trace.id} not proven this season"
            yield Threat(FreezeKind.TRACE, what, hours, JACKETED_LINE)


def _guarded(basin: Basin, standing: Standing) -> bool:
    """Proven this season to be kept from freezing some other way than by heat trace."""
    failed = any(f.step_id == "makeup_line_guarded" and f.target in ("", basin.id) for f in standing.findings)
    return not failed and (standing.is_proven or standing.passed("makeup_line_guarded", basin.id))


def _of_basins(basins: Iterable[BasinNight], standing: Standing, water_degf: float) -> Iterator[Threat]:
    for basin in basins:
        heated = standing.is_proven
        if basin.worked is None or (heated and basin.kw is None):
            says = basin.missing or "its heat is not in kW on record"
            yield Threat(FreezeKind.BASIN, f"basin {basin.basin}", None, "", says)
            continue
        state = f"with {basin.kw:.3g} kW" if heated else _stopped(standing.mode)
        skin = basin.worked.skin_heated_hours if heated else basin.worked.skin_off_hours
        whole = basin.worked.heated_hours if heated else basin.worked.off_hours
        what = f"skin of ice possible on {basin.basin}, {state} ({_cools(water_degf)})"
        yield Threat(FreezeKind.SKIN, what, skin, SKIN)
        yield Threat(FreezeKind.BASIN, f"basin {basin.basin}, {state}", whole, "well-mixed water to 32 degF")


def _cools(water_degf: float) -> str:
    """What the hours to a skin of ice are counted from."""
    if water_degf <= DENSEST_DEGF:
        return f"water at {water_degf:g} degF at the start"
    return f"water from {water_degf:g} degF to {DENSEST_DEGF:g} degF"


def _stopped(mode: str) -> str:
    words = {"run_wet": "flow and heat stopped", "remote_sump": "where it has not drained"}
    return words.get(mode, "heater off")


def _too_warm(night: Night | None, basins: Sequence[BasinNight]) -> bool:
    """Not even open water that evaporates, without any heat, comes down to 32 degF: then neither does a coil."""
    if night is None or night.outdoor_degf <= 32.0 or not basins:
        return False
    return all(basin.worked is not None and basin.worked.off_hours is None for basin in basins)


def _coil(register: Register, tower: str, standing: Standing) -> Iterator[Threat]:
    failed = any(f.step_id.startswith(COIL_STEPS) for f in standing.findings)
    if register.towers[tower].kind == "closed_circuit" and (failed or not standing.is_proven):
        says = "whether flow, glycol or an empty coil protects it is not worked out here"
        if failed or not standing.passed("coil_protection", tower):
            yield Threat(FreezeKind.COIL, "coil of the closed circuit", None, "", says)


def ranked(found: Iterable[Exposed]) -> tuple[Exposed, ...]:
    """What freezes first stands first; equal first hours are told apart by what freezes next."""
    return tuple(sorted(found, key=lambda each: each.order))


def hours_words(hours: float) -> str:
    """Hours as a person plans by: `3 min`, `1.3 h`, `30 h`."""
    if hours < 1.0:
        return f"{max(1, round(60.0 * hours))} min"
    return f"{hours:.1f} h" if hours < 10.0 else f"{hours:.0f} h"
