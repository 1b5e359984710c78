"""What must hold of any sculpture: energy, mirror, direction, freedom, balance of forces."""

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sculptures import closed_sculptures

from sim import names
from sim.arrays import rotation
from sim.builders import Linkage, scene
from sim.closed_form import gravity_torque, momentum_rate, moving_parts
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.recording import channels, energy
from sim.scene import GROUND, Motion, Scene

ENGINE = ExudynEngine()
MIRROR = np.array([1.0, -1.0, 1.0])
STEP = 4e-3
"""Short enough for chains and couplings that give, s."""
FEW = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))


def weight_and_inertia(closed: Linkage, built: Scene, trace: Trace) -> np.ndarray:
    """Give what the ground must carry (n, 3): weight, and inertia with closed-form accelerations."""
    carried = sum(b.mass for b in built.bodies) * built.gravity
    total = np.tile(carried, (len(trace.time), 1))
    for side in closed.sides:
        spin = trace.spins[names.crankshaft(side.side.name)]
        parts = moving_parts(side, spin.angle)
        inertia = momentum_rate(parts, spin.speed, spin.acceleration)
        total = total - inertia * np.array([1.0, side.side.sign, 1.0])
    return total


@given(closed_sculptures(), st.floats(0, 6.2), st.floats(-6, 6))
@FEW
def test_ground_carries_weight_and_inertia(closed: Linkage, crank: float, speed: float) -> None:
    built = scene(closed, crank, speed)
    trace = ENGINE.simulate(built, Stepping(STEP, 0.6))
    grounded = [j.name for j in built.joints if j.a == GROUND]
    got = sum(trace.joints[name].force for name in grounded)
    expected = weight_and_inertia(closed, built, trace)
    # .1 % of the weight, as asked: the engine's accelerations and the closed form's differ by the drift of
    # its joints, micrometres, and by the step.
    weight = np.linalg.norm(sum(b.mass for b in built.bodies) * built.gravity)
    assert np.abs(got - expected).max() < 1e-3 * weight


@given(closed_sculptures(), st.floats(0, 6.2))
@FEW
def test_mirrored_sides_carry_mirrored_loads(closed: Linkage, crank: float) -> None:
    trace = ENGINE.simulate(scene(closed, crank, 2.0), Stepping(STEP, 0.6))
    largest = max(np.linalg.norm(load.force, axis=1).max() for load in trace.joints.values())
    for name, load in trace.joints.items():
        if name.startswith("left"):
            other = trace.joints[name.replace("left", "right")]
            # Newton's tolerance of 1e-6 leaves both sides equal to about that share of the largest load.
            np.testing.assert_allclose(load.force * MIRROR, other.force, atol=1e-5 * largest)


@given(closed_sculptures(), st.floats(0, 6.2), st.floats(-3, 3))
@FEW
def test_turning_the_scene_turns_its_forces(closed: Linkage, crank: float, turn: float) -> None:
    built = scene(closed, crank, 2.0)
    about_z = rotation([0, 0, 1], turn)
    here = ENGINE.simulate(built, Stepping(STEP, 0.3))
    there = ENGINE.simulate(built.rotated(about_z), Stepping(STEP, 0.3))
    largest = max(np.linalg.norm(load.force, axis=1).max() for load in here.joints.values())
    for name, load in here.joints.items():
        np.testing.assert_allclose(load.force @ about_z.T, there.joints[name].force, atol=1e-4 * largest)


@given(closed_sculptures(), st.floats(0, 6.2))
@FEW
def test_wheel_torque_is_the_slope_of_the_potential(closed: Linkage, crank: float) -> None:
    """Held at 1 rpm, a twentieth of a turn of the crank: weight over the reduction and nothing else.

    With exact ratios: where chains give, the weights swing on them.
    """
    speed = 2 * np.pi / 60
    held = (Motion(names.HAND, names.WHEEL, speed),)
    built = scene(closed, crank, speed, motions=held, friction=False, ideal=True)
    reduction = closed.mechanism.reduction
    trace = ENGINE.simulate(built, Stepping(0.05, 0.05 * 60 * reduction))
    angle = trace.spins[names.crankshaft("left")].angle
    everywhere = np.linspace(0, 2 * np.pi, 721)
    peak = np.abs(_weight(closed, everywhere)).max() / reduction
    expected = _weight(closed, angle) / reduction
    # .5 % of the peak over the turn, as asked; inertia at this speed is far below it.
    assert np.abs(trace.torques[names.HAND] - expected).max() < 5e-3 * peak


