"""Least distances between a sculpture's parts over the whole turn, with bounds that hold between poses.

What is guaranteed: at no crank angle are the shapes of `sim.clearance.solids` nearer to each other than `bound`, as far
as double precision goes (about 1e-9 m); and at `crank` they are `least` apart. Both differ by less than
`AGREE` unless `bound` says otherwise. Shapes are as large as the parts or larger, as far as the description
gives the parts. Crank angles are common to both sides; what slack, whip and tolerances add is not in here.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from sim.arrays import Array
from sim.clearance.approach import Approach, Field, Moving
from sim.clearance.convex import Convex
from sim.clearance.distance import Whole
from sim.clearance.poses import Bounds, Carrier, Poses
from sim.clearance.rate_bounds import middles
from sim.clearance.solids import Solid
from sim.linkage import SideLinkage

POSES = 72
"""Cells of the turn to begin with, and crank angles of `Clearance.course`."""
WITHIN = 0.55
"""Distances (m) beyond this are not looked into: just over the largest published gap against crushing."""
AGREE = 1e-4
"""Cells are halved until least distance and bound agree to this, m."""
MOST_HALVINGS = 12
MOST_OPEN = 50_000
"""The search stops, and gives the bounds that it has, where more cells than this would have to be halved."""


@dataclass(frozen=True)
class Pair:
    """Two parts that may hit each other, with what of them is looked at.

    Attributes
    ----------
    first, second : the parts.
    shapes : of either that are looked at.
    joined : whether they meet in a joint, the neighbourhood of which is left out.
    """

    first: Solid
    second: Solid
    shapes: tuple[tuple[Convex, ...], tuple[Convex, ...]]
    joined: bool

    @property
    def across(self) -> bool:
        """Whether the parts belong to different sides."""
        return None not in (self.first.side, self.second.side) and self.first.side != self.second.side


@dataclass(frozen=True)
class Clearance:
    """How near two parts come.

    Attributes
    ----------
    pair : which.
    least : least distance found, m; less than 0 where rounded shapes overlap, 0 where sharp ones do.
    bound : what the distance never is less than, m.
    crank : crank angle of the least distance, rad.
    points : (2, 3) on the first and the second part there, m, from the crank's axis on the post's.
    course : (POSES,) distance at `middles(POSES)`, no more than `WITHIN`, m.
    heights : (POSES,) of the lower of both points there, from the crank's axis, m; nan beyond `WITHIN`.
    """

    pair: Pair
    least: float
    bound: float
    crank: float
    points: Array
    course: Array
    heights: Array

    @property
    def largest(self) -> float:
        """Largest distance at the poses of the course, no more than `WITHIN`, m."""
        return float(self.course.max())


def pairs(parts: tuple[Solid, ...], mirrored: bool) -> tuple[Pair, ...]:
    """Give the pairs of parts that move against each other.

    Parameters
    ----------
    parts : of the sculpture.
    mirrored : whether the second side mirrors the first at every crank angle; then pairs that mirror others
        are left out.
    """
    found: list[Pair] = []
    for k, first in enumerate(parts):
        for second in parts[k + 1 :]:
            if first.body == second.body or (mirrored and _mirrors_another(first, second)):
                continue
            shapes = first.toward(second.name), second.toward(first.name)
            joined = second.name in first.against or first.name in second.against
            if all(shapes):
                found.append(Pair(first, second, shapes, joined))
    if mirrored:
        return tuple(_once(found))
    return tuple(found)


def _mirrors_another(first: Solid, second: Solid) -> bool:
    """Say whether a pair lies on the second side alone, or between it and what is the same on both."""
    sides = {first.side, second.side} - {None}
    return sides == {1} and "wheel" not in (first.kind, second.kind)


def _once(found: list[Pair]) -> Iterator[Pair]:
    """Leave out pairs across the sides that mirror others: left a with right b is right a with left b."""
    seen: set[tuple[str, str]] = set()
    for pair in found:
        if pair.across:
            a, b = (s.name.split(" ", 1)[-1] for s in (pair.first, pair.second))
            if (b, a) in seen:
                continue
            seen.add((a, b))
        yield pair


def mirrors(sides: tuple[SideLinkage, ...]) -> bool:
    """Say whether there is a second side that mirrors the first at every crank angle."""
    if len(sides) < 2:
        return False
    first, second = sides
    alike = replace(second.side, name=first.side.name, sign=first.side.sign)
    return alike == first.side and first.folds == second.folds


def clearances(
    sides: tuple[SideLinkage, ...], parts: tuple[Solid, ...], within: float = WITHIN
) -> tuple[Clearance, ...]:
    """Give the clearances of all pairs of parts that come nearer than `within`, m.

    Parameters
    ----------
    sides : closed.
    parts : as `sim.clearance.solids.solids` gives them.
    within : distances beyond it are not looked into, m.
    """
    return of_pairs(sides, pairs(parts, mirrors(sides)), within)


def of_pairs(
    sides: tuple[SideLinkage, ...], chosen: tuple[Pair, ...], within: float = WITHIN
) -> tuple[Clearance, ...]:
    """Give the clearances of some pairs; those that stay farther apart than `within` are left out."""
    if not chosen:
        return ()
    search = _Search(sides, chosen, within)
    search.first_round()
    for halving in range(1, MOST_HALVINGS + 1):
        if not search.halve(POSES * 2**halving):
            break
    return search.result()


class _Search:
    """Branch and bound over pairs of shapes and cells of the turn."""

    def __init__(self, sides: tuple[SideLinkage, ...], chosen: tuple[Pair, ...], within: float) -> None:
        movers: dict[tuple[Carrier, int], tuple[int, Moving]] = {}
        numbers: list[tuple[int, int]] = []
        owner: list[int] = []
        for k, pair in enumerate(chosen):
            first, second = (
                [
                    movers.setdefault((part.carrier, id(s)), (len(movers), Moving(part.carrier, s)))[0]
                    for s in shapes
                ]
                for part, shapes in zip((pair.first, pair.second), pair.shapes, strict=True)
            )
            numbers += product(first, second)
            owner += [k] * (len(first) * len(second))
        self.chosen, self.within = chosen, within
        self.field = Field(sides, Bounds(sides), [m for _, m in movers.values()], np.array(numbers))
        self.owner = np.array(owner)
        n = len(chosen)
        self.least, self.bound = np.full(n, np.inf), np.full(n, np.inf)
        self.crank, self.points = np.zeros(n), np.zeros((n, 2, 3))
        self.course, self.heights = np.full((n, POSES), within), np.full((n, POSES), np.nan)
        self.open: tuple[Whole, Whole, Array] = (np.empty(0, int), np.empty(0, int), np.empty(0))

    def first_round(self) -> None:
        """Look at every pair of shapes that can be a pair's nearest, at the first poses."""
        at_pose, in_cell, at_most = _spheres(self.field)
        nearest = np.full((len(self.chosen), POSES), np.inf)
        np.minimum.at(nearest, self.owner, at_most)
        least = nearest.min(1)
        wanted = (at_pose <= np.minimum(nearest, self.within)[self.owner]) | (
            in_cell <= np.minimum(least, self.within)[self.owner, None]
        )
        np.minimum.at(self.bound, self.owner, np.where(wanted, np.inf, in_cell).min(1))
        duel, cell = np.nonzero(wanted)
        found = self._look(duel, cell, POSES)
        owner = self.owner[duel]
        order = np.argsort(-found.distance, kind="stable")
        # The nearest of a pair's shapes is written last.
        o, c = owner[order], cell[order]
        self.course[o, c] = np.minimum(found.distance[order], self.within)
        low = np.minimum(found.first[order, 2], found.second[order, 2])
        self.heights[o, c] = np.where(found.distance[order] < self.within, low, np.nan)
        self._sort_out(duel, cell, found.bound)

    def halve(self, cells: int) -> bool:
        """Halve the cells that may still hold a pair's least distance; say whether that was of use."""
        duel, cell, before = self.open
        if not 0 < len(duel) <= MOST_OPEN:
            return False
        duel, before = np.repeat(duel, 2), np.repeat(before, 2)
        cell = np.stack([2 * cell, 2 * cell + 1], 1).ravel()
        found = self._look(duel, cell, cells)
        self._sort_out(duel, cell, np.maximum(found.bound, before))
        return True

    def _look(self, duel: Whole, cell: Whole, cells: int) -> Approach:
        """Look at cells and keep what is nearer than anything before."""
        found = self.field.approach(duel, cell, cells)
        owner = self.owner[duel]
        order = np.lexsort((found.distance, owner))
        first = order[np.flatnonzero(np.diff(owner[order], prepend=-1))]
        first = first[found.distance[first] < self.least[owner[first]]]
        who = owner[first]
        self.least[who], self.crank[who] = found.distance[first], middles(cells)[cell[first]]
        self.points[who] = np.stack([found.first[first], found.second[first]], 1)
        return found

    def _sort_out(self, duel: Whole, cell: Whole, bound: Array) -> None:
        """Keep the cells that may hold less than has been found; the bound of the others counts."""
        owner = self.owner[duel]
        keep = bound < np.minimum(self.least - AGREE, self.within)[owner]
        np.minimum.at(self.bound, owner[~keep], bound[~keep])
        self.open = duel[keep], cell[keep], bound[keep]

    def result(self) -> tuple[Clearance, ...]:
        """Give what has been found."""
        duel, _, bound = self.open
        np.minimum.at(self.bound, self.owner[duel], bound)
        return tuple(
            Clearance(pair, float(self.least[k]), float(min(self.bound[k], self.least[k])), float(self.crank[k]),
                      self.points[k], self.course[k], self.heights[k])
            for k, pair in enumerate(self.chosen)
            if self.bound[k] < self.within
        )  # fmt: skip


