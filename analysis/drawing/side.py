"""The views from the right: the whole piece, and its throws along the shaft."""

import numpy as np

from analysis.drawing.parts import FLAT_METAL, Pose, ground, post
from analysis.drawing.sheet import Box, Sheet, View, degrees, millimetres, short
from analysis.style import BLUE, BOLD, FINE, FIRM, GREEN, GREY, HAIR, INK, PALE, THIN, VERMILION
from models.drive import Stage
from models.mechanism import Mechanism
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import Place
from sim.linkage import carried
from sim.sprocket import pitch_radius


def side(
    sheet: Sheet, view: View, room: Box, closed: Linkage, poses: list[Pose], places: tuple[Place, ...]
) -> None:
    """Draw the view from the right: forward lies to the right, and the crank turns clockwise."""
    mechanism = closed.mechanism
    ground(sheet, view, room, -mechanism.crank_height)
    post(sheet, view, closed)
    _chains(sheet, view, room, mechanism.stages, places)
    _wheel_face(sheet, view, room, mechanism, places[0])
    p = poses[0]
    for course in p.courses:
        panel = course.panel
        flat = np.array([(x, y) for x, y in panel.plate.outline.exterior])
        low, high = flat[:, 0].min(), flat[:, 0].max()
        points = [carried(course, np.array([x, y, 0.0])).value[0][[0, 2]] for x, y in flat]
        sheet.shape(view.at(points), edge=BLUE, fill=FLAT_METAL, width=THIN, alpha=0.8)
        hinge = course.hinge.value[0]
        line = view.at([(hinge[0] + low, hinge[2]), (hinge[0] + high, hinge[2])])
        sheet.line(line, width=FINE, linestyle=(0, (8, 2, 1.5, 2)))
    for course in p.courses:
        pin, yoke = course.pin.value[0][[0, 2]], course.yoke.value[0][[0, 2]]
        ring = np.stack([np.sin(np.linspace(0, 2 * np.pi, 61)), np.cos(np.linspace(0, 2 * np.pi, 61))], -1)
        sheet.line(view.at(course.panel.throw_radius * ring), color=VERMILION, width=FINE)
        sheet.line(view.at([pin, yoke]), color=GREEN, width=FIRM)
        for point in (pin, yoke):
            sheet.circle(view.at(point), 0.7, fill="white", width=THIN, zorder=4)
    first = p.courses[0]
    hinge = first.hinge.value[0]
    sheet.label(view.at(hinge[[0, 2]]), "hinge line", room, (-1, 1))
    sheet.label(view.at(first.yoke.value[0][[0, 2]]), "yoke pin", room, (1, 0.5))
    radius = max(c.panel.throw_radius for c in p.courses)
    sheet.label(view.at((-radius, 0)), "throws", room, (-1, 0), VERMILION)


def _wheel_face(sheet: Sheet, view: View, room: Box, m: Mechanism, at: Place) -> None:
    w = m.wheel
    centre = np.array(at)
    style = {"width": FIRM} if w.kind == "disc" else {"width": FINE, "linestyle": (0, (4, 2))}
    turn = np.linspace(0, 2 * np.pi, 91)
    sheet.line(view.at(centre + w.radius * np.stack([np.sin(turn), np.cos(turn)], -1)), **style)  # pyright: ignore[reportArgumentType]
    hub = w.hub_diameter if w.hub_mass > 0 else m.sides[0].crank.shaft
    sheet.circle(view.at(centre), max(0.8, view.scale * hub / 2), fill="white", width=THIN)
    if w.kind == "handle":
        grip = centre + np.array((0, w.radius))
        sheet.line(view.at([centre, grip]), width=BOLD)
        sheet.circle(view.at(grip), 1.1, fill=INK, zorder=4)
        words = f"handle r {millimetres(w.radius)}"
    else:
        words = f"wheel Ø {millimetres(2 * w.radius)}"
    sheet.label(view.at(centre + w.radius * np.array((-0.7, -0.7))), words, room, (-1, -1))
    sweep = np.radians(np.linspace(30, 75, 16))
    arc = view.at(centre) + (view.scale * w.radius + 3.0) * np.stack([np.sin(sweep), np.cos(sweep)], -1)
    sheet.arrow(arc, width=THIN)
    sheet.label(arc[8], "+", room, (1, 1))


