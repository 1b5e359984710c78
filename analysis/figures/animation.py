"""A short film of the mechanism over one turn of the crank, from its closed form: no run is needed."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from analysis.drawing.sheet import short
from analysis.style import (
    BLUE,
    BOLD,
    FIRM,
    GREEN,
    GREY,
    INK,
    PALE,
    PAPER,
    SMALL,
    TEXT,
    THIN,
    VERMILION,
    Axes,
    bare,
    caption,
    sheet,
)
from models.mechanism import Side
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import shaft_places
from sim.linkage import PanelCourse, carried

WIDTH, HEIGHT = 150.0, 100.0
"""mm; at `DPI` 650 by 433 pixels."""
DPI = 110
COLOURS = 64
NEARLY_WHITE = 249
SECONDS = 4.0
"""Length of the film."""
TURNED, RAISED = np.radians(-38.0), np.radians(18.0)
"""How the slanted view is turned about the vertical, and from how high it looks down."""
PERSON = 1.7
"""Height of the figure for scale, m."""
ROOMY = 0.8
"""Reach, m, below which such a figure would hide the piece."""
SHADE, EARTH = "#dedede", "#f3f1ec"
METAL = "#d5e3ee"


@dataclass(frozen=True)
class Stroke:
    """Points (n, 3), m in the world, joined by a line, or filled where `fill` is set."""

    points: Array
    color: str
    width: float
    fill: str | None = None


def crank_angles(frames: int) -> Array:
    """Give the crank angle of every frame (n,), rad: a turn without its end, so that the film loops."""
    return np.linspace(0, 2 * np.pi, frames, endpoint=False)


def write_gif(closed: Linkage, path: Path, frames: int = 48) -> Path:
    """Write a looping film of one turn of the crank: from the front, and slanted from above.

    The wheel's mark makes the whole number of turns nearest the reduction; else the film would jump at its
    end.

    Parameters
    ----------
    closed : the sculpture with its loops closed.
    path : of the GIF; its folder is made.
    frames : how many.

    Returns
    -------
    The path.

    Raises
    ------
    ValueError
        For fewer than two frames.
    """
    if frames < 2:
        raise ValueError(f"{frames} frames make no film: ask for two or more")
    path.parent.mkdir(parents=True, exist_ok=True)
    scenes = _scenes(closed, crank_angles(frames))
    pictures = _pictures(closed, scenes)
    # One palette for all frames: no flicker, and a smaller file.
    palette = _palette(pictures[0])
    flat = [p.quantize(palette=palette, dither=Image.Dither.NONE) for p in pictures]
    flat[0].save(
        path, format="GIF", save_all=True, append_images=flat[1:], loop=0, optimize=False,
        duration=round(1000 * SECONDS / frames / 10) * 10, disposal=1,
    )  # fmt: skip
    return path


def _palette(picture: Image.Image) -> Image.Image:
    """Give a picture's palette with its lightest colours made paper white."""
    found = picture.quantize(COLOURS, dither=Image.Dither.NONE)
    colours = np.array(found.getpalette()).reshape(-1, 3)[:COLOURS]
    # The nearest colour is looked up coarsely: what is nearly white must be white to be found as white.
    colours[colours.min(axis=1) > NEARLY_WHITE] = 255
    palette = Image.new("P", (1, 1))
    palette.putpalette(colours.ravel().tolist())
    return palette


def _scenes(closed: Linkage, crank: Array) -> list[list[Stroke]]:
    """Give the strokes of every frame, far ones first."""
    still = _still(closed)
    # The slanted view looks from the left: the right side lies behind.
    moving = [_side(s.side, s.course(crank), crank) for s in sorted(closed.sides, key=lambda s: s.side.sign)]
    wheel = _wheel(closed, crank)
    return [[*still, *wheel[k], *(x for m in moving for x in m[k])] for k in range(len(crank))]


