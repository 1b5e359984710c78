"""One sprocket of a roller chain: its radii and diameters, and what it does to the chain.

Two radii belong to one sprocket and must not be mixed. The *pitch radius* p / (2 sin(pi/N)) is where the pins
are: it decides geometry, wrap and chordal shape. The *travel radius* N p / (2 pi) is chain moved for angle
turned: it decides ratio, torque and tension.

`teeth` is a number of teeth, `pitch` the chain's pitch in metres. Where the type is `Real` a number gives a
number, and an array of any shape an array of that shape.
"""

from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np

from sim.arrays import Array

Real = TypeVar("Real", float, Array)
"""A number, or an array of numbers of any shape."""

# Numpy's own signatures forget that for a number they give a number.
_sin: Callable[[Any], Any] = np.sin
_cos: Callable[[Any], Any] = np.cos
_magnitude: Callable[[Any], Any] = np.abs


def pitch_radius(teeth: Real, pitch: float) -> Real:
    """Radius of the circle through the pins, for geometry and wrap.

    Parameters
    ----------
    teeth : number of teeth, 3 or more; a number or an array.
    pitch : chain pitch, m.

    Returns
    -------
    p / (2 sin(pi / N)), m, shaped as `teeth`: half the pitch diameter of ASME B29.1.
    """
    return pitch / (2 * _sin(np.pi / teeth))


def travel_radius(teeth: Real, pitch: float) -> Real:
    """Chain travel per radian turned, for ratio, torque and tension.

    Returns
    -------
    N p / (2 pi), m, shaped as `teeth`: one tooth is one pitch, so N of them pass in a turn.
    """
    return teeth * pitch / (2 * np.pi)


def chordal_speed_change(teeth: Real) -> Real:
    """Share by which the chain's speed falls between one tooth and the next at steady turning.

    Parameters
    ----------
    teeth : number of teeth, 3 or more; a number or an array.

    Returns
    -------
    1 - cos(pi / N), dimensionless, shaped as `teeth`: the pins ride on a polygon whose flats are nearer the
    axis than its corners by this share.
    """
    return 1 - _cos(np.pi / teeth)


def sprocket_outside_diameter(teeth: Real, pitch: float) -> Real:
    """Diameter over the tips of the teeth.

    Returns
    -------
    p (0.6 + cot(pi / N)), m, shaped as `teeth`: the common formula of ASME B29.1. Cutters differ; makers'
    tables agree with it to about a fiftieth of a pitch.
    """
    return pitch * (0.6 + _cos(np.pi / teeth) / _sin(np.pi / teeth))


def with_chain_outside_diameter(teeth: Real, pitch: float) -> Real:
    """Diameter swept by a sprocket with its chain on, which needs more room than the bare one.

    Returns
    -------
    p / sin(pi / N) + 0.95 p, m, shaped as `teeth`: the pitch diameter and half a link plate on either side.
    A plate of the ASME B29.1 series is at most about 0.95 p high.
    """
    return 2 * pitch_radius(teeth, pitch) + 0.95 * pitch


def tension(torque: Real, teeth: float, pitch: float) -> Real:
    """Tension of the tight strand, the other one being slack.

    Parameters
    ----------
    torque : torque through the sprocket, N m, of either sign.
    teeth, pitch : of that sprocket and chain.

    Returns
    -------
    abs(torque) / travel radius, N, shaped as `torque`: the mean over a tooth, so that the work of chain and
    shaft agree; the chordal shape makes it swing about that mean.
    """
    return _magnitude(torque) / travel_radius(teeth, pitch)
