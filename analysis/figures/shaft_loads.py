"""Figures along a crankshaft: moment, torque and stress over a turn, and what a centre bearing does."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from analysis.centre_bearing import centre, pin_sideways, sideways
from analysis.drawing.sheet import short
from analysis.figures.motion import WIDE
from analysis.style import (
    BLUE,
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREY,
    HATCHES,
    INK,
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
from models.mechanism import Side
from sim.arrays import Array
from sim.shaft.bending import Bent
from sim.shaft.frame import Member
from sim.shaft.loading import Loading
from sim.shaft.stress import equivalent

TALL = 44.0
"""Height of each of the curves along the shaft, mm."""
MPA = 1e-6
LABELS = {"shaft": "bars", "pin": "crank pins"}
"""What members are called in the legend, by how their names begin."""


@dataclass(frozen=True)
class _Rows:
    """A quantity at both ends of each member: its words, values (n, m, 2), and whether webs have it."""

    words: str
    values: Array
    webs: bool = True


def shaft_loads(loading: Loading, case: str) -> Figure:
    """Plot bending moment, torque and nominal stress along a crankshaft, from least to most over the instants.

    Parameters
    ----------
    loading : what acts on it.
    case : load case in words.
    """
    shape = loading.shape()
    members = shape.crank.frame.members
    loads = shape.end_loads
    rows = (
        _Rows("bending\nmoment [N m]", np.hypot(loads[..., 4], loads[..., 5])),
        _Rows("torque\n[N m]", loads[..., 3], webs=False),
        _Rows("nominal\nstress [MPa]", MPA * equivalent(members, loads)),
    )
    high = 31 + len(rows) * (TALL + 6) + 14
    figure = sheet(WIDE, high)
    ax: Axes = None
    for k, row in enumerate(rows):
        ax = axes(figure, (22, high - 25 - k * (TALL + 6) - TALL, WIDE - 28, TALL))
        _along(ax, shape, row)
        ax.set_ylabel(row.words, fontsize=TEXT, color=INK)
        _bearings(ax, loading.side, named=k == 0)
        if k + 1 < len(rows):
            ax.tick_params(labelbottom=False)
    material = loading.side.crank.material
    _, top = ax.get_ylim()
    limit = MPA * material.strength
    if limit < 2.5 * top:
        ax.axhline(limit, color=INK, linestyle=DASHES[3], linewidth=THIN)
        ax.set_ylim(0, max(top, 1.22 * limit))
        ax.text(1000 * loading.side.crank.ends[1], limit, f"{material.name} yields at {limit:.0f} MPa ", ha="right",
                va="bottom", fontsize=SMALL, color=INK)  # fmt: skip
    ax.set_xlabel("out from the post's axis [mm]", fontsize=TEXT, color=INK)
    legend(ax, loc="upper left", bbox_to_anchor=(0, -11 / TALL), ncols=3, borderaxespad=0)
    title = f"What the {loading.side.name} crankshaft carries along its length"
    caption(figure, 4, high - 8, title, fontsize=TITLE)
    words = f"{short(case, 48)}; least to most over the {_over(loading)}; no stress concentration"
    caption(figure, 4, high - 14, words, fontsize=SMALL)
    return figure


def _over(loading: Loading) -> str:
    return "turn" if loading.time is None else "run"


def _along(ax: Axes, shape: Bent, row: _Rows) -> None:
    """Draw a quantity along the bars and pins, and at the webs."""
    members, nodes = shape.crank.frame.members, shape.crank.frame.nodes
    least, most = row.values.min(axis=0), row.values.max(axis=0)
    for name, colour, hatch in (("shaft", BLUE, HATCHES[0]), ("pin", VERMILION, HATCHES[1])):
        for number, run in enumerate(_runs(members, name)):
            out = np.concatenate([1000 * nodes[[members[k].a, members[k].b], 1] for k in run])
            low, high = (np.concatenate([v[k] for k in run]) for v in (least, most))
            ax.fill_between(out, low, high, facecolor=colour, alpha=0.35, linewidth=0, hatch=hatch or None,
                            edgecolor="white", label=LABELS[name] if number == 0 else "")  # fmt: skip
            for values, dash in ((low, DASHES[1]), (high, DASHES[0])):
                ax.plot(out, values, color=colour, linestyle=dash, linewidth=THIN)
    webs = [k for k, m in enumerate(members) if "web" in m.name]
    for number, k in enumerate(webs if row.webs else ()):
        place = 1000 * nodes[members[k].a, 1]
        ax.plot([place, place], [least[k].min(), most[k].max()], color=INK, linewidth=FIRM, marker="_", markersize=6,
                linestyle=DASHES[2], label="webs, shaft to pin" if number == 0 else "")  # fmt: skip
    ax.axhline(0, color=INK, linewidth=FINE)
    low, high = shape.crank.side.crank.ends
    ax.set_xlim(1000 * low - 15, 1000 * high + 15)
    ax.margins(y=0.08)
    if float(least.min()) >= 0:
        ax.set_ylim(bottom=0)


def _runs(members: Sequence[Member], name: str) -> list[list[int]]:
    """Give members of a kind that follow each other end to end."""
    found: list[list[int]] = []
    for k, member in enumerate(members):
        if not member.name.startswith(name):
            continue
        if found and members[found[-1][-1]].b == member.a:
            found[-1].append(k)
        else:
            found.append([k])
    return found


def _bearings(ax: Axes, side: Side, *, named: bool) -> None:
    for number, station in enumerate(side.crank.stations, 1):
        ax.axvline(1000 * station.out, color=GREY, linestyle=DASHES[3], linewidth=FINE)
        if named:
            ax.annotate(f"bearing {number}", (1000 * station.out, 1.0), (0, 3), xycoords=("data", "axes fraction"),
                        textcoords="offset points", ha="center", va="bottom", fontsize=SMALL, color=INK)  # fmt: skip


# --- With and without a centre bearing ---


def centre_bearing(loading: Loading, case: str) -> Figure:
    """Plot the sideways deflection along a crankshaft without and with a centre bearing, side by side.

    Parameters
    ----------
    loading : what acts on it.
    case : load case in words.

    Raises
    ------
    ValueError
        When the shaft has no bar that a centre bearing would have room on.
    """
    found = centre(loading.side)
    if found is None:
        raise ValueError(f"the {loading.side.name} crankshaft has no bar with room for a centre bearing")
    tall, wide = 58.0, (WIDE - 34) / 2
    high = tall + 53
    figure = sheet(WIDE, high)
    pair = [axes(figure, (18 + k * (wide + 10), high - 31 - tall, wide, tall)) for k in (0, 1)]
    tops: list[float] = []
    words = ("without", found.words if len(found.stations) > 1 else f"with a {found.words}")
    for ax, side, said in zip(pair, (found.bare, found.given), words, strict=True):
        largest, top = _envelope(ax, loading.shape(side))
        tops.append(top)
        ax.set_title(f"{said}\nshaft {largest:.2g} mm at most", fontsize=TEXT, loc="left", color=INK)
        ax.set_xlabel("out from the post's axis [mm]", fontsize=TEXT, color=INK)
    for ax in pair:
        ax.set_ylim(-0.09 * max(tops), 1.15 * max(tops))
    pair[0].set_ylabel("sideways deflection [mm]", fontsize=TEXT, color=INK)
    pair[1].tick_params(labelleft=False)
    legend(pair[0], loc="upper left", bbox_to_anchor=(0, -13 / tall), ncols=4, borderaxespad=0)
    own = "as described" if found.described else "the description has none: one is tried"
    title = f"The {loading.side.name} crankshaft without and with a centre bearing"
    caption(figure, 4, high - 8, title, fontsize=TITLE)
    caption(
        figure,
        4,
        high - 14,
        f"{short(case, 48)}; least to most over the {_over(loading)}; {own}",
        fontsize=SMALL,
    )
    return figure


def _envelope(ax: Axes, shape: Bent) -> tuple[float, float]:
    """Draw the least and the most deflection along a shaft and at its pins; give the axis's largest and all's, mm."""
    out, size = sideways(shape)
    low, high = 1000 * size.min(axis=0), 1000 * size.max(axis=0)
    ax.fill_between(
        1000 * out, low, high, facecolor=BLUE, alpha=0.35, linewidth=0, label="shaft's axis, least to most"
    )
    ax.plot(1000 * out, high, color=BLUE, linewidth=FIRM)
    ax.plot(1000 * out, low, color=BLUE, linewidth=THIN, linestyle=DASHES[1])
    top = float(high.max())
    for number, panel in enumerate(shape.crank.side.panels):
        pin = 1000 * pin_sideways(shape, panel.name)
        place = 1000 * panel.throw_out
        ax.plot([place, place], [pin.min(), pin.max()], color=VERMILION, linewidth=FIRM, marker="_", markersize=8,
                label="crank pins" if number == 0 else "")  # fmt: skip
        ax.annotate(f"{pin.max():.2f}", (place, pin.max()), (0, 4), textcoords="offset points", ha="center",
                    va="bottom", fontsize=SMALL, color=INK, bbox=CLEAR)  # fmt: skip
        top = max(top, float(pin.max()))
    ax.axhline(0, color=INK, linewidth=FINE)
    for number, station in enumerate(shape.crank.side.crank.stations, 1):
        ax.plot([1000 * station.out], [0], "^", color=INK, markersize=6, markerfacecolor="white",
                markeredgewidth=THIN, label="bearings" if number == 1 else "", clip_on=False)  # fmt: skip
    return float(high.max()), top
