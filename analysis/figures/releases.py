"""The release map: rim speed, kick and time to rest over angle and speed, a row for each wheel."""

from collections.abc import Sequence
from typing import Any, cast

import numpy as np
from matplotlib.figure import Figure

from analysis.handle import RIM_LIMITS
from analysis.release_map import ReleaseMap
from analysis.style import INK, SMALL, TEXT, axes, bare, caption, sheet, words
from sim.arrays import Array

WIDE = 190.0
"""Width of the sheet, mm."""
HIGH = 46.0
"""Height of one map, mm."""
PANELS = (
    ("peak rim or grip speed [m/s]", "rim"),
    ("kick of the hand [N]", "kick"),
    ("time to rest [s]", "rest"),
)
LIMIT = RIM_LIMITS[0][1]
"""13 ft/s, m/s: where the rim's map has its line; the finding names the source."""


def release_map(maps: Sequence[ReleaseMap]) -> Figure:
    """Draw the maps of one or several wheels, alike quantities in the same colours.

    Parameters
    ----------
    maps : of one or more wheels, all at the same angles and speeds.

    Raises
    ------
    ValueError
        When there is none.
    """
    if not maps:
        raise ValueError("no map to draw: give at least one")
    wide, left, below = 40.0, 16.0, 20.0
    step = HIGH + 8
    figure = sheet(WIDE, step * len(maps) + below + 4)
    for column, (title, name) in enumerate(PANELS):
        grids = [np.asarray(getattr(m, name)) for m in maps]
        most = max((float(np.nanmax(g)) for g in grids if np.isfinite(g).any()), default=1.0) or 1.0
        x = left + column * (wide + 17)
        for row, (m, grid) in enumerate(zip(maps, grids, strict=True)):
            y = below + step * (len(maps) - 1 - row)
            ax = axes(figure, (x, y, wide, HIGH))
            drawn = _map(ax, m, grid, most)
            if name == "rim":
                _limit(ax, m, grid)
            if name == "rest" and m.near:
                ax.plot(np.degrees([g.release for g in m.near]), [g.speed * 30 / np.pi for g in m.near], "o",
                        color=INK, markersize=2)  # fmt: skip
            last, first = row == len(maps) - 1, column == 0
            words(ax, "", "crank angle [deg]" if last else "", f"{m.label} [rpm]" if first else "")
            if not first:
                ax.set_yticklabels([])
            if row == 0:
                ax.set_title(title, fontsize=TEXT, loc="left", color=INK)
                scale = bare(figure, (x + wide + 2, y, 2.5, HIGH))
                bar = cast("Any", figure).colorbar(drawn, cax=scale)
                bar.ax.tick_params(labelsize=SMALL, length=2)
    caption(
        figure,
        left,
        3,
        "Line: 13 ft/s. Dots: all but stalls at a top. Hatched: not at rest or not run.",
        fontsize=SMALL,
    )
    return figure


def _map(ax: Any, m: ReleaseMap, grid: Array, most: float) -> Any:
    around = np.degrees(m.angles)
    half = 180.0 / len(around)
    rpm = m.speeds * 30 / np.pi
    ax.set_facecolor("#ffffff")
    ax.patch.set_hatch("////")
    ax.patch.set_edgecolor("#c9c9c9")
    drawn = ax.pcolormesh(np.append(around - half, 360 - half), _edges(rpm), np.ma.masked_invalid(grid),
                          cmap="cividis", vmin=0, vmax=most, rasterized=True)  # fmt: skip
    ax.set_xticks([0, 90, 180, 270])
    ax.set_xlim(-half, 360 - half)
    ax.grid(visible=False)
    ax.tick_params(labelsize=SMALL)
    return drawn


def _edges(values: Array) -> Array:
    """Give the borders (n + 1,) half-way between values (n,)."""
    if len(values) == 1:
        return np.array([0.9, 1.1]) * values[0]
    middle = (values[1:] + values[:-1]) / 2
    return np.concatenate([[2 * values[0] - middle[0]], middle, [2 * values[-1] - middle[-1]]])


def _limit(ax: Any, m: ReleaseMap, grid: Array) -> None:
    """Draw the line of the rim's limit and write the largest speed into its cell."""
    if np.isfinite(grid).all() and min(grid.shape) > 1 and grid.min() < LIMIT < grid.max():
        ax.contour(np.degrees(m.angles), m.speeds * 30 / np.pi, grid, [LIMIT], colors=[INK], linewidths=1.2)
    if np.isfinite(grid).any():
        i, j = np.unravel_index(int(np.nanargmax(grid)), grid.shape)
        ax.text(np.degrees(m.angles[j]), m.speeds[i] * 30 / np.pi, f"{grid[i, j]:.2g}", fontsize=TEXT, color=INK,
                ha="center", va="center")  # fmt: skip
