"""What a slack strand does when it is taken up: when it begins to pull, and how hard it then pulls."""

from dataclasses import dataclass

import numpy as np

from sim.arrays import Array

IMPACT = 0.1
"""Time, s, for which what follows a slack strand's take-up counts as its impact; assumption."""


@dataclass(frozen=True)
class TakeUp:
    """A strand that has been slack is taut again.

    Attributes
    ----------
    start : entry at which it begins to pull.
    peak : entry at which it then pulls hardest.
    pull : there, N.
    """

    start: int
    peak: int
    pull: float


def take_ups(time: Array, tension: Array, within: float = IMPACT) -> list[TakeUp]:
    """Find where a strand that was slack pulls again, and how hard before it falls slack or a while has passed.

    Parameters
    ----------
    time, tension : (n,) s and N.
    within : s that an impact lasts at most; what pulls later is load.
    """
    taut = tension > 0
    found: list[TakeUp] = []
    for start in np.flatnonzero(taut[1:] & ~taut[:-1]) + 1:
        end = int(np.searchsorted(time, float(time[start]) + within, side="right"))
        slack = np.flatnonzero(~taut[start:end])
        last = int(start + slack[0]) if len(slack) else end
        own: Array = tension[start:last]
        peak = int(start + np.argmax(own))
        found.append(TakeUp(int(start), peak, float(tension[peak])))
    return found


def impact(time: Array, tension: Array, within: float = IMPACT) -> Array:
    """Give the tension (n,), N, while it belongs to a take-up, and nothing else: see `take_ups`."""
    found = np.zeros(len(time))
    taut = tension > 0
    for t in take_ups(time, tension, within):
        end = int(np.searchsorted(time, float(time[t.start]) + within, side="right"))
        slack = np.flatnonzero(~taut[t.start : end])
        last = int(t.start + slack[0]) if len(slack) else end
        found[t.start : last] = tension[t.start : last]
    return found
