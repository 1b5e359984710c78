"""Lateral natural frequencies of a stepped round bar with lumped masses on rigid or elastic supports.

Timoshenko beam elements with two nodes: stiffness with shear deformation, consistent mass with rotary inertia
(Friedman and Kosmatka, Computers and Structures 47:473, 1993; form from memory, checked in tests/published against a
reference library and closed forms). Shear coefficient of round tubes by Cowper (J. Appl. Mech. 33:335, 1966; memory).

The bar stands still: the gyroscopic moments of turning discs are left out. On a disc that is broader than long they
raise the speed at which a shaft whirls with its own turning, so what stands here is below that and cautious.
Axial force is left out too.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from sim.arrays import Array
from sim.vibration.rotors import eigenpairs

PIECES = 12
"""Elements in the shortest wave looked for, at least: the first frequencies are then within 1e-4."""
ROUNDING = 1e-12
"""Share of the largest 1 / w^2 below which one is rounding."""
APART = 1e-9
"""Distance, m, below which two places are one."""


@dataclass(frozen=True)
class Section:
    """A length of the bar.

    Attributes
    ----------
    start, end : places along it, m.
    diameter, bore : outside and inside, m.
    modulus, density : Pa, kg/m3; a density of 0 leaves its mass to the lumps.
    poisson : for the shear modulus and the shear coefficient.
    """

    start: float
    end: float
    diameter: float
    modulus: float
    density: float
    bore: float = 0.0
    poisson: float = 0.3

    @property
    def area(self) -> float:
        """m2."""
        return float(np.pi / 4 * (self.diameter**2 - self.bore**2))

    @property
    def second_moment(self) -> float:
        """m4."""
        return float(np.pi / 64 * (self.diameter**4 - self.bore**4))

    @property
    def shear_coefficient(self) -> float:
        """Cowper's for a round tube, 6 (1 + nu) / (7 + 6 nu) where it is solid."""
        nu, m = self.poisson, (self.bore / self.diameter) ** 2
        round_ = (1 + m) ** 2
        return 6 * (1 + nu) * round_ / ((7 + 6 * nu) * round_ + (20 + 12 * nu) * m)


@dataclass(frozen=True)
class Lump:
    """A mass on the bar: place, m, kg, and its inertia about a line across the bar through its centre, kg m2."""

    at: float
    mass: float
    inertia: float = 0.0


@dataclass(frozen=True)
class Support:
    """What holds the bar: place, m, stiffness, N/m, or None for rigid, and whether it holds its slope as well."""

    at: float
    stiffness: float | None = None
    clamped: bool = False


@dataclass(frozen=True)
class LateralModes:
    """Modes of a bar.

    Attributes
    ----------
    frequencies : (m,) rad/s, slowest first.
    places : (n,) nodes along the bar, m.
    shapes : (m, n) sideways movement at the nodes, each mode's largest 1.
    """

    frequencies: Array
    places: Array
    shapes: Array


def lateral_modes(
    sections: Sequence[Section], lumps: Sequence[Lump], supports: Sequence[Support], count: int = 3
) -> LateralModes:
    """Give the first modes in one plane.

    Parameters
    ----------
    sections : one after the other along the bar.
    lumps, supports : on it.
    count : of modes.

    Raises
    ------
    ValueError
        Where sections do not join, a lump or a support lies off the bar, or nothing holds it.
    """
    ordered = sorted(sections, key=lambda s: s.start)
    _check(ordered, lumps, supports)
    places = _nodes(ordered, lumps, supports, count)
    stiffness, mass = _matrices(ordered, lumps, supports, places)
    held = {
        2 * _node(places, s.at) + k for s in supports for k in ((0,) if not s.clamped else (0, 1))
        if s.stiffness is None or k == 1
    }  # fmt: skip
    free = [k for k in range(2 * len(places)) if k not in held]
    k, m = stiffness[np.ix_(free, free)], mass[np.ix_(free, free)]
    # 1 / w^2 as the eigenvalue: a bar without mass of its own leaves M singular, and K never is.
    inverse, shapes = eigenpairs(m, k)
    largest = np.argsort(inverse)[::-1][:count]
    # What has no mass does not swing: zero but for rounding.
    largest = largest[inverse[largest] > ROUNDING * inverse[largest[0]]]
    whole = np.zeros((2 * len(places), len(largest)))
    whole[free] = shapes[:, largest]
    sideways = whole[::2].T
    sideways = sideways / np.max(np.abs(sideways), axis=1, keepdims=True)
    return LateralModes(1 / np.sqrt(inverse[largest]), places, sideways)


