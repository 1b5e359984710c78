"""How fast the wheel must turn at the lowest point for the piece to come over the top by itself, with its friction."""

from dataclasses import replace

import numpy as np

from sim import names
from sim.builders import Linkage, stiff
from sim.coasting import FASTEST, Coasting, coasting
from sim.engines.base import EngineError, Stepping
from sim.reduced.method import Run
from sim.reduced.system import system
from sim.scenarios import LetGo

SLOWEST = 0.1
"""Wheel speed, rad/s, from which it is looked for at least."""
GROWING = 1.25
"""By how much more is tried next while it is not enough."""
CLOSE = 2e-3
"""Share of the speed to which it is found."""
BACK = 0.2
"""Crank angle, rad, by which it has fallen back when it counts as turned back; drives wind up by less."""


def goes_round(closed: Linkage, speed: float, start: float) -> bool:
    """Say whether a piece that is let go makes a whole turn of the crank by itself, on both sides.

    Parameters
    ----------
    closed : the sculpture.
    speed : of the wheel at the release, rad/s; below 0 backward.
    start : crank angle there, rad.

    Raises
    ------
    EngineError
        Where a step could not be taken.
    NotReduced
        Where the drive has what the reduced model knows nothing of.
    """
    doing = LetGo(speed, start)
    closed = stiff(closed)  # angles alone know nothing of bending
    scene = doing.scene(closed)
    made = system(scene, closed)
    run = Run(made, scene, Stepping(doing.step(closed), doing.end(closed)), recorded=False)
    cranks = [made.names.index(names.crankshaft(s.side.name)) for s in closed.sides]
    factor = float(np.sign(speed)) * made.share[cranks]
    places = made.coordinate[cranks]

    def turned(rows: slice) -> np.ndarray:
        return np.min(factor * run.out_u[rows][:, places], axis=1)

    def decided(row: int) -> bool:
        so_far = turned(slice(0, row + 1))
        return bool(so_far.max() >= 2 * np.pi or so_far[-1] < so_far.max() - BACK)

    last, ended = run.follow(None, decided)
    if ended == 2:
        raise EngineError(f"the reduced model could not go on after {run.time[last]:.4g} s of {doing.label}")
    return bool(turned(slice(0, last + 1)).max() >= 2 * np.pi)


def clearing_speed(closed: Linkage, way: int = 1, free: Coasting | None = None) -> float:
    """Give the least wheel speed, rad/s, at the lowest point from which a piece makes a whole turn by itself.

    So it passes all its tops, and the highest is what holds it up. Found by halving, to .2 %, from what it takes
    without friction upwards; infinite where no speed is enough that anybody turns. Chordal action is left
    out. A handle behind ratios that are not whole is where the crank angle, counted from 0, puts it.

    Parameters
    ----------
    closed : the sculpture with its friction.
    way : 1 for turning the wheel forward, -1 for backward.
    free : the same without friction, if at hand.

    Raises
    ------
    EngineError, NotReduced
        As `goes_round`.
    """
    m = closed.mechanism
    plain = replace(closed, mechanism=replace(m, stages=tuple(replace(s, chordal=False) for s in m.stages)))
    found = coasting(plain) if free is None else free
    low, high = 0.0, max(found.clearing_speed, SLOWEST)
    while not goes_round(plain, way * high, found.bottom):
        low, high = high, high * GROWING
        if high > FASTEST:
            return float("inf")
    # What it takes without friction is enough where there is next to none: nothing below it is looked at.
    while low > 0 and high - low > CLOSE * high:
        middle = (low + high) / 2
        if goes_round(plain, way * middle, found.bottom):
            high = middle
        else:
            low = middle
    return high
