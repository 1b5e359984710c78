"""Andrews' squeezing mechanism against the reference solution of the test set for initial value problems.

The test set's equations are M(q) q'' = f - G' lambda with the loop equations g1..g6 = "E as the end of body
2, less E as the end of body 3 (x, y), of body 4 (x, y), of body 6 (x, y)". Moving the end of body 2 by one
metre in x changes g1 by plus one metre, so loop 1 pushes body 2 with -lambda1 in x, and body 3 with +lambda1;
likewise the others. A joint's recorded force is what b puts on a; with body 2 as a it is (-lambda1, -lambda2,
0) for body 3 and so on.
"""

import andrews
import numpy as np
import pytest
from evidence import Outside

from sim.arrays import Array
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine

SOURCE = "Test Set for Initial Value Problem Solvers (Bari), andrews; Hairer, Wanner, Solving ODEs II, VII.7"
NAMES = ("beta", "theta", "gamma", "phi", "delta", "omega", "epsilon")
Q_END = (15.81077119629904, -15.75637105984298, 0.04082224013073101, -0.5347301163226948, 0.5244099658805304,
         0.5347301163226948, 1.048080741042263)  # fmt: skip
LAMBDA_END = (199.1753333731910, -29.75531228015052, 23.06654119098399, 31.45271365475927, 22.64249232082739,
              11.61740700019673)  # fmt: skip


def run(step: float) -> Trace:
    return ExudynEngine().simulate(andrews.scene(), Stepping(step, 0.03, relative=1e-10, absolute=1e-12))


def q_end(trace: Trace) -> Array:
    return andrews.angles(np.array([trace.spins[f"K{i}"].angle[-1] for i in range(1, 8)]))


def multipliers(trace: Trace, k: int) -> Array:
    """Give lambda (6,) from what bodies 3, 4 and 6 put on body 2 in E."""
    return -np.concatenate([trace.joints[f"E {b}"].force[k, :2] for b in ("K3", "K4", "K6")])


@pytest.fixture(scope="module")
def fine() -> Trace:
    return run(7.5e-6)


def test_the_printed_angles_close_the_loops() -> None:
    np.testing.assert_allclose(andrews.loops(np.array(andrews.START)), 0, atol=1e-15)
    np.testing.assert_allclose(andrews.loops(np.array(Q_END)), 0, atol=1e-14)


def test_start(outside: Outside, fine: Trace) -> None:
    """Accelerations and multipliers at the start are solved for, not stepped to."""
    first = fine.spins["K1"].acceleration[0], fine.spins["K2"].acceleration[0]
    outside(
        "accelerations of beta and theta of Andrews' mechanism at the start, rad/s2",
        source=SOURCE, seen="read", expected=(14222.4439199541138706, -10666.8329399655854029),
        got=(first[0], first[1] - first[0]), relative=1e-9, reason="one linear solution, fifteen digits in",
    )  # fmt: skip
    outside(
        "six multipliers of Andrews' mechanism at the start, from the joint forces, N",
        source=SOURCE, seen="read", expected=(98.5668703962410896, -6.12268834425566265, 0, 0, 0, 0),
        got=multipliers(fine, 0), relative=1e-9, reason="one linear solution, fifteen digits in",
    )  # fmt: skip


def test_angles(outside: Outside, fine: Trace) -> None:
    found = q_end(fine)
    for name, expected, got in zip(NAMES, Q_END, found, strict=True):
        free = name in ("beta", "theta")
        outside(
            f"angle {name} of Andrews' mechanism after 0.03 s, rad", source=SOURCE, seen="read",
            expected=expected, got=got, absolute=5e-5 if free else 5e-6,
            reason="step 7.5 us; "
            + ("1.1e-4" if free else "1.2e-5") + " at 15 us, going with the square of the step",
        )  # fmt: skip


def test_multipliers(outside: Outside, fine: Trace) -> None:
    outside(
        "six multipliers of Andrews' mechanism after 0.03 s, from the joint forces, N",
        source=SOURCE, seen="read", expected=LAMBDA_END, got=multipliers(fine, -1),
        absolute=5e-3, reason="step 7.5 us; 1.3e-2 at 15 us, going with the square of the step",
    )  # fmt: skip


def test_error_goes_with_the_square_of_the_step(fine: Trace) -> None:
    coarse, middle = run(3e-5), run(1.5e-5)
    for worst in (lambda t: max(abs(q_end(t) - Q_END)), lambda t: max(abs(multipliers(t, -1) - LAMBDA_END))):
        assert 3.8 < worst(coarse) / worst(middle) < 4.2  # 4 when the step is small
        assert 3.8 < worst(middle) / worst(fine) < 4.2


def test_one_movement_and_no_redundant_constraint(outside: Outside) -> None:
    found = ExudynEngine().freedom(andrews.scene())
    outside(
        "movements and redundant constraints of Andrews' mechanism",
        source=SOURCE + ": seven angles, six independent loop equations", seen="read",
        expected=(1, 0), got=(found.movements, found.redundant), reason="whole numbers",
    )  # fmt: skip