def _still(closed: Linkage) -> list[Stroke]:
    m = closed.mechanism
    low, high = -m.crank_height, max(0.05, m.sides[0].panels[0].hinge_up)
    half = m.post.outside / 2 if m.post is not None else 0.0
    found = [Stroke(np.array([(0, y, low), (0, y, high)]), GREY, THIN) for y in {-half, half}]
    reach = _reach(closed)
    deep = 0.45 * reach
    corners = [(x, y, low) for x, y in ((-deep, -reach), (-deep, reach), (deep, reach), (deep, -reach))]
    return [
        Stroke(np.array(corners), GREY, THIN, EARTH),
        *(_person(low, reach) if reach > ROOMY else []),
        *found,
    ]


def _person(low: float, reach: float) -> list[Stroke]:
    """Give a standing figure for scale, on the ground beside the piece."""
    turn = np.linspace(0, 2 * np.pi, 25)
    head = np.stack([0.055 * np.cos(turn), 0.925 + 0.07 * np.sin(turn)], -1)
    half = [(0.0, 0.46), (0.02, 0.0), (0.075, 0.0), (0.09, 0.5), (0.1, 0.72), (0.115, 0.45), (0.145, 0.46),
            (0.14, 0.78), (0.11, 0.825), (0.035, 0.84), (0.03, 0.87)]  # fmt: skip
    body = np.array([*half, *((-a, b) for a, b in reversed(half))])
    found: list[Stroke] = []
    for part in (head, body):
        y, z = part.T * PERSON
        found.append(Stroke(np.stack([0 * y, y - 0.72 * reach, low + z], -1), SHADE, THIN, SHADE))
    return found


def _reach(closed: Linkage) -> float:
    """Give how far out the piece reaches with its panels flat, m."""
    return max(
        max(s.crank.ends[1], sum(p.hinge_out for p in s.panels)
            + max(y for _, y in s.panels[-1].plate.outline.exterior))
        for s in closed.mechanism.sides
    )  # fmt: skip


def _wheel(closed: Linkage, crank: Array) -> list[list[Stroke]]:
    """Give the wheel with its mark or handle; the wheel's shaft lies where the chains put it."""
    m = closed.mechanism
    places, _ = shaft_places(m)
    ahead, up = places[0]
    turns = max(1, round(m.reduction))
    ring = np.linspace(0, 2 * np.pi, 49)
    rim = np.stack([ahead + m.wheel.radius * np.sin(ring), 0 * ring, up + m.wheel.radius * np.cos(ring)], -1)
    chain = Stroke(np.array([(x, 0.0, z) for x, z in places]), GREY, THIN)
    found: list[list[Stroke]] = []
    for angle in crank * turns:
        tip = (ahead + m.wheel.radius * np.sin(angle), 0.0, up + m.wheel.radius * np.cos(angle))
        spoke = Stroke(np.array([(ahead, 0.0, up), tip]), INK, FIRM)
        circle = Stroke(rim, INK, FIRM, PAPER) if m.wheel.kind == "disc" else Stroke(rim, PALE, THIN)
        grip = np.array([tip, (tip[0], 0.25 * m.wheel.radius, tip[2])])
        handle = [Stroke(grip, INK, 2 * BOLD)] if m.wheel.kind == "handle" else []
        found.append([circle, chain, spoke, *handle])
    return found


def _side(side: Side, courses: Sequence[PanelCourse], crank: Array) -> list[list[Stroke]]:
    """Give a side's strokes for every frame."""
    mirror = np.array([1.0, side.sign, 1.0])
    found: list[list[Stroke]] = [[] for _ in crank]
    shaft = _shaft(side, crank + side.key_angle)
    sheets = [
        np.stack([carried(c, np.array([x, y, 0.0])).value for x, y in c.panel.plate.outline.exterior], 1)
        for c in courses
    ]
    for k in range(len(crank)):
        found[k] += [Stroke(s[k] * mirror, BLUE, FIRM, METAL) for s in sheets]
        found[k].append(Stroke(shaft[k] * mirror, VERMILION, BOLD))
        for course in courses:
            foot = carried(course, np.array([course.panel.yoke_forward, course.panel.yoke_out, 0.0])).value[k]
            yoke = course.yoke.value[k]
            found[k].append(Stroke(np.stack([foot, yoke]) * mirror, BLUE, FIRM))
            found[k].append(Stroke(np.stack([course.pin.value[k], yoke]) * mirror, GREEN, BOLD))
    return found


