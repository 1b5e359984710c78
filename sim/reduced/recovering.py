"""From the angles of a reduced run to a trace: poses and joint loads in closed form, all steps at once."""

from dataclasses import dataclass
from typing import cast

import numpy as np
from scipy.spatial.transform import Rotation

from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import moving_parts
from sim.dynamics import dynamics
from sim.engines.base import JointLoad, Pose, Spin, Trace
from sim.linkage import PanelCourse, SideLinkage
from sim.mass import Y
from sim.reduced.system import System
from sim.scene import Body, Scene
from sim.travel import ahead, wound

FORWARD = np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True)
class Steps:
    """What the steps left.

    Attributes
    ----------
    time : (n,) s.
    u, v, a : (n, m) coordinates with their rates.
    friction : (n, e) N m of the elements that are bristles.
    held, loads : (n,) N m that a prescribed coordinate takes, and of the load.
    rested : whether it ended at rest.
    """

    time: Array
    u: Array
    v: Array
    a: Array
    friction: Array
    held: Array
    loads: Array
    rested: bool


def trace(closed: Linkage, scene: Scene, made: System, steps: Steps) -> Trace:
    """Give the trace of a reduced run, as an engine would."""
    spins = {
        name: Spin(made.start[k] + made.share[k] * steps.u[:, c], made.share[k] * steps.v[:, c],
                   made.share[k] * steps.a[:, c])
        for k, (name, c) in enumerate(zip(made.names, made.coordinate, strict=True))
    }  # fmt: skip
    bodies = {b.name: b for b in scene.bodies}
    poses: dict[str, Pose] = {}
    joints: dict[str, JointLoad] = {}
    for side in closed.sides:
        spin = spins[names.crankshaft(side.side.name)]
        poses |= _poses(side, spin, bodies)
        joints |= _loads(side, spin, closed.mechanism.gravity)
    joints[names.WHEEL_BEARINGS], poses[names.WHEEL] = _wheel(scene, spins[names.WHEEL])
    tensions = {c.name: c.tensions(*ahead(c, spins)) for c in scene.strands}
    torques = _torques(scene, made, steps)
    torques |= {c.name: (tensions[c.name][0] - tensions[c.name][1]) * c.driven_radius for c in scene.strands}
    torques |= {t.name: t.torque(*wound(t, spins)) for t in scene.twists}
    torques |= _carried(scene, closed, spins, torques)
    return Trace(steps.time, poses, spins, joints, torques, tensions, np.zeros(len(steps.time)), steps.rested)


def _torques(scene: Scene, made: System, steps: Steps) -> dict[str, Array]:
    found: dict[str, Array] = {}
    first = len(made.kinds) - made.drags
    for k, drag in enumerate(scene.drags):
        found[drag.name] = -steps.friction[:, first + k]
    for k, limiter in enumerate(scene.limiters):
        found[limiter.name] = steps.friction[:, first - len(scene.limiters) + k]
    for load in scene.loads:
        found[load.name] = steps.loads
    for motion in scene.motions:
        found[motion.name] = steps.held / made.share[made.names.index(motion.on)]
    return found


def _carried(
    scene: Scene, closed: Linkage, spins: dict[str, Spin], torques: dict[str, Array]
) -> dict[str, Array]:
    """Give what exact ratios carry on their driven side: from the cranks back along the drive."""
    if not scene.ratios:
        return {}
    needed: dict[str, Array | float] = {}
    for side in closed.sides:
        crank = names.crankshaft(side.side.name)
        spin = spins[crank]
        found = dynamics(side, spin.angle, spin.speed, spin.acceleration, closed.mechanism.gravity)
        needed[crank] = found.torque
    for rotor in scene.rotors:
        needed[rotor.name] = rotor.inertia * spins[rotor.name].acceleration
    for drag in scene.drags:
        if drag.on in needed:
            needed[drag.on] = needed[drag.on] - torques[drag.name]
    onward = [(x.a, torques[x.name]) for x in (*scene.twists, *scene.limiters)]
    onward += [(c.driver, torques[c.name] * c.driver_radius / c.driven_radius) for c in scene.strands]
    for name, torque in onward:
        needed[name] = needed.get(name, 0.0) + torque
    result: dict[str, Array] = {}
    for ratio in reversed(scene.ratios):
        result[ratio.name] = np.asarray(needed[ratio.driven], dtype=float)
        back = result[ratio.name] / ratio.reduction
        needed[ratio.driver] = needed.get(ratio.driver, 0.0) + back
    return result


