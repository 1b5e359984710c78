"""Force of a steady wind on a flat panel.

The pressure q C of moving air, q = rho V^2 / 2 with V relative to the panel, pushes along the panel's normal and
away from the side that the air meets; friction along its faces is left out. C depends on the sine s of the angle
between air and panel and on the panel's proportions:

    C = s [1.98 / (0.56 + 0.44 s) - (1.98 - Cd)]        Cd = 1.98 [1 - 0.41 (1 - exp(-17 / aspect))]

which is Cd, 1.17 for a square and 1.98 for a long plate, where the air meets it square on (s = 1). The form is
C. Lindenburg's after S. F. Hoerner (Stall coefficients, ECN-RX--01-004, 2001; read in published code that cites it,
not in the report). Its first term is the free-streamline solution of Kirchhoff and Rayleigh, (4 + pi) s / (4 + pi s)
of the square-on value, scaled to the measured 1.98.

What it leaves out. The centre of pressure is taken at the centroid of the area. Really it moves towards the edge
that the air meets first, by 3/4 cos(a) / (4 + pi sin(a)) of the chord after Rayleigh (memory): a twentieth at
60 deg, a ninth at 30 deg, nearly a fifth edge on, where the force is small. Square plates may be pushed harder
at half the angle than square on: W. H. Dines found the most at 55 deg, S. P. Langley did not (F. W. Lanchester,
Aerial Flight I, 1906, p. 204; read). Every panel of a side counts by itself: none shelters another, and two that make
one surface are not one longer plate. How much of the wind reaches the side away from it is a figure of the case. The
air follows at once, without mass of its own moving along. The project's own estimate is that forces are known to 20 %
at best.
"""

from dataclasses import dataclass, replace
from itertools import pairwise, product

import numpy as np
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from models.mechanism import Plate
from models.outline import Outline, moments
from sim.arrays import Array
from sim.linkage import SideLinkage, carried

AIR = 1.226
"""Density, kg/m3, that makes q = 0.613 V^2."""
LONG = 1.98
"""Drag coefficient of a long plate square on: Matthews, Aeronautical Engineer's Data Book, p. 95 (read)."""
CELLS = (3, 12)
"""Cells along the hinge and outwards. Outwards, where flapping air speed grows, N rows leave out 1 / 2 N^2 of the
moment of a rectangle that flaps: a third of a percent."""
_NOTHING = np.finfo(float).tiny
"""Added to the square of a speed, so that no air makes no angle instead of a fault."""
_EMPTY = 1e-9
"""Share of the outline's area below which a cell is a sliver."""


@dataclass(frozen=True)
class Wind:
    """A steady wind, with a side of the piece in the lee of the other.

    Attributes
    ----------
    speed : m/s.
    direction : toward which it blows, from forward toward the left, rad.
    slope : by which it rises, rad; negative where it falls.
    lee : share of its speed that reaches the far side where it blows straight across; 1 without any lee.
    """

    speed: float
    direction: float
    slope: float = 0.0
    lee: float = 1.0

    def on(self, sign: float) -> Array:
        """Give the velocity (3,) of the air, m/s in the world, at the left side (1) or the right one (-1)."""
        level, across = np.cos(self.slope), float(np.sin(self.direction))
        whole = self.speed * np.array([level * np.cos(self.direction), level * across, np.sin(self.slope)])
        # From in front neither side lies behind the other.
        return whole * (1 - (1 - self.lee) * max(0.0, sign * across))

    @property
    def words(self) -> str:
        """The wind in words."""
        way = "" if self.slope == 0 else f", {'rising' if self.slope > 0 else 'falling'} " + (
            f"{abs(np.degrees(self.slope)):.3g} deg"
        )  # fmt: skip
        lee = "" if self.lee == 1 or abs(np.sin(self.direction)) < 1e-9 else ", one side in the lee"
        return f"{self.speed:.3g} m/s toward {np.degrees(self.direction):.0f} deg{way}{lee}"


