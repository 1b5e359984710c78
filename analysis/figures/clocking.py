"""Figure of the sides against each other: what a keyway does to each panel, and how far left and right are apart."""

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from analysis.clocking import clocking as course
from analysis.clocking import leads
from analysis.drawing.sheet import short
from analysis.figures.motion import WIDE
from analysis.style import (
    DASHES,
    FINE,
    FIRM,
    INK,
    SERIES,
    SMALL,
    THIN,
    Axes,
    axes,
    caption,
    crank_axis,
    legend,
    sheet,
    words,
)
from models.mechanism import Mechanism
from models.shown import shown
from sim.arrays import Array
from sim.builders import Linkage

LEAST = 0.1
"""Difference, deg, to which the scale reaches at least."""
RIGHT = 62.0
"""Room for the legends, mm."""


def clocking(closed: Linkage) -> Figure:
    """Plot over a turn how much a keyway turns each panel, and how far left and right are apart.

    Thin broken lines are without winding up, firm ones turned slowly under load.

    Parameters
    ----------
    closed : the sculpture with its loops closed.

    Raises
    ------
    ValueError
        When the sculpture has one side.
    """
    found = course(closed)
    figure = sheet(WIDE, 148)
    upper = axes(figure, (18, 84, WIDE - 18 - RIGHT, 52))
    lower = axes(figure, (18, 14, WIDE - 18 - RIGHT, 52))
    turn = np.degrees(np.append(found.turn, 2 * np.pi))
    for j, name in enumerate(found.panels):
        colour = SERIES[j % len(SERIES)]
        called = short(name)
        # The left side's; a right one that differs shows in the lower curves.
        _pair(upper, turn, found.rate[0, j], found.loaded[0, j], colour, called)
        _pair(lower, turn, np.degrees(found.keyed[j]), np.degrees(found.wound[j]), colour, called)
    for j, name in enumerate(found.panels[1:], 1):
        relative = found.rate[0, j] - found.rate[0, 0]
        colour = SERIES[(len(found.panels) + j - 1) % len(SERIES)]
        label = f"{short(name)} to {short(found.panels[0])}"
        upper.plot(turn, np.append(relative, relative[0]), color=colour, linestyle=DASHES[2], linewidth=FIRM,
                   label=label)  # fmt: skip
    words(upper, "What a keyway does to each panel of its side", "", "deg of panel per deg of key")
    words(lower, "Left panel against right, turned forward slowly", "", "left less right [deg]")
    for ax in (upper, lower):
        ax.axhline(0, color=INK, linewidth=FINE)
        crank_axis(ax, label=ax is lower)
    legend(upper, loc="upper left", bbox_to_anchor=(1.02, 1.0), borderaxespad=0)
    most = float(np.degrees(np.abs([found.keyed, found.wound])).max())
    # Sides that mirror each other are apart by next to nothing, which a scale of its own would draw as waves.
    if most < LEAST:
        lower.set_ylim(-LEAST, LEAST)
    lower.yaxis.set_major_locator(MaxNLocator(5))
    for k, line in enumerate(_lines(closed.mechanism)):
        caption(figure, WIDE - RIGHT + 3, 62 - 4.5 * k, line, fontsize=SMALL)
    return figure


def _pair(ax: Axes, turn: Array, plain: Array, loaded: Array, colour: str, name: str) -> None:
    """Draw a curve without winding up and with it."""
    ax.plot(turn, np.append(loaded, loaded[0]), color=colour, linewidth=FIRM, label=f"{name}, under load")
    ax.plot(turn, np.append(plain, plain[0]), color=colour, linestyle=DASHES[1],
            linewidth=THIN, label=f"{name}, nothing wound up")  # fmt: skip


def _lines(mechanism: Mechanism) -> list[str]:
    """Say what the keyways make."""
    keys = mechanism.keyways
    if keys is None:
        return ["no keyways measured"]
    cut = f"right keyway, from left: {np.degrees(keys.cut()):.2f}°"
    if keys.lead is None:
        return ["centre shaft not cut", cut]
    rss = np.sqrt(keys.readings) * keys.measured
    return [leads(keys.lead), f"by {shown(abs(keys.lead), 'angle')} ± {shown(rss, 'angle')}", "to share their phase:",
            cut]  # fmt: skip
