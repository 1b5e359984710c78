"""The piece from the front and from the right, quietly, with what a sheet marks on it: axes, points, their names."""

from dataclasses import dataclass

import numpy as np

from analysis.drawing import deep, upright, wide
from analysis.drawing.front import heights
from analysis.drawing.parts import Pose, across, drive_shafts, ground, pose, post, shaft
from analysis.drawing.sheet import Box, Sheet, View
from analysis.sheets.layout import Drawing
from analysis.sheets.shop_drawings import WIDE
from analysis.sheets.svg import inline
from analysis.style import BLUE, BOLD, FINE, FIRM, GREEN, GREY, INK, PURPLE, TEXT, THIN, VERMILION
from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import shaft_places
from sim.linkage import carried

LADDER = 36.0
"""Room for the heights, mm."""
HIGH = 92.0
"""Height of the views at most, mm."""
ARROW = 16.0
"""Length of an axis, mm."""
Views = tuple[tuple[View, Box, tuple[int, int]], ...]
"""Both views with their rooms, and which of the coordinates forward, left and up lie right and up in them."""


@dataclass(frozen=True)
class Mark:
    """A point that is marked: forward, left and up from the crank's axis, m, its words, and a colour."""

    at: tuple[float, float, float]
    words: str
    color: str = VERMILION


def elevations(
    closed: Linkage,
    title: str,
    marks: tuple[Mark, ...],
    note: str = "",
    *,
    axes: tuple[float, float, float] | None = None,
) -> Drawing:
    """Draw a piece at crank angle 0 from the front and from the right.

    Parameters
    ----------
    closed : the sculpture.
    title, note : of the drawing.
    marks : points to mark in both views.
    axes : where the axes start, forward, left and up from the crank's axis, m; None for no axes.
    """
    m = closed.mechanism
    poses = [pose(s) for s in closed.sides]
    low, high = upright(m, poses)
    left, right = wide(m, poses)
    back, ahead = deep(m, poses, shaft_places(m)[0])
    # One scale for both, so that heights agree across the sheet.
    scale = min(HIGH / (high - low), (WIDE - LADDER - 44) / (right - left + ahead - back))
    gap = (WIDE - LADDER - scale * (right - left + ahead - back)) / 2
    y, top = 10 - scale * low, 10 + scale * (high - low) + 16
    sheet = Sheet(WIDE, top)
    parting = LADDER + gap + scale * (right - left)
    views: Views = (
        (View(scale, LADDER + gap / 2 - scale * left, y), (LADDER, 1.0, parting, top - 7), (1, 2)),
        (View(scale, parting + gap / 2 - scale * back, y), (parting, 1.0, WIDE - 1, top - 7), (0, 2)),
    )
    heights(sheet, views[0][0], LADDER - 8, closed, poses)
    for (view, room, _), words in zip(
        views, ("from the front, left wing to the right", "from the right"), strict=True
    ):
        sheet.text((room[0] + room[2]) / 2, top - 1, words, size=TEXT, va="top", ha="center")
        ground(sheet, view, room, -m.crank_height)
        post(sheet, view, closed)
    _front(sheet, views[0][0], m, poses)
    _side(sheet, views[1][0], m, poses)
    for view, room, (right_is, up_is) in views:
        for mark in marks:
            at = view.at((mark.at[right_is], mark.at[up_is]))
            sheet.circle(at, 1.3, edge=mark.color, fill="white", width=FIRM, zorder=7)
            sheet.label(at, mark.words, room, (1, 0.6), mark.color)
        if axes is not None:
            _axes(
                sheet,
                view.at((axes[right_is], axes[up_is])),
                room,
                ("y left" if right_is == 1 else "x forward", "z up"),
            )
    sheet.settle()
    svg = inline(
        sheet.figure, title, "elevations from the front and from the right, heights above ground in mm"
    )
    return Drawing(title, svg, note)


def _front(sheet: Sheet, view: View, m: Mechanism, poses: list[Pose]) -> None:
    for bar in drive_shafts(m):
        sheet.line(view.at([(bar.low, bar.at[1]), (bar.high, bar.at[1])]), color=GREY, width=THIN)
    up, half = m.wheel.height - m.crank_height, max(m.wheel.thickness, 0.012) / 2
    edge = [
        (m.wheel.out - half, up - m.wheel.radius),
        (m.wheel.out + half, up - m.wheel.radius),
        (m.wheel.out + half, up + m.wheel.radius),
        (m.wheel.out - half, up + m.wheel.radius),
    ]
    sheet.shape(view.at(edge), fill="white", width=FIRM)
    word = "wheel" if m.wheel.kind == "disc" else "handle"
    sheet.label(view.at(edge[0]), word, (0, 0, WIDE, HIGH), (-1, 0))
    for p in poses:
        shaft(sheet, view, p.side, 0, m.post)
        for course in p.courses:
            sheet.line(view.at(across(p.side, p.strip(course, 0))), color=BLUE, width=BOLD)
            ends = np.stack([course.pin.value[0], course.yoke.value[0]])
            sheet.line(view.at(across(p.side, ends)), color=GREEN, width=THIN)


def _side(sheet: Sheet, view: View, m: Mechanism, poses: list[Pose]) -> None:
    places, _ = shaft_places(m)
    sheet.circle(view.at(places[0]), view.scale * m.wheel.radius, width=FIRM)
    for place in places:
        sheet.circle(view.at(place), 0.9, width=THIN)
    for course in poses[0].courses:
        points = [
            carried(course, np.array([x, y, 0.0])).value[0][[0, 2]]
            for x, y in course.panel.plate.outline.exterior
        ]
        sheet.shape(view.at(points), edge=BLUE, width=THIN)


def _axes(sheet: Sheet, origin: Array, room: Box, words: tuple[str, str]) -> None:
    for way, name in zip(np.array([(1.0, 0.0), (0.0, 1.0)]), words, strict=True):
        tip: Array = origin + ARROW * way
        sheet.arrow([origin, tip], color=PURPLE, width=FIRM, head=3.0)
        sheet.label(tip, name, room, (float(way[0]) + 0.3, float(way[1]) + 0.3), PURPLE)
    sheet.circle(origin, 1.1, edge=PURPLE, fill=INK, width=FINE, zorder=7)
    sheet.label(origin, "foot of the post", room, (-1, 0.5), PURPLE)
