"""The key tables of the register's file formats, written from the field declarations so that they cannot drift."""

from seasonlog.domain.fields import Kind, Spec
from seasonlog.domain.register import TYPES
from seasonlog.domain.register_records import SPECS
from seasonlog.domain.register_units import ALTERNATES
from seasonlog.domain.register_values import allowed


def register_format() -> str:
    """One Markdown table for each record type: key, metric second name, allowed values, whether required, meaning."""
    return "\n".join(_table(what) for what in TYPES)


def _table(what: str) -> str:
    described = (TYPES[what].__doc__ or "").splitlines()[0]
    second = {each.field: name for name, each in ALTERNATES[what].items()}
    rows = [_row(name, spec, second.get(name)) for name, spec in SPECS[what].items()]
    heading = ["| key | or | allowed | if left out | meaning |", "|---|---|---|---|---|"]
    return "\n".join([f"### {what}", "", described, "", *heading, *rows, ""])


def _row(name: str, spec: Spec, second: str | None) -> str:
    cells = (f"`{name}`", f"`{second}`" if second else "", allowed(spec), _left_out(spec), spec.says)
    return f"| {' | '.join(cells)} |"


def _left_out(spec: Spec) -> str:
    if spec.required:
        return "refused"
    if spec.default is not None:
        return f"`{spec.default}`"
    return "none" if spec.kind is Kind.NUMBERS else "not known"
