"""Struts with pinned ends: Euler's load, and the secant formula for a push that acts off the middle.

Timoshenko, Strength of Materials; any textbook has both. A push P that acts e off the middle at both ends bends the
strut by P e sec(pi/2 sqrt(P/Pcr)) at its middle, so that the largest stress is
P/A (1 + e c / r^2 sec(L / 2r sqrt(P / E A))). A load spread evenly across it, which
makes a moment M at its middle by itself, makes M 8 (sec u - 1) / (2 u)^2 with the push, u = pi/2 sqrt(P/Pcr).
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Strut:
    """A straight bar between two pins.

    Attributes
    ----------
    length : between the pins, m.
    area : of its section, m2.
    inertia : second moment of area, m4.
    edge : farthest point of the section from its middle line, m.
    modulus : Young's, Pa.
    """

    length: float
    area: float
    inertia: float
    edge: float
    modulus: float

    @property
    def euler(self) -> float:
        """Push at which a perfect one buckles, N: pi^2 E I / L^2."""
        return math.pi**2 * self.modulus * self.inertia / self.length**2

    def stress(self, push: float, eccentric: float, across: float = 0.0) -> float:
        """Give the largest stress, Pa, by the secant formula; infinite from Euler's load on.

        Parameters
        ----------
        push : N.
        eccentric : how far off the middle line it acts at both ends, on the same side, m.
        across : moment at the middle by a load spread evenly across the strut alone, to the same side, N m.
        """
        share = push / self.euler
        if share >= 1:
            return math.inf
        u = math.pi / 2 * math.sqrt(share)
        # 2 sin^2(u/2) is 1 - cos u without what rounding leaves of small ones.
        spread = 4 * (math.sin(u / 2) / u) ** 2 / math.cos(u) if u > 0 else 1.0
        moment = push * eccentric / math.cos(u) + across * spread
        return push / self.area + moment * self.edge / self.inertia

    def load(self, eccentric: float, strength: float, across: float = 0.0) -> float:
        """Give the push, N, at which the largest stress reaches a strength, Pa.

        The stress grows with the push without end, so that halving finds it; 0 where the loads across it alone make
        as much.

        Parameters
        ----------
        eccentric, across : as for `stress`.
        strength : such as yield, Pa.
        """
        low, high = 0.0, min(self.euler, strength * self.area)
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (
                (middle, high) if self.stress(middle, eccentric, across) <= strength else (low, middle)
            )
        return low


def round_strut(length: float, diameter: float, modulus: float) -> Strut:
    """Give a round bar between two pins; m, Pa."""
    return Strut(length, math.pi * diameter**2 / 4, math.pi * diameter**4 / 64, diameter / 2, modulus)
