"""Outlines: what is refused, and area moments against closed forms."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.outline import Outline, OutlineError, arc, circle, mirrored, moments, outline
from models.units import DescriptionFault

SQUARE = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
# A sum of a few products: some ten roundings of 1.1e-16.
ROUNDING = 1e-14


def approx(value, rel=ROUNDING, scale=0.0):
    return pytest.approx(value, rel=rel, abs=ROUNDING * scale)


def test_rectangle():
    """b h, b^3 h / 12, b h^3 / 12 (any handbook; memory)."""
    found = moments(outline([(1, 2), (4, 2), (4, 7), (1, 7)]))
    assert found.area == approx(15)
    assert found.centroid == approx((2.5, 4.5))
    assert found.xx == approx(3**3 * 5 / 12)
    assert found.yy == approx(3 * 5**3 / 12)
    assert found.xy == approx(0, scale=100)


def test_triangle():
    """Right triangle of legs b, h: b h / 2, centroid at a third, b^3 h / 36, b h^3 / 36, -b^2 h^2 / 72
    (any handbook; memory)."""
    b, h = 0.6, 0.25
    found = moments(outline([(0, 0), (b, 0), (0, h)]))
    assert found.area == approx(b * h / 2)
    assert found.centroid == approx((b / 3, h / 3))
    assert found.xx == approx(b**3 * h / 36)
    assert found.yy == approx(b * h**3 / 36)
    assert found.xy == approx(-(b**2) * h**2 / 72)


def test_angle_section():
    """An L of a 3 x 1 foot and a 1 x 2 upright on it; sums of two rectangles (computed by hand).

    Area 3 + 2 = 5. Centroid x (3 * 1.5 + 2 * 0.5) / 5 = 1.1, y (3 * 0.5 + 2 * 2) / 5 = 1.1.
    xx = 27/12 + 3 * 0.4^2 + 2/12 + 2 * 0.6^2 = 2.25 + 0.48 + 1/6 + 0.72; yy the same by symmetry.
    xy = 3 * 0.4 * (-0.6) + 2 * (-0.6) * 0.9 = -1.8.
    """
    found = moments(outline([(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)]))
    assert found.area == approx(5)
    assert found.centroid == approx((1.1, 1.1))
    assert found.xx == approx(3.45 + 1 / 6)
    assert found.yy == approx(3.45 + 1 / 6)
    assert found.xy == approx(-1.8)


def test_plate_with_a_round_hole():
    """A 0.4 x 0.3 plate less a circle of radius 0.05 off its middle: pi r^2 and pi r^4 / 4 (memory).

    Area exact. Second moments of the hole's polygon are too large by a share of d^4 / 180, d its angle:
    here 158 corners, so 1.4e-8 of the hole's, and 4e-11 of the plate's at most (computed).
    """
    r, hx, hy = 0.05, 0.1, 0.2
    found = moments(outline([(0, 0), (0.4, 0), (0.4, 0.3), (0, 0.3)], [circle((hx, hy), r)]))
    hole = math.pi * r**2
    area = 0.12 - hole
    cx, cy = (0.12 * 0.2 - hole * hx) / area, (0.12 * 0.15 - hole * hy) / area
    xx = 0.4**3 * 0.3 / 12 + 0.12 * (0.2 - cx) ** 2 - math.pi * r**4 / 4 - hole * (hx - cx) ** 2
    yy = 0.4 * 0.3**3 / 12 + 0.12 * (0.15 - cy) ** 2 - math.pi * r**4 / 4 - hole * (hy - cy) ** 2
    xy = 0.12 * (0.2 - cx) * (0.15 - cy) - hole * (hx - cx) * (hy - cy)
    assert found.area == approx(area)
    assert found.centroid == approx((cx, cy))
    assert found.xx == approx(xx, rel=1e-10)
    assert found.yy == approx(yy, rel=1e-10)
    assert found.xy == approx(xy, rel=1e-12)


@pytest.mark.parametrize("sides", [3, 4, 5, 8, 37])
def test_regular_polygon(sides):
    """n corners at R: n/2 R^2 sin d and area R^2 (2 + cos d) / 12 about any axis, d = 2 pi / n (computed from
    the isosceles triangle; for n = 4 it is a^4 / 12)."""
    d, radius = 2 * math.pi / sides, 0.7
    corners = [(radius * math.cos(0.3 + k * d), radius * math.sin(0.3 + k * d)) for k in range(sides)]
    found = moments(outline(corners))
    area = sides / 2 * radius**2 * math.sin(d)
    assert found.area == approx(area)
    assert found.centroid == approx((0, 0), scale=1)
    assert found.xx == approx(area * radius**2 * (2 + math.cos(d)) / 12)
    assert found.yy == approx(area * radius**2 * (2 + math.cos(d)) / 12)
    assert found.xy == approx(0, scale=1)


@given(st.floats(1e-4, 10), st.floats(1e-6, 1e-3))
def test_circle_has_the_area_and_nearly_the_moments(radius, chord_error):
    """Area to rounding of up to 7000 terms; second moments too large by d^4 / 180 to leading order, and the
    next term is below a third of it for d up to pi / 4 (series, computed)."""
    corners = circle((0.0, 0.0), radius, chord_error)
    d = 2 * math.pi / len(corners)
    found = moments(outline(corners))
    assert found.area == pytest.approx(math.pi * radius**2, rel=1e-13)
    excess = found.xx / (math.pi * radius**4 / 4) - 1
    assert -1e-12 <= excess <= 4 / 3 * d**4 / 180 + 1e-12
    outwards = math.hypot(*corners[0]) - radius
    inwards = radius - math.hypot(*corners[0]) * math.cos(d / 2)
    assert 0 <= outwards <= chord_error
    assert inwards <= chord_error


@given(
    st.floats(1e-3, 10), st.floats(-math.pi, math.pi), st.floats(1e-3, 2 * math.pi), st.sampled_from([1, -1])
)
def test_arc_keeps_ends_area_and_nearness(radius, start, angle, sense):
    """Sector area R^2 sweep / 2 (memory); rounding of up to 2000 terms, the largest R^2."""
    points = arc((0.0, 0.0), radius, start, sense * angle)
    sector = math.fsum((x0 * y1 - x1 * y0) / 2 for (x0, y0), (x1, y1) in pairwise(points))
    assert sector == pytest.approx(sense * radius**2 * angle / 2, rel=1e-11)
    assert points[0] == approx((radius * math.cos(start), radius * math.sin(start)), scale=radius)
    stop = start + sense * angle
    assert points[-1] == approx((radius * math.cos(stop), radius * math.sin(stop)), scale=radius)
    middles = [((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in pairwise(points)]
    # 1e-5 m asked for; 1e-14 m is the rounding of 10 m.
    assert max(abs(math.hypot(*point) - radius) for point in (*points, *middles)) <= 1e-5 + 1e-14


BLADE = [(0.0, 0.0), (0.31, -0.02), (0.4, 0.2), (0.22, 0.5), (0.05, 0.33), (0.1, 0.2)]
SLOT = [(0.15, 0.1), (0.3, 0.1), (0.25, 0.2)]


def moved(points, angle, dx, dy):
    c, s = math.cos(angle), math.sin(angle)
    return [(c * x - s * y + dx, s * x + c * y + dy) for x, y in points]


@given(st.floats(-math.pi, math.pi), st.floats(-5, 5), st.floats(-5, 5))
def test_moments_follow_rotation_and_translation(angle, dx, dy):
    """The tensor turns with the plate. Moved corners are rounded to 1e-15 m of 0.5 m: 1e-13 with margin."""
    still = moments(outline(BLADE, [SLOT]))
    gone = moments(outline(moved(BLADE, angle, dx, dy), [moved(SLOT, angle, dx, dy)]))
    c, s = math.cos(angle), math.sin(angle)
    scale = still.xx + still.yy
    assert gone.area == pytest.approx(still.area, rel=1e-12)
    assert gone.centroid == pytest.approx(moved([still.centroid], angle, dx, dy)[0], abs=1e-13)
    assert gone.xx == pytest.approx(
        c * c * still.xx - 2 * c * s * still.xy + s * s * still.yy, abs=1e-12 * scale
    )
    assert gone.yy == pytest.approx(
        s * s * still.xx + 2 * c * s * still.xy + c * c * still.yy, abs=1e-12 * scale
    )
    assert gone.xy == pytest.approx(
        c * s * (still.xx - still.yy) + (c * c - s * s) * still.xy, abs=1e-12 * scale
    )


def test_far_away_outline_keeps_its_digits():
    """A 3 x 5 plate 2^19 m off, corners exact in binary: nothing is lost. Without the shift the error of xx
    is of the order of 2^19^4 * 1e-16, far larger than xx itself."""
    far = 2.0**19
    found = moments(outline([(x + far, y - far) for x, y in [(0, 0), (3, 0), (3, 5), (0, 5)]]))
    assert found.area == 15
    assert found.xx == approx(11.25)
    assert found.yy == approx(31.25)
    assert found.centroid == (far + 1.5, 2.5 - far)


@given(st.integers(0, 5), st.booleans())
def test_any_start_and_sense_give_the_same_moments(first, backwards):
    corners = BLADE[first:] + BLADE[:first]
    found = moments(outline(corners[::-1] if backwards else corners, [SLOT]))
    still = moments(outline(BLADE, [SLOT]))
    assert found.area == approx(still.area, rel=1e-13)
    assert (found.xx, found.yy, found.xy) == approx((still.xx, still.yy, still.xy), rel=1e-12)


def test_senses_and_repeats():
    made = outline([*SQUARE[::-1], SQUARE[-1]], [[(0.2, 0.2), (0.4, 0.2), (0.4, 0.2), (0.4, 0.4)]])
    assert made == Outline(
        exterior=((0.0, 1.0), (0.0, 0.0), (1.0, 0.0), (1.0, 1.0)),
        holes=(((0.2, 0.2), (0.4, 0.4), (0.4, 0.2)),),
    )


def test_mirrored():
    shape = outline(BLADE, [SLOT])
    other = mirrored(shape)
    assert mirrored(other) == shape
    assert other == outline([(x, -y) for x, y in shape.exterior], [[(x, -y) for x, y in shape.holes[0]]])
    here, there = moments(shape), moments(other)
    assert there.area == approx(here.area)
    assert there.centroid == approx((here.centroid[0], -here.centroid[1]))
    assert (there.xx, there.yy, there.xy) == approx((here.xx, here.yy, -here.xy), rel=1e-12)


@pytest.mark.parametrize(
    ("points", "holes", "what"),
    [
        ([(0, 0), (1, 0)], [], "2 distinct points"),
        ([(0, 0), (1, 0), (0, 0), (1, 0)], [], "2 distinct points"),
        ([], [], "0 distinct points"),
        ([(0, 0), (1, 1), (2, 2)], [], "no area"),
        ([(0, 0), (0.1, 0.3), (0.2, 0.6), (0.3, 0.9)], [], "no area"),
        ([(0, 0), (1, 1), (1, 0), (0, 1)], [], "crosses or touches itself at (500, 500) mm"),
        ([(0, 0), (2, 0), (2, 2), (1, 0), (0, 1)], [], "crosses or touches itself at (1000, 0) mm"),
        ([(0, 0), (1, 0), (1, 1), (1, 0.5)], [], "crosses or touches itself"),
        ([(0, 0), (math.nan, 0), (1, 1)], [], "point 2 of the outline is not finite"),
        ([(0, 0), (1, 0), (1, math.inf)], [], "point 3 of the outline is not finite"),
        ([(0, 0), (1, 0), (1, 1e300)], [], "point 3 of the outline is not finite"),
        ("abc", [], "not a list of points"),
        (["12", "34", "51"], [], "not a list of points"),
        (7, [], "not a list of points"),
        ([(0, 0, 0), (1, 0, 0), (1, 1, 0)], [], "not a list of points"),
        ([(0, 0), (True, 0), (1, 1)], [], "not a list of points"),
        (SQUARE, [[(0.2, 0.2), (1.8, 0.2), (0.8, 0.8)]], "hole 1 reaches outside"),
        (SQUARE, [SLOT, [(3, 3), (4, 3), (4, 4)]], "hole 2 reaches outside"),
        (
            SQUARE,
            [[(0.1, 0.1), (0.9, 0.9), (0.9, 0.1), (0.1, 0.9)]],
            "hole 1 crosses or touches itself at (500, 500)",
        ),
        (SQUARE, [[(0.1, 0.1), (0.2, 0.2)]], "hole 1 has 2 distinct points"),
        (
            SQUARE,
            [[(0.2, 0.2), (0.8, 0.2), (0.8, 0.8)], [(0.5, 0.3), (0.9, 0.3), (0.9, 0.9)]],
            "holes overlap",
        ),
        (
            SQUARE,
            [[(0.1, 0.1), (0.9, 0.1), (0.9, 0.9)], [(0.3, 0.2), (0.8, 0.2), (0.8, 0.6)]],
            "holes overlap",
        ),
        (SQUARE, [SLOT, SLOT], "holes overlap"),
        (SQUARE, [[(0, 0.2), (0.8, 0.2), (0.8, 0.8), (0, 0.8)]], "meet the edge"),
    ],
)
def test_refuses(points, holes, what):
    with pytest.raises(OutlineError) as caught:
        outline(points, holes)
    assert what in caught.value.what
    assert caught.value.instead
    assert isinstance(caught.value, DescriptionFault)


COORDINATES = st.tuples(st.integers(-4, 4), st.integers(-4, 4))


@given(st.lists(COORDINATES, max_size=7), st.lists(st.lists(COORDINATES, max_size=5), max_size=2))
def test_any_points_make_a_positive_area_or_an_outline_error(points, holes):
    try:
        area = moments(outline(points, holes)).area
    except OutlineError as fault:
        area = len(fault.what) * len(fault.instead)
    assert area > 0


@pytest.mark.parametrize("radius", [0.0, -1.0, math.nan])
def test_circle_without_a_radius(radius):
    with pytest.raises(OutlineError):
        circle((0.0, 0.0), radius)
