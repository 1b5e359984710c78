"""What gives: bodies that bend as they turn, and bearings that give or have clearance."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.arrays import Array
from sim.laws import Two

AT = 1e-9
"""Distance, m, within which a joint sits at a point of a body that bends."""
TOUCH = 1e-9
"""Distance from a bush's axis, m, below which its direction is taken for smooth."""
NEARLY = 1e-6
"""Depth, m, over which a bush's damping comes in after first touch, so that it does not jump."""


@dataclass(frozen=True)
class Flexible:
    """A body that bends a little in axes of its own, which turn and move with its first point.

    It bends in shapes with amplitudes q: point k is at its place x_k plus the sum of its shapes times q, in those
    axes. Shapes are free of each other: their stiffness and mass have no parts between them.

    Attributes
    ----------
    name : unique in the scene.
    points : (p, 3) unstressed, from the first one, in the body's axes, m. Joints and bushes sit at points.
    masses : (p,) kg, at the points.
    shapes : (p, 3, k) movement of the points per unit amplitude; none of the first.
    stiffness : (k,) N/m.
    damping : of the stiffness, s.
    place, rotation : of the first point (3,), m, and of the axes (3, 3) in the world at the start.
    velocity, angular_velocity : (3,) the same, m/s and rad/s, world axes.
    amplitudes : (k,) at the start.
    spin : (3,) world direction of the axis about which it turns, its angle counting full turns.
    angle : rad, that its spin coordinate has at the start.
    """

    name: str
    points: Array
    masses: Array
    shapes: Array
    stiffness: Array
    damping: float
    place: Array
    rotation: Array
    velocity: Array
    angular_velocity: Array
    amplitudes: Array
    spin: Array
    angle: float = 0.0

    def rotated(self, turn: Array) -> "Flexible":
        """Give it turned in the world by a rotation matrix (3, 3)."""
        return replace(
            self,
            place=turn @ self.place,
            rotation=turn @ self.rotation,
            velocity=turn @ self.velocity,
            angular_velocity=turn @ self.angular_velocity,
            spin=turn @ self.spin,
        )

    def bent(self, amplitudes: Array) -> Array:
        """Give the points (n, p, 3), m, in the body's axes at amplitudes (n, k)."""
        return self.points + np.einsum("pik,nk->npi", self.shapes, amplitudes)

    @property
    def places(self) -> Array:
        """Where the points are (p, 3) in the world at the start, m."""
        return self.place + self.bent(self.amplitudes[None])[0] @ self.rotation.T

    def nearest(self, point: Array) -> int:
        """Give the number of the point that is at a place (3,) of the world at the start.

        Raises
        ------
        ValueError
            When none is there.
        """
        apart = np.linalg.norm(self.places - point, axis=1)
        k = int(np.argmin(apart))
        if apart[k] > AT:
            raise ValueError(f"'{self.name}' has no point at {point}; the nearest is {apart[k]:.3g} m off")
        return k

    @property
    def inertia(self) -> float:
        """About its spin axis through the first point, unstressed, kg m2."""
        axis = self.rotation.T @ self.spin
        aside = self.points - np.outer(self.points @ axis, axis)
        return float(self.masses @ np.sum(aside**2, 1))


@dataclass(frozen=True)
class Bush:
    """A bearing that gives: it holds a point of b sideways of an axis on a, with or without clearance.

    With u what the point is off the axis, its load is k (|u| - c) towards the axis beyond half the clearance c, and
    a damping of that stiffness times a time while it touches, never pulling.

    Attributes
    ----------
    name : unique in the scene.
    a, b : bodies, or `GROUND`. The recorded force is what b puts on a.
    point_a : (3,) on the axis, riding on a, in the world at the start, m.
    point_b : (3,) the point of b that is held, in the world at the start, m.
    axis : (3,) of the bush in the world; a does not turn it.
    stiffness : N/m.
    clearance : on the diameter, m.
    damping : of the stiffness, s.
    """

    name: str
    a: str
    b: str
    point_a: Array
    point_b: Array
    axis: Array
    stiffness: float
    clearance: float = 0.0
    damping: float = 0.0

    def rotated(self, turn: Array) -> "Bush":
        """Give it turned in the world by a rotation matrix (3, 3)."""
        return replace(self, point_a=turn @ self.point_a, point_b=turn @ self.point_b, axis=turn @ self.axis)

    def load(self, off: Array, rate: Array) -> Array:
        """Give what b puts on a (n, 3), N, from b's place against a's (n, 3), m, and its rate (n, 3), m/s."""
        n = self.axis / np.linalg.norm(self.axis)
        u, v = off - (off @ n)[:, None] * n, rate - (rate @ n)[:, None] * n
        far = np.sqrt(np.sum(u**2, -1, keepdims=True) + TOUCH**2)
        outward = np.sum(u * v, -1, keepdims=True) / far
        return self.push(far, outward) * u / far

    def energies(self, off: Array, rate: Array) -> tuple[Array, Array]:
        """Give what is stored (n,), J, and the power that damping takes (n,), W; arguments as of `load`."""
        n = self.axis / np.linalg.norm(self.axis)
        u, v = off - (off @ n)[:, None] * n, rate - (rate @ n)[:, None] * n
        far = np.sqrt(np.sum(u**2, -1) + TOUCH**2)
        outward = np.sum(u * v, -1) / far
        beyond = np.maximum(0.0, far - self.clearance / 2)
        elastic = self.stiffness * beyond
        return elastic * beyond / 2, (self.push(far, outward) - elastic) * outward

    def push(self, far: Any, outward: Any, larger: Two = np.maximum) -> Any:
        """Give the size of the load, N, at a distance from the axis, m, and its rate, m/s."""
        beyond = larger(0.0, far - self.clearance / 2)
        # A bush without clearance touches always, and its damping need not come in.
        share = beyond / (beyond + NEARLY) if self.clearance > 0 else 1.0
        return larger(0.0, self.stiffness * (beyond + self.damping * outward * share))
