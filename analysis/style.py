"""How figures look, and how they are saved: one palette, one type size, the same bytes every time.

The palette is that of Okabe and Ito (Color Universal Design, 2002; memory), which stays apart for every
common kind of colour blindness; line styles and hatches go with it so that a grey print can be read too.
"""

import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any, cast

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

Axes = Any
"""Axes of a figure. Their own stubs leave keyword arguments untyped, so nothing better can be said."""

INK = "#1a1a1a"
GREY = "#767676"
PALE = "#c9c9c9"
PAPER = "#ffffff"
BLUE, VERMILION, GREEN = "#0072b2", "#d55e00", "#009e73"
AMBER, SKY, PURPLE = "#e69f00", "#56b4e9", "#aa4499"
SERIES = (BLUE, VERMILION, GREEN, PURPLE, AMBER, SKY)
DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (7, 2, 1.5, 2)), (0, (4, 1.5)), (0, (1, 1)))
HATCHES = ("", "////", "....", "xxxx", "\\\\\\\\", "++")
HAIR, FINE, THIN, FIRM, BOLD = 0.4, 0.6, 0.9, 1.5, 2.2
"""Line widths, pt."""
SMALL, TEXT, TITLE = 8.0, 9.0, 11.0
"""Type sizes, pt, at the printed size; nothing is smaller."""
CLEAR = {"facecolor": "#ffffff", "edgecolor": "none", "pad": 0.8}
"""Paper behind a text that lies on lines."""
INCH = 25.4
"""mm."""


def sheet(width: float, height: float, dpi: float = 150) -> Figure:
    """Give an empty white sheet of so many millimetres, with a canvas that can measure its texts."""
    # Measured at the resolution that is saved: the library then lays out each text once.
    figure = Figure(figsize=(width / INCH, height / INCH), facecolor=PAPER, dpi=dpi)
    FigureCanvasAgg(figure)
    return figure


def axes(figure: Figure, place: tuple[float, float, float, float], **kwargs: Any) -> Axes:
    """Add quiet axes: left and bottom spine, light grid, small type.

    Parameters
    ----------
    figure : the sheet.
    place : left, bottom, width and height in mm from the sheet's lower left corner.
    kwargs : for `Figure.add_axes`.
    """
    ax = bare(figure, place, **kwargs)
    quiet(ax)
    return ax


def bare(figure: Figure, place: tuple[float, float, float, float], **kwargs: Any) -> Axes:
    """Add axes at a place in mm without any styling."""
    width, height = figure.get_size_inches() * INCH
    left, bottom, wide, high = place
    rect = (left / width, bottom / height, wide / width, high / height)
    return cast("Any", figure).add_axes(rect, **kwargs)


def caption(figure: Figure, x: float, y: float, text: str, **kwargs: Any) -> None:
    """Write on the sheet at a place in mm from its lower left corner."""
    width, height = figure.get_size_inches() * INCH
    cast("Any", figure).text(x / width, y / height, text, **{"color": INK, **kwargs})


def quiet(ax: Axes) -> None:
    """Quieten axes: no box, light grid, small type."""
    ax.tick_params(labelsize=SMALL, colors=INK, width=FINE, length=3)
    ax.grid(visible=True, color=PALE, linewidth=HAIR)
    ax.set_axisbelow(True)
    for name, spine in ax.spines.items():
        spine.set_visible(name in {"left", "bottom", "polar"})
        spine.set_color(GREY)
        spine.set_linewidth(FINE)


def words(ax: Axes, title: str, x: str, y: str) -> None:
    """Title axes and their directions."""
    ax.set_title(title, fontsize=TITLE, loc="left", color=INK, pad=10)
    ax.set_xlabel(x, fontsize=TEXT, color=INK)
    ax.set_ylabel(y, fontsize=TEXT, color=INK)


def legend(ax: Axes, **kwargs: Any) -> None:
    """Add a legend without a frame."""
    box = ax.legend(fontsize=SMALL, frameon=False, handlelength=3.2, **kwargs)
    for text in box.get_texts():
        text.set_color(INK)


def crank_axis(ax: Axes, *, label: bool = True) -> None:
    """Make the x axis a turn of the crank in degrees."""
    ax.set_xlim(0, 360)
    ax.set_xticks(range(0, 361, 45))
    if label:
        ax.set_xlabel("crank angle [deg]; 0: a throw of angle 0 straight up", fontsize=TEXT, color=INK)


def save(figure: Figure, stem: Path, formats: Sequence[str] = ("svg", "png")) -> list[Path]:
    """Write a figure, by default as SVG and PNG; the same figure gives the same bytes.

    Parameters
    ----------
    figure : what.
    stem : path without ending; its folder is made.
    formats : endings.

    Returns
    -------
    The paths, in the order of the formats.
    """
    stem.parent.mkdir(parents=True, exist_ok=True)
    write = cast("Any", figure).savefig
    found: list[Path] = []
    # The salt and the missing date keep a rebuilt report free of differences that mean nothing.
    settings = {"svg.hashsalt": "wingwright", "svg.fonttype": "path"}
    with warnings.catch_warnings(), cast("Any", mpl).rc_context(settings):
        # A letter that the font lacks is drawn as a box; the picture says so by itself.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        for ending in formats:
            path = stem.with_name(f"{stem.name}.{ending}")
            if ending == "png":
                write(path, format=ending, metadata={"Software": None}, pil_kwargs={"compress_level": 1})
            else:
                write(path, format=ending, metadata={"Date": None, "Creator": None})
            found.append(path)
    return found
