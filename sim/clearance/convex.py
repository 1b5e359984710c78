"""Convex shapes of parts: hulls of a few points with a rounding radius, and plates split into them.

Every shape is as large as the part or larger, never smaller, so that a clearance between shapes is never more
than that between the parts.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import cast

import numpy as np
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from models.outline import Outline
from sim.arrays import Array

FILL = 5e-4
"""How far (m) a notch, a hole or a hollow edge may be filled where a plate is split into convex parts."""
SMALL_HOLE = 40.0
"""Holes up to so many times as wide as the fill, 20 mm to begin with, are filled: nothing enters bolt holes."""
MOST_PARTS = 40
"""More convex parts than this per plate are not made; its hollows are filled further instead."""
CIRCLE_SLACK = 2e-4
"""How far (m) the corners of a cylinder's polygon stand out beyond its circle."""
_NO_AREA = 1e-12


@dataclass(frozen=True)
class Convex:
    """All points no farther than a radius from the hull of some points.

    Attributes
    ----------
    points : (k, 3), m, in the axes of what carries it.
    radius : of the rounding, m; 0 for a shape with sharp edges.
    """

    points: Array
    radius: float = 0.0

    @property
    def centre(self) -> Array:
        """Mean of the points (3,), m; inside the shape."""
        return self.points.mean(0)

    @property
    def extent(self) -> float:
        """Farthest that the shape reaches from its centre, m."""
        return float(np.linalg.norm(self.points - self.centre, axis=1).max()) + self.radius


def ball(at: Array, radius: float) -> Convex:
    """Give a ball about a point (3,)."""
    return Convex(at[None, :], radius)


def capsule(start: Array, end: Array, radius: float) -> Convex:
    """Give a round bar with round ends between two points (3,)."""
    return Convex(np.stack([start, end]), radius)


def cylinder(start: Array, axis: int, length: float, radius: float, slack: float = CIRCLE_SLACK) -> Convex:
    """Give a flat-ended round bar as a prism around it.

    Parameters
    ----------
    start : (3,) centre of one end, m.
    axis : 0, 1 or 2, along which it runs.
    length, radius : m.
    slack : how far the prism's edges stand out beyond the circle, m.
    """
    sides = max(8, int(np.ceil(np.pi / np.arccos(radius / (radius + slack)))))
    angle = 2 * np.pi * np.arange(sides) / sides
    ring = np.zeros((sides, 3))
    # The sides touch the circle.
    outer = radius / np.cos(np.pi / sides)
    ring[:, (axis + 1) % 3], ring[:, (axis + 2) % 3] = outer * np.cos(angle), outer * np.sin(angle)
    along = length * np.eye(3)[axis]
    return Convex(np.concatenate([ring, ring + along]) + start)


def prism(polygon: Array, thickness: float, normal: int = 2) -> Convex:
    """Give a flat plate.

    Parameters
    ----------
    polygon : (k, 2) corners of its convex middle, m, in the two other axes in ascending order.
    thickness : m.
    normal : 0, 1 or 2, the axis across the plate.
    """
    faces = [np.insert(polygon, normal, half, axis=1) for half in (-thickness / 2, thickness / 2)]
    return Convex(np.concatenate(faces))


def plate_area(outline: Outline) -> Polygon:
    """Give the area of a plate."""
    return Polygon(outline.exterior, outline.holes)


def beyond(area: BaseGeometry, distance: float, line: float, axis: int = 1) -> BaseGeometry:
    """Give what is left of an area without a strip on either side of the line where a coordinate has a value.

    Parameters
    ----------
    area : of a plate, m.
    distance : half the strip's width, m.
    line : the coordinate's value in the strip's middle, m.
    axis : 0 or 1, which coordinate.
    """
    low, high = np.array(area.bounds[:2]) - 1.0, np.array(area.bounds[2:]) + 1.0
    low[axis], high[axis] = line - distance, line + distance
    (x0, y0), (x1, y1) = low, high
    return area.difference(Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))


