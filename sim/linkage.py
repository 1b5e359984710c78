"""Closed loops in closed form: where every panel and rod is at any crank angle, and how it moves.

Coordinates of a side: forward, out, up, as if it were the left one. The rod runs from the crank pin, which
turns about the out axis, to a point on a circle about the hinge line, which lies forward. Per panel the
closure is A cos(psi) + B sin(psi) = C with psi the direction of the yoke pin seen from the hinge line, so
psi = atan2(B, A) +/- acos(C / sqrt(A^2 + B^2)) (McCarthy and Soh, Geometric Design of Linkages, appendix A).
Rates follow from the implicit derivatives of the same equation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.loading import DescriptionError
from models.mechanism import Panel, Side
from sim.arrays import Array

TURN = 2 * np.pi
SAMPLES = 1440
"""Crank angles at which closure over the turn is decided; extremes between them are found by parabola."""


class CannotClose(DescriptionError):
    """A linkage that does not close over the whole turn."""


@dataclass(frozen=True)
class Course:
    """A quantity over crank angles with its first and second derivative with respect to the crank angle.

    Each array is (n,) or (n, 3).
    """

    value: Array
    first: Array
    second: Array


@dataclass(frozen=True)
class PanelCourse:
    """One panel's linkage over n crank angles, in the coordinates of its side.

    Attributes
    ----------
    panel : its description.
    angle : of the panel from level, up positive (n,), rad.
    hinge, pin, yoke : points (n, 3), m: hinge line's origin, crank pin's centre, yoke pin's centre.
    transmission : angle between the rod and the yoke arm's line, (n,), rad: 90 deg pushes best, 0 locks.
    """

    panel: Panel
    angle: Course
    hinge: Course
    pin: Course
    yoke: Course
    transmission: Array


@dataclass(frozen=True)
class SideLinkage:
    """A side whose loops close over the whole turn; ask `course` for any crank angles.

    Attributes
    ----------
    side : its description.
    folds : for each panel +1 or -1, the sign in front of the arc cosine.
    """

    side: Side
    folds: tuple[int, ...]

    def course(self, crank: Array) -> tuple[PanelCourse, ...]:
        """Give the course of every panel at crank angles (n,), rad."""
        found: list[PanelCourse] = []
        for panel, fold in zip(self.side.panels, self.folds, strict=True):
            hinge = _hinge(panel, found[-1] if found else None, len(crank))
            found.append(_course(panel, _pin(panel, crank + self.side.key_angle), hinge, fold))
        return tuple(found)


def close(side: Side, label: str = "description") -> SideLinkage:
    """Close the loops of a side over the whole turn and decide on which way each folds.

    Raises
    ------
    CannotClose
        When a rod cannot reach somewhere on the turn: the panel, the crank angles, and the rod lengths that
        would reach, or that there is none.
    """
    crank = np.linspace(0, TURN, SAMPLES, endpoint=False)
    folds: list[int] = []
    found: list[PanelCourse] = []
    for panel in side.panels:
        hinge = _hinge(panel, found[-1] if found else None, len(crank))
        pin = _pin(panel, crank + side.key_angle)
        words = _out_of_reach(panel, pin, hinge, crank)
        if words is not None:
            raise CannotClose([f"{label}: {side.name} side, panel '{panel.name}': {words}"])
        fold = _fold(side, panel, pin, hinge, folds)
        folds.append(fold)
        found.append(_course(panel, pin, hinge, fold))
    return SideLinkage(side, tuple(folds))


def reach(panel: Panel, pin: Course, hinge: Course) -> tuple[Array, Array]:
    """Give the least and the greatest distance (n,) between the crank pin and the yoke pin's circle."""
    d = pin.value - hinge.value
    arm = np.hypot(panel.yoke_out, panel.yoke_below)
    ahead = d[:, 0] - panel.yoke_forward
    across = np.hypot(d[:, 1], d[:, 2])
    return np.hypot(ahead, across - arm), np.hypot(ahead, across + arm)


def extreme(values: Array) -> float:
    """Give the largest of samples of a smooth periodic function, with a parabola through the top three."""
    return float(extremes(values))


def extremes(values: Array) -> Array:
    """Give the largest (...) of samples (..., n) of smooth periodic functions; see `extreme`."""
    n = values.shape[-1]
    k = np.argmax(values, -1)[..., None]
    a, b, c = (np.take_along_axis(values, (k + j) % n, -1)[..., 0] for j in (-1, 0, 1))
    bend = a - 2 * b + c
    return b - np.where(bend < 0, (a - c) ** 2 / (8 * np.where(bend < 0, bend, -1.0)), 0.0)


