"""A value against a limit: the verdict agrees with the edges, and nothing that should be stricter passes more.

Laws of guarded acceptance (ILAC-G8:09/2019, extract): pass inside by w, fail beyond by w, near between.
"""

import math
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.domain.guard import Edges, Meter, Rule, Steps, limit
from seasonlog.domain.limits import QUANTITIES, Limit, LimitContext, Verdict, judge, limit_for, worst
from seasonlog.domain.practice import Constant, Tighter
from seasonlog.errors import RatingError, UsageError
from seasonlog.services.limits import practice_table
from tests.domain.limit_samples import everywhere, heater, instrument, using

ORDER = [Verdict.PASS, Verdict.NEAR_PASS, Verdict.NEAR_FAIL, Verdict.FAIL]
RULE = Rule("q", "degf", "test", "q/1")
EDGE = st.one_of(st.none(), st.floats(-100, 100))
VALUES = st.one_of(st.floats(-300, 300), st.sampled_from([math.inf, -math.inf]))
LIMITS = st.builds(
    lambda low, high, u, share: limit(RULE, Edges(low, high), "b", Meter(lambda v: u + abs(v) * share, "meter")),
    EDGE,
    EDGE,
    st.floats(0, 20),
    st.floats(0, 0.2),
)


def inside(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or low <= value) and (high is None or value <= high)


@given(VALUES, LIMITS)
def test_the_verdict_is_what_the_edges_say(value: float, found: Limit) -> None:
    verdict = judge(value, found)
    assert (verdict is Verdict.FAIL) == (not inside(value, found.fail_low, found.fail_high))
    if verdict in (Verdict.PASS, Verdict.NEAR_PASS):
        assert found.decides
        assert inside(value, found.low, found.high)
    if verdict is Verdict.PASS:
        assert inside(value, found.pass_low, found.pass_high)
    if verdict is Verdict.NEAR_FAIL:
        assert not inside(value, found.low, found.high)
    if not found.decides:
        assert verdict in (Verdict.FAIL, Verdict.CANNOT_TELL)


@given(st.floats(-100, 100), st.floats(0, 20), st.floats(0, 200), st.floats(0, 200))
def test_farther_out_is_never_better(edge: float, u: float, near: float, more: float) -> None:
    found = limit(RULE, Edges(high=edge), "b", Meter(lambda _: u, "meter"))
    if found.decides:
        closer, farther = judge(edge + near - 50, found), judge(edge + near - 50 + more, found)
        assert ORDER.index(closer) <= ORDER.index(farther)


@given(st.floats(-100, 100), st.floats(0.1, 100), st.floats(0, 5), st.floats(0.01, 100))
def test_a_change_of_unit_changes_no_verdict(low: float, width: float, u: float, scale: float) -> None:
    plain = limit(RULE, Edges(low, low + width), "b", Meter(lambda _: u, "m"))
    scaled = limit(RULE, Edges(low * scale, (low + width) * scale), "b", Meter(lambda _: u * scale, "m"))
    for value in (low - 7, low - u / 2 - 0.013, low + width / 2, low + width + u + 1):
        if not _on_an_edge(value, plain):
            assert judge(value, plain) is judge(value * scale, scaled)


def _on_an_edge(value: float, found: Limit) -> bool:
    edges = (found.low, found.high, found.pass_low, found.pass_high, found.fail_low, found.fail_high)
    return any(edge is not None and math.isclose(value, edge, abs_tol=1e-6) for edge in edges)


@given(EDGE, EDGE, st.floats(0, 20), EDGE, EDGE)
def test_steps_of_the_trade_only_narrow_the_pass_zone_and_only_widen_the_near_ones(low, high, u, first, last) -> None:
    meter = Meter(lambda _: u, "meter")
    plain = limit(RULE, Edges(low, high), "b", meter)
    stepped = limit(RULE, Edges(low, high), "b", meter, Steps(first, last, first, last))
    assert narrower_or_equal(stepped, plain)
    if plain.fail_low is not None:
        assert stepped.fail_low <= plain.fail_low
    if plain.fail_high is not None:
        assert stepped.fail_high >= plain.fail_high


def narrower_or_equal(new: Limit, old: Limit) -> bool:
    """Whether whatever passes by the new limit passes by the old one."""
    if not new.decides or new.missing:
        return True
    if not old.decides or old.missing:
        return False
    low = old.pass_low is None or (new.pass_low is not None and new.pass_low >= old.pass_low - 1e-9)
    high = old.pass_high is None or (new.pass_high is not None and new.pass_high <= old.pass_high + 1e-9)
    return low and high


KINDS = ("clamp", "voltmeter", "ohmmeter", "insulation", "thermometer", "angle", "refractometer", "timer")