def convex_parts(area: BaseGeometry, fill: float = FILL) -> tuple[Array, ...]:
    """Split an area into convex polygons that cover it.

    Through the deepest point of the deepest hollow a cut is made square to the hollow's lid, until no hollow
    is deeper than `fill`; what is left of it is filled. Every cut leaves both angles at that point below
    half a turn.

    Parameters
    ----------
    area : polygon or polygons, m, holes allowed.
    fill : how far a part may stand out beyond the area's hollows, m, while holes up to `SMALL_HOLE` times as
        wide are filled; doubled until there are no more parts than `MOST_PARTS`.

    Returns
    -------
    tuple of (k, 2)
        Corners of each part, m; none for an empty area.
    """
    while True:
        parts = tuple(_split(_filled(area, SMALL_HOLE * fill), fill))
        if len(parts) <= MOST_PARTS:
            return parts
        fill *= 2


def _filled(area: BaseGeometry, width: float) -> MultiPolygon:
    """Give an area without its holes up to some width."""
    return MultiPolygon(
        [
            Polygon(polygon.exterior, [h for h in polygon.interiors if _width(h.bounds) > width])
            for polygon in _polygons(area)
        ]
    )


def _width(bounds: tuple[float, float, float, float]) -> float:
    x0, y0, x1, y1 = bounds
    return max(x1 - x0, y1 - y0)


def _split(area: BaseGeometry, fill: float) -> Iterator[Array]:
    waiting = list(_polygons(area))
    while waiting:
        polygon = waiting.pop()
        cut = _through_hole(polygon) if polygon.interiors else _through_hollow(polygon, fill)
        if cut is None:
            yield _hull(polygon)
        else:
            for half in _halves(polygon, *cut):
                waiting += _polygons(polygon.intersection(half))


def _hull(polygon: Polygon) -> Array:
    """Give the corners (k, 2) of a polygon's convex hull."""
    hull = cast("Polygon", polygon.convex_hull)
    return np.array(hull.exterior.coords)[:-1]


def _polygons(area: BaseGeometry) -> Iterator[Polygon]:
    if isinstance(area, Polygon):
        if area.area > _NO_AREA:
            yield area
        return
    for part in getattr(area, "geoms", ()):
        if isinstance(part, (Polygon, MultiPolygon)):
            yield from _polygons(part)


def _through_hole(polygon: Polygon) -> tuple[Array, Array]:
    """Give a point and a direction of a cut through the largest hole, across the plate's longer side."""
    hole = max(polygon.interiors, key=lambda ring: Polygon(ring).area)
    x0, y0, x1, y1 = polygon.bounds
    direction = np.array([0.0, 1.0]) if x1 - x0 >= y1 - y0 else np.array([1.0, 0.0])
    middle = Polygon(hole).representative_point()
    return np.array([middle.x, middle.y]), direction


def _through_hollow(polygon: Polygon, fill: float) -> tuple[Array, Array] | None:
    """Give a point and a direction of a cut through the deepest hollow, or None where none is that deep."""
    ring = np.array(polygon.exterior.coords)[:-1]
    hull = {tuple(p) for p in _hull(polygon)}
    corners = [k for k, p in enumerate(ring) if tuple(p) in hull]
    best, cut = fill, None
    for here, after in zip(corners, [*corners[1:], corners[0] + len(ring)], strict=True):
        chain = ring[np.arange(here, after + 1) % len(ring)]
        lid = chain[-1] - chain[0]
        normal = np.array([-lid[1], lid[0]]) / np.linalg.norm(lid)
        depth = np.abs((chain - chain[0]) @ normal)
        deepest = int(np.argmax(depth))
        if depth[deepest] > best:
            best, cut = float(depth[deepest]), (chain[deepest], normal)
    return cut


def _halves(polygon: Polygon, point: Array, direction: Array) -> Iterator[Polygon]:
    x0, y0, x1, y1 = polygon.bounds
    far = 2 * float(np.hypot(x1 - x0, y1 - y0))
    across = np.array([direction[1], -direction[0]])
    for sense in (-1, 1):
        near = [point - far * direction, point + far * direction]
        yield Polygon([*near, near[1] + sense * far * across, near[0] + sense * far * across])
