"""The view from the front, with its ladder of heights."""

import numpy as np

from analysis.drawing.parts import SMALL_BOX, Pose, across, bearing, drive_shafts, ground, post, shaft
from analysis.drawing.sheet import Box, Sheet, View, degrees, millimetres, short, spread
from analysis.style import BLUE, BOLD, FINE, FIRM, GREEN, GREY, HAIR, INK, PALE, THIN
from models.mechanism import Mechanism
from sim.builders import Linkage
from sim.linkage import PanelCourse, carried

GRIP = 0.1
"""Length of a handle's grip, m, as drawn."""


def front(sheet: Sheet, view: View, room: Box, closed: Linkage, poses: list[Pose]) -> None:
    """Draw the view from the front: the left side lies to the right."""
    mechanism = closed.mechanism
    ground(sheet, view, room, -mechanism.crank_height)
    post(sheet, view, closed)
    _drive(sheet, view, mechanism)
    _wheel_edge(sheet, view, mechanism)
    for p in poses:
        for k in (1, 2):
            _wing(sheet, view, p, k, ghost=True)
    for p in poses:
        shaft(sheet, view, p.side, 0, mechanism.post)
        _wing(sheet, view, p, 0, ghost=False)
    p = poses[0]
    for course, swing in zip(p.courses, p.swing, strict=True):
        _front_labels(sheet, view, room, p, course, swing)
    tip = p.courses[-1]
    for k, word in ((1, "lowest"), (2, "highest")):
        end = across(p.side, p.strip(tip, k))[1]
        words = f"{word} at {degrees(p.crank[k])}"
        sheet.label(view.at(end), words, room, (0.3, -1 if k == 1 else 1), GREY)
    low = mechanism.wheel.height - mechanism.crank_height
    word = "wheel" if mechanism.wheel.kind == "disc" else "handle"
    out = mechanism.wheel.out
    sheet.label(view.at((out, low + 0.6 * mechanism.wheel.radius)), word, room, (-1, 0))
    if mechanism.post is not None:
        size = f"post Ø {millimetres(mechanism.post.outside)}"
        sheet.label(view.at((mechanism.post.outside / 2, 0.6 * low)), size, room, (1, 0), GREY)
    for k, station in enumerate(p.side.crank.stations):
        word = "locating bearing" if k == 0 else "bearing on an arm" if station.on == "arm" else "bearing"
        sheet.label(view.at((p.side.sign * station.out, 0)), word, room, (0, -1))
    weights = p.side.crank.weights
    for w in weights[:1]:
        at = (p.side.sign * w.out, w.radius * np.cos(w.angle + p.side.key_angle))
        words = f"counterweight {w.mass:.3g} kg" if len(weights) == 1 else "counterweights"
        sheet.label(view.at(at), words, room, (0.3, -1))
    for other in poses[1:]:
        if other.side.key_angle != p.side.key_angle:
            y = other.side.sign * other.side.panels[-1].throw_out
            words = f"{other.side.name} crank keyed {degrees(other.side.key_angle)}"
            sheet.label(view.at((y, 0)), words, room, (-0.3, -1))


def _front_labels(
    sheet: Sheet, view: View, room: Box, p: Pose, course: PanelCourse, swing: tuple[float, float]
) -> None:
    name, sign = short(course.panel.name), p.side.sign
    strip = across(p.side, p.strip(course, 0))
    words = f"{name} panel\n{degrees(swing[0])} to {degrees(swing[1])}"
    sheet.label(view.at(0.35 * strip[0] + 0.65 * strip[1]), words, room, (0.2 * sign, 1), BLUE)
    pin, yoke = course.pin.value[0], course.yoke.value[0]
    middle = across(p.side, np.stack([(pin + yoke) / 2]))[0]
    rod = f"rod {millimetres(course.panel.rod.length)}"
    sheet.label(view.at(middle), rod, room, (sign, 0), GREEN)
    here = across(p.side, course.hinge.value[:1])[0]
    sheet.label(view.at(here), "hinge", room, (-0.4 * sign, 1))
    there = across(p.side, yoke[None])[0]
    sheet.label(view.at(there), "yoke pin", room, (sign, -0.5))


