"""A sheet of paper in millimetres, on which labels find a free place by themselves."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon

from analysis.style import FINE, INCH, INK, PAPER, SMALL, bare, sheet
from sim.arrays import Array

Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""
GAP = 0.7
"""Least room between two texts, mm."""
_TURN = 2 * np.pi * np.arange(24) / 24
DPI = 121
"""Dots an inch of a drawing's PNG: an A3 sheet is 2000 px wide."""
WAYS = np.stack([np.cos(_TURN), np.sin(_TURN)], -1)
"""Directions of leaders tried."""
PLAIN: dict[str, Any] = {"parse_math": False}
"""Texts as they are: a name may have dollar signs in it, which would begin a formula."""
REACHES = (2.5, 4.0, 6.0, 9.0, 13.0, 18.0, 24.0, 32.0, 42.0)
"""Lengths of leaders tried, mm."""


@dataclass(frozen=True)
class View:
    """Where a view's coordinates in metres lie on the sheet.

    Attributes
    ----------
    scale : mm on the sheet per m.
    x, y : where the view's origin is, mm.
    """

    scale: float
    x: float
    y: float

    def at(self, points: Any) -> Array:
        """Give points (n, 2) or one (2,), m, on the sheet, mm."""
        return np.asarray(points, dtype=float) * self.scale + np.array([self.x, self.y])


@dataclass(frozen=True)
class Label:
    """A text that belongs to a point: `toward` is the direction (right, up) it had rather lie in."""

    at: Array
    text: str
    room: Box
    toward: tuple[float, float]
    color: str


class Ink:
    """Where lines have been drawn, counted in millimetre cells so that asking is quick."""

    CELL = 1.0

    def __init__(self, points: Array, size: tuple[float, float]) -> None:
        self._last = np.array([int(np.ceil(x / self.CELL)) + 2 for x in size])
        inside = np.clip((points / self.CELL).astype(int), 0, self._last - 1)
        counts = np.bincount(inside[:, 0] * self._last[1] + inside[:, 1], minlength=int(self._last.prod()))
        sums = counts.astype(np.int32).reshape(tuple(self._last)).cumsum(0, dtype=np.int32)
        self._sums = np.pad(sums.cumsum(1, dtype=np.int32), ((1, 0), (1, 0)))

    def within(self, low: Array, high: Array) -> Array:
        """Count the points drawn in boxes with corners (n, 2)."""
        a = np.clip(np.ceil(low / self.CELL), 0, self._last).astype(int)
        b = np.clip(np.floor(high / self.CELL), 0, self._last).astype(int)
        return np.maximum(self._count(a, b), 0).astype(float)

    def touched(self, points: Array) -> float:
        """Count those of some points (n, 2) that lie within a cell of something drawn."""
        at = np.floor(points / self.CELL).astype(int)
        a, b = np.clip(at - 1, 0, self._last), np.clip(at + 2, 0, self._last)
        return float(np.count_nonzero(self._count(a, b)))

    def _count(self, a: Any, b: Any) -> Any:
        s = self._sums
        return s[b[:, 0], b[:, 1]] - s[a[:, 0], b[:, 1]] - s[b[:, 0], a[:, 1]] + s[a[:, 0], a[:, 1]]


