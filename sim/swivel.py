"""How far a rod's two eyes swivel on their balls over the turn.

A rod end's swivel is acos |h . a|, with h the axis of its housing's bore (across the rod) and a the axis of
the pin. The rod may spin about itself, and its two eyes are clocked to each other, so both swivels share that
spin: it settles where the larger of the two is least. With c_i the length of pin axis i seen along the rod
and d the angle between both pins' projections less the clocking, that is a maximum of
min(c1 cos u, c2 cos(u - d)) over u, found in closed form (own derivation).
"""

import numpy as np

from sim.arrays import Array
from sim.linkage import PanelCourse


def swivel(course: PanelCourse) -> tuple[Array, Array]:
    """Give the swivel (n,), rad, at the crank's eye and at the yoke's eye, at the best spin of the rod.

    Parameters
    ----------
    course : of a panel over n crank angles.
    """
    panel = course.panel
    along = (course.yoke.value - course.pin.value) / panel.rod.length
    return swivels(along, course.angle.value, panel.pin_along, panel.rod.clocking)


def swivels(along: Array, angle: Array, pin_along: bool, clocking: float) -> tuple[Array, Array]:
    """Give the same for rods of any number of linkages.

    Parameters
    ----------
    along : (..., 3) from crank pin to yoke pin, of length 1.
    angle : (...) of the panel from level, rad.
    pin_along : whether the yoke pin lies along the hinge.
    clocking : angle between the two eyes, rad.
    """
    crank_pin = np.broadcast_to(np.array([0.0, 1.0, 0.0]), along.shape)
    if pin_along:
        yoke_pin = np.broadcast_to(np.array([1.0, 0.0, 0.0]), along.shape)
    else:
        yoke_pin = np.stack([np.zeros_like(angle), np.cos(angle), np.sin(angle)], -1)
    c1, a1 = _seen(along, crank_pin)
    c2, a2 = _seen(along, yoke_pin)
    # An eye is a ring: turning its bore by half a turn changes nothing.
    d = (a2 - clocking - a1 + np.pi / 2) % np.pi - np.pi / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        level = np.arctan2(c1 - c2 * np.cos(d), c2 * np.abs(np.sin(d)))
    # Between 0, best for the crank's eye, and |d|, best for the yoke's.
    u = np.clip(level, 0.0, np.abs(d))
    first = np.arccos(np.clip(c1 * np.cos(u), -1, 1))
    second = np.arccos(np.clip(c2 * np.cos(u - np.abs(d)), -1, 1))
    return first, second


def _seen(along: Array, pin: Array) -> tuple[Array, Array]:
    """Give length and angle about the rod (...) of the pin axis as seen along the rod.

    The angle counts from the forward axis as seen along the rod, ex - (ex . e) e, toward e x ex.
    """
    seen = np.sqrt(np.maximum(1 - along[..., 0] ** 2, np.finfo(float).tiny))
    px = (pin[..., 0] - along[..., 0] * np.sum(pin * along, -1)) / seen
    py = (pin[..., 1] * along[..., 2] - pin[..., 2] * along[..., 1]) / seen
    return np.hypot(px, py), np.arctan2(py, px)
