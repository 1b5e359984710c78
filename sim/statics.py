"""Joint forces of a side standing still at any crank angle, in closed form, and the friction they make.

A rod is a bar on two balls, so its weight goes half to each end and the rest of its force lies along it. From
the outermost panel inwards, moments about each hinge line give the rod's pull, and the sum of forces the
hinge's. Coordinates of a side: forward, out, up.
"""

from dataclasses import dataclass

import numpy as np

from models.mechanism import Rubbing
from sim import names
from sim.arrays import Array
from sim.closed_form import Moving, gravity_torque, moving_parts
from sim.linkage import PanelCourse, SideLinkage


@dataclass(frozen=True)
class Statics:
    """A side standing still at n crank angles.

    Attributes
    ----------
    forces : by joint name, (n, 3) N: what the moving part puts on the part nearer the ground, as the joints
        of the scene record it.
    torque : (n,) N m about the crank's axis that holds it, without friction.
    friction : (n,) N m at the crank that friction adds while it turns: the sum over joints of
        mu r |F| times the joint's turn per turn of the crank.
    """

    forces: dict[str, Array]
    torque: Array
    friction: Array


def statics(linkage: SideLinkage, crank: Array, gravity: float, rubbing: Rubbing) -> Statics:
    """Give the joint forces of a side standing still at crank angles (n,), rad."""
    side = linkage.side
    courses = linkage.course(crank)
    parts = {p.name: p for p in moving_parts(linkage, crank)}
    n = len(crank)
    forces: dict[str, Array] = {}
    outer_hinge, outer_point = np.zeros((n, 3)), np.zeros((n, 3))
    crank_load = np.zeros((n, 3))
    crank_moment = np.zeros((n, 3))
    for course in reversed(courses):
        name = course.panel.name
        panel, rod = parts[f"{name} panel"], parts[f"{name} rod"]
        half = _down(rod.mass * gravity / 2, n)
        weight = _down(panel.mass * gravity, n)
        at = course.hinge.value
        known = (
            np.cross(panel.com.value - at, weight)
            + np.cross(course.yoke.value - at, half)
            + np.cross(outer_point - at, outer_hinge)
        )
        along = (course.pin.value - course.yoke.value) / course.panel.rod.length
        pull = -known[:, 0] / np.cross(course.yoke.value - at, along)[:, 0]
        yoke = half + pull[:, None] * along
        hinge = weight + yoke + outer_hinge
        pin = half - pull[:, None] * along
        forces[names.yoke_eye(side.name, name)] = yoke
        forces[names.hinge(side.name, name)] = hinge
        forces[names.crank_eye(side.name, name)] = pin
        crank_load += pin
        crank_moment += np.cross(course.pin.value, pin)
        outer_hinge, outer_point = hinge, at
    shaft = parts["crankshaft"]
    shaft_weight = _down(shaft.mass * gravity, n)
    crank_load += shaft_weight
    crank_moment += np.cross(shaft.com.value, shaft_weight)
    near, far = side.crank.bearings
    # Moments about the locating bearing, square to the shaft: the radial bearing carries no thrust.
    lever = far - near
    radial = np.zeros((n, 3))
    radial[:, 2] = (crank_moment[:, 0] - near * crank_load[:, 2]) / lever
    radial[:, 0] = (-crank_moment[:, 2] - near * crank_load[:, 0]) / lever
    forces[names.radial(side.name)] = radial
    forces[names.locating(side.name)] = crank_load - radial
    torque = gravity_torque(tuple(parts.values()), gravity)
    return Statics(forces, torque, _friction(linkage, courses, parts, forces, rubbing))


def _down(weight: float, n: int) -> Array:
    return np.broadcast_to(np.array([0.0, 0.0, -weight]), (n, 3))


def _friction(
    linkage: SideLinkage,
    courses: tuple[PanelCourse, ...],
    parts: dict[str, Moving],
    forces: dict[str, Array],
    rubbing: Rubbing,
) -> Array:
    side = linkage.side
    size = {name: np.linalg.norm(f, axis=1) for name, f in forces.items()}
    shaft = side.crank.shaft / 2
    total = rubbing.bush * shaft * (size[names.locating(side.name)] + size[names.radial(side.name)])
    inner = np.zeros((len(total), 3))
    for course in courses:
        name, panel = course.panel.name, course.panel
        own, rod = parts[f"{name} panel"].spin, parts[f"{name} rod"].spin
        turns = np.linalg.norm(own - inner, axis=1)
        total = total + rubbing.hinge * panel.hinge_pin / 2 * size[names.hinge(side.name, name)] * turns
        ball = rubbing.rod_end * panel.rod.ball / 2
        at_crank = np.linalg.norm(rod - parts["crankshaft"].spin, axis=1)
        at_yoke = np.linalg.norm(rod - own, axis=1)
        total = total + ball * size[names.crank_eye(side.name, name)] * at_crank
        total = total + ball * size[names.yoke_eye(side.name, name)] * at_yoke
        inner = own
    return total