def _wing(sheet: Sheet, view: View, p: Pose, k: int, *, ghost: bool) -> None:
    for course in p.courses:
        strip = view.at(across(p.side, p.strip(course, k)))
        pin, yoke, hinge = (
            across(p.side, c.value[k : k + 1])[0] for c in (course.pin, course.yoke, course.hinge)
        )
        if ghost:
            dashes = (0, (2, 2)) if k == 1 else (0, (6, 2))
            sheet.line(strip, color=GREY, width=THIN, linestyle=dashes)
            continue
        foot = carried(course, np.array([0.0, course.panel.yoke_out, 0.0])).value[k : k + 1]
        sheet.line(strip, color=BLUE, width=BOLD)
        sheet.line(view.at([across(p.side, foot)[0], yoke]), color=BLUE, width=FIRM)
        sheet.line(view.at([pin, yoke]), color=GREEN, width=FIRM)
        for point in (pin, yoke):
            sheet.circle(view.at(point), 0.8, fill="white", width=THIN, zorder=4)
        sheet.circle(view.at(hinge), 1.0, fill=INK, zorder=4)


def _wheel_edge(sheet: Sheet, view: View, m: Mechanism) -> None:
    """Draw the wheel edge-on, in its plane."""
    w, up = m.wheel, m.wheel.height - m.crank_height
    half = max(w.thickness, w.bar, 0.012) / 2
    low = up if w.kind == "handle" else up - w.radius
    left, right = w.out - half, w.out + half
    corners = [(left, low), (right, low), (right, up + w.radius), (left, up + w.radius)]
    sheet.shape(view.at(corners), fill="white", width=FIRM, zorder=3)
    if w.kind == "handle":
        # The grip points away from the post.
        start, end = (right, right + GRIP) if w.out >= 0 else (left, left - GRIP)
        sheet.line(view.at([(start, up + w.radius), (end, up + w.radius)]), width=BOLD)


def _drive(sheet: Sheet, view: View, m: Mechanism) -> None:
    """Draw the shafts of the drive with their bearings, and the chains edge-on in their planes."""
    bars = drive_shafts(m)
    for bar in bars:
        sheet.line(view.at([(bar.low, bar.at[1]), (bar.high, bar.at[1])]), width=THIN)
        for place in bar.bearings:
            bearing(sheet, view.at((place, bar.at[1])), SMALL_BOX)
    for k, stage in enumerate(m.stages):
        ends = [(stage.out, bars[k].at[1]), (stage.out, bars[k + 1].at[1])]
        sheet.line(view.at(ends), width=FINE, linestyle=(0, (3, 1)))


def heights(sheet: Sheet, view: View, x: float, closed: Linkage, poses: list[Pose]) -> None:
    """Write the heights above ground as a ladder whose figures end at x, mm."""
    m = closed.mechanism
    tips = [float(p.strip(p.courses[-1], k)[1, 2]) for p in poses for k in (1, 2)]
    items = [
        (m.wheel.height, "wheel's axis" if m.stages or m.wheel.height != m.crank_height else ""),
        (m.crank_height, "crank's axis"),
        (m.crank_height + m.sides[0].panels[0].hinge_up, "inner hinge"),
        (m.crank_height + min(tips), "tip lowest"),
        (m.crank_height + max(tips), "tip highest"),
        (0.0, "ground"),
    ]
    items = [(h, word) for h, word in items if word]
    at = [float(view.at((0, h - m.crank_height))[1]) for h, _ in items]
    # Figures stay clear of the ground's line.
    wanted = [max(y, min(at) + 2.6) for y in at]
    for (h, word), here, there in zip(items, at, spread(wanted, 4.2), strict=True):
        box = sheet.text(x, there, f"{word} {millimetres(h)}", ha="right", va="center")
        sheet.line([(box[2] + 0.7, there), (box[2] + 4, here), (box[2] + 6, here)], color=GREY, width=HAIR)
        if h > 0:
            sheet.line([(box[2] + 6, here), (view.x, here)], color=PALE, width=HAIR, zorder=0)
