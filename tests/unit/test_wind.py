"""Wind on a flat panel: hand calculations, symmetries, work over a turn, damping of a flapping plate."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.mechanism import Mechanism, Plate
from models.outline import moments, outline
from models.resolve import mechanism
from sim.arrays import Array, rotation
from sim.linkage import SideLinkage, close
from sim.statics import statics
from sim.wind import (
    AIR,
    PlateInWind,
    Wind,
    aspect_ratio,
    drag_coefficient,
    normal_coefficient,
    plate_in_wind,
    static_pushes,
    winds_around,
)

MODELS = Path(str(files("models")))
STILL, LEVEL = np.zeros(3), np.eye(3)
LONG, CHORD = 0.6, 0.4


@pytest.fixture(scope="module")
def manta() -> Mechanism:
    return mechanism(load(MODELS / "manta.toml"))


@pytest.fixture(scope="module")
def moth() -> Mechanism:
    return mechanism(load(MODELS / "moth.toml"))


def plate(*points: tuple[float, float], holes: tuple[tuple[tuple[float, float], ...], ...] = ()) -> Plate:
    return Plate("p", outline(points, holes), 0.006, 2700.0, None, ())


def rectangle(length: float = LONG, chord: float = CHORD) -> Plate:
    return plate((0, 0), (length, 0), (length, chord), (0, chord))


def square_on(speed: float) -> tuple[Array, Array]:
    return plate_in_wind(rectangle(), drag=1.2).wrench(np.array([0, 0, speed]), LEVEL, STILL, STILL)


def test_a_rectangle_square_on_by_hand() -> None:
    """10 m/s of 1.226 kg/m3 at Cd 1.2 on .24 m2: q 61.3 N/m2, 17.654 N in the middle."""
    force, moment = square_on(10.0)
    np.testing.assert_allclose(force, [0, 0, 61.3 * 1.2 * 0.24], rtol=1e-13)
    # The middle lies .3 m forward and .2 m out: moment (.2 F, -.3 F, 0).
    np.testing.assert_allclose(moment, [0.2 * force[2], -0.3 * force[2], 0], rtol=1e-13)


def test_twice_the_speed_is_four_times_the_force_and_either_side_is_alike() -> None:
    one, two, back = (square_on(v) for v in (7.0, 14.0, -7.0))
    for k in (0, 1):
        np.testing.assert_allclose(two[k], 4 * one[k], rtol=1e-14)
        np.testing.assert_allclose(back[k], -one[k], rtol=1e-14)


def test_no_air_no_force() -> None:
    for k in (0, 1):
        np.testing.assert_array_equal(square_on(0.0)[k], 0)
    along = plate_in_wind(rectangle()).wrench(np.array([12.0, 5.0, 0]), LEVEL, STILL, STILL)
    np.testing.assert_array_equal(along[0], 0)


def test_force_is_along_the_normal_and_with_the_air() -> None:
    rng = np.random.default_rng(3)
    panel = plate_in_wind(rectangle())
    for _ in range(20):
        turn = rotation(rng.normal(size=3), float(rng.uniform(0, 3)))
        air, velocity = rng.normal(size=(2, 3)) * 8
        force, moment = panel.wrench(air, turn, velocity, STILL)
        normal = turn[:, 2]
        np.testing.assert_allclose(np.cross(normal, force), 0, atol=1e-13 * np.linalg.norm(force))
        assert force @ (air - velocity) > 0
        assert moment @ normal == pytest.approx(0, abs=1e-12)
        # At the middle of the area, since the whole plate moves alike.
        at = turn @ [LONG / 2, CHORD / 2, 0]
        np.testing.assert_allclose(moment, np.cross(at, force), atol=1e-12)


def test_at_an_angle_by_hand() -> None:
    """At 30 deg, s = 1/2, with Cd 1.2: C = (1.98 / .78 - .78) / 2 = .87923."""
    found = normal_coefficient(np.array([0.0, 0.5, 1.0]), 1.2)
    np.testing.assert_allclose(found, [0, 0.879231, 1.2], atol=1e-6)
    air = 10 * np.array([np.cos(np.pi / 6), 0, np.sin(np.pi / 6)])
    force, _ = plate_in_wind(rectangle(), drag=1.2).wrench(air, LEVEL, STILL, STILL)
    assert force[2] == pytest.approx(61.3 * 0.24 * (1.98 / 0.78 - 0.78) / 2, rel=1e-12)


@pytest.mark.parametrize("rows", [1, 4, 12, 40])
def test_a_flapping_plate_in_strips(rows: int) -> None:
    """M = rho Cd b w |w| c^4 / 8 in still air; strips at their middles leave out 1 / 2 N^2 of it, exactly."""
    for w in (3.0, -3.0):
        panel = plate_in_wind(rectangle(), drag=1.5, cells=(2, rows))
        _, moment = panel.wrench(STILL, LEVEL, STILL, np.array([w, 0, 0]))
        closed = -AIR * 1.5 * LONG * w * abs(w) * CHORD**4 / 8
        assert moment[0] == pytest.approx(closed * (1 - 1 / (2 * rows**2)), rel=1e-12)


def test_a_flapping_plate_as_it_comes() -> None:
    """With the usual cells, within the half percent that is left out."""
    panel = plate_in_wind(rectangle(), drag=1.5)
    assert len(panel.areas) == 36
    _, moment = panel.wrench(STILL, LEVEL, STILL, np.array([3.0, 0, 0]))
    assert moment[0] == pytest.approx(-AIR * 1.5 * LONG * 9 * CHORD**4 / 8, rel=5e-3)


def test_still_air_takes_energy_from_any_movement() -> None:
    rng = np.random.default_rng(5)
    panel = plate_in_wind(rectangle())
    for _ in range(20):
        turn = rotation(rng.normal(size=3), float(rng.uniform(0, 3)))
        velocity, omega = rng.normal(size=(2, 3))
        force, moment = panel.wrench(STILL, turn, velocity, omega)
        assert force @ velocity + moment @ omega < 0


def test_the_world_may_be_turned() -> None:
    rng = np.random.default_rng(7)
    panel, turn = plate_in_wind(rectangle()), rotation([1.0, 2, 3], 0.8)
    air, velocity, omega = rng.normal(size=(3, 3)) * 5
    plain = panel.wrench(air, LEVEL, velocity, omega)
    turned = panel.wrench(turn @ air, turn, turn @ velocity, turn @ omega)
    for k in (0, 1):
        np.testing.assert_allclose(turned[k], turn @ plain[k], atol=1e-12)


def test_many_poses_at_once() -> None:
    rng = np.random.default_rng(11)
    panel = plate_in_wind(rectangle())
    turns = np.array([rotation(rng.normal(size=3), float(rng.uniform(0, 3))) for _ in range(5)])
    air, velocity, omega = rng.normal(size=(3, 5, 3)) * 5
    together = panel.wrench(air, turns, velocity, omega)
    for k in range(5):
        alone = panel.wrench(air[k], turns[k], velocity[k], omega[k])
        np.testing.assert_allclose(together[0][k], alone[0], rtol=1e-13)
        np.testing.assert_allclose(together[1][k], alone[1], rtol=1e-13)


def test_another_origin_and_the_other_side() -> None:
    rng = np.random.default_rng(13)
    panel = plate_in_wind(rectangle())
    air, velocity, omega, by = rng.normal(size=(4, 3)) * 2
    force, moment = panel.wrench(air, LEVEL, velocity, omega)
    # The same plate seen from a point that lies at -by: it moves at velocity - omega x by.
    there = panel.shifted(by).wrench(air, LEVEL, velocity - np.cross(omega, by), omega)
    np.testing.assert_allclose(there[0], force, rtol=1e-12)
    np.testing.assert_allclose(there[1], moment + np.cross(by, force), atol=1e-12)
    mirror = np.array([1, -1, 1])
    other = panel.mirrored().wrench(air * mirror, LEVEL, velocity * mirror, -omega * mirror)
    np.testing.assert_allclose(other[0], force * mirror, rtol=1e-12)
    np.testing.assert_allclose(other[1], -moment * mirror, atol=1e-12)


def test_cells_make_up_the_plate_without_its_holes() -> None:
    hole = ((0.05, 0.1), (0.05, 0.2), (0.15, 0.15))
    notched = plate((0, 0), (0.7, 0.0), (0.5, 0.5), (0.3, 0.1), (-0.1, 0.4), holes=(hole,))
    panel, exact = plate_in_wind(notched), moments(notched.outline)
    assert panel.areas.sum() == pytest.approx(exact.area, rel=1e-12)
    middle = panel.areas @ panel.centroids / exact.area
    np.testing.assert_allclose(middle, [*exact.centroid, 0], atol=1e-12)


def test_proportions() -> None:
    assert aspect_ratio(rectangle(3.0, 1.0).outline) == pytest.approx(3)
    assert aspect_ratio(rectangle(1.0, 3.0).outline) == pytest.approx(3)
    tilted = plate((0, 0), (1, 1), (0.5, 1.5), (-0.5, 0.5))
    assert aspect_ratio(tilted.outline) == pytest.approx(2)
    # An equilateral triangle of side 1: 1 over its area, the square root of 3 over 4.
    assert aspect_ratio(plate((0, 0), (1, 0), (0.5, np.sqrt(3) / 2)).outline) == pytest.approx(4 / np.sqrt(3))
    hole = ((0.1, 0.1), (0.1, 0.2), (0.2, 0.2))
    pierced = plate((0, 0), (1, 0), (1, 0.5), (0, 0.5), holes=(hole,))
    assert aspect_ratio(pierced.outline) == pytest.approx(2)


def test_drag_lies_between_a_square_and_a_long_plate() -> None:
    aspects = np.linspace(1, 50, 99)
    found = np.array([drag_coefficient(a) for a in aspects])
    assert np.all(np.diff(found) > 0)
    assert 1.168 < found[0] < 1.17
    assert drag_coefficient(1e6) == pytest.approx(1.98, abs=1e-4)
    assert plate_in_wind(rectangle()).drag == drag_coefficient(1.5)


def blowing(velocity: Array) -> Wind:
    """Give the wind of a velocity (3,), m/s, on both sides alike."""
    speed = float(np.linalg.norm(velocity))
    return Wind(speed, float(np.arctan2(velocity[1], velocity[0])), float(np.arcsin(velocity[2] / speed)))


def test_a_wind_rises_and_leaves_the_far_side_in_its_lee() -> None:
    """20 m/s toward the left, rising by 30 deg: the left side is behind the right one."""
    wind = Wind(20.0, np.pi / 2, np.pi / 6, 0.25)
    np.testing.assert_allclose(wind.on(-1), [0, 20 * np.sqrt(0.75), 10], atol=1e-12)
    np.testing.assert_allclose(wind.on(1), [0, 5 * np.sqrt(0.75), 2.5], atol=1e-12)
    # From the front, neither is; aslant, as far as it blows across.
    ahead = Wind(20.0, 0.0, 0.0, 0.25)
    np.testing.assert_allclose([ahead.on(1), ahead.on(-1)], [[20, 0, 0]] * 2, atol=1e-12)
    aslant = Wind(20.0, np.radians(-30), 0.0, 0.0)
    np.testing.assert_allclose(aslant.on(-1), [10 * np.sqrt(0.75), -5, 0], atol=1e-12)
    np.testing.assert_allclose(blowing(np.array([3.0, -8.0, 4.0])).on(1), [3, -8, 4], atol=1e-12)


def test_winds_around_are_each_tried_rising_and_falling_with_a_lee_and_without() -> None:
    around = winds_around(10.0, 4, 0.2, 0.0)
    assert [w[0].direction for w in around] == pytest.approx(np.radians([0, 90, 180, 270]))
    assert {(w.slope, w.lee) for w in around[1]} == {(0.2, 0.0), (-0.2, 0.0), (0.2, 1.0), (-0.2, 1.0)}
    assert winds_around(10.0, 1, 0.0, 1.0) == [[Wind(10.0, 0.0)]]


def test_static_pushes_are_the_wrench_of_a_panel_at_rest(manta: Mechanism) -> None:
    """On both sides, force and moment about the hinge, with the world's coordinates in between."""
    crank = np.linspace(0, 2 * np.pi, 7)
    wind = np.array([3.0, -8.0, 4.0])
    for side in manta.sides:
        linked = close(side)
        pushes = static_pushes(linked, crank, blowing(wind))
        mirror = np.array([1.0, side.sign, 1.0])
        for course in linked.course(crank):
            force, point = pushes[course.panel.name]
            panel = plate_in_wind(course.panel.plate)
            panel = panel if side.sign > 0 else panel.mirrored()
            turns = np.array([rotation([1.0, 0, 0], side.sign * a) for a in course.angle.value])
            expected, moment = panel.wrench(wind, turns, np.zeros((7, 3)), np.zeros((7, 3)))
            np.testing.assert_allclose(force * mirror, expected, atol=1e-11)
            arm = (point - course.hinge.value) * mirror
            np.testing.assert_allclose(np.cross(arm, force * mirror), moment, atol=1e-11)


