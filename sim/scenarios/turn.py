"""The wheel's speed is what is held."""

from dataclasses import dataclass
from typing import ClassVar, final

import numpy as np

from sim import names
from sim.builders import Linkage, scene
from sim.scenarios.base import Moving, rpm
from sim.scene import Motion, Scene


@final
@dataclass(frozen=True)
class Turn(Moving):
    """The wheel is held at a speed for a turn of the crank, by whatever torque that takes.

    Attributes
    ----------
    speed : wheel speed, rad/s.
    start : crank angle at the start, rad.
    """

    case: ClassVar[str] = "turn"
    speed: float
    start: float = 0.0

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"turned at {rpm(self.speed)}{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with the wheel's speed held."""
        held = Motion(names.HAND, names.WHEEL, self.speed)
        return scene(closed, self.start, self.speed, motions=(held,))

    def end(self, closed: Linkage) -> float:
        """Give the time of one turn of the crank, s."""
        return 2 * np.pi * closed.mechanism.reduction / abs(self.speed)

    def fastest(self, closed: Linkage) -> float:
        """Give the crank's speed."""
        return abs(self.speed) / closed.mechanism.reduction
