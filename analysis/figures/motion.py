"""Figures of how the piece moves: panel angles over the turn, the wheel after letting go."""

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from analysis.drawing.sheet import short
from analysis.style import (
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREEN,
    GREY,
    INK,
    PALE,
    SERIES,
    SMALL,
    THIN,
    VERMILION,
    Axes,
    axes,
    crank_axis,
    legend,
    sheet,
    words,
)
from models.mechanism import from_canonical
from sim import names
from sim.builders import Linkage
from sim.run import Run

WIDE = 180.0
"""Width of a figure across a page, mm."""
TURN = np.linspace(0, 2 * np.pi, 721)


def panel_angles(closed: Linkage) -> Figure:
    """Plot every panel's angle over a turn of the crank, in closed form; sides apart only where they differ.

    Parameters
    ----------
    closed : the sculpture with its loops closed.
    """
    figure = sheet(WIDE, 100)
    ax = axes(figure, (18, 16, WIDE - 60, 70))
    first = closed.sides[0].course(TURN)
    alike = all(
        np.allclose(a.angle.value, b.angle.value, atol=1e-9)
        for s in closed.sides[1:]
        for a, b in zip(first, s.course(TURN), strict=True)
    )
    for number, side in enumerate(closed.sides[:1] if alike else closed.sides):
        for k, course in enumerate(side.course(TURN)):
            name = short(course.panel.name) if alike else f"{side.side.name} {short(course.panel.name)}"
            angle = np.degrees(course.angle.value)
            dash = (2 * number + k) % len(DASHES)
            ax.plot(np.degrees(TURN), angle, color=SERIES[k % len(SERIES)], linestyle=DASHES[dash],
                    linewidth=FIRM if number == 0 else THIN,
                    label=f"{name}\n{_signed(angle.min())} to {_signed(angle.max())}")  # fmt: skip
    ax.axhline(0, color=INK, linewidth=FINE)
    which = "both sides" if alike and len(closed.sides) > 1 else ""
    words(ax, f"Panel angles{', ' * bool(which)}{which}", "", "angle from level [deg], up positive")
    crank_axis(ax)
    legend(ax, loc="upper left", bbox_to_anchor=(1.02, 1.0), borderaxespad=0, labelspacing=1.0)
    return figure


def let_go(runs: Sequence[Run], friction: Sequence[Run] = ()) -> Figure:
    """Plot the rim's speed after letting go, and its peak against the crank angle at the release.

    Parameters
    ----------
    runs : of letting go, at several crank angles; the worst is drawn firm, the others grey.
    friction : the worst of them with low and with high friction.

    Raises
    ------
    ValueError
        When there is no such run with anything recorded.
    """
    usable = [r for r in runs if r.case == "let-go" and len(r.time)]
    if not usable:
        raise ValueError("no run of letting go: simulate some first")
    figure = sheet(WIDE, 158)
    upper = axes(figure, (18, 96, WIDE - 26, 50))
    lower = axes(figure, (18, 22, WIDE - 26, 50))
    tops = [peak_rim_speed(r) for r in usable]
    worst = int(np.argmax(tops))
    for k, run in enumerate(usable):
        if k != worst:
            upper.plot(run.time, rim_speed(run), color=PALE, linewidth=THIN)
    for other, dash in zip((r for r in friction if len(r.time)), (DASHES[2], DASHES[3]), strict=False):
        upper.plot(other.time, rim_speed(other), color=GREEN, linestyle=dash, linewidth=THIN,
                   label=f"{other.scenario['friction']} friction")  # fmt: skip
    run = usable[worst]
    speed = rim_speed(run)
    upper.plot(run.time, speed, color=VERMILION, linewidth=FIRM)
    upper.axhline(0, color=INK, linewidth=FINE)
    at = int(np.argmax(np.abs(speed)))
    upper.plot(run.time[at], speed[at], "o", color=VERMILION, markersize=5)
    upper.annotate(
        f"worst: {run.label}\npeak {tops[worst]:.2f} m/s at {run.time[at]:.1f} s", (run.time[at], speed[at]),
        (10, 0), textcoords="offset points", fontsize=SMALL, color=INK, va="center",
        bbox=CLEAR,
    )  # fmt: skip
    low, high = upper.get_ylim()
    upper.set_ylim(low, high + 0.12 * (high - low))
    upper.set_xlim(0, max(float(r.time[-1]) for r in usable))
    if friction:
        legend(upper, loc="lower right", ncols=2, borderaxespad=0)
    others = ", others grey" if len(usable) > 1 else ""
    words(upper, f"Rim speed after letting go{others}", "time [s]", "rim or grip speed [m/s]")
    _against_release(lower, usable, tops, worst)
    return figure


def _against_release(ax: Axes, usable: list[Run], tops: list[float], worst: int) -> None:
    """Plot peaks and speeds at release against the crank angle at the release."""
    radius = from_canonical(usable[0].description).wheel.radius
    release = [np.degrees(_number(r.scenario["release"])) % 360 for r in usable]
    start = [abs(_number(r.scenario["speed"])) * radius for r in usable]
    order = np.argsort(release)
    turned, peaks = np.array(release)[order], np.array(tops)[order]
    begun = np.array(start)[order]
    ax.vlines(turned, begun, peaks, color=PALE, linewidth=FIRM)
    same = bool(np.ptp(begun) < 1e-9)
    if same:
        ax.axhline(begun[0], color=GREY, linestyle=DASHES[1], linewidth=THIN, label="speed at release")
    else:
        ax.plot(turned, begun, "_", color=GREY, markersize=9, markeredgewidth=FIRM, label="speed at release")
    if same and len(turned) > 2:
        ax.plot([*turned, turned[0] + 360], [*peaks, peaks[0]], color=SERIES[0], linewidth=THIN)
    ax.plot(turned, peaks, "o", color=SERIES[0], markersize=5, label="peak after letting go", clip_on=False)
    ax.plot(release[worst], tops[worst], "D", color=VERMILION, markersize=7, label="worst", clip_on=False)
    ax.set_ylim(0, 1.12 * max(*tops, *start))
    crank_axis(ax)
    words(ax, "Peak rim speed against where it is let go", "crank angle at the release [deg]",
          "rim or grip speed [m/s]")  # fmt: skip
    legend(ax, loc="upper left", bbox_to_anchor=(0, -0.24), ncols=3, borderaxespad=0)


def _number(value: object) -> float:
    return float(value) if isinstance(value, (int, float)) else 0.0


def rim_speed(run: Run) -> np.ndarray:
    """Give the speed (n,), m/s, of the rim or grip, positive where it drives the crank positive."""
    return run[f"angles/{names.WHEEL}/speed"] * from_canonical(run.description).wheel.radius


def peak_rim_speed(run: Run) -> float:
    """Give the largest speed of rim or grip, m/s, in either sense."""
    return float(np.max(np.abs(rim_speed(run))))


def _signed(angle: float) -> str:
    return f"{angle:.1f}°".replace("-", "−")