class Sheet:
    """A drawing under way: lines, texts at fixed places, and labels that `settle` puts where there is room.

    Attributes
    ----------
    figure : the figure drawn on.
    """

    def __init__(self, width: float, height: float) -> None:
        self.figure = sheet(width, height, DPI)
        self.size = (width, height)
        self._ax = bare(self.figure, (0, 0, width, height))
        self._ax.set_xlim(0, width)
        self._ax.set_ylim(0, height)
        self._ax.axis("off")
        self._boxes: list[Box] = []
        self._inked: list[Array] = [np.zeros((0, 2))]
        self._labels: list[Label] = []

    def line(self, points: Any, *, color: str = INK, width: float = FINE, **kwargs: Any) -> None:
        """Draw a line through points (n, 2), mm."""
        p = np.asarray(points, dtype=float)
        kwargs.setdefault("solid_capstyle", "round")
        # As artists: the sheet has fixed limits, and asking every line for its own costs as much as drawing it.
        self._ax.add_artist(Line2D(p[:, 0], p[:, 1], color=color, linewidth=width, **kwargs))
        self._inked.append(_dense(p))

    def shape(self, points: Any, *, edge: str = INK, fill: str = "none", width: float = FINE,
              **kwargs: Any) -> None:  # fmt: skip
        """Draw a closed shape through points (n, 2), mm."""
        p = np.asarray(points, dtype=float)
        self._ax.add_artist(
            Polygon(p, closed=True, edgecolor=edge, facecolor=fill, linewidth=width, **kwargs)
        )
        self._inked.append(_dense(np.vstack([p, p[:1]])))

    def circle(self, at: Any, radius: float, **kwargs: Any) -> None:
        """Draw a circle of a radius in mm."""
        turn = np.linspace(0, 2 * np.pi, 61)
        self.shape(np.asarray(at) + radius * np.stack([np.cos(turn), np.sin(turn)], -1), **kwargs)

    def arrow(self, points: Any, *, color: str = INK, width: float = FINE, head: float = 2.2) -> None:
        """Draw a line through points (n, 2), mm, with a filled head at its end."""
        p = np.asarray(points, dtype=float)
        along = (p[-1] - p[-2]) / np.linalg.norm(p[-1] - p[-2])
        across = np.array([-along[1], along[0]])
        self.line(p, color=color, width=width)
        back = p[-1] - head * along
        self.shape(
            [p[-1], back + 0.32 * head * across, back - 0.32 * head * across],
            edge=color,
            fill=color,
            width=FINE / 2,
        )

    def text(self, x: float, y: float, words: str, *, size: float = SMALL, color: str = INK, ha: str = "left",
             va: str = "bottom", **kwargs: Any) -> Box:  # fmt: skip
        """Write at a fixed place and give the box it takes."""
        written = self._ax.text(x, y, words, fontsize=size, color=color, ha=ha, va=va, **PLAIN, **kwargs)
        box = self._box(written)
        self._boxes.append(box)
        return box

    def written(self, x: float, y: float, words: str, *, size: float = SMALL, **kwargs: Any) -> None:
        """Write at a fixed place where no label comes; measuring a text takes longer than drawing it."""
        self._ax.text(x, y, words, fontsize=size, color=INK, **PLAIN, **kwargs)

    def width(self, words: str, size: float = SMALL, **kwargs: Any) -> float:
        """Give the width of a text, mm."""
        written = self._ax.text(0, 0, words, fontsize=size, **PLAIN, **kwargs)
        box = self._box(written)
        written.remove()
        return box[2] - box[0]

    def fitted(self, words: str, width: float, size: float = SMALL, **kwargs: Any) -> str:
        """Give a text cut to a width in mm."""
        cut = words
        if len(words) * size * INCH / 72 < width:
            return words  # letters are no wider than high
        while len(cut) > 1 and self.width(cut, size, **kwargs) > width:
            cut = cut[:-2] + "…"
        return cut

    def label(self, at: Any, text: str, room: Box, toward: tuple[float, float] = (1, 1),
              color: str = INK) -> None:  # fmt: skip
        """Ask for a label with a leader to a point, somewhere in a room."""
        self._labels.append(Label(np.asarray(at, dtype=float), text, room, toward, color))

    def settle(self) -> None:
        """Place the labels asked for, each where it hides least, in the order asked."""
        for label in self._labels:
            self._place(label)
        self._labels.clear()

    def _place(self, label: Label) -> None:
        written = self._ax.text(
            0, 0, label.text, fontsize=SMALL, color=label.color, ha="left", va="bottom", zorder=6, **PLAIN,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6},
        )  # fmt: skip
        left, bottom, right, top = self._box(written)
        size = np.array([right - left, top - bottom])
        ink = Ink(np.vstack(self._inked), self.size)
        wanted = np.array(label.toward) / np.hypot(*label.toward)
        boxes = np.array(self._boxes).reshape(-1, 4)
        shift = size / 2 * (np.sign(np.round(WAYS, 9)) - 1)
        best, cost = label.at, np.inf
        for reach in REACHES:
            if cost < reach:
                break
            corners = label.at + reach * WAYS + shift
            hidden = self._hidden(label, corners, size, boxes, ink) + reach + 2.5 * (1 - WAYS @ wanted)
            for k in np.argsort(hidden, kind="stable"):
                if hidden[k] >= cost:
                    break
                here = hidden[k] + self._crossed(label, corners[k], size, boxes, ink)
                if here < cost:
                    best, cost = corners[k], here
        written.set_position(tuple(best))
        box = (best[0], best[1], best[0] + size[0], best[1] + size[1])
        self._boxes.append(box)
        self._lead(label, box)

    def _hidden(self, label: Label, corners: Array, size: Array, boxes: Array, ink: Ink) -> Array:
        """Give what places (n, 2) hide; those on other texts or outside the room are last resorts."""
        low, high = corners - GAP, corners + size + GAP
        over = np.minimum(high[:, None], boxes[:, 2:]) - np.maximum(low[:, None], boxes[:, :2])
        on = np.all(over > 0, axis=2)
        cost = 1e4 * on.sum(axis=1) + np.where(on, over.prod(axis=2), 0.0).sum(axis=1)
        room = np.array(label.room)
        outside = np.maximum(room[:2] - low, 0) + np.maximum(high - room[2:], 0)
        return cost + 1e3 * outside.sum(axis=1) + 5.0 * ink.within(low, high)

    def _crossed(self, label: Label, corner: Array, size: Array, boxes: Array, ink: Ink) -> float:
        """Give what the leader to a place crosses."""
        end = np.clip(label.at, corner, corner + size)
        leader = _dense(np.array([label.at, end]), 0.5)
        inside = np.all((leader > boxes[:, None, :2]) & (leader < boxes[:, None, 2:]), axis=2)
        away = leader[np.linalg.norm(leader - label.at, axis=1) > 1.5]
        return 40.0 * float(np.count_nonzero(inside.any(axis=1))) + 0.8 * ink.touched(away)

    def _lead(self, label: Label, box: Box) -> None:
        end = np.clip(label.at, box[:2], box[2:])
        if np.linalg.norm(end - label.at) > 1.0:
            self.line([label.at, end], color=label.color, width=FINE * 0.75, zorder=5)

    def _box(self, written: Any) -> Box:
        canvas: Any = self.figure.canvas
        extent = written.get_window_extent(canvas.get_renderer())
        px = INCH / self.figure.dpi
        return (extent.x0 * px, extent.y0 * px, extent.x1 * px, extent.y1 * px)


