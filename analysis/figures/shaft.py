"""Figures of how a crankshaft bends: its shape at the worst crank angle, and the paths of its whip."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from analysis.drawing.sheet import short
from analysis.figures.motion import WIDE
from analysis.style import (
    BLUE,
    BOLD,
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREEN,
    GREY,
    HAIR,
    INK,
    PAPER,
    SMALL,
    TEXT,
    THIN,
    TITLE,
    VERMILION,
    Axes,
    axes,
    caption,
    legend,
    sheet,
)
from sim.arrays import Array
from sim.shaft.bending import Bent, standing
from sim.shaft.crank import INNER, MIDDLE, throw
from sim.shaft.frame import Member
from sim.shaft.loading import Loading, unloaded

SHARE = 0.12
"""Share of the shaft's length that its largest deflection is drawn with, at most."""
POINTS = 9
"""Points drawn along a member."""
NOTHING = 1e-9
"""Deflections below it are not drawn, m."""
DOTS = np.arange(0.0, 360.0, 45.0)
"""Crank angles of the dots on a path, deg."""
COLUMNS = 3
"""Paths beside each other."""


@dataclass(frozen=True)
class _View:
    """A view with out to the right: which of forward (0) and up (2) is drawn upwards, its words, and from where.

    The latter for the left crankshaft and for the right one.
    """

    across: int
    words: str
    seen: tuple[str, str]


VIEWS = (
    _View(2, "up [mm]", ("from the front", "from behind")),
    _View(0, "forward [mm]", ("from below", "from above")),
)


def scale(largest: float, room: float) -> int:
    """Give the largest of 1, 2, 5, 10, 20, 50, ... by which a deflection still fits into some room, both in m."""
    wanted = room / largest if largest > 0 else 1.0
    if wanted < 1:
        return 1
    power = 10 ** int(np.floor(np.log10(wanted) + 1e-12))
    return int(power * max(k for k in (1, 2, 5) if k * power <= wanted * (1 + 1e-12)))


def shaft_shape(loading: Loading, case: str) -> Figure:
    """Plot a crankshaft as it is bent where it moves most, exaggerated, seen from the front and from above.

    Parameters
    ----------
    loading : what acts on it.
    case : load case in words.
    """
    shape = loading.shape()
    moved = np.stack([shape.deflection(k) for k in range(len(shape.crank.on_shaft))], 1)
    size = np.hypot(moved[:, :, 0], moved[:, :, 2])
    n, node = (int(i) for i in np.unravel_index(np.argmax(size), size.shape))
    ends = loading.side.crank.ends
    factor = scale(float(size.max()), SHARE * (ends[1] - ends[0]))
    straight, bent = (_lines(shape, n, by) for by in (0.0, float(factor)))
    every = 1000 * np.concatenate([*straight, *bent])
    low, high = every.min(axis=0), every.max(axis=0)
    wide = WIDE - 26
    pad = 0.05 * (high[1] - low[1])
    per_mm = wide / (high[1] - low[1] + 2 * pad)
    heights = [float(high[v.across] - low[v.across] + 4 * pad) * per_mm for v in VIEWS]
    total = sum(heights)
    page = total + 58
    figure = sheet(WIDE, page)
    bottom = page - 23
    ax: Axes = None
    for view, tall in zip(VIEWS, heights, strict=True):
        bottom -= tall
        ax = axes(figure, (18, bottom, wide, tall))
        ax.set_xlim(low[1] - pad, high[1] + pad)
        middle = (low[view.across] + high[view.across]) / 2
        ax.set_ylim(middle - tall / per_mm / 2, middle + tall / per_mm / 2)
        _draw(ax, shape, view, straight, bent)
        ax.set_ylabel(view.words, fontsize=TEXT, color=INK)
        ax.set_title(
            f"seen {view.seen[0 if loading.side.sign > 0 else 1]}",
            fontsize=SMALL,
            loc="left",
            color=INK,
            pad=4,
        )
        bottom -= 14
    ax.set_xlabel("out from the post's axis [mm]", fontsize=TEXT, color=INK)
    angle = round(float(np.degrees(loading.crank[n])) % 360, 1) % 360
    where = _where(shape, node)
    title = f"The {loading.side.name} crankshaft as it bends most: {1000 * size.max():.2g} mm {where}"
    caption(figure, 4, page - 8, title, fontsize=TITLE)
    times = f"deflections drawn {factor} times as large" if factor != 1 else "deflections drawn as they are"
    caption(figure, 4, page - 14, f"{short(case, 60)}; crank angle {angle:g} deg; {times}", fontsize=SMALL)
    legend(ax, loc="upper left", bbox_to_anchor=(0, -11 / heights[1]), ncols=4, borderaxespad=0)
    return figure