def _shaft(side: Side, crank: Array) -> Array:
    """Give the crankshaft's line (n, m, 3) at the angles of its own zero mark."""
    c = side.crank
    line = [(0.0, 0.0, c.ends[0])]
    for p in sorted(side.panels, key=lambda q: q.throw_out):
        near, far = p.throw_out - c.cheek.half, p.throw_out + c.cheek.half
        pin = (p.throw_radius, p.throw_angle)
        line += [(0.0, 0.0, near), (*pin, near), (*pin, far), (0.0, 0.0, far)]
    line.append((0.0, 0.0, max(c.ends[1], line[-1][2])))
    radius, angle, out = np.array(line).T
    at = crank[:, None] + angle[None]
    return np.stack([radius * np.sin(at), np.broadcast_to(out, at.shape), radius * np.cos(at)], -1)


def _facing(points: Array) -> Array:
    return points[:, 1:]


def _slanted(points: Array) -> Array:
    """Look from the front left and above, without perspective."""
    x, y, z = points.T
    c, s = np.cos(TURNED), np.sin(TURNED)
    right, toward = s * x + c * y, c * x - s * y
    return np.stack([right, z * np.cos(RAISED) - toward * np.sin(RAISED)], -1)


VIEWS = (("from the front", _facing), ("from the front left", _slanted))


def _pictures(closed: Linkage, scenes: list[list[Stroke]]) -> list[Image.Image]:
    figure = sheet(WIDTH, HEIGHT)
    figure.set_dpi(DPI)
    wide = WIDTH / len(VIEWS)
    panes: list[tuple[Axes, Any]] = []
    for k, (title, look) in enumerate(VIEWS):
        ax = bare(figure, (k * wide + 2, 9, wide - 4, HEIGHT - 18))
        ax.axis("off")
        caption(figure, (k + 0.5) * wide, 3, title, fontsize=SMALL, color=GREY, ha="center")
        _frame(ax, np.vstack([look(s.points) for scene in scenes for s in scene]), (wide - 4) / (HEIGHT - 18))
        panes.append((ax, look))
    name = short(closed.mechanism.name, 50)
    caption(figure, WIDTH / 2, HEIGHT - 6, name, fontsize=TEXT, ha="center", weight="bold")
    return [_picture(figure, panes, scene) for scene in scenes]


def _frame(ax: Axes, points: Array, shape: float) -> None:
    """Fix the limits so that everything in every frame is inside, at one scale for both axes."""
    low, high = points.min(axis=0), points.max(axis=0)
    middle, size = (low + high) / 2, (high - low) * 1.06
    tall = max(size[1], size[0] / shape)
    ax.set_xlim(middle[0] - tall * shape / 2, middle[0] + tall * shape / 2)
    ax.set_ylim(middle[1] - tall / 2, middle[1] + tall / 2)


def _picture(figure: Any, panes: list[tuple[Axes, Any]], scene: list[Stroke]) -> Image.Image:
    drawn: list[Any] = []
    for ax, look in panes:
        for k, stroke in enumerate(scene):
            at = look(stroke.points)
            look_of: dict[str, Any] = {"linewidth": stroke.width, "zorder": 2 + k / 100}
            if stroke.fill is not None:
                drawn += ax.fill(*at.T, facecolor=stroke.fill, edgecolor=stroke.color, **look_of)
            else:
                drawn += ax.plot(*at.T, color=stroke.color, solid_capstyle="round", **look_of)
    figure.canvas.draw()
    picture = Image.fromarray(np.asarray(figure.canvas.buffer_rgba())).convert("RGB")
    for artist in drawn:
        artist.remove()
    return picture
