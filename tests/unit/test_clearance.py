"""Distances between moving parts, and that nothing is nearer between poses than the bound says.

Closed forms here are computed from elementary geometry, by hand, unless said otherwise.
"""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from examples import MANTA, MOTH
from scipy.optimize import nnls
from shapely import Polygon, union_all

from models.loading import load, loads
from models.outline import outline
from models.resolve import mechanism
from sim import clearance
from sim.builders import Linkage, linkage
from sim.clearance import (
    POSES,
    WITHIN,
    Clearance,
    Pair,
    clearances,
    mirrors,
    of_pairs,
    pairs,
    rate_bounds,
    travels,
)
from sim.clearance.approach import Field, Moving
from sim.clearance.convex import Convex, ball, beyond, capsule, convex_parts, cylinder, plate_area, prism
from sim.clearance.distance import separation
from sim.clearance.poses import FIXED, Bounds, Carrier, Poses
from sim.clearance.rate_bounds import middles, panel_bounds
from sim.clearance.solids import Solid, hinge_strip, solids
from sim.linkage import SideLinkage, close

SEARCH = 1e-4  # m; the search stops where bound and least distance agree to this
ROUNDING = 1e-9  # m
CRANK = Carrier("crank")
TIP = """
[[panel]]
name = "tip"
outline = { unit = "mm", points = [[-60, 0], [120, 0], [40, 400]] }
thickness = "2 mm"
hinge = { out = "620 mm" }
yoke_pin = { out = "150 mm", below = "40 mm" }
throw = { radius = "320 mm", angle = "-60 deg", out = "1360 mm" }
rod = "640 mm"
"""


def _manta(**changes: object) -> Linkage:
    return linkage(mechanism(load(MANTA, {k.replace("__", "."): v for k, v in changes.items()})))


def _three_panels() -> Linkage:
    text = Path(MANTA).read_text("utf-8")
    text = text.replace('bearings = ["250 mm", "930 mm"]', 'bearings = ["250 mm", "1460 mm"]')
    return linkage(mechanism(loads(text + TIP)))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return _manta()


# Distance of hulls.


def _least_distance(a: np.ndarray, b: np.ndarray) -> float:
    """Solve the quadratic programme of two hulls' distance by non-negative least squares."""
    heavy = 1e4  # weighs the two sums of weights, which are 1
    top = np.hstack([a.T, -b.T])
    sums = heavy * np.block([[np.ones(len(a)), np.zeros(len(b))], [np.zeros(len(a)), np.ones(len(b))]])
    weights, _ = nnls(np.vstack([top, sums]), np.array([0, 0, 0, heavy, heavy]), maxiter=1000)
    wa, wb = weights[: len(a)], weights[len(a) :]
    return float(np.linalg.norm(a.T @ wa / wa.sum() - b.T @ wb / wb.sum()))


def test_distance_agrees_with_another_method() -> None:
    random = np.random.default_rng(3)
    a = random.normal(size=(150, 8, 3))
    b = random.normal(size=(150, 5, 3)) + 2.5 * random.normal(size=(150, 1, 3))
    found = separation(a, b)
    expected = np.array([_least_distance(x, y) for x, y in zip(a, b, strict=True)])
    apart = expected > 1e-6
    assert 20 < apart.sum() < 150
    # Both methods end within about 1e-8 of the quotient of the heavy rows' rounding.
    np.testing.assert_allclose(found.distance[apart], expected[apart], atol=1e-7)
    assert (found.distance[~apart] < 1e-6).all()
    assert (found.bound <= found.distance).all()
    np.testing.assert_allclose(found.bound, found.distance, atol=1e-6)


