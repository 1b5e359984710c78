"""What a ball in its eye does to itself and to its shank: wear, pressure and speed, friction's moment, stress.

The ball turns under a force F; the pressure counts on its projected area, p = F / (d w), as is usual.
"""

import math
from dataclasses import dataclass

from analysis.strength.endurance import LOADINGS, SHIGLEY, Factor, endurance
from analysis.strength.goodman import Limits, goodman
from models.materials import material
from models.parts.threads import Thread
from models.strengths import Strength

ARCHARD = "Archard's law, h = k p s, with p = F / (d w)"
CUT_THREADS = ((600e6, 2.8), (math.inf, 3.8))
"""Fatigue factor of cut threads, by ultimate strengths below, Pa: of grades 3.6 to 5.8, and 6.6 to 10.9."""
CUT_SOURCE = f"Kf of cut threads in steel, {SHIGLEY}, table 8-16 (memory); for other metals: assumption"


@dataclass(frozen=True)
class Range:
    """What a thread carries over a turn in use.

    Attributes
    ----------
    pull, push : largest along it, N, both positive.
    moment : largest that bends it to and fro, N m.
    """

    pull: float
    push: float
    moment: float


def worn(pressed: float, turns: float, width: float, rate: float) -> float:
    """Give the depth by which a liner wears, m: with s = r phi it is k / (2 w) times the sum of F dphi.

    Parameters
    ----------
    pressed : force times angle turned, summed over a turn of the crank, N rad.
    turns : of the crank.
    width : of the liner, m.
    rate : specific wear rate, m3/(N m).
    """
    return rate * pressed / (2 * width) * turns


def pressure_speed(force_speed: float, width: float) -> float:
    """Give pressure times sliding speed, Pa m/s: F / (d w) times omega d / 2, whatever the ball's diameter.

    Parameters
    ----------
    force_speed : force times angular speed, N rad/s.
    width : of the eye, m.
    """
    return force_speed / (2 * width)


def friction_moment(coefficient: float, force: float, ball: float) -> float:
    """Give the moment, N m, with which a ball that turns in its eye bends the shank: mu F d / 2."""
    return coefficient * force * ball / 2


def thread_stress(thread: Thread, pull: float, moment: float) -> float:
    """Give the largest nominal stress of a thread, Pa: pull over its stress area, and bending of as thick a bar.

    Parameters
    ----------
    thread : the screw.
    pull : along it, N.
    moment : that bends it, N m.
    """
    return pull / thread.stress_area + 32 * moment / (math.pi * thread.stress_diameter**3)


def thread_factor(ultimate: float) -> Factor:
    """Give the fatigue factor of a cut thread in steel of an ultimate strength, Pa."""
    value = next(kf for below, kf in CUT_THREADS if ultimate < below)
    return Factor("Kf", value, CUT_SOURCE)


def thread_limits(thread: Thread, strength: Strength, yielding: float) -> Limits:
    """Give what the root of a thread stands: endurance of a machined bar as thick as its root.

    The surface counts although the thread's factor is said to hold it already (memory): twice, to be cautious.

    Parameters
    ----------
    thread : the screw.
    strength : of its metal.
    yielding : yield strength, Pa.
    """
    return Limits(endurance(strength, thread.root, "machined").limit, strength.ultimate, yielding)


def thread_safety(thread: Thread, loads: Range, strength: Strength, yielding: float) -> float:
    """Give the safety factor of a thread's root against fatigue, by Goodman.

    Bending counts as fully reversed, pull and push as if both came in every turn, a mean push as a mean pull, and
    amplitudes of pull are divided by their loading factor .85: all on the safe side.

    Parameters
    ----------
    thread : the screw.
    loads : over a turn.
    strength : of its metal.
    yielding : yield strength, Pa.
    """
    kf, area = thread_factor(strength.ultimate).value, math.pi / 4 * thread.root**2
    bending = 32 * loads.moment / (math.pi * thread.root**3)
    swing = (loads.pull + loads.push) / 2 / area
    mean = abs(loads.pull - loads.push) / 2 / area
    amplitude = kf * (bending + swing / LOADINGS["axial"])
    return float(goodman(amplitude, kf * mean, thread_limits(thread, strength, yielding)))


def yield_of(name: str) -> float:
    """Give the yield strength of a material, Pa."""
    return material(name).strength
