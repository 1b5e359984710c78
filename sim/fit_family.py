"""The family of dimensions that move one panel as wanted: its ends, members spread over it, whole steps.

Five unknowns and three conditions (lowest and highest angle, lag) leave a family of two dimensions; so do the innermost
panel's four and two, whose throw angle only says where the turn begins. Limits cut the family off. It is sought from
several starts, and from what is found one limit after another is drawn tighter until nothing is left, which gives the
family's ends: the largest transmission angle, the smallest swivel, the shortest throw. What is kept becomes whole steps
of what a shop makes.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar, cast

import numpy as np
from scipy.stats import qmc

from sim.arrays import Array
from sim.fit_panel import CLOSES, HARD, SPARE, Solution, Step, Task, solve
from sim.linkage import TURN

_Kind = TypeVar("_Kind")

STARTS = 20
"""Yoke pins from which solutions are sought."""
RING = 12
"""Throw angles tried at each of them."""
KEPT = 6
"""Solutions that are kept of a family."""
WIDE = np.radians(150.0)
"""Angle between two throws that counts as all the difference there can be."""
TRACE = np.radians(0.01)
"""What rounded dimensions keep off their limits, rad, as extremes are found by parabola."""
REACH = (5, 2, 5, 5, 5)
"""How many steps to either side of each unknown neighbours are looked for."""
TRIED = 300
"""How many of them are tried."""
TIGHTER = {"transmission": np.radians(8.0), "swivel": np.radians(4.0), "throw": 0.02}
"""Limits that are drawn tighter, and the first step of it, rad and m; it ends at a 16th of that."""


def starts(task: Task, count: int) -> list[tuple[Array, int]]:
    """Give dimensions to start from, with their folds: yoke pins spread evenly, the rest as it is likely to be.

    The rod reaches from the shaft to the yoke pin at the middle of the wanted range, the throw is as long as the yoke
    arm's half chord over it, and of throw angles all round, and both folds, the best is taken. The yoke pins are of a
    Halton sequence, the same every time.
    """
    low, high = task.bounds
    middle, half = (task.wish.high + task.wish.low) / 2, (task.wish.high - task.wish.low) / 2
    hinge, p = task.hinge.mean(0), task.panel
    turns = np.array([p.throw_angle]) if task.leader is None else np.linspace(0, TURN, RING, endpoint=False)
    found: list[tuple[Array, int]] = []
    for u in cast("Any", qmc).Halton(2, scramble=False).random(count + 1)[1:]:
        out, below = low[3:] + u * (high[3:] - low[3:])
        place = hinge + np.array([p.yoke_forward, out * np.cos(middle) + below * np.sin(middle),
                                  out * np.sin(middle) - below * np.cos(middle)])  # fmt: skip
        rod = float(np.linalg.norm(place - np.array([0.0, p.throw_out, 0.0])))
        x = np.clip([np.hypot(out, below) * np.sin(half), 0.0, rod, out, below], low, high)
        ring = np.repeat(x[None], len(turns), 0)
        ring[:, 1] = turns
        off = np.array([np.linalg.norm(task.off(task.trial(ring, fold)), axis=-1) for fold in (1, -1)])
        k, j = np.unravel_index(int(np.argmin(off)), off.shape)
        found.append((ring[j], (1, -1)[int(k)]))
    return found


def solutions(task: Task, begin: Sequence[Solution] = ()) -> list[Solution]:
    """Give the ends of the family, then members spread over it; the nearest alone where nothing comes to the wish.

    Parameters
    ----------
    task : the panel.
    begin : solutions of a like task, such as the same panel on another of the inner panel's solutions; without any,
        or where they lead nowhere, it is sought from all over.
    """
    reached = [s for s in (solve(task, b.x, b.fold) for b in begin) if s.reached]
    if not reached:
        pool = [solve(task, x, fold) for x, fold in starts(task, STARTS)]
        reached = [s for s in pool if s.reached]
        if not reached:
            return [min(pool, key=lambda s: (not _closes(task, s), s.off))]
    found = [tightest(task, max(reached, key=lambda s: _spare(task, s, name)), name) for name in TIGHTER]
    return spread(found, reached, distance)


def spread(first: list[_Kind], others: list[_Kind], apart: Callable[[_Kind, _Kind], float]) -> list[_Kind]:
    """Give the first and then, up to as many as are kept, always the one farthest from all that were given."""
    found, left = list(first), list(others)
    while left and len(found) < KEPT:
        away = [min(apart(x, y) for y in found) for x in left]
        found.append(left.pop(away.index(max(away))))
    return found


def distance(one: Solution, other: Solution) -> float:
    """Give by how much two solutions differ where they differ most: 1 is all of it, a throw's 150 deg count as that.

    The throw's radius and the rod count as shares of the longer one, the way between the yoke pins as a share of the
    longer arm from the hinge line.
    """
    longer = np.maximum(one.x, other.x)
    apart = np.abs(one.x - other.x)
    turned = abs((one.x[1] - other.x[1] + np.pi) % TURN - np.pi)
    arm = max(np.hypot(*one.x[3:]), np.hypot(*other.x[3:]))
    return float(max(apart[0] / longer[0], apart[2] / longer[2], np.hypot(*apart[3:]) / arm, turned / WIDE))


def _closes(task: Task, s: Solution) -> bool:
    return bool(task.trial(s.x[None], s.fold).reach[0] < CLOSES)


def _spare(task: Task, s: Solution, name: str) -> float:
    """Give how far inside one of the limits that are drawn tighter a solution is."""
    if name == "throw":
        return task.limits.throw[1] - float(s.x[0])
    t = task.trial(s.x[None], s.fold)
    return float(t.transmission[0] if name == "transmission" else -t.swivel[0])


def tightest(task: Task, begin: Solution, name: str) -> Solution:
    """Draw one limit tighter and tighter from a solution on, and give the last that is within."""
    step, best = TIGHTER[name], begin
    least = step / 16
    while step >= least:
        spare = _spare(task, best, name)
        limit: object = spare + step - SPARE if name == "transmission" else SPARE - spare - step
        if name == "throw":
            limit = (task.limits.throw[0], max(float(best.x[0]) - step, task.limits.throw[0] + least))
        trial = solve(
            replace(task, limits=replace(task.limits, **cast("Any", {name: limit}))), best.x, best.fold
        )
        if trial.reached and _spare(task, trial, name) > spare + least / 2:
            best = trial
        else:
            step /= 2
    return best


def rounded(task: Task, s: Solution, step: Step) -> Solution | None:
    """Give the neighbour in whole steps that moves most as wanted, or None where none of those tried keeps the limits.

    What a neighbour moves like is foretold by the slopes at the solution; those that promise most are tried.
    """
    sizes, columns = step.sizes, task.columns
    low, high = task.bounds
    ways = (np.arange(-REACH[k], REACH[k] + 1) for k in columns)
    near = np.stack(np.meshgrid(*ways, indexing="ij"), -1).reshape(-1, len(columns))
    x = np.repeat(s.x[None], len(near), 0)
    x[:, columns] = (np.round(s.x[columns] / sizes[columns]) + near) * sizes[columns]
    x = x[np.all((x >= low - 1e-12) & (x <= high + 1e-12), -1)]
    if not len(x):
        return None
    small = 1e-6 * np.eye(5)
    off = task.off(task.trial(np.vstack([s.x, s.x + small]), s.fold))
    slopes = (off[1:] - off[0]) / 1e-6
    foretold = np.abs(off[0] + (x - s.x) @ slopes).max(-1)
    x = x[np.argsort(foretold, kind="stable")[:TRIED]]
    t = task.trial(x, s.fold)
    off, beyond = np.abs(task.off(t)).max(-1), task.beyond(t, TRACE).max(-1)
    # What only comes near may overstep limits by a trace, but has to close.
    fit = beyond == 0 if s.reached else t.reach < CLOSES
    if not np.any(fit):
        return None
    k = int(np.argmin(np.where(fit, off + HARD * beyond, np.inf)))
    return Solution(x[k], s.fold, s.off)
