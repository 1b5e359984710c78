"""People hang on the tip of a wing: the wheel held, or free with the people as part of the wing."""

from dataclasses import dataclass, replace
from typing import ClassVar, final

import numpy as np

from models.mechanism import Panel, PointMass
from models.people import people
from sim import names, standing
from sim.arrays import Array, vector
from sim.builders import Linkage, linkage, scene
from sim.linkage import SideLinkage, carried
from sim.operators.holding import holding_limit
from sim.run import Channel
from sim.scenarios.base import Moving, Standing, falling
from sim.scene import Rest, Scene, Until
from sim.statics import statics
from sim.whole import holding_torque, potential_energy

POSES = 360
SPARE = 1.5
"""Pull over what friction holds at which people surely bring a piece down."""
BORNE = 2.0
"""Times their own weight that people on a wing hold on to; assumption."""
FOLLOWED = 10.0
"""Seconds for which people on a freed wing are followed."""


class OutOfReach(ValueError):
    """A tip that nobody can hang on: it is never low enough."""


def tip(panel: Panel) -> tuple[float, float]:
    """Give the point of a panel's edge farthest from its hinge line: forward, out, m."""
    return max(panel.plate.outline.exterior, key=lambda p: p[1])


def tip_height(closed: Linkage, side: str, panel: str, crank: Array) -> Array:
    """Give the height (n,), m, above ground of a panel's tip at crank angles (n,), rad."""
    _, at = _tip_course(closed, side, panel, crank)
    return at[:, 2] + closed.mechanism.crank_height


def lowest(closed: Linkage, side: str, panel: str) -> float:
    """Give the crank angle, rad, at which a panel's tip is lowest."""
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    return float(crank[int(np.argmin(tip_height(closed, side, panel, crank)))])


def worst_hold(closed: Linkage, mass: float, reach: float, side: str, panel: str) -> float:
    """Give the crank angle, rad, at which people who get hold of a tip bring the free piece down the farthest.

    The highest pose within their reach from which weights and people overcome static friction with something to
    spare; the lowest tip where there is none.
    """
    heavy = with_people(closed, mass, side, panel)
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    rubs = np.sum([statics(s, crank, m.gravity, m.friction).friction for s in heavy.sides], axis=0)
    held = m.friction.static * (rubs / m.reduction + m.friction.wheel_drag)
    falls = (np.abs(holding_torque(heavy, crank)) > SPARE * held) & (
        tip_height(closed, side, panel, crank) <= reach
    )
    if not falls.any():
        return lowest(closed, side, panel)
    return float(crank[int(np.argmax(np.where(falls, potential_energy(heavy, crank), -np.inf)))])


def with_people(closed: Linkage, mass: float, side: str, panel: str) -> Linkage:
    """Give the piece with people, kg, as a mass on a panel's tip."""
    sides = tuple(
        replace(s, panels=tuple(_weighted(p, mass, panel) for p in s.panels)) if s.name == side else s
        for s in closed.mechanism.sides
    )
    return linkage(replace(closed.mechanism, sides=sides))


@final
@dataclass(frozen=True)
class HangHeld(Standing):
    """People hang on a wing's tip at every pose in which they reach it, the wheel held.

    Where the holding hand's grip cannot balance them, the loads are those at which it slips.

    Attributes
    ----------
    mass : of the people, kg.
    reach : height, m, up to which they get hold of the tip.
    side, panel : whose tip.
    person : who holds the wheel, or "" for a wheel that is locked.
    """

    case: ClassVar[str] = "hang-held"
    mass: float
    reach: float
    side: str
    panel: str
    person: str = ""

    @property
    def label(self) -> str:
        """The load case in words."""
        held = f"wheel held by {people()[self.person].label}" if self.person else "wheel locked"
        return f"{self.mass:.0f} kg hang on the {self.side} {self.panel} tip, {held}"

    def channels(self, closed: Linkage) -> dict[str, Channel]:
        """Give the forces at every pose in which the tip can be reached.

        Raises
        ------
        OutOfReach
            Where the tip never comes so low.
        """
        crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
        high = tip_height(closed, self.side, self.panel, crank)
        crank = crank[high <= self.reach]
        if len(crank) == 0:
            raise OutOfReach(
                f"the {self.side} {self.panel} tip comes down to {float(np.min(high)):.2f} m, above a reach of "
                f"{self.reach:.2f} m"
            )
        _, at = _tip_course(closed, self.side, self.panel, crank)
        down = vector(0, 0, -self.mass * closed.mechanism.gravity)
        loaded = standing.stand(closed, crank, {self.side: {self.panel: (down, at)}})
        if not self.person:
            return standing.channels(closed, loaded)
        without = standing.stand(closed, crank)
        m = closed.mechanism
        rubs = np.sum([s.friction for s in without.sides.values()], axis=0) * m.friction.static / m.reduction
        limit = holding_limit(
            people()[self.person], m.wheel.radius, float(np.min(rubs)) + m.friction.wheel_drag
        )
        return standing.channels(
            closed, standing.share(without, loaded, _held(without.wheel, loaded.wheel, limit))
        )


def _held(before: Array, after: Array, limit: float) -> Array:
    """Give the share (n,) of a load from which the wheel's torque reaches a limit of either sign, at most 1."""
    grown = after - before
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.where(grown > 0, (limit - before) / grown, (-limit - before) / grown)
    return np.where(grown == 0, 1.0, np.clip(room, 0.0, 1.0))


@final
@dataclass(frozen=True)
class HangFree(Moving):
    """People hang on a wing's tip while nobody holds the wheel: they are a mass on the wing.

    It is followed until they would have to bear more than twice their weight and lose hold: where the wing turns
    round, a mass tied to it would throw the crank over its dead centre.

    Attributes
    ----------
    mass : of the people, kg.
    side, panel : whose tip.
    start : crank angle, rad.
    """

    case: ClassVar[str] = "hang"
    mass: float
    side: str
    panel: str
    start: float

    @property
    def label(self) -> str:
        """The load case in words."""
        at = np.degrees(self.start)
        return f"{self.mass:.0f} kg hang on the {self.side} {self.panel} tip at {at:.0f} deg, wheel free{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with the mass on the tip, standing at first, until they lose hold."""
        heavy = self._loaded(closed)
        until = Until(names.panel(self.side, self.panel), (BORNE - 1) * closed.mechanism.gravity)
        return replace(scene(heavy, self.start, 0.0, rest=Rest()), until=until)

    def end(self, closed: Linkage) -> float:
        """Give the longest time that it is followed, s; they lose hold before."""
        del closed
        return FOLLOWED

    def fastest(self, closed: Linkage) -> float:
        """Give the speed at the bottom of the fall with the mass."""
        return falling(self._loaded(closed), 0.0)

    def _loaded(self, closed: Linkage) -> Linkage:
        return with_people(closed, self.mass, self.side, self.panel)


def _weighted(panel: Panel, mass: float, name: str) -> Panel:
    if panel.name != name:
        return panel
    forward, out = tip(panel)
    lumps = (*panel.plate.lumps, PointMass(mass, forward, out, 0.0))
    return replace(panel, plate=replace(panel.plate, lumps=lumps))


def _tip_course(closed: Linkage, side: str, panel: str, crank: Array) -> tuple[SideLinkage, Array]:
    own = next(s for s in closed.sides if s.side.name == side)
    course = next(c for c in own.course(crank) if c.panel.name == panel)
    return own, carried(course, vector(*tip(course.panel), 0.0)).value
