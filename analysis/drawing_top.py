"""The view from above, with the distances out from the post's axis."""

import numpy as np

from analysis.drawing_parts import FLAT_METAL, shaft
from analysis.drawing_sheet import Box, Sheet, View, millimetres, short, spread
from analysis.style import BLUE, FINE, GREY, HAIR, THIN
from models.mechanism import Panel, Side
from sim.builders import Linkage

STATION = 3.7
"""Least distance of two station figures, mm."""
KNEE = 2.5
"""Length of each part of the bent lines to the station figures, mm."""


def top(sheet: Sheet, view: View, closed: Linkage) -> None:
    """Draw the view from above with the panels flat: forward lies down the page."""
    mechanism = closed.mechanism
    if mechanism.post is not None:
        sheet.circle(view.at((0, 0)), view.scale * mechanism.post.outside / 2, edge=GREY, width=FINE)
    for s in mechanism.sides:
        ahead = out = 0.0
        for panel in s.panels:
            ahead, out = ahead + panel.hinge_forward, out + panel.hinge_out
            _plate(sheet, view, s, panel, (ahead, out))
    for s in mechanism.sides:
        shaft(sheet, view, s, 1)
    first = mechanism.sides[0]
    for s in mechanism.sides:
        if s is first or _stations(s) != _stations(first):
            _strips(sheet, view, s)


def _plate(sheet: Sheet, view: View, s: Side, panel: Panel, hinge: tuple[float, float]) -> None:
    ahead, out = hinge
    shape = panel.plate.outline
    for ring, fill in ((shape.exterior, FLAT_METAL), *((h, "white") for h in shape.holes)):
        flat = np.array([(s.sign * (out + y), -(ahead + x)) for x, y in ring])
        sheet.shape(view.at(flat), edge=BLUE, fill=fill, width=THIN)
    along = [x for x, _ in shape.exterior]
    line = view.at([(s.sign * out, -(ahead + x)) for x in (min(along), max(along))])
    sheet.line(line + np.array([(0, 2), (0, -2)]), width=THIN, linestyle=(0, (8, 2, 1.5, 2)))
    y, x = s.sign * (out + panel.yoke_out), -(ahead + panel.yoke_forward)
    sheet.circle(view.at((y, x)), 0.9, fill="white", width=THIN, zorder=4)
    reach = np.array((0.0, 2.6)) if panel.pin_along else np.array((2.6, 0.0))
    sheet.line([view.at((y, x)) - reach, view.at((y, x)) + reach], width=FINE)
    mid = view.at((s.sign * (out + 0.5 * max(b for _, b in shape.exterior)), -(ahead + max(along))))
    box: Box = (0, 0, *sheet.size)
    if s.sign > 0:
        sheet.label(mid + np.array((0, 2.0)), f"{short(panel.name)}", box, (0, -1), BLUE)


def _stations(s: Side) -> tuple[list[tuple[float, str]], list[tuple[float, str]]]:
    """Give what lies at which distance out: on the panels, and along the shaft."""
    above: list[tuple[float, str]] = []
    out = 0.0
    for p in s.panels:
        out += p.hinge_out
        name = short(p.name, 8)
        above += [(out, f"hinge {name}"), (out + p.yoke_out, f"yoke pin {name}")]
    last = s.panels[-1].plate.outline
    above.append((out + max(y for _, y in last.exterior), "tip"))
    below = [(place, "bearing") for place in s.crank.bearings]
    below += [(p.throw_out, f"throw {short(p.name, 8)}") for p in s.panels]
    below += [(w.out, "counterweight") for w in s.crank.weights]
    return above, below


def station_words(out: float, word: str, way: int) -> str:
    """Write a station with its figure next to the view, above it (way 1) or below (way -1)."""
    return f"{millimetres(out)} {word}" if way > 0 else f"{word} {millimetres(out)}"


def strip_room(sheet: Sheet, s: Side) -> tuple[float, float]:
    """Give the room that the stations take above and below the view from above, mm."""
    above, below = (
        max(sheet.width(station_words(out, word, way)) for out, word in items)
        for items, way in zip(_stations(s), (1, -1), strict=True)
    )
    return above + 2 * KNEE + 1, below + 2 * KNEE + 1


def _strips(sheet: Sheet, view: View, s: Side) -> None:
    """Write the distances out from the post's axis above and below the view."""
    back, ahead = depth(s)
    low, high = view.y - view.scale * ahead, view.y - view.scale * back
    for items, edge, way in zip(_stations(s), (high + KNEE, low - KNEE), (1, -1), strict=True):
        at = [float(view.at((s.sign * out, 0))[0]) for out, _ in items]
        for (out, word), here, there in zip(items, at, spread(at, STATION), strict=True):
            start = view.y if way < 0 else edge - KNEE
            knee, end = edge, edge + way * KNEE
            sheet.line([(here, start), (here, knee), (there, end)], color=GREY, width=HAIR)
            words = station_words(out, word, way)
            sheet.text(there, end + way * 0.5, words, rotation=90, ha="center",
                       va="bottom" if way > 0 else "top")  # fmt: skip


def depth(s: Side) -> tuple[float, float]:
    """Give how far a side reaches backward and forward seen from above, m."""
    edges: list[float] = []
    ahead = 0.0
    for p in s.panels:
        ahead += p.hinge_forward
        edges += [ahead + x for x, _ in p.plate.outline.exterior]
    radius = max(p.throw_radius for p in s.panels)
    edges += [-radius, radius]
    return min(edges), max(edges)
