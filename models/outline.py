"""Outlines of flat plates, and their exact area moments.

An outline is a polygon with holes, in metres. The first coordinate runs along the hinge, forward
positive; the second outwards from it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

from shapely import Polygon
from shapely.validation import explain_validity

from models.units import DescriptionFault

Point = tuple[float, float]
Ring = tuple[Point, ...]

# A ring whose area is below this share of its extent squared is a line: about 1e4 roundings of a double.
_NO_AREA = 1e-12
# m; beyond it a plate's own millimetres drown in rounding, and the unit is surely wrong.
_FARTHEST = 1e6
_CHORD_ERROR = 1e-5
# With fewer, the moved corners of `arc` would stray further than the chords do.
_FEWEST_CHORDS = 4


class OutlineError(DescriptionFault):
    """Points or a drawing that do not bound a plate."""


@dataclass(frozen=True)
class Outline:
    """The edge of a flat plate; made by `outline`, which checks it.

    Attributes
    ----------
    exterior : tuple of (float, float)
        Corners in m, counter-clockwise, the first not repeated.
    holes : tuple of tuple of (float, float)
        Corners of each hole in m, clockwise.
    """

    exterior: Ring
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True)
class Moments:
    """Area moments of an outline, the second ones about the centroid.

    With x and y measured from the centroid; a plate of density rho and thickness t has the mass moment
    rho t yy about the x axis through its centroid, rho t xx about the y axis, and rho t (xx + yy)
    about its normal.

    Attributes
    ----------
    area : float
        m2, holes taken off.
    centroid : (float, float)
        m.
    xx, yy, xy : float
        Integrals of x^2, y^2 and x y over the area, m4.
    """

    area: float
    centroid: Point
    xx: float
    yy: float
    xy: float


def outline(points: Iterable[Sequence[float]], holes: Iterable[Iterable[Sequence[float]]] = ()) -> Outline:
    """Return the checked outline through the points.

    Parameters
    ----------
    points : iterable of (float, float)
        Corners of the exterior in m, in either sense; the first may be repeated at the end.
    holes : iterable of iterable of (float, float)
        Corners of each hole, likewise.

    Returns
    -------
    Outline
        Exterior counter-clockwise, holes clockwise, repeated corners dropped.

    Raises
    ------
    OutlineError
        If there are fewer than three distinct points, a number is not finite, a ring crosses or touches
        itself or encloses nothing, or a hole is not inside the exterior or overlaps another.
    """
    exterior = _ring(points, "the outline")
    named = [(f"hole {index}", hole) for index, hole in enumerate(holes, start=1)]
    inner = [(name, _ring(hole, name)) for name, hole in named]
    plate = Polygon(exterior)
    for name, hole in inner:
        if not plate.covers(Polygon(hole)):
            raise OutlineError(f"{name} reaches outside the outline", "move it inside, or draw it as a notch")
    whole = Polygon(exterior, [hole for _, hole in inner])
    if not whole.is_valid:
        raise OutlineError(
            f"the holes overlap, meet the edge, or cut the plate in two {_where(explain_validity(whole))}",
            "join overlapping holes into one, and leave a margin at the edge",
        )
    return Outline(_turned(exterior, 1.0), tuple(_turned(hole, -1.0) for _, hole in inner))


def _ring(points: Iterable[Sequence[float]], name: str) -> Ring:
    """Return the distinct corners of a ring that bounds an area, in the sense given."""
    corners = _without_repeats(_points(points, name))
    if len(set(corners)) < 3:
        raise OutlineError(
            f"{name} has {len(set(corners))} distinct points", "give at least three that are not in one line"
        )
    extent = max(max(axis) - min(axis) for axis in zip(*corners, strict=True))
    polygon = Polygon(corners)
    # Not the polygon's own area: that of a bow tie is zero too, and its fault is the crossing.
    if polygon.convex_hull.area <= _NO_AREA * extent**2:
        raise OutlineError(
            f"{name} encloses no area, its points lie in one line", "give at least three that do not"
        )
    if not polygon.is_valid:
        raise OutlineError(
            f"{name} crosses or touches itself {_where(explain_validity(polygon))}",
            "list the points in order around the edge, each once",
        )
    return corners


def _points(points: Iterable[Sequence[float]], name: str) -> list[Point]:
    try:
        pairs = [(_coordinate(x), _coordinate(y)) for x, y in points]
    except (TypeError, ValueError, OverflowError):
        raise OutlineError(
            f"{name} is not a list of points", "write it like [[0, 0], [300, 0], [300, 200]]"
        ) from None
    for index, pair in enumerate(pairs, start=1):
        if not all(abs(coordinate) <= _FARTHEST for coordinate in pair):
            raise OutlineError(
                f"point {index} of {name} is not finite, or farther off than {_FARTHEST / 1000:g} km",
                "give it as two plain numbers, and check the unit",
            )
    return pairs


def _coordinate(value: object) -> float:
    """Return a plain number as it is; float() alone would take the text "12" for one."""
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        raise TypeError
    return float(value)


def _without_repeats(points: list[Point]) -> Ring:
    """Return the points without a repeat of the one before, and without the first at the end."""
    kept = points[:1] + [point for before, point in pairwise(points) if point != before]
    while len(kept) > 1 and kept[-1] == kept[0]:
        kept.pop()
    return tuple(kept)


def _where(explanation: str) -> str:
    """Return the place shapely names, "Self-intersection[0.5 0.5]", in millimetres."""
    place = re.search(r"\[(\S+) (\S+)\]", explanation)
    if place is None:
        return f"({explanation})"
    x, y = (1000 * float(coordinate) for coordinate in place.groups())
    return f"at ({x:.6g}, {y:.6g}) mm"


def _turned(ring: Ring, sense: float) -> Ring:
    """Return the ring from the same first point, counter-clockwise for +1 and clockwise for -1."""
    origin = ring[0]
    return ring if sense * _integrals(ring, origin)[0] > 0 else (origin, *reversed(ring[1:]))


def moments(shape: Outline) -> Moments:
    """Return area, centroid and second moments of area of an outline.

    Exact for the polygon, by Green's theorem on each edge: C. Steger, On the calculation of arbitrary
    moments of polygons, TU Muenchen FGBV-96-05 (1996). Lengths are taken from the first corner, so that an
    outline far from the origin loses no digits, then moved to the centroid by the parallel-axis theorem.

    Parameters
    ----------
    shape : Outline
        As made by `outline`; the senses of its rings carry the signs.

    Returns
    -------
    Moments
        In m2, m and m4.
    """
    origin = shape.exterior[0]
    rings = [_integrals(ring, origin) for ring in (shape.exterior, *shape.holes)]
    area, x, y, xx, yy, xy = (math.fsum(column) for column in zip(*rings, strict=True))
    cx, cy = x / area, y / area
    return Moments(
        area=area,
        centroid=(origin[0] + cx, origin[1] + cy),
        xx=xx - area * cx * cx,
        yy=yy - area * cy * cy,
        xy=xy - area * cx * cy,
    )


def _integrals(ring: Ring, origin: Point) -> tuple[float, float, float, float, float, float]:
    """Return the integrals of 1, x, y, x^2, y^2 and x y over a ring, lengths taken from `origin`.

    Positive where the ring runs counter-clockwise. With c = x0 y1 - x1 y0 of each edge these are sums of
    c/2, c (x0 + x1)/6, c (x0^2 + x0 x1 + x1^2)/12 and c (x0 y1 + 2 x0 y0 + 2 x1 y1 + x1 y0)/24.
    """
    local = [(x - origin[0], y - origin[1]) for x, y in ring]
    terms: list[tuple[float, float, float, float, float, float]] = []
    for (x0, y0), (x1, y1) in pairwise([*local, local[0]]):
        c = x0 * y1 - x1 * y0
        terms.append(
            (
                c / 2,
                c * (x0 + x1) / 6,
                c * (y0 + y1) / 6,
                c * (x0 * x0 + x0 * x1 + x1 * x1) / 12,
                c * (y0 * y0 + y0 * y1 + y1 * y1) / 12,
                c * (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0) / 24,
            )
        )
    sums = tuple(math.fsum(column) for column in zip(*terms, strict=True))
    return cast("tuple[float, float, float, float, float, float]", sums)


def mirrored(shape: Outline) -> Outline:
    """Return the outline of the plate on the other side: the second coordinate negated.

    Parameters
    ----------
    shape : Outline
        The plate of one side.

    Returns
    -------
    Outline
        Exterior counter-clockwise and holes clockwise again; mirrored twice it is the same outline.
    """
    return Outline(_mirrored_ring(shape.exterior), tuple(_mirrored_ring(hole) for hole in shape.holes))


def _mirrored_ring(ring: Ring) -> Ring:
    first, *others = ((x, 0.0 - y) for x, y in ring)
    return (first, *reversed(others))


def arc(centre: Point, radius: float, start: float, sweep: float, chord_error: float = _CHORD_ERROR) -> Ring:
    """Return points along a circular arc that enclose the arc's own area.

    Points on the arc would lose (2/3) chord_error of area per length of arc. Here the end points stay on the
    arc and the ones between move outwards until chords and arc enclose the same area, so that no mass is
    lost. With n chords of angle d each and the points between at r times the radius this asks for
    (n - 2) r^2 sin d + 2 r sin d = n d. They move by less than the chords sag.

    Parameters
    ----------
    centre : (float, float)
        In any unit of length, the same for all.
    radius : float
        Positive.
    start, sweep : float
        Direction of the first point from the centre, and the angle to the last, rad, counter-clockwise
        positive; the sweep at most a full turn.
    chord_error : float
        Largest distance between chords and arc.

    Returns
    -------
    tuple of (float, float)
        Both ends included.

    Raises
    ------
    OutlineError
        If radius or chord error is not positive.
    """
    count = max(_FEWEST_CHORDS, math.ceil(abs(sweep) / _chord_angle(radius, chord_error)))
    angle = sweep / count
    excess = count * _angle_over_sine(angle)
    between = radius * excess / (1 + math.sqrt(1 + (count - 2) * excess))
    radii = [radius, *[between] * (count - 1), radius]
    return tuple(
        (
            centre[0] + distance * math.cos(start + index * angle),
            centre[1] + distance * math.sin(start + index * angle),
        )
        for index, distance in enumerate(radii)
    )


def circle(centre: Point, radius: float, chord_error: float = _CHORD_ERROR) -> Ring:
    """Return the corners of a regular polygon with the area of a circle.

    A polygon inscribed in the circle would be too small and one around it too large, and what is wrong with
    the area is wrong with the mass in first order. With n corners at R sqrt(d / sin d), d = 2 pi / n,
    the area n/2 R^2 d is that of the circle; second moments are too large by a share of d^4 / 180.

    Parameters
    ----------
    centre : (float, float)
        In any unit of length, the same for all.
    radius : float
        Positive.
    chord_error : float
        Largest distance between polygon and circle.

    Returns
    -------
    tuple of (float, float)
        Counter-clockwise, the first not repeated.

    Raises
    ------
    OutlineError
        If radius or chord error is not positive.
    """
    count = max(2 * _FEWEST_CHORDS, math.ceil(2 * math.pi / _chord_angle(radius, chord_error)))
    angle = 2 * math.pi / count
    corner = radius * math.sqrt(_angle_over_sine(angle))
    return tuple(
        (centre[0] + corner * math.cos(index * angle), centre[1] + corner * math.sin(index * angle))
        for index in range(count)
    )


def _chord_angle(radius: float, chord_error: float) -> float:
    """Return the angle whose chord sags by `chord_error`: 2 R sin^2(angle / 4), at most an eighth turn."""
    if not (radius > 0 and chord_error > 0):
        raise OutlineError("an arc's radius and chord error are not positive", "give it a radius above zero")
    return min(math.pi / 4, 4 * math.asin(min(1.0, math.sqrt(chord_error / (2 * radius)))))


def _angle_over_sine(angle: float) -> float:
    return angle / math.sin(angle) if angle else 1.0