def _spheres(field: Field) -> tuple[Array, Array, Array]:
    """Give what spheres about the shapes say of each pair of shapes at the first poses, each (pairs, POSES).

    Returns
    -------
    at_pose : no more than the distance in the middle of the cell.
    in_cell : no more than the distance anywhere in the cell.
    at_most : no less than the distance in the middle of the cell.
    """
    poses = Poses(field.sides, middles(POSES))
    everywhere = np.arange(POSES)
    h, n = np.pi / POSES, len(field.movers)
    places, rates, seconds = np.zeros((n, POSES, 3)), np.zeros((n, POSES, 3)), np.zeros((n, POSES))
    for k, m in enumerate(field.movers):
        centre = m.shape.centre[None]
        track = poses.track(m.carrier, centre, everywhere)
        places[k], rates[k] = track.value[:, 0], track.first[:, 0]
        seconds[k] = field.bounds.second(m.carrier, centre, POSES)
    extents = np.array([m.shape.extent for m in field.movers])
    radii = np.array([m.shape.radius for m in field.movers])
    a, b = field.numbers.T
    apart = np.linalg.norm(places[b] - places[a], axis=-1)
    approach = np.linalg.norm(rates[b] - rates[a], axis=-1)
    at_pose = apart - (extents[a] + extents[b])[:, None]
    in_cell = at_pose - h * approach - h**2 / 2 * (seconds[a] + seconds[b])
    return at_pose, in_cell, apart - (radii[a] + radii[b])[:, None]


