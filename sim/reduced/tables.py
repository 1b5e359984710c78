"""A side as tables over its crank angle: inertia, weight, and what its joints carry."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sim.arrays import Array
from sim.closed_form import gravity_torque, moving_parts, reduced_inertia
from sim.dynamics import tables
from sim.linkage import SideLinkage

FINE = 2880
"""Entries of the tables of inertia and weight, over a turn: linear between, they are right to 1e-6 of themselves."""
COARSE = 720
"""Entries of the joints' tables; those of the friction's arms."""


@dataclass(frozen=True)
class SideTables:
    """A side with one degree of freedom: M t'' + M' t'^2 / 2 + V' = Q, t the crank angle.

    Attributes
    ----------
    inertia : (FINE + 1, 3) M, kg m2, M' and V', N m; the last row is the first again.
    joints : names of its joints.
    forces : (COARSE + 1, 9, j) their forces, N, G, A and B of G + A t'^2 + B t'' in turn, in the side's coordinates.
    """

    inertia: Array
    joints: tuple[str, ...]
    forces: Array


@lru_cache(maxsize=32)
def side_tables(linkage: SideLinkage, gravity: float) -> SideTables:
    """Give the tables of a side; many scenes of one sculpture share them.

    Parameters
    ----------
    linkage : the side.
    gravity : m/s2.
    """
    crank = np.linspace(0, 2 * np.pi, FINE + 1)
    parts = moving_parts(linkage, crank)
    inertia = reduced_inertia(parts)
    # M' from the same values as M: what a turn takes it gives back.
    slope = np.gradient(np.concatenate([inertia[-2:-1], inertia, inertia[1:2]]), crank[1])[1:-1]
    own = np.stack([inertia, slope, gravity_torque(parts, gravity)], -1)
    found = tables(linkage, np.linspace(0, 2 * np.pi, COARSE + 1), gravity)
    joints = tuple(found.still.forces)
    forces = np.stack(
        [
            np.concatenate([part.forces[joint] for part in (found.still, found.squared, found.linear)], -1)
            for joint in joints
        ],
        -1,
    )
    return SideTables(np.ascontiguousarray(own), joints, np.ascontiguousarray(forces))
