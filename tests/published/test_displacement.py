"""Linkages turned slowly, as a check of their geometry: one in space (RSSR) and one in the plane.

RSSR: McCarthy and Soh, Geometric Design of Linkages, appendix A, equations A.1 to A.7. Two circles, a rod
with a ball joint at each end between them. Crank-rocker: Norton, Design of Machinery.
"""

import numpy as np
import pytest
from evidence import Outside

from sim.arrays import Array, frame_along, vector
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import BALL, BALL_NO_SPIN, GROUND, HINGE_Z, Body, Joint, Motion, Scene

RSSR = "McCarthy and Soh, Geometric Design of Linkages, appendix A, eqs. A.1-A.7"
O1, U1, V1, R1 = vector(0, 0, 0), vector(1, 0, 0), vector(0, 0, 1), 0.05
O2, R2, ROD = vector(0.05, 0.30, 0.40), 0.20, 0.52
U2, V2 = vector(np.cos(np.radians(20)), np.sin(np.radians(20)), 0), vector(0, 0, 1)
OUTPUT = {0: 172.42764594, 90: 151.05271975, 180: 163.38602399, 270: 181.52325257}
"""Degrees of the output by degrees of the input; computed."""
SPEED = 1.0
"""rad/s. Without gravity the angles do not depend on it."""
INERTIA = 1e-3 * np.eye(3)
Z = vector(0, 0, 1)


def on_circle(centre: Array, u: Array, v: Array, radius: float, angle: float) -> Array:
    return centre + radius * (np.cos(angle) * u + np.sin(angle) * v)


def spin(a: Array, b: Array, rate_a: Array, rate_b: Array) -> Array:
    """Give the angular velocity across itself of a rod whose ends move so, rad/s."""
    return np.cross(b - a, rate_b - rate_a) / ((b - a) @ (b - a))


def rssr() -> Scene:
    """Build the linkage at input 0, where the printed output closes it; the crank's speed is held."""
    n1, n2, start = np.cross(U1, V1), np.cross(U2, V2), np.radians(OUTPUT[0])
    a, b = on_circle(O1, U1, V1, R1, 0), on_circle(O2, U2, V2, R2, start)
    rate_a, per_b = SPEED * np.cross(n1, a - O1), np.cross(n2, b - O2)
    output = (a - b) @ rate_a / ((a - b) @ per_b)  # keeps the length of the rod
    rate_b = output * per_b
    along = frame_along(b - a, Z)
    bodies = (
        Body("crank", 1.0, INERTIA, O1, angular_velocity=SPEED * n1, spin=n1),
        Body("rod", 1.0, INERTIA, (a + b) / 2, velocity=(rate_a + rate_b) / 2,
             angular_velocity=rod_rate(a, b, rate_a, rate_b, output * n2)),
        Body("output", 1.0, INERTIA, O2, angular_velocity=output * n2, spin=n2, angle=start),
    )  # fmt: skip
    joints = (
        Joint("input", GROUND, "crank", O1, HINGE_Z, frame_along(n1, U1)),
        Joint("near", "crank", "rod", a, BALL),
        Joint("far", "output", "rod", b, BALL_NO_SPIN, along),
        Joint("hinge", GROUND, "output", O2, HINGE_Z, frame_along(n2, U2)),
    )
    return Scene(bodies=bodies, joints=joints, motions=(Motion("hand", "crank", SPEED),), gravity=np.zeros(3))


def rod_rate(a: Array, b: Array, rate_a: Array, rate_b: Array, follows: Array) -> Array:
    """Give the angular velocity of a rod that may not spin about itself against a body that turns so.

    At the start the lock keeps the rod's own turn about itself to that of the body it is locked to.
    """
    along = (b - a) / np.linalg.norm(b - a)
    return spin(a, b, rate_a, rate_b) + (along @ follows) * along


def turned(steps: int) -> Trace:
    """Run the RSSR through one turn."""
    end = 2 * np.pi / SPEED
    return ExudynEngine().simulate(rssr(), Stepping(end / steps, end, relative=1e-10, absolute=1e-12))