@pytest.mark.parametrize(
    ("first", "second", "distance"),
    [
        # Crossing bars: square to both.
        ([[-1, 0, 0], [1, 0, 0]], [[0, -1, 0.3], [0, 1, 0.3]], 0.3),
        # Parallel bars, half beside each other.
        ([[0, 0, 0], [1, 0, 0]], [[0.5, 0.2, 0], [2, 0.2, 0]], 0.2),
        # In one line.
        ([[0, 0, 0], [1, 0, 0]], [[1.5, 0, 0], [2, 0, 0]], 0.5),
        # A corner over a face.
        ([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0.2, 0.2, 0.1], [0.2, 0.2, 1], [0.3, 0.2, 1]], 0.1),
        # Two points.
        ([[0, 0, 0]], [[0.3, 0.4, 0]], 0.5),
        # A bar through a triangle.
        ([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0.2, 0.2, -1], [0.2, 0.2, 1]], 0.0),
    ],
)
def test_distance_of_simple_shapes(
    first: list[list[float]], second: list[list[float]], distance: float
) -> None:
    found = separation(np.array([first], float), np.array([second], float))
    assert found.distance[0] == pytest.approx(distance, abs=ROUNDING)
    assert found.bound[0] == pytest.approx(distance, abs=ROUNDING)


def test_the_cylinder_holds_its_circle() -> None:
    shape = cylinder(np.zeros(3), 2, 1.0, 0.11)
    round_ = np.linspace(0, 2 * np.pi, 999)
    rim = np.stack([0.11 * np.cos(round_), 0.11 * np.sin(round_), 0.4 + 0 * round_], -1)
    found = separation(np.repeat(shape.points[None], 999, 0), 2 * rim[:, None])
    # Twice the rim is one radius from it, less how far the prism stands out, at most .2 mm.
    assert found.distance.max() <= np.linalg.norm([0.11, 0.4]) + ROUNDING
    side = separation(np.repeat(shape.points[None], 999, 0), (rim * [2, 2, 1])[:, None])
    assert side.distance.max() <= 0.11 + ROUNDING
    assert side.distance.min() >= 0.11 - 2.01e-4


# Convex parts of plates.


def _covered(area: Polygon, fill: float) -> tuple[int, float, float]:
    """Give the number of parts, the area that they lack, and how far they stand out."""
    parts = convex_parts(area, fill)
    whole = union_all([Polygon(p) for p in parts])
    for part in parts:
        ring = Polygon(part)
        assert ring.convex_hull.area == pytest.approx(ring.area, rel=1e-12)
    extra = whole.difference(area)
    out = max((area.distance(p) for p in _corners(extra)), default=0.0)
    return len(parts), area.difference(whole).area, out


def _corners(shape: object) -> list[object]:
    from shapely import get_coordinates, points

    return list(points(get_coordinates(shape)))


def test_an_angle_is_cut_in_two() -> None:
    area = Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])
    count, lacking, out = _covered(area, 5e-4)
    assert count == 2
    assert lacking == pytest.approx(0, abs=1e-12)
    assert out == pytest.approx(0, abs=1e-9)


def test_a_hollow_edge_and_a_hole_are_filled_by_no_more_than_said() -> None:
    hollow = np.linspace(np.pi, 2 * np.pi, 200)
    edge = [(0.5 + 0.3 * np.cos(a), 0.5 + 0.15 * np.sin(a)) for a in hollow]
    hole = [(0.5 + 0.06 * np.cos(a), 0.15 + 0.06 * np.sin(a)) for a in np.linspace(0, 6.2, 60)]
    area = Polygon([(0, 0.5), (0, 0), (1, 0), (1, 0.5), *edge[::-1]], [hole])
    count, lacking, out = _covered(area, 1e-3)
    assert 10 < count <= 40
    assert lacking == pytest.approx(0, abs=1e-9)
    assert out <= 1e-3 + ROUNDING


def test_bolt_holes_are_filled_and_many_large_ones_too() -> None:
    def square(x: float, half: float) -> list[tuple[float, float]]:
        return [
            (x - half, 0.5 - half),
            (x + half, 0.5 - half),
            (x + half, 0.5 + half),
            (x - half, 0.5 + half),
        ]

    box = [(0, 0), (4, 0), (4, 1), (0, 1)]
    assert len(convex_parts(plate_area(outline(box, [square(0.5, 0.009)])))) == 1
    # No fewer than four convex parts lie round a hole.
    assert 4 <= _covered(plate_area(outline(box, [square(0.5, 0.02)])), 5e-4)[0] <= 8
    many = outline(box, [square(0.05 + 0.1 * k, 0.02) for k in range(39)])
    assert len(convex_parts(plate_area(many))) == 1


