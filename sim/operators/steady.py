"""A hand that brings the wheel to a speed and keeps it there, as far as its strength and power go."""

from dataclasses import dataclass
from typing import final

import numpy as np

from models.people import Person
from sim.arrays import Array


@final
@dataclass(frozen=True)
class SteadyHand:
    """A person pushing along the rim toward a wanted speed.

    The hand feels the load and carries it, and adds a push proportional to the lack of speed. Both together
    are limited: by strength that falls with speed, F0 (1 - v / v_max), by power, P / v, and when holding back
    by F0. The gain is half of pi J / (2 delay), the most that a hand with that reaction time can use without
    swinging about its aim (a delayed integrator is stable below that; textbook control theory, computed).

    Attributes
    ----------
    person : whose strength, power and reaction.
    wanted : wheel speed, rad/s, either sign.
    radius : of the rim or the grip's circle, m.
    inertia : of the whole piece as felt at the wheel, kg m2.
    reduction : turns of the wheel for one of the crank.
    weight : (n,) torque at the wheel, N m, that holds the wings still, at n crank angles evenly over a turn.
    unbalance : weight times place (forward, up) of the wheel's own centre of mass at wheel angle 0, N m.
    friction : torque at the wheel that rubbing takes, N m.
    """

    person: Person
    wanted: float
    radius: float
    inertia: float
    reduction: float
    weight: Array
    unbalance: tuple[float, float]
    friction: float

    @property
    def gain(self) -> float:
        """Torque per lack of speed, N m s/rad."""
        return 0.5 * np.pi * self.inertia / (2 * self.person.reaction)

    def start(self) -> "SteadyHand":
        """Give itself: it has no memory."""
        return self

    def felt(self, angle: float) -> float:
        """Give the torque, N m, that holds wings and handle still at a wheel angle, rad."""
        n = len(self.weight)
        place = angle / self.reduction / (2 * np.pi) % 1.0 * n
        k = int(place)
        share = place - k
        wings = (1 - share) * self.weight[k % n] + share * self.weight[(k + 1) % n]
        forward, up = self.unbalance
        return float(wings - forward * np.cos(angle) - up * np.sin(angle))

    def torque(self, time: float, angle: float, speed: float) -> float:
        """Give the torque on the wheel, N m."""
        del time
        way = 1.0 if self.wanted >= 0 else -1.0
        load = way * self.felt(angle) + self.friction
        wish = (load + way * (self.wanted - speed) * self.gain) / self.radius
        hand = max(way * speed, 0.0) * self.radius
        return way * self.radius * min(max(wish, -self.person.push), self.person.strength(hand))
