"""The beam's own laws: reciprocity, equilibrium, consistency of its derivatives, and its faults."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.beam import (
    first_critical_speed,
    influence,
    moment_influence,
    reactions,
    round_second_moment,
    slope_influence,
)

EI = 4100.0
HELD = (0.35, 1.6)
STATIONS = np.linspace(-0.4, 2.3, 28)

places = st.floats(-2, 4)
held = st.tuples(st.floats(-1, 0.9), st.floats(0.2, 3)).map(lambda s: (s[0], s[0] + s[1]))
stiffness = st.floats(1e2, 1e7)


@given(st.lists(places, min_size=2, max_size=6), held, stiffness)
def test_maxwell_reciprocity(at: list[float], supports: tuple[float, float], EI: float):
    flexibility = influence(at, at, supports, EI)
    # Rounding of cubes of lengths up to 6 m, multiplied by load shares and lever arms of up to 5 / .2 each.
    assert np.abs(flexibility - flexibility.T).max() * EI <= 1e-16 * 6**3 * (5 / 0.2) ** 2 * 8


@given(st.lists(places, min_size=1, max_size=6), held, stiffness)
def test_a_load_never_gains_from_its_own_deflection(
    at: list[float], supports: tuple[float, float], EI: float
):
    flexibility = influence(at, at, supports, EI) * EI
    # Energy of any set of loads is not negative: no eigenvalue is, but for rounding as in reciprocity.
    assert np.linalg.eigvalsh((flexibility + flexibility.T) / 2).min() >= -1e-16 * 6**3 * (5 / 0.2) ** 2 * 8


@given(st.lists(places, min_size=1, max_size=6), held)
def test_supports_carry_the_loads(at: list[float], supports: tuple[float, float]):
    shares = reactions(at, supports)
    assert shares.shape == (2, len(at))
    # Rounding, of shares up to 5 / .2 and moments up to 4 times that.
    assert shares.sum(axis=0) == pytest.approx(np.ones(len(at)), abs=1e-13)
    assert np.array(supports) @ shares == pytest.approx(np.array(at), abs=1e-13)


@given(held, stiffness, st.lists(places, min_size=1, max_size=4))
def test_supports_do_not_move(supports: tuple[float, float], EI: float, at: list[float]):
    assert np.abs(influence(supports, at, supports, EI)).max() * EI <= 1e-11  # rounding, as in reciprocity


def test_moment_is_the_second_difference_of_the_deflection():
    loads, step = np.array([-0.31, 0.35, 0.77, 1.13, 2.19]), 1e-3
    # Away from the corners of the moment line, where a difference over two pieces is neither's.
    corners = np.concatenate([loads, HELD])
    x = np.array([s for s in np.linspace(-0.4, 2.3, 55) if np.abs(s - corners).min() > 2 * step])
    assert len(x) > 40
    before, here, after = (influence(x + d, loads, HELD, EI) for d in (-step, 0.0, step))
    bend = EI * (before - 2 * here + after) / step**2
    # On one cubic the second difference is exact; rounding is left, 1e-16 of a few m3 over the step squared.
    assert bend == pytest.approx(moment_influence(x, loads, HELD), abs=1e-8)


def test_slope_is_the_first_difference_of_the_deflection():
    loads, step = np.array([-0.31, 0.35, 0.77, 1.13, 2.19]), 1e-5
    ahead = influence(STATIONS + step, loads, HELD, EI)
    behind = influence(STATIONS - step, loads, HELD, EI)
    turn = EI * (ahead - behind) / (2 * step)
    # A shear of about 2 N times step squared over 6, and at a corner of the moment line less than that again;
    # rounding of a few m3 over the step, some 1e-10.
    assert turn == pytest.approx(EI * slope_influence(STATIONS, loads, HELD, EI), abs=1e-9)


def test_signs_are_as_the_module_says():
    between, overhang = 0.9, 2.2
    assert influence([between], [between], HELD, EI)[0, 0] > 0
    assert influence([overhang], [overhang], HELD, EI)[0, 0] > 0
    assert influence([overhang], [between], HELD, EI)[0, 0] < 0
    assert moment_influence([between], [between], HELD)[0, 0] < 0
    assert moment_influence([HELD[1]], [overhang], HELD)[0, 0] > 0
    assert reactions([overhang], HELD)[0, 0] < 0 < reactions([overhang], HELD)[1, 0]


def test_nothing_bends_beyond_the_outermost_load_and_support():
    outside = [-0.4, 2.3]
    assert moment_influence(outside, [0.9, 1.2], HELD) == pytest.approx(np.zeros((2, 2)), abs=1e-15)
    slopes = slope_influence([1.7, 2.3], [0.9], HELD, EI)[:, 0] * EI
    assert slopes[0] == pytest.approx(slopes[1], rel=1e-13)


def test_shapes_are_stations_by_loads():
    loads = [0.1, 0.9, 1.9]
    for table in (
        influence(STATIONS, loads, HELD, EI),
        slope_influence(STATIONS, loads, HELD, EI),
        moment_influence(STATIONS, loads, HELD),
    ):
        assert table.shape == (len(STATIONS), len(loads))
    assert influence(0.9, 1.1, HELD, EI).shape == (1, 1)
    assert influence([], loads, HELD, EI).shape == (0, 3)
    one = [influence([s], [a], HELD, EI)[0, 0] for s in STATIONS for a in loads]
    assert influence(STATIONS, loads, HELD, EI).ravel().tolist() == one


def test_supports_in_either_order_and_anywhere():
    loads = [0.1, 0.9, 1.9]
    turned = (HELD[1], HELD[0])
    # Rounding: the same sums in another order.
    assert influence(STATIONS, loads, turned, EI) == pytest.approx(
        influence(STATIONS, loads, HELD, EI), abs=1e-17
    )
    assert reactions(loads, turned) == pytest.approx(reactions(loads, HELD)[::-1], abs=1e-15)
    moved = influence(STATIONS + 5, np.array(loads) + 5, (HELD[0] + 5, HELD[1] + 5), EI)
    assert moved == pytest.approx(influence(STATIONS, loads, HELD, EI), abs=1e-17)


def test_mirrored_shaft():
    loads = np.array([0.1, 0.9, 1.9])
    mirror = (-HELD[0], -HELD[1])
    assert influence(-STATIONS, -loads, mirror, EI) == pytest.approx(
        influence(STATIONS, loads, HELD, EI), abs=1e-17
    )
    assert slope_influence(-STATIONS, -loads, mirror, EI) == pytest.approx(
        -slope_influence(STATIONS, loads, HELD, EI), abs=1e-17
    )
    assert moment_influence(-STATIONS, -loads, mirror) == pytest.approx(
        moment_influence(STATIONS, loads, HELD), abs=1e-14
    )


def test_stiffness_divides():
    loads = [0.1, 0.9]
    assert 2 * influence(STATIONS, loads, HELD, 2 * EI) == pytest.approx(
        influence(STATIONS, loads, HELD, EI), rel=1e-14
    )
    # Twice the diameter is sixteen times as stiff.
    assert round_second_moment(0.05) == pytest.approx(16 * round_second_moment(0.025), rel=1e-15)


def test_critical_speed_is_the_limit_of_many_small_masses():
    diameter, length, modulus, density = 0.0254, 1.0, 200e9, 7850.0
    n = 60
    at = (np.arange(n) + 0.5) * length / n
    mass = density * math.pi * diameter**2 / 4 * length / n
    flexibility = influence(at, at, (0.0, length), modulus * round_second_moment(diameter))
    lumped = 1 / math.sqrt(mass * np.linalg.eigvalsh(flexibility).max())
    # Midpoint masses on n pieces miss by about (pi/n)^2 / 24 of the mode's mass, and less of its frequency.
    assert lumped == pytest.approx(first_critical_speed(diameter, length, modulus, density), rel=2e-4)


@pytest.mark.parametrize("supports", [(1.0, 1.0), (math.nan, 1.0), (0.0, math.inf)])
def test_supports_that_hold_nothing(supports: tuple[float, float]):
    calls = (
        lambda: reactions([0.5], supports),
        lambda: influence([0.5], [0.5], supports, EI),
        lambda: slope_influence([0.5], [0.5], supports, EI),
        lambda: moment_influence([0.5], [0.5], supports),
    )
    for call in calls:
        with pytest.raises(ValueError, match="cannot hold a shaft; write two different stations"):
            call()


@pytest.mark.parametrize("stiffness", [0.0, -1.0, math.nan])
def test_no_stiffness(stiffness: float):
    for call in (influence, slope_influence):
        with pytest.raises(ValueError, match="write modulus times second moment"):
            call([0.5], [0.5], HELD, stiffness)


def test_stations_that_are_none():
    with pytest.raises(ValueError, match="stations are not stations"):
        influence([[0.5]], [0.5], HELD, EI)
    with pytest.raises(ValueError, match="loads_at are not stations"):
        moment_influence([0.5], [math.nan], HELD)


@pytest.mark.parametrize("name", ["diameter", "length", "modulus", "density"])
def test_critical_speed_of_nothing(name: str):
    values = {"diameter": 0.0254, "length": 1.0, "modulus": 200e9, "density": 7850.0}
    with pytest.raises(ValueError, match=f"{name}: 0.0 is not above zero"):
        first_critical_speed(**(values | {name: 0.0}))
