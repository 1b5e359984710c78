"""An arm as a level cantilever from the post's wall, with brackets on it that hold bearings.

Coordinates: forward, out along the arm, up. Its foot is taken for rigid.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.structure.tube import Tube
from models.structure import Arm
from sim.arrays import Array


@dataclass(frozen=True)
class Cantilever:
    """An arm with its bearings.

    Attributes
    ----------
    arm : its sizes.
    places : of its bearings from the post's wall, m.
    gravity : m/s2.
    """

    arm: Arm
    places: tuple[float, ...]
    gravity: float

    @property
    def tube(self) -> Tube:
        """Its section."""
        return Tube(self.arm.outside, self.arm.wall)

    @property
    def offset(self) -> Array:
        """Bearings from the arm's axis (3,), m."""
        return np.array([-self.arm.forward, 0.0, -self.arm.up])

    @property
    def own(self) -> float:
        """Moment of its own weight and its brackets' at the post, N m, about forward; negative, since it hangs down."""
        density, length = self.arm.material.density, max(self.places)
        moment = density * self.tube.area * length**2 / 2
        if self.arm.bracket is not None:
            each = density * self.arm.bracket[0] * self.arm.bracket[1] * math.hypot(*self.offset)
            moment += each * sum(self.places)
        return -moment * self.gravity

    def root(self, forces: Sequence[Array]) -> Array:
        """Give the moment (n, 3), N m, at the post of forces (n, 3), N, on each bearing, and of its own weight."""
        moment = np.array([self.own, 0.0, 0.0])
        for place, force in zip(self.places, forces, strict=True):
            moment = moment + np.cross(self.offset + np.array([0.0, place, 0.0]), force)
        return moment

    def axial(self, forces: Sequence[Array]) -> Array:
        """Give the force (n,), N, along the arm at the post, positive as tension."""
        return np.sum([f[:, 1] for f in forces], axis=0)

    def stress(self, forces: Sequence[Array]) -> Array:
        """Give the equivalent stress (n,), Pa, at the post."""
        return self.tube.stress(self.root(forces), self.axial(forces))

    def moved(self, forces: Sequence[Array], which: int) -> tuple[Array, Array]:
        """Give how far a bearing moves (n, 3), m, and turns (n, 3), rad, under forces (n, 3), N, on all of them.

        A cantilever under forces P and couples C at places a, at x: P a^2 (3 x - a) / 6 EI and C a (2 x - a) / 2 EI
        from a outwards, P x^2 (3 a - x) / 6 EI and C x^2 / 2 EI from a inwards, and their slopes; twist
        T min(a, x) / GJ (any table of beams; memory). The bracket is a cantilever on it. The arm's own weight is left
        out: it hangs so before bearings are set.
        """
        x = self.places[which]
        stiff = self.arm.material.modulus * self.tube.second
        twisting = self.arm.material.shear_modulus * 2 * self.tube.second
        moved, turned = np.zeros_like(forces[which]), np.zeros_like(forces[which])
        for a, force in zip(self.places, forces, strict=True):
            couple = np.cross(self.offset, force)
            near = min(a, x)
            by_push = near**2 * (3 * max(a, x) - near) / (6 * stiff)
            by_couple = (a * (2 * x - a) if x >= a else x**2) / (2 * stiff)
            lean = (a**2 if x >= a else x * (2 * a - x)) / (2 * stiff)
            moved[:, 0] += by_push * force[:, 0] - by_couple * couple[:, 2]
            moved[:, 1] += force[:, 1] * near / (self.arm.material.modulus * self.tube.area)
            moved[:, 2] += by_push * force[:, 2] + by_couple * couple[:, 0]
            turned[:, 0] += lean * force[:, 2] + near / stiff * couple[:, 0]
            turned[:, 1] += near / twisting * couple[:, 1]
            turned[:, 2] += -lean * force[:, 0] + near / stiff * couple[:, 2]
        more, besides = self._bracket_moved(forces[which])
        return moved + np.cross(turned, self.offset) + more, turned + besides

    @property
    def _bracket(self) -> tuple[Array, Array, float]:
        """Unit vectors (3,) along the bracket, from the arm, and across it as the shaft's turn goes; its length, m."""
        long = float(np.hypot(self.arm.forward, self.arm.up))
        along = self.offset / long
        return along, np.cross([0.0, 1.0, 0.0], along), long

    def _bracket_moved(self, force: Array) -> tuple[Array, Array]:
        if self.arm.bracket is None or not self.offset.any():
            return np.zeros_like(force), np.zeros_like(force)
        along, across, long = self._bracket
        width, thick = self.arm.bracket
        strong = self.arm.material.modulus * thick * width**3 / 12
        weak = self.arm.material.modulus * width * thick**3 / 12
        out = np.array([0.0, 1.0, 0.0])
        push, pull = (force @ across)[:, None], (force @ out)[:, None]
        moved = long**3 / 3 * (push / strong * across + pull / weak * out)
        return moved, long**2 / 2 * (push / strong * out + pull / weak * np.cross(along, out))

    def bracket_stress(self, force: Array) -> Array | None:
        """Give the stress (n,), Pa, at the foot of a bracket under a force (n, 3), N; None where there is none.

        The bracket is a flat bar straight from the arm's axis to the crank's, upright or not, its width across it.
        """
        if self.arm.bracket is None or not self.offset.any():
            return None
        along, across, long = self._bracket
        width, thick = self.arm.bracket
        return (
            np.abs(force @ across) * long / (thick * width**2 / 6)
            + np.abs(force[:, 1]) * long / (width * thick**2 / 6)
            + np.abs(force @ along) / (width * thick)
        )
