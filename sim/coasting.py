"""A piece left to itself and without friction: its speed over the turn, and what carries it over the top.

With c the crank angle, the energy E = M(c) c'^2 / 2 + V(c) stays what it is. So the wheel, N turns of it for one of
the crank, has w(c)^2 = 2 N^2 (E - V(c)) / M(c) over the turn, with the inertia M that changes with the angle. With a
heavy wheel, J = M / N^2 nearly constant at the wheel, w_max^2 - w_min^2 = 2 dE / J, with dE the swing of V + (M / N^2
- J) w^2 / 2: of V alone where it turns slowly. Then w_max - w_min = Cs w about the mean speed w, with dE = J Cs w^2
(Shigley, Mechanical Engineering Design, chapter 16; checked in tests/published). Drives that give, and slack, are
left out.
"""

from dataclasses import dataclass
from typing import cast

import numpy as np
from scipy.optimize import brentq  # pyright: ignore[reportUnknownVariableType]

from sim.arrays import Array
from sim.builders import Linkage
from sim.builders.drive import drive_inertia
from sim.closed_form import moving_parts, potential, reduced_inertia
from sim.whole import potential_energy, unbalance

ANGLES = 1440
"""Crank angles over the turn. Between two of them V is off its extreme by at most (pi / ANGLES)^2 / 2 of itself for
each square of a harmonic's order: 6e-5 for the fifth."""
FASTEST = 100.0
"""Wheel speed, rad/s, that nobody turns: what takes more is not looked for."""
HOLDS = 0.2
"""Coefficient of fluctuation from which it says nothing any more: the mean of the extremes is no mean speed."""


@dataclass(frozen=True)
class Round:
    """The wheel's slowest and fastest speed, rad/s, while a piece goes round by itself."""

    slowest: float
    fastest: float

    @property
    def mean(self) -> float:
        """The mean of both, rad/s."""
        return (self.slowest + self.fastest) / 2

    @property
    def fluctuation(self) -> float:
        """w_max^2 - w_min^2, rad2/s2."""
        return self.fastest**2 - self.slowest**2

    @property
    def coefficient(self) -> float:
        """Cs = (w_max - w_min) / w with their mean w; of use below `HOLDS`."""
        return (self.fastest - self.slowest) / self.mean


@dataclass(frozen=True)
class Coasting:
    """What the energy of a piece depends on, over one turn of the crank.

    Attributes
    ----------
    crank : (n,) crank angles, rad.
    potential : (n,) V, J.
    inertia : (n,) M at the crank, kg m2.
    reduction : turns of the wheel for one of the crank.
    drifting : amplitude, J, of the wheel's own weight where it comes round at any crank angle; it is not in
        `potential`, and counts at its worst. Else 0.
    """

    crank: Array
    potential: Array
    inertia: Array
    reduction: float
    drifting: float = 0.0

    @property
    def felt(self) -> float:
        """J: the mean inertia as felt at the wheel, kg m2."""
        return float(np.mean(self.inertia)) / self.reduction**2

    @property
    def swing(self) -> float:
        """The swing dE of potential energy over the turn, J: the largest barrier, however many tops there are."""
        return float(np.ptp(self.potential)) + 2 * self.drifting

    @property
    def bottom(self) -> float:
        """Crank angle at which the potential energy is lowest, rad."""
        return float(self.crank[int(np.argmin(self.potential))])

    @property
    def clearing_speed(self) -> float:
        """The least wheel speed at the lowest point that carries it over the top, N sqrt(2 dE / M(bottom)), rad/s."""
        lowest = int(np.argmin(self.potential))
        return self.reduction * float(np.sqrt(2 * self.swing / self.inertia[lowest]))

    @property
    def heavy(self) -> float:
        """w_max^2 - w_min^2 = 2 dE / J as a heavy wheel has it that turns slowly, rad2/s2."""
        return 2 * self.swing / self.felt

    def at_energy(self, energy: float) -> Round | None:
        """Give the speeds over the turn at an energy E, J; None where that does not carry it over the top."""
        least, most = (
            self.reduction**2 * 2 * (energy - self.potential + way * self.drifting) / self.inertia for way in (-1, 1)
        )  # fmt: skip
        slowest = float(np.min(least))
        return Round(float(np.sqrt(slowest)), float(np.sqrt(np.max(most)))) if slowest >= 0 else None

    def at_mean(self, mean: float) -> Round | None:
        """Give the speeds over the turn of which the slowest and the fastest have a mean, rad/s.

        None where a piece with that mean does not come over the top by itself.
        """
        low = float(np.max(self.potential)) + self.drifting
        high = low + float(np.max(self.inertia)) / 2 * (mean / self.reduction) ** 2

        def off(energy: float) -> float:
            # At the lowest energy rounding may leave the top a hair out of reach.
            found = self.at_energy(max(energy, low + 1e-15 * abs(low)))
            return (0.0 if found is None else found.mean) - mean

        if mean <= 0 or off(low) > 0:
            return None
        # Both speeds grow with the energy, and at the highest one the slowest is the mean already.
        return self.at_energy(
            cast("float", brentq(off, low, high, xtol=1e-13 * max(abs(low), abs(high), 1e-9)))
        )


def coasting(closed: Linkage) -> Coasting:
    """Give what the energy of a sculpture depends on.

    A handle's weight counts at its own angle where the wheel makes whole turns for one of the crank, else at any.
    """
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, ANGLES, endpoint=False)
    parts = [moving_parts(s, crank) for s in closed.sides]
    inertia = np.sum([reduced_inertia(p) for p in parts], axis=0) + drive_inertia(m)
    if m.reduction.is_integer():
        return Coasting(crank, potential_energy(closed, crank), inertia, m.reduction)
    wings = np.sum([potential(p, m.gravity) for p in parts], axis=0)
    return Coasting(crank, wings, inertia, m.reduction, float(np.hypot(*unbalance(m))))
