"""People hang on the tip of a wing: the wheel held, or free with the people as part of the wing."""

from dataclasses import dataclass, replace
from typing import ClassVar, final

import numpy as np

from models.mechanism import Panel, PointMass, Side
from models.people import people
from sim import standing
from sim.arrays import Array, vector
from sim.builders import Linkage, linkage, scene
from sim.linkage import SideLinkage, carried
from sim.operators.holding import holding_limit
from sim.run import Channel
from sim.scenarios.base import Moving, Standing, falling
from sim.scene import Rest, Scene

POSES = 360
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
        """Build the scene with the mass on the tip, standing at first."""
        return scene(self._loaded(closed), self.start, 0.0, rest=Rest())

    def end(self, closed: Linkage) -> float:
        """Give the longest time that it is followed, s."""
        del closed
        return FOLLOWED

    def fastest(self, closed: Linkage) -> float:
        """Give the speed at the bottom of the fall with the mass."""
        return falling(self._loaded(closed), 0.0)

    def _loaded(self, closed: Linkage) -> Linkage:
        m = closed.mechanism

        def with_people(side: Side) -> Side:
            if side.name != self.side:
                return side
            return replace(side, panels=tuple(_weighted(p, self.mass, self.panel) for p in side.panels))

        return linkage(replace(m, sides=tuple(with_people(s) for s in m.sides)))


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
