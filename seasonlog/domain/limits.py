"""Every limit a checklist may ask for: the table of quantities, and the one way to a limit.

What is not known, an instrument overdue, a rating that cannot be: never an exception and never a number. The limit then
says what is missing, and the verdict is "cannot tell".
"""

from collections.abc import Mapping
from types import MappingProxyType

from seasonlog.domain.guard import Rule, missing
from seasonlog.domain.limit import Limit, LimitContext, Quantity, judge, worst
from seasonlog.domain.limit_facts import MissingFactError
from seasonlog.domain.limits_control import CONTROL_QUANTITIES
from seasonlog.domain.limits_heater import HEATER_QUANTITIES
from seasonlog.domain.limits_trace import TRACE_QUANTITIES
from seasonlog.domain.limits_water import WATER_QUANTITIES
from seasonlog.domain.verdict import Verdict
from seasonlog.errors import RatingError, UsageError

__all__ = ["QUANTITIES", "Limit", "LimitContext", "Quantity", "Verdict", "judge", "limit_for", "worst"]

_ALL = HEATER_QUANTITIES + CONTROL_QUANTITIES + WATER_QUANTITIES + TRACE_QUANTITIES
QUANTITIES: Mapping[str, Quantity] = MappingProxyType({each.name: each for each in _ALL})
"""Every quantity a checklist step may name."""


def limit_for(quantity: str, context: LimitContext) -> Limit:
    """The limit of a quantity on this equipment, on this day, with these instruments.

    Args:
        quantity: One of `QUANTITIES`.
        context: What the limit depends on.

    Raises:
        UsageError: there is no such quantity.
    """
    found = QUANTITIES.get(quantity)
    if found is None:
        raise UsageError(f"no limit is known for {quantity!r}; known are {', '.join(sorted(QUANTITIES))}")
    try:
        return found.limit(context)
    except (MissingFactError, RatingError) as stopped:
        return missing(Rule(quantity, found.unit, "none: nothing was judged", f"{quantity}/1"), str(stopped))
