"""Andrews' squeezing mechanism: seven bodies in a plane, a spring and a driving torque.

Data and meaning of the seven angles: Hairer and Wanner, Solving Ordinary Differential Equations II, section
VII.7, and the Test Set for Initial Value Problem Solvers (Bari), problem "andrews"; read in a stored program
that follows them. Angles q = (beta, theta, gamma, phi, delta, omega, epsilon); bodies 1 to 7 as there.
"""

import numpy as np
from numpy import cos, sin

from sim.arrays import Array, rotation, vector
from sim.scene import GROUND, HINGE_Z, Body, Joint, Push, Scene, Spring

MASS = (0.04325, 0.00365, 0.02373, 0.00706, 0.07050, 0.00706, 0.05498)
INERTIA = (2.194e-6, 4.410e-7, 5.255e-6, 5.667e-7, 1.169e-5, 5.667e-7, 1.912e-5)
XA, YA, XB, YB, XC, YC = -0.06934, -0.00227, -0.03635, 0.03273, 0.014, 0.072
C0, L0, TORQUE = 4530.0, 0.07785, 0.033
D, DA, E, EA, RR, RA = 0.028, 0.0115, 0.02, 0.01421, 0.007, 0.00092
SS, SA, SB, SC, SD = 0.035, 0.01874, 0.01043, 0.018, 0.02
TA, TB, U, UA, UB, ZF, ZT, FA = 0.02308, 0.00916, 0.04, 0.01228, 0.00449, 0.02, 0.04, 0.01421
START = (-0.0617138900142764496, 0.0, 0.455279819163070380, 0.222668390165885885, 0.487364979543842550,
         -0.222668390165885885, 1.23054744454982120)  # fmt: skip

Z = vector(0, 0, 1)
PIN_Z = (True, True, False, False, False, False)
"""Closes a planar loop."""


def turns(q: Array) -> Array:
    """Give the angle (7,) by which each body is turned in the plane."""
    beta, theta, gamma, phi, delta, omega, epsilon = q
    return np.array([beta, beta + theta, gamma, phi + delta, delta, omega + epsilon, epsilon])


def angles(turned: Array) -> Array:
    """Give q (7,) from the angles of the bodies: the reverse of `turns`."""
    k1, k2, k3, k4, k5, k6, k7 = turned
    return np.array([k1, k2 - k1, k3, k4 - k5, k5, k6 - k7, k7])


def places(q: Array) -> tuple[list[Array], dict[str, Array]]:
    """Give the centres of mass of the bodies and the named points."""
    k1, k2, k3, k4, k5, k6, k7 = turns(q)

    def at(x: float, y: float) -> Array:
        return vector(x, y, 0)

    fixed = {"O": at(0, 0), "A": at(XA, YA), "B": at(XB, YB), "C": at(XC, YC)}
    a, b = fixed["A"], fixed["B"]
    f = RR * at(cos(k1), sin(k1))
    left = a + ZT * at(cos(k5), sin(k5))  # bodies 4 and 5
    right = a + U * at(sin(k7), -cos(k7))  # bodies 6 and 7
    centres = [
        RA * at(cos(k1), sin(k1)),
        f - DA * at(cos(k2), sin(k2)),
        b + at(SA * sin(k3) + SB * cos(k3), -SA * cos(k3) + SB * sin(k3)),
        left + (E - EA) * at(sin(k4), -cos(k4)),
        a + at(TA * cos(k5) - TB * sin(k5), TA * sin(k5) + TB * cos(k5)),
        right + (ZF - FA) * at(cos(k6), sin(k6)),
        a + at(UA * sin(k7) - UB * cos(k7), -UA * cos(k7) - UB * sin(k7)),
    ]
    moving = {
        "F": f,
        "E": f - D * at(cos(k2), sin(k2)),
        "D": b + at(SC * sin(k3) + SD * cos(k3), -SC * cos(k3) + SD * sin(k3)),
        "left": left,
        "right": right,
    }
    return centres, fixed | moving


def scene() -> Scene:
    """Build the mechanism at rest in the plane of x and y, without gravity, its three loops closed in E."""
    q = np.array(START)
    turned = turns(q)
    centres, at = places(q)
    bodies = tuple(
        Body(f"K{i + 1}", MASS[i], INERTIA[i] * np.eye(3), centres[i], rotation(Z, turned[i]), spin=Z,
             angle=turned[i])
        for i in range(7)
    )  # fmt: skip
    tree = (("O", GROUND, "K1"), ("F", "K1", "K2"), ("B", GROUND, "K3"), ("A", GROUND, "K5"),
            ("left", "K5", "K4"), ("A", GROUND, "K7"), ("right", "K7", "K6"))  # fmt: skip
    hinges = [Joint(f"{p} {b}", a, b, at[p], HINGE_Z) for p, a, b in tree]
    closing = [Joint(f"E {b}", "K2", b, at["E"], PIN_Z) for b in ("K3", "K4", "K6")]
    return Scene(
        bodies=bodies,
        joints=(*hinges, *closing),
        springs=(Spring("spring", "K3", GROUND, at["D"], at["C"], C0, L0),),
        pushes=(Push("drive", "K1", torque=TORQUE * Z),),
        gravity=np.zeros(3),
    )


def loops(q: Array) -> Array:
    """Give the six loop equations (6,), m: E of body 2 less E of bodies 3, 4 and 6, in x and y."""
    _, _, k3, k4, _, k6, _ = turns(q)
    _, at = places(q)
    ends = (
        at["B"] + SS * vector(sin(k3), -cos(k3), 0),
        at["left"] + E * vector(sin(k4), -cos(k4), 0),
        at["right"] + ZF * vector(cos(k6), sin(k6), 0),
    )
    return np.concatenate([(at["E"] - end)[:2] for end in ends])
