"""Figures of what swings: the drive line's mode shapes, and natural frequencies against what excites them."""

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, StrMethodFormatter

from analysis.drawing.sheet import short
from analysis.excitation import GUST_MOST, Excitation
from analysis.figures.motion import WIDE
from analysis.natural import TORSIONAL, TWO_PI, Natural, hertz
from analysis.resonance import RPM, Meeting, Range, meetings
from analysis.style import (
    AMBER,
    BLUE,
    BOLD,
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREEN,
    GREY,
    INK,
    PURPLE,
    SKY,
    SMALL,
    TEXT,
    THIN,
    TITLE,
    VERMILION,
    Axes,
    axes,
    bare,
    caption,
    legend,
    sheet,
)
from sim.builders import Linkage
from sim.vibration.drive_line import DriveModes, drive_modes

ROW = 30.0
"""Height of a mode's axes, mm."""
LABEL = 3.6
"""Least distance of two labels beside each other, mm."""
KINDS = {"torsion": BLUE, "strand": GREEN, "lateral": PURPLE, "sway": VERMILION}
CALLED = {
    "torsion": "drive line in torsion",
    "strand": "strands",
    "lateral": "shafts, sideways",
    "sway": "post",
}
SIDES = ((BLUE, DASHES[0], "o"), (VERMILION, DASHES[1], "s"))
"""Colour, dash and mark of the way to each side."""


def mode_shapes(closed: Linkage) -> Figure:
    """Draw the slowest elastic modes of the drive line along it, every rotor's angle referred to the crank.

    Parameters
    ----------
    closed : the sculpture.
    """
    found = drive_modes(closed)
    count = min(TORSIONAL, len(found.modes.elastic))
    below, step = 36.0, ROW + 10
    figure = sheet(WIDE, below + step * count + 12)
    caption(figure, 4, below + step * count + 6, "Modes of the drive line in torsion", fontsize=TITLE)
    caption(figure, 4, below + step * count + 1, "angles of the rotors referred to the crank, the largest one 1",
            fontsize=SMALL)  # fmt: skip
    for mode in range(count):
        ax = axes(figure, (22, below + step * (count - 1 - mode), WIDE - 34, ROW))
        _shape(ax, found, mode, closed)
        if mode == count - 1:
            _rotors(ax, found)
        else:
            ax.set_xticklabels([])
    legend(figure.axes[0], loc="lower right", bbox_to_anchor=(1, 1 + 9 / ROW), ncols=2, borderaxespad=0)
    return figure


def _shape(ax: Axes, found: DriveModes, mode: int, closed: Linkage) -> None:
    shapes = [found.referred(mode, path) for path in found.built.paths]
    most = max((x for s in shapes for x in s), key=abs)
    for side, shape, (colour, dash, mark) in zip(closed.sides, shapes, SIDES, strict=False):
        ax.plot(shape / most, color=colour, linestyle=dash, linewidth=FIRM, marker=mark, markersize=4,
                label=f"to the {side.side.name} wing")  # fmt: skip
    ax.axhline(0, color=INK, linewidth=FINE)
    ax.set_ylim(-1.15, 1.15)
    ax.set_yticks([-1, 0, 1])
    ax.set_xlim(-0.3, max(len(s) for s in shapes) - 0.7)
    ax.set_xticks(range(max(len(s) for s in shapes)))
    mean, low, high = (float(x[mode]) for x in (found.modes.elastic, found.least, found.greatest))
    words = f"mode {mode + 1}: {hertz(mean)} Hz"
    if high - low > 0.01 * mean:
        words += f", {hertz(low)} to {hertz(high)} Hz over the turn"
    ax.set_title(words, fontsize=TEXT, loc="left", color=INK, pad=4)
    ax.set_ylabel("angle", fontsize=TEXT, color=INK)


def _rotors(ax: Axes, found: DriveModes) -> None:
    """Name the rotors below the lowest axes, without the side, which the lines say."""
    sides = [path[-1].split(" ", 1)[0] for path in found.built.paths]
    path = found.built.paths[0]
    said = [short(_plain(name, sides[0]), 26) for name in path]
    ax.set_xticks(range(len(path)), said, rotation=35, ha="right", rotation_mode="anchor")
    ax.set_xlabel("")


def _plain(name: str, side: str) -> str:
    return name.replace(f"{side} ", "")


