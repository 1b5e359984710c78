"""N four-bar linkages in a row: problem A02 of the IFToMM library of multibody benchmarks.

Gonzalez, Dopico, Lugris and Cuadrado, Multibody System Dynamics 16:179 (2006). 2 N + 1 rods of 1 kg and 1 m;
the upright ones stand on the ground at (i, 0), the others join their tops B_i. B_0 = (0, 1) starts with 1 m/s
in x; g 9.81 m/s2. Whenever all rods lie in one line the linkage could branch; they first do so after 0.71 s.
The trapezoidal rule holds the speeds of closed loops, not their places, and where a loop could branch that is
at the mercy of rounding: a few passages go well, not all of ten seconds. It is checked after one second, past
the first passage; the whole ten seconds are run by generalised alpha, which holds the places.

Its one movement has the exact form [(N+1)/3 + N] phi'' = -g [(N+1)/2 + N] cos(phi), phi from x to the upright
rods, which scipy integrates here anew.
"""

import numpy as np
import pytest
from evidence import Outside
from scipy.integrate import solve_ivp

from sim.arrays import Array, rotation, vector
from sim.engines.base import Rule, Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import GROUND, HINGE_Z, Body, Joint, Scene

SOURCE = "IFToMM multibody benchmark A02, N four-bar mechanism; exact equation of its one movement"
G = 9.81
PIN_Z = (True, True, False, False, False, False)
"""Closes a planar loop: the two movements in the plane. The rest the hinges of the other joints see to."""
Z = vector(0, 0, 1)


def scene(loops: int) -> Scene:
    """Build the rods as a tree of hinges along z, closed at the feet of all uprights but the first."""
    thin = np.diag([0.0, 1 / 12, 1 / 12])  # a uniform rod along its own x
    bodies, joints = [], []
    for i in range(loops + 1):
        foot, top = vector(i, 0, 0), vector(i, 1, 0)
        if i > 0:
            bodies.append(
                Body(f"bar {i}", 1.0, thin, top - vector(0.5, 0, 0), velocity=vector(1, 0, 0), spin=Z)
            )
            joints += [
                Joint(f"left {i}", f"upright {i - 1}", f"bar {i}", top - vector(1, 0, 0), HINGE_Z),
                Joint(f"right {i}", f"bar {i}", f"upright {i}", top, HINGE_Z),
            ]
        bodies.append(
            Body(f"upright {i}", 1.0, thin, foot + vector(0, 0.5, 0), rotation(Z, np.pi / 2),
                 velocity=vector(0.5, 0, 0), angular_velocity=-Z, spin=Z, angle=np.pi / 2)
        )  # fmt: skip
        joints.append(Joint(f"foot {i}", GROUND, f"upright {i}", foot, PIN_Z if i else HINGE_Z))
    return Scene(bodies=tuple(bodies), joints=tuple(joints), gravity=vector(0, -G, 0))


def run(loops: int, step: float, end: float = 1.0, rule: Rule = "trapezoidal") -> Trace:
    return ExudynEngine().simulate(scene(loops), Stepping(step, end, rule))


def exact(loops: int, times: list[float]) -> Array:
    """Give the angle at times (n,) from the equation of the one movement."""
    share = ((loops + 1) / 2 + loops) / ((loops + 1) / 3 + loops)
    found = solve_ivp(lambda _, y: (y[1], -G * share * np.cos(y[0])), (0, max(times)), (np.pi / 2, -1.0),
                      method="DOP853", rtol=1e-12, atol=1e-12, t_eval=times)  # fmt: skip
    return found.y[0]


def place(trace: Trace) -> Array:
    """Give where B0 is at the end (2,), m."""
    angle = trace.spins["upright 0"].angle[-1]
    return np.array([np.cos(angle), np.sin(angle)])


def energy(trace: Trace) -> Array:
    """Give the energy of all rods over time, J, from what is recorded of each body."""
    total = np.zeros(len(trace.time))
    for pose in trace.poses.values():
        turning = pose.angular_velocity[:, 2] ** 2 / 12
        total += 0.5 * (np.sum(pose.velocity**2, 1) + turning) + G * pose.position[:, 1]
    return total


@pytest.fixture(scope="module")
def two() -> Trace:
    return run(2, 1e-3)


