"""Weights of the whole piece in closed form: both sides and the wheel's own unbalance.

A disc is balanced; a handle's grip and arm are not, and where it sits on the crankshaft or behind chains its
weight is part of what the hand feels. The wheel's angle is the reduction times the crank's, grip up at 0.
"""

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import gravity_torque, moving_parts, potential
from sim.layout import shaft_places
from sim.mass import sprocket_mass, wheel_mass

STEEL = 7850.0
"""Density, kg/m3, of a post whose material nobody gave."""


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
    """Give the mass, kg, of wings, cranks, wheel, sprockets and post, and their centre (n, 3), m, in the world.

    The post counts as a tube from the ground to its top. Foundations, plates, arms, guards, bearings and whatever
    a description does not say are not in it.

    Parameters
    ----------
    closed : the sculpture.
    crank : angles (n,), rad.
    """
    m = closed.mechanism
    total, moment = 0.0, np.zeros((len(crank), 3))
    for side in closed.sides:
        for part in moving_parts(side, crank):
            total += part.mass
            moment += part.mass * part.com.value * np.array([1.0, side.side.sign, 1.0])
    for piece, place in _fixed(m):
        total += piece
        moment += piece * place
    return total, moment / total


def _fixed(m: Mechanism) -> list[tuple[float, Array]]:
    """Give the pieces whose centres stay where they are, with their places; a handle's counts at its axis."""
    places, _ = shaft_places(m)
    found = [(wheel_mass(m.wheel).mass, np.array([places[0][0], m.wheel.out, places[0][1]]))]
    for k, stage in enumerate(m.stages):
        for teeth, (forward, up) in ((stage.driver, places[k]), (stage.driven, places[k + 1])):
            found.append((sprocket_mass(teeth, stage).mass, np.array([forward, stage.out, up])))
    if m.post is not None:
        section = np.pi / 4 * (m.post.outside**2 - m.post.bore**2)
        height = m.crank_height + m.post.above
        density = STEEL if m.structure.post is None else m.structure.post.material.density
        found.append((float(density * section * height), np.array([0.0, 0.0, m.post.above - height / 2])))
    return found
