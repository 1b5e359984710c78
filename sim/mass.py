"""Mass, centre and inertia of the parts, and of parts joined to one rigid piece."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from models.drive import Stage, Wheel
from models.mechanism import Cheek, Crankshaft, Plate, Rod, Side
from models.outline import moments
from sim.arrays import Array, cross_matrix, rotation, vector

Y = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True)
class MassProperties:
    """A rigid piece: mass in kg, centre of mass (3,) in m, inertia (3, 3) about that centre in kg m2."""

    mass: float
    com: Array
    inertia: Array

    def turned(self, turn: Array) -> "MassProperties":
        """Give the piece turned about the origin by a rotation matrix (3, 3)."""
        return MassProperties(self.mass, turn @ self.com, turn @ self.inertia @ turn.T)

    def shifted(self, by: Array) -> "MassProperties":
        """Give the piece moved by a vector (3,)."""
        return MassProperties(self.mass, self.com + by, self.inertia)

    def mirrored(self) -> "MassProperties":
        """Give the mirror image in the plane of x and z."""
        m = np.diag([1.0, -1.0, 1.0])
        return MassProperties(self.mass, m @ self.com, m @ self.inertia @ m)

    def scaled(self, mass: float) -> "MassProperties":
        """Give the piece with another mass, spread in the same way."""
        return MassProperties(mass, self.com, self.inertia * (mass / self.mass))


def joined(parts: Iterable[MassProperties]) -> MassProperties:
    """Join parts to one rigid piece (parallel-axis theorem); parts without any mass are a point at the origin."""
    pieces = [p for p in parts if p.mass > 0]
    if not pieces:
        return point(0.0, np.zeros(3))
    mass = sum(p.mass for p in pieces)
    com = sum((p.mass * p.com for p in pieces), np.zeros(3)) / mass
    inertia = np.zeros((3, 3))
    for p in pieces:
        s = cross_matrix(p.com - com)
        inertia += p.inertia - p.mass * (s @ s)
    return MassProperties(mass, com, inertia)


def point(mass: float, at: Array) -> MassProperties:
    """Give a point mass."""
    return MassProperties(mass, at, np.zeros((3, 3)))


def cylinder(mass: float, radius: float, length: float, axis: int) -> MassProperties:
    """Give a solid round bar centred on the origin along one of the axes 0, 1, 2."""
    across = mass * (3 * radius**2 + length**2) / 12
    inertia = np.full(3, across)
    inertia[axis] = mass * radius**2 / 2
    return MassProperties(mass, np.zeros(3), np.diag(inertia))


def box(mass: float, sides: tuple[float, float, float]) -> MassProperties:
    """Give a block with edges along the axes, centred on the origin."""
    squares = np.square(sides)
    return MassProperties(mass, np.zeros(3), mass / 12 * np.diag(squares.sum() - squares))


def bare_plate(plate: Plate) -> MassProperties:
    """Give a panel's plate without what is fixed to it, from its outline's exact moments.

    Coordinates: x forward along the hinge line, y outwards, z up from the middle of the thickness.
    """
    m = moments(plate.outline)
    per_area = plate.density * plate.thickness
    mass = per_area * m.area
    through = mass * plate.thickness**2 / 12
    ixx, iyy, ixy = per_area * m.yy, per_area * m.xx, -per_area * m.xy
    inertia = np.array([[ixx + through, ixy, 0.0], [ixy, iyy + through, 0.0], [0.0, 0.0, ixx + iyy]])
    found = MassProperties(mass, vector(m.centroid[0], m.centroid[1], 0.0), inertia)
    return found if plate.mass is None else found.scaled(plate.mass)


def plate_mass(plate: Plate) -> MassProperties:
    """Give a panel with the lumps fixed to it; coordinates as `bare_plate`."""
    lumps = (point(x.mass, vector(x.forward, x.out, x.above)) for x in plate.lumps)
    return joined([bare_plate(plate), *lumps])


def rod_mass(rod: Rod) -> MassProperties:
    """Give a rod with its rod ends as points at the eyes, along z, centred on the origin."""
    bar = rod.density * np.pi / 4 * rod.diameter**2 * rod.length
    ends = (point(rod.end_mass, vector(0, 0, z * rod.length / 2)) for z in (-1, 1))
    return joined([cylinder(float(bar), rod.diameter / 2, rod.length, 2), *ends])


def web(cheek: Cheek, radius: float, density: float) -> MassProperties:
    """Give one web, its shaft hole filled, in the plane of x and z with z toward the pin."""
    if cheek.outline is not None:
        m = moments(cheek.outline)
        per_area = density * cheek.thickness
        mass = per_area * m.area
        through = mass * cheek.thickness**2 / 12
        ixx, izz, ixz = per_area * m.yy, per_area * m.xx, -per_area * m.xy
        inertia = np.array([[ixx + through, 0.0, ixz], [0.0, ixx + izz, 0.0], [ixz, 0.0, izz + through]])
        return MassProperties(mass, vector(m.centroid[0], 0.0, m.centroid[1]), inertia)
    length = radius + cheek.width
    mass = density * cheek.width * cheek.thickness * length
    return box(mass, (cheek.width, cheek.thickness, length)).shifted(vector(0, 0, radius / 2))


@lru_cache(maxsize=64)
def crank_mass(side: Side) -> MassProperties:
    """Give a side's crankshaft at crank angle 0 with its first coordinate forward, second out, third up."""
    return joined(piece for _, piece in crank_pieces(side))


