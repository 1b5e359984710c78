"""Chain geometry against itself, against constructions by other means, and its faults."""

import math
from dataclasses import FrozenInstanceError, astuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.spatial import ConvexHull

from sim.chain import (
    AGREEMENT,
    ChainFault,
    approximate_links,
    centres_for_links,
    chain_fit,
    excess_from_sideways,
    loop_length,
    sideways_from_excess,
    span,
    wrap_angles,
)
from sim.sprocket import (
    chordal_speed_change,
    pitch_radius,
    sprocket_outside_diameter,
    tension,
    travel_radius,
    with_chain_outside_diameter,
)

PITCH = 0.0127

teeth = st.integers(9, 80)
pitches = st.sampled_from([0.00635, 0.0127, 0.0254])
spare_links = st.integers(1, 400)


def least_links(teeth_a: int, teeth_b: int, pitch: float) -> int:
    """Give a number of links with which the two sprockets surely clear each other."""
    touching = (sprocket_outside_diameter(teeth_a, pitch) + sprocket_outside_diameter(teeth_b, pitch)) / 2
    return math.ceil(loop_length(teeth_a, teeth_b, pitch, touching) / pitch)


def circle(centre: float, radius: float) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, 20_000, endpoint=False)
    return np.column_stack([centre + radius * np.cos(turn), radius * np.sin(turn)])


@pytest.mark.parametrize(("a", "b", "centres"), [(15, 45, 0.3), (45, 15, 0.3), (20, 20, 0.1), (9, 80, 0.25)])
def test_span_and_wrap_make_the_band_round_both_pitch_circles(a: int, b: int, centres: float):
    radius_a, radius_b = pitch_radius(a, PITCH), pitch_radius(b, PITCH)
    hull = ConvexHull(np.vstack([circle(0, radius_a), circle(centres, radius_b)]))
    corners = hull.points[hull.vertices]
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    wrap_a, wrap_b = wrap_angles(a, b, PITCH, centres)
    strands = span(a, b, PITCH, centres)
    # A polygon of n corners in place of a circle is short by (pi/n)^2 / 6 = 4e-9 of it.
    assert 2 * strands + radius_a * wrap_a + radius_b * wrap_b == pytest.approx(sides.sum(), rel=1e-8)
    # The two longest sides are the strands, each up to one polygon side off at either end.
    assert np.sort(sides)[-2:] == pytest.approx([strands, strands], abs=2 * np.pi / 20_000 * radius_b * 2)


@given(teeth, teeth, pitches, st.floats(1.01, 50))
def test_loop_is_two_strands_and_one_pitch_for_each_tooth_in_mesh(a: int, b: int, pitch: float, far: float):
    centres = far * (sprocket_outside_diameter(a, pitch) + sprocket_outside_diameter(b, pitch)) / 2
    wrap_a, wrap_b = wrap_angles(a, b, pitch, centres)
    on_teeth = travel_radius(a, pitch) * wrap_a + travel_radius(b, pitch) * wrap_b
    whole = loop_length(a, b, pitch, centres)
    # Rounding of a handful of operations.
    assert whole == pytest.approx(2 * span(a, b, pitch, centres) + on_teeth, rel=1e-14)
    assert wrap_a + wrap_b == pytest.approx(2 * np.pi, rel=1e-15)
    assert (wrap_b - wrap_a) * (b - a) >= 0  # the larger sprocket has the larger wrap
    assert whole == pytest.approx(loop_length(b, a, pitch, centres), rel=1e-14)
    assert wrap_angles(b, a, pitch, centres) == pytest.approx((wrap_b, wrap_a), rel=1e-14)


@given(teeth, teeth, pitches, spare_links)
def test_centres_for_links_is_exact(a: int, b: int, pitch: float, spare: int):
    links = least_links(a, b, pitch) + spare
    centres = centres_for_links(a, b, pitch, links)
    # Machine precision: the length is a sum of four rounded terms, each with its own half unit.
    assert abs(loop_length(a, b, pitch, centres) - links * pitch) <= 4 * math.ulp(links * pitch)
    assert centres > (sprocket_outside_diameter(a, pitch) + sprocket_outside_diameter(b, pitch)) / 2


