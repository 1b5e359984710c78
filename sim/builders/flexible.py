"""A side's crankshaft that bends, on as many bearings as it has, with the wings that it moves.

It starts in the shape that its frame has under what its rods carry turning steadily, its own weight and spin, so that
no ringing from a straight start owns the peaks; the wings start where the moved crank pins put them.
"""

from dataclasses import replace

import numpy as np

from models.mechanism import Mechanism, Panel, Side
from sim import names
from sim.arrays import Array, rotation, rotation_matrix
from sim.builders.crankshaft import RADIAL
from sim.builders.parts import Parts
from sim.builders.wings import wings
from sim.dynamics import dynamics
from sim.elastic import Bush, Flexible
from sim.friction import Drag
from sim.linkage import SideLinkage
from sim.mass import Y
from sim.scene import BALL, GROUND, Joint
from sim.shaft.bending import CONTACT, Bent, bent
from sim.shaft.crank import CrankFrame, bearing, bearing_joints, throw
from sim.shaft.modes import shaft_modes, slowest

RATIO = 0.01
"""Damping of a welded shaft, of critical at its slowest swing on its bearings: .5 to 2 % for welded steel; memory. What
a bent shaft swallows of a kick rests on it."""
BUSH_LOSS = 2e-4
"""Damping of a bush over its stiffness, s; assumption."""
LENGTHWISE = (False, True, False, False, False, False)
"""Locks of what holds a shaft along y alone."""


def flexible(
    linkage: SideLinkage, mechanism: Mechanism, crank: float, speed: float, drags: tuple[Drag, ...]
) -> Parts:
    """Build a crankshaft that bends, with the panels and rods that it moves.

    Parameters
    ----------
    linkage : the side.
    mechanism : the sculpture.
    crank : angle at the start, rad.
    speed : at the start, rad/s.
    drags : friction of the side's joints, as felt at the crank.
    """
    side = linkage.side
    start = _start(linkage, mechanism, crank, speed)
    shaft = _shaft(start, crank, speed)
    turn = rotation(Y, crank + side.key_angle)
    # The first points are the frame's nodes; the wings are built in the side's own turning axes.
    nodes = shaft.places[: len(start.crank.frame.nodes)] * np.array([1.0, side.sign, 1.0]) @ turn
    moved = wings(moved_pins(linkage, start.crank, nodes), crank, speed)
    return Parts(flexibles=(shaft,), drags=drags) + _bearings(start, shaft) + moved


def moved_pins(linkage: SideLinkage, crank: CrankFrame, nodes: Array) -> SideLinkage:
    """Give the side whose throws are where a bent shaft has them, its nodes at (n, 3), m, in turning axes."""
    panels: list[Panel] = []
    for panel in linkage.side.panels:
        x, y, z = nodes[crank.node(throw(panel.name))]
        panels.append(
            replace(
                panel,
                throw_radius=float(np.hypot(x, z)),
                throw_angle=float(np.arctan2(x, z)),
                throw_out=float(y),
            )
        )
    return replace(linkage, side=replace(linkage.side, panels=tuple(panels)))


def _start(linkage: SideLinkage, mechanism: Mechanism, crank: float, speed: float) -> Bent:
    """Give the shape at the start, turning steadily."""
    at, side = np.array([crank]), linkage.side
    steady = dynamics(linkage, at, speed, 0.0, mechanism.gravity).forces
    pins = {p.name: steady[names.crank_eye(side.name, p.name)] for p in side.panels}
    return bent(side, pins, at, speed, gravity=mechanism.gravity)


def _shaft(start: Bent, crank: float, speed: float) -> Flexible:
    """Give the shaft in the world, mirrored on the right."""
    side: Side = start.crank.side
    modes = shaft_modes(side)
    mirror = np.diag([1.0, float(side.sign), 1.0])
    turn = rotation(Y, crank + side.key_angle)
    amplitudes = modes.amplitudes(start)
    nodes = modes.points + modes.moves @ amplitudes
    first, tilt = _laid(start, nodes)
    place = mirror @ turn @ first
    turned = mirror @ turn @ rotation_matrix(tilt[None])[0] @ mirror
    omega = speed * Y
    return Flexible(
        name=names.crankshaft(side.name),
        points=modes.points @ mirror,
        masses=modes.masses,
        shapes=np.einsum("ij,pjk->pik", mirror, modes.moves),
        stiffness=modes.stiffness,
        damping=2 * RATIO / slowest(side),
        place=place,
        rotation=turned,
        velocity=np.cross(omega, place),
        angular_velocity=omega,
        amplitudes=amplitudes,
        spin=Y,
        angle=crank,
    )


def _laid(start: Bent, points: Array) -> tuple[Array, Array]:
    """Give place (3,) and turn (3,) of the inner end at which the bent shaft's main bearings are where they are.

    The frame's small turns leave them a hundredth of a millimetre off, as its outer parts also move along the axis.

    Parameters
    ----------
    start : the frame's shape.
    points : (p, 3) the bent shaft's points from the inner end, in its axes, the nodes first.
    """
    side, nodes = start.crank.side, start.crank.frame.nodes
    main = side.crank.bearings
    near, far = (
        start.crank.node(bearing(1 + [s.out for s in side.crank.stations].index(out))) for out in main
    )
    moved = start.moved[0].reshape(-1, 6)
    place, turn = nodes[0] + moved[0, :3], moved[0, 3:].copy()
    wanted = {k: nodes[k] + moved[k, :3] for k in (near, far)}
    for _ in range(8):
        turned = rotation_matrix(turn[None])[0]
        off = {k: wanted[k] - place - turned @ points[k] for k in (near, far)}
        along = turned @ (points[far] - points[near])
        # A tilt w moves the far bearing by w x along against the near one.
        tilt = np.cross(along, (off[far] - off[near]) * np.array([1.0, 0.0, 1.0])) / float(along @ along)
        tilt[1] = 0.0
        turn = turn + tilt
        place = wanted[near] - rotation_matrix(turn[None])[0] @ points[near]
    return place, turn


def _bearings(start: Bent, shaft: Flexible) -> Parts:
    """Give the bearings: rigid where nothing is said of give or clearance, at the places that they have."""
    side = start.crank.side
    made = Parts()
    for k, (station, joint) in enumerate(zip(side.crank.stations, bearing_joints(side), strict=True), 1):
        place = shaft.places[start.crank.node(bearing(k))]
        gives = station.stiffness is not None or station.clearance > 0
        if not gives:
            made += Parts(joints=(Joint(joint, GROUND, shaft.name, place, BALL if k == 1 else RADIAL),))
            continue
        at = np.array([station.forward, float(place[1]), station.up])
        stiffness = CONTACT if station.stiffness is None else station.stiffness
        made += Parts(
            bushes=(Bush(joint, GROUND, shaft.name, at, place, Y, stiffness, station.clearance, BUSH_LOSS),)
        )
        if k == 1:
            made += Parts(joints=(Joint(lengthwise(side.name), GROUND, shaft.name, place, LENGTHWISE),))
    return made


def lengthwise(side: str) -> str:
    """Name what holds a crankshaft along its axis where its locating bearing gives sideways."""
    return f"{names.locating(side)} collar"
