"""Torques that follow the motion: when the engine asks for them, what it does with them, and what if they fail."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from sim.arrays import rotation, vector
from sim.engines.base import EngineError, Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import GROUND, HINGE_Z, Body, Constant, Joint, Load, Motion, Rotor, Scene

ENGINE = ExudynEngine()
X, Y, Z = np.eye(3)


def run(scene: Scene, step: float, end: float) -> Trace:
    return ENGINE.simulate(scene, Stepping(step, end, relative=1e-10, absolute=1e-12))


@dataclass
class Noted:
    """A law that keeps what it is asked."""

    asked: list[tuple[float, float, float]] = field(default_factory=list)
    begun: int = 0

    def start(self) -> "Noted":
        self.begun += 1
        return self

    def torque(self, time: float, angle: float, speed: float) -> float:
        self.asked.append((time, angle, speed))
        return 0.3 * len(self.asked)


@pytest.mark.parametrize("axis", [Y, -X], ids=str)
def test_a_law_is_asked_once_a_step_about_its_beginning(axis: np.ndarray) -> None:
    body = Body("disc", 4.0, 0.5 * np.eye(3), vector(0.1, 0.2, 0.3), rotation([3, 1, 2], 0.9),
                angular_velocity=1.5 * axis, spin=axis, angle=0.25)  # fmt: skip
    axes = np.column_stack([Z, np.cross(axis, Z), axis])
    hinge = Joint("hinge", GROUND, "disc", body.com, HINGE_Z, axes)
    law = Noted()
    scene = Scene(bodies=(body,), joints=(hinge,), loads=(Load("hand", "disc", law),))
    trace = run(scene, 1e-2, 0.5)
    assert law.begun == 1
    assert len(law.asked) == 50
    angle, speed = trace.spins["disc"].angle, trace.spins["disc"].speed
    time, angles, speeds = np.array(law.asked).T
    # The record has the ends of the steps, and the start before them. A step's state is its beginning's, its
    # time its end's; the first is asked for before there is a step.
    np.testing.assert_allclose(angles, angle[:-1], atol=1e-12)
    np.testing.assert_allclose(speeds, speed[:-1], atol=1e-12)
    assert time[0] == 0
    np.testing.assert_allclose(time[1:], trace.time[2:], atol=1e-12)
    # Held over the step, and along the spin axis.
    gained = 0.5 * np.diff(speed) / 1e-2
    # The trapezoidal rule takes the mean of this step's torque and the last one's.
    np.testing.assert_allclose(gained[1:], 0.3 * np.arange(2, 51) - 0.15, atol=1e-9)
    np.testing.assert_allclose(trace.torques["hand"][1:], 0.3 * np.arange(1, 51), atol=0)
    assert speed[-1] > 1.5


def test_a_load_acts_from_the_start() -> None:
    """5 N m on 0.5 kg m2 for 0.1 s give 1 rad/s, whatever the step: the rule is exact for what is constant."""
    scene = Scene(rotors=(Rotor("shaft", 0.5),), loads=(Load("hand", "shaft", Constant(5.0)),))
    assert run(scene, 1e-2, 0.1).spins["shaft"].speed[-1] == pytest.approx(1.0, abs=1e-9)


def test_work_of_a_load_is_the_mean_of_its_torque_at_both_ends_of_a_step() -> None:
    """Sum of mean torque times turn equals the gain of energy exactly; with one end's torque it does not."""

    class Swinging:
        def start(self) -> "Swinging":
            return self

        def torque(self, time: float, angle: float, speed: float) -> float:
            del speed
            return 3 * np.sin(9 * time) + 0.4 * np.cos(angle)

    scene = Scene(rotors=(Rotor("shaft", 0.5, 0.0, 1.0),), loads=(Load("hand", "shaft", Swinging()),))
    trace = run(scene, 2e-2, 1.0)
    spin, torque = trace.spins["shaft"], trace.torques["hand"]
    gained = 0.25 * (spin.speed**2 - spin.speed[0] ** 2)
    mean = np.cumsum((torque[1:] + torque[:-1]) / 2 * np.diff(spin.angle))
    end = np.cumsum(torque[1:] * np.diff(spin.angle))
    np.testing.assert_allclose(mean, gained[1:], atol=1e-9)
    assert np.abs(end - gained[1:]).max() > 1e-2  # J: this test can tell


@dataclass
class Counting:
    """A law with a memory: it gives 1 N m the first ten times that it is asked, and then nothing."""

    asked: int = 0

    def start(self) -> "Counting":
        return Counting()

    def torque(self, time: float, angle: float, speed: float) -> float:
        del time, angle, speed
        self.asked += 1
        return float(self.asked <= 10)


def test_a_run_does_not_remember_the_one_before() -> None:
    scene = Scene(rotors=(Rotor("shaft", 0.5),), loads=(Load("hand", "shaft", Counting()),))
    once, again = (run(scene, 1e-2, 0.3).spins["shaft"].angle for _ in range(2))
    assert once[-1] > 0.01
    np.testing.assert_array_equal(once, again)


def test_a_motion_that_stops_takes_the_wheels_energy() -> None:
    """3 rad/s to nothing in .5 s, evenly: 1.2 N m on .2 kg m2, then still."""
    scene = Scene(rotors=(Rotor("shaft", 0.2, 0.0, 3.0),), motions=(Motion("hand", "shaft", 3.0, stop=0.5),))
    trace = run(scene, 1e-2, 0.8)
    spin = trace.spins["shaft"]
    np.testing.assert_allclose(spin.speed, 3 * np.maximum(0, 1 - trace.time / 0.5), atol=1e-9)
    assert spin.angle[-1] == pytest.approx(0.75, abs=1e-9)  # half of 3 rad/s times .5 s
    inside = (trace.time > 0.03) & (trace.time < 0.47)
    np.testing.assert_allclose(trace.torques["hand"][inside], -1.2, atol=1e-6)
    np.testing.assert_allclose(trace.torques["hand"][trace.time > 0.55], 0, atol=1e-6)


# What goes wrong


class Angle:
    """A law whose torque tells the angle it was asked at, as a number of N m."""

    def start(self) -> "Angle":
        return self

    def torque(self, time: float, angle: float, speed: float) -> float:
        del time, speed
        return angle


def test_a_recorded_load_belongs_to_its_own_step_even_if_steps_were_tried_again() -> None:
    from test_engine import runaway

    scene = replace(runaway(), loads=(Load("push", "crank", Angle()),))
    with pytest.raises(EngineError) as caught:
        ENGINE.simulate(scene, Stepping(1e-2, 5.0))
    trace = caught.value.trace
    assert trace is not None
    assert np.min(np.diff(trace.time)) < 9e-3  # shorter steps were tried
    np.testing.assert_allclose(trace.torques["push"][1:], trace.spins["crank"].angle[:-1], atol=1e-12)


class Broken:
    """A law that fails."""

    def __init__(self, error: BaseException) -> None:
        self.error = error

    def start(self) -> "Broken":
        return self

    def torque(self, time: float, angle: float, speed: float) -> float:
        del angle, speed
        if time > 0.05:
            raise self.error
        return 0.0


@pytest.mark.parametrize("error", [KeyboardInterrupt(), ZeroDivisionError("no strength left")], ids=repr)
def test_an_error_inside_a_law_reaches_the_caller(error: BaseException) -> None:
    scene = Scene(rotors=(Rotor("shaft", 1.0),), loads=(Load("hand", "shaft", Broken(error)),))
    with pytest.raises(type(error)) as caught:
        ENGINE.simulate(scene, Stepping(1e-3, 0.5))
    assert caught.value is error
