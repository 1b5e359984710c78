"""The drawing of what was understood: what the maker compares with the sketch before believing any figure."""

import textwrap
from collections.abc import Iterable

import numpy as np
from matplotlib.figure import Figure

from analysis.drawing.front import GRIP, front, heights
from analysis.drawing.parts import Pose, compass, drive_shafts, pose
from analysis.drawing.sheet import Box, Sheet, View, millimetres, short
from analysis.drawing.side import side, throws
from analysis.drawing.sizes import ASSUMED, Row, schedule
from analysis.drawing.top import extent, strip_room, top
from analysis.style import BLUE, FINE, FIRM, GREY, HAIR, INK, PALE, SMALL, TEXT, THIN, TITLE
from models.mechanism import Default, Mechanism, Plate
from sim.builders import Linkage
from sim.layout import Place, shaft_places
from sim.mass import plate_mass

SHEET = (420.0, 297.0)
"""A3, mm."""
FLAT = (297.0, 210.0)
"""A4, mm."""
THROWS: Box = (10, 189, 102, 287)
SIDE: Box = (10, 10, 102, 185)
TOP: Box = (106, 189, 274, 287)
FRONT: Box = (106, 10, 274, 185)
SIZES: Box = (280, 58, 410, 287)
BLOCK: Box = (280, 10, 410, 54)
LADDER = 36.0
"""Room for the heights beside the view from the front, mm."""
FINEST, WIDEST = 3.5, 5.0
"""Least and largest distance of two lines of the schedule, mm."""


def drawing(closed: Linkage, defaults: Iterable[Default] | None = None) -> Figure:
    """Draw a sculpture on A3: three views, the throws along the shaft, and a schedule of sizes.

    Parameters
    ----------
    closed : the sculpture with its loops closed.
    defaults : what the description left open, marked in the schedule; the mechanism's own when None.
    """
    m = closed.mechanism
    assumed = {d.field for d in (m.defaults if defaults is None else defaults)}
    poses = [pose(s) for s in closed.sides]
    places, note = shaft_places(m)
    sheet = Sheet(*SHEET)
    scale = _scale(m, poses, places)
    _frame(sheet, "Throws, seen from the right", THROWS)
    _frame(sheet, "Side, seen from the right, crank angle 0", SIDE)
    _frame(sheet, "Top, panels flat; distances out from the post's axis", TOP)
    _frame(sheet, "Front, crank angle 0, ghosted with the tip lowest and highest", FRONT)
    low, high = upright(m, poses)
    x, y = (FRONT[0] + LADDER + FRONT[2]) / 2, (FRONT[1] + FRONT[3] - 6) / 2 - scale * (low + high) / 2
    facing = View(scale, x - scale * sum(wide(m, poses)) / 2, y)
    heights(sheet, facing, FRONT[0] + LADDER - 10, closed, poses)
    ahead = deep(m, poses, places)
    _sizes(sheet, schedule(closed, poses, assumed))
    _block(sheet, m, note, bool(assumed))
    ground = float(facing.at((0, -m.crank_height))[1]) + 5
    compass(sheet, FRONT[2] - 26, ground, "left", "up")
    compass(sheet, SIDE[0] + 5, ground, "forward", "up")
    compass(sheet, TOP[0] + 8, TOP[1] + 24, "left", "-forward")
    top(sheet, _above(sheet, m, scale, facing.x), closed)
    throws(sheet, _inner(THROWS), closed)
    front(sheet, facing, _inner(FRONT), closed, poses)
    across = View(scale, (SIDE[0] + SIDE[2]) / 2 - scale * sum(ahead) / 2, y)
    side(sheet, across, _inner(SIDE), closed, poses, places)
    sheet.settle()
    return sheet.figure


def outline_drawing(plates: Iterable[Plate]) -> Figure:
    """Draw panels of which no more than the outlines is known, flat, each with its centre of gravity.

    Parameters
    ----------
    plates : innermost first; forward lies down the page, out to the right.
    """
    found = list(plates)
    wide, high = FLAT
    sheet = Sheet(wide, high)
    sheet.text(10, high - 10, "Panels, flat", size=TITLE, weight="bold", va="top")
    sheet.text(10, high - 17, "Lengths in mm from the panel's own hinge line.", va="top")
    flats = [np.array(p.outline.exterior) for p in found]
    spans = [float(np.ptp(f[:, 1])) for f in flats]
    chord = max(float(np.ptp(f[:, 0])) for f in flats)
    scale = min((wide - 20 - 40 * len(found)) / sum(spans), (high - 80) / chord)
    share = (wide - 20 - scale * sum(spans)) / len(found)
    left = 10.0
    for plate, flat, span in zip(found, flats, spans, strict=True):
        x = left + share / 2 - scale * flat[:, 1].min()
        y = high / 2 + scale * (flat[:, 0].max() + flat[:, 0].min()) / 2
        right = left + share + scale * span
        _flat(sheet, View(scale, x, y), plate, (left, 8, right, high - 20))
        left = right
    compass(sheet, 14, 22, "out", "-forward")
    sheet.settle()
    return sheet.figure


