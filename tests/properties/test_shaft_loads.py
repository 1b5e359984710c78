"""What must hold of the strength of any shaft under any load."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.strength.goodman import CRITERIA, Limits, fatigue
from analysis.strength.rainflow import rainflow
from analysis.strength.section import Round
from analysis.strength.welds import weld_life
from models.weld_classes import weld_classes

LIMITS = Limits(150e6, 400e6, 250e6)
TURN = np.linspace(0, 2 * math.pi, 90, endpoint=False)
sizes = st.floats(-200, 200).map(lambda x: round(x, 3))
loads = st.lists(st.tuples(sizes, sizes, sizes), min_size=3, max_size=3)
criteria = st.sampled_from(list(CRITERIA))
histories = st.lists(st.integers(-50, 50), min_size=1, max_size=60).map(lambda x: np.array(x, dtype=float))


def moments(load: list[tuple[float, float, float]]) -> np.ndarray:
    """Give a history (90, 3) of a mean, a first and a third harmonic, never nothing."""
    mean, first, third = (np.array(part) for part in load)
    made = mean + np.outer(np.cos(TURN), first) + np.outer(np.sin(3 * TURN), third)
    return made + np.outer(np.sin(TURN), [1.0, 0.0, 2.0])


@given(loads, criteria, st.floats(0.5, 3))
def test_factors_grow_with_the_cube_of_the_diameter(
    load: list[tuple[float, float, float]], criterion, scale: float
) -> None:
    nothing = np.zeros(90)
    thin, thick = (
        fatigue(Round(d).surface(moments(load), nothing), LIMITS, criterion=criterion)
        for d in (0.02, 0.02 * scale)
    )
    assert thick.factor == pytest.approx(thin.factor * scale**3, rel=1e-9)
    assert thick.yielding == pytest.approx(thin.yielding * scale**3, rel=1e-9)


@given(loads, criteria, st.integers(0, 71))
def test_turning_load_and_point_together_changes_nothing(
    load: list[tuple[float, float, float]], criterion, steps: int
) -> None:
    moment, nothing = moments(load), np.zeros(90)
    c, s = math.cos(math.radians(5 * steps)), math.sin(math.radians(5 * steps))
    # The turn about +y by the right hand: z goes toward x.
    turned = moment @ np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]).T
    one, other = (Round(0.025).surface(m, nothing, 72) for m in (moment, turned))
    assert np.roll(one.bending, steps, axis=1) == pytest.approx(other.bending, abs=1.0)
    assert fatigue(one, LIMITS, criterion=criterion).factor == pytest.approx(
        fatigue(other, LIMITS, criterion=criterion).factor, rel=1e-9
    )
    weld = weld_classes()["IIW toe"]
    assert weld_life(one, weld, 1e5, 25).years == pytest.approx(
        weld_life(other, weld, 1e5, 25).years, rel=1e-6
    )


@given(loads, criteria)
def test_quick_yielding_and_goodman_are_on_the_safe_side(
    load: list[tuple[float, float, float]], criterion
) -> None:
    surface = Round(0.025).surface(moments(load), 500 * np.cos(TURN))
    f = fatigue(surface, LIMITS, criterion=criterion)
    # Within what rounding does to two equal numbers.
    assert f.yielding_sum <= f.yielding * (1 + 1e-9)
    assert f.yielding <= LIMITS.yielding / surface.von_mises.max() * (1 + 1e-9)
    goodman, gerber = (fatigue(surface, LIMITS, criterion=c).factor for c in ("Goodman", "Gerber"))
    assert goodman <= gerber * (1 + 1e-9)


@given(histories)
def test_cycles_make_up_the_whole_way(history: np.ndarray) -> None:
    """A repeated history goes up and down by the sum of its cycles, each once up and once down."""
    ranges, counts = rainflow(history)
    way = np.abs(np.diff(np.append(history, history[0]))).sum()
    assert 2 * ranges @ counts == pytest.approx(way)
    assert ranges.max(initial=0) == np.ptp(history)
    ranges, counts = rainflow(history, repeating=False)
    assert 2 * ranges @ counts == pytest.approx(np.abs(np.diff(history)).sum())
    assert ranges.max(initial=0) == np.ptp(history)


@given(histories, st.integers(0, 60), st.floats(0.1, 10))
def test_cycles_of_a_period_do_not_depend_on_where_it_begins(
    history: np.ndarray, by: int, scale: float
) -> None:
    cycles = sorted(rainflow(history)[0])
    assert sorted(rainflow(np.roll(history, by))[0]) == pytest.approx(cycles)
    assert sorted(rainflow(history[::-1])[0]) == pytest.approx(cycles)
    assert sorted(rainflow(-scale * history)[0]) == pytest.approx([scale * r for r in cycles])


@given(loads, st.sampled_from(list(weld_classes())), st.floats(1.1, 20))
def test_years_go_with_the_turns_and_fall_with_the_load(
    load: list[tuple[float, float, float]], name: str, more: float
) -> None:
    weld, nothing = weld_classes()[name], np.zeros(90)
    surface = Round(0.025).surface(moments(load), nothing, 72)
    one, busier = weld_life(surface, weld, 1e5, 25), weld_life(surface, weld, 1e5 * more, 25)
    assert busier.years == pytest.approx(one.years / more, rel=1e-9)
    assert busier.reserve <= one.reserve * (1 + 1e-9)
    heavier = weld_life(Round(0.025).surface(more * moments(load), nothing, 72), weld, 1e5, 25)
    assert heavier.years <= one.years
    assert heavier.reserve == pytest.approx(one.reserve / more, rel=1e-6)
    # Enough reserve and enough years are the same thing, but where both are just met.
    if abs(one.reserve - 1) > 1e-6:
        assert (one.reserve >= 1) == (one.years >= 25)
