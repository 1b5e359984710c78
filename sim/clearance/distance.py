"""Distance between many pairs of convex hulls at once, with a lower bound that is certain.

The method of Gilbert, Johnson and Keerthi (IEEE J. Robotics and Automation 4:193, 1988; memory): the point
nearest the origin in the difference of both hulls is sought among the hulls of at most four of its corners.
Whether it has converged or not, any direction gives a certain bound: the gap between both hulls along it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.arrays import Array

Whole = NDArray[np.intp]
"""Indices."""
Truth = NDArray[np.bool_]

CLOSE = 1e-7
"""Where distance and bound agree to this (m) the search ends."""
MOST_STEPS = 60
_FLAT = 1e-12
"""Corners of a simplex that span less than this, as a share of what their sides would, count as in a line."""
_FACES = ((0,), (1,), (2,), (0, 1), (0, 2), (1, 2), (0, 1, 2))


@dataclass(frozen=True)
class Separation:
    """Distances of n pairs of hulls.

    Attributes
    ----------
    distance : (n,) between `first` and `second`, m; 0 where they overlap.
    bound : (n,) no more than the true distance, m.
    first, second : (n, 3) points of either hull that far apart.
    normal : (n, 3) unit vectors from the first to the second, along which the gap is `bound`.
    """

    distance: Array
    bound: Array
    first: Array
    second: Array
    normal: Array


def separation(first: Array, second: Array) -> Separation:
    """Give the distances between hulls of points.

    Parameters
    ----------
    first, second : (n, k, 3) and (n, m, 3), m; a point may be repeated to fill up.
    """
    search = _Search(first, second)
    active = np.arange(len(first))
    for _ in range(MOST_STEPS):
        active = search.step(active)
        if len(active) == 0:
            break
    return search.result()


class _Search:
    """The state of all searches: the simplex of each, its nearest point, the best bound so far."""

    def __init__(self, first: Array, second: Array) -> None:
        n = len(first)
        self.a, self.b = first, second
        self.first, self.second = first[:, 0].copy(), second[:, 0].copy()
        self.near = self.second - self.first
        self.corners = np.repeat(np.stack([self.first, self.second], 1)[:, None], 3, axis=1)
        self.used = np.zeros((n, 3), dtype=bool)
        self.used[:, 0] = True
        self.bound = np.zeros(n)
        self.normal = np.tile(np.array([1.0, 0.0, 0.0]), (n, 1))

    def step(self, active: Whole) -> Whole:
        """Move the searches (indices) on by one corner, and give those that are not at their end."""
        near = self.near[active]
        length = np.linalg.norm(near, axis=1)
        active, near, length = active[length > CLOSE], near[length > CLOSE], length[length > CLOSE]
        normal = near / length[:, None]
        a = _farthest(self.a, active, normal)
        b = _farthest(self.b, active, -normal)
        bound = np.sum(normal * (b - a), -1)
        better = bound > self.bound[active]
        self.bound[active[better]] = bound[better]
        self.normal[active[better]] = normal[better]
        open_ = length - self.bound[active] > CLOSE
        active, near, length = active[open_], near[open_], length[open_]
        if len(active) == 0:
            return active
        corner = np.stack([a[open_], b[open_]], 1)
        weights, inside = nearest(self.corners[active], self.used[active], corner)
        corners = np.concatenate([self.corners[active], corner[:, None]], 1)
        both = np.einsum("nk,nkpc->npc", weights, corners)
        reached = both[:, 1] - both[:, 0]
        reached[inside] = 0.0
        gained = np.linalg.norm(reached, axis=1) < length
        active, both, reached = active[gained], both[gained], reached[gained]
        weights, corners = weights[gained], corners[gained]
        self.first[active], self.second[active], self.near[active] = both[:, 0], both[:, 1], reached
        # A nearest point that is not inside rests on at most three corners.
        order = np.argsort(weights <= 0, axis=1, kind="stable")[:, :3]
        rows = np.arange(len(active))[:, None]
        self.corners[active], self.used[active] = corners[rows, order], weights[rows, order] > 0
        return active

    def result(self) -> Separation:
        """Give what has been found."""
        distance = np.linalg.norm(self.near, axis=1)
        touching = distance <= CLOSE
        distance[touching] = 0.0
        bound = np.where(touching, 0.0, np.minimum(self.bound, distance))
        return Separation(distance, bound, self.first, self.second, self.normal)


def _farthest(points: Array, active: Whole, direction: Array) -> Array:
    """Give the point (n, 3) farthest in a direction (n, 3) of the active hulls."""
    chosen = points[active]
    k = np.argmax(np.einsum("nkc,nc->nk", chosen, direction), axis=1)
    return chosen[np.arange(len(active)), k]


def nearest(corners: Array, used: Truth, corner: Array) -> tuple[Array, Truth]:
    """Give the weights of the point nearest the origin in the hull of up to three corners and a new one.

    Of each sub-simplex that has the new corner w, with edges e_i from it, the nearest point w + sum m_i e_i
    solves G m = -w.e with G the products of the edges; it counts where no weight is negative. Corners are
    pairs of points of both hulls, of which the difference is meant.

    Parameters
    ----------
    corners : (n, 3, 2, 3).
    used : (n, 3), which of them there are.
    corner : (n, 2, 3), the new one.

    Returns
    -------
    weights : (n, 4), that of the new corner last.
    inside : (n,) whether the origin lies inside all four.
    """
    n = len(corner)
    w = corner[:, 1] - corner[:, 0]
    edges = corners[:, :, 1] - corners[:, :, 0] - w[:, None]
    gram = np.einsum("nic,njc->nij", edges, edges)
    pull = -np.einsum("nic,nc->ni", edges, w)
    best = np.zeros(n)
    weights = np.zeros((n, 4))
    weights[:, 3] = 1.0
    inside = np.zeros(n, dtype=bool)
    for face in _FACES:
        index = list(face)
        found, sound = _solved(gram[:, index][:, :, index], pull[:, index])
        sound &= used[:, index].all(1) & (found > 0).all(1) & (found.sum(1) < 1)
        gain = np.where(sound, np.sum(found * pull[:, index], 1), -1.0)
        better = gain > best
        if len(face) == 3:
            # Inside four corners the nearest point is the origin itself.
            inside = sound
            better |= sound
        best[better] = gain[better]
        weights[better] = 0.0
        weights[np.ix_(np.flatnonzero(better), np.array(index))] = found[better]
        weights[better, 3] = 1 - found[better].sum(1)
    return weights, inside


def _solved(gram: Array, pull: Array) -> tuple[Array, Truth]:
    """Solve G m = p for (n, k, k) and (n, k), k up to 3, by Cramer's rule, and say where it can be."""
    k = pull.shape[1]
    size = np.prod(np.diagonal(gram, axis1=1, axis2=2), axis=1)
    if k == 1:
        whole, parts = gram[:, 0, 0], pull
    elif k == 2:
        g = gram
        whole = g[:, 0, 0] * g[:, 1, 1] - g[:, 0, 1] ** 2
        parts = np.stack(
            [
                g[:, 1, 1] * pull[:, 0] - g[:, 0, 1] * pull[:, 1],
                g[:, 0, 0] * pull[:, 1] - g[:, 0, 1] * pull[:, 0],
            ],
            1,
        )
    else:
        r0, r1, r2 = gram[:, 0], gram[:, 1], gram[:, 2]
        c12, c20, c01 = np.cross(r1, r2), np.cross(r2, r0), np.cross(r0, r1)
        whole = np.sum(r0 * c12, 1)
        # G is symmetric: its adjugate's rows are these cross products.
        parts = np.stack([np.sum(c * pull, 1) for c in (c12, c20, c01)], 1)
    sound = whole > _FLAT * size
    return parts / np.where(sound, whole, 1.0)[:, None], sound
