"""A side as tables over its crank angle: inertia, weight, and what its joints carry."""

from dataclasses import dataclass

import numpy as np

from sim.arrays import Array
from sim.closed_form import gravity_torque, moving_parts, reduced_inertia
from sim.dynamics import tables
from sim.friction import Drag
from sim.linkage import SideLinkage

FINE = 2880
"""Entries of the tables of inertia and weight, over a turn: linear between, they are right to 1e-6 of themselves."""
COARSE = 720
"""Entries of the joints' tables, which only friction rests on; those of the friction's arms."""


@dataclass(frozen=True)
class SideTables:
    """A side with one degree of freedom: M t'' + M' t'^2 / 2 + V' = Q, t the crank angle.

    Attributes
    ----------
    inertia : (FINE + 1, 3) M, kg m2, M' and V', N m; the last row is the first again.
    forces : (COARSE + 1, j, 9) forces of the j joints that rub, G, A and B of G + A t'^2 + B t'' in turn.
    arms : (COARSE + 1, j) m, by which each counts as friction on the crank.
    """

    inertia: Array
    forces: Array
    arms: Array


def side_tables(linkage: SideLinkage, gravity: float, drag: Drag | None) -> SideTables:
    """Give the tables of a side.

    Parameters
    ----------
    linkage : the side.
    gravity : m/s2.
    drag : its friction, whose rubs name its joints; None without friction.
    """
    crank = np.linspace(0, 2 * np.pi, FINE + 1)
    parts = moving_parts(linkage, crank)
    inertia = reduced_inertia(parts)
    # M' from the same values as M: what a turn takes it gives back.
    slope = np.gradient(np.concatenate([inertia[-2:-1], inertia, inertia[1:2]]), crank[1])[1:-1]
    own = np.stack([inertia, slope, gravity_torque(parts, gravity)], -1)
    rubs = () if drag is None else drag.rubs
    coarse = np.linspace(0, 2 * np.pi, COARSE + 1)
    found = tables(linkage, coarse, gravity)
    forces = [
        np.concatenate([part.forces[r.of] for part in (found.still, found.squared, found.linear)], -1)
        for r in rubs
    ]
    arms = [np.append(r.arm, r.arm[:1]) for r in rubs]
    none = len(rubs) == 0
    return SideTables(
        np.ascontiguousarray(own),
        np.zeros((COARSE + 1, 0, 9)) if none else np.ascontiguousarray(np.stack(forces, 1)),
        np.zeros((COARSE + 1, 0)) if none else np.ascontiguousarray(np.stack(arms, 1)),
    )