def phase(values: Array) -> Array:
    """Give the angles (...), rad, at which the first harmonics of evenly spaced values (..., n) peak."""
    n = values.shape[-1]
    turn = np.linspace(0, TURN, n, endpoint=False)
    return np.arctan2(values @ np.sin(turn), values @ np.cos(turn))


def pin_place(radius: float | Array, out: float, at: Array) -> Array:
    """Give a crank pin (..., 3), m, turned by angles `at` (...): straight up at 0, forward at 90 deg."""
    return np.stack([radius * np.sin(at), np.full_like(at, out), radius * np.cos(at)], -1)


def _pin(panel: Panel, crank: Array) -> Course:
    """Give the crank pin's course."""
    at = crank + panel.throw_angle
    place = pin_place(panel.throw_radius, panel.throw_out, at)
    s, c, still = place[:, 0], place[:, 2], np.zeros_like(at)
    return Course(place, np.stack([c, still, -s], -1), np.stack([-s, still, -c], -1))


def _hinge(panel: Panel, before: PanelCourse | None, n: int) -> Course:
    """Give the hinge line's course: at rest for the innermost panel, else riding on the panel before."""
    local = np.array([panel.hinge_forward, panel.hinge_out, panel.hinge_up])
    if before is None:
        still = np.zeros((n, 3))
        return Course(still + local, still, still)
    ride = _carried(before.angle, local)
    return Course(before.hinge.value + ride.value, before.hinge.first + ride.first,
                  before.hinge.second + ride.second)  # fmt: skip


def _carried(angle: Course, local: Array) -> Course:
    """Give the course of a point fixed to a panel (forward, out, above), from its hinge line."""
    c, s = np.cos(angle.value)[:, None], np.sin(angle.value)[:, None]
    first, second = angle.first[:, None], angle.second[:, None]
    along = np.array([local[0], 0.0, 0.0])
    u = np.concatenate([0 * c, local[1] * c - local[2] * s, local[1] * s + local[2] * c], -1)
    n = np.concatenate([0 * c, -u[:, 2:], u[:, 1:2]], -1)
    return Course(along + u, n * first, n * second - u * first**2)


def carried(course: PanelCourse, local: Array) -> Course:
    """Give the course of a point fixed to a panel.

    Parameters
    ----------
    course : the panel's.
    local : (3,) forward, out and above from the panel's hinge line, m.
    """
    ride = _carried(course.angle, local)
    return Course(course.hinge.value + ride.value, course.hinge.first + ride.first,
                  course.hinge.second + ride.second)  # fmt: skip


def panel_angle(
    d: Array, out: float | Array, below: float | Array, length: float | Array, fold: int
) -> tuple[Array, Array]:
    """Solve the closure equation, for one linkage or for many at once.

    Parameters
    ----------
    d : (..., 3) crank pin from the hinge line, where the yoke pin's circle has its centre, m.
    out, below : yoke pin from the hinge line, m.
    length : of the rod, m.
    fold : sign in front of the arc cosine.

    Returns
    -------
    Panel angle (...) from level, rad, and C / sqrt(A^2 + B^2), which is beyond -1 to 1 where the rod does not reach.
    """
    arm = np.hypot(out, below)
    a, b = 2 * arm * d[..., 1], 2 * arm * d[..., 2]
    c = arm**2 + _dot(d, d) - length**2
    ratio = c / np.hypot(a, b)
    angle = np.arctan2(b, a) + fold * np.arccos(np.clip(ratio, -1, 1)) - rest_angle(out, below)
    return (angle + np.pi) % TURN - np.pi, ratio


def rest_angle(out: float | Array, below: float | Array) -> Array:
    """Give the direction of a yoke pin from the hinge line when the panel is level, rad."""
    return np.arctan2(-below, out)


def transmission_angle(d: Array, psi: Array, length: float | Array) -> Array:
    """Give the angle (...), rad, between the rod and the yoke arm's line; `d` and `length` as in `panel_angle`.

    `psi` (...) is the direction of the yoke pin. The rod's part across the arm is all the crank pin's: the yoke pin
    has none.
    """
    across = (d[..., 2] * np.cos(psi) - d[..., 1] * np.sin(psi)) / length
    return np.arcsin(np.clip(np.abs(across), 0, 1))


def _panel_angle(panel: Panel, pin: Course, hinge: Course, fold: int) -> Array:
    d = pin.value - hinge.value - np.array([panel.yoke_forward, 0.0, 0.0])
    return panel_angle(d, panel.yoke_out, panel.yoke_below, panel.rod.length, fold)[0]


