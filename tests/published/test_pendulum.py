"""A point-mass pendulum: problem A01 of the IFToMM library of multibody benchmarks.

1 kg on a massless rod of 1 m, let go at rest from the horizontal at (-1, 0), g 9.81 m/s2.
Period 4 sqrt(L/g) K(1/sqrt 2) with K the complete elliptic integral of the first kind; positions from
Jacobi's elliptic functions. Both computed, here anew with scipy.
"""

import numpy as np
import pytest
from evidence import Outside
from scipy.special import ellipj, ellipk

from sim.arrays import Array, vector
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import GROUND, HINGE_Z, Body, Joint, Scene

SOURCE = "IFToMM multibody benchmark A01, simple pendulum; elliptic integral"
G = 9.81
PERIOD = 2.3678419475762


def scene() -> Scene:
    """Build the pendulum in the plane of x and y: a body without inertia, its hinge along z."""
    mass = Body("mass", 1.0, np.zeros((3, 3)), vector(-1, 0, 0))
    return Scene(
        bodies=(mass,),
        joints=(Joint("pivot", GROUND, "mass", vector(0, 0, 0), HINGE_Z),),
        gravity=vector(0, -G, 0),
    )


def run(step: float, end: float = 10.0) -> Trace:
    return ExudynEngine().simulate(scene(), Stepping(step, end, relative=1e-10, absolute=1e-12))


def exact(time: float) -> Array:
    """Give the position: sin(t/2) of the angle t from hanging is k cd(w t) with k = sin 45 deg."""
    _, cn, dn, _ = ellipj(np.sqrt(G) * time, 0.5)
    half = np.arcsin(np.sqrt(0.5) * cn / dn)
    return np.array([-np.sin(2 * half), -np.cos(2 * half)])


@pytest.fixture(scope="module")
def fine() -> Trace:
    return run(5e-4)


def at(trace: Trace, time: float) -> Array:
    return trace.poses["mass"].position[np.argmin(abs(trace.time - time))]


def test_the_printed_numbers_are_the_exact_ones() -> None:
    assert 4 / np.sqrt(G) * ellipk(0.5) == pytest.approx(PERIOD, abs=1e-12)
    np.testing.assert_allclose(exact(5), (-0.9423054350, -0.3347543384), atol=1e-9)
    np.testing.assert_allclose(exact(10), (-0.2750874626, -0.9614192051), atol=1e-9)


def test_period(outside: Outside, fine: Trace) -> None:
    x = fine.poses["mass"].position[:, 0]
    up = np.flatnonzero((x[:-1] < 0) & (x[1:] >= 0))
    crossings = fine.time[up] - x[up] * (fine.time[up + 1] - fine.time[up]) / (x[up + 1] - x[up])
    outside(
        "period of a point-mass pendulum let go from the horizontal, s",
        source=SOURCE, seen="computed", expected=PERIOD,
        got=(crossings[-1] - crossings[0]) / (len(crossings) - 1),
        absolute=2e-6, reason="step 0.5 ms, error 1.2e-5 at 2 ms going with the square of the step",
    )  # fmt: skip


def test_positions(outside: Outside, fine: Trace) -> None:
    for time, place in ((5, (-0.9423054350, -0.3347543384)), (10, (-0.2750874626, -0.9614192051))):
        outside(
            f"place of a point-mass pendulum let go from the horizontal, after {time} s, m",
            source=SOURCE, seen="computed", expected=place, got=at(fine, time)[:2],
            absolute=2e-5, reason="step 0.5 ms, error 2.1e-4 at 2 ms going with the square of the step",
        )  # fmt: skip


def test_error_goes_with_the_square_of_the_step() -> None:
    errors = [np.linalg.norm(at(run(h), 10)[:2] - exact(10)) for h in (4e-3, 2e-3, 1e-3)]
    assert 3.7 < errors[0] / errors[1] < 4.3  # 4 when the step is small; 8 % for the next order
    assert 3.7 < errors[1] / errors[2] < 4.3