def mean_torque(side: SideLinkage, wind: Array, friction: Mechanism, n: int) -> tuple[float, float]:
    """Give mean and largest torque of a wind on standing panels without weight over n even crank angles.

    They begin at .3 rad, so that no symmetry of the linkage makes the sum nothing.
    """
    crank = 0.3 + np.linspace(0, 2 * np.pi, n, endpoint=False)
    torque = statics(side, crank, 0.0, friction.friction, static_pushes(side, crank, blowing(wind))).torque
    return float(np.mean(torque)), float(np.abs(torque).max())


def test_one_panel_takes_no_work_from_a_steady_wind(moth: Mechanism) -> None:
    """Its force depends on its angle alone, and comes back to where it was: nothing but rounding is left."""
    for sculpture_side in moth.sides:
        side = close(sculpture_side)
        # From below, so that the air meets one face over the whole swing: smooth, so that a mean over even
        # angles converges faster than any power.
        wind = np.array([2.0, 1.0, 9.0])
        coarse, largest = mean_torque(side, wind, moth, 8)
        fine, _ = mean_torque(side, wind, moth, 128)
        assert largest > 1
        assert abs(coarse) > 1e-6 * largest  # it is a quadrature, not an identity
        assert abs(fine) < 1e-13 * largest


def test_one_panel_takes_no_work_from_a_level_wind_either(moth: Mechanism) -> None:
    """The air now meets both faces in turn; the force's bend where it is nought leaves 1 / n^3 or so."""
    side = close(moth.sides[0])
    fine, largest = mean_torque(side, np.array([3.0, 8.0, 0.0]), moth, 7200)
    assert abs(fine) < 1e-8 * largest


