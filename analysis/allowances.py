"""What is taken off a clearance for what the ideal linkage leaves out: whip, slack and tolerances."""

from dataclasses import dataclass

import numpy as np

from models.mechanism import Mechanism
from sim.clearance import Pair
from sim.clearance.solids import Solid
from sim.linkage import TURN, PanelCourse, SideLinkage

POSES = np.linspace(0, TURN, 720, endpoint=False)


@dataclass(frozen=True)
class Allowance:
    """Deviations from the ideal linkage.

    Attributes
    ----------
    whip : how far a crankshaft bends or runs out sideways at a throw, play at the rod's ends included, m.
    slack : crank angle by which one side may lag behind the other, rad; it leaves a side in itself as it is.
    tolerance : of making and fitting both parts together, m (assumption).
    """

    whip: float = 0.0
    slack: float = 0.0
    tolerance: float = 0.003


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

    def of(self, pair: Pair) -> float:
        """Give what comes off a pair's clearance, m: both parts as if they moved toward each other."""
        a = self.allowance
        moved = self._moved(pair.first) + self._moved(pair.second)
        lag = 0.0
        if pair.across:
            lag = a.slack * min(self.speeds.get(p.name, 0.0) for p in (pair.first, pair.second))
        return a.tolerance + a.whip * moved + lag

    def _moved(self, part: Solid) -> float:
        """Give how far a part moves at most per metre of whip."""
        if part.carrier.kind == "panel":
            return self.gains[part.carrier.side][part.carrier.panel][1]
        if part.carrier.kind == "rod":
            return max(1.0, self.gains[part.carrier.side][part.carrier.panel][0])
        return 1.0 if part.carrier.kind == "crank" else 0.0
