"""Certain bounds on how fast the panels turn between crank angles, not only at them.

Over a cell of crank angles, half as wide as h about its middle, suppose |psi'| is at most K1 = |psi'| in the
middle + h K2. Then every quantity of the implicit second derivative (see `sim.linkage`)

    psi'' = [d'.d' + rod.d'' + arm (u.d psi'^2 - 2 n.d' psi')] / (arm n.d)

is bounded by its value in the middle and its rate, where d runs from the hinge line to the crank pin and
|rod| is the rod's length. Where that bound is at most K2, the supposition is a fact all over the cell: psi'
cannot reach K1 inside it. K2 is raised until it is; where the cell is too wide for that, cells are halved.
(Own derivation; a bootstrap as in existence proofs for differential equations.)
"""

from dataclasses import dataclass

import numpy as np

from models.mechanism import Panel
from sim.arrays import Array
from sim.linkage import TURN, PanelCourse, SideLinkage

CELLS = 1152
MOST_CELLS = 36864
_RAISES = 40


@dataclass(frozen=True)
class PanelBounds:
    """What a panel's motion does not exceed in each of n equal cells of the crank's turn.

    Attributes
    ----------
    first, second : of |angle'| and |angle''| (n,), per rad and rad2 of crank angle; infinite where unknown.
    hinge : of the hinge line's |second derivative| (n,), m.
    yoke : of the yoke pin's |second derivative| (n,), m.
    """

    first: Array
    second: Array
    hinge: Array
    yoke: Array

    @property
    def sweep(self) -> Array:
        """Bound (n,) on the second derivative of a point 1 m from the hinge line, seen from there."""
        return np.hypot(self.second, self.first**2)


def middles(cells: int) -> Array:
    """Give the crank angles in the middle of equal cells of the turn, rad."""
    return np.linspace(TURN / cells / 2, TURN - TURN / cells / 2, cells)


def panel_bounds(side: SideLinkage) -> tuple[PanelBounds, ...]:
    """Give the bounds of every panel of a side, in the same cells.

    Next to a locked linkage, where even the smallest cells prove nothing, they are infinite.
    """
    cells = CELLS
    found = _all(side, cells)
    while cells < MOST_CELLS and not all(np.isfinite(b.second).all() for b in found):
        cells *= 2
        found = _all(side, cells)
    return found


def _all(side: SideLinkage, cells: int) -> tuple[PanelBounds, ...]:
    h = np.pi / cells
    found: list[PanelBounds] = []
    hinge = np.zeros(cells)
    courses = side.course(middles(cells))
    for k, course in enumerate(courses):
        if k > 0:
            reach = float(np.hypot(course.panel.hinge_out, course.panel.hinge_up))
            hinge = found[-1].hinge + reach * found[-1].sweep
        found.append(_bounds(course, hinge, h))
    return tuple(found)


@dataclass(frozen=True)
class _Middle:
    """Values in the middle of the cells, each (n,), and the bounds they rest on."""

    panel: Panel
    arm: float
    lever: Array
    toward: Array
    crosswise: Array
    pull: Array
    distance: Array
    speed: Array
    first: Array
    second: Array
    hinge: Array


def _bounds(course: PanelCourse, hinge: Array, h: float) -> PanelBounds:
    at = _middle(course, hinge)
    second = 1.2 * np.abs(at.second) + 0.1
    proved = np.zeros(len(second), dtype=bool)
    for _ in range(_RAISES):
        shown = _second(at, at.first + h * second, h)
        proved = shown <= second
        if proved.all():
            break
        # A bound that only grows by being raised is given up by the count of raises.
        second = np.where(proved, second, np.minimum(1.1 * shown, 1e6))
    second = np.where(proved, second, np.inf)
    first = at.first + h * second
    yoke = hinge + at.arm * np.hypot(second, first**2)
    return PanelBounds(first, second, hinge, yoke)


def _middle(course: PanelCourse, hinge: Array) -> _Middle:
    panel = course.panel
    arm = float(np.hypot(panel.yoke_out, panel.yoke_below))
    ahead = np.array([panel.yoke_forward, 0.0, 0.0])
    d = course.pin.value - course.hinge.value - ahead
    d1 = course.pin.first - course.hinge.first
    u = (course.yoke.value - course.hinge.value - ahead) / arm
    n = np.stack([np.zeros(len(u)), -u[:, 2], u[:, 1]], -1)
    rod = d - arm * u
    return _Middle(
        panel,
        arm,
        lever=np.abs(_dot(n, d)),
        toward=np.abs(_dot(u, d)),
        crosswise=np.abs(_dot(n, d1)),
        pull=np.abs(_dot(rod, course.pin.second)),
        distance=np.hypot(d[:, 1], d[:, 2]),
        speed=np.linalg.norm(d1, axis=-1),
        first=np.abs(course.angle.first),
        second=np.abs(course.angle.second),
        hinge=hinge,
    )


def _second(at: _Middle, first: Array, h: float) -> Array:
    """Give the bound (n,) on |psi''| that follows from one on |psi'| over cells of half-width h."""
    rod, throw = at.panel.rod.length, at.panel.throw_radius
    second = throw + at.hinge
    speed = at.speed + h * second
    distance = at.distance + h * speed
    lever = at.lever - h * (first * distance + speed)
    toward = at.toward + h * (first * distance + speed)
    crosswise = at.crosswise + h * (first * speed + second)
    # rod' = d' - arm n psi', and the pin's third derivative is as long as the throw.
    pull = at.pull + h * throw * (speed + at.arm * first + rod)
    top = speed**2 + pull + rod * at.hinge + at.arm * (toward * first**2 + 2 * crosswise * first)
    return np.where(lever > 0, top / (at.arm * np.where(lever > 0, lever, 1.0)), np.inf)


def _dot(a: Array, b: Array) -> Array:
    return np.sum(a * b, -1)
