"""Rainflow counting: which whole cycles a stress history is made of.

ASTM E1049-85, sections 5.4.4 and 5.4.5, by four points: of four turning points in a row, the inner two are a whole
cycle where their range is no larger than both of its neighbours'. It is here since neither numpy nor scipy has one,
and a dependency for twenty lines would not pay.
"""

import numpy as np

from sim.arrays import Array


def rainflow(history: Array, repeating: bool = True) -> tuple[Array, Array]:
    """Give the ranges of the cycles of a history, and how many there are of each.

    Parameters
    ----------
    history : (n,) in any unit.
    repeating : the history is a period, its last value followed by its first: then every cycle closes
        (section 5.4.5). Otherwise what does not close is counted as half cycles (section 5.4.4).

    Returns
    -------
    ranges : (c,) in the history's unit.
    counts : (c,) 1 or .5.

    Raises
    ------
    ValueError
        If the history is empty, not one-dimensional or not finite.
    """
    if history.ndim != 1 or history.size == 0 or not np.all(np.isfinite(history)):
        raise ValueError(
            "a history to count is not a list of finite numbers; write one value for each instant"
        )
    if repeating:
        # From its largest value to the same again, what does not close inside closes over the whole.
        start = int(np.argmax(history))
        history = np.concatenate([history[start:], history[: start + 1]])
    closed: list[float] = []
    open_: list[float] = []
    for point in turning_points(history).tolist():
        open_.append(point)
        while len(open_) >= 4 and _closes(*open_[-4:]):
            closed.append(abs(open_[-2] - open_[-3]))
            del open_[-3:-1]
    left = np.abs(np.diff(open_))
    if repeating:
        # One fall and one rise are left, both as large as all of it; a constant history leaves none.
        closed += [float(left[0])] if left.size else []
        return np.array(closed), np.ones(len(closed))
    counts = np.concatenate([np.ones(len(closed)), np.full(left.size, 0.5)])
    return np.concatenate([np.array(closed), left]), counts


def turning_points(history: Array) -> Array:
    """Give the ends of a history (n,) and where it turns round; of a level stretch only one point."""
    moved = np.concatenate([[True], np.diff(history) != 0])
    x = history[moved]
    if x.size < 3:
        return x
    rise = np.diff(x) > 0
    return x[np.concatenate([[True], rise[1:] != rise[:-1], [True]])]


def _closes(a: float, b: float, c: float, d: float) -> bool:
    inner = abs(c - b)
    return inner <= abs(b - a) and inner <= abs(d - c)
