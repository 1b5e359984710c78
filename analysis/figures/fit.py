"""Figure of answers to wanted motion: each one's panel angles against the wish, and its linkage from the front."""

import textwrap

import numpy as np
from matplotlib.figure import Figure

from analysis.drawing.parts import Pose, pose
from analysis.drawing.sheet import millimetres, short
from analysis.figures.motion import TURN, WIDE
from analysis.fit import Answer, Fit
from analysis.style import (
    BLUE,
    BOLD,
    DASHES,
    FINE,
    FIRM,
    GREEN,
    GREY,
    HAIR,
    INK,
    SERIES,
    SMALL,
    TEXT,
    THIN,
    VERMILION,
    Axes,
    axes,
    bare,
    caption,
    legend,
    sheet,
)
from sim.fit_panel import Wish
from sim.linkage import carried

ROW, BELOW, ABOVE = 50.0, 22.0, 8.0
"""Height of an answer, room under all and over all, mm."""
LETTERS = 116
"""Most letters of a line of sizes."""
LEFT, CHART, VIEW = 16.0, 58.0, 33.0
"""Left margin, widths of the chart and of a view, mm."""


def fit(found: Fit) -> Figure:
    """Plot every answer's panel angles over the turn, and its left side from the front at three crank angles.

    Parameters
    ----------
    found : with one answer at least.

    Raises
    ------
    ValueError
        When there is none.
    """
    if not found.answers:
        raise ValueError("no answer to draw")
    count = len(found.answers)
    figure = sheet(WIDE, BELOW + ROW * count + ABOVE)
    poses = [pose(a.side) for a in found.answers]
    window = _window(poses)
    for k, (answer, p) in enumerate(zip(found.answers, poses, strict=True)):
        y = BELOW + ROW * (count - 1 - k)
        ax = axes(figure, (LEFT, y, CHART, ROW - 17))
        _angles(ax, found, answer)
        title = f"Answer {k + 1}" if found.found else "Nearest found"
        caption(figure, 3, y + ROW - 13, _sizes(answer), fontsize=SMALL, va="bottom")
        caption(figure, 3, y + ROW - 9, title + _best(answer), fontsize=TEXT, weight="bold", va="bottom")
        if k == count - 1:
            ax.set_xlabel("crank angle [deg]", fontsize=TEXT, color=INK)
            legend(ax, loc="upper left", bbox_to_anchor=(-0.12, -0.36), ncols=3, borderaxespad=0)
        else:
            ax.set_xticklabels([])
        for j, crank in enumerate(p.crank):
            view = bare(figure, (LEFT + CHART + 4 + j * (VIEW + 1), y - 2, VIEW, ROW - 15))
            _view(view, p, j, window)
            if k == 0:
                word = ("crank angle 0", "tip lowest", "tip highest")[j]
                view.set_title(word, fontsize=SMALL, color=INK, pad=2)
            degrees = "" if j == 0 else f"{np.degrees(crank) % 360:.0f}°"
            view.text(0.98, 0.02, degrees, transform=view.transAxes, fontsize=SMALL, ha="right", color=GREY)
    words = "Panel angles [deg], dotted where they should turn; sizes in mm; one side from the front"
    caption(figure, 3, BELOW + ROW * count + ABOVE - 3, words, fontsize=TEXT, va="top")
    return figure


def _best(answer: Answer) -> str:
    return f": {', '.join(answer.best)}" if answer.best else ""


def _sizes(answer: Answer) -> str:
    """Give throw, rod and yoke pin of every panel in mm, cut to the width of the page."""
    own = (
        f"{short(p.name)}: throw {millimetres(p.throw_radius)}, rod {millimetres(p.rod.length)}, yoke pin "
        f"{millimetres(p.yoke_out)} out, {millimetres(p.yoke_below)} below"
        for p in answer.side.side.panels
    )
    return textwrap.shorten("; ".join(own), LETTERS, placeholder=" ...")


def _angles(ax: Axes, found: Fit, answer: Answer) -> None:
    wishes: list[Wish] = list(found.wishes.values())
    for k, (course, wish) in enumerate(zip(answer.side.course(TURN), wishes, strict=True)):
        colour = SERIES[k % len(SERIES)]
        low, high = np.degrees([wish.low, wish.high])
        for edge in (low, high):
            ax.axhline(edge, color=colour, linewidth=FINE, linestyle=(0, (1, 1.5)))
        ax.plot(np.degrees(TURN), np.degrees(course.angle.value), color=colour, linewidth=FIRM,
                linestyle=DASHES[k % len(DASHES)], label=short(course.panel.name))  # fmt: skip
    ax.axhline(0, color=INK, linewidth=FINE)
    ax.set_xlim(0, 360)
    ax.set_xticks(range(0, 361, 90))


def _view(ax: Axes, p: Pose, k: int, window: tuple[float, float, float, float]) -> None:
    """Draw shaft, throws, rods and panels at the k-th pose, out to the right."""
    ax.axis("off")
    ax.set_aspect("equal")
    ax.set_xlim(window[0], window[1])
    ax.set_ylim(window[2], window[3])
    ax.plot([0, max(p.side.crank.ends)], [0, 0], color=GREY, linewidth=THIN)
    ax.plot([0, 0], [window[2], window[3]], color=GREY, linewidth=HAIR, linestyle=(0, (10, 2, 2, 2)))
    for c in p.courses:
        pin, yoke, hinge = (x.value[k, 1:] for x in (c.pin, c.yoke, c.hinge))
        foot = carried(c, np.array([0.0, c.panel.yoke_out, 0.0])).value[k, 1:]
        ax.plot([pin[0], pin[0]], [0, pin[1]], color=VERMILION, linewidth=FIRM)
        ax.plot(*np.stack([pin, yoke], -1), color=GREEN, linewidth=FIRM)
        ax.plot(*np.stack([foot, yoke], -1), color=BLUE, linewidth=THIN)
        ax.plot(*p.strip(c, k)[:, 1:].T, color=BLUE, linewidth=BOLD, solid_capstyle="round")
        for point in (pin, yoke):
            ax.plot(
                *point,
                "o",
                markersize=2.6,
                markerfacecolor="white",
                markeredgecolor=INK,
                markeredgewidth=FINE,
            )
        ax.plot(*hinge, "o", markersize=2.6, color=INK)


def _window(poses: list[Pose]) -> tuple[float, float, float, float]:
    """Give left, right, bottom and top, m, of what all views show."""
    points = np.vstack(
        [x for p in poses for c in p.courses for k in range(3)
         for x in (p.strip(c, k)[:, 1:], c.yoke.value[k : k + 1, 1:], c.pin.value[k : k + 1, 1:])]
    )  # fmt: skip
    (left, bottom), (right, top) = points.min(0), points.max(0)
    edge = 0.04 * max(right - left, top - bottom)
    return (
        min(float(left), 0.0) - edge,
        float(right) + edge,
        min(float(bottom), 0.0) - edge,
        float(top) + edge,
    )
