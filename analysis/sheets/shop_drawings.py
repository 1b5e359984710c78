"""The shop's drawings: the crankshaft along its axis and from its end, panels flat, counterweight, rim, bolt circle."""

import math

import numpy as np

from analysis.drawing.parts import BOX, bearing
from analysis.drawing.sheet import Sheet, View, degrees, millimetres, spread
from analysis.drawing.side import throws as draw_throws
from analysis.parts.bolt_group import bolt_circle
from analysis.sheets.counterweights import Segment, segment, square_plate
from analysis.sheets.facts import Facts
from analysis.sheets.layout import Drawing
from analysis.sheets.rims import Rim
from analysis.sheets.shop_panels import extent
from analysis.sheets.shop_shaft import arm_free, bars, fault, sides
from analysis.sheets.svg import inline
from analysis.style import BLUE, FINE, FIRM, GREY, HAIR, INK, PALE, SMALL, TEXT, THIN, VERMILION
from models.mechanism import Panel, Side
from sim.arrays import Array
from sim.mass import plate_mass

WIDE = 180.0
"""Width of a drawing, mm: what fits A4 and US Letter."""
STEEL = "#e9edf0"
CORNERS = 24
"""Corners up to which each is numbered in a panel's drawing."""
SHOWN = 12
"""Pieces of the rim that is drawn."""
AXIS = (0, (10, 2, 2, 2))


def shaft(facts: Facts) -> Drawing:
    """Draw a side's crankshaft along its axis, every throw turned into the paper, with places from the post's axis."""
    side = sides(facts)[0]
    c = side.crank
    reach = max(p.throw_radius for p in side.panels)
    deep = max([0.0, *(w.radius for w in c.weights)])
    # As long as the paper allows, and no higher than half of that.
    scale = min((WIDE - 24) / (c.ends[1] - min(0.0, c.ends[0])), 70 / (reach + deep + 0.1))
    high = scale * (reach + deep) + 54
    sheet = Sheet(WIDE, high)
    view = View(scale, 12 - scale * min(0.0, c.ends[0]), 38 + scale * deep)
    room = (2.0, 30.0, WIDE - 2, high - 2)
    low, top = float(view.at((0, -deep))[1]) - 6, float(view.at((0, reach))[1]) + 8
    sheet.line([(view.x, low), (view.x, top)], color=GREY, width=HAIR, linestyle=AXIS)
    sheet.label((view.x, top - 2), "post's axis", room, (1, 0.5), GREY)
    _metal(sheet, view, side)
    for w in c.weights:
        at = view.at((w.out, -w.radius))
        sheet.line([view.at((w.out, 0)), at], width=FINE)
        sheet.circle(at, 1.6, fill=INK)
        sheet.label(at, f"counterweight {w.mass:.3g} kg, r {millimetres(w.radius)}", room, (1, 0.2))
    for k, s in enumerate(c.stations):
        bearing(sheet, view.at((s.out, 0)), 1.6 * BOX)
        sheet.label(
            view.at((s.out, 0)) - (0, 2), "locating bearing" if k == 0 else "bearing", room, (0.4, -1)
        )
    for p in side.panels:
        pin = view.at((p.throw_out, p.throw_radius))
        words = f"throw {p.name}: r {millimetres(p.throw_radius)} at {degrees(p.throw_angle)}"
        sheet.label(pin, words, room, (-0.2, 1), VERMILION)
    _places(sheet, view, side, low)
    sheet.settle()
    name = "Crankshaft along its axis" + ("" if len(sides(facts)) == 1 else f", {side.name} side")
    svg = inline(
        sheet.figure, name, "bars, webs, throws, bearings and counterweights with their distances out"
    )
    return Drawing(
        name,
        svg,
        "Every throw is turned up into the paper and every counterweight down: true angles are in the "
        "drawing from the end. Distances in mm out from the post's axis, along the other side mirrored.",
    )


def _metal(sheet: Sheet, view: View, side: Side) -> None:
    c = side.crank
    for bar in bars(side):
        up = next((p.throw_radius for p in side.panels if bar.name == f"pin of throw '{p.name}'"), 0.0)
        _box(sheet, view, bar.start, bar.end, up - bar.diameter / 2, up + bar.diameter / 2)
    for p in side.panels:
        for s in (-1, 1):
            a = p.throw_out + s * c.cheek.gap / 2
            low, high = -c.cheek.width / 2, p.throw_radius + c.cheek.width / 2
            _box(sheet, view, min(a, a + s * c.cheek.thickness), max(a, a + s * c.cheek.thickness), low, high)