@cache
def places() -> dict[str, LimitContext]:
    return dict(everywhere())


# A coarser clamp shows more of nothing, so "off" is up to its floor; a stuck pole is told from that, or it refuses.
FLOOR = {("off_amps", "clamp_percent"), ("off_amps", "clamp_counts"), ("off_amps", "clamp_resolution")}
CONSTANTS = st.sampled_from(sorted(practice_table().constants))


@settings(deadline=None)  # the first example reads the sample sites
@given(st.data(), CONSTANTS, st.floats(0, 1))
def test_a_site_that_tightens_never_widens_a_pass_zone(data: st.DataObject, name: str, share: float) -> None:
    """With no instrument named, so that the customary accuracies of the table count too."""
    context = replace(places()[data.draw(st.sampled_from(sorted(places())))], instruments={}, practice=practice_table())
    tighter = replace(context, practice=practice_table().with_site({name: stricter(name, share)}))
    for quantity in QUANTITIES:
        if (quantity, name) not in FLOOR:
            assert narrower_or_equal(limit_for(quantity, tighter), limit_for(quantity, context)), quantity


def stricter(name: str, share: float) -> Decimal:
    constant: Constant = practice_table().constants[name]
    by = Decimal(str(round(share, 3)))
    return constant.value * (1 - by if constant.tighter is Tighter.LOWER else 1 + by)


@pytest.mark.parametrize("place", sorted(dict(everywhere())))
def test_every_quantity_has_a_limit_or_a_reason_everywhere(place: str) -> None:
    """Never an exception; words and source never empty; a limit that decides has an edge to judge by."""
    for name in QUANTITIES:
        found = limit_for(name, places()[place])
        assert (found.quantity, found.unit) == (name, QUANTITIES[name].unit)
        assert found.basis.strip()
        assert found.source.strip()
        assert re.fullmatch(r"[a-z_]+/[1-9]\d*", found.formula)
        assert found.missing or found.low is not None or found.high is not None
        assert found.decides or (found.pass_low, found.pass_high) == (None, None)


@pytest.mark.parametrize("place", sorted(dict(everywhere())))
def test_the_guard_never_widens_a_limit(place: str) -> None:
    for name in QUANTITIES:
        found = limit_for(name, places()[place])
        if found.pass_low is not None and found.low is not None:
            assert found.pass_low >= found.low
        if found.pass_high is not None and found.high is not None:
            assert found.pass_high <= found.high
        assert found.fail_low is None or found.low is None or found.fail_low <= found.low
        assert found.fail_high is None or found.high is None or found.fail_high >= found.high


def test_the_sample_towers_have_a_limit_for_every_quantity_somewhere() -> None:
    """So that the test above is not met by reasons alone; no glycol refractometer is among the plain instruments."""
    reached = {name for name in QUANTITIES for at in places().values() if not limit_for(name, at).missing}
    assert reached == set(QUANTITIES)


@pytest.mark.parametrize("place", sorted(dict(everywhere())))
def test_an_overdue_instrument_proves_nothing(place: str) -> None:
    overdue = [instrument(kind, calibration_due=date(2026, 9, 14)) for kind in KINDS]
    for name, quantity in QUANTITIES.items():
        found = limit_for(name, using(places()[place], *overdue))
        if quantity.instrument and not found.missing:
            assert name == "thermometer_ice_point_degf"  # the thermometer itself is on trial there
        elif "calibration" in found.missing:
            assert judge(1.0, found) is Verdict.CANNOT_TELL


def test_calibration_holds_on_its_last_day() -> None:
    last_day = using(heater(), instrument("clamp", calibration_due=date(2026, 9, 15)))
    assert not limit_for("line_amps", last_day).missing


def test_the_worst_of_several_verdicts_counts() -> None:
    assert worst([Verdict.PASS, Verdict.NEAR_PASS]) is Verdict.NEAR_PASS
    assert worst([Verdict.CANNOT_TELL, Verdict.NEAR_PASS]) is Verdict.CANNOT_TELL
    assert worst([Verdict.CANNOT_TELL, Verdict.NEAR_FAIL]) is Verdict.NEAR_FAIL
    assert worst([Verdict.FAIL, Verdict.CANNOT_TELL]) is Verdict.FAIL
    assert worst([]) is Verdict.CANNOT_TELL


def test_what_is_not_a_number_is_refused_and_an_unknown_quantity_named() -> None:
    with pytest.raises(RatingError, match="read it again"):
        judge(math.nan, limit_for("line_amps", heater()))
    with pytest.raises(UsageError, match="no limit is known for 'line_watts'"):
        limit_for("line_watts", heater())