@dataclass(frozen=True)
class Travel:
    """How high a part comes and how fast it moves.

    Attributes
    ----------
    part : which.
    crank : (n,) crank angles, rad.
    low, high : (n,) of its lowest and highest point, from the crank's axis, m.
    fastest : largest speed of any of its points, per crank speed, m.
    """

    part: Solid
    crank: Array
    low: Array
    high: Array
    fastest: float


def travels(sides: tuple[SideLinkage, ...], parts: tuple[Solid, ...]) -> tuple[Travel, ...]:
    """Give the travel of every moving part at ten times `POSES` poses, without bounds between them.

    Between them a height differs by at most h^2 / 2 times a second derivative, hundredths of a millimetre.
    """
    crank = middles(10 * POSES)
    poses, everywhere = Poses(sides, crank), np.arange(len(crank))
    found: list[Travel] = []
    for part in parts:
        if part.carrier.kind == "fixed":
            continue
        low, high = np.full(len(crank), np.inf), np.full(len(crank), -np.inf)
        fastest = 0.0
        for shape in part.shapes:
            track = poses.track(part.carrier, shape.points, everywhere)
            z = track.value[..., 2]
            low, high = np.minimum(low, z.min(1) - shape.radius), np.maximum(high, z.max(1) + shape.radius)
            fastest = max(fastest, float(np.linalg.norm(track.first, axis=2).max()))
        found.append(Travel(part, crank, low, high, fastest))
    return tuple(found)
