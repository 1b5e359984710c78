"""The narrow waist: a mechanism as a handful of primitives that any multibody engine has.

Nothing here knows of wings. A scene is written in its start pose: every point and axis is given in world
coordinates (x forward, y to the left, z up; metres), and the engine's file turns them into local ones.
Builders in `sim.builders` make scenes from sculptures; the tests build published mechanisms from the same parts.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from sim.arrays import Array, eye, vector
from sim.elastic import Bush, Flexible
from sim.friction import Drag, Station
from sim.transmission import Limiter, Ratio, Strands, Twist

GROUND = "ground"

BALL = (True, True, True, False, False, False)
"""Locks of a ball joint: the three movements."""
HINGE_Z = (True, True, True, True, True, False)
"""Locks of a hinge about the joint's z axis."""
BALL_NO_SPIN = (True, True, True, False, False, True)
"""Locks of a ball joint that also stops the spin about the joint's z axis."""


@dataclass(frozen=True)
class Body:
    """A rigid body.

    Attributes
    ----------
    name : unique in the scene.
    mass : kg.
    inertia : (3, 3) about the centre of mass in the body's own axes, kg m2.
    com : (3,) centre of mass in the world at the start, m.
    rotation : (3, 3) body axes to world axes at the start.
    velocity : (3,) of the centre of mass at the start, m/s.
    angular_velocity : (3,) in world axes at the start, rad/s.
    spin : (3,) world direction of the fixed axis about which its joints let it turn, or None.
        A body with a spin axis has an angle that counts full turns, so that ratios, loads, friction and
        motions can act on it.
    angle : the angle, rad, that its spin coordinate has at the start.
    """

    name: str
    mass: float
    inertia: Array
    com: Array
    rotation: Array = field(default_factory=eye)
    velocity: Array = field(default_factory=lambda: np.zeros(3))
    angular_velocity: Array = field(default_factory=lambda: np.zeros(3))
    spin: Array | None = None
    angle: float = 0.0


@dataclass(frozen=True)
class Rotor:
    """A shaft with what sits on it, as one angle.

    Attributes
    ----------
    name : unique in the scene.
    inertia : about its axis, kg m2.
    angle, speed : at the start, rad and rad/s.
    """

    name: str
    inertia: float
    angle: float = 0.0
    speed: float = 0.0


@dataclass(frozen=True)
class Joint:
    """A joint that locks some of the six relative movements of two bodies.

    Attributes
    ----------
    name : unique in the scene.
    a, b : bodies, or `GROUND`. The recorded force is what b puts on a.
    point : (3,) in the world at the start, m.
    locks : movement along and rotation about the joint's x, y, z; the joint's axes ride on a.
    axes : (3, 3) the joint's axes in the world at the start, as columns.
    """

    name: str
    a: str
    b: str
    point: Array
    locks: tuple[bool, bool, bool, bool, bool, bool]
    axes: Array = field(default_factory=eye)


@dataclass(frozen=True)
class Spring:
    """A spring with damper between two points.

    Attributes
    ----------
    name : unique in the scene.
    a, b : bodies, or `GROUND`.
    point_a, point_b : (3,) in the world at the start, m.
    stiffness : N/m.
    length : unstretched, m.
    damping : N s/m.
    """

    name: str
    a: str
    b: str
    point_a: Array
    point_b: Array
    stiffness: float
    length: float
    damping: float = 0.0


class Law(Protocol):
    """A torque that depends on the motion; asked once a step and held over it."""

    def start(self) -> "Law":
        """Give the law as it is before anything has happened; a law without memory gives itself."""
        ...

    def torque(self, time: float, angle: float, speed: float) -> float:
        """Give the torque in N m at a time (s), angle (rad) and speed (rad/s)."""
        ...


@dataclass(frozen=True)
class Constant:
    """A torque that stays the same, N m."""

    value: float

    def start(self) -> "Constant":
        """Give itself: it has no memory."""
        return self

    def torque(self, time: float, angle: float, speed: float) -> float:
        """Give the value, whatever the motion."""
        del time, angle, speed
        return self.value


