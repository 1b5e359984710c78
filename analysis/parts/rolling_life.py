"""How long rolling bearings last, and what they stand at rest: ISO 281 and ISO 76.

L10 = (C / P)^p million turns, which nine of ten bearings reach: p is 3 for balls and 10/3 for rollers. Nothing is
said of dirt, rust and grease that is old, which end most bearings outdoors (common practice, no source).
"""

import math

import numpy as np

from sim.arrays import Array

BALL, ROLLER = 3.0, 10 / 3
"""Exponents of ISO 281."""
RADIAL = 0.56
"""Factor X of radial load for deep-groove ball bearings where thrust counts (read)."""
THRUST = (
    (0.014, 0.19, 2.3),
    (0.025, 0.22, 2.0),
    (0.04, 0.24, 1.8),
    (0.07, 0.27, 1.6),
    (0.13, 0.31, 1.4),
    (0.25, 0.37, 1.2),
    (0.5, 0.44, 1.0),
)
"""Thrust over static rating, the e above which thrust counts, and factor Y of deep-groove ball bearings: a guide to
rolling bearings, normal clearance (read); the first row Shigley, table 11-1 (memory)."""
ALIGNING = (4.6, 3.2)
"""Factors of thrust of self-aligning ball bearings, for life and at rest: the largest of a light series (memory)."""


def cubic_mean(load: Array, turned: Array, exponent: float = BALL) -> float:
    """Give the steady load that wears as a changing one does, N: (sum P^p s / sum s)^(1/p).

    Palmgren and Miner's rule with ISO 281's exponent, weighted by the way turned, not by time.

    Parameters
    ----------
    load : (n,) N.
    turned : (n,) what the bearing turns by under each, rad or in proportion.
    exponent : of ISO 281.
    """
    if not float(np.sum(turned)) > 0:
        raise ValueError("the bearing does not turn; nothing is said of its life")
    return float(np.average(np.abs(load) ** exponent, weights=turned) ** (1 / exponent))


def rating_life(dynamic: float, load: float, exponent: float = BALL) -> float:
    """Give the turns that nine of ten bearings last: 1e6 (C / P)^p; infinite without load.

    Parameters
    ----------
    dynamic, load : rating C and equivalent load P, N.
    exponent : of ISO 281.
    """
    return math.inf if load == 0 else 1e6 * (dynamic / load) ** exponent


def needed_rating(load: float, turns: float, exponent: float = BALL) -> float:
    """Give the dynamic rating that lasts some turns, N: P (L / 1e6)^(1/p)."""
    return load * (turns / 1e6) ** (1 / exponent)


def equivalent(radial: Array, thrust: Array, static: float) -> Array:
    """Give the equivalent load (n,) of a deep-groove ball bearing, N: Fr, and .56 Fr + Y Fa where Fa / Fr is above e.

    At e both are alike, so that it is the larger of the two.

    Parameters
    ----------
    radial, thrust : (n,) N.
    static : rating C0, N.
    """
    counted = RADIAL * radial + thrust_factor(thrust / static) * thrust
    return np.where(thrust > 0, np.maximum(radial, counted), radial)


def thrust_factor(share: Array) -> Array:
    """Give Y of deep-groove ball bearings for thrust over static rating (n,), straight over the logarithm of it."""
    table = np.array(THRUST)
    at = np.log(np.clip(share, table[0, 0], table[-1, 0]))
    return np.interp(at, np.log(table[:, 0]), table[:, 2])


def static_equivalent(radial: float, thrust: float) -> float:
    """Give the equivalent load at rest of a deep-groove ball bearing, N: .6 Fr + .5 Fa, at least Fr (ISO 76; read)."""
    return max(radial, 0.6 * radial + 0.5 * thrust)


def cycles(turns: float, swing: float) -> float:
    """Give the to-and-fro cycles of a bearing that swings, from its life in turns.

    A cycle of total swing phi sweeps 2 phi, so that cycles = turns x 180 deg / phi (with half the swing 90 deg over
    that). It says nothing of small swings: below the pitch of balls or rollers, some 360 deg over their number, the
    same spots are rolled again and again and fret (common practice, no source).

    Parameters
    ----------
    turns : life.
    swing : total, from end to end, rad.

    Raises
    ------
    ValueError
        If the swing is not above zero.
    """
    if not swing > 0:
        raise ValueError(f"a swing of {swing} rad is none; write the whole angle from end to end")
    return turns * math.pi / swing
