"""Transverse vibration of a chain's strands: strings whose tension changes over the turn.

f_n = n / 2 L sqrt(T / mu) (Rayleigh, Theory of Sound, ch. 6). A chain that runs along itself at a speed v swings slower
by the factor 1 - v^2 / c^2 with c = sqrt(T / mu) (Mahalingam, Br. J. Appl. Phys. 8:145, 1957: abstract read, formula
from memory); at walking pace that is little.

What pulls a strand that carries no torque is its own weight alone: as a mean over its length mu g L / 2 where it hangs
straight down, and what a flat parabola of its sag needs where it lies level. A hung chain's lower end has no tension at
all and swings slower still, 1.2 sqrt(g / L) instead of 2.2 (roots of a Bessel function; memory): there is no sharp
frequency in a slack strand.
"""

from dataclasses import dataclass

import numpy as np

from sim.arrays import Array
from sim.builders import Linkage
from sim.chain import sideways_from_excess
from sim.layout import ChainRun, chain_run
from sim.whole import holding_torque

POSES = 720


@dataclass(frozen=True)
class Strand:
    """A strand of a chain.

    Attributes
    ----------
    number : of the stage.
    length : free length, m.
    weight : kg/m.
    least, greatest : tension in use, N.
    """

    number: int
    length: float
    weight: float
    least: float
    greatest: float

    def frequency(self, tension: float, n: int = 1, speed: float = 0.0) -> float:
        """Give its n-th natural frequency, rad/s, at a tension, N, and a speed along itself, m/s."""
        return string_frequency(self.length, tension, self.weight, n, speed)


def string_frequency(length: float, tension: float, weight: float, n: int = 1, speed: float = 0.0) -> float:
    """Give the n-th natural frequency of a string, n pi / L (c^2 - v^2) / c with c = sqrt(T / mu), rad/s.

    Parameters
    ----------
    length : between its ends, m.
    tension : N.
    weight : mass per length, kg/m.
    n : number of half waves.
    speed : along itself, m/s; at c and beyond it no longer swings, and 0 is given.
    """
    wave = float(np.sqrt(tension / weight))
    return n * np.pi / length * max(0.0, wave - speed**2 / wave)


def strands(closed: Linkage, tensions: dict[int, tuple[float, float]] | None = None) -> tuple[Strand, ...]:
    """Give the strands of every chain, both of a chain alike.

    Parameters
    ----------
    closed : the sculpture.
    tensions : by stage, the least and the greatest tension of a strand in use, N, as runs have it. Without them the
        greatest is what the weights alone take at the worst crank angle, and the least that of a slack strand.
    """
    m = closed.mechanism
    turn = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    torque = float(np.max(np.abs(holding_torque(closed, turn))))
    found: list[Strand] = []
    for k, stage in enumerate(m.stages, 1):
        run = None if stage.kind != "chain" else chain_run(m, k)
        if run is not None:
            slack = slack_tension(closed, k, run)
            pull = torque / run.travel[0]
            if stage.tight > 0:
                # Both are tight: what one gains the other loses, until it is slack.
                low, high = max(slack, stage.tight - pull / 2), max(stage.tight + pull / 2, pull)
            else:
                low, high = slack, slack + pull
            given = (tensions or {}).get(k)
            if given is not None:
                low, high = max(slack, given[0]), max(slack, given[1])
            found.append(Strand(k, run.span, stage.weight, low, high))
        torque *= stage.driven / stage.driver
    return tuple(found)


def slack_tension(closed: Linkage, number: int, run: ChainRun) -> float:
    """Give the mean tension, N, of a strand that carries no torque: its weight's, or what a sprung idler keeps in it.

    Parameters
    ----------
    closed : the sculpture.
    number : of the stage.
    run : how its chain runs.
    """
    m = closed.mechanism
    stage = m.stages[number - 1]
    if stage.tensioner is not None:
        return float(stage.tensioner.force / (2 * np.sin(stage.tensioner.lean)))
    mean: Array = run.directions.mean(axis=0)
    steep = float(abs(mean[2]) / np.linalg.norm(mean))
    weight = run.weight * m.gravity
    hung = weight * steep / 2
    sag = float(sideways_from_excess(run.excess, run.span))
    # Across its line hangs what a parabola of this sag carries, w L^2 / 8 s; drawn tight there is no sag to speak of,
    # and the tension it is set to counts instead.
    across = weight * np.sqrt(1 - steep**2) * run.span / (8 * sag) if sag > 0 else 0.0
    return max(hung, float(across))