def winds_around(speed: float, directions: int, slope: float, lee: float) -> list[list[Wind]]:
    """Give for each direction the winds that are looked at: rising and falling, with a lee and without.

    Parameters
    ----------
    speed : m/s.
    directions : how many, evenly around, the first forward.
    slope : by which they rise and fall, rad.
    lee : least share of the speed that reaches the far side.
    """
    return [
        [
            Wind(speed, float(way), rise, share)
            for rise in dict.fromkeys((slope, -slope))
            for share in dict.fromkeys((lee, 1.0))
        ]
        for way in np.linspace(0, 2 * np.pi, directions, endpoint=False)
    ]


@dataclass(frozen=True)
class PlateInWind:
    """A flat panel in moving air, in the panel's own coordinates: forward, out, above.

    Attributes
    ----------
    centroids : (m, 3) of its cells, m.
    areas : (m,) of its cells, m2, holes taken off.
    drag : drag coefficient with the air square on.
    density : of the air, kg/m3.
    """

    centroids: Array
    areas: Array
    drag: float
    density: float = AIR

    def wrench(
        self, air: Array, rotation: Array, velocity: Array, angular_velocity: Array
    ) -> tuple[Array, Array]:
        """Give force (..., 3), N, and moment (..., 3), N m, about the origin of the panel's coordinates.

        Parameters
        ----------
        air : (3,) or (..., 3) velocity of the air, m/s, in the world's axes, as all but `rotation` itself.
        rotation : (..., 3, 3) panel's axes to the world's.
        velocity : (..., 3) of the origin of the panel's coordinates, m/s.
        angular_velocity : (..., 3) of the panel, rad/s.
        """
        # In the panel's own axes the normal is (0, 0, 1), and few small products are left: this runs every step.
        into = np.swapaxes(rotation, -1, -2)
        steady: Array = np.matmul(into, (air - velocity)[..., None])[..., 0]
        turning: Array = np.matmul(into, angular_velocity[..., None])[..., 0]
        past = steady[..., None, :] + np.matmul(self.centroids, _crossing(turning))
        pushed = self.areas * pressure(past, past[..., 2], self.drag, self.density)
        middle: Array = np.matmul(pushed, self.centroids)
        normal: Array = rotation[..., :, 2]
        moment = middle[..., 1, None] * rotation[..., :, 0] - middle[..., 0, None] * rotation[..., :, 1]
        return np.sum(pushed, axis=-1)[..., None] * normal, moment

    def shifted(self, by: Array) -> "PlateInWind":
        """Give the panel in coordinates whose origin lies elsewhere: every point moves by a vector (3,), m."""
        return replace(self, centroids=self.centroids + by)

    def mirrored(self) -> "PlateInWind":
        """Give the panel of the other side: out counts the other way."""
        return replace(self, centroids=self.centroids * np.array([1.0, -1.0, 1.0]))