def spread(wanted: list[float], least: float) -> list[float]:
    """Move places along a line apart until neighbours are at least so far from each other.

    Parameters
    ----------
    wanted : places in any order.
    least : least distance, same unit.

    Returns
    -------
    Places in the same order, each group of neighbours that had to move keeping its mean.
    """
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    groups: list[tuple[list[int], float]] = []
    for k in order:
        members, centre = [k], wanted[k]
        while groups:
            others, there = groups[-1]
            if centre - there >= least * (len(members) + len(others)) / 2:
                break
            groups.pop()
            total = len(others) + len(members)
            centre = (there * len(others) + centre * len(members)) / total
            members = others + members
        groups.append((members, centre))
    found = list(wanted)
    for members, centre in groups:
        for place, k in enumerate(members):
            found[k] = centre + least * (place - (len(members) - 1) / 2)
    return found


def millimetres(length: float) -> str:
    """Write a length in mm as a drawing does: no unit, no needless zeros."""
    words = f"{1000 * length:.1f}".rstrip("0").rstrip(".")
    return "0" if words in {"-0", ""} else words.replace("-", "−")


def degrees(angle: float) -> str:
    """Write an angle in degrees."""
    words = f"{np.degrees(angle):.1f}".rstrip("0").rstrip(".")
    return ("0" if words == "-0" else words.replace("-", "−")) + "°"


def short(name: str, most: int = 14) -> str:
    """Cut a name that is too long for the drawing."""
    return name if len(name) <= most else name[: most - 1] + "…"


def _dense(points: Array, step: float = 0.8) -> Array:
    """Give points along a line (n, 2), no further apart than `step` mm."""
    found = [points[:1]]
    for a, b in pairwise(points):
        n = max(1, int(np.ceil(np.linalg.norm(b - a) / step)))
        found.append(a + (b - a) * (np.arange(1, n + 1) / n)[:, None])
    return np.vstack(found)
