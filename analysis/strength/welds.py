"""How long the welds of a shaft last: rainflow over a turn, a damage sum, and the years that it gives."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.strength.endurance import Factor
from analysis.strength.rainflow import rainflow
from analysis.strength.section import Surface
from analysis.strength.weld_curves import Curve, curves
from models.weld_classes import Code, WeldClass
from sim.arrays import Array

_TABLE = "EN 1993-1-9:2005, table 3.1 (memory)"
PARTIAL = {
    "inspected, low consequence": Factor("gamma_Mf", 1.0, _TABLE),
    "inspected, high consequence": Factor("gamma_Mf", 1.15, _TABLE),
    "safe life, low consequence": Factor("gamma_Mf", 1.15, _TABLE),
    "safe life, high consequence": Factor("gamma_Mf", 1.35, _TABLE),
}
"""Partial factor on fatigue strength: "inspected" stands for the table's damage tolerant."""
CAUTIOUS = PARTIAL["safe life, high consequence"]
"""A wing hangs on these welds, over people, and cracks under paint are not seen."""
ALLOWED: dict[Code, Factor] = {
    "EN 1993-1-9": Factor(
        "damage sum", 1.0, "EN 1993-1-9:2005, 8(3): sum of both damages at most 1 (memory)"
    ),
    "IIW": Factor("damage sum", 0.5, "IIW-1823-07, bending and torsion out of step (memory)"),
}
"""What the damages of normal and of shear stress may add up to."""


@dataclass(frozen=True)
class WeldLife:
    """How long a weld lasts.

    Attributes
    ----------
    weld : its class.
    angle : of the worst point around the section, rad.
    normal, shear : largest stress ranges there over a turn, Pa.
    years : to the allowed damage; infinite where all ranges are below the cut-off.
    reserve : factor by which all stress ranges may grow until the wanted life is just reached; 1 or more is
        enough. Infinite where nothing acts.
    endless : all ranges everywhere are below the constant amplitude limit, so that turning alone does no harm.
    turns : of the crank in a year.
    wanted : years.
    partial, allowed : the partial factor and the damage sum.
    """

    weld: WeldClass
    angle: float
    normal: float
    shear: float
    years: float
    reserve: float
    endless: bool
    turns: float
    wanted: float
    partial: Factor
    allowed: Factor


def turns_a_year(speed: float, hours: float) -> float:
    """Give the turns of a shaft in a year.

    Parameters
    ----------
    speed : of the shaft while it is turned, rad/s.
    hours : in a year during which somebody turns it.
    """
    return abs(speed) / (2 * math.pi) * 3600 * hours


def weld_life(
    surface: Surface, weld: WeldClass, turns: float, wanted: float, partial: Factor = CAUTIOUS
) -> WeldLife:
    """Give how long a weld lasts that sees the same turn again and again.

    Each point around the section by itself: cycles of normal and of shear stress are counted apart, and their
    damages added (Miner's rule, and EN 1993-1-9, 8(3) for both together). The slope beyond the knee is used
    even where all ranges are below it, since now and then a larger load comes.

    Parameters
    ----------
    surface : nominal stresses (n, k) of the section, or of the weld's throat, over one turn of the crank.
    weld : its class.
    turns : of the crank in a year.
    wanted : life in years.
    partial : factor by which the class is divided.

    Raises
    ------
    ValueError
        If turns or years are not positive.
    """
    if not (turns > 0 and wanted > 0):
        raise ValueError(f"{turns} turns a year for {wanted} years are no use; write values above zero")
    allowed = ALLOWED[weld.code]
    normal, shear = _Cycles.of(surface.normal), _Cycles.of(surface.shear)
    of_normal, of_shear = curves(weld, partial.value)

    def damage(scale: float) -> Array:
        return normal.damage(of_normal, scale) + shear.damage(of_shear, scale)

    once = damage(1.0)
    ranges = normal.largest, shear.largest
    # Where nothing does harm the worst point is the one nearest to it.
    near = np.maximum(ranges[0] / of_normal.limit, ranges[1] / of_shear.limit)
    worst = int(np.argmax(once)) if once.max() > 0 else int(np.argmax(near))
    used = float(once[worst]) * turns
    return WeldLife(
        weld,
        float(surface.angles[worst]),
        float(ranges[0][worst]),
        float(ranges[1][worst]),
        allowed.value / used if used > 0 else math.inf,
        _reserve(lambda scale: float(damage(scale).max()) * turns * wanted <= allowed.value)
        if near.max() > 0
        else math.inf,
        bool(near.max() <= 1),
        turns,
        wanted,
        partial,
        allowed,
    )


class _Cycles:
    """The cycles of the histories of several points."""

    def __init__(self, counted: list[tuple[Array, Array]]) -> None:
        self.ranges = np.concatenate([r for r, _ in counted])
        self.counts = np.concatenate([c for _, c in counted])
        self.points = np.repeat(np.arange(len(counted)), [len(r) for r, _ in counted])
        self.number = len(counted)
        self.largest = np.array([r.max(initial=0.0) for r, _ in counted])

    @classmethod
    def of(cls, histories: Array) -> "_Cycles":
        """Count the histories (n, k) of k points, those that are the same everywhere only once."""
        if np.all(histories == histories[:, :1]):
            return cls([rainflow(histories[:, 0])] * histories.shape[1])
        return cls([rainflow(h) for h in histories.T])

    def damage(self, curve: Curve, scale: float) -> Array:
        """Give the damage (k,) of a turn whose ranges are scaled."""
        each = self.counts / curve.lives(self.ranges * scale)
        return np.bincount(self.points, each, self.number).astype(np.float64)


def _reserve(holds: Callable[[float], bool]) -> float:
    """Give the largest factor at which something holds that stops holding once."""
    low, high = 1e-6, 1e6
    for _ in range(60):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