@given(teeth, teeth, st.integers(1, 400))
def test_too_few_links_are_refused_with_how_many_to_add(a: int, b: int, missing: int):
    links = least_links(a, b, PITCH) - missing
    with pytest.raises(ChainFault) as fault:
        centres_for_links(a, b, PITCH, links)
    if links >= 1:
        assert "too short for sprockets" in fault.value.what
        added = int(fault.value.instead.split()[1])
        assert added % 2 == 0
        assert centres_for_links(a, b, PITCH, links + added) > 0
    else:
        assert "not a count" in fault.value.what


def test_handbook_form_differs_by_hundredths_of_a_millimetre():
    # 80 links on 15:45 is a short run. The difference is why the exact form is used, and it hardly matters.
    centres = centres_for_links(15, 45, PITCH, 80)
    off = abs(approximate_links(15, 45, PITCH, centres) - 80) * PITCH
    assert 0.01e-3 < off < 0.05e-3


def test_numbers_give_numbers_and_arrays_arrays():
    counts = np.array([[11.0, 15.0, 20.0], [42.0, 45.0, 63.0]])
    centres = np.array([0.3, 0.5, 2.0])
    for one in (
        lambda n: pitch_radius(n, PITCH),
        lambda n: travel_radius(n, PITCH),
        chordal_speed_change,
        lambda n: sprocket_outside_diameter(n, PITCH),
        lambda n: with_chain_outside_diameter(n, PITCH),
    ):
        assert one(counts).shape == (2, 3)
        assert one(counts)[1, 2] == one(63)
        assert isinstance(one(63), float)
    for one in (loop_length, span, approximate_links):
        assert one(15, 45, PITCH, centres)[1] == one(15, 45, PITCH, 0.5)
        assert isinstance(one(15, 45, PITCH, 0.5), float)
    assert wrap_angles(15, 45, PITCH, centres)[0][2] == wrap_angles(15, 45, PITCH, 2.0)[0]
    assert sideways_from_excess(centres, 1.0)[0] == sideways_from_excess(0.3, 1.0)
    assert tension(np.array([-5.0, 5.0]), 15, PITCH).tolist() == [tension(5.0, 15, PITCH)] * 2


def test_chain_moves_by_the_travel_radius():
    assert travel_radius(15, PITCH) * 2 * np.pi == pytest.approx(15 * PITCH, rel=1e-15)
    # Not by the pitch radius, which is larger by pi^2 / (6 N^2) and would give a false ratio.
    assert pitch_radius(15, PITCH) / travel_radius(15, PITCH) - 1 == pytest.approx(
        np.pi**2 / (6 * 15**2), rel=0.03
    )  # next term of the series: 7/60 (pi/N)^2 of it, .5 %; allowed 3 %


def test_tension_does_the_work_of_the_torque():
    torque = 40.0
    per_turn = tension(torque, 15, PITCH) * 15 * PITCH
    assert per_turn == pytest.approx(torque * 2 * np.pi, rel=1e-15)
    assert tension(-torque, 15, PITCH) == tension(torque, 15, PITCH)


def test_slack_is_the_length_of_a_parabola():
    free, movement = 0.8, 0.016

    def arc(x: float) -> float:
        return math.hypot(1.0, 4 * movement / free * (1 - 2 * x / free))

    excess = quad(arc, 0, free, epsabs=1e-14)[0] - free
    # The flat parabola drops 2.4 (f / span)^2 = .1 % of the excess at 2 %.
    assert excess_from_sideways(movement, free) == pytest.approx(excess, rel=1e-3)
    assert excess_from_sideways(movement, free) != pytest.approx(excess, rel=5e-4)


