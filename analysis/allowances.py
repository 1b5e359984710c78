"""What is taken off a clearance for what the ideal linkage leaves out: whip, slack and tolerances."""

from dataclasses import dataclass

import numpy as np

from analysis.give import Give, cells
from models.mechanism import Mechanism
from sim.arrays import Array
from sim.clearance import Clearance, Pair
from sim.clearance.solids import Solid
from sim.linkage import TURN, PanelCourse, SideLinkage

POSES = np.linspace(0, TURN, 720, endpoint=False)


@dataclass(frozen=True)
class Allowance:
    """Deviations from the ideal linkage.

    Attributes
    ----------
    whip : how far a crankshaft bends or runs out sideways at a throw, play at the rod's ends included, m; parts count
        as moved by it at once in whichever way is worst, an upper bound.
    give : how far parts come toward each other by bending over runs, in place of `whip`; None where no run is known.
    slack : crank angle by which one side may lag behind the other, rad; it leaves a side in itself as it is.
    tolerance : of making and fitting both parts together, m (assumption).
    """

    whip: float = 0.0
    slack: float = 0.0
    tolerance: float = 0.003
    give: Give | None = None


def standard(mechanism: Mechanism) -> Allowance:
    """Give the allowance that the description tells: each coupling floats by half its backlash either way.

    Whip and the couplings' winding up under load are known only to a run.
    """
    return Allowance(slack=sum(side.crank.coupling.backlash for side in mechanism.sides) / 2)


def gains(side: SideLinkage) -> tuple[tuple[float, float], ...]:
    """Give how far a panel's yoke pin and its farthest corner move, at most, per metre that its crank pin moves.

    In the first order: a crank pin that moves by w and a hinge line by g w turn the panel by at most
    (1 + g) w / (r sin m), with r the yoke arm and m the transmission angle, least over the turn.
    """
    found: list[tuple[float, float]] = []
    hinge = 0.0
    for course in side.course(POSES):
        turn = (1 + hinge) / (_arm(course) * float(np.sin(course.transmission.min())))
        corners = np.array(course.panel.plate.outline.exterior)
        found.append((hinge + _arm(course) * turn, hinge + float(np.abs(corners[:, 1]).max()) * turn))
        following = len(found)
        if following < len(side.side.panels):
            after = side.side.panels[following]
            hinge += float(np.hypot(after.hinge_out, after.hinge_up)) * turn
    return tuple(found)


def _arm(course: PanelCourse) -> float:
    return float(np.hypot(course.panel.yoke_out, course.panel.yoke_below))


class Deduction:
    """What an allowance takes off the clearance of a pair of parts."""

    def __init__(
        self, sides: tuple[SideLinkage, ...], allowance: Allowance, speeds: dict[str, float]
    ) -> None:
        """`speeds` are the largest of each moving part, m per rad of crank angle."""
        self.allowance, self.speeds = allowance, speeds
        self.gains = [gains(side) for side in sides]

    def left(self, c: Clearance) -> float:
        """Give what is left of a clearance, m.

        Where it is known how far the parts come toward each other by bending, at the crank angle at which least is
        left; else both as if they moved toward each other wherever they are nearest.
        """
        give = self.allowance.give
        if give is None:
            return c.bound - self.of(c.pair)
        return float(np.min(lowest(c) - give.of(c.pair.first, c.pair.second))) - self._rest(c.pair)

    def of(self, pair: Pair) -> float:
        """Give what comes off a pair's clearance, m: both parts as if they moved toward each other."""
        moved = self._moved(pair.first) + self._moved(pair.second)
        return self.allowance.whip * moved + self._rest(pair)

    def _rest(self, pair: Pair) -> float:
        """Give what tolerance and slack take off, m."""
        a = self.allowance
        if not pair.across:
            return a.tolerance
        return a.tolerance + a.slack * min(self.speeds.get(p.name, 0.0) for p in (pair.first, pair.second))

    def _moved(self, part: Solid) -> float:
        """Give how far a part moves at most per metre of whip."""
        if part.carrier.kind == "panel":
            return self.gains[part.carrier.side][part.carrier.panel][1]
        if part.carrier.kind == "rod":
            return max(1.0, self.gains[part.carrier.side][part.carrier.panel][0])
        return 1.0 if part.carrier.kind == "crank" else 0.0


def lowest(c: Clearance) -> Array:
    """Give the distance of two parts in each cell of the turn at its lowest (cells,), m; never below `c.bound`.

    An estimate but where they are nearest, which counts with the bound: from the middle of a cell to its ends the
    distance is taken to fall by half of what it changes to the next cell's middle.
    """
    before, after = np.roll(c.course, 1), np.roll(c.course, -1)
    fall = np.maximum(np.abs(before - c.course), np.abs(after - c.course)) / 2
    found = np.maximum(c.bound, c.course - fall)
    found[cells(c.crank)] = c.bound
    return found