@dataclass(frozen=True)
class Load:
    """A torque on an angle.

    Attributes
    ----------
    name : unique in the scene.
    on : a rotor or a body with a spin axis.
    law : what the torque is.
    """

    name: str
    on: str
    law: Law


@dataclass(frozen=True)
class Motion:
    """An angle whose speed is held, by whatever torque that takes.

    Attributes
    ----------
    name : unique in the scene.
    on : a rotor or a body with a spin axis.
    speed : rad/s; the start speed of `on` must agree with it.
    stop : s in which the speed falls evenly to zero, where it then stays; None holds it.
    """

    name: str
    on: str
    speed: float
    stop: float | None = None

    def at(self, time: float) -> float:
        """Give the speed, rad/s, at a time, s."""
        return self.speed if self.stop is None else self.speed * max(0.0, 1 - time / self.stop)


class Flow(Protocol):
    """A force and moment that depend on a body's pose and motion, as wind's do; asked once a step."""

    def wrench(
        self, rotation: Array, position: Array, velocity: Array, angular_velocity: Array
    ) -> tuple[Array, Array]:
        """Give force (3,), N, and moment (3,), N m, about the centre of mass, in world axes.

        Parameters
        ----------
        rotation : (3, 3) of the body's axes since the start, world axes.
        position, velocity : (3,) of its centre of mass, m and m/s.
        angular_velocity : (3,) rad/s, world axes.
        """
        ...


@dataclass(frozen=True)
class Push:
    """A force and torque on a body.

    Attributes
    ----------
    name : unique in the scene.
    body : the body pushed.
    force : (3,) N, constant in world axes, at the centre of mass.
    torque : (3,) N m, constant in world axes.
    flow : what is added that depends on the motion, or None.
    """

    name: str
    body: str
    force: Array = field(default_factory=lambda: np.zeros(3))
    torque: Array = field(default_factory=lambda: np.zeros(3))
    flow: Flow | None = None


@dataclass(frozen=True)
class Rest:
    """When a run may end: every friction has stuck, and every angle been slow, for some time.

    What sticks carries what pulls at it, so nothing would move later.

    Attributes
    ----------
    speed : rad/s below which an angle counts as slow.
    hold : s.
    """

    speed: float = 1e-3
    hold: float = 0.5


@dataclass(frozen=True)
class Until:
    """That a run ends where something is thrown off a body: at two steps running that push it up harder than it bears.

    Attributes
    ----------
    body : whose centre of mass is looked at.
    most : upward acceleration, m/s2, that is borne.
    """

    body: str
    most: float


