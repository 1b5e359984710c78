"""Scenarios in the engine: what starts exactly, what is lost to friction, what a hand can do."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.people import people
from models.resolve import mechanism
from sim import names
from sim.builders import Linkage, linkage, mean_friction
from sim.builders.drive import drive_inertia
from sim.closed_form import gravity_torque, moving_parts, reduced_inertia
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.operators.steady import SteadyHand
from sim.recording import energy
from sim.scenarios import Crank, LetGo, Scenario, Turn, inertia_at_wheel
from sim.scene import Scene
from sim.whole import holding_torque, potential_energy

MODELS = Path(str(files("models")))
RPM = np.pi / 30
ENGINE = ExudynEngine()


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return linkage(mechanism(load(MODELS / "manta.toml")))


@pytest.fixture(scope="module")
def moth() -> Linkage:
    return linkage(mechanism(load(MODELS / "moth.toml")))


def run(closed: Linkage, scenario: Scenario, end: float | None = None) -> tuple[Scene, Trace]:
    scene = scenario.scene(closed)
    stepping = Stepping(scenario.step(closed), end or scenario.end(closed))
    return scene, ENGINE.simulate(scene, stepping)


@pytest.fixture(scope="module")
def gone(manta: Linkage) -> tuple[Scene, Trace]:
    return run(manta, LetGo(60 * RPM, np.radians(300)))


def test_let_go_starts_where_it_is_let_go(gone: tuple[Scene, Trace]) -> None:
    scene, trace = gone
    crank, wheel = trace.spins[names.crankshaft("left")], trace.spins[names.WHEEL]
    # The first record is the start; velocities are consistent, so nothing jumps: to rounding.
    assert crank.angle[0] == pytest.approx(np.radians(300), abs=1e-12)
    assert wheel.speed[0] == pytest.approx(60 * RPM, rel=1e-12)
    assert not scene.loads
    assert not scene.motions


def test_start_forces_are_those_of_the_motion(gone: tuple[Scene, Trace]) -> None:
    """No start-up shock: the first force is on the smooth course of the next ones."""
    _, trace = gone
    for load_ in trace.joints.values():
        force = load_.force
        jump = np.abs(force[0] - (3 * force[1] - 3 * force[2] + force[3])).max()
        assert jump < 1e-3 * np.linalg.norm(force, axis=1).max()


def test_friction_takes_what_the_energy_loses(gone: tuple[Scene, Trace]) -> None:
    scene, trace = gone
    kinetic, potential = energy(scene, trace)
    lost = kinetic[0] + potential[0] - kinetic[-1] - potential[-1]
    rubbed = 0.0
    for drag in scene.drags:
        angle = trace.spins[drag.on].angle
        middle = (trace.torques[drag.name][1:] + trace.torques[drag.name][:-1]) / 2
        rubbed -= float(np.sum(middle * np.diff(angle)))
    # .1 %: what is lost in the two or three steps in which the wheel turns round is counted to first order.
    assert lost == pytest.approx(rubbed, rel=1e-3)
    assert lost > 50  # J; it did fall and turn


def test_at_rest_friction_alone_holds_the_weights(manta: Linkage, gone: tuple[Scene, Trace]) -> None:
    _, trace = gone
    assert trace.rested
    m = manta.mechanism
    crank = trace.spins[names.crankshaft("left")].angle[-1:]
    weight = sum(gravity_torque(moving_parts(s, crank), m.gravity)[0] for s in manta.sides)
    capacity = sum(mean_friction(s, m) for s in manta.sides) + m.friction.wheel_drag * m.reduction
    assert abs(weight) < capacity


def test_let_go_from_rest_falls_as_a_rotor_under_the_weights(manta: Linkage) -> None:
    """The first acceleration is (weight - friction) / inertia, all from closed form."""
    start = np.radians(100)
    _, trace = run(manta, LetGo(0.0, start), end=0.2)
    m = manta.mechanism
    at = np.array([start])
    parts = [moving_parts(s, at) for s in manta.sides]
    inertia = sum(reduced_inertia(p)[0] for p in parts) + drive_inertia(m)
    weight = sum(gravity_torque(p, m.gravity)[0] for p in parts)
    rubs = sum(mean_friction(s, m) for s in manta.sides) + m.friction.wheel_drag * m.reduction
    expected = -(weight - np.sign(weight) * rubs) / inertia
    # Within .2 s the speed passes the friction's smoothed zone and the weight's torque hardly changes: .5 %.
    speed = trace.spins[names.crankshaft("left")].speed
    late = trace.time > 0.1
    slope = np.polyfit(trace.time[late], speed[late], 1)[0]
    assert slope == pytest.approx(expected, rel=5e-3)


def test_turn_holds_the_speed_and_comes_round(manta: Linkage) -> None:
    _, trace = run(manta, Turn(-30 * RPM, start=1.0))
    wheel = trace.spins[names.WHEEL]
    np.testing.assert_allclose(wheel.speed, -30 * RPM, rtol=1e-9)
    turned = trace.spins[names.crankshaft("left")].angle
    assert turned[-1] - turned[0] == pytest.approx(-2 * np.pi, abs=1e-9)


@pytest.mark.parametrize("name", ["manta", "manta_stand", "moth"])
def test_torque_over_a_slow_turn_is_the_slope_of_the_potential(name: str) -> None:
    """The whole turn, against V'(t) over the reduction: within .5 % of its peak, as asked; friction left out."""
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    m = closed.mechanism
    built = replace(Turn(1 * RPM).scene(closed), drags=())
    # At 1 rpm of the wheel inertia is nothing; a step is a third of a degree of the crank at most.
    end = 60.0 * m.reduction
    trace = ENGINE.simulate(built, Stepping(end / 1080, end))
    crank = trace.spins[names.crankshaft("left")].angle
    slope = sum(gravity_torque(moving_parts(s, crank), m.gravity) for s in closed.sides) / m.reduction
    grip = _unbalance(closed, trace)
    expected = slope + grip
    assert np.ptp(crank) == pytest.approx(2 * np.pi)
    assert np.abs(trace.torques[names.HAND] - expected).max() < 5e-3 * np.abs(expected).max()


