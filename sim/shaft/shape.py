"""The shape that a crankshaft has without any load: bowed by welding, its throws off their line.

Both turn with the shaft. Small angles: a section's turn is the slope of the line through it.
"""

import numpy as np

from sim.arrays import Array
from sim.mass import Y
from sim.shaft.crank import NEAR, CrankFrame


def unstressed(crank: CrankFrame) -> Array:
    """Give the displacements and turns (6 n,) of the nodes from a straight shaft's, in turning axes, unloaded.

    The bow is half the indicator reading at the middle of the main bearings, a half sine between them (the first
    term of any bow that is none at both; assumption) and straight beyond. Beyond a throw that is off, the shaft
    runs beside the line of the shaft before it and at an angle to it; on its bearings it lies askew until both
    are met.
    """
    side = crank.side
    c = side.crank
    shift = np.zeros((len(crank.frame.nodes), 3))
    slope = np.zeros_like(shift)
    y = crank.frame.nodes[:, 1]
    if c.runout > 0:
        near, far = sorted(c.bearings)
        along = np.clip((y - near) / (far - near), 0, 1)
        rise = np.pi * np.cos(np.pi * along) * c.runout / 2 / (far - near)
        beyond = np.where(y < near, y - near, np.where(y > far, y - far, 0.0))
        toward = _toward(c.runout_angle)
        shift += (np.sin(np.pi * along) * c.runout / 2 + rise * beyond)[:, None] * toward
        slope += rise[:, None] * toward
    for panel in side.panels:
        past = y - panel.throw_out
        # The pin's own middle lies half-way.
        share = np.where(np.abs(past) < NEAR, 0.5, (past > 0).astype(float))
        toward = _toward(panel.off.toward)
        shift += (share * (panel.off.offset + panel.off.angle * past))[:, None] * toward
        slope += (share * panel.off.angle)[:, None] * toward
    turn = np.cross(Y, slope)
    aside = crank.frame.nodes * np.array([1.0, 0.0, 1.0])
    return np.hstack([shift + np.cross(turn, aside), turn]).ravel()


def _toward(angle: float) -> Array:
    return np.array([np.sin(angle), 0.0, np.cos(angle)])
