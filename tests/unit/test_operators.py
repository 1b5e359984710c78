"""Hands that hold on to the wheel or stop it, against a flywheel's closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from models.mechanism import Rubbing
from models.people import Person, people
from sim.engines.base import Stepping
from sim.engines.exudyn import ExudynEngine
from sim.friction_levels import LEVELS, rubbing_at
from sim.operators.grabbing import GrabbingHand, Stop, stop, stopping
from sim.operators.holding import HoldingHand, hold_force, holding_limit, holds
from sim.scene import Law, Load, Rotor, Scene

INERTIA, RADIUS = 3.0, 0.4
ENGINE = ExudynEngine()


@pytest.fixture
def adult() -> Person:
    return people()["adult"]


def spun(law: Law, speed: float, step: float, end: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Turn a flywheel under a law that is asked once a step: times, angles and speeds, exact for each step."""
    asked = law.start()
    time, angle = 0.0, 0.0
    rows = [(time, angle, speed)]
    for _ in range(round(end / step)):
        gain = asked.torque(time, angle, speed) / INERTIA * step
        time, angle, speed = time + step, angle + (speed + gain / 2) * step, speed + gain
        rows.append((time, angle, speed))
    times, angles, speeds = np.array(rows).T
    return times, angles, speeds


# Grabbing


def test_a_closed_hand_stops_a_flywheel_in_the_time_and_angle_of_its_momentum(adult: Person) -> None:
    torque = adult.grip * RADIUS
    # J w / (F R) and J w^2 / (2 F R): impulse and work of a constant torque.
    found = stopping(INERTIA, -6.0, torque)
    assert (found.time, found.angle) == pytest.approx((INERTIA * 6 / torque, INERTIA * 36 / (2 * torque)))
    run = stop(*spun(GrabbingHand(adult, RADIUS, INERTIA, closing=0.0), -6.0, 1e-4, 0.5))
    # Toward the end each step halves the speed instead of ending it: a few steps of .1 ms until .01 rad/s.
    assert run.time == pytest.approx(found.time, abs=5e-4)
    assert run.angle == pytest.approx(found.angle, rel=1e-4)


def test_a_hand_that_closes_slowly_lets_the_wheel_turn_on(adult: Person) -> None:
    torque = adult.grip * RADIUS
    found = stopping(INERTIA, 6.0, torque, 0.1)
    # Half the closing time is lost: the impulse of a ramp is half that of the whole force.
    assert found.time == pytest.approx(INERTIA * 6 / torque + 0.05)
    run = stop(*spun(GrabbingHand(adult, RADIUS, INERTIA, since=0.2), 6.0, 1e-4, 1.0), since=0.2)
    # As above, and steps of .1 ms hold the ramp's force from their beginning.
    assert run.angle == pytest.approx(found.angle, rel=1e-3)
    assert run.time == pytest.approx(found.time, abs=5e-4)


def test_a_light_wheel_stops_while_the_hand_still_closes() -> None:
    # w' = -T t / (J t_c): with all of these 1 and w = .125 it rests at t = .5, having turned 2/3 of w t.
    assert stopping(1.0, 0.125, 1.0, 1.0) == Stop(pytest.approx(0.5), pytest.approx(0.125 / 3))
    # The two forms meet where the wheel stops just as the hand has closed: w = T t_c / (2 J).
    below, above = (stopping(1.0, 0.5 + e, 1.0, 1.0) for e in (-1e-9, 1e-9))
    assert (below.time, below.angle) == pytest.approx((above.time, above.angle), abs=1e-8)


def test_a_stopped_wheel_is_not_thrown_back(adult: Person) -> None:
    for step in (1e-3, 2e-2):
        _, _, speed = spun(GrabbingHand(adult, RADIUS, INERTIA), 6.0, step, 3.0)
        assert speed.min() >= 0
        assert speed[-1] < 1e-6


def test_a_grab_that_is_too_weak_is_told(adult: Person) -> None:
    found = stop(*spun(GrabbingHand(adult, RADIUS, INERTIA, since=0.3), 6.0, 1e-3, 0.32), since=0.3)
    assert np.isnan([found.time, found.angle]).all()


