"""What every engine takes and gives."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from sim.arrays import Array
from sim.scene import Scene

Rule = Literal["trapezoidal", "newmark", "generalised alpha"]
Progress = Callable[[float], None]
"""Told now and then which share of the time (0 to 1) has been simulated."""


class EngineError(Exception):
    """The engine could not go on: the words say at which time and why.

    Attributes
    ----------
    trace : what was recorded until then, or None.
    """

    def __init__(self, reason: str, trace: "Trace | None" = None) -> None:
        super().__init__(reason)
        self.trace = trace


class NotReduced(Exception):
    """A scene that has more than its angles, for an engine that follows nothing else: the words say what."""


@dataclass(frozen=True)
class Stepping:
    """How a scene is stepped through time.

    Attributes
    ----------
    step : fixed time step, s.
    end : time simulated, s.
    rule : "trapezoidal" keeps energy and is the more exact for wings; "newmark" is
        the same but for a little damping of what swings from step to step, for shafts that bend;
        "generalised alpha" (spectral radius
        0.9, constraints on position level) also passes positions where the linkage is singular.
    relative, absolute : tolerances of the Newton iteration of each step. A hundred times looser costs a
        sixth less and leaves up to .1 N m of noise on moments that should be nothing.
    """

    step: float
    end: float
    rule: Rule = "trapezoidal"
    relative: float = 1e-8
    absolute: float = 1e-10

    @property
    def steps(self) -> int:
        """Number of steps."""
        return max(1, round(self.end / self.step))


@dataclass(frozen=True)
class Pose:
    """A body over the n recorded times: position (n, 3) m of its centre of mass, quaternion (n, 4) scalar
    first, velocity (n, 3) m/s, angular velocity (n, 3) rad/s, and acceleration (n, 3) m/s2 of the centre of
    mass, all in world axes.
    """  # noqa: D205

    position: Array
    quaternion: Array
    velocity: Array
    angular_velocity: Array
    acceleration: Array


@dataclass(frozen=True)
class Spin:
    """An angle over the recorded times: angle (n,) rad, speed (n,) rad/s, acceleration (n,) rad/s2."""

    angle: Array
    speed: Array
    acceleration: Array


@dataclass(frozen=True)
class JointLoad:
    """What body b puts on body a in a joint: force (n, 3) N and moment (n, 3) N m at the joint's point, in
    world axes.
    """  # noqa: D205

    force: Array
    moment: Array


@dataclass(frozen=True)
class Bending:
    """How a body bends: amplitudes of its shapes (n, k), their rates (n, k), 1/s, and where its points are (n, p, 3)
    and how they move (n, p, 3), m and m/s in world axes.
    """  # noqa: D205

    amplitudes: Array
    rates: Array
    places: Array
    velocities: Array


@dataclass(frozen=True)
class Trace:
    """What an engine recorded, at the end of every step.

    Attributes
    ----------
    time : (n,) s.
    poses, spins, joints : by the name of body, angle and joint.
    torques : by the name of ratio, chain, coupling, limiter, drag, load or motion: (n,) N m. For a ratio or a
        chain, on the driven side.
    tensions : by the name of a chain: of its strands a and b, each (n,) N.
    gap : (n,) largest distance, m, by which a joint's two points have drifted apart.
    rested : whether the run ended early, at rest.
    bending : by the name of a body that bends; its pose is that of its axes, the position that of its first point.
    """

    time: Array
    poses: dict[str, Pose] = field(default_factory=dict[str, Pose])
    spins: dict[str, Spin] = field(default_factory=dict[str, Spin])
    joints: dict[str, JointLoad] = field(default_factory=dict[str, JointLoad])
    torques: dict[str, Array] = field(default_factory=dict[str, Array])
    tensions: dict[str, tuple[Array, Array]] = field(default_factory=dict[str, tuple[Array, Array]])
    gap: Array = field(default_factory=lambda: np.zeros(0))
    rested: bool = False
    bending: dict[str, Bending] = field(default_factory=dict[str, Bending])


@dataclass(frozen=True)
class Freedom:
    """How many independent movements a scene has in its start pose, and how many constraints repeat others."""

    movements: int
    redundant: int


class Engine(ABC):
    """A multibody engine."""

    @property
    @abstractmethod
    def version(self) -> str:
        """Name and version, as recorded in runs."""

    @abstractmethod
    def freedom(self, scene: Scene) -> Freedom:
        """Count the independent movements and the redundant constraints by the rank of the Jacobian."""

    @abstractmethod
    def simulate(self, scene: Scene, stepping: Stepping, progress: Progress | None = None) -> Trace:
        """Step the scene through time.

        Raises
        ------
        EngineError
            When a step does not converge; with what was recorded until then.
        """