def test_a_strip_along_a_line_is_left_out() -> None:
    left = beyond(Polygon([(0, 0), (1, 0), (1, 1), (0, 1)]), 0.1, 1.0)
    assert left.bounds == pytest.approx((0, 0, 1, 0.9))
    assert left.area == pytest.approx(0.9)


# Bounds on the motion.


def _near_lock() -> SideLinkage:
    """Give the demo's inner panel with a rod just long enough: 509.2 mm would lock it."""
    side = _manta().sides[0].side
    panel = side.panels[0]
    longer = replace(panel, rod=replace(panel.rod, length=0.5092))
    return close(replace(side, panels=(longer,)))


@pytest.mark.parametrize("which", ["manta", "three panels", "near lock"])
def test_panel_bounds_hold_between_their_middles(which: str) -> None:
    side = {"manta": lambda: _manta().sides[0], "three panels": lambda: _three_panels().sides[0],
            "near lock": _near_lock}[which]()  # fmt: skip
    bounds = panel_bounds(side)
    cells = len(bounds[0].first)
    fine = (np.arange(cells * 7) + 0.5) * (2 * np.pi / (cells * 7))
    for bound, course in zip(bounds, side.course(fine), strict=True):
        for values, limit in (
            (course.angle.first, bound.first),
            (course.angle.second, bound.second),
            (np.linalg.norm(course.hinge.second, axis=1), bound.hinge),
            (np.linalg.norm(course.yoke.second, axis=1), bound.yoke),
        ):
            assert (np.abs(values).reshape(cells, 7) <= limit[:, None] + ROUNDING).all()
        assert np.isfinite(bound.second).all()
        if which == "near lock":
            assert np.degrees(course.transmission.min()) < 2
        # Useful, not only true: a point a metre off gives away no more than the search's .1 mm in a cell.
        assert (np.pi / cells) ** 2 / 2 * bound.second.max() < SEARCH


def test_cells_too_wide_to_prove_anything_are_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rate_bounds, "CELLS", 72)
    side = _near_lock()
    (bound,) = panel_bounds(side)
    cells = len(bound.first)
    assert cells > 72
    fine = (np.arange(cells * 7) + 0.5) * (2 * np.pi / (cells * 7))
    second = np.abs(side.course(fine)[0].angle.second).reshape(cells, 7)
    assert (second <= bound.second[:, None] + ROUNDING).all()


def test_rates_and_bounds_of_points(manta: Linkage) -> None:
    step = 1e-5
    crank = np.array([0.3, 0.3 + step, 0.3 - step])
    poses, at = Poses(manta.sides, crank), np.arange(3)
    bounds = Bounds(manta.sides)
    points = {"crank": [[0.05, 0.4, -0.1]], "wheel": [[0.05, 0.4, -0.1]], "panel": [[0.1, 0.5, 0.02]],
              "rod": [[0.2, 0.0, 0.0]]}  # fmt: skip
    for side in (0, 1):
        for kind, place in points.items():
            carrier = Carrier(kind, side, 1)  # type: ignore[arg-type]
            track = poses.track(carrier, np.array(place), at)
            x0, x1, x2 = track.value[:, 0]
            np.testing.assert_allclose((x1 - x2) / (2 * step), track.first[0, 0], atol=1e-8)
            second = np.linalg.norm((x1 - 2 * x0 + x2) / step**2)
            cell = int(0.3 / (2 * np.pi) * POSES)
            # Differences of doubles over 1e-10: good to about 1e-5.
            assert second <= bounds.second(carrier, np.array(place), POSES)[cell] + 1e-5
            assert np.sign(x0[1]) == (1 if side == 0 or kind == "wheel" else -1)


# Closed forms with shapes put on the demo's crankshaft and panels.


def _solid(name: str, carrier: Carrier, *shapes: Convex) -> Solid:
    return Solid(name, "throw", None, name, carrier, shapes)


def _pair(first: Solid, second: Solid) -> Pair:
    return Pair(first, second, (first.shapes, second.shapes), joined=False)


