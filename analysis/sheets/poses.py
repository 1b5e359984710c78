"""Where a piece is over the turn: its masses, its centre of gravity with and without wings, and how far it reaches."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import shaft_places
from sim.linkage import carried
from sim.weights import Piece, arm_reach, arm_root, pieces
from sim.whole import potential_energy

TURN = np.linspace(0, 2 * np.pi, 360, endpoint=False)
"""Crank angles, rad."""


@dataclass(frozen=True)
class Centre:
    """A centre of gravity over the turn.

    Attributes
    ----------
    mass : kg.
    places : (n, 3) forward, left and up from the foot of the post, m, at the crank angles `TURN`.
    """

    mass: float
    places: Array

    @property
    def range(self) -> tuple[Array, Array]:
        """The least and the largest of each coordinate (3,), m."""
        return self.places.min(axis=0), self.places.max(axis=0)


def centre(parts: Iterable[Piece]) -> Centre:
    """Give the centre of gravity of some parts over the turn."""
    mass, moment = 0.0, np.zeros((len(TURN), 3))
    for p in parts:
        mass += p.mass
        moment = moment + p.mass * p.at
    return Centre(mass, moment / mass)


def whole(closed: Linkage) -> Centre:
    """Give the centre of gravity of the whole piece as far as it is described."""
    return centre(pieces(closed, TURN))


def without_wings(closed: Linkage) -> Centre:
    """Give the centre of gravity without panels and rods."""
    wings = {
        f"{s.name} {p.name} {part}"
        for s in closed.mechanism.sides
        for p in s.panels
        for part in ("panel", "rod")
    }
    return centre(p for p in pieces(closed, TURN) if p.name not in wings)


def parts(closed: Linkage) -> tuple[tuple[str, int, float, str], ...]:
    """Give the parts that are lifted one by one: name, how many alike, mass of each in kg, and its source.

    Parts of two sides that weigh alike are one row.
    """
    found: dict[tuple[str, float], list[Piece]] = {}
    for p in pieces(closed, TURN):
        name = p.name.removeprefix("left ").removeprefix("right ")
        found.setdefault((name, round(p.mass, 9)), []).append(p)
    return tuple((name if len(own) > 1 else own[0].name, len(own), own[0].mass, own[0].source)
                 for (name, _), own in found.items())  # fmt: skip


def resting(closed: Linkage) -> int:
    """Give at which of `TURN` the piece rests by itself: where its weights have the least energy."""
    return int(np.argmin(potential_energy(closed, TURN)))


def highest(closed: Linkage) -> int:
    """Give at which of `TURN` its weights have the most energy: whence it falls when it is let loose."""
    return int(np.argmax(potential_energy(closed, TURN)))


def reach(closed: Linkage) -> tuple[Array, Array]:
    """Give how far a piece reaches over the turn: least and largest (n, 3) at `TURN`, m.

    Panels, wheel, crankshafts, post with cap and base plate, body plate, arms and a stand's feet. Coordinates are
    forward, left and up from the crank's axis. Chains, brackets and what a description does not say are not in it;
    panels count with their corners in the middle of their thickness.
    """
    low, high = np.full((len(TURN), 3), np.inf), np.full((len(TURN), 3), -np.inf)
    for points in _points(closed):
        low, high = np.minimum(low, points), np.maximum(high, points)
    return low, high


def _points(closed: Linkage) -> Iterator[Array]:
    m = closed.mechanism
    for side in closed.sides:
        world = np.array([1.0, side.side.sign, 1.0])
        for course in side.course(TURN):
            for x, y in course.panel.plate.outline.exterior:
                yield carried(course, np.array([x, y, 0.0])).value * world
            yield course.pin.value * world
        for end in side.side.crank.ends:
            yield np.tile([0.0, side.side.sign * end, 0.0], (len(TURN), 1))
    (forward, up), w = shaft_places(m)[0][0], m.wheel
    for along, across in ((w.radius, 0.0), (0.0, w.radius)):
        for s in (-1, 1):
            yield np.tile([forward + s * along, w.out, up + s * across], (len(TURN), 1))
    yield np.tile([0.0, 0.0, -m.crank_height], (len(TURN), 1))
    if m.post is not None:
        half = m.post.outside / 2
        for s in (-1, 1):
            yield np.tile([s * half, s * half, m.post.above], (len(TURN), 1))
    for point in _carrying(m):
        yield np.tile(point, (len(TURN), 1))


def _carrying(m: Mechanism) -> Iterator[tuple[float, float, float]]:
    """Give how far what carries the piece reaches, as far as it is described; coordinates as of `reach`."""
    s = m.structure
    if s.post is not None and m.post is not None:
        yield 0.0, 0.0, m.post.above + (s.post.cap or 0.0)
        if s.post.base is not None:
            for way in (-1, 1):
                yield way * s.post.base.length / 2, way * s.post.base.width / 2, -m.crank_height
    if s.body is not None:
        for out, up in s.body.outline.exterior:
            yield 0.0, out, s.body.up + up
    if s.arm is not None:
        for side in m.sides:
            for direction, long in arm_reach(m, side).items():
                for way in (-1, 1):
                    half = way * s.arm.outside / 2
                    place = side.sign * direction * (arm_root(m) + long)
                    yield s.arm.forward + half, place, s.arm.up + half
    if s.stand is not None:
        for forward, left in s.stand.feet:
            yield forward, left, -m.crank_height
