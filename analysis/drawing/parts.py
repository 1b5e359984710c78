"""What the views of a drawing share: the poses of the sides, the shaft, the post, the ground."""

from dataclasses import dataclass

import numpy as np

from analysis.drawing.sheet import Box, Sheet, View, millimetres
from analysis.style import BOLD, FINE, FIRM, GREY, HAIR, INK, SMALL, THIN, VERMILION
from models.mechanism import Mechanism, PostTube, Side
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import Place, shaft_places
from sim.linkage import PanelCourse, SideLinkage, carried

FLAT_METAL = "#eef3f6"
BOX, SMALL_BOX = 1.4, 0.8
"""Half the size of a bearing's box on a crankshaft and in the drive, mm."""
ARM = 2.6
"""Distance of an arm's line from the axis of the shaft that it holds, mm."""


@dataclass(frozen=True)
class DriveBar:
    """A shaft of the drive as drawn.

    Attributes
    ----------
    at : forward and up from the crank's axis, m.
    low, high : its ends along y from the post's axis, m.
    bearings : places of its two bearings along y, m.
    """

    at: Place
    low: float
    high: float
    bearings: tuple[float, float]


@dataclass(frozen=True)
class Pose:
    """A side at the crank angles 0, where its outermost tip is lowest, and where it is highest.

    Attributes
    ----------
    side : which.
    crank : the three crank angles, rad.
    courses : of its panels at them.
    swing : lowest and highest angle of each panel over the turn, rad.
    """

    side: Side
    crank: Array
    courses: tuple[PanelCourse, ...]
    swing: tuple[tuple[float, float], ...]

    def strip(self, course: PanelCourse, k: int) -> Array:
        """Give a panel's near and far edge (2, 3) at the k-th crank angle: forward, out, up."""
        far = [y for _, y in course.panel.plate.outline.exterior]
        return np.stack([carried(course, np.array([0.0, y, 0.0])).value[k] for y in (min(far), max(far))])


def pose(side: SideLinkage) -> Pose:
    """Pose a side for the drawing."""
    turn = np.radians(np.arange(360.0))
    courses = side.course(turn)
    outermost = courses[-1]
    far = max(y for _, y in outermost.panel.plate.outline.exterior)
    tip = carried(outermost, np.array([0.0, far, 0.0])).value[:, 2]
    crank = np.array([0.0, turn[int(np.argmin(tip))], turn[int(np.argmax(tip))]])
    swing = tuple((float(c.angle.value.min()), float(c.angle.value.max())) for c in courses)
    return Pose(side.side, crank, side.course(crank), swing)


def shaft(sheet: Sheet, view: View, s: Side, axis: int, tube: PostTube | None) -> None:
    """Draw a crankshaft at crank angle 0, seen from the front (axis 0) or from above (axis 1).

    An arm from the post to the bearings that are on one is hinted at: where it runs is not described.
    """
    c = s.crank
    arms = [x.out for x in c.stations if x.on == "arm"]
    if arms:
        root = tube.outside / 2 if tube is not None else 0.0
        line = view.at([(s.sign * out, 0) for out in (root, *sorted(arms))]) - np.array((0.0, ARM))
        sheet.line(line, color=GREY, width=FIRM)
        for foot in line[1:]:
            sheet.line([foot, foot + np.array((0.0, ARM - BOX))], color=GREY, width=FIRM)

    def seen(angle: float) -> float:
        turned = angle + s.key_angle
        return float(-np.sin(turned) if axis else np.cos(turned))

    edge = c.ends[0]
    for panel in sorted(s.panels, key=lambda p: p.throw_out):
        far = panel.throw_radius * seen(panel.throw_angle)
        near, beyond = panel.throw_out - c.cheek.half, panel.throw_out + c.cheek.half
        sheet.line(view.at([(s.sign * edge, 0), (s.sign * near, 0)]), width=BOLD)
        for place in (near + c.cheek.thickness / 2, beyond - c.cheek.thickness / 2):
            sheet.line(view.at([(s.sign * place, 0), (s.sign * place, far)]), color=VERMILION, width=FIRM)
        sheet.line(view.at([(s.sign * near, far), (s.sign * beyond, far)]), color=VERMILION, width=FIRM)
        edge = beyond
    sheet.line(view.at([(s.sign * edge, 0), (s.sign * max(edge, c.ends[1]), 0)]), width=BOLD)
    for w in c.weights:
        at = view.at((s.sign * w.out, w.radius * seen(w.angle)))
        sheet.line([view.at((s.sign * w.out, 0)), at], width=FINE)
        sheet.circle(at, 1.3, fill=INK, zorder=4)
    for station in c.stations:
        bearing(sheet, view.at((s.sign * station.out, 0)), BOX)


