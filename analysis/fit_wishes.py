"""What motion is wanted and what its linkage may be: as asked, else as described, else by default."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from analysis import motion
from models.loading import DescriptionError
from models.mechanism import Side
from models.resolve import sides
from models.sculpture import Sculpture
from sim.arrays import Array
from sim.fit_panel import Limits, Wish
from sim.linkage import TURN, close, phase

MORE = 1.5
"""Longest throw and rod and lowest yoke pin over the described ones, where no limit is given: an assumption."""
LEAST_THROW, LEAST_ROD, LEAST_OUT = 0.01, 0.05, 0.02
"""Shortest throw and rod and least place out of a yoke pin, m: room for pins and rod ends, assumptions."""
ROOM = 0.0055
"""What is left between a rod and its webs, m: 3 mm for making and fitting, 2.5 mm as a rod passes them slantwise;
assumptions, with which most of what is found clears its webs as `analysis.clearances` sees them."""
LEAST_BELOW = 0.05
"""How far below its hinge line a yoke pin may always be, m, where no limit is given: an assumption."""


@dataclass(frozen=True)
class Asked:
    """What is asked for, None or absent where the description or a default holds.

    Attributes
    ----------
    ranges, lags : by panel name, rad.
    transmission, swivel : least and most, rad.
    throw, rod, out, below : most, m.
    """

    ranges: Mapping[str, tuple[float, float]]
    lags: Mapping[str, float]
    transmission: float | None = None
    swivel: float | None = None
    throw: float | None = None
    rod: float | None = None
    out: float | None = None
    below: float | None = None


@dataclass(frozen=True)
class Bound:
    """A limit in words: its value in SI, its dimension, and where it comes from."""

    name: str
    value: float
    dimension: str
    source: str


def wishes(sculpture: Sculpture, asked: Asked) -> dict[str, Wish]:
    """Give the motion wanted of each panel, innermost first: as asked, else as described.

    Raises
    ------
    DescriptionError
        Where a panel is named that there is not, the innermost is given a lag, or what is not asked for cannot be
        taken from a description whose loops do not close.
    """
    side = sides(sculpture)[0]
    known = [p.name for p in side.panels]
    faults = [
        f"--{option}: there is no panel '{name}'; write one of: {', '.join(known)}"
        for option, given in (("range", asked.ranges), ("lag", asked.lags))
        for name in given
        if name not in known
    ]
    if known[0] in asked.lags:
        faults.append(
            f"--lag: '{known[0]}' is the innermost panel, which lags are counted from; leave it out"
        )
    found: dict[str, Wish] = {}
    for k, name in enumerate(known):
        if name in asked.ranges and (k == 0 or name in asked.lags):
            found[name] = Wish(*asked.ranges[name], asked.lags.get(name))
            continue
        try:
            low, high, lag = _described(side, k)
        except DescriptionError:
            option, example = ("lag", "90 deg") if name in asked.ranges else ("range", "-10 deg to 40 deg")
            faults.append(f"--{option}: '{name}' has none, and as described its loop does not close; "
                          f'write --{option} "{name}={example}"')  # fmt: skip
            continue
        found[name] = Wish(
            *asked.ranges.get(name, (low, high)), None if k == 0 else asked.lags.get(name, lag)
        )
    if faults:
        raise DescriptionError(faults)
    return found


def lag_behind(angle: Array, inner: Array) -> float:
    """Give by how much the first harmonic of a panel's angle (n,) comes after the innermost's, rad of the turn."""
    return float((phase(angle) - phase(inner) + np.pi) % TURN - np.pi)


def _described(side: Side, k: int) -> tuple[float, float, float]:
    """Give the k-th panel's lowest and highest angle and its lag, as described."""
    courses = close(replace(side, panels=side.panels[: k + 1])).course(motion.TURN)
    angle = courses[k].angle.value
    return float(angle.min()), float(angle.max()), lag_behind(angle, courses[0].angle.value)


def limits(sculpture: Sculpture, asked: Asked) -> tuple[tuple[Bound, ...], tuple[Limits, ...]]:
    """Give the limits in words, and those of each panel, innermost first."""
    side = sides(sculpture)[0]
    panels, gap = side.panels, side.crank.cheek.gap
    ends, said = sculpture.rod_ends, "as asked"
    described = f"{MORE:g} times the largest described; assumption"

    def bound(name: str, given: float | None, value: float, source: str, dimension: str = "length") -> Bound:
        own, where = (value, source) if given is None else (given, said)
        return Bound(name, float(own), dimension, where)

    swivel = ends.swivel if ends is not None else None
    standard = "the description's" if swivel is not None else "standard rod ends; memory"
    bounds = (
        bound("transmission angle at least", asked.transmission, motion.TRANSMISSION.value,
              motion.TRANSMISSION.source, "angle"),
        bound("swivel at most", asked.swivel, swivel or motion.STANDARD_SWIVEL, standard, "angle"),
        bound("throws at most", asked.throw, MORE * max(p.throw_radius for p in panels), described),
        bound("rods at most", asked.rod, MORE * max(p.rod.length for p in panels), described),
        bound("yoke pins at most so far below, none above", asked.below,
              max(LEAST_BELOW, MORE * max(p.yoke_below for p in panels)), described),
    )  # fmt: skip
    transmission, most, throw, rod, below = (b.value for b in bounds)
    edges = [max(y for _, y in p.plate.outline.exterior) for p in panels]
    beside = (gap - max(p.rod.diameter for p in panels)) / 2
    aside = max(beside - ROOM, beside / 2)
    further = (
        Bound("yoke pins at most so far out", asked.out or max(edges), "length",
              said if asked.out else "each panel's far edge"),
        Bound("rods at most so far off the middle between their webs", aside, "length",
              f"the gap, less {1000 * (beside - aside):.1f} mm beside the rod; assumption"),
    )  # fmt: skip
    return (*bounds, *further), tuple(
        Limits(transmission, most, aside, (LEAST_THROW, throw), (LEAST_ROD, rod),
               (LEAST_OUT, asked.out or edge), (0.0, below))
        for edge in edges
    )  # fmt: skip
