"""A hand that stays on the wheel without pushing and is carried along, until it slips off."""

from dataclasses import dataclass, field, replace
from typing import final

import numpy as np

from models.people import Person


@final
@dataclass
class HoldingHand:
    """A hand that is carried by the wheel, resists with its arm and lets go for good beyond its grip.

    The arm resists in proportion to the hand's speed, c v. The constant is the project's own assumption:
    c = grip / fastest, so that the hand slips off exactly when the wheel runs away faster than it can follow.
    The arm's mass is not in this torque: add `arm_mass` radius^2 to the wheel's inertia where it matters.

    Attributes
    ----------
    person : whose grip and fastest hand speed.
    radius : of the rim or the grip's circle, m.
    slipped : whether it has slipped off; a run's memory, which `start` clears.
    """

    person: Person
    radius: float
    slipped: bool = field(default=False, init=False)

    @property
    def resistance(self) -> float:
        """Force per hand speed, N s/m."""
        return self.person.grip / self.person.fastest

    def start(self) -> "HoldingHand":
        """Give the hand as it is before a run, on the wheel."""
        return replace(self)

    def torque(self, time: float, angle: float, speed: float) -> float:
        """Give the torque on the wheel, N m, against its motion; nothing once the hand has slipped off."""
        del time, angle
        force = self.resistance * abs(speed) * self.radius
        self.slipped = self.slipped or force > self.person.grip
        return 0.0 if self.slipped else -float(np.sign(speed)) * force * self.radius


def hold_force(torque: float, radius: float, friction: float = 0.0) -> float:
    """Give the tangential force, N, with which a hand holds the wheel still.

    F = max(|T| - T_f, 0) / R: balance of moments about the wheel's axis.

    Parameters
    ----------
    torque : that would turn the wheel, N m, either sign.
    radius : at which the hand holds, m.
    friction : static friction torque at the wheel, N m, which helps to hold.
    """
    return max(abs(torque) - friction, 0.0) / radius


def holds(person: Person, torque: float, radius: float, friction: float = 0.0) -> bool:
    """Say whether a person's grip holds the wheel still against a torque, N m; see `hold_force`."""
    return hold_force(torque, radius, friction) <= person.grip


def holding_limit(person: Person, radius: float, friction: float = 0.0) -> float:
    """Give the torque at the wheel, N m, at which a person's grip slips: F R + T_f."""
    return person.grip * radius + friction
