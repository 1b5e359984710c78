"""Bow, how the inner end gives, wing error, stress: against closed forms and loops closed anew."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis import shaft_bow, wing_error
from analysis.finding import Finding
from models.loading import changed, load
from models.mechanism import Side, Station
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.beam import influence, round_second_moment, slope_influence
from sim.builders import Linkage, linkage
from sim.linkage import SideLinkage, close
from sim.shaft.crank import MIDDLE, throw
from sim.shaft.ends import inner_end
from sim.shaft.frame import Member, rectangle_section, round_section
from sim.shaft.loading import Loading, bowed, standing_still, unloaded
from sim.shaft.stress import equivalent
from sim.shaft.wings import pins_moved, wing_errors

MODELS = Path(__file__).parents[2] / "models"


def closed(name: str, **values: object) -> Linkage:
    changes = {key.replace("__", "."): value for key, value in values.items()}
    return linkage(mechanism(changed(load(MODELS / f"{name}.toml"), changes)))


def with_stations(side: Side, *stations: Station) -> Side:
    return replace(side, crank=replace(side.crank, stations=stations))


def one(found: list[Finding], what: str, where: str) -> Finding:
    return next(f for f in found if (f.what, f.where) == (what, where))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return closed("manta")


@pytest.fixture(scope="module")
def still(manta: Linkage) -> Loading:
    return standing_still(manta.sides[0], manta.mechanism)


# --- Bow ---


def test_a_bow_puts_the_inner_end_off_line(manta: Linkage) -> None:
    """Half a sine of height e over L between the bearings: slope pi e / L there, straight on over the overhang."""
    side = manta.sides[0].side
    near, far = side.crank.bearings
    slope = np.pi * 1e-3 / (far - near)
    made = shaft_bow.bow(manta.sides[0], 2e-3)
    assert made.end.angular == pytest.approx(slope, rel=1e-6)
    assert made.end.parallel == pytest.approx(slope * (near - side.crank.ends[0]), rel=1e-6)
    assert all(force < 1e-3 for force in made.forces.values())
    found = shaft_bow.of_linkage(manta, 2e-3)
    assert one(found, shaft_bow.ANGULAR, "left coupling").value == pytest.approx(slope, rel=1e-6)
    assert not any(f.what == shaft_bow.FORCE for f in found)
    assert shaft_bow.of_linkage(manta) == []


def test_a_third_bearing_forces_a_bow_straight(manta: Linkage) -> None:
    """Its force is what pushes the free bow back onto the line: e over the flexibility there."""
    side = manta.sides[0].side
    third = with_stations(side, *side.crank.stations, Station(0.59, "arm", None))
    made = shaft_bow.bow(SideLinkage(third, manta.sides[0].folds), 2e-3, np.radians(20))
    free = inner_end(bowed(side, 2e-3)).shape
    at = 6 * free.crank.node(MIDDLE)
    rows = [at, at + 2]
    flexibility = free.held.by_load[np.ix_(rows, rows)]
    toward = np.array([np.sin(np.radians(20)), np.cos(np.radians(20))])
    force = np.linalg.solve(flexibility, 1e-3 * toward)
    assert made.forces[names.further("left", 3)] == pytest.approx(np.linalg.norm(force), rel=1e-6)
    assert made.known


def displaced(closed_side: SideLinkage, moved: dict[str, Array]) -> SideLinkage:
    """Give a side closed with its throws where displacements (3,) in turning axes put the pins."""
    panels = []
    for p in closed_side.side.panels:
        x = p.throw_radius * np.sin(p.throw_angle) + moved[p.name][0]
        z = p.throw_radius * np.cos(p.throw_angle) + moved[p.name][2]
        panels.append(
            replace(p, throw_radius=float(np.hypot(x, z)), throw_angle=float(np.arctan2(x, z)),
                    throw_out=p.throw_out + float(moved[p.name][1]))
        )  # fmt: skip
    return close(replace(closed_side.side, panels=tuple(panels)))


def test_wing_error_of_a_bow_is_that_of_throws_so_welded() -> None:
    keyed = closed("manta", left__key_angle="10 deg").sides[0]
    shape = unloaded(bowed(keyed.side, 4e-3, np.radians(50)))
    nodes = {p.name: 6 * shape.crank.node(throw(p.name)) for p in keyed.side.panels}
    moved = displaced(keyed, {name: shape.moved[0, k : k + 3] for name, k in nodes.items()})
    crank = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    found = wing_errors(keyed, crank, pins_moved(shape, keyed.side.key_angle, crank))
    for a, b in zip(keyed.course(crank), moved.course(crank), strict=True):
        assert found[a.panel.name] == pytest.approx(b.angle.value - a.angle.value, abs=1e-12)
        assert np.abs(found[a.panel.name]).max() > 1e-3
    made = shaft_bow.bow(keyed, 4e-3, np.radians(50))
    for w in made.wings:
        at = np.array([w.crank])
        sizes = wing_errors(keyed, at, pins_moved(shape, keyed.side.key_angle, at))
        assert abs(sizes[w.panel][0]) == pytest.approx(w.size, rel=1e-9)


def test_the_worst_direction_of_a_bow_is_no_better_than_any(manta: Linkage) -> None:
    worst = {w.panel: w.size for w in shaft_bow.bow(manta.sides[0], 2e-3).wings}
    for toward in np.radians([7.0, 100.0, 222.0]):
        for w in shaft_bow.bow(manta.sides[0], 2e-3, float(toward)).wings:
            assert w.size <= 1.01 * worst[w.panel]
    given = closed("manta", crank__runout="2 mm", crank__runout_angle="45 deg")
    own = shaft_bow.bow(given.sides[0])
    assert own.known
    assert own.wings == shaft_bow.bow(manta.sides[0], 2e-3, np.radians(45)).wings


# --- How the end gives ---


def test_the_inner_ends_flexibility_is_that_of_a_straight_bar_where_the_throws_are_none(
    manta: Linkage,
) -> None:
    side = manta.sides[0].side
    none = tuple(replace(p, throw_radius=1e-5) for p in side.panels)
    straight = replace(side, panels=none, crank=replace(side.crank, pin=side.crank.shaft))
    end = inner_end(straight)
    EI = 200e9 * round_second_moment(0.0254)
    at, main = [side.crank.ends[0]], side.crank.bearings
    section = round_section(0.0254)
    stiff = section.shear[0] * section.area * 200e9 / 2.6
    a, span = main[0] - at[0], main[1] - main[0]
    shear = (a + a**2 / span) / stiff
    plane = end.plane(np.radians(35))
    # Webs a hundredth of a millimetre long twist by a three-thousandth of what the span bends.
    assert plane[0, 0] == pytest.approx(influence(at, at, main, EI)[0, 0] + shear, rel=5e-4)
    # A force on an overhang shears the span by a/L of it, whose slope the overhang takes on: a / (L k G A).
    assert plane[1, 0] == pytest.approx(slope_influence(at, at, main, EI)[0, 0] - a / span / stiff, rel=5e-4)
    # A moment at the end: the span's L / 3 EI with its shear 1 / (L k G A), and the overhang's a / EI.
    assert plane[1, 1] == pytest.approx(span / (3 * EI) + a / EI + 1 / (span * stiff), rel=5e-4)
    assert plane[0, 1] == pytest.approx(plane[1, 0], rel=1e-6)


def test_the_throws_make_the_end_softer_and_stiffest_one_way(manta: Linkage) -> None:
    end = inner_end(manta.sides[0].side)
    at, main = [0.19], manta.sides[0].side.crank.bearings
    straight = influence(at, at, main, 200e9 * round_second_moment(0.0254))[0, 0]
    toward, plane = end.stiffest
    assert plane[0, 0] > straight
    held = [np.linalg.inv(end.plane(float(t)))[0, 0] for t in np.radians(np.arange(0, 180, 7))]
    assert np.linalg.inv(plane)[0, 0] >= max(held) * (1 - 1e-4)
    assert end.plane(toward) == pytest.approx(plane)
    assert end.flexibility == pytest.approx(end.flexibility.T, rel=1e-6, abs=1e-12)


def test_a_load_at_the_end_reaches_the_bearings_by_levers(manta: Linkage) -> None:
    side = manta.sides[0].side
    a, span = 0.06, 0.68
    found = inner_end(side).on_bearings(np.array([0.0, 100.0, 5.0, 0.0]))
    # Up 100 N on the overhang; 5 N m that turns the line's slope toward forward, shared as a couple.
    assert found[names.locating("left")] == pytest.approx([-5 / span, 100 * (1 + a / span)], abs=1e-6)
    assert found[names.radial("left")] == pytest.approx([5 / span, -100 * a / span], abs=1e-6)


# --- Error by load ---


def test_wing_error_by_load_is_the_closure_with_the_pins_where_they_are(
    manta: Linkage, still: Loading
) -> None:
    side = manta.sides[0]
    shape = still.shape()
    errors = wing_error.by_load(manta)[0]
    for n in (0, 95, 233):
        at = {p.name: 6 * shape.crank.node(throw(p.name)) for p in side.side.panels}
        moved = displaced(side, {name: shape.moved[n, k : k + 3] for name, k in at.items()})
        here = still.crank[n : n + 1]
        for a, b in zip(side.course(here), moved.course(here), strict=True):
            expected = float(b.angle.value[0] - a.angle.value[0])
            assert errors[a.panel.name][n] == pytest.approx(expected, abs=1e-12)


def test_sides_that_bend_alike_stay_together(manta: Linkage) -> None:
    found = wing_error.of_linkage(manta)
    assert one(found, wing_error.BENDING, "left outer panel").value > np.radians(0.5)
    assert one(found, wing_error.APART, "outer").value < 1e-12
    thicker = closed("manta", right__panel__outer__thickness="5 mm")
    apart = one(wing_error.of_linkage(thicker), wing_error.APART, "outer")
    assert apart.value > np.radians(0.1)


# --- Stress ---


def test_nominal_stress_by_hand() -> None:
    bar = Member("shaft", 0, 1, np.eye(3), 1.0, round_section(0.02), 2e11)
    web = Member("web", 0, 1, np.eye(3), 1.0, rectangle_section(0.01, 0.05), 2e11)
    loads = np.zeros((1, 2, 2, 6))
    loads[0, 0, 0, 4:] = 30.0, 40.0
    loads[0, 0, 1, 3] = 50.0
    loads[0, 1, 0, 5] = 10.0
    loads[0, 1, 1, 0] = 1000.0
    found = equivalent((bar, web), loads)[0]
    assert found[0, 0] == pytest.approx(32 * 50 / (np.pi * 0.02**3))
    assert found[0, 1] == pytest.approx(np.sqrt(3) * 16 * 50 / (np.pi * 0.02**3))
    # About local z the web bends across its 10 mm: 6 M / (b h^2).
    assert found[1, 0] == pytest.approx(6 * 10 / (0.05 * 0.01**2))
    assert found[1, 1] == pytest.approx(1000 / (0.01 * 0.05))
