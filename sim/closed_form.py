"""What the weights and masses of one side do over the turn, from closed-form positions and rates alone.

With t the crank angle a side has one degree of freedom: M(t) t'' + M'(t) t'^2 / 2 + V'(t) = Q.
Here are V, V' and M and the momentum that the supports must carry, without any engine: the checks of the
engine rest on them, and so do the friction's size and quick answers.
"""

from dataclasses import dataclass

import numpy as np

from sim.arrays import Array
from sim.linkage import Course, PanelCourse, SideLinkage, carried
from sim.mass import MassProperties, Y, crank_mass, plate_mass, rod_mass


@dataclass(frozen=True)
class Moving:
    """A rigid part over n crank angles.

    Attributes
    ----------
    name : the part's.
    mass : kg.
    com : course (n, 3) of its centre of mass.
    spin : angular velocity (n, 3) per unit of crank speed.
    inertia : (n, 3, 3) about its centre of mass, in the axes of the side.
    """

    name: str
    mass: float
    com: Course
    spin: Array
    inertia: Array


def moving_parts(linkage: SideLinkage, crank: Array) -> tuple[Moving, ...]:
    """Give the parts of a side: crankshaft, panels and rods, at crank angles (n,)."""
    parts = [_crankshaft(linkage, crank)]
    for course in linkage.course(crank):
        parts += [_panel(course), _rod(course)]
    return tuple(parts)


def potential(parts: tuple[Moving, ...], gravity: float) -> Array:
    """Give the potential energy (n,), J, against the crank's axis."""
    return gravity * _total([p.mass * p.com.value[:, 2] for p in parts])


def gravity_torque(parts: tuple[Moving, ...], gravity: float) -> Array:
    """Give V'(t) (n,), N m: the crank torque that holds the side still without friction."""
    return gravity * _total([p.mass * p.com.first[:, 2] for p in parts])


def reduced_inertia(parts: tuple[Moving, ...]) -> Array:
    """Give M(t) (n,), kg m2: twice the kinetic energy at unit crank speed."""
    return _total(
        [
            p.mass * np.sum(p.com.first**2, -1) + np.einsum("ni,nij,nj->n", p.spin, p.inertia, p.spin)
            for p in parts
        ]
    )


def momentum_rate(parts: tuple[Moving, ...], speed: Array, acceleration: Array) -> Array:
    """Give the sum of mass times acceleration (n, 3), N, at crank speeds and accelerations (n,)."""
    return _total(
        [p.mass * (p.com.first * acceleration[:, None] + p.com.second * speed[:, None] ** 2) for p in parts]
    )


def _total(terms: list[Array]) -> Array:
    return np.sum(np.stack(terms), axis=0)


def _about_y(piece: MassProperties, angle: Array) -> tuple[Course, Array]:
    """Give the centre's course and the inertia (n, 3, 3) of a piece that turns about the y axis."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    x, z = piece.com[0], piece.com[2]
    value = np.concatenate([c * x + s * z, 0 * c + piece.com[1], -s * x + c * z], -1)
    first = np.concatenate([-s * x + c * z, 0 * c, -c * x - s * z], -1)
    second = np.concatenate([-value[:, :1], 0 * c, -value[:, 2:]], -1)
    zero, one = np.zeros(len(angle)), np.ones(len(angle))
    columns = ([c[:, 0], zero, -s[:, 0]], [zero, one, zero], [s[:, 0], zero, c[:, 0]])
    turns = np.stack([np.stack(column, -1) for column in columns], -1)
    return Course(value, first, second), turns @ piece.inertia @ turns.transpose(0, 2, 1)


def _crankshaft(linkage: SideLinkage, crank: Array) -> Moving:
    piece = crank_mass(linkage.side)
    com, inertia = _about_y(piece, crank + linkage.side.key_angle)
    return Moving("crankshaft", piece.mass, com, np.broadcast_to(Y, (len(crank), 3)), inertia)


def _panel(course: PanelCourse) -> Moving:
    piece = plate_mass(course.panel.plate)
    c, s = np.cos(course.angle.value), np.sin(course.angle.value)
    zero, one = np.zeros_like(c), np.ones_like(c)
    turns = np.stack(
        [np.stack([one, zero, zero], -1), np.stack([zero, c, -s], -1), np.stack([zero, s, c], -1)], -2
    )
    spin = np.stack([course.angle.first, zero, zero], -1)
    inertia = turns @ piece.inertia @ turns.transpose(0, 2, 1)
    return Moving(f"{course.panel.name} panel", piece.mass, carried(course, piece.com), spin, inertia)


def _rod(course: PanelCourse) -> Moving:
    """Give the rod; its spin is that of the panel along the rod, as its spin lock makes it."""
    rod = course.panel.rod
    piece = rod_mass(rod)
    pin, yoke = course.pin, course.yoke
    com = Course((pin.value + yoke.value) / 2, (pin.first + yoke.first) / 2, (pin.second + yoke.second) / 2)
    along = (yoke.value - pin.value) / rod.length
    across = np.cross(along, (yoke.first - pin.first) / rod.length)
    spin = across + (course.angle.first * along[:, 0])[:, None] * along
    line = along[:, :, None] * along[:, None, :]
    axial, transverse = piece.inertia[2, 2], piece.inertia[0, 0]
    inertia = transverse * np.eye(3) + (axial - transverse) * line
    return Moving(f"{course.panel.name} rod", piece.mass, com, spin, inertia)
