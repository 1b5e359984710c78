"""The view from above, with the distances out from the post's axis."""

import numpy as np

from analysis.drawing.parts import FLAT_METAL, shaft
from analysis.drawing.sheet import Box, Sheet, View, millimetres, short, spread
from analysis.style import BLUE, BOLD, FINE, FIRM, GREY, HAIR, THIN
from models.mechanism import Mechanism, Panel, Side
from sim.builders import Linkage
from sim.layout import shaft_places
from sim.sprocket import pitch_radius

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
    _drive(sheet, view, mechanism)
    for s in mechanism.sides:
        shaft(sheet, view, s, 1, mechanism.post)
    _strips(sheet, view, mechanism)


def _drive(sheet: Sheet, view: View, m: Mechanism) -> None:
    """Draw the wheel and the chains from above, each a line in its plane."""
    places, _ = shaft_places(m)
    ahead, w = places[0][0], m.wheel
    wheel = view.at([(w.out, -ahead - w.radius), (w.out, -ahead + w.radius)])
    if w.kind == "disc":
        sheet.line(wheel, width=BOLD)
    else:
        sheet.line(wheel, width=FIRM, linestyle=(0, (4, 2)))
    for k, stage in enumerate(m.stages):
        ends: list[float] = []
        for (ahead, _), teeth in ((places[k], stage.driver), (places[k + 1], stage.driven)):
            radius = float(pitch_radius(float(teeth), stage.pitch))
            ends += [ahead - radius, ahead + radius]
        line = view.at([(stage.out, -min(ends)), (stage.out, -max(ends))])
        sheet.line(line, width=FIRM, linestyle=(0, (3, 1)))


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


def stations(m: Mechanism) -> tuple[list[tuple[float, str]], list[tuple[float, str]]]:
    """Give what is written above and below the view: place along y from the post's axis, m, and words.

    Panels, wheel and chains above, what is on the crankshafts below; a second side only where it differs.
    """
    above, below = _drive_words(m), list[tuple[float, str]]()
    first = _side_words(m.sides[0])
    for s in m.sides:
        words = _side_words(s)
        if s is m.sides[0] or words != first:
            above += [(s.sign * out, f"{millimetres(out)} {word}") for out, word in words[0]]
            below += [(s.sign * out, f"{word} {millimetres(out)}") for out, word in words[1]]
    return above, below


def _drive_words(m: Mechanism) -> list[tuple[float, str]]:
    word = "wheel" if m.wheel.kind == "disc" else "handle"
    planes = [(m.wheel.out, word)] + [(s.out, f"stage {k}") for k, s in enumerate(m.stages, 1)]
    found: list[tuple[float, str]] = []
    for out, word in planes:
        side = "" if millimetres(out) == "0" else ", left" if out > 0 else ", right"
        found.append((out, f"{millimetres(abs(out))} {word}{side}"))
    return found


def _side_words(s: Side) -> tuple[list[tuple[float, str]], list[tuple[float, str]]]:
    """Give what lies at which distance out: on the panels, and along the shaft."""
    above: list[tuple[float, str]] = []
    out = 0.0
    for p in s.panels:
        out += p.hinge_out
        name = short(p.name, 8)
        above += [(out, f"hinge {name}"), (out + p.yoke_out, f"yoke pin {name}")]
    last = s.panels[-1].plate.outline
    above.append((out + max(y for _, y in last.exterior), "tip"))
    below = [(x.out, "arm bearing" if x.on == "arm" else "bearing") for x in s.crank.stations]
    below += [(p.throw_out, f"throw {short(p.name, 8)}") for p in s.panels]
    below += [(w.out, "counterweight") for w in s.crank.weights]
    return above, below


def strip_room(sheet: Sheet, m: Mechanism) -> tuple[float, float]:
    """Give the room that the stations take above and below the view from above, mm."""
    above, below = (max(sheet.width(words) for _, words in items) for items in stations(m))
    return above + 2 * KNEE + 1, below + 2 * KNEE + 1


def _strips(sheet: Sheet, view: View, m: Mechanism) -> None:
    """Write the distances out from the post's axis above and below the view."""
    back, ahead = extent(m)
    low, high = view.y - view.scale * ahead, view.y - view.scale * back
    for items, edge, way in zip(stations(m), (high + KNEE, low - KNEE), (1, -1), strict=True):
        at = [float(view.at((out, 0))[0]) for out, _ in items]
        for (_, words), here, there in zip(items, at, spread(at, STATION), strict=True):
            start = view.y if way < 0 else edge - KNEE
            knee, end = edge, edge + way * KNEE
            sheet.line([(here, start), (here, knee), (there, end)], color=GREY, width=HAIR)
            sheet.text(there, end + way * 0.5, words, rotation=90, ha="center",
                       va="bottom" if way > 0 else "top")  # fmt: skip


def extent(m: Mechanism) -> tuple[float, float]:
    """Give how far everything reaches backward and forward seen from above, m."""
    reach = [depth(s) for s in m.sides]
    places, _ = shaft_places(m)
    edges = [places[0][0] - m.wheel.radius, places[0][0] + m.wheel.radius, *(x for x, _ in places)]
    return min(*edges, *(b for b, _ in reach)), max(*edges, *(a for _, a in reach))


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
