"""What a wheel and counterweights do to a piece that kicks: the README's figure.

Usage: python -m analysis.figures.tamed [STEM]

Draws STEM.png, models/pictures/tamed.png where none is named.
"""

import sys
import tempfile
from importlib.resources import files
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from analysis.figures.motion import WIDE, rim_speed
from analysis.handle import RIM_LIMITS
from analysis.questions import closed
from analysis.style import (
    BLUE,
    CLEAR,
    DASHES,
    FINE,
    FIRM,
    GREY,
    INK,
    SMALL,
    TEXT,
    THIN,
    VERMILION,
    Axes,
    axes,
    caption,
    crank_axis,
    legend,
    save,
    sheet,
)
from models.loading import changed, load
from models.sculpture import Sculpture
from sim.builders import Linkage
from sim.run import Run
from sim.scenarios import LetGo
from sim.simulate import simulate
from sim.whole import holding_torque, potential_energy

PAST = 0.3
"""Crank angle past the highest pose, rad, at which the moth is let go at rest."""
SHOWN = 4.0
"""Seconds after letting go that are drawn."""
TURN = np.linspace(0, 2 * np.pi, 721)
PICTURE = Path("models/pictures/tamed")


def with_disc(handled: Sculpture, wheeled: Sculpture) -> Sculpture:
    """Give a sculpture with another's wheel, at its own height."""
    own, other = handled.source.document["wheel"], wheeled.source.document["wheel"]
    return changed(handled, {"wheel": {**other, "height": own["height"]}})


def fallen(sculpture: Sculpture, runs: Path) -> Run:
    """Let a piece go at rest a little past its highest pose."""
    highest = float(TURN[int(np.argmax(potential_energy(closed(sculpture), TURN)))])
    return simulate(sculpture, LetGo(0.0, highest + PAST), runs=runs, check=False)


def tamed(handle: Linkage, disc: Linkage, gone: tuple[Run, Run], demo: Linkage, bare: Linkage) -> Figure:
    """Plot the kick, the speed after letting go and the torque, each with what tames it.

    Parameters
    ----------
    handle, disc : a piece with a handle and with a disc wheel.
    gone : the same, let go at rest a little past the highest pose.
    demo, bare : a piece with its counterweights and without.
    """
    figure = sheet(WIDE, 80)
    wide, high = 42.0, 36.0
    places = ((16, 27, wide, high), (73, 27, wide, high), (131, 27, wide, high))
    kick, speed, torque = (axes(figure, place) for place in places)
    names = ("handle of {:.0f} mm", "disc of {:.0f} mm")
    for closed_, colour, dash, name in zip((handle, disc), (VERMILION, BLUE), DASHES, names, strict=False):
        radius = closed_.mechanism.wheel.radius
        kick.plot(np.degrees(TURN), holding_torque(closed_, TURN) / radius, color=colour, linestyle=dash,
                  linewidth=FIRM, label=name.format(1000 * radius * (2 if closed_ is disc else 1)))  # fmt: skip
    for run, colour, dash in zip(gone, (VERMILION, BLUE), DASHES, strict=False):
        shown = run.time <= SHOWN
        size = np.abs(rim_speed(run))
        speed.plot(run.time[shown], size[shown], color=colour, linestyle=dash, linewidth=FIRM)
        k = int(np.argmax(size))
        speed.annotate(f"{size[k]:.1f} m/s", (run.time[k], size[k]), (4, 3), textcoords="offset points",
                       fontsize=SMALL, color=INK, bbox=CLEAR)  # fmt: skip
    word, limit, _ = RIM_LIMITS[0]
    speed.axhline(limit, color=GREY, linestyle=DASHES[2], linewidth=THIN, label=f"{word}, play equipment")
    for closed_, colour, dash, name in zip(
        (bare, demo), (VERMILION, BLUE), DASHES, ("without", "with its counterweights"), strict=False
    ):
        torque.plot(np.degrees(TURN), holding_torque(closed_, TURN), color=colour, linestyle=dash,
                    linewidth=FIRM, label=name)  # fmt: skip
    _words(kick, "Moth: force at rim or grip\nthat holds it [N]")
    _words(speed, "Moth: speed of rim or grip\nafter letting go at the top [m/s]")
    _words(torque, "Manta: torque at the wheel\nthat holds it [N m]")
    for ax in (kick, torque):
        ax.axhline(0, color=INK, linewidth=FINE)
        crank_axis(ax, label=False)
        ax.set_xticks(range(0, 361, 90))
        ax.set_xlabel("crank angle [deg]", fontsize=TEXT, color=INK)
    speed.set_xlim(0, SHOWN)
    speed.set_ylim(0, 1.2 * max(float(np.abs(rim_speed(run)).max()) for run in gone))
    speed.set_xlabel("time [s]", fontsize=TEXT, color=INK)
    for ax in (kick, speed, torque):
        legend(ax, loc="upper left", bbox_to_anchor=(-0.1, -0.32), borderaxespad=0)
    caption(figure, 16, 3, "Below zero the wings drive the hand: that is the kick.", fontsize=SMALL)
    return figure


def _words(ax: Axes, title: str) -> None:
    ax.set_title(title, fontsize=TEXT, loc="left", color=INK, pad=8)


def draw(stem: Path) -> Path:
    """Make the runs and the figure; give its file."""
    models = Path(str(files("models")))
    moth, manta = (load(models / f"{name}.toml") for name in ("moth", "manta"))
    wheeled = with_disc(moth, manta)
    bare = changed(manta, {"crank.counterweight": []})
    with tempfile.TemporaryDirectory() as folder:
        gone = (fallen(moth, Path(folder)), fallen(wheeled, Path(folder)))
    figure = tamed(closed(moth), closed(wheeled), gone, closed(manta), closed(bare))
    return save(figure, stem, ("png",))[0]


if __name__ == "__main__":
    print(draw(Path(sys.argv[1]) if len(sys.argv) > 1 else PICTURE))
