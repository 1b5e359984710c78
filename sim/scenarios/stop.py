"""The wheel is stopped, or held still while something moves the wings."""

from dataclasses import dataclass
from typing import ClassVar, final

from sim import names
from sim.builders import Linkage, scene
from sim.scenarios.base import Moving, falling, rpm
from sim.scene import Motion, Scene

AFTER = 1.0
"""Seconds for which a stopped piece is followed: the drive rings."""


@final
@dataclass(frozen=True)
class Stop(Moving):
    """The turning wheel is brought to a stand evenly within a time, by whatever torque that takes.

    Attributes
    ----------
    speed : wheel speed at first, rad/s.
    within : s.
    start : crank angle at which it begins, rad.
    """

    case: ClassVar[str] = "stop"
    speed: float
    within: float
    start: float = 0.0

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"stopped from {rpm(self.speed)} within {self.within:.3g} s{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with the wheel's speed prescribed."""
        braked = Motion(names.HAND, names.WHEEL, self.speed, self.within)
        return scene(closed, self.start, self.speed, motions=(braked,))

    def end(self, closed: Linkage) -> float:
        """Give the time of the stop and a second more, s."""
        del closed
        return self.within + AFTER

    def fastest(self, closed: Linkage) -> float:
        """Give a speed that the wings reach if they go on by themselves."""
        return falling(closed, self.speed)
