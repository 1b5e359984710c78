"""Figures of forces and torques; those of the motion, of single cases and of wheels side by side lie beside."""

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from analysis.drawing.sheet import short
from analysis.figures.motion import WIDE, let_go, panel_angles
from analysis.figures.wheels import wheel_comparison
from analysis.style import (
    AMBER,
    BLUE,
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREEN,
    GREY,
    HATCHES,
    INK,
    SERIES,
    SMALL,
    TEXT,
    THIN,
    VERMILION,
    Axes,
    axes,
    caption,
    legend,
    sheet,
    words,
)
from sim import names
from sim.builders import Linkage
from sim.run import Run
from sim.whole import holding_torque

__all__ = ["joint_loads", "joint_polar", "let_go", "panel_angles", "wheel_comparison",
           "wheel_torque"]  # fmt: skip

GROUPS = ("hinge", "rod end", "bearing", "chain")
"""Kinds of joints and chains, by the word in their names."""
OTHER = "other"


def wheel_torque(run: Run, closed: Linkage, friction: Sequence[Run] = ()) -> Figure:
    """Plot the wheel's torque and the hand's force over a turn at held speed.

    Parameters
    ----------
    run : of the case "turn".
    closed : its sculpture, for the torque of the weights alone in closed form.
    friction : the same turn with low and with high friction.

    Raises
    ------
    ValueError
        When the run has no hand.
    """
    channel = f"torques/{names.HAND}/torque"
    if channel not in run.channels:
        raise ValueError(f"run {run.id} has no hand on the wheel: give a run of turning")
    mechanism = closed.mechanism
    torque, way = run[channel], 1.0 if float(np.mean(run[f"angles/{names.WHEEL}/speed"])) >= 0 else -1.0
    angle = run[f"angles/{_crank(closed)}/angle"]
    turned = np.degrees(angle)
    figure = sheet(WIDE, 98)
    ax = axes(figure, (20, 24, WIDE - 40, 62))
    driven = torque * way < 0
    ax.fill_between(turned, 0, torque, where=driven, color=AMBER, alpha=0.45, linewidth=0, hatch="////",
                    edgecolor="white", label="the wheel drives the hand")  # fmt: skip
    ax.plot(turned, holding_torque(closed, angle), color=GREY, linestyle=DASHES[1], linewidth=THIN,
            label="weights alone, closed form")  # fmt: skip
    for other, dash in zip(friction, (DASHES[2], DASHES[3]), strict=False):
        ax.plot(np.degrees(other[f"angles/{_crank(closed)}/angle"]), other[channel], color=GREEN, linestyle=dash,
                linewidth=THIN, label=f"{other.scenario['friction']} friction")  # fmt: skip
    ax.plot(turned, torque, color=BLUE, linewidth=FIRM, label=run.label)
    ax.axhline(0, color=INK, linewidth=FINE)
    words(ax, "Torque at the wheel over a slow turn", "", "torque of the hand on the wheel [N m]")
    ax.set_xlim(turned.min(), turned.max())
    ax.set_xticks(np.arange(45 * np.ceil(turned.min() / 45 - 1e-6), turned.max() + 1e-6, 45))
    ax.set_xlabel("crank angle [deg]; 0: a throw of angle 0 straight up", fontsize=TEXT, color=INK)
    for k in (int(np.argmax(torque * way)), int(np.argmin(torque * way))):
        _mark(ax, turned[k], torque[k], f"{torque[k] / mechanism.wheel.radius:.3g} N".replace("-", "−"))
    low, high = ax.get_ylim()
    pad = 0.12 * (high - low)
    ax.set_ylim(low - pad, high + pad)
    _force_axis(ax, mechanism.wheel.radius)
    legend(ax, loc="upper left", bbox_to_anchor=(0, -0.2), ncols=3, borderaxespad=0)
    return figure


def _crank(closed: Linkage) -> str:
    return names.crankshaft(closed.sides[0].side.name)


def _force_axis(ax: Axes, radius: float) -> None:
    other = ax.twinx()
    low, high = ax.get_ylim()
    other.set_ylim(low / radius, high / radius)
    other.set_ylabel(f"hand force at {1000 * radius:.0f} mm radius [N]", fontsize=TEXT, color=INK)
    other.tick_params(labelsize=SMALL, colors=INK, width=FINE, length=3)
    for name, spine in other.spines.items():
        spine.set_visible(name == "right")
        spine.set_color(GREY)
        spine.set_linewidth(FINE)


def _mark(ax: Axes, x: float, y: float, text: str) -> None:
    ax.plot([x], [y], "o", color=BLUE, markersize=4)
    # Above the curve in both cases: below a trough runs the curve of the weights alone.
    ax.annotate(text, (x, y), (0, 7), textcoords="offset points", ha="center", va="bottom", fontsize=SMALL,
                color=INK, bbox=CLEAR)  # fmt: skip


