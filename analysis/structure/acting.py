"""Forces at points of a piece, summed at the foot of its post, and how far they bend the post.

World axes: x forward, y left, z up, the origin on the post's axis at ground level.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.arrays import Array
from sim.weights import Piece


@dataclass(frozen=True)
class Acting:
    """A force on the piece, and a couple, over n instants or poses.

    Attributes
    ----------
    force : (n, 3) or (3,), N.
    at : (n, 3) or (3,), m from the foot of the post.
    couple : (n, 3) or (3,), N m.
    """

    force: Array
    at: Array
    couple: Array

    @property
    def moment(self) -> Array:
        """Its moment (n, 3) or (3,), N m, about the foot of the post."""
        return np.cross(self.at, self.force) + self.couple


def acting(force: Array, at: Array, couple: Array | None = None) -> Acting:
    """Give a force with its point, and no couple unless there is one."""
    return Acting(
        np.asarray(force, dtype=float),
        np.asarray(at, dtype=float),
        np.zeros(3) if couple is None else np.asarray(couple, dtype=float),
    )


def weighed(parts: Sequence[Piece], gravity: float) -> tuple[Acting, ...]:
    """Give the weights of parts as forces, N."""
    return tuple(acting(np.array([0.0, 0.0, -p.mass * gravity]), p.at) for p in parts)


@dataclass(frozen=True)
class Wrench:
    """What a base carries: force (n, 3), N, and moment (n, 3), N m, about the foot of the post."""

    force: Array
    moment: Array

    def __add__(self, other: "Wrench") -> "Wrench":
        return Wrench(self.force + other.force, self.moment + other.moment)

    def __sub__(self, other: "Wrench") -> "Wrench":
        return Wrench(self.force - other.force, self.moment - other.moment)

    @property
    def overturning(self) -> Array:
        """Size (n,) of the moment about level axes, N m."""
        return np.hypot(self.moment[:, 0], self.moment[:, 1])

    @property
    def level(self) -> Array:
        """Size (n,) of the level force, N."""
        return np.hypot(self.force[:, 0], self.force[:, 1])

    def at(self, k: int) -> "Wrench":
        """Give one of its entries by itself, (1, 3) each."""
        return Wrench(self.force[k : k + 1], self.moment[k : k + 1])


def base(loads: Sequence[Acting], n: int) -> Wrench:
    """Sum loads at the foot of the post, over n entries."""
    force, moment = np.zeros((n, 3)), np.zeros((n, 3))
    for load in loads:
        force, moment = force + load.force, moment + load.moment
    return Wrench(force, moment)


def sway(loads: Sequence[Acting], height: float, top: float, bending: float, n: int) -> Array:
    """Give how far a post, clamped at its foot, moves sideways (n, 2), forward and left, m.

    A cantilever of one stiffness; what acts above its top acts at its top with the couple that goes with it. By a
    force P at height a, at height h: P a^2 (3 h - a) / 6 EI below, P h^2 (3 a - h) / 6 EI above; by a couple M:
    M a (2 h - a) / 2 EI and M h^2 / 2 EI (any table of beams; memory).

    Parameters
    ----------
    loads : what acts.
    height : h, where it is asked, m over the ground.
    top : of the post, m over the ground.
    bending : E I, N m2.
    n : entries.
    """
    moved = np.zeros((n, 2))
    for load in loads:
        a = np.clip(load.at[..., 2], 0.0, top)
        over = load.at[..., 2] - a
        # Off the axis an upright force bends the post, and so does a level one above its top.
        couple = load.couple + np.cross(_lever(load.at, over), load.force)
        push = np.where(a < height, a**2 * (3 * height - a), height**2 * (3 * a - height)) / (6 * bending)
        turn = np.where(a < height, a * (2 * height - a), np.square(height)) / (2 * bending)
        # About +y a couple moves the top forward, about +x to the right.
        moved = moved + np.stack(
            [
                push * load.force[..., 0] + turn * couple[..., 1],
                push * load.force[..., 1] - turn * couple[..., 0],
            ],
            -1,
        )
    return moved


def _lever(at: Array, over: Array) -> Array:
    return np.stack([at[..., 0], at[..., 1], over], -1)
