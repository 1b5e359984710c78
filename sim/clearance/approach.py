"""How near pairs of moving convex shapes come within cells of crank angles: at the middle, and at the least.

In the middle of a cell, half as wide as h, the distance is found with the direction n along which both shapes
stand apart. For any direction, followed over the cell, the gap along it is no more than the distance; so

    distance(t) >= min over b of y_b(t) - max over a of y_a(t) - both radii,   y = n(t).(x(t) - c(t)),

with a and b the corners of both hulls. Each y is its value and its rate in the middle and a remainder of at
most h^2 / 2 times a bound on |y''| over the cell. Three directions are tried, and the best bound counts: one at
rest in the world, and one that turns as fast as either panel does in the middle of the cell, with c on its
hinge line. Bounds on |x''| are those of `sim.clearance.rate_bounds`; so the bound is certain, up to rounding.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sim.arrays import Array
from sim.clearance.convex import Convex
from sim.clearance.distance import Whole, separation
from sim.clearance.poses import Bounds, Carrier, Poses
from sim.clearance.rate_bounds import middles
from sim.linkage import SideLinkage

FEW_POINTS = 16
"""Hulls with no more points than this are taken together, filled up to the same number."""
AT_ONCE = 4000
_POINTS_AT_ONCE = 400_000


@dataclass(frozen=True)
class Moving:
    """A convex shape and what carries it."""

    carrier: Carrier
    shape: Convex


@dataclass(frozen=True)
class Approach:
    """Pairs of shapes in n cells.

    Attributes
    ----------
    distance : (n,) in the middle of the cell, m; less than 0 where rounded shapes overlap.
    bound : (n,) what the distance nowhere in the cell is less than, m.
    first, second : (n, 3) the points of both, in the middle of the cell, m.
    """

    distance: Array
    bound: Array
    first: Array
    second: Array


@dataclass(frozen=True)
class _Flock:
    """The hulls of one side of n pairs, filled up with repeated points.

    Attributes
    ----------
    value, first : (n, k, 3) of the points.
    second : (n,) bound on |second derivative| over the cell.
    radius : (n,) of the rounding.
    rate : (n,) at which the carrier's axes turn about x, 0 for what is not a panel.
    pivot, pivot_first : (n, 3) of its hinge line.
    pivot_second : (n,) bound on |second derivative| of it.
    """

    value: Array
    first: Array
    second: Array
    radius: Array
    rate: Array
    pivot: Array
    pivot_first: Array
    pivot_second: Array


@dataclass(frozen=True)
class Field:
    """What the search works on.

    Attributes
    ----------
    sides : closed.
    bounds : on their motion.
    movers : every shape with what carries it.
    numbers : (n, 2) which two of them make each pair.
    """

    sides: tuple[SideLinkage, ...]
    bounds: Bounds
    movers: Sequence[Moving]
    numbers: Whole

    def approach(self, duel: Whole, cell: Whole, cells: int) -> Approach:
        """Give the approach of pairs of shapes (indices, n) in cells (indices, n) out of `cells` in a turn."""
        n = len(duel)
        found = Approach(np.empty(n), np.empty(n), np.empty((n, 3)), np.empty((n, 3)))
        angles, at = np.unique(cell, return_inverse=True)
        poses = Poses(self.sides, middles(cells)[angles])
        for rows in self._batches(duel):
            part = self._batch(duel[rows], cell[rows], at[rows], cells, poses)
            found.distance[rows], found.bound[rows] = part.distance, part.bound
            found.first[rows], found.second[rows] = part.first, part.second
        return found

    def _batches(self, duel: Whole) -> Iterator[Whole]:
        """Split the pairs so that hulls of few points are not filled up to many."""
        sizes = np.array([len(m.shape.points) for m in self.movers])[self.numbers[duel]]
        large = sizes > FEW_POINTS
        for kind in range(4):
            rows = np.flatnonzero(large[:, 0] + 2 * large[:, 1] == kind)
            if len(rows):
                most = int(sizes[rows].max())
                step = max(1, min(AT_ONCE, _POINTS_AT_ONCE // most))
                yield from (rows[k : k + step] for k in range(0, len(rows), step))

    def _batch(self, duel: Whole, cell: Whole, at: Whole, cells: int, poses: Poses) -> Approach:
        a, b = (self._flock(duel, k, cell, at, cells, poses) for k in (0, 1))
        apart = separation(a.value, b.value)
        radii = a.radius + b.radius
        h = np.pi / cells
        bound = np.maximum(_at_rest(a, b, apart.normal, h), 0.0)
        for frame in (a, b):
            rows = np.flatnonzero(frame.rate != 0)
            if len(rows):
                bound[rows] = np.maximum(bound[rows], _turning(a, b, frame, rows, apart.normal[rows], h))
        distance = apart.distance - radii
        bound = np.minimum(bound, apart.distance) - radii
        return Approach(
            distance, bound, *_surface(apart.first, apart.second, apart.normal, a.radius, b.radius)
        )

    def _flock(self, duel: Whole, which: int, cell: Whole, at: Whole, cells: int, poses: Poses) -> _Flock:
        n = len(duel)
        numbers = self.numbers[duel, which]
        each: list[int] = np.unique(numbers).tolist()
        used = [(self.movers[k], np.flatnonzero(numbers == k)) for k in each]
        most = max(len(m.shape.points) for m, _ in used)
        found = _Flock(
            value=np.empty((n, most, 3)), first=np.empty((n, most, 3)), second=np.zeros(n), radius=np.zeros(n),
            rate=np.zeros(n), pivot=np.zeros((n, 3)), pivot_first=np.zeros((n, 3)), pivot_second=np.zeros(n),
        )  # fmt: skip
        for m, rows in used:
            points = m.shape.points
            track = poses.track(m.carrier, points, at[rows])
            fill = np.minimum(np.arange(most), len(points) - 1)
            found.value[rows], found.first[rows] = track.value[:, fill], track.first[:, fill]
            found.second[rows] = self.bounds.second(m.carrier, points, cells)[cell[rows]]
            found.radius[rows] = m.shape.radius
            if m.carrier.kind == "panel":
                turn = poses.turning(m.carrier, at[rows])
                found.rate[rows], found.pivot[rows] = turn.rate, turn.value
                found.pivot_first[rows] = turn.first
                found.pivot_second[rows] = self.bounds.pivot(m.carrier, cells)[cell[rows]]
        return found


def _along(points: Array, direction: Array) -> Array:
    return np.einsum("nkc,nc->nk", points, direction)


def _least_gap(first: tuple[Array, Array], second: tuple[Array, Array], h: float) -> Array:
    """Give the least gap of values and rates (n, k) over -h..h: least of straight lines, so at an end."""
    ends = [(second[0] + s * second[1]).min(1) - (first[0] + s * first[1]).max(1) for s in (-h, h)]
    return np.minimum(*ends)


def _at_rest(a: _Flock, b: _Flock, normal: Array, h: float) -> Array:
    """Give the bound from a direction at rest, radii not taken off."""
    first, second = ((_along(x.value, normal), _along(x.first, normal)) for x in (a, b))
    return _least_gap(first, second, h) - h**2 / 2 * (a.second + b.second)


def _turning(a: _Flock, b: _Flock, frame: _Flock, rows: Whole, normal: Array, h: float) -> Array:
    """Give the bound from a direction that turns with a panel, radii not taken off."""
    rate, pivot = frame.rate[rows], frame.pivot[rows][:, None]
    pivot_first = frame.pivot_first[rows][:, None]
    onward = np.stack([np.zeros(len(rows)), -normal[:, 2], normal[:, 1]], -1)
    lines: list[tuple[Array, Array]] = []
    rest = np.zeros(len(rows))
    for x in (a, b):
        place, speed = x.value[rows] - pivot, x.first[rows] - pivot_first
        lines.append((_along(place, normal), rate[:, None] * _along(place, onward) + _along(speed, normal)))
        jerked = x.second[rows] + frame.pivot_second[rows]
        fastest = np.linalg.norm(speed, axis=2).max(1) + h * jerked
        farthest = np.hypot(place[..., 1], place[..., 2]).max(1) + h * fastest
        rest += rate**2 * farthest + 2 * np.abs(rate) * fastest + jerked
    return _least_gap(lines[0], lines[1], h) - h**2 / 2 * rest


def _surface(first: Array, second: Array, normal: Array, a: Array, b: Array) -> tuple[Array, Array]:
    """Give the points on the rounded surfaces from those on the hulls."""
    gap = second - first
    length = np.linalg.norm(gap, axis=1)
    way = np.where((length > 0)[:, None], gap / np.where(length > 0, length, 1.0)[:, None], normal)
    return first + a[:, None] * way, second - b[:, None] * way
