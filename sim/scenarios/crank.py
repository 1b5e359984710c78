"""Somebody turns the wheel."""

from dataclasses import dataclass
from typing import ClassVar, final

import numpy as np

from models.people import people
from sim import names
from sim.builders import Linkage, mean_friction, scene
from sim.closed_form import gravity_torque, moving_parts
from sim.operators.steady import SteadyHand
from sim.scenarios.base import LONGEST, Moving, falling, inertia_at_wheel, rpm
from sim.scene import Load, Scene
from sim.whole import unbalance


@final
@dataclass(frozen=True)
class Crank(Moving):
    """Somebody brings the wheel from rest to a speed and keeps it there for a turn of the crank.

    Attributes
    ----------
    person : name of a profile.
    speed : wanted wheel speed, rad/s, or None for the person's comfortable hand speed.
    start : crank angle at the start, rad.
    """

    case: ClassVar[str] = "crank"
    person: str
    speed: float | None = None
    start: float = 0.0

    def wanted(self, closed: Linkage) -> float:
        """Give the wanted wheel speed, rad/s."""
        if self.speed is not None:
            return self.speed
        return people()[self.person].speed / closed.mechanism.wheel.radius

    @property
    def label(self) -> str:
        """The load case in words."""
        who = people()[self.person].label
        speed = rpm(self.speed) if self.speed is not None else "comfortable speed"
        return f"{who}, {speed}{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with a hand on the wheel."""
        mechanism = closed.mechanism
        crank = np.linspace(0, 2 * np.pi, 720, endpoint=False)
        weight = np.sum(
            [gravity_torque(moving_parts(s, crank), mechanism.gravity) for s in closed.sides], axis=0
        )
        rubbing = sum(mean_friction(s, mechanism) for s in closed.sides)
        hand = SteadyHand(
            people()[self.person],
            self.wanted(closed),
            mechanism.wheel.radius,
            inertia_at_wheel(closed),
            mechanism.reduction,
            weight / mechanism.reduction,
            unbalance(mechanism),
            rubbing / mechanism.reduction + mechanism.friction.wheel_drag,
        )
        return scene(closed, self.start, 0.0, loads=(Load(names.HAND, names.WHEEL, hand),))

    def end(self, closed: Linkage) -> float:
        """Give the time for getting up to speed and a turn and a half of the crank, s."""
        person = people()[self.person]
        wanted = abs(self.wanted(closed))
        rise = inertia_at_wheel(closed) * wanted / (person.push * closed.mechanism.wheel.radius)
        turns = 1.5 * 2 * np.pi * closed.mechanism.reduction / max(wanted, 1e-3)
        return float(min(4 * rise + turns + 2.0, LONGEST))

    def fastest(self, closed: Linkage) -> float:
        """Give the speed that the wanted speed and the wings' fall add up to."""
        return falling(closed, self.wanted(closed))
