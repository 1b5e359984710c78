"""Where points of the parts are at given crank angles, how fast they move, and what that never exceeds.

Coordinates are the world's: forward, to the left, up, from the crank's axis on the post's. Rates are by crank
angle.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sim.arrays import Array
from sim.clearance.distance import Whole
from sim.clearance.rate_bounds import PanelBounds, panel_bounds
from sim.linkage import PanelCourse, SideLinkage

Kind = Literal["fixed", "wheel", "crank", "panel", "rod"]


@dataclass(frozen=True)
class Carrier:
    """What moves a shape, and in which coordinates its points are.

    Attributes
    ----------
    kind : "fixed" in the world's axes; "wheel" in the world's axes at crank angle 0, for one that turns with
        the crankshafts; "crank" in its side's axes at crank angle 0, without the key angle; "panel" forward,
        out and above from its hinge line; "rod" with the first coordinate from the crank pin toward the yoke
        pin, the others 0.
    side : which of the sides; of no account for what belongs to neither.
    panel : which panel of the side, for a panel or its rod.
    """

    kind: Kind
    side: int = 0
    panel: int = 0


FIXED, WHEEL = Carrier("fixed"), Carrier("wheel")


@dataclass(frozen=True)
class Track:
    """Points over n crank angles: places and rates (n, k, 3), m."""

    value: Array
    first: Array


@dataclass(frozen=True)
class Turning:
    """How a carrier's axes turn about x: rate (n,), and the pivot's place and rate (n, 3)."""

    rate: Array
    value: Array
    first: Array


class Bounds:
    """What second derivatives do not exceed over cells of the turn, for every carrier."""

    def __init__(self, sides: tuple[SideLinkage, ...]) -> None:
        self.sides = sides
        self.panels: tuple[tuple[PanelBounds, ...], ...] = tuple(panel_bounds(s) for s in sides)

    def second(self, carrier: Carrier, points: Array, cells: int) -> Array:
        """Give the bound (cells,) on |second derivative|, m, of any of the points (k, 3) in each cell.

        Of points between them too: it is that of the point farthest from the axis or hinge line.
        """
        if carrier.kind == "fixed":
            return np.zeros(cells)
        if carrier.kind in ("crank", "wheel"):
            return np.full(cells, float(np.hypot(points[:, 0], points[:, 2]).max()))
        bounds = self.panels[carrier.side][carrier.panel]
        if carrier.kind == "panel":
            reach = float(np.hypot(points[:, 1], points[:, 2]).max())
            return regrouped(bounds.hinge + _share(reach, bounds.sweep), cells)
        panel = self.sides[carrier.side].side.panels[carrier.panel]
        shares = (x / panel.rod.length for x in (points[:, 0].min(), points[:, 0].max()))
        ends = [(1 - t) * panel.throw_radius + _share(t, bounds.yoke) for t in shares]
        return regrouped(np.maximum(*ends), cells)

    def pivot(self, carrier: Carrier, cells: int) -> Array:
        """Give the bound (cells,) on |second derivative| of a panel's hinge line, m."""
        return regrouped(self.panels[carrier.side][carrier.panel].hinge, cells)


def regrouped(values: Array, cells: int) -> Array:
    """Give bounds that hold in `cells` cells from those in other, nested cells of the same turn.

    Raises
    ------
    ValueError
        If neither number of cells divides the other.
    """
    n = len(values)
    if n % cells == 0:
        return values.reshape(cells, n // cells).max(1)
    if cells % n == 0:
        return np.repeat(values, cells // n)
    raise ValueError(f"{cells} cells are not nested in {n}")


def _share(share: float, bound: Array) -> Array:
    """Give a share of a bound that may be infinite; of what has no share in it, nothing."""
    return share * bound if share > 0 else np.zeros(len(bound))


class Poses:
    """The sculpture at n crank angles."""

    def __init__(self, sides: tuple[SideLinkage, ...], crank: Array) -> None:
        self.crank = crank
        self._sides = sides
        self._courses: dict[int, tuple[PanelCourse, ...]] = {}

    def courses(self, side: int) -> tuple[PanelCourse, ...]:
        """Give the courses of a side's panels."""
        if side not in self._courses:
            self._courses[side] = self._sides[side].course(self.crank)
        return self._courses[side]

    def track(self, carrier: Carrier, points: Array, at: Whole) -> Track:
        """Give points (k, 3) of a carrier at some of the crank angles (indices, n)."""
        if carrier.kind == "fixed":
            value = np.broadcast_to(points, (len(at), *points.shape))
            return Track(value, np.zeros(value.shape))
        if carrier.kind == "wheel":
            return _about_axis(self.crank[at], points)
        track = {"crank": self._crank, "panel": self._panel, "rod": self._rod}[carrier.kind](
            carrier, points, at
        )
        mirror = np.array([1.0, self._sides[carrier.side].side.sign, 1.0])
        return Track(track.value * mirror, track.first * mirror)

    def _crank(self, carrier: Carrier, points: Array, at: Whole) -> Track:
        return _about_axis(self.crank[at] + self._sides[carrier.side].side.key_angle, points)

    def _panel(self, carrier: Carrier, points: Array, at: Whole) -> Track:
        course = self.courses(carrier.side)[carrier.panel]
        angle, rate = course.angle.value[at][:, None], course.angle.first[at][:, None]
        c, s = np.cos(angle), np.sin(angle)
        out, up = c * points[:, 1] - s * points[:, 2], s * points[:, 1] + c * points[:, 2]
        ahead = np.broadcast_to(points[:, 0], out.shape)
        ride, turn = (
            np.stack([ahead, out, up], -1),
            np.stack([np.zeros(out.shape), -rate * up, rate * out], -1),
        )
        return Track(course.hinge.value[at][:, None] + ride, course.hinge.first[at][:, None] + turn)

    def _rod(self, carrier: Carrier, points: Array, at: Whole) -> Track:
        course = self.courses(carrier.side)[carrier.panel]
        share = points[:, :1] / course.panel.rod.length
        pin, yoke = course.pin, course.yoke
        value = (1 - share) * pin.value[at][:, None] + share * yoke.value[at][:, None]
        return Track(value, (1 - share) * pin.first[at][:, None] + share * yoke.first[at][:, None])

    def turning(self, carrier: Carrier, at: Whole) -> Turning:
        """Give how a panel's axes turn about the world's x axis, and its hinge line."""
        course = self.courses(carrier.side)[carrier.panel]
        sign = self._sides[carrier.side].side.sign
        mirror = np.array([1.0, sign, 1.0])
        return Turning(
            sign * course.angle.first[at], course.hinge.value[at] * mirror, course.hinge.first[at] * mirror
        )


def _about_axis(angle: Array, points: Array) -> Track:
    """Give points (k, 3) that turn about the y axis by angles (n,)."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    x, z = c * points[:, 0] + s * points[:, 2], c * points[:, 2] - s * points[:, 0]
    out = np.broadcast_to(points[:, 1], x.shape)
    return Track(np.stack([x, out, z], -1), np.stack([z, np.zeros(x.shape), -x], -1))
