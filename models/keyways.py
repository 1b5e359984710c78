"""Keyways with every number settled, and the phase of the two crankshafts that follows from them.

With the mark of the centre shaft at m and its keyways at c from it, a crankshaft whose keyway is at a from its
direction of throw angle 0 has that direction at m + c - a once its key is in. So the right side is ahead of the left
by (cR - cL) - (aR - aL). A coupling's own two keyways are taken to be in line with each other. All angles are
positive by the right hand about +y, y pointing to the left wing.
"""

import math
from dataclasses import dataclass

ROUNDING = 1e-9
"""Angle, rad, below which a phase error is what is left of differences of angles that were rounded."""


@dataclass(frozen=True)
class Keyways:
    """Where the keyways are, rad.

    Attributes
    ----------
    left, right : on each crankshaft, from its direction of throw angle 0.
    centre : the left one and the right one on the centre shaft, from a common mark; None while it is to be cut.
    measured : by how much each of these readings may be off, either way.
    """

    left: float
    right: float
    centre: tuple[float, float] | None
    measured: float

    @property
    def lead(self) -> float | None:
        """Angle by which the right crankshaft is ahead of the left, above -pi up to pi; None before it is cut."""
        if self.centre is None:
            return None
        lead = folded(self.centre[1] - self.centre[0] - (self.right - self.left))
        return 0.0 if abs(lead) < ROUNDING else lead

    @property
    def readings(self) -> int:
        """How many readings the phase rests on: two on the crankshafts and, once cut, two on the centre shaft."""
        return 2 if self.centre is None else 4

    def cut(self, lead: float = 0.0) -> float:
        """Give where the centre shaft's right keyway goes, from its left one, 0 up to 2 pi.

        Parameters
        ----------
        lead : angle by which the right crankshaft shall be ahead of the left, rad.
        """
        angle = (self.right - self.left + lead) % math.tau
        return 0.0 if min(angle, math.tau - angle) < ROUNDING else angle


def folded(angle: float) -> float:
    """Give an angle, rad, in the turn above -pi up to pi."""
    return math.pi - (math.pi - angle) % math.tau
