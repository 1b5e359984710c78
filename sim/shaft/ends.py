"""A crankshaft's inner end as a coupling finds it: how far it is off line, and how it gives.

Everything turns with the shaft: components are forward and up at crank angle 0 less the key angle. Slopes are
d/dy of the line outwards, so that those of both sides' ends, and of the centre shaft's end seen from either side,
count alike. A moment "toward" a direction turns the line's slope that way.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from models.mechanism import Side
from sim.arrays import Array
from sim.mass import Y
from sim.shaft.bending import Bent
from sim.shaft.crank import INNER, bearing, bearing_joints
from sim.shaft.loading import unloaded

DIRECTIONS = 72
"""Directions over half a turn among which the stiffest is sought: what is missed is of second order in 1.25 deg."""


@dataclass(frozen=True)
class InnerEnd:
    """A crankshaft's inner end without any load.

    Attributes
    ----------
    shape : the unloaded shaft on its bearings.
    """

    shape: Bent

    @cached_property
    def _ways(self) -> Array:
        """The (4, 6 N) directions of movement: forward, up, slope forward, slope up."""
        at = 6 * self.shape.crank.node(INNER)
        found = np.zeros((4, 6 * len(self.shape.crank.frame.nodes)))
        for k, toward in enumerate((np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]))):
            found[k, at : at + 3] = toward
            found[2 + k, at + 3 : at + 6] = np.cross(Y, toward)
        return found

    @property
    def off(self) -> Array:
        """How far it is off line (4,): forward and up, m, and the slopes toward them, rad."""
        return self._ways @ self.shape.moved[0]

    @property
    def parallel(self) -> float:
        """How far it is off sideways, m."""
        return float(np.hypot(*self.off[:2]))

    @property
    def angular(self) -> float:
        """How far it is askew, rad."""
        return float(np.hypot(*self.off[2:]))

    @cached_property
    def flexibility(self) -> Array:
        """What forces (2), N, and moments (2), N m, at it do to `off` (4, 4); symmetric."""
        return self._ways @ self.shape.held.by_load @ self._ways.T

    def plane(self, toward: float) -> Array:
        """Give the flexibility (2, 2) in a plane: force and moment toward a direction to displacement and slope.

        Parameters
        ----------
        toward : counted as throws' angles are: 0 up, 90 deg forward.
        """
        t = np.array([np.sin(toward), np.cos(toward)])
        both = np.kron(np.eye(2), t)
        return both @ self.flexibility @ both.T

    @cached_property
    def stiffest(self) -> tuple[float, Array]:
        """The direction, rad, in which pushing the end aside with its slope held takes most force; its plane.

        What a rigid clamp puts on the end for a misalignment is most there.
        """
        angles = np.linspace(0, np.pi, DIRECTIONS, endpoint=False)
        planes = [self.plane(float(a)) for a in angles]
        k = int(np.argmax([np.linalg.inv(p)[0, 0] for p in planes]))
        return float(angles[k]), planes[k]

    def on_bearings(self, load: Array) -> dict[str, Array]:
        """Give by joint what a load at the end puts on each bearing (2,), forward and up, N.

        Parameters
        ----------
        load : (4,) forces forward and up, N, and moments toward forward and up, N m.
        """
        held = self.shape.held
        carried = -held.carried @ self._ways.T @ load
        joints = bearing_joints(self.shape.crank.side)
        return {joint: carried[held.rows(bearing(k))][:2] for k, joint in enumerate(joints, 1)}


def inner_end(side: Side) -> InnerEnd:
    """Give a side's inner end: off line by bow and throws off line, given as its description has them."""
    return InnerEnd(unloaded(side))