def _only(sides: tuple[SideLinkage, ...], first: Solid, second: Solid) -> Clearance:
    (found,) = of_pairs(sides, (_pair(first, second),))
    assert found.bound <= found.least
    assert found.least - found.bound <= SEARCH + ROUNDING
    return found


@pytest.mark.parametrize("direction", [0.0, 0.0123, 2.0])
def test_a_bar_that_turns_past_a_post(manta: Linkage, direction: float) -> None:
    bar = capsule(np.zeros(3), np.array([0.2 * np.sin(direction), 0, 0.2 * np.cos(direction)]), 0.01)
    post = cylinder(np.array([0.3, -1.0, 0.0]), 1, 2.0, 0.05)
    found = _only(manta.sides, _solid("bar", CRANK, bar), _solid("post", FIXED, post))
    # .3 - .2 - .01 - .05; the prism's flat side, at one of its corners, stands out by up to .2 mm.
    assert found.least == pytest.approx(0.04, abs=3e-4)
    assert found.bound <= 0.04
    turn = (found.crank + direction - np.pi / 2 + np.pi) % (2 * np.pi) - np.pi
    # Where the distance is within .1 mm of its least: 1e-4 = .3 * .2 / .1 / 2 a^2, and the prism's side.
    assert abs(turn) < 0.06
    np.testing.assert_allclose(found.points[:, 0], [0.21, 0.25], atol=1e-3)


def test_the_bound_holds_what_falls_between_samples(manta: Linkage) -> None:
    """A ball on the crank below a slab: D - a cos t, least at t = 0, the border between two cells."""
    pin = Moving(CRANK, ball(np.array([0.0, 0.0, 0.2]), 0.02))
    slab = Moving(FIXED, Convex(prism(np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]), 0.02).points
                                + np.array([0, 0, 0.25])))  # fmt: skip
    field = Field(manta.sides, Bounds(manta.sides), [pin, slab], np.array([[0, 1]]))
    cells = 72
    found = field.approach(np.zeros(cells, int), np.arange(cells), cells)
    expected = 0.25 - 0.01 - 0.02 - 0.2 * np.cos(middles(cells))
    np.testing.assert_allclose(found.distance, expected, atol=ROUNDING)
    true = 0.25 - 0.01 - 0.02 - 0.2
    assert found.distance.min() > true + 1.8e-4  # .2 (1 - cos 2.5 deg) = .19 mm: samples alone miss it
    assert found.bound.min() <= true
    # What is given away over a cell of 5 deg is at most h^2 a: .2 * .0436^2 = .38 mm.
    assert (
        found.distance - found.bound <= 0.0436**2 * 0.2 + 0.0436 * np.abs(0.2 * np.sin(middles(72)))
    ).all()
    ends = 0.22 - 0.2 * np.cos(middles(cells)[:, None] + np.array([-1, 0, 1]) * np.pi / cells)
    assert (found.bound <= ends.min(1) + ROUNDING).all()
    least = _only(manta.sides, _solid("pin", CRANK, pin.shape), _solid("slab", FIXED, slab.shape))
    assert least.least == pytest.approx(true, abs=SEARCH)
    assert least.bound <= true


@pytest.mark.parametrize("cells", [72, 288])
@pytest.mark.parametrize(
    ("first", "second"),
    [("left inner panel", "left outer panel"), ("left outer panel", "left outer rod"),
     ("left inner panel", "left outer rod"), ("left inner rod", "left inner throw"),
     ("left outer panel", "right inner panel"), ("left outer rod", "left counterweight 1")],
)  # fmt: skip
def test_every_cell_is_bounded(manta: Linkage, first: str, second: str, cells: int) -> None:
    parts = {s.name: s for s in solids(manta.mechanism)}
    one, other = parts[first], parts[second]
    a, b = one.toward(second)[0], other.toward(first)[0]
    movers = [Moving(one.carrier, a), Moving(other.carrier, b)]
    field = Field(manta.sides, Bounds(manta.sides), movers, np.array([[0, 1]]))
    every = np.arange(cells)
    found = field.approach(np.zeros(cells, int), every, cells)
    within = (middles(cells)[:, None] + np.linspace(-1, 1, 9) * np.pi / cells).ravel()
    pair = Pair(one, other, ((a,), (b,)), joined=False)
    sampled = _sampled(manta.sides, pair, within).reshape(cells, 9)
    assert (found.bound <= sampled.min(1) + ROUNDING).all()
    np.testing.assert_allclose(found.distance, sampled[:, 4], atol=1e-6)
    # Of second order: no more than about 5 m times half the square of half a cell, 4.8 and .3 mm.
    given_away = np.median(sampled.min(1) - found.bound)
    assert given_away < {72: 5e-3, 288: 4e-4}[cells]