@given(st.floats(0, 0.05), st.floats(0.05, 5))
def test_slack_both_ways(excess: float, free: float):
    there = sideways_from_excess(excess, free)
    assert excess_from_sideways(there, free) == pytest.approx(excess, rel=1e-13)  # a square root and back


def test_negative_excess_is_refused_wherever_it_comes_in():
    with pytest.raises(ChainFault, match=r"-1\.000 mm is no slack.*pretension"):
        sideways_from_excess(np.array([1e-3, -1e-3]), 1.0)
    with pytest.raises(ChainFault, match="no slack"):
        chain_fit(15, 45, PITCH, links=100, excess=-1e-3)
    with pytest.raises(ChainFault, match="no slack"):
        chain_fit(15, 45, PITCH, centres=0.44, excess=math.nan)


def test_centres_alone_take_the_smallest_even_number():
    fit = chain_fit(15, 45, PITCH, centres=0.44)
    assert fit.links == 100  # 100 links reach to 440.318 mm, 98 do not reach 440
    assert fit.excess == pytest.approx(1.27 - loop_length(15, 45, PITCH, 0.44), abs=1e-15)
    assert fit.length_needed == loop_length(15, 45, PITCH, 0.44)
    assert fit.span == span(15, 45, PITCH, 0.44)
    assert (fit.wrap_driver, fit.wrap_driven) == wrap_angles(15, 45, PITCH, 0.44)
    assert fit.wrap_driver < fit.wrap_driven
    assert fit.sideways == sideways_from_excess(fit.excess, fit.span)
    assert not fit.offset_link
    assert all(type(value) in (int, float, bool) for value in astuple(fit))
    with pytest.raises(FrozenInstanceError):
        fit.links = 2  # pyright: ignore[reportAttributeAccessIssue]


@given(teeth, teeth, pitches, st.floats(1.001, 30), st.floats(0, 0.06))
def test_centres_and_excess_give_the_nearest_even_number_not_below(
    a: int, b: int, pitch: float, far: float, wanted: float
):
    centres = far * (sprocket_outside_diameter(a, pitch) + sprocket_outside_diameter(b, pitch)) / 2
    fit = chain_fit(a, b, pitch, centres=centres, excess=wanted)
    rounding = 1e-8 * pitch
    assert fit.links % 2 == 0
    assert wanted - rounding <= fit.excess < wanted + 2 * pitch
    assert fit.excess == pytest.approx(fit.links * pitch - fit.length_needed, abs=rounding)
    bare = chain_fit(a, b, pitch, centres=centres)
    assert bare == chain_fit(a, b, pitch, centres=centres, excess=0.0)
    assert (bare.links - 2) * pitch < bare.length_needed


@given(teeth, teeth, pitches, spare_links, st.floats(0, 1))
def test_the_three_ways_agree(a: int, b: int, pitch: float, spare: int, share: float):
    links, excess = least_links(a, b, pitch) + 1 + spare, share * pitch
    by_links = chain_fit(a, b, pitch, links=links, excess=excess)
    assert by_links.length_needed == pytest.approx(links * pitch - excess, abs=8 * math.ulp(links * pitch))
    assert by_links.offset_link == (links % 2 == 1)
    assert by_links.excess == excess
    by_centres = chain_fit(a, b, pitch, centres=by_links.centres, links=links)
    # Rounding of a length of metres, seen in an excess of millimetres.
    assert by_centres.excess == pytest.approx(excess, abs=1e-14)
    assert by_centres == chain_fit(a, b, pitch, centres=by_links.centres, links=links, excess=excess)


def test_an_exact_fit_given_back_is_not_refused():
    for links in range(60, 400):
        centres = centres_for_links(15, 45, PITCH, links)
        fit = chain_fit(15, 45, PITCH, centres=centres, links=links)
        assert 0 <= fit.excess < 1e-14  # rounding of a length of metres
        if links % 2 == 0:
            assert chain_fit(15, 45, PITCH, centres=centres).links == links