def outputs(trace: Trace) -> Array:
    """Give the output at 90, 180, 270 and 360 deg of input, deg."""
    whole = len(trace.time) - 1
    return np.degrees(trace.spins["output"].angle[[k * whole // 4 for k in (1, 2, 3, 4)]])


def test_rssr_closes_as_printed(outside: Outside) -> None:
    for given, printed in OUTPUT.items():
        a = on_circle(O1, U1, V1, R1, np.radians(given))
        b = on_circle(O2, U2, V2, R2, np.radians(printed))
        outside(f"RSSR: distance of the rod's ends at input {given} deg, m", source=RSSR, seen="computed",
                expected=ROD, got=np.linalg.norm(b - a), absolute=1e-10,
                reason="the angles are printed to 1e-8 deg")  # fmt: skip


def test_rssr_table(outside: Outside) -> None:
    trace = turned(1600)
    for given, found in zip((90, 180, 270, 360), outputs(trace), strict=True):
        outside(f"RSSR: output at input {given} deg, deg", source=RSSR, seen="computed",
                expected=OUTPUT[given % 360], got=found, absolute=1e-4,
                reason="1600 steps a turn; 1.4e-4 at 800, going with the square of the step")  # fmt: skip
    np.testing.assert_allclose(trace.spins["crank"].angle, SPEED * trace.time, atol=1e-9)  # the speed is held


def test_rssr_error_goes_with_the_square_of_the_step() -> None:
    expected = np.array([OUTPUT[90], OUTPUT[180], OUTPUT[270]])
    coarse, fine = (max(abs(outputs(turned(n))[:3] - expected)) for n in (200, 400))
    assert 3.7 < coarse / fine < 4.3  # 4 when the step is small


def test_rssr_has_one_movement() -> None:
    found = ExudynEngine().freedom(rssr())
    assert (found.movements, found.redundant) == (0, 0)  # one, and the hand holds it


LINKS = {"crank": 0.040, "coupler": 0.120, "rocker": 0.080, "ground": 0.100}


def crank_rocker() -> Scene:
    """Build the open crank-rocker at input 0 in the plane of x and y."""
    a, far = vector(LINKS["crank"], 0, 0), vector(LINKS["ground"], 0, 0)
    reach = far[0] - a[0]
    x = (LINKS["coupler"] ** 2 - LINKS["rocker"] ** 2 + reach**2) / (2 * reach)
    b = a + vector(x, np.sqrt(LINKS["coupler"] ** 2 - x**2), 0)
    rate_a, per_b = SPEED * np.cross(Z, a), np.cross(Z, b - far)
    rocker = (a - b) @ rate_a / ((a - b) @ per_b)
    rate_b = rocker * per_b
    pin = (True, True, False, False, False, False)
    bodies = (
        Body("crank", 1.0, INERTIA, vector(0, 0, 0), angular_velocity=SPEED * Z, spin=Z),
        Body("coupler", 1.0, INERTIA, (a + b) / 2, velocity=(rate_a + rate_b) / 2, spin=Z,
             angular_velocity=spin(a, b, rate_a, rate_b), angle=np.arctan2(*(b - a)[1::-1])),
        Body("rocker", 1.0, INERTIA, far, angular_velocity=rocker * Z, spin=Z,
             angle=np.arctan2(*(b - far)[1::-1])),
    )  # fmt: skip
    joints = (
        Joint("near", GROUND, "crank", vector(0, 0, 0), HINGE_Z),
        Joint("pin", "crank", "coupler", a, HINGE_Z),
        Joint("far", GROUND, "rocker", far, HINGE_Z),
        Joint("closing", "rocker", "coupler", b, pin),
    )
    return Scene(bodies=bodies, joints=joints, motions=(Motion("hand", "crank", SPEED),), gravity=np.zeros(3))


@pytest.mark.parametrize(
    ("name", "computed", "book"), [("coupler", 20.298, 20.30), ("rocker", 57.325, 57.33)]
)
def test_crank_rocker(outside: Outside, name: str, computed: float, book: float) -> None:
    end = np.radians(40) / SPEED
    trace = ExudynEngine().simulate(crank_rocker(), Stepping(end / 500, end, relative=1e-10, absolute=1e-12))
    found = np.degrees(trace.spins[name].angle[-1])
    statement = f"crank-rocker 40, 120, 80, 100 mm, input 40 deg, open: {name}, deg"
    outside(f"{statement}, recomputed", source="law of cosines", seen="computed", expected=computed,
            got=found, absolute=6e-4, reason="printed to 1e-3 deg; the step's share is 1e-4")  # fmt: skip
    outside(f"{statement}, by the book", source="Norton, Design of Machinery", seen="memory", expected=book,
            got=found, absolute=6e-3, reason="printed to 1e-2 deg")  # fmt: skip
