"""How many cycles of a stress range a weld stands, by EN 1993-1-9 or by the IIW's recommendations.

Both go through the class at 2 million cycles, with slope 3 for normal and 5 for shear stress. Mean stress counts
for nothing: welds are taken to hold their yield strength as tension from cooling.

EN 1993-1-9:2005, 7.1: normal stress slope 3 to the constant amplitude limit at 5e6 cycles, which is .737 of the
class, then 5 to the cut-off at 1e8, .404 of it (read second hand); shear slope 5 to the cut-off at 1e8 (memory).
IIW-1823-07: a knee at 1e7 cycles (read), beyond it slope 5 for damage sums; shear a knee at 1e8 and beyond it 9; no
cut-off (memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from models.weld_classes import Code, WeldClass
from sim.arrays import Array

REFERENCE = 2e6
"""Cycles at which a class is defined."""


@dataclass(frozen=True)
class Curve:
    """A curve of stress range over cycles to failure.

    Attributes
    ----------
    strength : stress range at 2e6 cycles, Pa.
    slope : m up to the knee, N = N0 (S0 / S)^m.
    knee : cycles.
    beyond : m after the knee.
    end : cycles beyond which smaller ranges do no harm; infinite where there is no cut-off.
    """

    strength: float
    slope: float
    knee: float
    beyond: float
    end: float

    @property
    def limit(self) -> float:
        """Range at the knee, Pa: where no range of a history is larger, none of them does harm."""
        return self.strength * (REFERENCE / self.knee) ** (1 / self.slope)

    @property
    def cut_off(self) -> float:
        """Range at the end of the curve, Pa; 0 where it has none."""
        return self.limit * (self.knee / self.end) ** (1 / self.beyond)

    def lives(self, ranges: ArrayLike) -> Array:
        """Give the cycles to failure (...) at stress ranges (...), Pa; infinite below the cut-off."""
        s = np.asarray(ranges, dtype=np.float64)
        with np.errstate(divide="ignore"):
            ratio = self.limit / s
        lives = self.knee * ratio ** np.where(ratio < 1, self.slope, self.beyond)
        return np.where(s > 0, np.where(s < self.cut_off, np.inf, lives), np.inf)


_SHAPES: dict[Code, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "EN 1993-1-9": ((3, 5e6, 5, 1e8), (5, 1e8, 5, 1e8)),
    "IIW": ((3, 1e7, 5, np.inf), (5, 1e8, 9, np.inf)),
}
"""Slope, knee, slope beyond and end of the curves for normal and for shear stress."""


def curves(weld: WeldClass, partial: float = 1.0) -> tuple[Curve, Curve]:
    """Give the curves of a weld for normal and for shear stress.

    Parameters
    ----------
    weld : its class.
    partial : factor by which its strength is divided.
    """
    normal, shear = _SHAPES[weld.code]
    return Curve(weld.normal / partial, *normal), Curve(weld.shear / partial, *shear)
