"""How far chains and couplings are wound up at the start, so that no start-up shock owns the peaks."""

from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from models.mechanism import Mechanism, Rubbing
from sim.arrays import Array
from sim.closed_form import gravity_torque, moving_parts, reduced_inertia
from sim.linkage import SideLinkage
from sim.statics import statics

RATE = 1e-5
"""Step, rad, for the slope of the reduced inertia; its error is of second order."""


def start_torque(side: SideLinkage, mechanism: Mechanism, crank: float, speed: float) -> tuple[float, float]:
    """Give what a side's crank needs at an angle, rad, and a steady speed, rad/s.

    Returns
    -------
    drive : V' + M' t'^2 / 2, N m, positive where the side has to be driven forward.
    friction : the size of its friction, N m, at standstill loads, not counted in the drive.
    """
    weight, slope, friction = _at(side, mechanism.gravity, mechanism.friction, crank)
    return weight + slope * speed**2 / 2, friction


@lru_cache(maxsize=1024)
def _at(side: SideLinkage, gravity: float, rubbing: Rubbing, crank: float) -> tuple[float, float, float]:
    """Give V', M' and the friction, N m and kg m2, at an angle; lets go at many speeds share them."""
    at = np.array([crank])
    parts = moving_parts(side, at)
    around = np.array([crank - RATE, crank + RATE])
    inertia: Array = reduced_inertia(moving_parts(side, around))
    slope = float(inertia[1] - inertia[0]) / (2 * RATE)
    weight = float(gravity_torque(parts, gravity)[0])
    friction = float(statics(side, at, gravity, rubbing).friction[0])
    return weight, slope, friction


def along_the_drive(mechanism: Mechanism, torques: Mapping[str, float]) -> tuple[float, ...]:
    """Give the torque, N m, on each shaft from the centre shaft back to the wheel, nothing lost on the way.

    Parameters
    ----------
    mechanism : the sculpture.
    torques : by side, what its crank needs.

    Returns
    -------
    One more than there are stages, the wheel's first: entry k is what the driven shaft of stage k needs.
    """
    found = [sum(torques.values())]
    for stage in reversed(mechanism.stages):
        found.append(found[-1] * stage.driver / stage.driven)
    return tuple(reversed(found))