def _loads(side: SideLinkage, spin: Spin, gravity: float) -> dict[str, JointLoad]:
    """Give a side's joint loads in the world."""
    found = dynamics(side, spin.angle, spin.speed, spin.acceleration, gravity)
    mirror = np.array([1.0, side.side.sign, 1.0])
    none = np.zeros_like(next(iter(found.forces.values())))
    # A moment is an axial vector: mirrored, it changes what a force keeps.
    return {
        name: JointLoad(force * mirror, found.moments.get(name, none) * mirror * side.side.sign)
        for name, force in found.forces.items()
    }


def _poses(side: SideLinkage, spin: Spin, bodies: dict[str, Body]) -> dict[str, Pose]:
    """Give the poses of a side's crankshaft, panels and rods."""
    sign, crank = side.side.sign, spin.angle
    mirror = np.array([1.0, sign, 1.0])
    speed, squared, acc = spin.speed[:, None], spin.speed[:, None] ** 2, spin.acceleration[:, None]
    parts = {p.name: p for p in moving_parts(side, crank)}
    turns = {"crankshaft": _about(Y, crank + side.side.key_angle)}
    for course in side.course(crank):
        panel = _about(FORWARD, sign * course.angle.value)
        turns[f"{course.panel.name} panel"] = panel
        turns[f"{course.panel.name} rod"] = _rod_axes(course, sign, panel, bodies, side.side.name)
    found: dict[str, Pose] = {}
    for name, part in parts.items():
        com = part.com
        found[f"{side.side.name} {name}"] = Pose(
            com.value * mirror,
            _quaternions(turns[name]),
            com.first * speed * mirror,
            part.spin * speed * mirror * sign if name != "crankshaft" else part.spin * speed,
            (com.first * acc + com.second * squared) * mirror,
        )
    return found


def _rod_axes(course: PanelCourse, sign: float, panel: Array, bodies: dict[str, Body], side: str) -> Array:
    """Give a rod's axes (n, 3, 3): its line, and across it what its spin lock keeps in the panel's."""
    mirror = np.array([1.0, sign, 1.0])
    along = (course.yoke.value - course.pin.value) * mirror / course.panel.rod.length
    body, rod = bodies[names.panel(side, course.panel.name)], bodies[names.rod(side, course.panel.name)]
    hint = panel @ (body.rotation.T @ rod.rotation[:, 0])
    x = hint - np.sum(hint * along, -1, keepdims=True) * along
    x = x / np.sqrt(np.sum(x**2, axis=1, keepdims=True))
    across = cast("Array", np.cross(along, x))
    return np.stack([x, across, along], -1)


def _about(axis: Array, angle: Array) -> Array:
    """Give rotations (n, 3, 3) by angles (n,) about the first or the second axis."""
    c, s, zero, one = np.cos(angle), np.sin(angle), np.zeros_like(angle), np.ones_like(angle)
    if axis[0]:
        rows = ((one, zero, zero), (zero, c, -s), (zero, s, c))
    else:
        rows = ((c, zero, s), (zero, one, zero), (-s, zero, c))
    return np.stack([np.stack(row, -1) for row in rows], -2)


def _quaternions(turns: Array) -> Array:
    """Give unit quaternions (n, 4), scalar first, of rotations (n, 3, 3)."""
    return cast("Array", Rotation.from_matrix(turns).as_quat(scalar_first=True))


def _wheel(scene: Scene, spin: Spin) -> tuple[JointLoad, Pose]:
    """Give what the wheel puts on its bearings, and its pose."""
    body = next(b for b in scene.bodies if b.name == names.WHEEL)
    joint = next(j for j in scene.joints if j.b == names.WHEEL)
    turned = _about(Y, spin.angle - spin.angle[0])
    arm = turned @ (body.com - joint.point)
    across = np.cross(Y, arm)
    velocity = across * spin.speed[:, None]
    acceleration = across * spin.acceleration[:, None] + np.cross(Y, across) * spin.speed[:, None] ** 2
    force = body.mass * (scene.gravity - acceleration)
    pose = Pose(joint.point + arm, _quaternions(turned @ body.rotation), velocity,
                spin.speed[:, None] * Y, acceleration)  # fmt: skip
    return JointLoad(force, np.zeros_like(force)), pose
