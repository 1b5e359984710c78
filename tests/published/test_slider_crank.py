"""A slider-crank in space with a ball joint at both ends of its rod.

Haug, Computer Aided Kinematics and Dynamics of Mechanical Systems, and the IFToMM library of multibody
benchmarks, whose version has a universal joint at one end. Crank 0.08 m about x at (0, 0.1, 0.12), pin at
(0, 0.1 - 0.08 sin t, 0.12 + 0.08 cos t), rod 0.3 m, slider on the x axis; start at t = 0 with 6 rad/s; g 9.81
m/s2. The rod may spin freely about itself and starts without such spin. Numbers: computed apart from this
program from the one-degree-of-freedom form.
"""

import numpy as np
import pytest
from evidence import Outside

from sim.arrays import Array, frame_along, matrices, vector
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import BALL, GROUND, HINGE_Z, Body, Joint, Scene

SOURCE = "IFToMM multibody benchmark library, spatial slider-crank (Haug), with two ball joints"
X = vector(1, 0, 0)
CENTRE, PIN, SLIDER = vector(0, 0.1, 0.12), vector(0, 0.1, 0.2), vector(0.2, 0, 0)
SPEED = 6.0
SLIDE_X = (False, True, True, True, True, True)
ROD = np.diag([4e-3, 4e-3, 4e-4])  # about its own x, y and z, z along it
PIN_SPEED = np.cross(SPEED * X, PIN - CENTRE)
SLIDER_SPEED = vector((PIN_SPEED @ (PIN - SLIDER)) / (X @ (PIN - SLIDER)), 0, 0)
"""Of the slider: both ends of the rod move alike along the rod."""


def scene() -> Scene:
    along = (SLIDER - PIN) / np.linalg.norm(SLIDER - PIN)
    turning = np.cross(along, SLIDER_SPEED - PIN_SPEED) / np.linalg.norm(SLIDER - PIN)
    bodies = (
        Body("crank", 0.12, 1e-4 * np.eye(3), CENTRE, angular_velocity=SPEED * X, spin=X),
        Body("rod", 0.5, ROD, (PIN + SLIDER) / 2, frame_along(along, vector(0, 0, 1)),
             (PIN_SPEED + SLIDER_SPEED) / 2, turning),
        Body("slider", 2.0, 1e-4 * np.eye(3), SLIDER, velocity=SLIDER_SPEED),
    )  # fmt: skip
    joints = (
        Joint("bearing", GROUND, "crank", CENTRE, HINGE_Z, frame_along(X, vector(0, 0, 1))),
        Joint("pin", "crank", "rod", PIN, BALL),
        Joint("cross-head", "rod", "slider", SLIDER, BALL),
        Joint("guide", GROUND, "slider", SLIDER, SLIDE_X),
    )
    return Scene(bodies=bodies, joints=joints)


def run(step: float, end: float = 5.0) -> Trace:
    return ExudynEngine().simulate(scene(), Stepping(step, end, relative=1e-10, absolute=1e-12))


def energy(trace: Trace) -> Array:
    """Give the energy over time, J, the crank's constant height left out."""
    rod, slider, crank = (trace.poses[n] for n in ("rod", "slider", "crank"))
    own = np.einsum("nji,nj->ni", matrices(rod.quaternion), rod.angular_velocity)
    turning = np.einsum("ni,ij,nj->n", own, ROD, own) + 1e-4 * crank.angular_velocity[:, 0] ** 2
    moving = 0.5 * np.sum(rod.velocity**2, 1) + 2 * np.sum(slider.velocity**2, 1)
    return 0.5 * (turning + moving) + 0.5 * 9.81 * rod.position[:, 2]


def state(trace: Trace, time: float) -> Array:
    """Give the crank's angle and speed and the slider's x at a time."""
    k = np.argmin(abs(trace.time - time))
    crank = trace.spins["crank"]
    return np.array([crank.angle[k], crank.speed[k], trace.poses["slider"].position[k, 0]])


AFTER = {1: (10.567943115, 10.035669883, 0.229354191), 5: (51.680659831, 10.363114640, 0.268385569)}


@pytest.fixture(scope="module")
def fine() -> Trace:
    return run(2.5e-4)


def test_start(outside: Outside) -> None:
    outside("x of the spatial slider-crank's slider at the start, m", source=SOURCE, seen="read",
            expected=0.2,
            got=np.sqrt(0.3**2 - PIN[1:] @ PIN[1:]), absolute=1e-12, reason="geometry")  # fmt: skip
    outside("speed of the spatial slider-crank's slider at the start, m/s", source=SOURCE, seen="read",
            expected=0.24, got=SLIDER_SPEED[0], absolute=1e-12, reason="geometry")  # fmt: skip
    outside("velocity of the spatial slider-crank's rod centre at the start, m/s", source=SOURCE, seen="read",
            expected=(0.12, -0.24, 0), got=scene().bodies[1].velocity, absolute=1e-12,
            reason="geometry")  # fmt: skip


def test_two_movements_one_of_them_the_rods_spin(outside: Outside) -> None:
    found = ExudynEngine().freedom(scene())
    outside("movements and redundant constraints of the spatial slider-crank", source=SOURCE, seen="computed",
            expected=(2, 0), got=(found.movements, found.redundant), reason="whole numbers")  # fmt: skip


def test_motion(outside: Outside, fine: Trace) -> None:
    for time, allowed in ((1, (3e-5, 5e-5, 2e-6)), (5, (1e-4, 1e-3, 4e-6))):
        what = ("angle of the crank, rad", "speed of the crank, rad/s", "x of the slider, m")
        for name, expected, got, tolerance in zip(what, AFTER[time], state(fine, time), allowed, strict=True):
            outside(
                f"spatial slider-crank after {time} s: {name}", source=SOURCE, seen="computed",
                expected=expected, got=got, absolute=tolerance,
                reason="step 0.25 ms; 2.8e-4, 2.6e-3 and 1e-5 after 5 s at 0.5 ms, going with its square",
            )  # fmt: skip


def test_energy(outside: Outside, fine: Trace) -> None:
    found = energy(fine)
    outside(
        "energy of the spatial slider-crank at the start, the least and the greatest in five seconds, J",
        source=SOURCE, seen="computed", expected=[0.5743] * 3, got=[found[0], found.min(), found.max()],
        absolute=5e-5, reason="printed with four digits",
    )  # fmt: skip
    assert np.ptp(found) < 3e-5  # J; 8.5e-5 at 0.5 ms, going with the square of the step


def test_error_goes_with_the_square_of_the_step(fine: Trace) -> None:
    coarse, middle = run(1e-3), run(5e-4)
    errors = [abs(state(t, 5) - AFTER[5])[0] for t in (coarse, middle, fine)]
    assert 3.6 < errors[0] / errors[1] < 4.4  # 4 when the step is small
    assert 3.6 < errors[1] / errors[2] < 4.4


def test_the_rod_keeps_its_spin(fine: Trace) -> None:
    """Nothing turns a round rod about itself, so the spin it starts without it never gets."""
    rod = fine.poses["rod"]
    along = matrices(rod.quaternion)[:, :, 2]
    np.testing.assert_allclose(np.sum(along * rod.angular_velocity, 1), 0, atol=1e-4)  # rad/s; of 10 rad/s
