"""What is done to the sculpture: turned at a held speed, cranked by somebody, or let go.

A new scenario is one class here and its name in `SCENARIOS`. Speeds are the wheel's, angles the crank's.
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import ClassVar, final

import numpy as np

from models.people import people
from sim import names
from sim.builders import Linkage, mean_friction, scene
from sim.builders.drive import drive_inertia
from sim.closed_form import gravity_torque, moving_parts, potential, reduced_inertia
from sim.operators.steady import SteadyHand
from sim.scene import Load, Motion, Rest, Scene
from sim.whole import unbalance

LONGEST = 300.0
"""Seconds after which a piece that has been let go is no longer followed."""
PER_STEP = np.radians(1.0)
"""Largest turn of the crank in a step."""
STEPS = (0.0005, 0.02)
"""Shortest and longest step, s."""


@dataclass(frozen=True)
class Scenario(ABC):
    """What is done to the sculpture."""

    case: ClassVar[str]

    @property
    @abstractmethod
    def label(self) -> str:
        """The load case in words, with its figures."""

    @abstractmethod
    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with what this scenario adds."""

    @abstractmethod
    def end(self, closed: Linkage) -> float:
        """Give how long it is followed, s."""

    @abstractmethod
    def fastest(self, closed: Linkage) -> float:
        """Give a crank speed that it hardly exceeds, rad/s, for choosing the step."""

    def step(self, closed: Linkage) -> float:
        """Give the time step, s, that the halving check then judges."""
        fastest = max(self.fastest(closed), 1e-6)
        # A rounded step keeps figures and file names readable and changes nothing else.
        exact = min(max(PER_STEP / fastest, STEPS[0]), STEPS[1])
        return float(f"{exact:.1e}")


@final
@dataclass(frozen=True)
class Turn(Scenario):
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
        return f"turned at {_rpm(self.speed)}"

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


@final
@dataclass(frozen=True)
class Crank(Scenario):
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
        return f"{who}, {_rpm(self.speed)}" if self.speed is not None else f"{who}, comfortable speed"

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
        return _falling(closed, self.wanted(closed))


@final
@dataclass(frozen=True)
class LetGo(Scenario):
    """The hand lets go at a crank angle and speed; the piece is followed until it rests.

    Attributes
    ----------
    speed : wheel speed at the release, rad/s.
    release : crank angle at the release, rad.
    """

    case: ClassVar[str] = "let-go"
    speed: float
    release: float

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"let go at {np.degrees(self.release):.0f} deg, {_rpm(self.speed)}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene at the release, with nothing on the wheel."""
        first = closed.sides[0].side.name
        return scene(closed, self.release, self.speed, rest=Rest(names.crankshaft(first)))

    def end(self, closed: Linkage) -> float:
        """Give the longest time that it is followed, s; rest comes before."""
        del closed
        return LONGEST

    def fastest(self, closed: Linkage) -> float:
        """Give the speed at the bottom of the fall from the release."""
        return _falling(closed, self.speed)


SCENARIOS: dict[str, type[Scenario]] = {s.case: s for s in (Turn, Crank, LetGo)}


def inertia_at_wheel(closed: Linkage) -> float:
    """Give the mean inertia of the whole piece as felt at the wheel, kg m2."""
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    wings = sum(float(np.mean(reduced_inertia(moving_parts(s, crank)))) for s in closed.sides)
    return (wings + drive_inertia(closed.mechanism)) / closed.mechanism.reduction**2


def _falling(closed: Linkage, wheel_speed: float) -> float:
    """Give the crank speed, rad/s, at the lowest point after passing the highest one at a speed.

    By energy, without friction: J w^2 / 2 grows by the whole swing of potential energy, a handle's at its
    worst phase, with the least inertia over the turn.
    """
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    parts = [moving_parts(s, crank) for s in closed.sides]
    height = np.sum([potential(p, closed.mechanism.gravity) for p in parts], axis=0)
    inertia = np.sum([reduced_inertia(p) for p in parts], axis=0) + drive_inertia(closed.mechanism)
    start = wheel_speed / closed.mechanism.reduction
    swing = float(np.ptp(height)) + 2 * float(np.hypot(*unbalance(closed.mechanism)))
    energy = 0.5 * float(np.max(inertia)) * start**2 + swing
    return float(np.sqrt(2 * energy / np.min(inertia)))


def _rpm(speed: float) -> str:
    return f"{speed * 30 / np.pi:.4g} rpm"
