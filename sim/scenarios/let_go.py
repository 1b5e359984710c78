"""The hand lets go."""

from dataclasses import dataclass
from typing import ClassVar, final

import numpy as np

from sim.builders import Linkage, scene
from sim.scenarios.base import LONGEST, Moving, falling, rpm
from sim.scene import Rest, Scene


@final
@dataclass(frozen=True)
class LetGo(Moving):
    """The hand lets go at a crank angle and speed; the piece is followed until it rests.

    Attributes
    ----------
    speed : wheel speed at the release, rad/s.
    release : crank angle at the release, rad.
    lasts : for how long it is followed at most, s.
    """

    case: ClassVar[str] = "let-go"
    speed: float
    release: float
    lasts: float = LONGEST

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"let go at {np.degrees(self.release):.0f} deg, {rpm(self.speed)}{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene at the release, with nothing on the wheel."""
        return scene(closed, self.release, self.speed, rest=Rest())

    def end(self, closed: Linkage) -> float:
        """Give the longest time that it is followed, s; rest comes before."""
        del closed
        return self.lasts

    def fastest(self, closed: Linkage) -> float:
        """Give the speed at the bottom of the fall from the release."""
        return falling(closed, self.speed)