def test_the_printed_numbers_are_the_exact_ones() -> None:
    for loops, time, place in ((2, 1, (-0.195020302, -0.980799206)), (2, 10, (0.328458112, 0.944518538)),
                               (40, 10, (0.180512227, 0.983572741)),
                               (40, 1, (-0.115356881, -0.993324111))):  # fmt: skip
        phi = exact(loops, [time])[0]
        np.testing.assert_allclose((np.cos(phi), np.sin(phi)), place, atol=2e-9)


def test_one_movement_and_no_redundant_constraint(outside: Outside) -> None:
    found = ExudynEngine().freedom(scene(2))
    outside(
        "movements and redundant constraints of two four-bars in a row",
        source="2 N + 1 rods, 2 N + 1 hinges in a tree, N closing pins of two locks each", seen="computed",
        expected=(1, 0), got=(found.movements, found.redundant), reason="whole numbers",
    )  # fmt: skip


def test_two_loops(outside: Outside, two: Trace) -> None:
    outside(
        "place of B0 of two four-bars in a row after 1 s, past a singular position, m",
        source=SOURCE, seen="computed", expected=(-0.195020302, -0.980799206), got=place(two),
        absolute=1.5e-5, reason="step 1 ms; 4.6e-5 rad at 2 ms, going with the square of the step",
    )  # fmt: skip


def test_it_passed_a_singular_position(two: Trace) -> None:
    angle = two.spins["upright 0"].angle
    assert angle[0] > 0 > angle[-1]  # all rods in one line at 0
    for i in (1, 2):  # no rod took another branch
        np.testing.assert_allclose(
            two.spins[f"upright {i}"].angle, angle, atol=1e-6
        )  # the drift of the loops
    assert two.gap.max() < 5e-6  # m; the drift of a second, going with the square of the step


def test_energy(outside: Outside, two: Trace) -> None:
    found = energy(two)
    outside(
        "energy of two four-bars in a row at the start, the least and the greatest in a second, J",
        source="3 uprights at 1 rad/s, 2 bars at 1 m/s, centres at 0.5 and 1 m; no loss", seen="computed",
        expected=[0.5 + 1 + G * (1.5 + 2)] * 3, got=[found[0], found.min(), found.max()],
        relative=3e-5, reason="step 1 ms; 8e-5 at 2 ms, going with the square of the step",
    )  # fmt: skip


def test_error_goes_with_the_square_of_the_step() -> None:
    phi = exact(2, [1.0])[0]
    errors = [abs(run(2, h).spins["upright 0"].angle[-1] - phi) for h in (4e-3, 2e-3, 1e-3)]
    assert 3.9 < errors[0] / errors[1] < 4.1  # 4 when the step is small
    assert 3.9 < errors[1] / errors[2] < 4.1


@pytest.mark.slow
def test_forty_loops(outside: Outside) -> None:
    outside(
        "place of B0 of forty four-bars in a row after 1 s, past a singular position, m",
        source=SOURCE, seen="computed", expected=(-0.115356881, -0.993324111), got=place(run(40, 1e-2)),
        absolute=1.5e-3, reason="step 10 ms; 40 loops fall as fast as 2, whose error is 1.2e-3 rad at 10 ms",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("loops", "step", "expected", "absolute", "reason"),
    [
        (2, 1e-3, (0.328458112, 0.944518538), 1e-4,
         "step 1 ms, radius .9; 1.8e-4 at 2 ms, 4.4e-5 at 1 ms, going with the square of the step"),
        pytest.param(40, 2e-3, (0.180512227, 0.983572741), 3e-4,
                     "step 2 ms, radius .9; 5.8e-4 at 4 ms, 1.4e-4 at 2 ms, going with the square of the step",
                     marks=pytest.mark.slow),
    ],
)  # fmt: skip
def test_ten_seconds(
    outside: Outside, loops: int, step: float, expected: tuple[float, float], absolute: float, reason: str
) -> None:
    trace = run(loops, step, 10.0, "generalised alpha")
    outside(
        f"place of B0 of {loops} four-bars in a row after 10 s, past every singular position on the way, m",
        source=SOURCE, seen="computed", expected=expected, got=place(trace), absolute=absolute, reason=reason,
    )  # fmt: skip
    found = energy(trace)
    start = 0.5 * (loops + 1) / 3 + 0.5 * loops + G * ((loops + 1) / 2 + loops)
    # The rule's numerical loss; it goes with the square of the step too: 2e-4 of the energy at 2 ms and N = 2.
    np.testing.assert_allclose(found, start, rtol=3e-4)
