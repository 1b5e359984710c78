"""From an engine's coordinates and multipliers, step by step, to a trace.

Written for an engine with Euler parameters or Tait-Bryan angles for bodies and one coordinate an angle, whose
multipliers are the joints' forces; it knows where each sits in the engine's vectors and nothing else of it.
"""

from array import array
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from sim.arrays import Array, matrices, quaternion, quaternion_product
from sim.elastic import Flexible
from sim.engines.base import Bending, JointLoad, Pose, Spin, Trace
from sim.engines.frames import tait_bryan, turned_back
from sim.engines.riding import Riding
from sim.scene import Body, Scene
from sim.transmission import Strands, Twist
from sim.travel import ahead, wound

SQUARE: dict[tuple[bool, bool, bool], dict[int, tuple[int, int]]] = {
    (False, False, False): {},
    (False, False, True): {2: (0, 1)},
    (True, True, False): {0: (2, 0), 1: (2, 1)},
    (True, True, True): {0: (2, 1), 1: (2, 0), 2: (0, 1)},
}
"""By the locked turns about x, y, z: which axis of a the engine keeps square to which axis of b, for each
multiplier. Found by comparing the recorded loads with Newton's and Euler's equations, as a test still does."""


@dataclass(frozen=True)
class Placed:
    """Where a body sits in the engine: its axes at the start and the number of its angle."""

    body: int
    node: int
    axes: Array  # engine's body axes in the world at the start
    com: Array
    first: int  # index of its first coordinate
    size: int  # 7 for Euler parameters, 6 for Tait-Bryan angles
    spin: int  # index of its angle among its coordinates
    sign: float  # of that angle about the body's spin axis


@dataclass(frozen=True)
class Coordinate:
    """An angle as the engine counts it."""

    node: int
    index: int  # in its node
    place: int  # in the vector of all coordinates
    sign: float
    start: float


@dataclass(frozen=True)
class Places:
    """Where a scene's parts sit in the engine's vectors.

    Attributes
    ----------
    scene : as the engine sees it, turned into its world.
    placed, angles : of bodies and angles.
    rows : of each joint, ratio and motion: the indices of its multipliers.
    reference : (c,) the coordinates' reference values.
    """

    scene: Scene
    placed: dict[str, Placed]
    angles: dict[str, Coordinate]
    rows: dict[str, list[int]] = field(default_factory=dict[str, list[int]])
    reference: Array = field(default_factory=lambda: np.zeros(0))

    def spin(self, name: str, q: Array, v: Array, a: Array) -> Spin:
        """Give an angle over the steps from coordinates (n, c) and their rates."""
        at = self.angles[name]
        turned = at.start + at.sign * (q[:, at.place] - self.reference[at.place])
        return Spin(turned, at.sign * v[:, at.place], at.sign * a[:, at.place])

    def pose(self, body: Body | Flexible, q: Array, v: Array, a: Array) -> Pose:
        """Give a body's pose over the steps from coordinates (n, c) with their reference, and their rates."""
        at = self.placed[body.name]
        own = slice(at.first, at.first + (at.size if isinstance(body, Body) else 6))
        x, xt, xtt = q[:, own], v[:, own], a[:, own]
        offset = quaternion(at.axes.T @ body.rotation)
        if x.shape[1] == 7:
            turned = x[:, 3:] / np.linalg.norm(x[:, 3:], axis=1, keepdims=True)
            # omega in the world = 2 E(p) p', the vector part of 2 p' p* (Euler parameters)
            conjugate = turned * np.array([1.0, -1.0, -1.0, -1.0])
            omega = 2 * quaternion_product(xt[:, 3:], conjugate)[:, 1:]
        else:
            turned = tait_bryan(x[:, 3:])
            assert body.spin is not None
            omega = _turning(x[:, 3:], xt[:, 3:])
        return Pose(x[:, :3], quaternion_product(turned, offset[None, :]), xt[:, :3], omega, xtt[:, :3])

    def bending(self, shaft: Flexible, pose: Pose, q: Array, v: Array) -> Bending:
        """Give how a body bends over the steps from its pose, coordinates (n, c) and their rates."""
        at = self.placed[shaft.name]
        own = slice(at.first + 6, at.first + at.size)
        turned = matrices(pose.quaternion)
        arms = np.einsum("nij,npj->npi", turned, shaft.bent(q[:, own]))
        swing = np.einsum("nij,pjk,nk->npi", turned, shaft.shapes, v[:, own], optimize=True)
        swing += np.cross(pose.angular_velocity[:, None], arms)
        return Bending(q[:, own].copy(), v[:, own].copy(), pose.position[:, None] + arms,
                       pose.velocity[:, None] + swing)  # fmt: skip

    def joints(
        self, poses: Mapping[str, Pose], bending: Mapping[str, Bending], multipliers: Array
    ) -> tuple[dict[str, JointLoad], Array]:
        """Give the joints' loads and the largest drift (n,) of a joint's two points, m."""
        n = len(multipliers)
        loads: dict[str, JointLoad] = {}
        gap = np.zeros(n)
        riding = Riding(self.scene, poses, bending, n)
        bends = {f.name for f in self.scene.flexibles}
        for joint in self.scene.joints:
            point_a, axes_a = riding.at(joint.a, joint.point, joint.axes)
            point_b, axes_b = riding.at(joint.b, joint.point, joint.axes)
            rows = multipliers[:, self.rows[joint.name]]
            locks = np.array(joint.locks)
            if bends & {joint.a, joint.b}:
                # A joint at a point has a multiplier for each of the world's axes, those not held at nothing.
                loads[joint.name] = JointLoad(rows.copy(), np.zeros((n, 3)))
                apart = (point_b - point_a) @ joint.axes * locks[:3]
                gap = np.maximum(gap, np.linalg.norm(apart, axis=1))
                continue
            # The engine writes three locked movements in world axes, fewer in the joint's axes on a.
            force = rows[:, :3] * locks[:3]
            if not all(locks[:3]):
                force = np.einsum("nij,nj->ni", axes_a, force)
            moment = np.zeros((n, 3))
            # Each locked turn keeps one axis of a square to one of b; its multiplier turns about their cross
            # product.
            for k, (i, j) in SQUARE[joint.locks[3:]].items():
                moment -= rows[:, [3 + k]] * np.cross(axes_a[:, :, i], axes_b[:, :, j])
            loads[joint.name] = JointLoad(force, moment)
            apart = np.einsum("nij,ni->nj", axes_a, point_b - point_a) * locks[:3]
            gap = np.maximum(gap, np.linalg.norm(apart, axis=1))
        for bush in self.scene.bushes:
            loads[bush.name] = JointLoad(bush.load(*riding.apart(bush)), np.zeros((n, 3)))
        return loads, gap