def _where(shape: Bent, node: int) -> str:
    """Say where a node is."""
    out = float(shape.crank.frame.nodes[node, 1])
    if shape.crank.on_shaft[node]:
        return f"at {1000 * out:.0f} mm out"
    panel = min(shape.crank.side.panels, key=lambda p: abs(p.throw_out - out))
    return f"at the pin of '{short(panel.name)}'"


def _draw(ax: Axes, shape: Bent, view: _View, straight: list[Array], bent: list[Array]) -> None:
    across = view.across
    crank = shape.crank
    for k, member in enumerate(crank.frame.members):
        bar = member.name == "shaft"
        first = k == 0
        ax.plot(1000 * straight[k][:, 1], 1000 * straight[k][:, across], color=GREY, linestyle=DASHES[1],
                linewidth=FINE, label="straight" if first else "")  # fmt: skip
        ax.plot(1000 * bent[k][:, 1], 1000 * bent[k][:, across], color=BLUE, linewidth=BOLD if bar else FIRM,
                solid_capstyle="round", label="bent, drawn larger" if first else "")  # fmt: skip
    stations = list(enumerate(crank.side.crank.stations, 1))
    for number, station in stations:
        place = 1000 * station.out
        ax.plot([place], [0], "^", color=VERMILION, markersize=7, markerfacecolor=PAPER, markeredgewidth=FIRM,
                zorder=5, label="bearing, numbered" if number == 1 else "")  # fmt: skip
        _name(ax, place, 0, str(number), (0, -15))
    end = 1000 * crank.frame.nodes[crank.node(INNER), 1]
    ax.plot([end], [0], "s", color=GREEN, markersize=6, markerfacecolor=PAPER, markeredgewidth=FIRM, zorder=5,
            label="coupling's end")  # fmt: skip
    for panel in crank.side.panels:
        both = [1000 * np.concatenate([lines[k] for k, m in enumerate(crank.frame.members)
                                       if m.name == f"pin of panel '{panel.name}'"])
                for lines in (straight, bent)]  # fmt: skip
        up = float(np.mean(both[0][:, across])) > 0
        # Beyond the pin, straight or bent, away from the axis.
        far = max(b[:, across].max() for b in both) if up else min(b[:, across].min() for b in both)
        _name(ax, float(both[0][:, 1].mean()), far, short(panel.name), (0, 9 if up else -10))


def _name(ax: Axes, x: float, y: float, text: str, off: tuple[float, float]) -> None:
    ax.annotate(text, (x, y), off, textcoords="offset points", ha="center", va="center", fontsize=SMALL, color=INK,
                bbox=CLEAR, zorder=4)  # fmt: skip


def _lines(shape: Bent, n: int, factor: float) -> list[Array]:
    """Give each member as a line (k, 3) in standing axes at an instant, deflections times a factor, m."""
    found: list[Array] = []
    for member in shape.crank.frame.members:
        line = along(shape, member, n, factor)
        found.append(standing(line, np.full(len(line), shape.angle[n])))
    return found


def along(shape: Bent, member: Member, n: int, factor: float) -> Array:
    """Give a member's line (k, 3) in turning axes at an instant, m: cubic between its ends' places and turns."""
    nodes = shape.crank.frame.nodes
    a, b = nodes[member.a], nodes[member.b]
    s = np.linspace(0, 1, POINTS)[:, None]
    ends = [shape.moved[n, 6 * node : 6 * node + 6] for node in (member.a, member.b)]
    first, last = (np.cross(end[3:], b - a) for end in ends)
    rise = 3 * s**2 - 2 * s**3
    moved = ends[0][:3] * (1 - rise) + ends[1][:3] * rise
    moved = moved + first * (s - 2 * s**2 + s**3) + last * (s**3 - s**2)
    return a + s * (b - a) + factor * moved


# --- Paths ---