def _course(panel: Panel, pin: Course, hinge: Course, fold: int) -> PanelCourse:
    """Solve the closure and differentiate it implicitly."""
    angle = _panel_angle(panel, pin, hinge, fold)
    arm = np.hypot(panel.yoke_out, panel.yoke_below)
    psi = angle + rest_angle(panel.yoke_out, panel.yoke_below)
    zero = np.zeros_like(psi)
    u = np.stack([zero, np.cos(psi), np.sin(psi)], -1)
    n = np.stack([zero, -np.sin(psi), np.cos(psi)], -1)
    d = pin.value - hinge.value - np.array([panel.yoke_forward, 0.0, 0.0])
    d1, d2 = pin.first - hinge.first, pin.second - hinge.second
    lever = arm * _dot(n, d)
    first = (_dot(d, d1) - arm * _dot(u, d1)) / lever
    second = (
        _dot(d1, d1) + _dot(d, d2) + arm * (_dot(u, d) * first**2 - 2 * _dot(n, d1) * first - _dot(u, d2))
    ) / lever
    course = Course(angle, first, second)
    local = np.array([panel.yoke_forward, panel.yoke_out, -panel.yoke_below])
    ride = _carried(course, local)
    yoke = Course(hinge.value + ride.value, hinge.first + ride.first, hinge.second + ride.second)
    return PanelCourse(panel, course, hinge, pin, yoke, transmission_angle(d, psi, panel.rod.length))


def _dot(a: Array, b: Array) -> Array:
    return np.sum(a * b, -1)


def _fold(side: Side, panel: Panel, pin: Course, hinge: Course, folds: list[int]) -> int:
    """Choose the fold that an observed panel angle shows, or else the one nearer level over the turn."""
    both = {fold: _panel_angle(panel, pin, hinge, fold) for fold in (1, -1)}
    if panel.seen_panel is None:
        return min(both, key=lambda fold: float(np.mean(np.abs(both[fold]))))
    at = np.array([panel.seen_crank])
    inner = SideLinkage(side, tuple(folds)) if folds else None
    before = _before(inner, at)
    here = _hinge(panel, before, 1)
    seen = {f: _panel_angle(panel, _pin(panel, at + side.key_angle), here, f)[0] for f in both}
    wanted = panel.seen_panel
    return min(seen, key=lambda f: abs((seen[f] - wanted + np.pi) % TURN - np.pi))


def _before(inner: SideLinkage | None, crank: Array) -> PanelCourse | None:
    """Give the course of the last panel closed so far at some crank angles."""
    if inner is None:
        return None
    found: PanelCourse | None = None
    for panel, fold in zip(inner.side.panels, inner.folds, strict=False):
        found = _course(
            panel, _pin(panel, crank + inner.side.key_angle), _hinge(panel, found, len(crank)), fold
        )
    return found


def _out_of_reach(panel: Panel, pin: Course, hinge: Course, crank: Array) -> str | None:
    """Say where the rod does not reach and what would, or give None when it reaches everywhere."""
    least, greatest = reach(panel, pin, hinge)
    shortest, longest = extreme(least), -extreme(-greatest)
    length = panel.rod.length
    if shortest < length < longest:
        return None
    if shortest >= longest:
        remedy = (
            f"no rod length closes the whole turn (at least {shortest:.4f} m is needed somewhere, at most "
        )
        remedy += f"{longest:.4f} m elsewhere); make the throw smaller or move the yoke pin"
    elif length <= shortest:
        remedy = f"longer than {shortest:.4f} m and shorter than {longest:.4f} m would"
    else:
        remedy = f"shorter than {longest:.4f} m and longer than {shortest:.4f} m would"
    bad = (least >= length) | (greatest <= length)
    return f"rod {length:.4f} m cannot reach {_ranges(bad, crank)}; {remedy}"


def _ranges(bad: NDArray[np.bool_], crank: Array) -> str:
    """Name the crank angles where something is true: 'between crank angles 212 and 238 deg'."""
    if bad.all():
        return "anywhere on the turn"
    if not bad.any():
        return "at one crank angle at least"
    degrees = np.degrees(crank)
    starts = np.flatnonzero(bad & ~np.roll(bad, 1))
    ends = np.flatnonzero(bad & ~np.roll(bad, -1))
    if ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    spans = [f"{degrees[a]:.0f} and {degrees[b]:.0f} deg" for a, b in zip(starts, ends, strict=True)]
    return "between crank angles " + ", and between ".join(spans)