def _box(sheet: Sheet, view: View, left: float, right: float, low: float, high: float) -> None:
    corners = view.at([(left, low), (right, low), (right, high), (left, high)])
    sheet.shape(corners, fill=STEEL, width=THIN)


def _places(sheet: Sheet, view: View, side: Side, low: float) -> None:
    """Write all places along the shaft below it, each with a line down to its figure."""
    c = side.crank
    places = {*c.ends, *(s.out for s in c.stations), *(w.out for w in c.weights)}
    for p in side.panels:
        places |= {p.throw_out, p.throw_out - c.cheek.half, p.throw_out + c.cheek.half}
    listed = sorted({round(x, 6) for x in places})
    at = [float(view.at((x, 0))[0]) for x in listed]
    for x, here, there in zip(listed, at, spread(at, 5.0), strict=True):
        sheet.line([(here, low + 4), (here, low), (there, low - 5), (there, low - 7)], color=GREY, width=HAIR)
        sheet.text(there, low - 8, millimetres(x), ha="center", va="top", rotation=90)


def throws(facts: Facts) -> Drawing:
    """Draw throws and counterweights seen along the shaft."""
    sheet = Sheet(WIDE, 80)
    draw_throws(sheet, (30, 2, WIDE - 30, 78), facts.linkage)
    sheet.settle()
    name = "Throws and counterweights, seen from the right"
    svg = inline(sheet.figure, name, "angles from straight up, radii in mm")
    return Drawing(
        name,
        svg,
        "Angles are positive toward forward, which is to the right here. Seen so a left crankshaft has its "
        "inner end, by the post, toward you and a right one its outer end"
        + (": they are mirror images, not two alike. " if len(facts.mechanism.sides) == 2 else ". ")
        + "Weld the webs in a jig that holds these angles.",
    )


def panel(name: str, p: Panel) -> Drawing:
    """Draw a panel flat, with its corners numbered as in its table."""
    ring = np.array(p.plate.outline.exterior)
    chord, span = extent(p.plate.outline)
    low, high = ring.min(axis=0), ring.max(axis=0)
    bottom = min(low[1], 0.0)
    tall = high[1] - bottom
    scale = min((WIDE - 60) / chord, 68 / tall)
    height = scale * tall + 40
    sheet = Sheet(WIDE, height)
    view = View(scale, WIDE / 2 - scale * (low[0] + high[0]) / 2, 26 - scale * bottom)
    room = (2.0, 14.0, WIDE - 2, height - 2)
    sheet.shape(view.at(ring), edge=BLUE, fill=STEEL, width=FIRM)
    for hole in p.plate.outline.holes:
        sheet.shape(view.at(hole), edge=BLUE, fill="white", width=THIN)
    ends = view.at([(low[0], 0), (high[0], 0)]) + np.array([(-10, 0), (10, 0)])
    sheet.line(ends, width=THIN, linestyle=AXIS)
    sheet.label(ends[0], "hinge line", room, (-0.3, 1))
    centre = view.at(ring.mean(axis=0))
    if len(ring) <= CORNERS:
        for k, (x, y) in enumerate(ring, 1):
            at = view.at((x, y))
            way = at - centre
            sheet.label(at, f"{k}: {millimetres(x)}, {millimetres(y)}", room, (float(way[0]), float(way[1])))
    com = plate_mass(p.plate).com
    at = view.at(com[:2])
    sheet.circle(at, 1.6, width=THIN)
    sheet.label(
        at,
        f"centre of gravity {millimetres(float(com[0]))}, {millimetres(float(com[1]))}",
        room,
        (1, 1),
        GREY,
    )
    yoke = view.at((p.yoke_forward, p.yoke_out))
    sheet.circle(yoke, 1.0, fill=INK)
    sheet.label(yoke, f"yoke pin {millimetres(p.yoke_forward)}, {millimetres(p.yoke_out)}", room, (-1, 0.5))
    origin = view.at((0, 0))
    tick = np.array((0.0, 2.5))
    sheet.line([origin - tick, origin + tick], width=THIN)
    sheet.label(origin, "0, 0", room, (0.3, -1))
    _measured(sheet, view.at((low[0], bottom)), view.at((high[0], bottom)), (0, -13), millimetres(chord))
    _measured(sheet, view.at((high[0], low[1])), view.at((high[0], high[1])), (22, 0), millimetres(span))
    sheet.settle()
    title = f"Panel '{name}', flat"
    svg = inline(sheet.figure, title, "its corners, forward and out from its hinge line, mm")
    return Drawing(
        title,
        svg,
        "Forward to the right, out upwards: a left panel is seen from above, a right one from below. "
        "Corners: forward, out from the hinge line's origin, mm.",
    )