def whip_orbit(loading: Loading, case: str) -> Figure:
    """Plot the paths of the shaft's centre at mid-span and of each throw's pin, seen from the right, to one scale.

    Dots stand every 45 deg of the crank from the first instant on, the first one large.

    Parameters
    ----------
    loading : what acts on it.
    case : load case in words.
    """
    shape, turns = loading.shape(), unloaded(loading.side)
    labels = {s.label: s.node for s in shape.crank.stations}
    shown = [MIDDLE] if MIDDLE in labels else []
    shown += [throw(p.name) for p in loading.side.panels]
    columns = min(COLUMNS, len(shown))
    rows = -(-len(shown) // columns)
    side = 39.0 if columns == COLUMNS else 66.0
    figure = sheet(
        max(110.0, 14 + columns * (side + 16)), (34 if columns == COLUMNS else 44) + rows * (side + 20)
    )
    width, height = (25.4 * float(v) for v in figure.get_size_inches())
    every: list[Axes] = []
    for k, label in enumerate(shown):
        row, column = divmod(k, columns)
        ax = axes(figure, (16 + column * (side + 16), height - 25 - row * (side + 20) - side, side, side))
        _path(ax, loading, shape, turns, label, labels[label])
        ax.set_title(short(label, 28), fontsize=TEXT, loc="left", color=INK, pad=5)
        ax.set_xlabel("forward [mm]", fontsize=SMALL, color=INK, labelpad=1)
        if column == 0:
            ax.set_ylabel("up [mm]", fontsize=SMALL, color=INK, labelpad=1)
        every.append(ax)
    _one_scale(every)
    caption(figure, 4, height - 8, f"Paths of the {loading.side.name} crankshaft's whip", fontsize=TITLE)
    first = f"large dot: crank {np.degrees(loading.crank[0]) % 360:.0f}°, then every 45°"
    caption(
        figure,
        4,
        height - 13.5,
        f"{short(case, 40 if width < 130 else 60)}; seen from the right",
        fontsize=SMALL,
    )
    caption(figure, 4, 3, first, fontsize=SMALL)
    handles = {h.get_label(): h for ax in every for h in ax.lines if not h.get_label().startswith("_")}
    legend(every[(rows - 1) * columns], handles=list(handles.values()), loc="upper left",
           bbox_to_anchor=(-12 / side, -12 / side), ncols=3 if width > 130 else 1, borderaxespad=0)  # fmt: skip
    return figure


def _path(ax: Axes, loading: Loading, shape: Bent, turns: Bent, label: str, node: int) -> None:
    """Draw a path, with what of it turns with the shaft."""
    moved = 1000 * shape.deflection(node)
    ax.axhline(0, color=GREY, linewidth=HAIR)
    ax.axvline(0, color=GREY, linewidth=HAIR)
    around = np.linspace(0, 2 * np.pi, 181)
    own = turns.moved[0, 6 * node : 6 * node + 3]
    radius = 1000 * float(np.hypot(own[0], own[2]))
    if radius > 1000 * NOTHING:
        ax.plot(radius * np.sin(around), radius * np.cos(around), color=GREY, linestyle=DASHES[2], linewidth=THIN,
                label="turns with it, no load")  # fmt: skip
    if label != MIDDLE:
        beside = 1000 * _beside(shape, label)
        ax.plot(beside[:, 0], beside[:, 2], color=VERMILION, linestyle=DASHES[1], linewidth=THIN,
                label="shaft beside the throw")  # fmt: skip
    ax.plot(moved[:, 0], moved[:, 2], color=BLUE, linewidth=FIRM,
            label="shaft; at a throw its pin")  # fmt: skip
    turned = np.degrees(loading.crank - loading.crank[0])
    for k, at in enumerate(DOTS):
        near = int(np.argmin(np.abs(turned - at)))
        if abs(turned[near] - at) < 10:
            ax.plot(moved[near, 0], moved[near, 2], "o", color=BLUE, markersize=6 if k == 0 else 3)


def _one_scale(every: Sequence[Axes]) -> None:
    """Show the same square of millimetres in all axes: all that is drawn in any, and the place of a rigid shaft."""
    drawn = [np.stack([line.get_xdata(), line.get_ydata()]) for ax in every for line in ax.lines[2:]]
    points = np.concatenate([*drawn, np.zeros((2, 1))], axis=1)
    low, high = points.min(axis=1), points.max(axis=1)
    half = 0.56 * float((high - low).max())
    for ax in every:
        for middle, limits in zip((low + high) / 2, (ax.set_xlim, ax.set_ylim), strict=True):
            limits(middle - half, middle + half)
        for axis in (ax.xaxis, ax.yaxis):
            axis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))


def _beside(shape: Bent, label: str) -> Array:
    """Give the displacement (n, 3), m, of the shaft beside a throw: the mean of both webs' feet."""
    panel = next(p.name for p in shape.crank.side.panels if throw(p.name) == label)
    webs = {m.name: m for m in shape.crank.frame.members if m.name.endswith(f"web of panel '{panel}'")}
    feet = (webs[f"inner web of panel '{panel}'"].a, webs[f"outer web of panel '{panel}'"].b)
    return (shape.deflection(feet[0]) + shape.deflection(feet[1])) / 2
