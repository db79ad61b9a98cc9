"""The table of constants behind the limits: what rests on common practice, or on a rule that may change.

The table is a file that people edit; here it is checked and frozen. A site may hold a constant tighter, never looser,
and the record keeps the hash of the table as used, so an old verdict can always be told from a new one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from hashlib import sha256
from types import MappingProxyType
from typing import Any

from seasonlog.errors import InputRefusedError, Problem

_BY_UNIT = {
    "%": """watts_below_percent watts_above_percent plate_amps_percent amps_unbalance_pass_percent
        amps_unbalance_percent supply_range_percent volts_unbalance_pass_percent volts_unbalance_percent
        control_low_percent control_high_percent float_zero_percent trace_watts_percent clamp_percent voltmeter_percent
        wind_share_open_percent wind_share_partial_percent wind_share_sheltered_percent
        ohmmeter_percent insulation_percent thermometer_percent angle_percent refractometer_percent timer_percent
        trend_chance_percent trend_change_percent""",
    "years": "trend_reach_years",
    "ratio": "ohms_hot_over_cold",
    "Mohm": """insulation_pass_mohm insulation_mohm insulation_fail_mohm trace_insulation_mohm
        trace_insulation_fail_mohm float_lead_mohm insulation_resolution""",
    "ohm": "bond_ohms contact_ohms contact_fail_ohms ohmmeter_resolution",
    "deg": "plumb_deg plumb_fail_deg angle_resolution",
    "in": "heater_cover_in operating_above_trip_in ice_depth_in ice_depth_fail_in",
    "s": "relay_drop_seconds timer_resolution",
    "min": "drain_minutes",
    "degf": """freeze_margin_degf dial_error_degf thermometer_allowance_degf cut_in_pass_high_degf cut_in_high_degf
        cut_out_spread_degf cut_out_high_degf ice_point_degf ice_bath_degf glycol_margin_degf thermometer_resolution
        refractometer_resolution hold_water_degf cold_snap_degf trend_change_degf""",
    "days": "enable_lead_days",
    "mph": "design_wind_mph",
    "V": "isolated_float_volts off_terminal_volts off_terminal_fail_volts voltmeter_resolution",
    "A": "clamp_resolution",
    "counts": """clamp_counts voltmeter_counts ohmmeter_counts insulation_counts thermometer_counts angle_counts
        refractometer_counts timer_counts""",
}
UNITS: Mapping[str, str] = MappingProxyType({name: unit for unit, names in _BY_UNIT.items() for name in names.split()})
"""Every constant the limits use, and the unit they take it in."""

_MOST = Decimal(1_000_000)
_TABLE_KEYS = frozenset({"title", "code_edition", "constants"})
_CONSTANT_KEYS = frozenset({"value", "unit", "tighter", "basis"})


class Tighter(StrEnum):
    """Which way a constant becomes stricter."""

    LOWER = "lower"
    HIGHER = "higher"


@dataclass(frozen=True, slots=True)
class Constant:
    """One row of the table."""

    name: str
    """Its key, with the unit in it where it has one."""
    value: Decimal
    """In `unit`."""
    unit: str
    """The unit the limits take it in."""
    tighter: Tighter
    """Which way a site may move it."""
    basis: str
    """Where it comes from, in words; "common practice, no source" where that is the truth."""

    def loosened_by(self, value: Decimal) -> bool:
        """Whether the other value would be less strict."""
        return value > self.value if self.tighter is Tighter.LOWER else value < self.value


@dataclass(frozen=True, slots=True)
class PracticeTable:
    """The whole table, as read or as tightened by one site."""

    title: str
    """What the table is, for the record."""
    code_edition: str
    """Edition of the code its rules follow."""
    constants: Mapping[str, Constant]
    """Every constant by name."""
    tightened: tuple[str, ...] = ()
    """Names of the constants a site holds tighter."""

    def value(self, name: str) -> float:
        """A constant as a number, in the unit of `UNITS`."""
        return float(self.constants[name].value)

    def basis(self, name: str) -> str:
        """Where a constant comes from, in words."""
        held = " (held tighter by this site)" if name in self.tightened else ""
        return f"{self.constants[name].basis}{held}"

    @property
    def sha256(self) -> str:
        """Hash of the values in force, hexadecimal: equal tables, equal hash, however the file was laid out."""
        lines = (f"{name}={each.value.normalize():f} {each.unit}" for name, each in sorted(self.constants.items()))
        return sha256("\n".join((self.code_edition, *lines)).encode()).hexdigest()

    @property
    def sha12(self) -> str:
        """First twelve digits of the hash, for people."""
        return self.sha256[:12]

    def with_site(self, tighten: Mapping[str, Decimal], where: str = "site") -> "PracticeTable":
        """The table as a site holds it.

        Args:
            tighten: Constant name to the site's own value.
            where: The site, as a person would look for it.

        Raises:
            InputRefusedError: a name is unknown or a value would loosen the table; all of them at once.
        """
        problems = self.tighten_problems(tighten, where)
        if problems:
            raise InputRefusedError(problems)
        if not tighten:
            return self
        own = {name: replace(self.constants[name], value=value) for name, value in tighten.items()}
        moved = {name for name in own if own[name].value != self.constants[name].value}
        return replace(
            self,
            constants=MappingProxyType({**self.constants, **own}),
            tightened=tuple(sorted({*self.tightened, *moved})),
        )

    def tighten_problems(self, tighten: Mapping[str, Decimal], where: str) -> list[Problem]:
        """What is wrong with a site's own constants; empty when nothing is."""
        found = ((name, self._tighten_problem(name, value)) for name, value in tighten.items())
        return [Problem(f"{where}, key tighten.{name}", says) for name, says in found if says]

    def _tighten_problem(self, name: str, value: Decimal) -> str:
        constant = self.constants.get(name)
        if constant is None:
            return "the table of limits has no constant of this name"
        if not value.is_finite() or not 0 <= value <= _MOST:
            return f"{value} is not a number from 0 to {_MOST}"
        if constant.loosened_by(value):
            return (
                f"{value} {constant.unit} is looser than the table's {constant.value}; a site may only tighten "
                f"({constant.tighter} is tighter)"
            )
        return ""