def _measured(sheet: Sheet, a: Array, b: Array, off: tuple[float, float], words: str) -> None:
    """Draw a dimension between two points, moved off them."""
    start, end = a + np.array(off), b + np.array(off)
    toward = np.array(off) / np.hypot(*off)
    for point, moved in ((a, start), (b, end)):
        sheet.line([point + 1.5 * toward, moved + 1.5 * toward], color=GREY, width=HAIR)
    middle = (start + end) / 2
    sheet.arrow([middle, start], width=FINE)
    sheet.arrow([middle, end], width=FINE)
    upright = abs(off[0]) > abs(off[1])
    sheet.text(
        float(middle[0]) + (1.2 if upright else 0),
        float(middle[1]) + (0 if upright else 1.0),
        words,
        size=TEXT,
        ha="left" if upright else "center",
        va="center" if upright else "bottom",
    )


def counterweight(facts: Facts) -> Drawing | None:
    """Draw the first counterweight as a square plate and as a segment, of 20 mm plate; None without one."""
    c = sides(facts)[0].crank
    weight = next((w for w in c.weights if w.mass > 0), None)
    if weight is None:
        return None
    thickness = 0.02
    plate = square_plate(weight.mass, weight.radius, thickness, c.material.density)
    disc = segment(weight.mass, weight.radius, thickness, c.material.density)
    reach = max(plate.farthest, disc.outside)
    scale = min(66 / (reach + c.shaft), (WIDE / 2 - 30) / max(plate.side, disc.width))
    sheet = Sheet(WIDE, 86)
    for x, square in ((WIDE * 0.26, True), (WIDE * 0.71, False)):
        view = View(scale, x, 12 + scale * c.shaft / 2)
        left = 2.0 if square else WIDE * 0.48
        room = (left, 2.0, left + WIDE / 2 - 4, 84.0)
        if square:
            s = plate.side / 2
            corners = [
                (-s, plate.nearest),
                (s, plate.nearest),
                (s, plate.nearest + 2 * s),
                (-s, plate.nearest + 2 * s),
            ]
        else:
            corners = segment_points(disc)
        sheet.shape(view.at(corners), fill=STEEL, width=FIRM)
        sheet.circle(view.at((0, 0)), max(0.8, scale * c.shaft / 2), fill="white", width=THIN)
        sheet.line(view.at([(0, 0), (0, weight.radius)]), color=GREY, width=FINE)
        sheet.circle(view.at((0, weight.radius)), 1.2, fill=INK)
        sheet.label(
            view.at((0, weight.radius)), f"centre of gravity\nr {millimetres(weight.radius)}", room, (1, 1)
        )
        _weight_words(sheet, view, room, plate.side if square else None, disc, plate.nearest)
    sheet.settle()
    free = arm_free(facts.mechanism, sides(facts)[0], weight.out)
    words = [
        f" The {what} {found}: do not cut it so."
        for what, shape in (("square plate", plate), ("segment", disc))
        if (found := fault(shape, c.shaft, free))
    ]
    name = "Counterweight, two ways to cut it from 20 mm plate"
    svg = inline(sheet.figure, name, "a square plate, and a segment of a disc about the shaft")
    return Drawing(
        name, svg, "Other thicknesses are in the table. The shaft is the circle below." + "".join(words)
    )


def segment_points(disc: Segment, count: int = 90) -> list[tuple[float, float]]:
    """Give points along the edge of a segment, across and from the axis, m: its arc, then its chord."""
    turn = np.linspace(-disc.half, disc.half, count)
    return [(disc.outside * math.sin(a), disc.outside * math.cos(a)) for a in turn]


def _weight_words(
    sheet: Sheet,
    view: View,
    room: tuple[float, float, float, float],
    side: float | None,
    disc: Segment,
    near: float,
) -> None:
    if side is not None:
        _measured(
            sheet, view.at((-side / 2, near)), view.at((side / 2, near)), (0, -6), f"edge {millimetres(side)}"
        )
        _measured(sheet, view.at((side / 2, 0)), view.at((side / 2, near)), (10, 0), millimetres(near))
        return
    chord, half = disc.nearest, disc.width / 2
    _measured(
        sheet, view.at((-half, chord)), view.at((half, chord)), (0, -6), f"chord {millimetres(disc.width)}"
    )
    arc = disc.outside * np.array([math.sin(-0.6 * disc.half), math.cos(-0.6 * disc.half)])
    sheet.label(view.at(arc), f"outside r {millimetres(disc.outside)}", room, (-1, 1))
    _measured(sheet, view.at((half, 0)), view.at((half, chord)), (8, 0), millimetres(chord))