def plate_in_wind(
    plate: Plate, drag: float | None = None, density: float = AIR, cells: tuple[int, int] = CELLS
) -> PlateInWind:
    """Cut a panel into cells for the wind.

    Parameters
    ----------
    plate : the panel; its coordinates' origin lies on the hinge line.
    drag : drag coefficient square on, or None for what its proportions make it.
    density : of the air, kg/m3.
    cells : how many along the hinge and outwards, before what lies outside the outline falls away.
    """
    shape = Polygon(plate.outline.exterior, plate.outline.holes)
    left, low, right, high = shape.bounds
    xs, ys = np.linspace(left, right, cells[0] + 1), np.linspace(low, high, cells[1] + 1)
    parts: list[BaseGeometry] = []
    for (x0, x1), (y0, y1) in product(pairwise(xs.tolist()), pairwise(ys.tolist())):
        part = shape.intersection(Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
        if part.area > _EMPTY * shape.area:
            parts.append(part)
    return PlateInWind(
        np.array([[part.centroid.x, part.centroid.y, 0.0] for part in parts]),
        np.array([part.area for part in parts]),
        drag_coefficient(aspect_ratio(plate.outline)) if drag is None else drag,
        density,
    )


def aspect_ratio(outline: Outline) -> float:
    """Give how long a panel is for its width: the longer side of the least rectangle around it, squared, over
    the area within its edge. A rectangle's length over width; holes do not count.
    """  # noqa: D205
    around = Polygon(outline.exterior).minimum_rotated_rectangle
    assert isinstance(around, Polygon)  # an outline encloses an area
    corners = np.array(around.exterior.coords)
    longest = float(np.max(np.linalg.norm(np.diff(corners, axis=0), axis=1)))
    return longest**2 / Polygon(outline.exterior).area


def drag_coefficient(aspect: float) -> float:
    """Give the drag coefficient of a flat plate square on, by its aspect ratio (1 or more).

    1.98 [1 - 0.41 (1 - exp(-17 / aspect))]; source at the head of this file.
    """
    return LONG * (1 - 0.41 * (1 - float(np.exp(-17 / max(aspect, 1.0)))))


def normal_coefficient(sine: Array, drag: float) -> Array:
    """Give the normal-force coefficient of an inclined plate.

    Parameters
    ----------
    sine : of the angle between air and plate, of any shape, 0 to 1.
    drag : its drag coefficient square on, 1.17 to 1.98.

    Returns
    -------
    s [1.98 / (0.56 + 0.44 s) - (1.98 - Cd)], shaped as `sine`; source at the head of this file.
    """
    return sine * (LONG / (0.56 + 0.44 * sine) - (LONG - drag))


def pressure(past: Array, square_on: Array, drag: float, density: float = AIR) -> Array:
    """Give the pressure (...,), N/m2, along a plate's normal.

    Parameters
    ----------
    past : (..., 3) velocity of the air past the plate, m/s.
    square_on : (...,) its part along the normal, m/s.
    drag, density : drag coefficient square on, and of the air, kg/m3.
    """
    squared = np.einsum("...i,...i->...", past, past)
    sine = np.minimum(np.abs(square_on) / np.sqrt(squared + _NOTHING), 1.0)
    return density / 2 * squared * np.copysign(normal_coefficient(sine, drag), square_on)


def _crossing(turning: Array) -> Array:
    """Give the matrices (..., 3, 3) by which a row r times it is r x turning."""
    made = np.zeros((*turning.shape, 3))
    made[..., 1, 0], made[..., 0, 1] = turning[..., 2], -turning[..., 2]
    made[..., 0, 2], made[..., 2, 0] = turning[..., 1], -turning[..., 1]
    made[..., 2, 1], made[..., 1, 2] = turning[..., 0], -turning[..., 0]
    return made


def static_pushes(
    linkage: SideLinkage, crank: Array, wind: Wind, density: float = AIR
) -> dict[str, tuple[Array, Array]]:
    """Give what a wind puts on the panels of a side that stands still.

    Parameters
    ----------
    linkage : the side; its sign says how its coordinates lie in the world.
    crank : crank angles (n,), rad.
    wind : what blows.
    density : of the air, kg/m3.

    Returns
    -------
    By panel name, force (n, 3), N, and its point (n, 3), m, the area's centroid, both in the side's coordinates:
    the pushes of `sim.statics.statics`.
    """
    own = wind.on(linkage.side.sign) * np.array([1.0, linkage.side.sign, 1.0])
    pushes: dict[str, tuple[Array, Array]] = {}
    for course in linkage.course(crank):
        outline, angle = course.panel.plate.outline, course.angle.value
        area = moments(outline)
        normal = np.stack([np.zeros_like(angle), -np.sin(angle), np.cos(angle)], -1)
        size = area.area * pressure(own, normal @ own, drag_coefficient(aspect_ratio(outline)), density)
        at = carried(course, np.array([*area.centroid, 0.0]))
        pushes[course.panel.name] = (size[:, None] * normal, at.value)
    return pushes
