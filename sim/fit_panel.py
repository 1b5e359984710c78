"""From wanted motion to dimensions, for one panel whose hinge line moves as known: what trials come to, and solving.

Unknown are throw radius and angle, rod, yoke pin out and below. A bounded least squares (scipy, trust region
reflective) has the motion off its wish and limits overstepped as residuals, over loops closed in closed form
(`sim.linkage`), for any number of trials at once.
"""

from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from scipy.optimize import least_squares  # pyright: ignore[reportUnknownVariableType]

from models.mechanism import Crankshaft, Panel
from sim.arrays import Array
from sim.linkage import TURN, extremes, panel_angle, phase, pin_place, rest_angle, transmission_angle
from sim.swivel import swivels

SAMPLES = 72
"""Crank angles over the turn while seeking; extremes between them are found by parabola."""
HARD = 10.0
"""How much more a limit overstepped counts than motion off by the same angle."""
NEAR = np.radians(0.02)
"""How near a solution has to come to its wishes and limits to count, rad, before it is rounded."""
CLOSES = 0.999
"""Most of |C / sqrt(A^2 + B^2)| of the closure equation: 1 locks, and between two crank angles it may be more."""
SPARE = np.radians(0.3)
"""What a solution keeps off its limits in angles, so that it can be rounded."""


@dataclass(frozen=True)
class Wish:
    """Motion wanted of a panel.

    Attributes
    ----------
    low, high : its lowest and highest angle from level, rad.
    lag : of its first harmonic behind the innermost panel's, rad of the crank's turn; None for the innermost.
    """

    low: float
    high: float
    lag: float | None


@dataclass(frozen=True)
class Limits:
    """What a panel's linkage has to keep.

    Attributes
    ----------
    transmission : least angle between rod and yoke arm, rad.
    swivel : most of a rod end, rad.
    aside : most that a rod may be off the middle between its own webs before it is past the shaft, m.
    throw, rod, out, below : least and most, m, of throw radius, rod, and yoke pin from the hinge line.
    """

    transmission: float
    swivel: float
    aside: float
    throw: tuple[float, float]
    rod: tuple[float, float]
    out: tuple[float, float]
    below: tuple[float, float]


@dataclass(frozen=True)
class Step:
    """What a shop makes lengths and the angles of throws in, m and rad."""

    length: float
    angle: float

    @property
    def sizes(self) -> Array:
        """Of each unknown (5,)."""
        return np.array([self.length, self.angle, self.length, self.length, self.length])


@dataclass(frozen=True, eq=False)
class Trial:
    """What m trials come to.

    Attributes
    ----------
    low, high : of the panel's angle (m,), rad.
    phase : crank angle (m,), rad, at which the panel angle's first harmonic peaks.
    transmission, swivel : least and most over the turn (m,), rad.
    reach : largest |C / sqrt(A^2 + B^2)| of the closure equation (m,): 1 and beyond does not close.
    aside : how far off the middle between its own webs a rod gets before it is past the shaft (m,), m.
    """

    low: Array
    high: Array
    phase: Array
    transmission: Array
    swivel: Array
    reach: Array
    aside: Array