def rim(facts: Facts) -> Drawing | None:
    """Draw a rim of straight pieces and one of its joints; None for a handle."""
    w = facts.mechanism.wheel
    bar = w.bar or 0.02
    if w.kind == "handle" or w.radius <= bar:
        return None
    r = Rim(SHOWN, w.radius, bar)
    scale = 36 / r.farthest
    sheet = Sheet(WIDE, 84)
    view = View(scale, 48, 42)
    turn = 2 * np.pi * np.arange(SHOWN + 1) / SHOWN + r.mitre
    way = np.stack([np.sin(turn), np.cos(turn)], -1)
    near, far = r.inside / math.cos(r.mitre), r.farthest
    for radius in (near, far):
        sheet.line(view.at(radius * way), width=FIRM)
    for each_way in way[:-1]:
        sheet.line(view.at([near * each_way, far * each_way]), width=FINE)
    circle = np.linspace(0, 2 * np.pi, 121)
    ring = r.radius * np.stack([np.sin(circle), np.cos(circle)], -1)
    sheet.line(view.at(ring), color=PALE, width=FINE, linestyle=(0, (3, 2)))
    sheet.circle(view.at((0, 0)), 1.0, width=THIN)
    sheet.text(48, 42 - 5, f"circle Ø {millimetres(2 * r.radius)}", ha="center", va="top", color=GREY)
    _piece(sheet, r)
    name = f"Rim of straight pieces: {SHOWN} of them"
    svg = inline(sheet.figure, name, "a regular polygon, and one piece with its lengths and mitres")
    drawn = "" if w.bar else " The description has no rim bar: drawn with one of 20 mm."
    return Drawing(
        name,
        svg,
        "Other numbers of pieces are in the table. The dashed circle goes through the "
        "corners of the "
        "bars' middles." + drawn,
    )


def _piece(sheet: Sheet, r: Rim) -> None:
    """Draw one piece, as long as there is room, its width exaggerated so that the mitres show."""
    x, y, long, wide = 138.0, 42.0, 62.0, 12.0
    cut = wide * math.tan(r.mitre)
    ends = [
        (x - long / 2 - cut / 2, y + wide / 2),
        (x + long / 2 + cut / 2, y + wide / 2),
        (x + long / 2 - cut / 2, y - wide / 2),
        (x - long / 2 + cut / 2, y - wide / 2),
    ]
    sheet.shape(ends, fill=STEEL, width=FIRM)
    sheet.line([(x - long / 2 - 3, y), (x + long / 2 + 3, y)], color=GREY, width=HAIR, linestyle=AXIS)
    _measured(sheet, np.array(ends[0]), np.array(ends[1]), (0, 7), f"outer edge {millimetres(r.outer)}")
    _measured(sheet, np.array(ends[3]), np.array(ends[2]), (0, -9), f"inner edge {millimetres(r.inner)}")
    sheet.text(x, y + 1, f"middle {millimetres(r.centreline)}", ha="center", va="bottom")
    sheet.text(
        x, y - 22, f"each end {degrees(r.mitre)} off square; not to scale", ha="center", va="top", size=SMALL
    )


def bolts(facts: Facts) -> Drawing | None:
    """Draw the hub's bolt circle; None where none is described."""
    w = facts.mechanism.wheel
    if not w.bolts:
        return None
    scale = 32 / (w.hub_diameter / 2)
    sheet = Sheet(WIDE, 84)
    view = View(scale, WIDE / 2, 42)
    room = (2.0, 2.0, WIDE - 2, 82.0)
    sheet.circle(view.at((0, 0)), scale * w.hub_diameter / 2, fill=STEEL, width=FIRM)
    sheet.circle(view.at((0, 0)), scale * w.circle / 2, edge=GREY, width=FINE, linestyle=AXIS)
    sheet.circle(view.at((0, 0)), max(1.0, scale * w.shaft.diameter / 2), fill="white", width=THIN)
    for k, hole in enumerate(bolt_circle(w.bolts, w.circle), 1):
        at = view.at(hole)
        sheet.circle(at, 1.2, fill="white", width=THIN)
        sheet.label(at, f"{k}: {millimetres(hole[0])}, {millimetres(hole[1])}", room, hole)
    sheet.settle()
    name = f"Bolt circle of the hub: {w.bolts} on Ø {millimetres(w.circle)}"
    svg = inline(sheet.figure, name, "holes' centres right of and above the axis, mm")
    return Drawing(name, svg, "Coordinates: right of and above the axis, mm.")