def speeds_and_frequencies(
    closed: Linkage, speeds: Range, tensions: dict[int, tuple[float, float]] | None = None
) -> Figure:
    """Draw natural frequencies and what excites them against the wheel's speed, both axes logarithmic.

    Dots stand where a mean is met at speeds in use, thick lines where a frequency is that changes over the turn, whose
    ranges are the bars on the right. What is so fast that nothing reaches it is left out and counted.

    Parameters
    ----------
    closed : the sculpture.
    speeds : in use, and the fastest at all.
    tensions : by stage, the least and the greatest tension of a strand, N, as runs have it.
    """
    every = meetings(closed, speeds, tensions)
    everything = list(dict.fromkeys(m.natural for m in every))
    slowest, fastest = speeds.slowest * 0.7, speeds.fastest * 1.3
    orders = [m.excitation.order for m in every if m.excitation.order > 0]
    slow = min(n.greatest for n in everything)
    high = max(3 * max(orders) * speeds.fastest, 1.6 * slow) / TWO_PI
    drawn = [n for n in everything if n.least / TWO_PI < high]
    met = [m for m in every if m.natural in drawn and m.excitation.order > 0]
    acting = list(dict.fromkeys(m.excitation for m in met))
    low = 0.7 * min(e.order for e in acting) * slowest / TWO_PI
    figure = sheet(WIDE, 132)
    place = (16, 34, 96, 88)
    ax = axes(figure, place)
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xlim(slowest * RPM, fastest * RPM)
    ax.set_ylim(low, high)
    _speeds(ax, speeds)
    ax.axhspan(low, GUST_MOST / TWO_PI, facecolor="none", edgecolor=SKY, hatch="....", linewidth=0, alpha=0.6,
               zorder=0.4, label="gusts, below 1 Hz")  # fmt: skip
    for e in acting:
        at = np.array([slowest, fastest])
        ax.plot(at * RPM, e.order * at / TWO_PI, color=GREY, linewidth=THIN, zorder=1.8)
    for kind, colour in KINDS.items():
        for k, n in enumerate(x for x in drawn if x.kind == kind):
            ax.axhline(
                n.mean / TWO_PI, color=colour, linewidth=THIN, zorder=2.0, label="" if k else CALLED[kind]
            )
    if any(n.swept for n in drawn):
        ax.plot([], [], color=GREY, linewidth=BOLD, alpha=0.6, label="range over a turn")
    _name_lines(ax, acting, place, (slowest, fastest))
    _meet(ax, [m for m in met if m.where == "in use"], speeds)
    _name_bands(figure, drawn, place, (low, high))
    _titles(ax, len(everything) - len(drawn), high)
    return figure


def _speeds(ax: Axes, speeds: Range) -> None:
    ax.axvspan(speeds.slowest * RPM, speeds.quickest * RPM, color=AMBER, alpha=0.18, linewidth=0, zorder=0.3,
               label="speeds at which people turn it")  # fmt: skip
    if speeds.fastest > 1.001 * speeds.quickest:
        ax.axvline(speeds.fastest * RPM, color=INK, linestyle=DASHES[2], linewidth=THIN, zorder=1.5,
                   label="fastest after letting go")  # fmt: skip


def _meet(ax: Axes, met: Sequence[Meeting], speeds: Range) -> None:
    """Mark where natural frequencies are met at speeds in use: their means, and where they sweep."""
    dots: list[tuple[float, float]] = []
    for m in met:
        order, n = m.excitation.order, m.natural
        if n.swept:
            ends = np.clip(np.array([m.first, m.last]), speeds.slowest, speeds.quickest)
            ax.plot(
                ends * RPM, order * ends / TWO_PI, color=KINDS[n.kind], linewidth=BOLD, alpha=0.6, zorder=2.2
            )
        if speeds.slowest <= n.mean / order <= speeds.quickest:
            dots.append((n.mean / order * RPM, n.mean / TWO_PI))
    if dots:
        ax.plot(
            *zip(*dots, strict=True),
            "o",
            color=INK,
            markersize=4,
            linestyle="none",
            zorder=3,
            label="met in use",
        )


