"""What each joint of a side goes through in a turn of the crank in ordinary use, in closed form.

Forces of steady turning at the speed of use, without friction, and how far each joint turns meanwhile: what wear and
life rest on.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.dynamics import dynamics
from sim.statics import joint_turns

ANGLES = np.linspace(0, 2 * np.pi, 360, endpoint=False)
"""Crank angles, rad."""


@dataclass(frozen=True)
class Duty:
    """What a joint goes through in a turn of the crank.

    Attributes
    ----------
    joint : its name.
    crank : (n,) crank angles, rad, evenly over a turn.
    force : (n, 3) N, on the part nearer the ground, in the side's coordinates: forward, out, up.
    turn : (n,) how far the joint turns per turn of the crank, either way.
    speed : of the crank in use, rad/s.
    turns : of the crank in a year.
    """

    joint: str
    crank: Array
    force: Array
    turn: Array
    speed: float
    turns: float

    @property
    def size(self) -> Array:
        """The size of the force (n,), N."""
        return np.linalg.norm(self.force, axis=1)

    @property
    def swept(self) -> float:
        """Angle that the joint turns through in a turn of the crank, to and fro added, rad."""
        return float(np.mean(self.turn) * 2 * np.pi)

    @property
    def pressed(self) -> float:
        """Sum of force times angle turned over a turn of the crank, N rad: sliding work is mu r times it."""
        return float(np.mean(self.size * self.turn) * 2 * np.pi)

    @property
    def fastest(self) -> float:
        """Largest angular speed of the joint in use, rad/s."""
        return float(np.max(self.turn)) * self.speed


def duties(linkage: Linkage) -> Mapping[str, Duty]:
    """Give the duty of every rod end, hinge and crankshaft bearing of a piece, by joint name.

    A crankshaft's bearings beyond two are not among them: their share hangs on how the shaft bends.
    """
    m = linkage.mechanism
    speed, turns = crank_speed(m), m.use.turns(m.reduction)
    found: dict[str, Duty] = {}
    for side in linkage.sides:
        forces = dynamics(side, ANGLES, speed, 0.0, m.gravity).forces
        turned = joint_turns(side, ANGLES)
        found |= {joint: Duty(joint, ANGLES, forces[joint], turned[joint], speed, turns) for joint in turned}
    return found


def crank_speed(mechanism: Mechanism) -> float:
    """Give the crank's speed in ordinary use, rad/s."""
    return abs(mechanism.use.speed) / mechanism.reduction
