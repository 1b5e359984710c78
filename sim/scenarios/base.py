"""What every scenario is, and what scenarios share.

Speeds are the wheel's, angles the crank's.
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from functools import lru_cache
from typing import ClassVar

import numpy as np

from sim.builders import Linkage, scene
from sim.builders.drive import drive_inertia
from sim.closed_form import moving_parts, potential, reduced_inertia
from sim.friction_levels import Level
from sim.run import Channel
from sim.scene import Scene
from sim.whole import unbalance

LONGEST = 300.0
"""Seconds after which a piece that has been let go is no longer followed."""
PER_STEP = np.radians(1.0)
"""Largest turn of the crank in a step."""
STEPS = (0.0002, 0.02)
"""Shortest and longest step, s."""
RESOLVED = 5.0
"""Largest step times the fastest vibration of the drive, rad. On the demo, let go from 60 rpm: with 5 every judged
peak is within .3 % of what an eighth of the step gives, with 9 a chain's impact is 4 % off. On the shop stand, whose
short chains rattle, with 5 a rod's peak is 1.3 % off, with 9 it is 22 %."""

BENDING = 1e-3
"""Longest step where crankshafts bend, s."""


@dataclass(frozen=True)
class Scenario(ABC):
    """What is done to the sculpture.

    Attributes
    ----------
    friction : "low", "nominal" or "high".
    """

    case: ClassVar[str]
    friction: Level = field(default="nominal", kw_only=True)

    @property
    @abstractmethod
    def label(self) -> str:
        """The load case in words, with its figures."""

    @property
    def rubbing(self) -> str:
        """The friction in words, where it is not the nominal one."""
        return "" if self.friction == "nominal" else f", {self.friction} friction"


@dataclass(frozen=True)
class Moving(Scenario):
    """A scenario that is followed in time by an engine."""

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
        longest = min(STEPS[1], RESOLVED / _own_vibration(closed)) if gives(closed) else STEPS[1]
        longest = min(longest, BENDING) if bends(closed) else longest
        # A rounded step keeps figures and file names readable and changes nothing else.
        exact = min(max(PER_STEP / fastest, STEPS[0]), longest)
        return float(f"{exact:.1e}")


@dataclass(frozen=True)
class Standing(Scenario):
    """A scenario in which nothing moves: forces in closed form, one entry for each pose and load looked at.

    Its run has no time: the recorded one counts entries, a second each.
    """

    @abstractmethod
    def channels(self, closed: Linkage) -> dict[str, Channel]:
        """Give the forces at every pose and load; the names are those of a moving run."""


def gives(closed: Linkage) -> bool:
    """Say whether anything between wheel and cranks is elastic or has slack."""
    m = closed.mechanism
    chains = any(s.kind == "chain" for s in m.stages)
    return chains or m.limiter is not None or any(s.crank.coupling.stiffness is not None for s in m.sides)


def bends(closed: Linkage) -> bool:
    """Say whether crankshafts bend in the engine."""
    return any(s.crank.flexible for s in closed.mechanism.sides)


def vibration(built: Scene) -> float:
    """Give the fastest natural frequency, rad/s, of wheel, shafts and cranks on chains and couplings, all taut.

    The cranks count without their wings, which would slow them.
    """
    inertia = built.inertias()
    place = {name: k for k, name in enumerate(inertia)}
    stiffness = np.zeros((len(place), len(place)))
    links = [(x.driver, x.driven, x.driver_radius, x.driven_radius, x.stiffness) for x in built.strands]
    links += [(x.a, x.b, 1.0, 1.0, x.stiffness) for x in built.twists]
    links += [(x.a, x.b, 1.0, 1.0, x.stiffness) for x in built.limiters]
    for first, second, near, far, k in links:
        row = np.zeros(len(place))
        row[place[first]], row[place[second]] = near, -far
        stiffness += k * np.outer(row, row)
    root = np.sqrt(np.array(list(inertia.values())))
    return float(np.sqrt(max(np.linalg.eigvalsh(stiffness / np.outer(root, root))[-1], 1e-12)))


@lru_cache(maxsize=32)
def _own_vibration(closed: Linkage) -> float:
    """Give the fastest natural frequency, rad/s, of a piece's drive; many scenarios of it share that."""
    return vibration(scene(closed, 0.0, 0.0))


def inertia_at_wheel(closed: Linkage) -> float:
    """Give the mean inertia of the whole piece as felt at the wheel, kg m2."""
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    wings = sum(float(np.mean(reduced_inertia(moving_parts(s, crank)))) for s in closed.sides)
    return (wings + drive_inertia(closed.mechanism)) / closed.mechanism.reduction**2


def falling(closed: Linkage, wheel_speed: float) -> float:
    """Give the crank speed, rad/s, at the lowest point after passing the highest one at a speed.

    By energy, without friction: J w^2 / 2 grows by the whole swing of potential energy, a handle's at its
    worst phase, with the least inertia over the turn.
    """
    swing, least, most = _swing(closed)
    energy = 0.5 * most * (wheel_speed / closed.mechanism.reduction) ** 2 + swing
    return float(np.sqrt(2 * energy / least))


@lru_cache(maxsize=32)
def _swing(closed: Linkage) -> tuple[float, float, float]:
    """Give the swing of potential energy, J, and the least and the largest inertia at the crank, kg m2."""
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    parts = [moving_parts(s, crank) for s in closed.sides]
    height = np.sum([potential(p, closed.mechanism.gravity) for p in parts], axis=0)
    inertia = np.sum([reduced_inertia(p) for p in parts], axis=0) + drive_inertia(closed.mechanism)
    swing = float(np.ptp(height)) + 2 * float(np.hypot(*unbalance(closed.mechanism)))
    return swing, float(np.min(inertia)), float(np.max(inertia))


def rpm(speed: float) -> str:
    """Say a wheel speed."""
    return f"{speed * 30 / np.pi:.4g} rpm"