def _weight(closed: Linkage, crank: np.ndarray) -> np.ndarray:
    parts = (moving_parts(s, crank) for s in closed.sides)
    return np.sum([gravity_torque(p, closed.mechanism.gravity) for p in parts], axis=0)


@given(closed_sculptures(), st.floats(0, 6.2))
@FEW
def test_energy_stays_while_running_free(closed: Linkage, crank: float) -> None:
    built = scene(closed, crank, 4.0, friction=False, ideal=True)
    trace = ENGINE.simulate(built, Stepping(0.005, 20.0))
    kinetic, potential = energy(built, trace)
    total = kinetic + potential
    # .1 % of its own swing over 20 s, as asked.
    assert np.ptp(total) < 1e-3 * max(np.ptp(kinetic), np.ptp(potential))


@given(closed_sculptures(), st.floats(0, 6.2), st.floats(-4, 4))
@FEW
def test_what_energy_is_missing_was_lost(closed: Linkage, crank: float, speed: float) -> None:
    """With whatever drive and all its friction: kinetic, potential and stored energy and the losses stay."""
    built = scene(closed, crank, speed)
    trace = ENGINE.simulate(built, Stepping(2e-3, 2.0))
    found = channels(closed.mechanism, built, trace)
    kinds = [found[f"energy/{k}/energy"].values for k in ("kinetic", "potential", "strain", "lost")]
    total = np.sum(kinds, axis=0)
    moved = max(np.ptp(kinds[0]), np.ptp(kinds[1]))
    # .5 % of what was converted, as asked, and a millijoule where next to nothing moves.
    assert np.ptp(total) < 5e-3 * moved + 1e-3


@given(closed_sculptures(), st.floats(0, 6.2))
@FEW
def test_one_movement_and_nothing_redundant(closed: Linkage, crank: float) -> None:
    built = scene(closed, crank, 0.0, ideal=True)
    whole = ENGINE.freedom(built)
    assert (whole.movements, whole.redundant) == (1, 0)
    for side in closed.sides:
        own = side.side.name
        alone = Scene(
            bodies=tuple(b for b in built.bodies if b.name.startswith(own)),
            joints=tuple(j for j in built.joints if j.name.startswith(own)),
        )
        found = ENGINE.freedom(alone)
        assert (found.movements, found.redundant) == (1, 0)


@given(closed_sculptures(), st.floats(0, 6.2))
@settings(FEW, max_examples=3)
def test_same_run_twice_is_the_same_to_the_bit(closed: Linkage, crank: float) -> None:
    built = scene(closed, crank, 3.0)
    once, again = (ENGINE.simulate(built, Stepping(STEP, 0.2)) for _ in range(2))
    for name, load in once.joints.items():
        assert load.force.tobytes() == again.joints[name].force.tobytes()
    for name, spin in once.spins.items():
        assert spin.angle.tobytes() == again.spins[name].angle.tobytes()


@given(closed_sculptures(), st.floats(0, 6.2))
@settings(FEW, max_examples=3)
def test_a_heavier_side_breaks_the_mirror(closed: Linkage, crank: float) -> None:
    """The mirror test can fail: a panel twice as thick on one side changes that side's loads."""
    right = closed.mechanism.sides[1]
    inner = right.panels[0]
    heavy = replace(inner, plate=replace(inner.plate, thickness=2 * inner.plate.thickness))
    side = replace(right, panels=(heavy, *right.panels[1:]))
    uneven = replace(closed, sides=(closed.sides[0], replace(closed.sides[1], side=side)))
    trace = ENGINE.simulate(scene(uneven, crank, 0.0), Stepping(STEP, 0.1))
    left, other = (trace.joints[names.hinge(s, "inner")].force for s in ("left", "right"))
    assert np.abs(left * MIRROR - other).max() > 1.0
