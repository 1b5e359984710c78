"""The piece hangs from a crane, its wheel locked: own weight in whichever attitude it takes."""

from dataclasses import dataclass
from typing import ClassVar, final

import numpy as np

from models.mechanism import LiftPoint
from sim import standing
from sim.arrays import Array
from sim.builders import Linkage
from sim.run import Channel
from sim.scenarios.base import Standing
from sim.whole import centre_of_gravity

POSES = 72


class Unstable(ValueError):
    """A lift point below the centre of gravity: the piece would turn over."""


@final
@dataclass(frozen=True)
class Lifted(Standing):
    """Hung at a lift point, at every crank angle at which the wheel may have been locked.

    Attributes
    ----------
    point : from which it hangs.
    """

    case: ClassVar[str] = "lifted"
    point: LiftPoint

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"hung at '{self.point.name}', wheel locked"

    def channels(self, closed: Linkage) -> dict[str, Channel]:
        """Give the forces at every pose, and how far the piece leans.

        Raises
        ------
        Unstable
            Where the lift point lies below the centre of gravity.
        """
        crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
        up = self.up(closed, crank)
        if float(np.min(up[:, 2])) <= 0:
            raise Unstable(f"lift point '{self.point.name}' lies below the centre of gravity; put it higher")
        gravity = -closed.mechanism.gravity * up
        found = standing.channels(closed, standing.stand(closed, crank, None, gravity), gravity)
        lean = np.arccos(np.clip(up[:, 2], -1, 1))
        return {**found, "attitude/whole piece/lean": Channel(lean, "rad", "lean of the post from upright")}

    def up(self, closed: Linkage, crank: Array) -> Array:
        """Give the unit vectors (n, 3) that point up, in the piece's own axes, at crank angles (n,)."""
        _, centre = centre_of_gravity(closed, crank)
        toward = np.array([self.point.forward, self.point.out, self.point.up]) - centre
        return toward / np.linalg.norm(toward, axis=1, keepdims=True)