def test_a_plate_over_flat_ground(manta: Linkage) -> None:
    """The lowest corner of a panel: its hinge and out sin(angle) - t / 2 cos(angle)."""
    course = manta.sides[0].course(np.linspace(0, 2 * np.pi, 7200, endpoint=False))[0]
    out = np.array([0.0, 0.5])[:, None]
    low = (0.65 + out * np.sin(course.angle.value) - 0.002 * np.cos(course.angle.value)).min(0)
    (panel,) = (s for s in solids(manta.mechanism) if s.name == "left inner panel")
    (travel,) = travels(manta.sides, (panel,))
    assert travel.low.min() == pytest.approx(low.min(), abs=1e-5)  # half-degree poses
    ground = _solid("ground", FIXED, prism(np.array([[-2, -2], [2, -2], [2, 2], [-2, 2.0]]), 0.1))
    found = _only(manta.sides, panel, ground)
    assert found.least == pytest.approx(low.min() - 0.05, abs=SEARCH)
    assert found.bound <= low.min() - 0.05 + ROUNDING


def test_two_plates_on_a_hinge(manta: Linkage) -> None:
    """Next to the strip left out, s off the hinge line, both inner edges are nearest.

    With half thicknesses a, b and the opening o they lie at (s, a) and, turned by o, at (s, -b).
    """
    inner, outer = manta.sides[0].side.panels
    strip = hinge_strip(inner, outer)
    assert strip == 0.012
    a, b = manta.sides[0].course(np.linspace(0, 2 * np.pi, 7200, endpoint=False))
    opening = np.pi - np.abs(b.angle.value - a.angle.value).max()
    near = np.array([strip, inner.plate.thickness / 2])
    far = np.array([[np.cos(opening), -np.sin(opening)], [np.sin(opening), np.cos(opening)]]) @ [
        strip, -outer.plate.thickness / 2]  # fmt: skip
    expected = float(np.linalg.norm(near - far))
    (found,) = (c for c in clearances(manta.sides, solids(manta.mechanism))
                if (c.pair.first.name, c.pair.second.name) == ("left inner panel", "left outer panel"))  # fmt: skip
    assert found.pair.joined
    assert found.least == pytest.approx(expected, abs=SEARCH)
    assert found.bound <= expected + ROUNDING
    # Flat, the gap is twice the strip, but for half the difference of the thicknesses.
    assert found.largest == pytest.approx(2 * strip, abs=1e-4)


def test_a_long_rod_is_measured_in_metres() -> None:
    sides = (_longer(2.5),)
    rod = Solid(
        "rod", "rod", 0, "rod", Carrier("rod", 0, 0), (capsule(np.zeros(3), np.array([2.5, 0, 0]), 0.01),)
    )
    course = sides[0].course(np.linspace(0, 2 * np.pi, 3600, endpoint=False))[0]
    above = Convex(
        prism(np.array([[-2, -2], [2, -2], [2, 2], [-2, 2.0]]), 0.1).points + np.array([0, 0, 2.8])
    )
    found = _only(sides, rod, _solid("ceiling", FIXED, above))
    assert found.least == pytest.approx(2.75 - course.yoke.value[:, 2].max() - 0.01, abs=SEARCH)


def _longer(rod: float) -> SideLinkage:
    side = _manta().sides[0].side
    panel = replace(side.panels[0], hinge_up=rod + 0.05, rod=replace(side.panels[0].rod, length=rod))
    return close(replace(side, panels=(panel,)))