def _check(ordered: Sequence[Section], lumps: Sequence[Lump], supports: Sequence[Support]) -> None:
    if any(abs(a.end - b.start) > APART for a, b in pairwise(ordered)) or not ordered:
        raise ValueError("the bar's sections do not join; write one after the other without gaps")
    first, last = ordered[0].start - APART, ordered[-1].end + APART
    off = [x.at for x in (*lumps, *supports) if not first <= x.at <= last]
    if off:
        raise ValueError(f"off the bar, from {ordered[0].start} to {ordered[-1].end} m: {off}")
    if len({s.at for s in supports}) + sum(s.clamped for s in supports) < 2:
        raise ValueError("nothing holds the bar; give two supports or a clamped one")


def _nodes(
    ordered: Sequence[Section], lumps: Sequence[Lump], supports: Sequence[Support], count: int
) -> Array:
    """Give the nodes: every place that counts, and enough between."""
    marked = sorted({*(x for s in ordered for x in (s.start, s.end)), *(x.at for x in (*lumps, *supports))})
    apart = [marked[0]]
    apart += [b for a, b in pairwise(marked) if b - a > APART]
    longest = (apart[-1] - apart[0]) / (PIECES * max(1, (count + 1) // 2))
    found = [apart[0]]
    for a, b in pairwise(apart):
        found += list(np.linspace(a, b, max(1, int(np.ceil((b - a) / longest))) + 1)[1:])
    return np.array(found)


def _node(places: Array, at: float) -> int:
    return int(np.argmin(np.abs(places - at)))


def _matrices(
    ordered: Sequence[Section], lumps: Sequence[Lump], supports: Sequence[Support], places: Array
) -> tuple[Array, Array]:
    stiffness, mass = np.zeros((2, 2 * len(places), 2 * len(places)))
    for n, (a, b) in enumerate(pairwise(places)):
        section = next(s for s in ordered if s.start - APART <= (a + b) / 2 <= s.end + APART)
        k, m = element(section, float(b - a))
        at = slice(2 * n, 2 * n + 4)
        stiffness[at, at] += k
        mass[at, at] += m
    for lump in lumps:
        at = 2 * _node(places, lump.at)
        mass[at, at] += lump.mass
        mass[at + 1, at + 1] += lump.inertia
    for support in supports:
        if support.stiffness is not None:
            at = 2 * _node(places, support.at)
            stiffness[at, at] += support.stiffness
    return stiffness, mass


def element(section: Section, length: float) -> tuple[Array, Array]:
    """Give the stiffness and the mass (4, 4) of an element, by movement and slope of its two ends."""
    el, area, bend = length, section.area, section.second_moment
    shear = section.modulus / (2 * (1 + section.poisson))
    rigidity = section.modulus * bend
    p = 12 * rigidity / (section.shear_coefficient * shear * area * el**2)
    k = rigidity / ((1 + p) * el**3) * np.array([
        [12, 6 * el, -12, 6 * el],
        [6 * el, (4 + p) * el**2, -6 * el, (2 - p) * el**2],
        [-12, -6 * el, 12, -6 * el],
        [6 * el, (2 - p) * el**2, -6 * el, (4 + p) * el**2],
    ])  # fmt: skip
    a, b = 70 * p**2 + 147 * p + 78, (35 * p**2 + 77 * p + 44) * el / 4
    c, d = 35 * p**2 + 63 * p + 27, (35 * p**2 + 63 * p + 26) * el / 4
    e, f = (7 * p**2 + 14 * p + 8) * el**2 / 4, (7 * p**2 + 14 * p + 6) * el**2 / 4
    moved = np.array([[a, b, c, -d], [b, e, d, -f], [c, d, a, -b], [-d, -f, -b, e]])
    g, h = 36.0, (3 - 15 * p) * el
    i, j = (10 * p**2 + 5 * p + 4) * el**2, (5 * p**2 - 5 * p - 1) * el**2
    turned = np.array([[g, h, -g, h], [h, i, -h, j], [-g, -h, g, -h], [h, j, -h, i]])
    share = section.density / (1 + p) ** 2
    return k, share * area * el / 210 * moved + share * bend / (30 * el) * turned
