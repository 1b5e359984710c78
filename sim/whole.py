"""Weights of the whole piece in closed form: both sides and the wheel's own unbalance.

A disc is balanced; a handle's grip and arm are not, and where it sits on the crankshaft or behind chains its
weight is part of what the hand feels. The wheel's angle is the reduction times the crank's, grip up at 0.
"""

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import gravity_torque, moving_parts, potential
from sim.mass import wheel_mass
from sim.weights import pieces


def unbalance(mechanism: Mechanism) -> tuple[float, float]:
    """Give weight times place (forward, up) of the wheel's centre of mass at wheel angle 0, N m."""
    piece = wheel_mass(mechanism.wheel)
    weight = piece.mass * mechanism.gravity
    return float(weight * piece.com[0]), float(weight * piece.com[2])


def potential_energy(closed: Linkage, crank: Array) -> Array:
    """Give the potential energy (n,), J, of both sides and of the wheel's unbalance at crank angles (n,)."""
    m = closed.mechanism
    forward, up = unbalance(m)
    wheel = crank * m.reduction
    sides = [potential(moving_parts(s, crank), m.gravity) for s in closed.sides]
    return np.sum(sides, axis=0) - forward * np.sin(wheel) + up * np.cos(wheel)


def holding_torque(closed: Linkage, crank: Array) -> Array:
    """Give the torque at the wheel (n,), N m, that holds the piece still without friction: V' over the reduction."""
    m = closed.mechanism
    forward, up = unbalance(m)
    wheel = crank * m.reduction
    sides = [gravity_torque(moving_parts(s, crank), m.gravity) for s in closed.sides]
    return np.sum(sides, axis=0) / m.reduction - forward * np.cos(wheel) - up * np.sin(wheel)


def centre_of_gravity(closed: Linkage, crank: Array) -> tuple[float, Array]:
    """Give the mass, kg, of all parts whose mass is known, and their centre (n, 3), m, in the world.

    What is not in it is what `sim.weights.lacking` names.

    Parameters
    ----------
    closed : the sculpture.
    crank : angles (n,), rad.
    """
    foot = np.array([0.0, 0.0, closed.mechanism.crank_height])
    total, moment = 0.0, np.zeros((len(crank), 3))
    for piece in pieces(closed, crank):
        total += piece.mass
        moment += piece.mass * (piece.at - foot)
    return total, moment / total