def _chains(
    sheet: Sheet, view: View, room: Box, stages: tuple[Stage, ...], places: tuple[Place, ...]
) -> None:
    for k, stage in enumerate(stages):
        ends = view.at([places[k], places[k + 1]])
        radii = [
            view.scale * float(pitch_radius(float(t), stage.pitch)) for t in (stage.driver, stage.driven)
        ]
        for at, radius in zip(ends, radii, strict=True):
            sheet.circle(at, radius, edge=INK, width=THIN)
        gap = ends[1] - ends[0]
        apart = float(np.hypot(*gap))
        if apart > abs(radii[1] - radii[0]):
            _strands(sheet, ends, radii)
        for at, teeth, way in zip(ends, (stage.driver, stage.driven), ((1, -0.4), (1, 0.4)), strict=True):
            sheet.label(at, f"{teeth} teeth", room, way)
        length = "" if stage.centres is None else f" {millimetres(stage.centres)}"
        words = f"stage {k + 1}{': centres' + length if length else ''}"
        sheet.label((ends[0] + ends[1]) / 2, words, room, (1, 0))
        sheet.line(ends, color=GREY, width=HAIR, linestyle=(0, (10, 2, 2, 2)))


def _strands(sheet: Sheet, ends: Array, radii: list[float]) -> None:
    """Draw the two straight strands, tangent to both pitch circles."""
    gap = ends[1] - ends[0]
    toward = float(np.arctan2(gap[1], gap[0]))
    lean = float(np.arccos(np.clip((radii[0] - radii[1]) / np.hypot(*gap), -1, 1)))
    for turn in (toward + lean, toward - lean):
        normal = np.array([np.cos(turn), np.sin(turn)])
        sheet.line(ends + np.array(radii)[:, None] * normal, width=THIN, linestyle=(0, (3, 1)))


def throws(sheet: Sheet, room: Box, closed: Linkage) -> None:
    """Draw every throw along the shaft, seen from the right, with its angle from straight up."""
    first = closed.mechanism.sides[0]
    largest = max([p.throw_radius for p in first.panels] + [w.radius for w in first.crank.weights])
    x, y = (room[0] + room[2]) / 2, (room[1] + room[3]) / 2 - 1
    scale = 0.29 * min(room[2] - room[0], room[3] - room[1]) / largest
    view = View(scale, x, y)
    top = largest * 1.22
    sheet.line(view.at([(0, -largest * 1.1), (0, top)]), color=GREY, width=FINE, linestyle=(0, (5, 2)))
    sheet.line(view.at([(-largest * 1.1, 0), (largest * 1.1, 0)]), color=PALE, width=FINE)
    x0, y0 = view.at((0, top))
    sheet.text(float(x0), float(y0), "crank angle 0, up", ha="center", color=GREY)
    turn = np.linspace(0, 2 * np.pi, 91)
    ring = np.stack([np.sin(turn), np.cos(turn)], -1)
    for p in first.panels:
        sheet.line(view.at(p.throw_radius * ring), color=VERMILION, width=HAIR, linestyle=(0, (4, 2)))
    for p in first.panels:
        at = _turned(p.throw_radius, p.throw_angle)
        sheet.line(view.at([(0, 0), at]), color=VERMILION, width=BOLD)
        sheet.circle(view.at(at), max(0.9, scale * first.crank.pin / 2), fill="white", width=THIN, zorder=4)
        words = f"throw {short(p.name)}\nr {millimetres(p.throw_radius)}, {degrees(p.throw_angle)}"
        sheet.label(view.at(at), words, room, (at[0] + 0.6 * p.throw_radius, at[1]), VERMILION)
    for w in first.crank.weights:
        at = _turned(w.radius, w.angle)
        sheet.line(view.at([(0, 0), at]), width=FINE)
        sheet.circle(view.at(at), 1.5, fill=INK, zorder=4)
        words = f"counterweight {w.mass:.3g} kg\nr {millimetres(w.radius)}, {degrees(w.angle)}"
        sheet.label(view.at(at), words, room, at)
    sheet.circle((x, y), max(0.9, scale * first.crank.shaft / 2), fill="white", width=THIN, zorder=4)
    sweep = np.radians(np.linspace(38, 78, 20))
    arc = largest * 1.12 * np.stack([np.sin(sweep), np.cos(sweep)], -1)
    sheet.arrow(view.at(arc), color=INK, width=THIN)
    sheet.label(view.at(arc[10]), "+ turns forward", room, (1, 1))
    for s in closed.mechanism.sides:
        if s.key_angle:
            at = _turned(largest * 1.1, s.key_angle)
            sheet.line(view.at([(0, 0), at]), color=GREY, width=THIN, linestyle=(0, (1, 1.5)))
            words = f"{s.name} side keyed {degrees(s.key_angle)}"
            sheet.label(view.at(at), words, room, (at[0], 0.5), GREY)


def _turned(radius: float, angle: float) -> tuple[float, float]:
    """Give a point on a throw's circle seen from the right: angle 0 up, positive toward forward."""
    return radius * float(np.sin(angle)), radius * float(np.cos(angle))
