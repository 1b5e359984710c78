"""The smallest stock size that meets all limits, and which limit keeps it from being smaller."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from models.stock import StockSize


@dataclass(frozen=True)
class Choice:
    """The smallest size that will do.

    Attributes
    ----------
    size : None where none of them will.
    margins : of that size by limit, or of the largest where none will do; 0 or more holds.
    governs : the limit that the next smaller size breaks by most, or, where none will do, the largest size; ""
        where the smallest size of all will do.
    smaller : the next smaller size, None where there is none.
    smaller_margins : its margins; empty with no smaller size.
    """

    size: StockSize | None
    margins: Mapping[str, float]
    governs: str
    smaller: StockSize | None
    smaller_margins: Mapping[str, float]


def smallest(sizes: Sequence[StockSize], margins: Callable[[float], Mapping[str, float]]) -> Choice:
    """Find the smallest of some sizes at which every margin holds.

    Every size from the smallest on is asked, since a thicker shaft is also a heavier one and need not be better.

    Parameters
    ----------
    sizes : in any order.
    margins : gives for a diameter, m, a margin for each limit by name; relative ones (1 for twice as good as
        needed) make what governs comparable.

    Raises
    ------
    ValueError
        If there are no sizes or a margin is not a number.
    """
    if not sizes:
        raise ValueError("there are no sizes to choose from")
    before: StockSize | None = None
    broken: Mapping[str, float] = {}
    for size in sorted(sizes, key=lambda s: s.diameter):
        found = margins(size.diameter)
        if lost := [name for name, margin in found.items() if math.isnan(margin)]:
            raise ValueError(f"{size.label}: the margin of {', '.join(lost)} is not a number")
        if all(margin >= 0 for margin in found.values()):
            governs = _worst(broken) if broken else ""
            return Choice(size, found, governs, before, broken)
        before, broken = size, found
    return Choice(None, broken, _worst(broken), None, {})


def _worst(margins: Mapping[str, float]) -> str:
    return min(margins, key=lambda name: margins[name])
