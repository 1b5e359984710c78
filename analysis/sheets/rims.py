"""A wheel's rim welded of straight pieces: a regular polygon whose corners lie on the wheel's circle.

N pieces of equal length turn by 360/N degrees at each joint, which both ends of a piece share: each end is cut at
180/N degrees off square. Common practice, no source; the lengths are a regular polygon's.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Rim:
    """A rim of straight pieces.

    Attributes
    ----------
    count : of the pieces, 3 or more.
    radius : of the circle through the corners of the bars' centrelines, m.
    bar : width of the bar in the wheel's plane, m.
    """

    count: int
    radius: float
    bar: float

    def __post_init__(self) -> None:
        if self.count < 3:
            raise ValueError("a rim takes three straight pieces or more")
        if self.inside <= 0:
            raise ValueError("the bar is wider than the rim")

    @property
    def mitre(self) -> float:
        """Angle of each cut off square, rad: what a mitre saw is set to."""
        return math.pi / self.count

    @property
    def centreline(self) -> float:
        """Length of a piece along the middle of the bar, from corner to corner, m."""
        return 2 * self.radius * math.sin(self.mitre)

    @property
    def outer(self) -> float:
        """Length of a piece along its outer edge, m: what it is cut from."""
        return self.centreline + self.bar * math.tan(self.mitre)

    @property
    def inner(self) -> float:
        """Length of a piece along its inner edge, m."""
        return self.centreline - self.bar * math.tan(self.mitre)

    @property
    def flat(self) -> float:
        """Distance of the bars' centrelines from the axis, m."""
        return self.radius * math.cos(self.mitre)

    @property
    def inside(self) -> float:
        """Distance of the inner edges from the axis, m."""
        return self.flat - self.bar / 2

    @property
    def farthest(self) -> float:
        """Distance of the outer corners from the axis, m: what the wheel sweeps."""
        return (self.flat + self.bar / 2) / math.cos(self.mitre)

    @property
    def sag(self) -> float:
        """How far the middle of a piece lies inside the circle, m."""
        return self.radius - self.flat

    def stock(self, kerf: float) -> float:
        """Give the length of bar that all pieces take, cut one after another and each turned over, m.

        Parameters
        ----------
        kerf : that the saw takes, measured along the bar, m.

        Turned over, the slanting end of one piece is that of the next: each takes its centreline length and a kerf,
        the first a slanting end more.
        """
        return self.count * (self.centreline + kerf) + self.bar * math.tan(self.mitre)
