"""From a mechanism and its linkage to a scene."""

from dataclasses import dataclass

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import vector
from sim.builders.crankshaft import crankshaft
from sim.builders.drive import drive
from sim.builders.wings import wings
from sim.linkage import SideLinkage, close
from sim.scene import Load, Motion, Rest, Scene
from sim.statics import statics


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


def mean_friction(side: SideLinkage, mechanism: Mechanism) -> float:
    """Give the friction torque at a crank, N m, as its mean over a turn at standstill loads.

    The project's own simplification: the joints' loads vary over the turn and with speed, this does not.
    """
    crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    return float(np.mean(statics(side, crank, mechanism.gravity, mechanism.friction).friction))


def scene(
    closed: Linkage,
    crank: float,
    wheel_speed: float,
    *,
    motions: tuple[Motion, ...] = (),
    loads: tuple[Load, ...] = (),
    rest: Rest | None = None,
    friction: bool = True,
) -> Scene:
    """Build the whole scene.

    Parameters
    ----------
    closed : the sculpture with its loops closed.
    crank : crank angle at the start, rad.
    wheel_speed : at the start, rad/s; positive drives the crank positive.
    motions, loads, rest : what the scenario adds.
    friction : whether joints and wheel rub.
    """
    mechanism = closed.mechanism
    speed = wheel_speed / mechanism.reduction
    parts = drive(mechanism, crank, speed)
    for side in closed.sides:
        parts += crankshaft(side.side, crank, speed, mean_friction(side, mechanism))
        parts += wings(side.side, side.course(np.array([crank])), speed)
    return Scene(
        bodies=parts.bodies,
        rotors=parts.rotors,
        joints=parts.joints,
        ratios=parts.ratios,
        drags=parts.drags if friction else (),
        loads=loads,
        motions=motions,
        gravity=vector(0, 0, -mechanism.gravity),
        rest=rest,
    )
