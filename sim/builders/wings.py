"""A side's panels, rods, hinges and rod ends as scene parts."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from models.mechanism import Side
from sim import names
from sim.arrays import Array, frame_along, rotation, vector
from sim.builders.parts import Parts
from sim.linkage import PanelCourse, SideLinkage
from sim.mass import MassProperties, plate_mass, rod_mass
from sim.scene import BALL, BALL_NO_SPIN, GROUND, HINGE_Z, Body, Joint

FORWARD = np.array([1.0, 0.0, 0.0])
HINGE_AXES = np.column_stack([vector(0, 1, 0), vector(0, 0, 1), FORWARD])
"""Joint axes with z along the hinge line."""


def wings(linkage: SideLinkage, crank: float, speed: float) -> Parts:
    """Build the panels and rods of a side.

    Parameters
    ----------
    linkage : the side.
    crank : angle at the start, rad.
    speed : of the crank at the start, rad/s.
    """
    made = _at_unit_speed(linkage, crank)
    return replace(
        made,
        bodies=tuple(
            replace(b, velocity=b.velocity * speed, angular_velocity=b.angular_velocity * speed)
            for b in made.bodies
        ),
    )


@lru_cache(maxsize=256)
def _at_unit_speed(linkage: SideLinkage, crank: float) -> Parts:
    """Build them at 1 rad/s of the crank; lets go at many speeds share them."""
    side, courses = linkage.side, linkage.course(np.array([crank]))
    made = Parts()
    inner = GROUND
    for course in courses:
        panel = _panel(side, course)
        made += Parts((panel,), (_hinge(side, course, inner, panel.name),))
        made += _rod(side, course, panel)
        inner = panel.name
    return made


def world(side: Side, point: Array) -> Array:
    """Give a point or true vector (3,) of a side's coordinates in the world."""
    return point * np.array([1.0, side.sign, 1.0])


def _panel(side: Side, course: PanelCourse) -> Body:
    piece = _own_side(side, plate_mass(course.panel.plate))
    turn = rotation(FORWARD, side.sign * float(course.angle.value[0]))
    hinge = world(side, course.hinge.value[0])
    omega = FORWARD * (side.sign * float(course.angle.first[0]))
    arm = turn @ piece.com
    hinge_speed = world(side, course.hinge.first[0])
    return Body(
        names.panel(side.name, course.panel.name),
        piece.mass,
        piece.inertia,
        hinge + arm,
        turn,
        hinge_speed + np.cross(omega, arm),
        omega,
    )


def _own_side(side: Side, piece: MassProperties) -> MassProperties:
    return piece if side.sign > 0 else piece.mirrored()


def _hinge(side: Side, course: PanelCourse, inner: str, panel: str) -> Joint:
    at = world(side, course.hinge.value[0])
    return Joint(names.hinge(side.name, course.panel.name), inner, panel, at, HINGE_Z, HINGE_AXES)


def _rod(side: Side, course: PanelCourse, panel: Body) -> Parts:
    """Build a rod: a ball at the crank pin, a ball with its spin locked at the yoke.

    The spin lock takes away the idle turning of the rod about itself and carries no load worth the name.
    """
    name = course.panel.name
    pin, yoke = world(side, course.pin.value[0]), world(side, course.yoke.value[0])
    pin_speed, yoke_speed = world(side, course.pin.first[0]), world(side, course.yoke.first[0])
    length = course.panel.rod.length
    along = (yoke - pin) / length
    axes = frame_along(along, FORWARD)
    omega = np.cross(along, yoke_speed - pin_speed) / length
    omega = omega + (panel.angular_velocity @ along) * along
    piece = rod_mass(course.panel.rod)
    body = Body(
        names.rod(side.name, name),
        piece.mass,
        piece.inertia,
        (pin + yoke) / 2,
        axes,
        (pin_speed + yoke_speed) / 2,
        omega,
    )
    return Parts(
        (body,),
        (
            Joint(names.crank_eye(side.name, name), names.crankshaft(side.name), body.name, pin, BALL),
            Joint(names.yoke_eye(side.name, name), panel.name, body.name, yoke, BALL_NO_SPIN, axes),
        ),
    )
