"""How near a piece that was let go came to another course: what it had to spare at a top, or lacked before one.

A top is where the potential energy of the whole piece, turned slowly, is largest for some way around. What reaches
one with nothing left hangs there for a while and may fall either way, so that whatever is computed after it means
little. Weight is taken where the cranks are and motion from the wheel, which has most of it: chains may be slack. What
friction would take on the rest of the way to a top is not counted.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sim.arrays import Array
from sim.builders import Linkage
from sim.builders.drive import drive_inertia
from sim.closed_form import moving_parts, potential, reduced_inertia
from sim.whole import unbalance

ROWS = 720
"""Crank angles over a turn at which the potential energy is looked at."""
NEAR = 0.01
"""Share of the swing of potential energy within which a run is named. Halving steps twice moves the figure by .01 % of
the swing (demo and moth, 288 lets go); what a bearing's friction is in truth moves it by more than this."""
STANDS_OUT = 0.05
"""Share of the swing of potential energy by which a top stands out at least; lower ones hold nothing up for long."""


@dataclass(frozen=True)
class Course:
    """Potential energy and inertia of a piece over the crank angles that a run passes.

    Attributes
    ----------
    crank : (n,) even steps, rad.
    height : (n,) potential energy, J.
    inertia : (n,) as felt at the crank, kg m2.
    tops : (k,) indices of the tops.
    """

    crank: Array
    height: Array
    inertia: Array
    tops: tuple[int, ...]


def course(closed: Linkage, low: float, high: float) -> Course:
    """Give the course of a piece between two crank angles and a turn to either side, rad."""
    height, inertia = _turn(closed)
    rows = np.arange(
        int(np.floor(low / (2 * np.pi)) - 1) * ROWS, int(np.ceil(high / (2 * np.pi)) + 1) * ROWS + 1
    )
    crank: Array = 2 * np.pi / ROWS * rows.astype(float)
    forward, up = unbalance(closed.mechanism)
    wheel = crank * closed.mechanism.reduction
    total = height[rows % ROWS] - forward * np.sin(wheel) + up * np.cos(wheel)
    return Course(crank, total, inertia[rows % ROWS], _tops(total, STANDS_OUT * float(np.ptp(total))))


def swing(closed: Linkage) -> float:
    """Give the swing of potential energy over a turn of the crank, J."""
    return float(np.ptp(course(closed, 0.0, 2 * np.pi).height))


def nearest(closed: Linkage, crank: Array, wheel: Array) -> float:
    """Give how near a run came to another course, J.

    Parameters
    ----------
    closed : the sculpture.
    crank : (n,) the crank's angle, rad, step by step; of two cranks the mean.
    wheel : (n,) the wheel's speed, rad/s.

    Returns
    -------
    Of what the run had to spare at the tops that it passed, J w^2 / 2 there, and what it lacked where it turned round
    or stopped, the height of the next top less its own, the smallest; negative where it lacked. Infinite where it met
    no top.
    """
    speed = wheel / closed.mechanism.reduction
    over = course(closed, float(np.min(crank)), float(np.max(crank)))
    tops = np.array(over.tops, dtype=np.int64)
    at = over.crank[tops]
    behind = np.searchsorted(at, crank)
    passed = np.flatnonzero(np.diff(behind))
    top = np.maximum(behind[passed], behind[passed + 1]) - 1
    part = (at[top] - crank[passed]) / (crank[passed + 1] - crank[passed])
    there = speed[passed] + part * (speed[passed + 1] - speed[passed])
    spare = over.inertia[tops[top]] * there**2 / 2
    way = np.sign(speed)
    turned = np.append(np.flatnonzero(way[:-1] * way[1:] < 0), len(speed) - 1)
    ahead = behind[turned] - (way[turned] < 0)
    met = (ahead >= 0) & (ahead < len(tops))
    lacked = over.height[tops[ahead[met]]] - np.interp(crank[turned[met]], over.crank, over.height)
    found = np.concatenate([spare, -lacked])
    return float(found[np.argmin(np.abs(found))]) if len(found) else float("inf")


def _tops(height: Array, least: float) -> tuple[int, ...]:
    """Give the indices of the tops of heights (n,) from which it falls on both sides by so much before it is higher.

    What finds peaks in scipy takes half a second to load, once in every process.
    """
    step = np.sign(np.diff(height))
    turns = np.flatnonzero(step[:-1] * step[1:] <= 0) + 1
    found: list[int] = []
    top, low, rising = 0, 0, True
    for k in [*turns.tolist(), len(height) - 1]:
        if rising and height[k] > height[top]:
            top = k
        elif rising and height[top] - height[k] > least:
            found += [top] if top > 0 else []
            low, rising = k, False
        elif not rising and height[k] < height[low]:
            low = k
        elif not rising and height[k] - height[low] > least:
            top, rising = k, True
    return tuple(found)


@lru_cache(maxsize=32)
def _turn(closed: Linkage) -> tuple[Array, Array]:
    """Give the sides' potential energy, J, and the whole inertia at the crank, kg m2, over a turn, (ROWS,) each."""
    crank = np.linspace(0, 2 * np.pi, ROWS, endpoint=False)
    parts = [moving_parts(s, crank) for s in closed.sides]
    height = np.sum([potential(p, closed.mechanism.gravity) for p in parts], axis=0)
    return height, np.sum([reduced_inertia(p) for p in parts], axis=0) + drive_inertia(closed.mechanism)