def crank_pieces(side: Side) -> tuple[tuple[float, MassProperties], ...]:
    """Give the pieces of a side's crankshaft, each with its place along the shaft; coordinates as
    `crank_mass`.
    """  # noqa: D205
    c = side.crank
    density = c.material.density
    parts: list[MassProperties] = []
    edges = [c.ends[0]]
    for panel in sorted(side.panels, key=lambda p: p.throw_out):
        edges += [panel.throw_out - c.cheek.half, panel.throw_out + c.cheek.half]
        turn = rotation(Y, panel.throw_angle)
        cheek = web(c.cheek, panel.throw_radius, density).turned(turn)
        for face in (-1, 1):
            place = panel.throw_out + face * (c.cheek.gap + c.cheek.thickness) / 2
            parts.append(cheek.shifted(place * Y))
        bar = _bar(c.pin, c.cheek.gap, density)
        at = vector(0, 0, panel.throw_radius)
        parts.append(bar.shifted(at).turned(turn).shifted(panel.throw_out * Y))
    edges.append(c.ends[1])
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        if end > start:
            parts.append(_bar(c.shaft, end - start, density).shifted((start + end) / 2 * Y))
    for w in c.weights:
        at = vector(w.radius * np.sin(w.angle), w.out, w.radius * np.cos(w.angle))
        parts.append(point(w.mass, at))
    if c.coupling.mass > 0:
        parts.append(_coupling(c))
    return tuple((float(p.com[1]), p) for p in parts if p.mass > 0)


def _bar(diameter: float, length: float, density: float) -> MassProperties:
    return cylinder(float(density * np.pi / 4 * diameter**2 * length), diameter / 2, length, 1)


def _coupling(c: Crankshaft) -> MassProperties:
    disc = cylinder(c.coupling.mass, c.coupling.diameter / 2, c.coupling.diameter, 1)
    return disc.shifted(c.ends[0] * Y)


def wheel_mass(wheel: Wheel) -> MassProperties:
    """Give the wheel or handle about its axis (y), at wheel angle 0 with the handle's grip up."""
    parts: list[MassProperties] = []
    if wheel.thickness > 0:
        mass = wheel.density * np.pi * wheel.radius**2 * wheel.thickness
        parts.append(cylinder(float(mass), wheel.radius, wheel.thickness, 1))
    if wheel.bar > 0:
        ring = float(wheel.density * np.pi / 4 * wheel.bar**2 * 2 * np.pi * wheel.radius)
        axial, section = ring * wheel.radius**2, ring * wheel.bar**2 / 16
        # A thin torus: about its axis m (R^2 + 3/4 r^2), across it m (R^2 / 2 + 5/8 r^2).
        parts.append(
            MassProperties(
                ring, np.zeros(3),
                np.diag([axial / 2 + 2.5 * section, axial + 3 * section, axial / 2 + 2.5 * section]),
            )
        )  # fmt: skip
    if wheel.hub_mass > 0:
        parts.append(cylinder(wheel.hub_mass, wheel.hub_diameter / 2, wheel.hub_diameter / 2, 1))
    if wheel.kind == "handle":
        arm = box(wheel.arm_mass, (0.04, 0.008, wheel.radius)).shifted(vector(0, 0, wheel.radius / 2))
        parts += [arm, point(wheel.grip_mass, vector(0, 0, wheel.radius))]
    return joined(parts)


def sprocket_mass(teeth: int, stage: Stage) -> MassProperties:
    """Give a sprocket as a solid steel disc of the pitch diameter about the y axis, without its hub."""
    radius = stage.pitch / 2 / np.sin(np.pi / teeth)
    return cylinder(float(7850.0 * np.pi * radius**2 * stage.width), float(radius), stage.width, 1)