def _flat(sheet: Sheet, view: View, plate: Plate, room: Box) -> None:
    for ring in (plate.outline.exterior, *plate.outline.holes):
        sheet.shape(view.at([(y, -x) for x, y in ring]), edge=BLUE, width=FIRM)
    along = [x for x, _ in plate.outline.exterior]
    ends = view.at([(0, -min(along)), (0, -max(along))]) + np.array([(0, 4), (0, -4)])
    sheet.line(ends, width=THIN, linestyle=(0, (8, 2, 1.5, 2)))
    sheet.label(ends[0], "hinge line", room, (1, 1))
    piece = plate_mass(plate)
    at = view.at((piece.com[1], -piece.com[0]))
    sheet.circle(at, 1.8, width=THIN)
    for arm in np.array([(2.8, 0.0), (0.0, 2.8)]):
        sheet.line([at - arm, at + arm], width=FINE)
    words = f"centre of gravity\nout {millimetres(piece.com[1])}, forward {millimetres(piece.com[0])}"
    sheet.label(at, words, room, (1, 0.6))
    flat = np.array(plate.outline.exterior)
    chord, span = flat.max(axis=0) - flat.min(axis=0)
    edge = float(view.at((0, -flat[:, 0].max()))[1])
    middle = float(view.at(((flat[:, 1].max() + flat[:, 1].min()) / 2, 0))[0])
    lines = [
        f"{short(plate.name, 24)}: {piece.mass:.3g} kg",
        f"chord {millimetres(chord)}, span {millimetres(span)}, thickness {millimetres(plate.thickness)}",
    ]
    for k, line in enumerate(lines):
        sheet.text(middle, edge - 9 - 5 * k, line, size=TEXT if k == 0 else SMALL, ha="center", va="top")


def _inner(box: Box) -> Box:
    return (box[0] + 1.5, box[1] + 1.5, box[2] - 1.5, box[3] - 7)


def _frame(sheet: Sheet, title: str, box: Box) -> None:
    sheet.line(_corners(box), color=PALE, width=HAIR)
    sheet.text(box[0] + 1.5, box[3] - 1.5, title, size=TEXT, va="top", weight="bold")


def _corners(box: Box) -> list[tuple[float, float]]:
    x0, y0, x1, y1 = box
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]


def _scale(m: Mechanism, poses: list[Pose], places: tuple[Place, ...]) -> float:
    """Give the scale of the upright views, mm per m, at which both fit."""
    low, high = upright(m, poses)
    left, right = wide(m, poses)
    back, ahead = deep(m, poses, places)
    return min(
        (FRONT[3] - FRONT[1] - 26) / (high - low),
        (FRONT[2] - FRONT[0] - LADDER - 12) / (right - left),
        (SIDE[2] - SIDE[0] - 30) / (ahead - back),
    )


def _points(p: Pose) -> np.ndarray:
    """Give points (n, 3) that a side reaches in its poses: forward, across with its sign, up."""
    found = [p.strip(c, k) for c in p.courses for k in range(3)]
    found += [c.yoke.value for c in p.courses]
    radius = max(x.throw_radius for x in p.side.panels)
    ends = max(p.side.crank.ends)
    found.append(np.array([(0, 0, -radius), (0, ends, radius)]))
    return np.vstack(found) * np.array([1, p.side.sign, 1])


def upright(m: Mechanism, poses: list[Pose]) -> tuple[float, float]:
    """Give the lowest and the highest that is drawn, from the crank's axis, m."""
    points = np.vstack([_points(p) for p in poses])
    top_of_wheel = m.wheel.height + m.wheel.radius - m.crank_height
    top_of_post = m.post.above if m.post is not None else 0.0
    return -m.crank_height, max(float(points[:, 2].max()), top_of_wheel, top_of_post)


def wide(m: Mechanism, poses: list[Pose]) -> tuple[float, float]:
    """Give how far the view from the front reaches, m."""
    points = np.vstack([_points(p) for p in poses])
    half = m.post.outside / 2 if m.post else 0.05
    grip = GRIP if m.wheel.kind == "handle" else 0.0
    reach = [-half, half, m.wheel.out - grip, m.wheel.out + grip]
    reach += [x for bar in drive_shafts(m) for x in (bar.low, bar.high)]
    return min(float(points[:, 1].min()), *reach), max(float(points[:, 1].max()), *reach)