def parse_practice(mapping: Mapping[str, Any], where: str) -> tuple[PracticeTable | None, list[Problem]]:
    """Check the table's content and freeze it.

    Args:
        mapping: As read from the file, numbers as int, float or Decimal.
        where: The file's name, for the problems.

    Returns:
        The table and no problems, or None and every problem.
    """
    rows = mapping.get("constants")
    rows = rows if isinstance(rows, Mapping) else {}
    problems = _table_problems(mapping, rows, where)
    constants: dict[str, Constant] = {}
    for name in UNITS.keys() & rows.keys():
        constant, wrong = _constant(name, rows[name], where)
        problems += wrong
        if constant is not None:
            constants[name] = constant
    if problems:
        return None, sorted(problems, key=str)
    ordered = MappingProxyType({name: constants[name] for name in rows})
    return PracticeTable(str(mapping["title"]), str(mapping["code_edition"]), ordered), []


def _table_problems(mapping: Mapping[str, Any], rows: Mapping[str, Any], where: str) -> list[Problem]:
    wrong = [(str(key), "unknown key") for key in mapping.keys() - _TABLE_KEYS]
    for key in ("title", "code_edition"):
        if not isinstance(mapping.get(key), str) or not mapping[key].strip():
            wrong.append((key, "a text is wanted"))
    wrong += [(f"constants.{name}", "no limit uses a constant of this name") for name in rows.keys() - UNITS.keys()]
    wrong += [(f"constants.{name}", "missing: the limits need it") for name in UNITS.keys() - rows.keys()]
    return [Problem(f"{where}, key {key}", says) for key, says in wrong]


def _constant(name: str, row: Any, where: str) -> tuple[Constant | None, list[Problem]]:
    place = f"{where}, key constants.{name}"
    if not isinstance(row, Mapping) or row.keys() != _CONSTANT_KEYS:
        return None, [Problem(place, f"exactly the keys {', '.join(sorted(_CONSTANT_KEYS))} are wanted")]
    value = _decimal(row["value"])
    wrong: list[str] = []
    if value is None:
        wrong.append(f"value {row['value']!r} is not a number from 0 to {_MOST}")
    if row["unit"] != UNITS[name]:
        wrong.append(f"unit is {row['unit']!r}; the limits take it in {UNITS[name]}")
    if row["tighter"] not in tuple(Tighter):
        wrong.append(f"tighter is {row['tighter']!r}; lower or higher is wanted")
    if not isinstance(row["basis"], str) or not row["basis"].strip():
        wrong.append("basis wants a sentence: where the value comes from")
    if wrong or value is None:
        return None, [Problem(place, says) for says in wrong]
    return Constant(name, value, UNITS[name], Tighter(row["tighter"]), row["basis"]), []


def _decimal(value: Any) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        return None
    return number if number.is_finite() and 0 <= number <= _MOST else None