def test_parts_that_overlap_come_to_no_distance(manta: Linkage) -> None:
    box = prism(np.array([[-0.1, -0.1], [0.1, -0.1], [0.1, 0.1], [-0.1, 0.1]]), 0.05)
    still = _solid("still", FIXED, box)
    turning = _solid("turning", CRANK, Convex(box.points + np.array([0.12, 0.0, 0.0])))
    found = _only(manta.sides, turning, still)
    assert found.least == found.bound == 0
    # They share the strip next to the axis at every angle.
    assert found.largest == 0


# Whole sculptures against dense sampling.


def _sampled(sides: tuple[SideLinkage, ...], pair: Pair, crank: np.ndarray) -> np.ndarray:
    poses, at = Poses(sides, crank), np.arange(len(crank))
    least = np.full(len(crank), np.inf)
    for a in pair.shapes[0]:
        first = poses.track(pair.first.carrier, a.points, at).value
        for b in pair.shapes[1]:
            second = poses.track(pair.second.carrier, b.points, at).value
            least = np.minimum(least, separation(first, second).distance - a.radius - b.radius)
    return least


VARIANTS = {
    "manta": {},
    "twisted": {"right__key_angle": "25 deg", "panel__outer__throw__angle": "70 deg",
                "panel__outer__rod": "700 mm"},
    "skewed": {"panel__inner__yoke_pin__forward": "55 mm", "panel__outer__yoke_pin__forward": "-40 mm",
               "panel__inner__throw__radius": "105 mm", "panel__inner__rod": "640 mm", "panel__outer__rod": "720 mm"},
    "hollow": {"panel__inner__outline": {
        "unit": "mm",
        "points": [[-380, 0], [420, 0], [360, 500], [60, 380], [-260, 500]],
        "holes": [[[-50, 150], [120, 150], [120, 300], [-50, 300]]]}},
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("which", [*VARIANTS, "three panels", "moth"])
def test_nothing_sampled_is_nearer_than_the_bound(which: str) -> None:
    if which in VARIANTS:
        closed = _manta(**VARIANTS[which])
    else:
        closed = _three_panels() if which == "three panels" else linkage(mechanism(loads(MOTH)))
    found = clearances(closed.sides, solids(closed.mechanism))
    assert len(found) > 8
    # An odd number: no pose of the search's own grid.
    crank = np.linspace(0, 2 * np.pi, 121, endpoint=False) + 0.003
    for c in found:
        sampled = _sampled(closed.sides, c.pair, crank)
        assert sampled.min() >= c.bound - ROUNDING
        assert c.least <= sampled.min() + SEARCH
        assert c.least - c.bound <= SEARCH + ROUNDING
        attained = _sampled(closed.sides, c.pair, np.array([c.crank]))[0]
        assert attained == pytest.approx(c.least, abs=ROUNDING)
        if c.least > 0:
            assert np.linalg.norm(c.points[1] - c.points[0]) == pytest.approx(c.least, abs=1e-6)
        course = np.minimum(_sampled(closed.sides, c.pair, middles(POSES)), WITHIN)
        np.testing.assert_allclose(c.course, course, atol=1e-6)


def test_pairs_left_out_stay_far_apart(manta: Linkage) -> None:
    parts = solids(manta.mechanism)
    found = {(c.pair.first.name, c.pair.second.name) for c in clearances(manta.sides, parts)}
    others = [p for p in pairs(parts, mirrored=True) if (p.first.name, p.second.name) not in found]
    assert len(others) > 20
    crank = np.linspace(0, 2 * np.pi, 30)
    assert all(_sampled(manta.sides, p, crank).min() > WITHIN for p in others)


def test_what_mirrors_is_looked_at_once(manta: Linkage) -> None:
    parts = solids(manta.mechanism)
    assert mirrors(manta.sides)
    assert not mirrors(_manta(right__key_angle="1 deg").sides)
    assert not mirrors(manta.sides[:1])
    whole = {(p.first.name, p.second.name): p for p in pairs(parts, mirrored=False)}
    once = {(p.first.name, p.second.name) for p in pairs(parts, mirrored=True)}
    crank = np.linspace(0, 2 * np.pi, 12)
    for (a, b), pair in whole.items():
        if (a, b) in once:
            continue
        swapped = [
            n.replace("left", "RIGHT").replace("right", "left").replace("RIGHT", "right") for n in (a, b)
        ]
        other = next(whole[k] for k in (tuple(swapped), tuple(swapped[::-1])) if k in whole)
        assert (other.first.name, other.second.name) in once
        np.testing.assert_allclose(_sampled(manta.sides, pair, crank), _sampled(manta.sides, other, crank),
                                   atol=1e-6)  # fmt: skip


def test_parts_of_one_body_and_what_stands_still_are_no_pairs(manta: Linkage) -> None:
    for pair in pairs(solids(manta.mechanism), mirrored=False):
        assert pair.first.body != pair.second.body
        kinds = {pair.first.kind, pair.second.kind}
        assert kinds not in ({"shaft", "bearing"}, {"post", "bearing"}, {"post", "wheel"}, {"shaft"})


def test_the_joints_alone_are_left_out(manta: Linkage) -> None:
    parts = {s.name: s for s in solids(manta.mechanism)}
    rod, own, other = (parts[f"left {n}"] for n in ("inner rod", "inner throw", "outer throw"))
    assert len(rod.toward(other.name)) == 3
    assert len(rod.toward(own.name)) == 2
    assert len(own.toward(rod.name)) == 2  # the webs without the pin
    bar = rod.toward(own.name)[0].points
    assert bar[:, 0] == pytest.approx([0.0222, 0.6])  # from the rod end's body on, twice the ball across
    bar = rod.toward("left inner panel")[0].points
    assert bar[:, 0] == pytest.approx([0.0, 0.6 - 2 * 0.0222])
    plate = parts["left inner panel"].toward("left outer panel")[0].points
    assert plate[:, 1].max() == pytest.approx(0.5 - 0.012)
    assert parts["left inner panel"].toward("post")[0].points[:, 1].min() == pytest.approx(0.012)


def test_the_search_can_give_up_and_still_be_right(manta: Linkage, monkeypatch: pytest.MonkeyPatch) -> None:
    parts = solids(manta.mechanism)
    fine = {c.pair.first.name + c.pair.second.name: c for c in clearances(manta.sides, parts)}
    monkeypatch.setattr(clearance, "MOST_HALVINGS", 0)
    rough = clearances(manta.sides, parts)
    gaps = [c.least - c.bound for c in rough]
    assert max(gaps) > 10 * SEARCH
    for c in rough:
        known = fine.get(c.pair.first.name + c.pair.second.name)
        assert known is None or c.bound <= known.least
        assert known is None or c.least >= known.bound


def test_without_bounds_on_the_motion_nothing_is_promised(
    manta: Linkage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rate_bounds, "_RAISES", 0)
    monkeypatch.setattr(clearance, "MOST_OPEN", 2000)
    assert np.isinf(panel_bounds(manta.sides[0])[0].second).all()
    parts = {s.name: s for s in solids(manta.mechanism)}
    panel, rod, throw = (parts[f"left {n}"] for n in ("outer panel", "inner rod", "outer throw"))
    (found,) = of_pairs(manta.sides, (_pair(panel, rod),))
    # No more than what hulls and roundings cannot be below.
    assert -0.03 <= found.bound <= 0
    assert found.least > 0.2
    crank = of_pairs(manta.sides, (_pair(throw, parts["left bearing at 930 mm"]),))[0]
    assert crank.least - crank.bound <= SEARCH + ROUNDING


def test_neighbouring_poses_are_within_what_the_speeds_allow(manta: Linkage) -> None:
    """The course of a pair changes by no more than both parts' speeds allow over a cell."""
    parts = solids(manta.mechanism)
    fastest = {t.part.name: t.fastest for t in travels(manta.sides, parts)}
    step = 2 * np.pi / POSES
    for c in clearances(manta.sides, parts):
        allowed = step * sum(fastest.get(p.name, 0.0) for p in (c.pair.first, c.pair.second))
        assert all(abs(b - a) <= 1.01 * allowed + ROUNDING for a, b in pairwise(c.course))