def deep(m: Mechanism, poses: list[Pose], places: tuple[Place, ...]) -> tuple[float, float]:
    """Give how far the view from the side reaches, backward and forward, m."""
    found = [-m.wheel.radius + places[0][0], m.wheel.radius + places[0][0]]
    found += [x for x, _ in places]
    for p in poses:
        for c in p.courses:
            found += [float(c.hinge.value[0, 0]) + x for x, _ in c.panel.plate.outline.exterior]
            found += [-c.panel.throw_radius, c.panel.throw_radius]
    return min(found), max(found)


def _above(sheet: Sheet, m: Mechanism, scale: float, x: float) -> View:
    """Place the view from above: at the scale of the front view and in line with it where it fits."""
    back, ahead = extent(m)
    above, below = strip_room(sheet, m)
    inner = _inner(TOP)
    out = [
        s.sign
        * max(s.crank.ends[1], sum(p.hinge_out for p in s.panels)
              + max(y for _, y in s.panels[-1].plate.outline.exterior))
        for s in m.sides
    ]  # fmt: skip
    left, right = min([*out, -0.1, m.wheel.out]), max([*out, 0.1, m.wheel.out])
    fits = min(
        (inner[2] - inner[0] - 24) / (right - left), (inner[3] - inner[1] - above - below) / (ahead - back)
    )
    least, most = inner[0] + 20 - fits * left, inner[2] - 4 - fits * right
    scale = min(scale, fits)
    middle = (inner[1] + below + inner[3] - above) / 2
    return View(scale, float(np.clip(x, min(least, most), most)), middle + scale * (back + ahead) / 2)


def _sizes(sheet: Sheet, rows: list[Row]) -> None:
    """Write the schedule."""
    x0, y0, x1, y1 = SIZES
    count = int((y1 - y0) / FINEST)
    if len(rows) > count:
        left = len(rows) - count + 1
        rows = [*rows[: count - 1], Row(f"{left} more lines did not fit; see the list of sizes")]
    step = min(WIDEST, (y1 - y0) / max(1, len(rows)))
    y = y1
    for row in rows:
        middle = y - step / 2
        weight = "bold" if row.heading else "normal"
        if row.heading:
            sheet.line([(x0, y - step), (x1, y - step)], color=GREY, width=FINE)
        sheet.written(x0, middle, row.words, va="center_baseline", weight=weight)
        n = len(row.cells)
        each = min(24.0, (x1 - x0 - 46) / n) if n > 1 else 0.0
        if n == 1:
            each = x1 - x0 - sheet.width(row.words, weight=weight)
        for k, cell in enumerate(row.cells):
            words = sheet.fitted(cell, each - 1.5, weight=weight)
            right = x1 - each * (n - 1 - k)
            sheet.written(right, middle, words, ha="right", va="center_baseline", weight=weight)
        y -= step


def _block(sheet: Sheet, m: Mechanism, note: str | None, starred: bool) -> None:
    """Write the title block."""
    x0, _, x1, y1 = BLOCK
    sheet.line(_corners(BLOCK), color=INK, width=THIN)
    name = sheet.fitted(m.name, x1 - x0 - 6, TITLE + 3, weight="bold")
    sheet.written(x0 + 3, y1 - 3, name, size=TITLE + 3, va="top", weight="bold")
    stages = " × ".join(f"{s.driven}/{s.driver}" for s in m.stages)
    turns = (
        f"Reduction {m.reduction:.4g} : 1, {stages}"
        if stages
        else f"{m.wheel.kind.replace('disc', 'wheel').capitalize()} on the crankshaft, 1 : 1"
    )
    count = len(m.sides[0].panels)
    sides = "one side" if len(m.sides) == 1 else "two sides"
    each = f"{count} panel{'s' * (count > 1)}{' a side' * (len(m.sides) > 1)}"
    lines = [
        sheet.fitted(f"{turns}; {sides}, {each}", x1 - x0 - 6),
        "Sizes in mm and degrees as written; not to scale between views",
        "Panel angles from level, up positive",
        "Crank angle 0: a throw of 0° stands straight up; positive turns it forward",
    ]
    if starred:
        lines.append(f"{ASSUMED} not in the description: assumed as shown")
    if note:
        lines += textwrap.wrap(f"Note: {note}", 76)[:4]
    for k, line in enumerate(lines):
        sheet.written(x0 + 3, y1 - 13 - 4.1 * k, line, va="center")
