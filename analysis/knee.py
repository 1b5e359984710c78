"""The knee of a curve over mass: where a further kilogram begins to buy less."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

SAME = 0.01
"""Share of a value by which it must fall to count as better: as far as peaks may move with the step."""
STRAIGHT = 0.05
"""Depth below its chord, in a square of side 1, up to which a curve counts as straight; assumption."""


@dataclass(frozen=True)
class Knee:
    """A curve that falls with mass, and its knee.

    Attributes
    ----------
    kept : the points on the curve, lightest first: each is better than all lighter ones.
    at : of these the one at the knee, as a place among all points; None where there is no knee.
    before, beyond : what each kilogram takes off, on average, from the first point to the knee and from there to the
        last; nan without a knee.
    why : why there is none, in words, or "".
    """

    kept: tuple[int, ...]
    at: int | None
    before: float
    beyond: float
    why: str


def knee(mass: Sequence[float], left: Sequence[float]) -> Knee:
    """Find the knee of a curve over mass.

    The point farthest below the chord between the ends of the curve in a square of side 1 (Satopaa et al., Finding a
    "Kneedle" in a Haystack, 2011, without its smoothing and its threshold; memory), of those points of which each is
    better than all lighter ones.

    Parameters
    ----------
    mass : (n,) kg.
    left : (n,) of 0 or more, such as speeds, the less the better; one that is not finite is left out.
    """
    kept = _frontier(mass, left)
    x, y = (np.array([values[k] for k in kept], dtype=float) for values in (mass, left))
    if len(kept) < 3:
        idle = len(kept) == 1 and len(mass) > 1
        why = "it takes three, each better than all lighter ones"
        return _none(kept, "none is better than the lightest" if idle else why)
    depth = 1 - (x - x[0]) / (x[-1] - x[0]) - (y - y[-1]) / (y[0] - y[-1])
    k = int(np.argmax(depth))
    if depth[k] <= STRAIGHT:
        bulging = float(depth.min()) < -STRAIGHT
        return _none(
            kept, "the last buy the most" if bulging else "each buys about as much as the one before"
        )
    before, beyond = (y[0] - y[k]) / (x[k] - x[0]), (y[k] - y[-1]) / (x[-1] - x[k])
    return Knee(kept, kept[k], float(before), float(beyond), "")


def _frontier(mass: Sequence[float], left: Sequence[float]) -> tuple[int, ...]:
    """Give the points, lightest first, each of which leaves less than every lighter one by more than `SAME`."""
    found: list[int] = []
    for k in sorted(range(len(mass)), key=lambda k: (mass[k], left[k])):
        if np.isfinite(left[k]) and (not found or left[k] < left[found[-1]] * (1 - SAME)):
            found.append(k)
    return tuple(found)


def _none(kept: tuple[int, ...], why: str) -> Knee:
    return Knee(kept, None, float("nan"), float("nan"), why)
