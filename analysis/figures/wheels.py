"""Wheels side by side: bars for each wheel, and what mass buys with its knee."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from analysis.figures.motion import WIDE
from analysis.handle import RIM_LIMITS
from analysis.style import (
    BLUE,
    CLEAR,
    DASHES,
    FIRM,
    GREEN,
    GREY,
    HATCHES,
    INK,
    PURPLE,
    SMALL,
    TEXT,
    THIN,
    TITLE,
    VERMILION,
    Axes,
    axes,
    caption,
    sheet,
)
from analysis.wheel_row import WheelRow
from analysis.wheels import BOUGHT, FORCE, RIM, Comparison

RPM = 30 / np.pi
STEP = 7.0
"""Height of a wheel's bars, mm."""
LEFT, COLUMN, GAP = 43.0, 30.0, 4.0
"""Where the bars begin, their width, and the room between, mm."""
NOTE = f"Ranges: low to high friction, or all releases. Dashed: working speed; {RIM_LIMITS[0][0]}, play equipment"
CURVE = 46.0
"""Height of the curves over mass, mm."""


@dataclass(frozen=True)
class _Bars:
    """A column of bars.

    Attributes
    ----------
    title : in two lines.
    to : where each ends; nan leaves it blank.
    since : where each begins.
    colour, hatch : of the bars.
    line : a value with a line through all bars, or None.
    """

    title: str
    to: Callable[[WheelRow], float]
    since: Callable[[WheelRow], float]
    colour: str
    hatch: str
    line: float | None = None


def wheel_comparison(found: Comparison) -> Figure:
    """Plot wheels side by side.

    Raises
    ------
    ValueError
        When there is none.
    """
    if not found.rows:
        raise ValueError("no wheels to compare: give at least one")
    high = STEP * len(found.rows)
    below = CURVE + 34
    figure = sheet(WIDE, below + high + 23)
    for k, bars in enumerate(_columns(abs(found.speed) * RPM)):
        ax = axes(figure, (LEFT + k * (COLUMN + GAP), below, COLUMN, high))
        _draw(ax, bars, found.rows, labelled=k == 0)
    _curve(axes(figure, (16, 14, 70, CURVE)), found, RIM, "rim after the worst release [m/s]", VERMILION)
    _curve(axes(figure, (104, 14, 70, CURVE)), found, FORCE, "hand force at working speed [N]", BLUE)
    title = f"Wheels at a working speed of {abs(found.speed) * RPM:.3g} rpm"
    caption(figure, 4, below + high + 16, title, fontsize=TITLE)
    caption(figure, LEFT, below - 6, NOTE, fontsize=SMALL)
    return figure


def _columns(speed: float) -> tuple[_Bars, ...]:
    """Give the columns of bars, at a working speed, rpm."""
    return (
        _Bars(f"hand force\nat {speed:.3g} rpm [N]", lambda r: r.working.force, _zero, BLUE, HATCHES[0]),
        _Bars("clears the top\nfrom [rpm]", lambda r: r.free.clearing[-1] * RPM,
              lambda r: r.free.clearing[0] * RPM, GREEN, HATCHES[2], speed),
        _Bars("rim after the worst\nrelease [m/s]", lambda r: r.gone.rim_speed, _zero, VERMILION, HATCHES[1],
              RIM_LIMITS[0][1]),
        _Bars("time to rest over\nall releases [s]", lambda r: r.gone.rest_longest, lambda r: r.gone.rest_least, PURPLE,
              HATCHES[3]),
    )  # fmt: skip


def _zero(row: WheelRow) -> float:
    del row
    return 0.0


def _draw(ax: Axes, bars: _Bars, rows: Sequence[WheelRow], *, labelled: bool) -> None:
    """Draw a column of bars with their ends as figures, a range with both."""
    ax.grid(visible=False)
    ends = [(bars.since(r), bars.to(r)) for r in rows]
    known = [x for pair in ends for x in pair if np.isfinite(x)]
    most = max([*known, bars.line or 0.0]) or 1.0
    for y, (start, end) in enumerate(ends):
        if np.isfinite(end):
            ax.barh(
                y,
                end - start,
                0.62,
                start,
                color=bars.colour,
                hatch=bars.hatch,
                edgecolor="white",
                linewidth=0,
            )
        ax.text((end if np.isfinite(end) else 0.0) + 0.03 * most, y, _words(start, end), fontsize=SMALL, va="center",
                color=INK, bbox=CLEAR)  # fmt: skip
    if bars.line is not None:
        ax.axvline(bars.line, color=GREY, linestyle=DASHES[2], linewidth=THIN, zorder=0.5)
    ax.set_xlim(0, (1.35 if bars.since is _zero else 1.7) * most)
    ax.set_ylim(len(rows) - 0.5, -0.5)
    ax.set_xticks([])
    ax.spines["bottom"].set_visible(False)
    ax.tick_params(axis="y", length=0)
    ax.set_yticks(
        range(len(rows)),
        [f"{r.label}, {r.mass:.3g} kg   {n}" if labelled else "" for n, r in enumerate(rows, 1)],
    )
    ax.set_title(bars.title, fontsize=SMALL, loc="left", color=INK)


def _words(start: float, end: float) -> str:
    """Give a bar's end in words, or both ends of one that does not begin at 0."""
    if start == 0:
        return f"{end:.3g}" if np.isfinite(end) else ""
    if not np.isfinite(end):
        return f"from {start:.0f}" if np.isfinite(start) else "none"
    return f"{start:.0f}–{end:.0f}"


def _curve(ax: Axes, found: Comparison, name: str, title: str, colour: str) -> None:
    """Draw what is left over the mass: every wheel, the line through those worth their mass, its chord and knee."""
    curve, of = found.knees()[name], BOUGHT[name][1]
    places = [(r.mass, of(r)) for r in found.rows]
    for n, (x, y) in enumerate(places):
        face = colour if n in curve.kept else "#ffffff"
        ax.plot([x], [y], "o", markersize=5, markerfacecolor=face, markeredgecolor=colour)
        ax.annotate(str(n + 1), (x, y), (6, 5), textcoords="offset points", fontsize=SMALL, color=INK)
    line = [places[n] for n in curve.kept]
    ax.plot(*zip(*line, strict=True), color=colour, linewidth=FIRM, zorder=1)
    if len(line) > 2:
        ax.plot(
            *zip(line[0], line[-1], strict=True), color=GREY, linestyle=DASHES[1], linewidth=THIN, zorder=0.8
        )
    if curve.at is not None:
        ax.plot(
            *([v] for v in places[curve.at]), "o", markersize=11, markerfacecolor="none", markeredgecolor=INK
        )
    least, most = min(x for x, _ in places), max(x for x, _ in places)
    wide = (most - least) or 0.1 * most
    ax.set_xlim(least - 0.15 * wide, most + 0.15 * wide)
    ax.margins(y=0.2)
    ax.set_xlabel("mass of the wheel [kg]", fontsize=TEXT, color=INK)
    named = "no knee" if curve.at is None else f"knee: {found.rows[curve.at].label}"
    ax.set_title(f"{title}; {named}", fontsize=SMALL, loc="left", color=INK)
