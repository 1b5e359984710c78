"""Figures of single load cases: the wheel in gusts, and chains as a slack strand is taken up."""

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from analysis.figures.motion import WIDE, peak_rim_speed, rim_speed
from analysis.style import (
    BLUE,
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREY,
    INK,
    SERIES,
    SMALL,
    TEXT,
    THIN,
    VERMILION,
    axes,
    caption,
    legend,
    sheet,
    words,
)
from analysis.summary.wheel import STIRS
from sim.run import Extreme, Run

AROUND = 0.25
"""Seconds that are shown before and after a chain's hardest pull."""


def gust_speeds(runs: Sequence[Run]) -> Figure:
    """Plot the rim's speed in gusts over time, and its peak by the direction of the wind.

    Parameters
    ----------
    runs : of gusts with the wheel free.

    Raises
    ------
    ValueError
        When there is no such run with anything recorded.
    """
    usable = [r for r in runs if r.case == "gust" and len(r.time)]
    if not usable:
        raise ValueError("no run of a gust: simulate some first")
    figure = sheet(WIDE, 92)
    ax = axes(figure, (18, 26, 88, 52))
    peaks = [peak_rim_speed(r) for r in usable]
    toward = [_toward(r) for r in usable]
    for k, (run, way) in enumerate(zip(usable, toward, strict=True)):
        colour, dash = SERIES[k % len(SERIES)], DASHES[(k + k // len(SERIES)) % len(DASHES)]
        ax.plot(run.time, rim_speed(run), color=colour, linestyle=dash,
                linewidth=THIN, label=f"{np.degrees(way):.0f}°")  # fmt: skip
    ax.axhline(0, color=INK, linewidth=FINE)
    most = max(peaks)
    ax.set_ylim(*((-1, 1) if most < STIRS else (None, None)))
    ax.set_xlim(0, max(float(r.time[-1]) for r in usable))
    words(ax, "Wheel free in gusts", "time [s]", "rim or grip speed [m/s]")
    legend(ax, loc="upper left", bbox_to_anchor=(0, -0.3), ncols=8, borderaxespad=0, columnspacing=0.8,
           handletextpad=0.4)  # fmt: skip
    rose = axes(figure, (126, 22, 40, 40), projection="polar")
    order = np.argsort(toward)
    around = np.array(toward)[order]
    sizes = np.array(peaks)[order]
    rose.set_theta_zero_location("N")
    rose.plot([*around, around[0]], [*sizes, sizes[0]], "o-", color=BLUE, linewidth=THIN, markersize=4)
    rose.set_rmin(0)
    rose.set_rmax(1.0 if most < STIRS else 1.15 * most)
    rose.set_xticks(np.radians([0, 90, 180, 270]), ["forward", "left", "back", "right"])
    rose.yaxis.set_major_locator(_few())
    rose.set_rlabel_position(22.5)
    for tick, side in zip(rose.get_xticklabels(), ("center", "right", "center", "left"), strict=True):
        tick.set_horizontalalignment(side)
    wind = usable[0].scenario["wind"]
    still = ": the wheel does not stir" if most < STIRS else ""
    caption(figure, 114, 82, f"Peak [m/s]{still}", fontsize=TEXT)
    caption(figure, 114, 77, f"by where a wind of {float(str(wind)):.3g} m/s blows to", fontsize=SMALL)
    return figure


def _toward(run: Run) -> float:
    return float(str(run.scenario["direction"]))


def _few() -> object:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(3, prune="lower")


def chain_tensions(run: Run, around: float = AROUND) -> Figure:
    """Plot both strands of every chain around its hardest pull, a take-up of slack where there is one.

    Parameters
    ----------
    run : with chains.
    around : s shown before and after.

    Raises
    ------
    ValueError
        When the run has no chain.
    """
    chains = run.names("chains")
    if not chains:
        raise ValueError(f"run {run.id} has no chain")
    high, step = 46.0, 68.0
    figure = sheet(WIDE, step * len(chains) + 16)
    for k, chain in enumerate(chains):
        ax = axes(figure, (20, 12 + 14 + step * (len(chains) - 1 - k), WIDE - 28, high))
        peak, taken = _hardest(run, chain)
        near = np.abs(run.time - peak.time) <= around
        for strand, colour, dash, width, word in (
            ("a", BLUE, DASHES[0], FIRM, "strand a: pulls as the wheel drives forward"),
            ("b", VERMILION, DASHES[1], FIRM, "strand b: as the wheel is driven"),
        ):
            ax.plot(run.time[near], run[f"chains/{chain}/tension {strand}"][near], color=colour, linestyle=dash,
                    linewidth=width, label=word)  # fmt: skip
        strand = peak.channel[-1]
        ax.plot([peak.time], [peak.value], "o", color=INK, markersize=5)
        what = "as its slack is taken up" if taken else "without slack before it"
        ax.annotate(f"{peak.value:.0f} N in strand {strand}, {what}", (peak.time, peak.value), (7, 5),
                    textcoords="offset points", fontsize=SMALL, color=INK, bbox=CLEAR)  # fmt: skip
        ax.axhline(0, color=GREY, linewidth=FINE)
        ax.set_xlim(max(0.0, peak.time - around), peak.time + around)
        ax.set_ylim(0, 1.25 * peak.value)
        last = k == len(chains) - 1
        words(ax, f"{chain}, {run.label}" if k == 0 else chain, "time [s]" if last else "", "tension [N]")
        if last:
            legend(ax, loc="upper left", bbox_to_anchor=(0, -0.3), ncols=2, borderaxespad=0)
    caption(figure, 20, 3, "The chain's stiffness and damping are known least: see the range in the summary.",
            fontsize=SMALL)  # fmt: skip
    return figure


def _hardest(run: Run, chain: str) -> tuple[Extreme, bool]:
    """Give the hardest take-up of a chain's slack, or its hardest pull where there is none."""
    for channel in ("impact", "tension"):
        known = [e for e in run.extrema if e.kind == "max" and e.channel in
                 {f"chains/{chain}/{channel} {s}" for s in "ab"}]  # fmt: skip
        if known and max(e.value for e in known) > 0:
            return max(known, key=lambda e: e.value), channel == "impact"
    return known[0], False
