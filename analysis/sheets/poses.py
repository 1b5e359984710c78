"""Where a piece is over the turn: its masses, its centre of gravity with and without wings, and how far it reaches."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import moving_parts
from sim.layout import shaft_places
from sim.linkage import carried
from sim.mass import crank_mass, plate_mass, rod_mass, sprocket_mass, wheel_mass
from sim.whole import STEEL, centre_of_gravity, potential_energy

TURN = np.linspace(0, 2 * np.pi, 360, endpoint=False)
"""Crank angles, rad."""


@dataclass(frozen=True)
class Centre:
    """A centre of gravity over the turn.

    Attributes
    ----------
    mass : kg.
    places : (n, 3) forward, left and up from the crank's axis, m, at the crank angles `TURN`.
    """

    mass: float
    places: Array

    @property
    def range(self) -> tuple[Array, Array]:
        """The least and the largest of each coordinate (3,), m."""
        return self.places.min(axis=0), self.places.max(axis=0)


def whole(closed: Linkage) -> Centre:
    """Give the centre of gravity of the whole piece as far as it is described."""
    mass, places = centre_of_gravity(closed, TURN)
    return Centre(mass, places)


def without_wings(closed: Linkage) -> Centre:
    """Give the centre of gravity without panels and rods: post, crankshafts, wheel and sprockets."""
    mass, places = centre_of_gravity(closed, TURN)
    moment = mass * places
    for side in closed.sides:
        for part in moving_parts(side, TURN):
            if part.name != "crankshaft":
                mass -= part.mass
                moment = moment - part.mass * part.com.value * np.array([1.0, side.side.sign, 1.0])
    return Centre(mass, moment / mass)


def resting(closed: Linkage) -> int:
    """Give at which of `TURN` the piece rests by itself: where its weights have the least energy."""
    return int(np.argmin(potential_energy(closed, TURN)))


def highest(closed: Linkage) -> int:
    """Give at which of `TURN` its weights have the most energy: whence it falls when it is let loose."""
    return int(np.argmax(potential_energy(closed, TURN)))


def reach(closed: Linkage) -> tuple[Array, Array]:
    """Give how far panels, wheel, post and crankshafts reach over the turn: least and largest (n, 3) at `TURN`, m.

    Coordinates are forward, left and up from the crank's axis. Chains, brackets and what a description does not say
    are not in it; panels count with their corners in the middle of their thickness.
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


def parts(m: Mechanism) -> Iterator[tuple[str, int, float, str]]:
    """Give the parts that are lifted one by one: name, how many alike, mass of each in kg, and its source."""
    exact = "outline's exact moments times thickness and density"
    first = m.sides[0]
    for k, p in enumerate(first.panels):
        others = [s.panels[k] for s in m.sides[1:]]
        alike = all(plate_mass(o.plate).mass == plate_mass(p.plate).mass for o in others)
        source = exact if p.plate.mass is None else "mass as given"
        yield f"panel '{p.name}'", 1 + len(others) if alike else 1, plate_mass(p.plate).mass, source
        if not alike:
            for s, o in zip(m.sides[1:], others, strict=True):
                yield f"panel '{o.name}' on the {s.name}", 1, plate_mass(o.plate).mass, source
        yield (
            f"rod of panel '{p.name}' with its rod ends",
            len(m.sides),
            rod_mass(p.rod).mass,
            "bar and rod ends",
        )
    for s in m.sides:
        yield f"{s.name} crankshaft", 1, crank_mass(s).mass, "shaft, pins, webs, counterweights, coupling"
    yield (
        "wheel" if m.wheel.kind == "disc" else "handle",
        1,
        wheel_mass(m.wheel).mass,
        "disc, rim, hub or arm and grip",
    )
    for k, stage in enumerate(m.stages, 1):
        for word, teeth in (("driver", stage.driver), ("driven", stage.driven)):
            yield (
                f"stage {k} {word} sprocket",
                1,
                sprocket_mass(teeth, stage).mass,
                "solid steel disc of pitch diameter",
            )
    if m.post is not None:
        area = np.pi / 4 * (m.post.outside**2 - m.post.bore**2)
        yield (
            "post",
            1,
            float(STEEL * area * (m.crank_height + m.post.above)),
            "steel tube from ground to top",
        )