def bearing(sheet: Sheet, at: Array, half: float) -> None:
    """Draw a bearing as a crossed box about a point (2,), of so many mm to either side."""
    square = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half
    sheet.shape(at + square, fill="white", width=THIN, zorder=4)
    sheet.line(at + square[[0, 2]], width=FINE, zorder=4)
    sheet.line(at + square[[1, 3]], width=FINE, zorder=4)


def drive_shafts(m: Mechanism) -> tuple[DriveBar, ...]:
    """Give the shafts of the drive, the wheel's first, each from the first to the last of what it carries.

    Without a stage there is none: the wheel sits on the crankshafts.
    """
    if not m.stages:
        return ()
    places, _ = shaft_places(m)
    found: list[DriveBar] = []
    for k, place in enumerate(places):
        shaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        on = [*shaft.bearings, *(x.out for x in m.stages[max(0, k - 1) : k + 1])]
        if k == 0:
            on.append(m.wheel.out)
        if k == len(m.stages):
            on += [x.sign * x.crank.ends[0] for x in m.sides]
        found.append(DriveBar(place, min(on), max(on), shaft.bearings))
    return tuple(found)


def sided(place: float) -> str:
    """Write a place along y from the post's axis: how far, and on which side."""
    word = millimetres(abs(place))
    return word if word == "0" else f"{word} {'left' if place > 0 else 'right'}"


def ground(sheet: Sheet, view: View, room: Box, up: float) -> None:
    """Draw the ground at a height from the crank's axis, m."""
    y = float(view.at((0, up))[1])
    sheet.line([(room[0] + 2, y), (room[2] - 2, y)], width=FIRM)
    for x in np.arange(room[0] + 5, room[2] - 2, 6.0):
        sheet.line([(x, y), (x - 2.2, y - 2.2)], color=GREY, width=HAIR)


def post(sheet: Sheet, view: View, closed: Linkage) -> None:
    """Draw the post up to its top, and its axis up to the inner hinge."""
    m, hinge = closed.mechanism, max(0.06, closed.mechanism.sides[0].panels[0].hinge_up)
    tall = max(hinge, m.post.above) if m.post is not None else hinge
    sheet.line(view.at([(0, -m.crank_height), (0, tall + 0.05)]), color=GREY, width=HAIR,
               linestyle=(0, (10, 2, 2, 2)))  # fmt: skip
    if m.post is not None:
        half, top = m.post.outside / 2, m.post.above
        for y in (-half, half):
            sheet.line(view.at([(y, -m.crank_height), (y, top)]), color=GREY, width=THIN)
        sheet.line(view.at([(-half, top), (half, top)]), color=GREY, width=THIN)


def across(s: Side, points: Array) -> Array:
    """Give points (n, 3) of a side as seen from the front (n, 2): left to the right, up."""
    return points[:, 1:] * np.array([s.sign, 1.0])


def compass(sheet: Sheet, x: float, y: float, right: str, up: str) -> None:
    """Draw a pair of arrows that say which way a view's axes point."""
    for way, word in (((1, 0), right), ((0, 1 if not up.startswith("-") else -1), up.lstrip("-"))):
        end = np.array((x, y)) + 9 * np.array(way)
        sheet.arrow([(x, y), end], width=THIN)
        if way[0]:
            clear = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
            sheet.text(end[0] + 1, y, word, va="center", size=SMALL, bbox=clear, zorder=5)
        else:
            sheet.text(x, end[1] + way[1] * 0.8, word, ha="center", va="bottom" if way[1] > 0 else "top")