class Rows:
    """What the engine left at the end of each step, in one growing block: a run has up to some 100 000 of them.

    Attributes
    ----------
    count : number of steps.
    last : time of the last one, s.
    """

    def __init__(self) -> None:
        self.count, self.last = 0, 0.0
        self._numbers = array("d")
        self._widths: list[int] = []

    def add(
        self, time: float, q: Array, v: Array, a: Array, multipliers: Array, loads: Array, rubs: Array
    ) -> None:
        """Keep a step's time, coordinates and rates, multipliers, load torques, friction and limiter torques."""
        parts = (np.array([time]), q, v, a, multipliers, loads, rubs)
        self._widths = [len(p) for p in parts]
        self._numbers.frombytes(np.concatenate(parts).tobytes())
        self.count, self.last = self.count + 1, time

    def columns(self) -> list[Array]:
        """Give what was kept, (n, number of each), in the order of `add`."""
        block = np.frombuffer(self._numbers).reshape(self.count, sum(self._widths))
        return np.split(block, np.cumsum(self._widths)[:-1], axis=1)


def traced(places: Places, world: Array, rows: Rows, rested: bool = False) -> Trace:
    """Give the trace of the steps, in the scene's own world."""
    scene = places.scene
    time, q, v, a, multipliers, held, rubs = rows.columns()
    q = q + places.reference
    poses = {b.name: places.pose(b, q, v, a) for b in (*scene.bodies, *scene.flexibles)}
    bending = {f.name: places.bending(f, poses[f.name], q, v) for f in scene.flexibles}
    spins = {name: places.spin(name, q, v, a) for name in places.angles}
    loads, gap = places.joints(poses, bending, multipliers)
    torques = _torques(places, multipliers, held, rubs)
    tensions = {c.name: _tensions(c, spins) for c in scene.strands}
    torques |= {t.name: _twisted(t, spins) for t in scene.twists}
    torques |= {c.name: (tensions[c.name][0] - tensions[c.name][1]) * c.driven_radius for c in scene.strands}
    poses, loads = turned_back(world, poses, loads)
    bending = {
        name: replace(b, places=b.places @ world, velocities=b.velocities @ world)
        for name, b in bending.items()
    }
    return Trace(time[:, 0].copy(), poses, spins, loads, torques, tensions, gap, rested, bending)


def _turning(angles: Array, rates: Array) -> Array:
    """Give the angular velocity (n, 3), rad/s, in world axes for angles (n, 3) of A = Rx(a) Ry(b) Rz(c) and rates."""
    a, b = angles[:, 0], angles[:, 1]
    zero, one = np.zeros_like(a), np.ones_like(a)
    first, second = np.stack([one, zero, zero], -1), np.stack([zero, np.cos(a), np.sin(a)], -1)
    third = np.stack([np.sin(b), -np.sin(a) * np.cos(b), np.cos(a) * np.cos(b)], -1)
    return rates[:, [0]] * first + rates[:, [1]] * second + rates[:, [2]] * third


def _torques(places: Places, multipliers: Array, held: Array, rubs: Array) -> dict[str, Array]:
    """Give the torques of loads, drags, limiters, ratios and motions."""
    scene = places.scene
    torques = {load.name: held[:, k].copy() for k, load in enumerate(scene.loads)}
    for k, drag in enumerate(scene.drags):
        torques[drag.name] = -rubs[:, k]
    for k, limiter in enumerate(scene.limiters, len(scene.drags)):
        torques[limiter.name] = rubs[:, k].copy()
    for ratio in scene.ratios:
        torques[ratio.name] = places.angles[ratio.driven].sign * multipliers[:, places.rows[ratio.name][0]]
    for motion in scene.motions:
        found = -places.angles[motion.on].sign * multipliers[:, places.rows[motion.name][0]]
        if motion.stop is not None:
            # Where the prescribed acceleration jumps, the trapezoidal rule leaves a swing from step to step about
            # the mean that does the work; the mean of neighbours is free of it.
            found = np.concatenate([found[:1], (found[1:] + found[:-1]) / 2])
        torques[motion.name] = found
    return torques


def _tensions(chain: Strands, spins: dict[str, Spin]) -> tuple[Array, Array]:
    return chain.tensions(*ahead(chain, spins))


def _twisted(twist: Twist, spins: dict[str, Spin]) -> Array:
    return twist.torque(*wound(twist, spins))
