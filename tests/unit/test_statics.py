"""Joint forces of a side at rest and in motion, against whole-body balance, virtual work, hand sums and the engine."""

from collections.abc import Mapping
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.mechanism import Mechanism, Side
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.builders import Linkage, linkage
from sim.closed_form import Moving, gravity_torque, momentum_rate, moving_parts, reduced_inertia
from sim.dynamics import dynamics, tables
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.linkage import SideLinkage, carried, close
from sim.scenarios import LetGo, Turn
from sim.statics import Balance, Statics, balance, rub_arms, rubbed, statics, weights

MODELS = Path(str(files("models")))
CRANK = np.linspace(0, 2 * np.pi, 181)
G = 9.81
ASKEW = np.array([1.3, -2.1, -9.4])
RPM = np.pi / 30


@pytest.fixture(scope="module")
def manta() -> Mechanism:
    return mechanism(load(MODELS / "manta.toml"))


def tips(side: SideLinkage) -> dict[str, tuple[Array, Array]]:
    """Give a push in some direction at a point fixed to each panel."""
    force = {"inner": np.array([20.0, -35.0, 50.0]), "outer": np.array([-15.0, 10.0, -70.0])}
    return {c.panel.name: (force[c.panel.name], carried(c, LOCAL).value) for c in side.course(CRANK)}


LOCAL = np.array([0.1, 0.4, 0.02])


def slider(panel_length: float = 2.0, rod: float = 20.0, throw: float = 0.02) -> Side:
    """Give a side whose rod hangs straight down from a short throw to a yoke in the throw's own plane."""
    side = mechanism(load(MODELS / "moth.toml")).sides[0]
    old = side.panels[0]
    panel = replace(
        old, hinge_forward=0.0, hinge_out=0.5, hinge_up=-rod, yoke_forward=0.0, yoke_out=panel_length,
        yoke_below=0.0, throw_radius=throw, throw_angle=0.0, throw_out=0.5 + panel_length,
        rod=replace(old.rod, length=rod), seen_panel=0.0, seen_crank=np.pi / 2,
    )  # fmt: skip
    return replace(side, panels=(panel,), key_angle=0.0)


def test_a_lever_by_hand(manta: Mechanism) -> None:
    """P down at b from the hinge of a level panel on an upright rod at a: P b / a up the rod, the rest at the hinge."""
    side = close(slider())
    level = np.array([np.pi / 2])  # the crank pin is level with its axis, the panel lies level
    course = side.course(level)[0]
    push = {"wing": (np.array([0.0, 0.0, -100.0]), carried(course, np.array([0.0, 3.0, 0.0])).value)}
    found = statics(side, level, 0.0, manta.friction, push)
    # The rod leans by throw / rod = 1e-3: that share of 150 N across it, 1e-6 of it along, the lean of the panel alike.
    crank_eye = found.forces[names.crank_eye("left", "wing")][0]
    np.testing.assert_allclose(crank_eye, [0, 0, -150], atol=0.2)
    np.testing.assert_allclose(crank_eye[2], -150, atol=1e-3)
    np.testing.assert_allclose(found.forces[names.hinge("left", "wing")][0], [0, 0, 50], atol=0.2)
    # 150 N down at the throw of 20 mm, a quarter turn past the top: the crank must be held by 150 N x 20 mm.
    assert found.torque[0] == pytest.approx(-3.0, abs=1e-4)


def test_the_whole_side_is_in_balance_askew_and_pushed(manta: Mechanism) -> None:
    """Forces and moments of panels and rods together, cut free from ground and crankshaft: none is left over."""
    side = close(manta.sides[0])
    pushes = tips(side)
    found = statics(side, CRANK, ASKEW, manta.friction, pushes)
    parts = {p.name: p for p in moving_parts(side, CRANK)}
    courses = side.course(CRANK)
    hinge = names.hinge("left", "inner")
    force = -found.forces[hinge]
    moment = -np.cross(courses[0].hinge.value, found.forces[hinge]) - found.moments[hinge]
    for course in courses:
        pin = found.forces[names.crank_eye("left", course.panel.name)]
        at, (push, point) = course.pin.value, pushes[course.panel.name]
        force, moment = force - pin + push, moment - np.cross(at, pin) + np.cross(point, push)
        for part in (parts[f"{course.panel.name} panel"], parts[f"{course.panel.name} rod"]):
            force, moment = force + part.mass * ASKEW, moment + np.cross(part.com.value, part.mass * ASKEW)
    # Sums of some hundred newtons and newton metres: rounding.
    np.testing.assert_allclose(force, 0, atol=1e-10)
    np.testing.assert_allclose(moment, 0, atol=1e-10)


