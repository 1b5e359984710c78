"""A side's crankshaft as one rigid piece on a locating and a radial bearing."""

import numpy as np

from models.mechanism import Side
from sim import names
from sim.arrays import rotation, vector
from sim.builders.parts import Parts
from sim.friction import Drag
from sim.mass import Y, crank_mass
from sim.scene import BALL, GROUND, Body, Joint

RADIAL = (True, False, True, False, False, False)
"""Locks of a bearing that lets the shaft move lengthwise (along y)."""


def crankshaft(side: Side, crank: float, speed: float, drags: tuple[Drag, ...]) -> Parts:
    """Build the crankshaft.

    Parameters
    ----------
    side : which side.
    crank : angle at the start, rad.
    speed : at the start, rad/s.
    drags : friction of the side's joints, as felt at the crank.

    More than two bearings would leave their loads without a unique answer while the shaft cannot bend.
    """
    piece = crank_mass(side)
    if side.sign < 0:
        piece = piece.mirrored()
    turn = rotation(Y, crank + side.key_angle)
    com = turn @ piece.com
    omega = speed * Y
    name = names.crankshaft(side.name)
    body = Body(name, piece.mass, piece.inertia, com, turn, np.cross(omega, com), omega, spin=Y, angle=crank)
    places = [vector(0, side.sign * y, 0) for y in side.crank.bearings]
    joints = (
        Joint(names.locating(side.name), GROUND, name, places[0], BALL),
        Joint(names.radial(side.name), GROUND, name, places[1], RADIAL),
    )
    return Parts((body,), joints, drags=drags)