def _name_lines(
    ax: Axes,
    acting: Sequence[Excitation],
    place: tuple[float, float, float, float],
    ends: tuple[float, float],
) -> None:
    """Write each excitation on its line, along it and one further right than the next, so that none covers another."""
    _, _, wide, tall = place
    bottom, top = ax.get_ylim()
    per_x, per_y = wide / np.log(ends[1] / ends[0]), tall / np.log(top / bottom)
    slope = float(np.degrees(np.arctan2(per_y, per_x)))
    last, across = -np.inf, 0.0
    for e in sorted(acting, key=lambda e: e.order):
        up = per_y * float(np.log(e.order))
        across = 0.0 if up - last > 1.4 * LABEL else across + 26
        last = up
        x = ends[0] * np.exp((3 + across) / per_x)
        ax.text(x * RPM, e.order * x / TWO_PI, _line_name(e), fontsize=SMALL, color=INK, rotation=slope,
                rotation_mode="anchor", ha="left", va="center", bbox=CLEAR, zorder=2.6)  # fmt: skip


def _line_name(e: Excitation) -> str:
    words = e.name.replace("tooth frequency of stage", "teeth, stage")
    for said, sign in (("once a turn of the ", "1 × "), ("twice a turn of the ", "2 × "),
                       ("three times a turn of the ", "3 × ")):  # fmt: skip
        words = words.replace(said, sign)
    return words


def _name_bands(
    figure: Figure,
    drawn: Sequence[Natural],
    place: tuple[float, float, float, float],
    ends: tuple[float, float],
) -> None:
    """Write what swings beside the axes, pushed apart where lines lie close, and draw the ranges of what sweeps."""
    left, below, wide, tall = place

    def height(frequency: float) -> float:
        up = np.log(frequency / TWO_PI / ends[0]) / np.log(ends[1] / ends[0])
        return tall * float(np.clip(up, 0, 1))

    ordered = sorted(drawn, key=lambda n: n.mean)
    swept = [n for n in ordered if n.swept]
    beyond = 2.2 * len(swept) + 1.5
    margin = bare(figure, (left + wide, below, WIDE - left - wide, tall))
    margin.set_xlim(0, WIDE - left - wide)
    margin.set_ylim(0, tall)
    margin.axis("off")
    for k, n in enumerate(swept):
        x = 2.2 * k + 1.5
        margin.plot(
            [x, x], [height(n.least), height(n.greatest)], color=KINDS[n.kind], linewidth=BOLD, alpha=0.6
        )
    wanted = [height(n.mean) for n in ordered]
    for n, y, said in zip(ordered, wanted, _apart(wanted, tall), strict=True):
        margin.plot(
            [0, beyond, beyond + 2.5, beyond + 3.5], [y, y, said, said], color=KINDS[n.kind], linewidth=FINE
        )
        name = n.name.replace("drive line, ", "torsion, ").replace("strands of the ", "strands, ")
        name = name.replace(", sideways", "")
        margin.text(beyond + 4, said, f"{short(name, 28)}  {hertz(n.mean)} Hz", fontsize=SMALL, va="center",
                    color=INK)  # fmt: skip


def _apart(wanted: Sequence[float], tall: float) -> list[float]:
    """Give heights near those wanted, rising, `LABEL` apart at least and inside 0 to `tall` where there is room."""
    found: list[float] = []
    for y in wanted:
        found.append(max(y, found[-1] + LABEL) if found else max(0.0, y))
    over = found[-1] - tall if found else 0.0
    if over > 0:
        found[-1] -= over
        for k in range(len(found) - 2, -1, -1):
            found[k] = min(found[k], found[k + 1] - LABEL)
    return found


def _titles(ax: Axes, left_out: int, high: float) -> None:
    ax.set_title("Natural frequencies and what excites them", fontsize=TITLE, loc="left", color=INK, pad=6)
    more = f"; {left_out} above {high:.0f} Hz not drawn" if left_out else ""
    ax.set_xlabel(f"speed of the wheel [rpm]{more}", fontsize=TEXT, color=INK)
    ax.set_ylabel("frequency [Hz]", fontsize=TEXT, color=INK)
    ax.xaxis.set_major_formatter(StrMethodFormatter("{x:g}"))
    ax.xaxis.set_minor_formatter(FuncFormatter(_between_powers))
    ax.yaxis.set_major_formatter(StrMethodFormatter("{x:g}"))
    ax.tick_params(which="minor", labelsize=SMALL, colors=INK, width=FINE, length=2)
    legend(ax, loc="upper left", bbox_to_anchor=(0, -0.14), ncols=3, borderaxespad=0)


def _between_powers(x: float, _: int) -> str:
    """Write 2, 3 and 5 times powers of ten."""
    return f"{x:g}" if f"{x:.0e}"[0] in "235" else ""