def test_centres_rounded_on_a_drawing_are_not_refused():
    exact = centres_for_links(15, 45, PITCH, 100)
    fit = chain_fit(15, 45, PITCH, centres=exact + 0.04e-3, links=100)
    assert (fit.excess, fit.sideways) == (0.0, 0.0)
    assert fit.length_needed > 1.27
    # Two strands: .06 mm of centres is .12 mm of chain, beyond what rounding excuses.
    with pytest.raises(ChainFault, match=r"0\.\d+ mm less than the loop needs"):
        chain_fit(15, 45, PITCH, centres=exact + 0.06e-3, links=100)


def test_too_short_a_chain_says_what_would_do():
    with pytest.raises(ChainFault) as fault:
        chain_fit(15, 45, PITCH, centres=0.44, links=98)
    assert "98 links make 1244.600 mm of chain, 24.770 mm less" in fault.value.what
    assert "use 100 links" in fault.value.instead
    nearer = float(fault.value.instead.split("centres at ")[1].split()[0]) / 1e3
    assert nearer == pytest.approx(centres_for_links(15, 45, PITCH, 98), abs=1e-6)  # printed to .001 mm
    assert str(fault.value) == f"{fault.value.what}; {fault.value.instead}"
    assert isinstance(fault.value, ValueError)


def test_three_that_disagree_are_refused_with_their_figures():
    left = chain_fit(15, 45, PITCH, centres=0.44, links=100).excess
    chain_fit(15, 45, PITCH, centres=0.44, links=100, excess=left + 0.9 * AGREEMENT)
    with pytest.raises(ChainFault) as fault:
        chain_fit(15, 45, PITCH, centres=0.44, links=100, excess=left + 1.1 * AGREEMENT)
    assert "440.000 mm and 100 links leave an excess of 0.630 mm, not 0.740 mm" in fault.value.what
    assert "leave one of the three out, or put the centres at 439.9" in fault.value.instead


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({}, "not determined; give the centres, or any two"),
        ({"links": 100}, "not determined"),
        ({"excess": 1e-3}, "not determined"),
        ({"centres": 0.12}, "teeth touch; put the centres beyond 128.304 mm"),
        ({"centres": math.nan}, "teeth touch"),
        ({"centres": math.inf}, "teeth touch"),
        ({"links": 40, "excess": 0.0}, "too short for sprockets"),
        ({"links": 54, "excess": 0.1}, "too short for sprockets.*add 8 links"),
        ({"links": 99.5, "excess": 0.0}, "links: 99.5 is not a count"),
        ({"links": 0, "excess": 0.0}, "links: 0 is not a count"),
        ({"centres": 0.44, "links": -2}, "links: -2 is not a count"),
    ],
)
def test_faults_of_a_fit(given: dict[str, float], says: str):
    with pytest.raises(ChainFault, match=says):
        chain_fit(15, 45, PITCH, **given)  # pyright: ignore[reportArgumentType]


@pytest.mark.parametrize(
    ("a", "b", "pitch", "says"),
    [
        (4, 45, PITCH, "teeth: 4 is not a count"),
        (15, 45.5, PITCH, "teeth: 45.5 is not a count"),
        (15, 45, 0.0, "pitch 0.0 m is no length"),
        (15, 45, math.inf, "no length"),
    ],
)
def test_faults_of_a_drive(a: int, b: float, pitch: float, says: str):
    with pytest.raises(ChainFault, match=says):
        centres_for_links(a, b, pitch, 100)
    with pytest.raises(ChainFault, match=says):
        chain_fit(a, b, pitch, centres=0.44)  # pyright: ignore[reportArgumentType]


def test_no_tangent_where_one_sprocket_is_inside_the_other():
    inside = pitch_radius(45, PITCH) - pitch_radius(15, PITCH)
    for one in (loop_length, span, wrap_angles):
        with pytest.raises(ChainFault, match=r"inside the other; put the centres beyond 128\.304 mm"):
            one(15, 45, PITCH, np.array([0.3, 0.99 * inside]))
        with pytest.raises(ChainFault, match="inside the other"):
            one(45, 15, PITCH, inside)
