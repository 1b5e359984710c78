"""From a mechanism and its linkage to a scene."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from models.mechanism import Mechanism, Rubbing, Side
from sim import names
from sim.arrays import vector
from sim.builders.bearings import further_bearings
from sim.builders.crankshaft import crankshaft
from sim.builders.drive import drive
from sim.builders.flexible import flexible
from sim.builders.parts import Parts
from sim.builders.windup import start_torque
from sim.builders.wings import wings
from sim.friction import Drag, Rub
from sim.friction_levels import Level, rubbing_at
from sim.linkage import SideLinkage, close
from sim.scene import Load, Motion, Push, Rest, Scene
from sim.shaft.crank import bearing_joints
from sim.statics import rub_arms, statics

ARMS = 720
"""Crank angles over a turn at which a joint's friction arm is tabulated; the nearest one is used."""


@dataclass(frozen=True)
class Linkage:
    """A mechanism whose sides close over the whole turn.

    Attributes
    ----------
    mechanism : the sculpture.
    sides : the closed sides, in the mechanism's order.
    """

    mechanism: Mechanism
    sides: tuple[SideLinkage, ...]


def linkage(mechanism: Mechanism, label: str = "description") -> Linkage:
    """Close the loops of every side; see `sim.linkage.close` for what it raises."""
    return Linkage(mechanism, tuple(close(side, label) for side in mechanism.sides))


def at_friction(closed: Linkage, level: Level) -> Linkage:
    """Give a sculpture that rubs at a level: its joints and what its chains lose."""
    m = closed.mechanism
    factor = {"low": m.friction.low, "nominal": 1.0, "high": m.friction.high}[level]
    stages = tuple(replace(s, efficiency=1 - factor * (1 - s.efficiency)) for s in m.stages)
    return replace(closed, mechanism=replace(m, friction=rubbing_at(m.friction, level), stages=stages))


def stiff(closed: Linkage) -> Linkage:
    """Give a sculpture whose crankshafts are rigid, for what knows nothing of bending."""
    m = closed.mechanism
    if not any(s.crank.flexible for s in m.sides):
        return closed

    def rigid(side: Side) -> Side:
        return replace(side, crank=replace(side.crank, flexible=False))

    sides = tuple(replace(s, side=rigid(s.side)) for s in closed.sides)
    return Linkage(replace(m, sides=tuple(rigid(s) for s in m.sides)), sides)


def mean_friction(side: SideLinkage, mechanism: Mechanism) -> float:
    """Give the friction torque at a crank, N m, as its mean over a turn at standstill loads: what a hand expects."""
    crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    return float(np.mean(statics(side, crank, mechanism.gravity, mechanism.friction).friction))


def scene(
    closed: Linkage,
    crank: float,
    wheel_speed: float,
    *,
    motions: tuple[Motion, ...] = (),
    loads: tuple[Load, ...] = (),
    pushes: tuple[Push, ...] = (),
    rest: Rest | None = None,
    friction: bool = True,
    ideal: bool = False,
) -> Scene:
    """Build the whole scene.

    Parameters
    ----------
    closed : the sculpture with its loops closed.
    crank : crank angle at the start, rad.
    wheel_speed : at the start, rad/s; positive drives the crank positive.
    motions, loads, pushes, rest : what the scenario adds.
    friction : whether anything rubs.
    ideal : whether stages are exact ratios and couplings rigid: no slack, no wind-up, no load on the drive's
        bearings.
    """
    mechanism = closed.mechanism
    speed = wheel_speed / mechanism.reduction
    needs = {s.side.name: start_torque(s, mechanism, crank, speed) for s in closed.sides}
    way = float(np.sign(speed)) if friction else 0.0
    torques = {name: torque + way * rubs for name, (torque, rubs) in needs.items()}
    parts = drive(mechanism, crank, speed, torques, ideal)
    for side in closed.sides:
        drag = side_drag(side, mechanism, needs[side.side.name][1])
        if side.side.crank.flexible:
            parts += flexible(side, mechanism, crank, speed, (drag,))
            continue
        parts += crankshaft(side.side, crank, speed, (drag,))
        parts += wings(side, crank, speed)
        parts += Parts(stations=further_bearings(side.side))
    return Scene(
        bodies=parts.bodies,
        rotors=parts.rotors,
        joints=parts.joints,
        ratios=parts.ratios,
        strands=parts.strands,
        twists=parts.twists,
        limiters=parts.limiters,
        drags=parts.drags if friction else (),
        loads=loads,
        motions=motions,
        pushes=pushes,
        stations=parts.stations,
        flexibles=parts.flexibles,
        bushes=parts.bushes,
        gravity=vector(0, 0, -mechanism.gravity),
        rest=rest,
    )


def side_drag(side: SideLinkage, mechanism: Mechanism, start: float) -> Drag:
    """Give the friction of a side's joints as felt at its crank, each by its own load.

    Parameters
    ----------
    side : a closed side.
    mechanism : whose friction it is.
    start : its size at the start, N m.
    """
    name, rubs = side.side.name, _rubs(side, mechanism.friction)
    return Drag(
        names.friction(name), names.crankshaft(name), 0.0, rubs, mechanism.friction.static, scale=start
    )


@lru_cache(maxsize=32)
def _rubs(side: SideLinkage, rubbing: Rubbing) -> tuple[Rub, ...]:
    """Give the joints that rub with their arms over a turn; many scenes of one sculpture share them."""
    crank = np.linspace(0, 2 * np.pi, ARMS, endpoint=False)
    arms = rub_arms(side, crank, rubbing)
    if side.side.crank.flexible:
        # On a shaft that bends further bearings are joints like the two main ones, and rub alike.
        arms |= {joint: arms[names.locating(side.side.name)] for joint in bearing_joints(side.side)}
    return tuple(Rub(joint, arm) for joint, arm in arms.items())
