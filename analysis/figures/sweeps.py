"""A sweep: what matters most against the values that were changed."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from analysis.style import BLUE, DASHES, GREY, SERIES, SMALL, TEXT, THIN, axes, caption, sheet
from analysis.sweep.builds import Build
from analysis.sweep.reading import KEYS, keys
from analysis.sweep.table import Column, fields, found
from models.shown import in_figures
from sim.arrays import Array

MOST_LINES = 6
"""Values of a second field that get a line each."""
MOST_FIELDS = 5
"""Fields of a sheet of clouds."""
WIDE, HIGH = 50.0, 34.0
LEFT, BELOW, ACROSS, UP = 20.0, 20.0, 70.0, 52.0


def sweep(builds: Sequence[Build]) -> Figure:
    """Draw the readings that matter most over the fields that vary.

    One field, or two of which one has few values, give lines; more give a cloud for each field and reading. Builds
    that could not be run are left out.

    Parameters
    ----------
    builds : at least one of which was run.

    Raises
    ------
    ValueError
        When none was run.
    """
    ran = [b for b in builds if not b.reason]
    if not ran:
        raise ValueError("no build to draw: none was run")
    columns = {c.name: c for c in found(ran)}
    wanted = [columns[name] for name in keys([b.readings for b in ran])]
    varying = sorted((f for f in fields(ran) if len(set(f.values)) > 1), key=lambda f: -len(set(f.values)))
    lines = len(varying) <= 1 or (
        len(varying) == 2
        and len(set(varying[1].values)) <= MOST_LINES
        and len(set(varying[0].values)) * len(set(varying[1].values)) < 2 * len(ran)
    )
    limits = {r.name: r.limit for b in ran for r in b.readings if r.limit is not None}
    if lines:
        return _lines(varying or fields(ran)[:1], wanted, limits)
    return _clouds(varying[:MOST_FIELDS], wanted, limits, len(varying))


def _lines(varying: Sequence[Column], wanted: Sequence[Column], limits: dict[str, float]) -> Figure:
    rows = -(-len(wanted) // 3)
    key = 12.0 if len(varying) > 1 else 0.0
    figure = sheet(LEFT + 3 * ACROSS - 12, rows * UP + BELOW - 6 + key)
    x, factor, unit = _scaled(varying[0])
    groups = _groups(varying)
    for k, reading in enumerate(wanted):
        column, row = k % 3, k // 3
        ax = axes(figure, (LEFT + column * ACROSS, BELOW + (rows - 1 - row) * UP, WIDE, HIGH))
        for line, (_, own) in enumerate(groups):
            order = own[np.argsort(x[own])]
            y, _, _ = _scaled(reading)
            ax.plot(x[order] * factor, y[order] * _scaled(reading)[1], color=SERIES[line], linestyle=DASHES[line],
                    marker="o", markersize=3, linewidth=THIN)  # fmt: skip
        _dress(ax, reading, limits)
        ax.set_xlabel(f"{varying[0].name}{unit}", fontsize=SMALL)
    if len(varying) > 1:
        for line, (name, _) in enumerate(groups):
            caption(
                figure,
                LEFT + 34 * line,
                rows * UP + BELOW - 4,
                f"{DOT} {name}",
                fontsize=TEXT,
                color=SERIES[line],
            )
        caption(figure, LEFT, rows * UP + BELOW + 2, varying[1].name, fontsize=TEXT)
    return figure


DOT = "\u25cf"


def _groups(varying: Sequence[Column]) -> list[tuple[str, Any]]:
    """Give the builds (numbers) of each value of the second field, with that value in words."""
    if len(varying) < 2:
        return [("", np.arange(len(varying[0].values)))]
    second = varying[1]
    rows = {
        value: [k for k, v in enumerate(second.values) if v == value]
        for value in dict.fromkeys(second.values)
    }
    return [(second.shown(own[0]), np.array(own)) for own in rows.values()]


def _clouds(
    varying: Sequence[Column], wanted: Sequence[Column], limits: dict[str, float], all_: int
) -> Figure:
    across, up = 44.0, 36.0
    figure = sheet(28 + across * len(varying) + 4, up * len(wanted) + 24)
    for row, reading in enumerate(wanted):
        for column, f in enumerate(varying):
            place = (28 + column * across, 20 + (len(wanted) - 1 - row) * up, across - 8, up - 11)
            ax = axes(figure, place)
            x, factor, unit = _scaled(f)
            y, scale, _ = _scaled(reading)
            ax.plot(x * factor, y * scale, "o", color=BLUE, markersize=2.2, alpha=0.6, markeredgewidth=0)
            _dress(ax, reading, limits, title=column == 0)
            if column:
                ax.set_yticklabels([])
            if row == len(wanted) - 1:
                ax.set_xlabel(f"{f.name}{unit}", fontsize=SMALL)
            else:
                ax.set_xticklabels([])
    if all_ > len(varying):
        caption(figure, 28, 3, f"The first {len(varying)} of {all_} fields that vary.", fontsize=SMALL)
    return figure


def _scaled(column: Column) -> tuple[Array, float, str]:
    """Give a column's numbers, the factor to the unit that people use, and that unit in brackets."""
    if column.dimension in ("text", "fault"):
        return column.numbers, 1.0, ""
    factor, unit = in_figures(column.dimension)
    return column.numbers, factor, f" [{unit}]" if unit else ""


def _dress(ax: Any, reading: Column, limits: dict[str, float], title: bool = True) -> None:
    _, scale, unit = _scaled(reading)
    if title:
        ax.set_title(f"{KEYS[reading.name]}{unit}", fontsize=TEXT, loc="left")
    limit = limits.get(reading.name)
    if limit is not None:
        ax.axhline(limit * scale, color=GREY, linewidth=THIN, linestyle=DASHES[1])
        ax.annotate("limit", (1, limit * scale), xycoords=("axes fraction", "data"), fontsize=SMALL, color=GREY,
                    ha="right", va="bottom")  # fmt: skip
    if np.nanmin(reading.numbers) >= 0:
        # From nothing, so that what changes by a hundredth looks like it.
        ax.set_ylim(bottom=0)