def _unbalance(closed: Linkage, trace: Trace) -> np.ndarray:
    """Give the torque that holds a handle's grip and arm; nothing for a disc."""
    from sim.mass import wheel_mass

    piece, angle = wheel_mass(closed.mechanism.wheel), trace.spins[names.WHEEL].angle
    height_slope = -piece.com[0] * np.cos(angle) - piece.com[2] * np.sin(angle)
    return piece.mass * closed.mechanism.gravity * height_slope


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_one_movement_all_around_the_turn(name: str) -> None:
    """The rank of the constraint Jacobian at 24 crank angles: one movement, no redundant constraint."""
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    for crank in np.linspace(0, 2 * np.pi, 24, endpoint=False):
        found = ENGINE.freedom(LetGo(0.0, float(crank)).scene(closed))
        assert (found.movements, found.redundant) == (1, 0)


def test_mean_torque_of_a_turn_is_friction(manta: Linkage) -> None:
    """Over a turn the weights take nothing: the mean torque is friction over the reduction."""
    _, trace = run(manta, Turn(10 * RPM))
    m = manta.mechanism
    rubs = sum(mean_friction(s, m) for s in manta.sides) / m.reduction + m.friction.wheel_drag
    torque = trace.torques[names.HAND]
    mean = np.trapezoid(torque, trace.time) / trace.time[-1]
    assert mean == pytest.approx(rubs, rel=2e-3)  # the trapezoidal sum over some 2300 steps


@pytest.mark.parametrize("person", ["child", "adult"])
def test_a_person_comes_to_the_wanted_speed_within_strength_and_power(manta: Linkage, person: str) -> None:
    scenario = Crank(person)
    _, trace = run(manta, scenario)
    who, radius = people()[person], manta.mechanism.wheel.radius
    speed, torque = trace.spins[names.WHEEL].speed, trace.torques[names.HAND]
    late = trace.time > trace.time[-1] / 2
    # The load is felt and carried, so only the reaction's gain times the weights' change is left: 2 %.
    np.testing.assert_allclose(speed[late], scenario.wanted(manta), rtol=0.02)
    assert np.abs(torque).max() <= who.push * radius * (1 + 1e-9)
    # The torque is held over a step, so power may pass its limit by the change of speed in one.
    assert (torque * speed).max() <= who.power * 1.01


def test_who_is_too_weak_gets_stuck(moth: Linkage) -> None:
    _, trace = run(moth, Crank("child"))
    crank = trace.spins[names.crankshaft("left")]
    assert np.abs(crank.angle - crank.angle[0]).max() < 2 * np.pi
    assert abs(crank.speed[-1]) < 0.01


def hand(**changes: object) -> SteadyHand:
    plain = SteadyHand(people()["adult"], 2.0, 0.4, 3.0, 4.0, np.zeros(8), (0.0, 0.0), 0.0)
    return replace(plain, **changes)  # pyright: ignore[reportArgumentType]


def test_hand_pushes_with_all_its_strength_from_rest() -> None:
    assert hand(wanted=50.0).torque(0, 0, 0) == pytest.approx(110 * 0.4)