def test_a_grab_in_the_engine_is_the_same_in_a_second_run(adult: Person) -> None:
    law = GrabbingHand(adult, RADIUS, INERTIA, closing=0.0)
    scene = Scene(rotors=(Rotor("wheel", INERTIA, speed=6.0),), loads=(Load("hand", "wheel", law),))
    found = stopping(INERTIA, 6.0, adult.grip * RADIUS)
    traces = [ENGINE.simulate(scene, Stepping(step, 0.5)) for step in (2e-3, 1e-3, 1e-3)]
    for trace, step in zip(traces, (2e-3, 1e-3, 1e-3), strict=True):
        spin = trace.spins["wheel"]
        run = stop(trace.time, spin.angle, spin.speed)
        # The engine's rule takes the mean of a step's two ends, so the torque lags by half a step: up to 1 ms at
        # 6 rad/s, .9 % of the angle.
        assert run.angle == pytest.approx(found.angle, rel=1e-2)
        assert spin.speed.min() > -adult.grip * RADIUS / INERTIA * step / 4
    np.testing.assert_array_equal(traces[1].spins["wheel"].speed, traces[2].spins["wheel"].speed)


# Holding


def test_a_carried_hand_brakes_like_a_damper_and_stays_on(adult: Person) -> None:
    law = HoldingHand(adult, RADIUS)
    # c = 200 N / 3 m/s; the wheel decays as exp(-c R^2 t / J).
    rate = 200 / 3 * RADIUS**2 / INERTIA
    time, _, speed = spun(law, 5.0, 1e-4, 1.0)
    # Forces held over steps of .1 ms: half a step's decay.
    np.testing.assert_allclose(speed, 5.0 * np.exp(-rate * time), rtol=1e-3)
    assert law.start().torque(0, 0, -5.0) == pytest.approx(-law.start().torque(0, 0, 5.0))


def test_a_hand_slips_off_beyond_its_grip_and_does_not_come_back(adult: Person) -> None:
    law = HoldingHand(adult, RADIUS).start()
    # At the person's fastest hand speed the arm resists with the whole grip.
    edge = adult.fastest / RADIUS
    assert law.torque(0, 0, edge * 0.999) == pytest.approx(-0.999 * adult.grip * RADIUS)
    assert law.torque(1, 0, edge * 1.001) == 0
    assert law.torque(2, 0, 0.1) == 0
    again = law.start()
    assert again.torque(0, 0, 0.1) < 0
    assert law.slipped
    assert not again.slipped


def test_a_wheel_is_held_until_the_grip_slips(adult: Person) -> None:
    # F = T / R, less what friction holds: 84 N m at .4 m less 4 N m is 200 N, the adult's grip.
    assert hold_force(-84.0, 0.4, 4.0) == pytest.approx(200.0)
    assert hold_force(3.0, 0.4, 4.0) == 0
    limit = holding_limit(adult, 0.4, 4.0)
    assert limit == pytest.approx(84.0)
    assert holds(adult, limit * (1 - 1e-9), 0.4, 4.0)
    assert not holds(adult, -limit * (1 + 1e-9), 0.4, 4.0)


# Friction levels


def test_friction_levels_scale_every_coefficient_and_the_drag() -> None:
    plain = Rubbing(
        bush=0.1, rod_end=0.2, hinge=0.3, bearing=0.04, wheel_drag=5.0, static=1.5, low=0.5, high=2.0
    )
    assert rubbing_at(plain, "nominal") == replace(plain, low=1.0, high=1.0)
    assert rubbing_at(plain, "low") == Rubbing(0.05, 0.1, 0.15, 0.02, 2.5, 1.5, 1.0, 1.0)
    assert rubbing_at(plain, "high") == Rubbing(0.2, 0.4, 0.6, 0.08, 10.0, 1.5, 1.0, 1.0)
    assert [rubbing_at(plain, level).bush for level in LEVELS] == [0.05, 0.1, 0.2]