@dataclass(frozen=True, eq=False)
class Task:
    """One panel to be fitted.

    Attributes
    ----------
    panel : as described; its place of throw and yoke pin along the shaft and the hinge are kept.
    shaft : its crankshaft, between whose webs the rod has to pass the shaft.
    crank : evenly spaced crank angles over the turn (n,), rad, its side's key angle in them.
    hinge : its hinge line (n, 3), m, in the side's coordinates.
    leader : phase of the innermost panel, rad; None when this is the innermost.
    wish, limits : what is wanted.
    """

    panel: Panel
    shaft: Crankshaft
    crank: Array
    hinge: Array
    leader: float | None
    wish: Wish
    limits: Limits

    def trial(self, x: Array, fold: int) -> Trial:
        """Try dimensions (m, 5), throw radius and angle, rod, yoke pin out and below, at all crank angles at once."""
        radius, turned, rod, out, below = (column[:, None] for column in x.T)
        p = self.panel
        at = self.crank + turned
        d = pin_place(radius, p.throw_out, at) - self.hinge - np.array([p.yoke_forward, 0.0, 0.0])
        angle, ratio = panel_angle(d, out, below, rod, fold)
        psi = angle + rest_angle(out, below)
        arm = np.hypot(out, below)
        to_yoke = np.stack([np.zeros_like(psi), arm * np.cos(psi), arm * np.sin(psi)], -1)
        along = (to_yoke - d) / rod[..., None]
        eyes = swivels(along, angle, p.pin_along, p.rod.clocking)
        inward = -(along[..., 0] * np.sin(at) + along[..., 2] * np.cos(at))
        beside = np.abs(along[..., 0] * np.cos(at) - along[..., 2] * np.sin(at))
        # A rod leaves its webs past the shaft or over their edge, whichever comes first.
        past = np.maximum(inward, 0.0) * radius + self.shaft.shaft / 2
        edge = (self.shaft.cheek.width + p.rod.diameter) / 2 / np.maximum(beside, 1e-9)
        return Trial(
            -extremes(-angle), extremes(angle), phase(angle),
            -extremes(-transmission_angle(d, psi, rod)), extremes(np.maximum(*eyes)), np.max(np.abs(ratio), -1),
            np.max(np.abs(along[..., 1]) * np.minimum(past, edge), -1),
        )  # fmt: skip

    def off(self, t: Trial) -> Array:
        """Give how far trials are off their wishes, (m, 2) or with the lag (m, 3), rad."""
        found = [t.low - self.wish.low, t.high - self.wish.high]
        if self.leader is not None and self.wish.lag is not None:
            found.append((t.phase - self.leader - self.wish.lag + np.pi) % TURN - np.pi)
        return np.stack(found, -1)

    def beyond(self, t: Trial, spare: float = 0.0) -> Array:
        """Give how far trials are beyond the limits that are not bounds of an unknown (m, 4); 0 within."""
        found = [self.limits.transmission + spare - t.transmission, t.swivel + spare - self.limits.swivel,
                 t.reach - CLOSES, t.aside / self.limits.aside - 1.0 + spare]  # fmt: skip
        return np.maximum(np.stack(found, -1), 0.0)

    def binding(self, s: "Solution") -> tuple[str, ...]:
        """Name the limits that a solution is at: within half a degree, or a hundredth of what is left open."""
        t = self.trial(s.x[None], s.fold)
        near = np.radians(0.5)
        named = [
            ("least transmission angle", t.transmission[0] - self.limits.transmission < near),
            ("largest swivel", self.limits.swivel - t.swivel[0] < near),
            ("room between its webs (crank.web.gap)", t.aside[0] > 0.98 * self.limits.aside),
            ("reach of the rod", t.reach[0] > 0.99),
        ]
        low, high = self.bounds
        slack = 0.01 * (high - low)
        for k, name in ((0, "throw"), (2, "rod"), (3, "yoke pin out"), (4, "yoke pin below")):
            named += [(f"shortest {name}" if k < 3 else f"least {name}", s.x[k] - low[k] < slack[k]),
                      (f"longest {name}" if k < 3 else f"most {name}", high[k] - s.x[k] < slack[k])]  # fmt: skip
        return tuple(name for name, at in named if at)

    @property
    def bounds(self) -> Array:
        """Least and most (2, 5) of the unknowns; an angle has none."""
        b = self.limits
        free = (-np.inf, np.inf)
        return np.array([b.throw, free, b.rod, b.out, b.below]).T

    @property
    def columns(self) -> list[int]:
        """The unknowns that are free."""
        return [0, 2, 3, 4] if self.leader is None else [0, 1, 2, 3, 4]


@dataclass(frozen=True, eq=False)
class Solution:
    """Dimensions of one panel (5,), on which way it folds, and how far it is off, as the root of squares, rad."""

    x: Array
    fold: int
    off: float

    @property
    def reached(self) -> bool:
        """Whether it comes to its wishes within the limits."""
        return self.off <= NEAR


def solve(task: Task, x: Array, fold: int) -> Solution:
    """Go from dimensions (5,) to the nearest that move as wanted within the limits, or as near as there are."""
    columns = task.columns
    low, high = (b[columns] for b in task.bounds)
    size = np.array([0.1, 1.0, 0.5, 0.2, 0.1])[columns]
    base = x.copy()

    def residuals(many: Array) -> Array:
        whole = np.repeat(base[None], len(many), 0)
        whole[:, columns] = many
        t = task.trial(whole, fold)
        return np.hstack([task.off(t), HARD * task.beyond(t, SPARE)])

    def slopes(u: Array) -> Array:
        step = 1e-6 * size
        both = residuals(np.vstack([u, u + np.diag(step)]))
        return ((both[1:] - both[0]) / step[:, None]).T

    begin = np.clip(x[columns], low + 1e-9, high - 1e-9)

    def at(u: Array) -> Array:
        return residuals(u[None])[0]

    found = cast("Any", least_squares)(
        at, begin, jac=slopes, bounds=(low, high), x_scale=size, max_nfev=60,
        ftol=1e-10, xtol=1e-7, gtol=1e-12,
    )  # fmt: skip
    base[columns] = found.x
    return Solution(base.copy(), fold, float(np.sqrt(2 * found.cost)))