def joint_loads(
    loads: Sequence[tuple[str, float, str]], in_use: Mapping[str, float] | None = None, but: str = ""
) -> Figure:
    """Plot the largest force at every joint as bars, hinges, rod ends and bearings together.

    Parameters
    ----------
    loads : joint, its largest force over the load cases, N, and that case in words.
    in_use : by joint, the largest force in ordinary use, N, drawn as a line across its bar.
    but : what is left out, in words beside the unit.

    Raises
    ------
    ValueError
        When there is none.
    """
    if not loads:
        raise ValueError("no joint loads: simulate some load cases first")
    order = [*GROUPS, OTHER]
    rows = sorted(loads, key=lambda r: (order.index(_group(r[0])), -r[1]))
    shown = [g for g in order if any(_group(r[0]) == g for r in rows)]
    step = 5.4
    high = step * (len(rows) + len(shown)) + 4
    figure = sheet(WIDE, high + 26)
    ax = axes(figure, (52, 14, WIDE - 58, high))
    ax.grid(visible=False, axis="y")
    places: list[float] = []
    y = 0.0
    largest = max(r[1] for r in rows)
    for number, group in enumerate(shown):
        y += 1
        ax.text(0.006 * largest, y, f"{group}s" if group != OTHER else "others", fontsize=TEXT, weight="bold",
                va="center", color=INK)  # fmt: skip
        for joint, force, case in (r for r in rows if _group(r[0]) == group):
            y += 1
            ax.barh(
                y, force, 0.7, color=SERIES[number], hatch=HATCHES[number], edgecolor="white", linewidth=0
            )
            said = f"{force:.0f} N  {short(case, 36)}"
            ax.text(force + 0.01 * largest, y, said, fontsize=SMALL, va="center",
                    color=INK, bbox=CLEAR, zorder=3)  # fmt: skip
            if in_use and joint in in_use:
                usual = in_use[joint]
                ax.plot([usual, usual], [y - 0.42, y + 0.42], color=INK, linewidth=FIRM, zorder=4,
                        label="" if ax.lines else "in use: turned, cranked, let go")  # fmt: skip
            places.append(y)
    ax.set_yticks(places, [short(r[0], 30) for r in rows])
    ax.set_ylim(y + 0.8, 0.3)
    ax.set_xlim(0, 1.9 * largest)
    ax.set_xticks([t for t in ax.get_xticks() if t <= 1.05 * largest])
    ax.tick_params(axis="y", length=0)
    words(ax, "Largest force at each joint, and its load case", f"force [N]{but}", "")
    ax.xaxis.set_label_coords(0, -7 / high)
    ax.xaxis.label.set_horizontalalignment("left")
    if in_use:
        legend(ax, loc="upper right", bbox_to_anchor=(1, -3 / high), borderaxespad=0)
    return figure


def _group(joint: str) -> str:
    return next((g for g in GROUPS if g in joint), OTHER)


def joint_polar(run: Run, joint: str) -> Figure:
    """Plot the force at one joint over a run as the path of its tip, square to the joint's pin.

    Hinges and yokes turn about the forward axis and are seen from the front; all others are seen from the
    right. Dots stand every 45 deg of the crank, the first one large.

    Parameters
    ----------
    run : any; one of a turn is the clearest.
    joint : its name in the run.

    Raises
    ------
    KeyError
        When the run has no such joint.
    """
    channel = f"joints/{joint}/force"
    if channel not in run.channels:
        known = ", ".join(run.names("joints")) or "none"
        raise KeyError(f"run {run.id} has no joint '{joint}'; it has: {known}")
    force = run[channel]
    along_forward = "hinge" in joint or "yoke" in joint
    right, word = (force[:, 1], "left") if along_forward else (force[:, 0], "forward")
    through = force[:, 0] if along_forward else force[:, 1]
    figure = sheet(100, 112)
    ax = axes(figure, (20, 19, 60, 70), projection="polar")
    size, way = np.hypot(right, force[:, 2]), np.arctan2(force[:, 2], right)
    ax.plot(way, size, color=BLUE, linewidth=FIRM)
    cranks = [n for n in run.names("angles") if n.endswith("crankshaft")]
    crank = run[f"angles/{cranks[0]}/angle"]
    for k, at in enumerate(np.arange(0, 360, 45)):
        near = int(np.argmin(np.abs(crank - crank[0] - np.radians(at))))
        ax.plot(
            way[near], size[near], "o", color=VERMILION if k == 0 else GREEN, markersize=7 if k == 0 else 4
        )
    ax.set_rmin(0)
    ax.set_rmax(1.1 * float(size.max()))
    ax.set_rlabel_position(22.5)
    ax.set_xticks(np.radians([0, 90, 180, 270]), [word, "up", "right" if along_forward else "back", "down"])
    for tick, side in zip(ax.get_xticklabels(), ("left", "center", "right", "center"), strict=True):
        tick.set_horizontalalignment(side)
    ax.yaxis.set_major_locator(MaxNLocator(4, prune="lower"))
    seen = "front" if along_forward else "right"
    worst = float(np.linalg.norm(force, axis=1).max())
    pin = "hinge line" if along_forward else "shaft"
    lines = (
        (103, TEXT + 1, f"Force on {short(joint, 36)} [N]"),
        (98, SMALL, f"{short(run.label, 40)}; seen from the {seen}"),
        (9, SMALL, f"largest {worst:.0f} N; along the {pin} up to {np.abs(through).max():.0f} N"),
        (4, SMALL, f"large dot: crank {np.degrees(crank[0]) % 360:.0f}°, then every 45°"),
    )
    for y, type_size, line in lines:
        caption(figure, 5, y, line, fontsize=type_size)
    return figure
