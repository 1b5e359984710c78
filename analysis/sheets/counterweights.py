"""Plates that are a counterweight: of its mass, their centre of gravity at its radius.

A square plate's area follows from mass, density and thickness, its centre is its middle. A segment of a disc about the
shaft's axis, cut off by a chord of half length c and reaching over the half angle a, has the area R^2 (a - sin a cos a)
and the first moment 2/3 c^3 about the axis (textbook tables of centroids; memory, and integrated anew in the tests):
mass times radius gives the width at once, and the area the angle.
"""

import math
from dataclasses import dataclass
from typing import cast

from scipy.optimize import brentq  # pyright: ignore[reportUnknownVariableType]

WIDEST = math.pi / 2
"""Half angle, rad, of half a disc: a segment beyond it surrounds the shaft."""


@dataclass(frozen=True)
class SquarePlate:
    """A square plate, one edge across the radius.

    Attributes
    ----------
    side, thickness : m.
    radius : of its centre from the axis, m.
    """

    side: float
    thickness: float
    radius: float

    @property
    def nearest(self) -> float:
        """Distance of its inner edge from the axis, m."""
        return self.radius - self.side / 2

    @property
    def farthest(self) -> float:
        """Distance of its outer corners from the axis, m."""
        return math.hypot(self.radius + self.side / 2, self.side / 2)


@dataclass(frozen=True)
class Segment:
    """A segment of a disc about the axis, cut off by a chord.

    Attributes
    ----------
    outside : radius of the disc, m.
    half : half the angle that it reaches over, rad.
    thickness : m.
    """

    outside: float
    half: float
    thickness: float

    @property
    def width(self) -> float:
        """Length of the chord, m."""
        return 2 * self.outside * math.sin(self.half)

    @property
    def nearest(self) -> float:
        """Distance of the chord from the axis, m; negative where it lies beyond it."""
        return self.outside * math.cos(self.half)

    @property
    def farthest(self) -> float:
        """Distance of the arc from the axis, m."""
        return self.outside

    @property
    def height(self) -> float:
        """From the chord to the arc, m."""
        return self.outside - self.nearest

    @property
    def area(self) -> float:
        """m2."""
        return self.outside**2 * (self.half - math.sin(self.half) * math.cos(self.half))

    @property
    def centroid(self) -> float:
        """Distance of its centre of gravity from the axis, m."""
        return 2 / 3 * (self.width / 2) ** 3 / self.area


def square_plate(mass: float, radius: float, thickness: float, density: float) -> SquarePlate:
    """Give the square plate of a mass, kg, at a radius, m, of a thickness, m, and density, kg/m3."""
    _positive(mass, radius, thickness, density)
    return SquarePlate(math.sqrt(mass / (density * thickness)), thickness, radius)


def segment(mass: float, radius: float, thickness: float, density: float) -> Segment:
    """Give the segment of a disc of a mass, kg, whose centre of gravity is at a radius, m.

    Parameters
    ----------
    mass, radius : of the counterweight, kg and m.
    thickness, density : of the plate, m and kg/m3.

    Half the chord is c = (3/2 A r)^(1/3) with the area A; (a - sin a cos a) / sin^2 a = A / c^2 gives the half angle,
    which rises from 0 without bound as a goes from 0 to pi, so that there is one answer.
    """
    _positive(mass, radius, thickness, density)
    area = mass / (density * thickness)
    chord = (1.5 * area * radius) ** (1 / 3)
    fullness = area / chord**2

    def missing(half: float) -> float:
        return _fullness(half) - fullness

    half = cast("float", brentq(missing, 1e-6, math.pi - 1e-9, xtol=1e-15))
    return Segment(chord / math.sin(half), half, thickness)


def _fullness(half: float) -> float:
    """Give a segment's area over the square of half its chord; by its series where rounding would eat it."""
    if half < 1e-3:
        return 2 / 3 * half
    return (half - math.sin(half) * math.cos(half)) / math.sin(half) ** 2


def _positive(*values: float) -> None:
    if not all(v > 0 for v in values):
        raise ValueError("mass, radius, thickness and density of a counterweight are positive")
