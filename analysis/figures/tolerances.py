"""Builds within tolerances: how the readings that matter most scatter, and which tolerance moves which."""

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from analysis.style import DASHES, GREY, INK, SKY, SMALL, TEXT, THIN, VERMILION, axes, caption, sheet
from analysis.sweep.builds import Build
from analysis.sweep.reading import KEYS
from analysis.sweep.scatter import Scatter, varies
from models.shown import in_figures

MOST = 14
"""Tolerances that get a row."""
WIDE, HIGH = 50.0, 26.0
LEFT, ACROSS, UP = 20.0, 66.0, 44.0
CELL, ROW = 12.5, 6.5
NAMES = 60.0
HEADS = 24.0


def tolerances(scatters: Sequence[Scatter], builds: Sequence[Build]) -> Figure:
    """Draw a histogram for each reading that matters most, and below them who moves whom.

    Parameters
    ----------
    scatters : of all readings, as `analysis.sweep.scatter.scatters` gives them.
    builds : those that were drawn.
    """
    own = {s.nominal.name: s for s in scatters}
    wanted = [own[name] for name in KEYS if name in own]
    rows = -(-len(wanted) // 3)
    movers = _movers(wanted)
    below = 12 + ROW * len(movers) + (HEADS if movers else 0)
    figure = sheet(LEFT + 3 * ACROSS, below + rows * UP + 16)
    for k, s in enumerate(wanted):
        place = (LEFT + (k % 3) * ACROSS, below + (rows - 1 - k // 3) * UP + 12, WIDE, HIGH)
        _histogram(figure, place, s, builds)
    caption(figure, LEFT, below + rows * UP + 8, "Builds drawn within the tolerances. Solid: as described. "
            "Dashed: limit.", fontsize=TEXT)  # fmt: skip
    if movers:
        _matrix(figure, wanted, movers)
    return figure


def _histogram(
    figure: Figure, place: tuple[float, float, float, float], s: Scatter, builds: Sequence[Build]
) -> None:
    factor, unit = in_figures(s.nominal.dimension)
    found = (b.reading(s.nominal.name) for b in builds)
    values = factor * np.array([r.value for r in found if r is not None])
    ax = axes(figure, place)
    if varies(values):
        ax.hist(values, bins=min(24, max(5, len(values) // 8)), color=SKY, edgecolor="white", linewidth=0.4)
    else:
        middle = s.nominal.value * factor
        ax.set_xlim(sorted((0.9 * middle, 1.1 * middle)) if middle else (-1, 1))
        ax.text(middle, 0.5, " all alike", fontsize=SMALL, transform=ax.get_xaxis_transform())
    ax.axvline(s.nominal.value * factor, color=INK, linewidth=THIN)
    low, high = ax.get_xlim()
    if s.nominal.limit is not None and low - (high - low) < s.nominal.limit * factor < high + (high - low):
        ax.axvline(s.nominal.limit * factor, color=VERMILION, linewidth=THIN, linestyle=DASHES[1])
    ax.set_title(f"{KEYS[s.nominal.name]}{f' [{unit}]' if unit else ''}", fontsize=TEXT, loc="left")
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.grid(visible=False)


def _movers(wanted: Sequence[Scatter]) -> list[str]:
    """Name the tolerances that move any of the readings, the strongest first."""
    best: dict[str, float] = {}
    for s in wanted:
        for m in s.movers:
            best[m.field] = max(best.get(m.field, 0.0), abs(m.correlation))
    return sorted(best, key=lambda f: -best[f])[:MOST]


def _matrix(figure: Figure, wanted: Sequence[Scatter], movers: Sequence[str]) -> None:
    shown = np.full((len(movers), len(wanted)), np.nan)
    for column, s in enumerate(wanted):
        for m in s.movers:
            if m.field in movers:
                shown[movers.index(m.field), column] = m.correlation
    ax = axes(figure, (LEFT + NAMES - 16, 10, CELL * len(wanted), ROW * len(movers)))
    ax.imshow(np.ma.masked_invalid(shown), cmap="RdBu_r", vmin=-1, vmax=1, aspect="auto")
    for (row, column), value in np.ndenumerate(shown):
        if np.isfinite(value):
            ax.text(column, row, f"{value:.2f}", fontsize=SMALL, ha="center", va="center",
                    color="white" if abs(value) > 0.6 else INK)  # fmt: skip
    ax.set_yticks(range(len(movers)), movers)
    ax.xaxis.tick_top()
    ax.set_xticks(range(len(wanted)), [KEYS[s.nominal.name] for s in wanted], rotation=35, ha="left")
    ax.tick_params(labelsize=SMALL, length=0)
    ax.grid(visible=False)
    for spine in ax.spines.values():
        spine.set_visible(False)
    caption(figure, LEFT, 3, "Rank correlation of a tolerance with a figure; blank: no more than chance.",
            fontsize=SMALL, color=GREY)  # fmt: skip
