"""Joint forces of a moving side in closed form: G + A t'^2 + B t'' with t the crank angle.

Newton's and Euler's equations of every part, from the first and second derivatives of the closed loops: a
part's mass times acceleration and its rate of angular momentum, reversed, are loads like its weight, and
`sim.statics.balance` gives what the joints carry. The rods have their mass and all of their inertia. A rod's
spin lock is taken to act about the rod's own line, where the engine's acts about an axis that leaves it by the
swivel; the moment is that of a thin bar's own axial inertia, some 1e-5 kg m2, and nothing beside the others.
Coordinates of a side, as in `sim.statics`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from sim.arrays import Array
from sim.closed_form import Moving, moving_parts
from sim.linkage import PanelCourse, SideLinkage
from sim.statics import Balance, Pushes, Wrench, at_point, balance, weights, with_pushes


@dataclass(frozen=True)
class Tables:
    """What the joints carry as sums over the motion.

    Attributes
    ----------
    still : of the weights alone, N and N m.
    squared : per square of the crank's speed, N s2 and N m s2.
    linear : per acceleration of the crank, in the same units.
    """

    still: Balance
    squared: Balance
    linear: Balance


def dynamics(
    linkage: SideLinkage,
    crank: Array,
    speed: ArrayLike,
    acceleration: ArrayLike,
    gravity: float | Array,
    pushes: Pushes | None = None,
) -> Balance:
    """Give what the joints of a moving side carry, and the torque that makes it move so.

    Parameters
    ----------
    linkage, crank, gravity, pushes : as in `sim.statics.statics`, which also says what is raised.
    speed, acceleration : of the crank, each one number or (n,), rad/s and rad/s2.
    """
    courses, parts = linkage.course(crank), moving_parts(linkage, crank)
    loads = with_pushes(weights(parts, gravity), linkage.side, pushes or {})
    squared, linear = np.square(speed), np.asarray(acceleration, dtype=float)
    inertia = _inertia(courses, parts, squared, linear)
    return balance(linkage.side, courses, {name: load + inertia[name] for name, load in loads.items()})


def tables(linkage: SideLinkage, crank: Array, gravity: float | Array) -> Tables:
    """Give the three parts G, A and B of what the joints carry at crank angles (n,), rad."""
    courses, parts = linkage.course(crank), moving_parts(linkage, crank)
    one, none = np.ones(len(crank)), np.zeros(len(crank))
    loads = (
        weights(parts, gravity),
        _inertia(courses, parts, one, none),
        _inertia(courses, parts, none, one),
    )
    return Tables(*(balance(linkage.side, courses, load) for load in loads))


def _inertia(
    courses: tuple[PanelCourse, ...], parts: tuple[Moving, ...], squared: Array, linear: Array
) -> dict[str, Wrench]:
    """Give every part's inertia as a load, at speeds squared and accelerations of the crank, (n,) each."""
    rates = _spin_rates(courses)
    of_square, of_linear = np.atleast_1d(squared)[:, None], np.atleast_1d(linear)[:, None]
    loads: dict[str, Wrench] = {}
    for part in parts:
        turning = _times(part.inertia, part.spin)
        force = part.com.first * of_linear + part.com.second * of_square
        moment = turning * of_linear
        gyroscopic = np.cross(part.spin, turning)
        if part.name in rates:
            gyroscopic = gyroscopic + _times(part.inertia, rates[part.name])
        moment = moment + gyroscopic * of_square
        at_com = at_point(-part.mass * force, part.com.value)
        loads[part.name] = Wrench(at_com.force, at_com.moment - moment)
    return loads


def _spin_rates(courses: tuple[PanelCourse, ...]) -> dict[str, Array]:
    """Give the derivative (n, 3) of each part's spin with respect to the crank angle; the crankshaft's is 0.

    With e along a rod and p the panel's angle its spin is e x e' + p' e_x e, as its spin lock makes it.
    """
    rates: dict[str, Array] = {}
    for course in courses:
        angle, length = course.angle, course.panel.rod.length
        rates[f"{course.panel.name} panel"] = angle.second[:, None] * np.array([1.0, 0.0, 0.0])
        e, e1, e2 = (
            (getattr(course.yoke, of) - getattr(course.pin, of)) / length
            for of in ("value", "first", "second")
        )
        own = angle.first * e[:, 0]
        own_rate = angle.second * e[:, 0] + angle.first * e1[:, 0]
        rates[f"{course.panel.name} rod"] = np.cross(e, e2) + own_rate[:, None] * e + own[:, None] * e1
    return rates


def _times(inertia: Array, spin: Array) -> Array:
    return np.einsum("nij,nj->ni", inertia, spin)