def test_hand_weakens_with_speed_and_power() -> None:
    # At 5 rad/s the hand moves at 2 m/s: strength 110 (1 - 2/3) = 36.7 N, power 75 / 2 = 37.5 N.
    assert hand(wanted=50.0).torque(0, 0, 5.0) == pytest.approx(110 / 3 * 0.4)
    assert hand(wanted=50.0).torque(0, 0, 4.0) == pytest.approx(75 / 1.6 * 0.4)
    assert hand(wanted=50.0).torque(0, 0, 8.0) == 0


def test_hand_is_odd_in_direction() -> None:
    there = hand(wanted=2.0).torque(0, 0, 1.5)
    back = hand(wanted=-2.0).torque(0, 0, -1.5)
    assert there == pytest.approx(-back)
    assert hand(wanted=2.0).torque(0, 0, 20.0) == pytest.approx(-110 * 0.4)  # it holds back


def test_hand_carries_the_felt_load() -> None:
    weight = 5 * np.sin(2 * np.pi * np.arange(8) / 8)
    feeling = hand(weight=weight, friction=0.5)
    # At the wanted speed it gives the load and no more; a wheel angle of pi is an eighth of a crank's turn.
    assert feeling.torque(0, np.pi, 2.0) == pytest.approx(5 * np.sin(np.pi / 4) + 0.5)
    assert feeling.torque(0, 3 * np.pi / 2, 2.0) == pytest.approx((weight[1] + weight[2]) / 2 + 0.5)
    assert feeling.torque(0, -np.pi, 2.0) == pytest.approx(-5 * np.sin(np.pi / 4) + 0.5)


def test_steps_follow_the_fastest_turn(manta: Linkage, moth: Linkage) -> None:
    # A degree of the crank at the speed that the fall may give, between .5 and 20 ms.
    assert Turn(10 * RPM).step(manta) == 0.02
    assert Turn(600 * RPM).step(manta) == pytest.approx(
        np.radians(1) / (600 * RPM / 7.794871794871795), rel=0.05
    )
    assert LetGo(60 * RPM, 0.0).step(moth) == 0.0005


def test_inertia_at_the_wheel_is_that_of_the_energy(manta: Linkage) -> None:
    """Twice the scene's kinetic energy at unit wheel speed, body by body, in the mean over the turn."""
    doubled: list[float] = []
    for crank in np.linspace(0, 2 * np.pi, 36, endpoint=False):
        scene = LetGo(1.0, float(crank)).scene(manta)
        total = sum(r.inertia * r.speed**2 for r in scene.rotors)
        for b in scene.bodies:
            own = b.rotation.T @ b.angular_velocity
            total += b.mass * b.velocity @ b.velocity + own @ b.inertia @ own
        doubled.append(float(total))
    # Both means are over evenly spaced angles of a smooth periodic function: to rounding.
    assert inertia_at_wheel(manta) == pytest.approx(np.mean(doubled), rel=1e-9)


def test_hand_carries_a_handle_of_its_own() -> None:
    heavy = hand(unbalance=(1.0, 3.0))
    assert heavy.torque(0, np.pi / 2, 2.0) == pytest.approx(-3.0)  # the grip forward falls on by itself
    assert heavy.torque(0, 0.0, 2.0) == pytest.approx(-1.0)


@pytest.mark.parametrize("person", ["child", "adult"])
def test_a_handle_behind_chains_is_turned_by_who_can_turn_it(person: str) -> None:
    """Turning slowly needs some 35 N, below either's strength: nobody may be called stuck."""
    changes = {"wheel": {"kind": "handle", "radius": "250 mm", "height": "900 mm", "grip": {"mass": "1 kg"}}}
    closed = linkage(mechanism(load(MODELS / "manta.toml", changes)))
    crank = np.linspace(0, 2 * np.pi, 7200)
    m = closed.mechanism
    rubs = sum(mean_friction(s, m) for s in closed.sides) / m.reduction + m.friction.wheel_drag
    needed = (np.abs(holding_torque(closed, crank)).max() + rubs) / 0.25
    assert needed < 40 < people()[person].push
    _, trace = run(closed, Crank(person))
    spin = trace.spins[names.crankshaft("left")]
    assert spin.angle[-1] - spin.angle[0] > 2 * np.pi


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_weights_of_the_whole_piece_are_the_slope_of_its_energy(name: str) -> None:
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    crank = np.linspace(0, 2 * np.pi, 181)
    d = 1e-5
    low, high = (potential_energy(closed, crank + k * d) for k in (-1, 1))
    torque = holding_torque(closed, crank)
    # Central differences, good to d^2 of the third derivative and rounding over d.
    slope = (high - low) / (2 * d) / closed.mechanism.reduction
    np.testing.assert_allclose(slope, torque, atol=1e-5 * np.abs(torque).max())