def test_two_panels_can_be_driven_by_a_steady_wind(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    wind = np.array([2.0, 1.0, 9.0])
    coarse, largest = mean_torque(side, wind, manta, 128)
    fine, _ = mean_torque(side, wind, manta, 256)
    assert abs(fine) > 1e-3 * largest
    assert coarse == pytest.approx(fine, rel=1e-10)
    # And one of them alone cannot.
    inner = close(replace(manta.sides[0], panels=manta.sides[0].panels[:1]))
    alone, largest = mean_torque(inner, wind, manta, 256)
    assert abs(alone) < 1e-12 * largest


def test_flapping_at_speed_is_damped_by_the_air_it_moves_in() -> None:
    """A panel that flaps in a wind square on: (V - w y)^2 over the chord, by hand with 40 strips."""
    speed, w, rows = 6.0, 5.0, 40
    panel: PlateInWind = plate_in_wind(rectangle(), drag=1.5, cells=(1, rows))
    _, moment = panel.wrench(np.array([0, 0, speed]), LEVEL, STILL, np.array([w, 0, 0]))
    c = CHORD
    closed = AIR / 2 * 1.5 * LONG * (speed**2 * c**2 / 2 - 2 * speed * w * c**3 / 3 + w**2 * c**4 / 4)
    # Midpoints leave out h^2 / 24 of the integrand's second derivative: 1e-4 here.
    assert moment[0] == pytest.approx(closed, rel=5e-4)
