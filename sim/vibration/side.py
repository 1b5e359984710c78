"""A side in torsion: its wings' inertia as its throws feel it, and how far its crankshaft gives between them.

With the throws wound up against each other a side has as many freedoms as throws. What its parts' masses come to is
the sum of m v_i . v_j + s_i . I s_j with v_i and s_i the velocity of a part's centre and its spin per rate of throw i
alone, the others held. They are taken by central differences of the closed loops with one throw's angle moved; all of
them together are the side's inertia M(t) less the crankshaft's own (a test says so).
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from models.mechanism import Crankshaft, Side
from sim.arrays import Array
from sim.closed_form import moving_parts
from sim.linkage import SideLinkage
from sim.mass import crank_pieces
from sim.vibration.rotors import in_series, shaft_stiffness

STEP = 1e-4
"""Angle, rad, by which a throw is moved: the error is of its square, 1e-8, that of rounding 1e-12."""


def throw_inertia(linkage: SideLinkage, crank: Array) -> Array:
    """Give the inertia (n, k, k), kg m2, of panels and rods as felt at each of k throws, at crank angles (n,)."""
    moved = [_rates(linkage, crank, k) for k in range(len(linkage.side.panels))]
    parts = moving_parts(linkage, crank)[1:]
    count = len(moved)
    found = np.zeros((len(crank), count, count))
    for p, part in enumerate(parts):
        for i in range(count):
            velocity, spin = moved[i][p]
            for j in range(count):
                other, turn = moved[j][p]
                found[:, i, j] += part.mass * np.sum(velocity * other, -1)
                found[:, i, j] += np.einsum("ni,nij,nj->n", spin, part.inertia, turn)
    return found


def _rates(linkage: SideLinkage, crank: Array, throw: int) -> list[tuple[Array, Array]]:
    """Give velocity and spin (n, 3) of each panel and rod, in `moving_parts`' order, per rate of one throw."""
    ahead, behind = (_moved(linkage, throw, way * STEP) for way in (1, -1))
    places = zip(moving_parts(ahead, crank)[1:], moving_parts(behind, crank)[1:], strict=True)
    velocities = [(a.com.value - b.com.value) / (2 * STEP) for a, b in places]
    spins: list[Array] = []
    courses = (x.course(crank) for x in (linkage, ahead, behind))
    for here, a, b in zip(*courses, strict=True):
        rate = (a.angle.value - b.angle.value) / (2 * STEP)
        along = (here.yoke.value - here.pin.value) / here.panel.rod.length
        turn = ((a.yoke.value - a.pin.value) - (b.yoke.value - b.pin.value)) / (
            2 * STEP * here.panel.rod.length
        )
        spins.append(np.stack([rate, 0 * rate, 0 * rate], -1))
        # As its spin lock makes it, the rod turns about itself with the panel; see `sim.closed_form`.
        spins.append(np.cross(along, turn) + (rate * along[:, 0])[:, None] * along)
    return list(zip(velocities, spins, strict=True))


def _moved(linkage: SideLinkage, throw: int, by: float) -> SideLinkage:
    panels = list(linkage.side.panels)
    panels[throw] = replace(panels[throw], throw_angle=panels[throw].throw_angle + by)
    return replace(linkage, side=replace(linkage.side, panels=tuple(panels)))


def stations(side: Side) -> tuple[float, ...]:
    """Give where a crankshaft's inertia is lumped: the coupling, and the throws from the inside out, m."""
    return (side.crank.ends[0], *sorted(p.throw_out for p in side.panels))


def throw_order(side: Side) -> tuple[int, ...]:
    """Give the panels' numbers by the places of their throws, from the inside out."""
    return tuple(sorted(range(len(side.panels)), key=lambda k: side.panels[k].throw_out))


def own_inertia(side: Side) -> Array:
    """Give the crankshaft's own inertia (k + 1,), kg m2, lumped at its `stations`.

    Each piece goes to the two stations beside it by levers, beyond the last one to that.
    """
    places = np.array(stations(side))
    found = np.zeros(len(places))
    for at, piece in crank_pieces(side):
        inertia = piece.inertia[1, 1] + piece.mass * (piece.com[0] ** 2 + piece.com[2] ** 2)
        # np.interp of unit vectors gives the levers.
        found += inertia * np.array([np.interp(at, places, row) for row in np.eye(len(places))])
    return found


def crank_stiffness(side: Side) -> tuple[float, ...]:
    """Give the torsional stiffness between neighbouring `stations`, N m/rad: bar, and half a throw at a throw's end."""
    c = side.crank
    places = stations(side)
    radii = [side.panels[k].throw_radius for k in throw_order(side)]
    found: list[float] = []
    for k, (near, far) in enumerate(pairwise(places)):
        ends = radii[max(0, k - 1) : k + 1]
        bar = far - near - len(ends) * (c.cheek.gap + c.cheek.thickness) / 2
        shear = c.material.shear_modulus
        parts = [half_throw(c, r) for r in ends]
        if bar > 0:
            parts.append(1 / shaft_stiffness(c.shaft, bar, shear))
        found.append(in_series(*parts))
    return tuple(found)


def half_throw(c: Crankshaft, radius: float) -> float:
    """Give the angle per torque, rad/(N m), from the middle of a web on the shaft to the middle of its pin.

    A torque T about the shaft goes through every section as it is: it bends the web in its plane by
    T r / E I with I = t b^3 / 12, and twists half the pin by T l / 2 G J. Statics; the bearings, which keep the
    shaft's halves in line, make it stiffer, welds and fits softer.

    Parameters
    ----------
    c : the crankshaft.
    radius : of the throw, m.
    """
    web = radius / (c.material.modulus * c.cheek.thickness * c.cheek.width**3 / 12)
    length = (c.cheek.gap + c.cheek.thickness) / 2
    return web + 1 / shaft_stiffness(c.pin, length, c.material.shear_modulus)
