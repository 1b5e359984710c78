"""Rolling bearings: mean loads, lives, loads at rest, and what is asked of a size."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.parts.journals import Turning
from analysis.parts.rolling_checks import Loaded, Rest, checks, long, of_shaft, worse
from analysis.parts.rolling_life import (
    RADIAL,
    ROLLER,
    THRUST,
    cubic_mean,
    cycles,
    equivalent,
    needed_rating,
    rating_life,
    static_equivalent,
)
from models.parts.catalogue import catalogue
from models.parts.rolling_bearings import ROLLING_BEARINGS, RollingBearing

ROWS = catalogue(ROLLING_BEARINGS)
loads = st.lists(st.floats(1, 1e4), min_size=1, max_size=8)


@given(loads, st.floats(0.1, 10))
def test_the_cubic_mean_lies_between_mean_and_largest_and_scales(load: list[float], factor: float) -> None:
    force, turned = np.array(load), np.ones(len(load))
    mean = cubic_mean(force, turned)
    assert force.mean() * (1 - 1e-12) <= mean <= force.max() * (1 + 1e-12)
    assert cubic_mean(factor * force, 3 * turned) == pytest.approx(factor * mean)
    assert cubic_mean(force, turned, ROLLER) >= mean * (1 - 1e-12)


def test_the_cubic_mean_of_a_sine_and_of_half_a_turn() -> None:
    angle = np.linspace(0, 2 * math.pi, 3600, endpoint=False)
    # The mean of |sin|^3 is 4 / (3 pi).
    assert cubic_mean(np.sin(angle), np.ones(3600)) == pytest.approx((4 / (3 * math.pi)) ** (1 / 3), rel=1e-6)
    # A load at which the bearing does not turn wears nothing.
    assert cubic_mean(np.array([1e3, 1e6]), np.array([1.0, 0.0])) == pytest.approx(1e3)
    with pytest.raises(ValueError, match="does not turn"):
        cubic_mean(np.ones(3), np.zeros(3))


@given(st.floats(1e2, 1e5), st.floats(1e3, 1e9), st.sampled_from([3.0, ROLLER]))
def test_the_rating_that_is_needed_lasts(load: float, turns: float, p: float) -> None:
    assert rating_life(needed_rating(load, turns, p), load, p) == pytest.approx(turns)
    assert rating_life(1e4, 0.0) == math.inf


@given(st.floats(0, 5e3), st.floats(0, 3e3), st.floats(5e3, 4e4))
def test_the_equivalent_load_is_at_least_the_radial_one_and_grows_with_thrust(
    radial: float, thrust: float, static: float
) -> None:
    found = [
        float(equivalent(np.array([radial]), np.array([t]), static)[0]) for t in (0.0, thrust, 1.1 * thrust)
    ]
    assert found[0] == radial
    assert found == sorted(found)


def test_the_factors_of_thrust_agree_where_thrust_begins_to_count() -> None:
    for _, e, y in THRUST:
        # X + Y e is 1 there; the table's rounding of e to .01 makes up to .5 % of it.
        assert RADIAL + y * e == pytest.approx(1.0, abs=0.012)
    # 2 kN across and 1 kN along on C0 = 1 kN / .07: Y = 1.6.
    found = equivalent(np.array([2e3]), np.array([1e3]), 1e3 / 0.07)
    assert float(found[0]) == pytest.approx(0.56 * 2e3 + 1.6 * 1e3)


def test_load_at_rest() -> None:
    assert static_equivalent(1000.0, 0.0) == 1000.0
    assert static_equivalent(1000.0, 800.0) == 1000.0
    assert static_equivalent(1000.0, 2000.0) == pytest.approx(1600.0)


def test_a_swing_has_to_be_one() -> None:
    assert cycles(1e6, math.radians(45)) == pytest.approx(4e6)
    with pytest.raises(ValueError, match="whole angle from end to end"):
        cycles(1e6, 0.0)


def _row(kind: str = "ball", bore: float = 0.025, **values: float) -> RollingBearing:
    return RollingBearing("a", "metric", kind, bore, 0.052, 0.015, values.get("dynamic", 14e3),
                          values.get("static", 7e3), None, "test")  # fmt: skip


def _loaded(**values: object) -> Loaded:
    force = np.tile([0.0, 0.0, -1000.0], (8, 1))
    made = {"turning": (Turning(force, np.ones(8), "slow"),), "rest": Rest(3000.0, 0.0, "gust"), "bound": None,
            "shaft": 0.025, "slope": (0.0008, "use"), "turns": 8e6, "speed": 1.0}  # fmt: skip
    return Loaded(**{**made, **values})  # type: ignore[arg-type]


def test_what_is_asked_of_a_bearing() -> None:
    life, rest, slope = checks(2.0, 5000.0, _loaded(), _row())
    assert (life.demand, life.allowed, life.case) == (pytest.approx(2000.0), 14e3, "slow")
    # (14 / 2)^3 times the wished 5000 h is beyond what the formula is good for.
    assert "more than 100000 hours" in life.note
    assert (rest.demand, rest.allowed, rest.case) == (pytest.approx(6000.0), 7e3, "gust")
    assert (slope.demand, slope.allowed) == (pytest.approx(0.0008), 0.001)
    with_bound = checks(2.0, 5000.0, _loaded(bound=Rest(9000.0, 0.0, "blocked")), _row())
    bound = next(c for c in with_bound if "blocked" in c.what)
    # An upper bound counts once, without the shock factor.
    assert (bound.demand, bound.holds) == (9000.0, False)


def test_a_thicker_straight_shaft_leans_less_and_a_crankshaft_is_left_as_it_is() -> None:
    thick = _row(bore=0.05)
    assert checks(2.0, 1.0, _loaded(), thick)[-1].demand == pytest.approx(0.0008 / 16)
    assert checks(2.0, 1.0, _loaded(straight=False), thick)[-1].demand == pytest.approx(0.0008)


def test_thrust_counts_by_the_kind_of_bearing() -> None:
    force = np.tile([0.0, 500.0, -1000.0], (8, 1))
    loaded = _loaded(turning=(Turning(force, np.ones(8), "slow"),), turns=1e6, slope=None)
    found = {k: checks(1.0, 1.0, loaded, _row(k))[0].demand for k in ("ball", "self-aligning ball")}
    assert found["self-aligning ball"] == pytest.approx(1000 + 4.6 * 500)
    assert found["ball"] == pytest.approx(float(equivalent(np.array([1e3]), np.array([500.0]), 7e3)[0]))
    assert found["ball"] > 1000
    assert checks(1.0, 1.0, loaded, _row("cylindrical roller"))[0].demand == pytest.approx(1000)


def test_the_worse_of_two_bearings_is_asked_for_by_each_check() -> None:
    first = checks(2.0, 1.0, _loaded(), _row())
    second = checks(2.0, 1.0, _loaded(rest=Rest(1.0, 0.0, "gust"), slope=(0.002, "use")), _row())
    found = {c.what: c.demand for c in worse(first, second)}
    assert found["static rating with shock"] == pytest.approx(6000.0)
    assert found["slope of the shaft in it"] == pytest.approx(0.002)


def test_bores_that_a_shaft_takes() -> None:
    inserts = [r for r in ROWS if r.kind == "insert" and r.system == "inch"]
    assert [r.bore for r in of_shaft(inserts, 0.0254)] == [0.0254]
    thicker = of_shaft(inserts, 0.0254, thicker=True)
    assert thicker[0].bore == 0.0254
    assert [r.bore for r in thicker] == sorted(r.bore for r in thicker)
    assert of_shaft(inserts, 0.5, thicker=True) == ()


def test_lives_are_not_told_beyond_what_they_are_good_for() -> None:
    assert long(12345.6) == "1.23e+04"
    assert long(1e9) == "more than 100000"


def test_every_row_says_where_it_is_from_and_stands_more_turning_than_at_rest() -> None:
    for r in ROWS:
        assert "memory" in r.source
        assert r.bore < r.outside
        # Of ball bearings of these series the dynamic rating is the larger.
        assert r.dynamic > r.static