@dataclass(frozen=True)
class Scene:
    """A mechanism in its start pose, ready for an engine.

    Attributes
    ----------
    bodies, rotors, joints, ratios, strands, twists, limiters, springs, drags, loads, motions, pushes, stations,
    flexibles, bushes : the parts.
    gravity : (3,) m/s2.
    rest, until : when a run may end early, or None.
    """

    bodies: tuple[Body, ...] = ()
    rotors: tuple[Rotor, ...] = ()
    joints: tuple[Joint, ...] = ()
    ratios: tuple[Ratio, ...] = ()
    strands: tuple[Strands, ...] = ()
    twists: tuple[Twist, ...] = ()
    limiters: tuple[Limiter, ...] = ()
    springs: tuple[Spring, ...] = ()
    drags: tuple[Drag, ...] = ()
    loads: tuple[Load, ...] = ()
    motions: tuple[Motion, ...] = ()
    pushes: tuple[Push, ...] = ()
    stations: tuple[Station, ...] = ()
    flexibles: tuple[Flexible, ...] = ()
    bushes: tuple[Bush, ...] = ()
    gravity: Array = field(default_factory=lambda: vector(0, 0, -9.81))
    rest: Rest | None = None
    until: Until | None = None

    def __post_init__(self) -> None:
        """Refuse names that repeat or do not exist."""
        things = [p.name for group in self.groups() for p in group]
        twice = sorted({n for n in things if things.count(n) > 1})
        if twice:
            raise ValueError(f"names used twice in the scene: {', '.join(twice)}")
        bends = {f.name for f in self.flexibles}
        bodies = {b.name for b in self.bodies} | bends | {GROUND}
        spins = {b.name for b in self.bodies if b.spin is not None} | {r.name for r in self.rotors} | bends
        between = (*self.joints, *self.springs, *self.bushes)
        wanted = {(j.name, n, "body") for j in between for n in (j.a, j.b)}
        wanted |= {(p.name, p.body, "body") for p in self.pushes}
        wanted |= {(x.name, x.on, "angle") for x in (*self.drags, *self.loads, *self.motions)}
        wanted |= {(r.name, n, "angle") for r in (*self.ratios, *self.strands) for n in (r.driver, r.driven)}
        wanted |= {(t.name, n, "angle") for t in (*self.twists, *self.limiters) for n in (t.a, t.b)}
        pressed = {j.name for j in self.joints} | {
            x.name for x in (*self.strands, *self.stations, *self.ratios, *self.bushes)
        }
        wanted |= {(d.name, r.of, "load") for d in self.drags for r in d.rubs}
        wanted |= {(x.name, n, "load") for x in self.stations for n, _ in x.shares}
        wanted |= {(x.name, p.chain, "load") for x in self.stations for p in x.pulls}
        there = {"body": bodies, "angle": spins, "load": pressed}
        lost = [f"{who}: no {kind} '{n}'" for who, n, kind in sorted(wanted)
                if n not in there[kind]]  # fmt: skip
        if lost:
            raise ValueError("; ".join(lost))

    def groups(self) -> Iterable[tuple["Part", ...]]:
        """Give the groups of named parts, in the order of the attributes."""
        return (self.bodies, self.rotors, self.joints, self.ratios, self.strands, self.twists, self.limiters,
                self.springs, self.drags, self.loads, self.motions, self.pushes, self.stations, self.flexibles,
                self.bushes)  # fmt: skip

    def inertias(self) -> dict[str, float]:
        """Give the inertia, kg m2, of what each angle turns by itself, without what hangs on it by joints."""
        spinning = ((b, b.rotation.T @ b.spin) for b in self.bodies if b.spin is not None)
        found = {r.name: r.inertia for r in self.rotors} | {f.name: f.inertia for f in self.flexibles}
        return found | {b.name: float(axis @ b.inertia @ axis) for b, axis in spinning}

    def rotated(self, turn: Array) -> "Scene":
        """Give the same mechanism turned in the world.

        Parameters
        ----------
        turn : (3, 3) rotation matrix about the origin; gravity is not turned with it.
        """
        return replace(
            self,
            bodies=tuple(
                replace(b, com=turn @ b.com, rotation=turn @ b.rotation, velocity=turn @ b.velocity,
                        angular_velocity=turn @ b.angular_velocity,
                        spin=None if b.spin is None else turn @ b.spin)
                for b in self.bodies
            ),
            joints=tuple(replace(j, point=turn @ j.point, axes=turn @ j.axes) for j in self.joints),
            springs=tuple(
                replace(s, point_a=turn @ s.point_a, point_b=turn @ s.point_b) for s in self.springs
            ),
            pushes=tuple(replace(p, force=turn @ p.force, torque=turn @ p.torque) for p in self.pushes),
            stations=tuple(s.rotated(turn) for s in self.stations),
            flexibles=tuple(x.rotated(turn) for x in self.flexibles),
            bushes=tuple(x.rotated(turn) for x in self.bushes),
        )  # fmt: skip


Part = (
    Body
    | Rotor
    | Joint
    | Ratio
    | Strands
    | Twist
    | Limiter
    | Spring
    | Drag
    | Load
    | Motion
    | Push
    | Station
    | Flexible
    | Bush
)