def test_the_crankshaft_is_in_balance_and_its_thrust_is_located(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    found = statics(side, CRANK, ASKEW, manta.friction, tips(side))
    shaft = moving_parts(side, CRANK)[0]
    locating, radial = (found.forces[f("left")] for f in (names.locating, names.radial))
    near, far = side.side.crank.bearings
    force = shaft.mass * ASKEW - locating - radial
    moment = np.cross(shaft.com.value, shaft.mass * ASKEW)
    moment = moment - np.cross([0, near, 0], locating) - np.cross([0, far, 0], radial)
    moment[:, 1] += found.torque
    for course in side.course(CRANK):
        pin = found.forces[names.crank_eye("left", course.panel.name)]
        force, moment = force + pin, moment + np.cross(course.pin.value, pin)
    np.testing.assert_allclose(force, 0, atol=1e-10)
    np.testing.assert_allclose(moment, 0, atol=1e-10)
    assert not radial[:, 1].any()
    assert np.abs(locating[:, 1]).min() > 0


def test_torque_by_virtual_work(manta: Mechanism) -> None:
    """What holds the crank does the work that weights and pushes would do: two independent ways, both exact."""
    side = close(manta.sides[0])
    pushes = tips(side)
    found = statics(side, CRANK, ASKEW, manta.friction, pushes)
    work = -np.sum([p.mass * p.com.first @ ASKEW for p in moving_parts(side, CRANK)], axis=0)
    for course in side.course(CRANK):
        work = work - carried(course, LOCAL).first @ pushes[course.panel.name][0]
    np.testing.assert_allclose(found.torque, work, atol=1e-10)


def test_gravity_as_a_number_is_gravity_down(manta: Mechanism) -> None:
    side = close(manta.sides[1])
    number = statics(side, CRANK, G, manta.friction)
    vector = statics(side, CRANK, np.array([0, 0, -G]), manta.friction)
    for joint, force in number.forces.items():
        np.testing.assert_array_equal(force, vector.forces[joint])
    np.testing.assert_array_equal(number.torque, vector.torque)
    np.testing.assert_allclose(number.torque, gravity_torque(moving_parts(side, CRANK), G), atol=1e-10)


def test_a_panel_that_is_not_there_cannot_be_pushed(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    with pytest.raises(ValueError, match="left side has no panel 'tip' to push; its panels are inner, outer"):
        statics(side, CRANK, G, manta.friction, {"tip": (np.zeros(3), np.zeros(3))})


def test_rubbing_arms_by_hand(manta: Mechanism) -> None:
    """On an upright rod the crank's eye turns once a turn, the yoke's hardly at all, the hinge as its panel does."""
    side, rubbing = close(slider()), manta.friction
    arms = rub_arms(side, CRANK, rubbing)
    panel, course = side.side.panels[0], side.course(CRANK)[0]
    for bearing in (names.locating("left"), names.radial("left")):
        np.testing.assert_allclose(arms[bearing], rubbing.bush * side.side.crank.shaft / 2, rtol=1e-14)
    pin, ball = rubbing.hinge * panel.hinge_pin / 2, rubbing.rod_end * panel.rod.ball / 2
    np.testing.assert_allclose(
        arms[names.hinge("left", "wing")], pin * np.abs(course.angle.first), atol=1e-16
    )
    # The rod swings by throw / rod = 1e-3 of the crank's turn, against the panel by throw / yoke = 1e-2.
    np.testing.assert_allclose(arms[names.crank_eye("left", "wing")], ball, rtol=2e-3)
    assert 0.009 * ball < arms[names.yoke_eye("left", "wing")].max() < 0.012 * ball


def test_outer_hinge_rubs_by_the_difference_of_both_panels(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    inner, outer = side.course(CRANK)
    arm = manta.friction.hinge * outer.panel.hinge_pin / 2 * np.abs(outer.angle.first - inner.angle.first)
    arms = rub_arms(side, CRANK, manta.friction)
    np.testing.assert_allclose(arms[names.hinge("left", "outer")], arm, atol=1e-16)


def test_friction_is_the_sum_of_arm_times_force(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    found: Statics = statics(side, CRANK, G, manta.friction)
    arms = rub_arms(side, CRANK, manta.friction)
    assert set(arms) == set(found.forces)
    by_hand = sum(a * np.sqrt(np.sum(found.forces[j] ** 2, 1)) for j, a in arms.items())
    np.testing.assert_allclose(found.friction, by_hand, rtol=1e-13)
    np.testing.assert_allclose(rubbed(arms, found.forces), by_hand, rtol=1e-13)


def test_a_balance_leaves_out_what_carries_nothing(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    parts = moving_parts(side, CRANK)
    all_parts, shaft = weights(parts, G), weights(parts[:1], G)
    found = balance(side.side, side.course(CRANK), shaft)
    np.testing.assert_allclose(found.forces[names.crank_eye("left", "inner")], 0, atol=1e-15)
    rest = {name: load for name, load in all_parts.items() if name != "crankshaft"}
    other, whole = (
        balance(side.side, side.course(CRANK), rest),
        balance(side.side, side.course(CRANK), all_parts),
    )
    np.testing.assert_allclose(found.torque + other.torque, whole.torque, atol=1e-12)


# The moving side.


def differentiated(values: Array) -> Array:
    """Give the derivative of values at even angles over a turn, exact for what the samples resolve."""
    n = len(values)
    return np.fft.ifft(1j * np.fft.fftfreq(n, 1 / n) * np.fft.fft(values)).real


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_torque_in_motion_is_that_of_one_degree_of_freedom(name: str) -> None:
    """By moments of every part's inertia, and by energy: M t'' + M' t'^2 / 2 + V'."""
    crank = np.linspace(0, 2 * np.pi, 512, endpoint=False)
    for side in mechanism(load(MODELS / f"{name}.toml")).sides:
        linked = close(side)
        parts = moving_parts(linked, crank)
        inertia = reduced_inertia(parts)
        speed, acceleration = 3.0, -7.0
        expected = inertia * acceleration + differentiated(inertia) * speed**2 / 2 + gravity_torque(parts, G)
        found = dynamics(linked, crank, speed, acceleration, G).torque
        # The inertia's harmonics have died out long before the 256th: rounding, times the wave number.
        np.testing.assert_allclose(found, expected, atol=1e-10 * np.abs(expected).max())


def test_ground_carries_weight_and_change_of_momentum(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    parts = moving_parts(side, CRANK)
    speed, acceleration = np.cos(CRANK) + 2, np.sin(CRANK)
    found = dynamics(side, CRANK, speed, acceleration, ASKEW).forces
    ground = [found[j] for j in (names.locating("left"), names.radial("left"), names.hinge("left", "inner"))]
    mass = sum(p.mass for p in parts)
    expected = mass * ASKEW - momentum_rate(parts, speed, acceleration)
    np.testing.assert_allclose(np.sum(ground, axis=0), expected, atol=1e-10)


def angular_momentum(parts: Mapping[str, Moving]) -> Array:
    """Give the angular momentum (n, 3) about the origin per unit of crank speed."""
    return np.sum(
        [
            np.cross(p.com.value, p.mass * p.com.first) + np.einsum("nij,nj->ni", p.inertia, p.spin)
            for p in parts.values()
        ],
        axis=0,
    )


def test_ground_carries_change_of_angular_momentum(manta: Mechanism) -> None:
    """About the origin, all three components; the rate of H(t) t' is H' t'^2 + H t'', H' by Fourier series."""
    crank = np.linspace(0, 2 * np.pi, 512, endpoint=False)
    side = close(manta.sides[0])
    momentum = angular_momentum({p.name: p for p in moving_parts(side, crank)})
    speed, acceleration = 2.0, 5.0
    slope = np.stack([differentiated(h) for h in momentum.T], -1)
    found = dynamics(side, crank, speed, acceleration, 0.0)
    near, far = side.side.crank.bearings
    hinge = names.hinge("left", "inner")
    carried_ = (
        np.cross([0, near, 0], found.forces[names.locating("left")])
        + np.cross([0, far, 0], found.forces[names.radial("left")])
        + np.cross(side.course(crank)[0].hinge.value, found.forces[hinge])
        + found.moments[hinge]
    )
    carried_[:, 1] -= found.torque
    expected = -(slope * speed**2 + momentum * acceleration)
    np.testing.assert_allclose(carried_, expected, atol=1e-10 * np.abs(expected).max())


def test_tables_add_up_to_the_motion(manta: Mechanism) -> None:
    side = close(manta.sides[1])
    speed, acceleration = np.cos(CRANK) + 2, np.sin(CRANK)
    t = tables(side, CRANK, G)
    whole = dynamics(side, CRANK, speed, acceleration, G)
    still = statics(side, CRANK, G, manta.friction)

    def added(of: str, name: str) -> Array:
        still_, squared, linear = (getattr(x, of)[name] for x in (t.still, t.squared, t.linear))
        return still_ + squared * speed[:, None] ** 2 + linear * acceleration[:, None]

    for joint, force in whole.forces.items():
        np.testing.assert_allclose(added("forces", joint), force, atol=1e-10)
        np.testing.assert_array_equal(t.still.forces[joint], still.forces[joint])
    for joint, moment in whole.moments.items():
        np.testing.assert_allclose(added("moments", joint), moment, atol=1e-10)
    torque = t.still.torque + t.squared.torque * speed**2 + t.linear.torque * acceleration
    np.testing.assert_allclose(torque, whole.torque, atol=1e-10)


def test_pushes_and_inertia_add_up(manta: Mechanism) -> None:
    side = close(manta.sides[0])
    moving = dynamics(side, CRANK, 3.0, 1.0, G)
    pushed = dynamics(side, CRANK, 3.0, 1.0, G, tips(side))
    alone = statics(side, CRANK, 0.0, manta.friction, tips(side))
    np.testing.assert_allclose(pushed.torque, moving.torque + alone.torque, atol=1e-10)
    with pytest.raises(ValueError, match="no panel 'tip'"):
        dynamics(side, CRANK, 3.0, 1.0, G, {"tip": (np.zeros(3), np.zeros(3))})


@pytest.mark.parametrize("name", ["manta", "moth"])
@pytest.mark.parametrize("gravity", [np.array([0.0, 0.0, -G]), np.zeros(3), ASKEW])
def test_engine_turning_at_60_rpm(name: str, gravity: Array) -> None:
    """Every joint force and hinge moment of both sides over a turn, with weights upright, without, and askew."""
    closed = rigid(name)
    # The engine's step of about a degree leaves 6e-5 to 1.2e-4 of the largest, a quarter of that at half the step.
    assert worst(closed, run(closed, Turn(60 * RPM), gravity), gravity) < 2e-4


def test_engine_let_go() -> None:
    """The same with an acceleration, of up to 137 rad/s2 in a fall from rest."""
    closed = rigid("moth")
    down = np.array([0.0, 0.0, -G])
    trace = run(closed, LetGo(0.0, np.radians(200)), down, 0.3)
    assert np.abs(trace.spins[names.crankshaft("left")].acceleration).max() > 100
    # 5e-5 of the largest at this step, 2e-5 at half the step.
    assert worst(closed, trace, down) < 1e-4


def rigid(name: str) -> Linkage:
    """Give a sculpture whose drive neither gives nor slackens: how chains and couplings swing is no matter here."""
    m = mechanism(load(MODELS / f"{name}.toml"))
    sides = tuple(
        replace(s, crank=replace(s.crank, coupling=replace(s.crank.coupling, kind="clamp", stiffness=None)))
        for s in m.sides
    )
    return linkage(replace(m, sides=sides, stages=tuple(replace(s, kind="direct") for s in m.stages)))


def run(closed: Linkage, scenario: Turn | LetGo, gravity: Array, end: float | None = None) -> Trace:
    scene = replace(scenario.scene(closed), drags=(), gravity=gravity)
    return ExudynEngine().simulate(scene, Stepping(scenario.step(closed), end or scenario.end(closed)))


def worst(closed: Linkage, trace: Trace, gravity: Array) -> float:
    """Give the largest difference of forces and of moments, each as a share of the largest there is."""
    shares: list[float] = []
    for side in closed.sides:
        sign, spin = side.side.sign, trace.spins[names.crankshaft(side.side.name)]
        mirror = np.array([1, sign, 1])
        found: Balance = dynamics(side, spin.angle, spin.speed, spin.acceleration, gravity * mirror)
        # A moment's mirror image turns round about what lies in the mirror.
        for of, turned in (("force", mirror), ("moment", sign * mirror)):
            kind: dict[str, Array] = getattr(found, f"{of}s")
            largest = max(np.abs(x).max() for x in kind.values())
            off = max(np.abs(getattr(trace.joints[j], of) - x * turned).max() for j, x in kind.items())
            shares.append(off / largest)
    return max(shares)
