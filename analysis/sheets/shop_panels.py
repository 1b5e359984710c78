"""The shop's tables of the panels: outlines, and lines of holes along their hinges."""

import math
from collections.abc import Iterator
from itertools import pairwise

from analysis.parts.choice import Table
from analysis.sheets.facts import Facts, size
from analysis.sheets.rims import hole_line
from analysis.sheets.shop_shaft import sides
from models.mechanism import Panel, Plate
from models.outline import Outline, moments
from models.shown import shown
from sim.mass import plate_mass

PANELS = "Panels"
CORNERS = "Corners of panel"
HOLES = "Hinge holes of panel"
ON_LINE = 1e-3
"""How far, m, an edge may lie off the hinge line and still be the hinge's: drawings are to a millimetre."""
MOST = 60
"""Corners beyond which an outline is an arc's chords, to be cut from its drawing."""
COUNTS = (3, 4, 5, 6, 8, 10)
"""Numbers of fasteners that are tabulated while a description says none: assumption."""
EDGE = "holes at least two diameters from every edge (common practice, no source)"


def each(facts: Facts) -> Iterator[tuple[str, Panel, str]]:
    """Give the panels to cut, each with what to call it and the panel that it hangs on, "" for the post."""
    own = sides(facts)
    for side in own:
        before = ""
        for p in side.panels:
            name = p.name if len(own) == 1 else f"{side.name} {p.name}"
            yield name, p, before
            before = name


def panel_table(facts: Facts) -> Table:
    """Give the panels' sizes, areas and masses."""
    rows: list[tuple[str, ...]] = []
    both = facts.loads.mirrored and len(facts.mechanism.sides) == 2
    for name, p, _ in each(facts):
        m = moments(p.plate.outline)
        chord, span = extent(p.plate.outline)
        rows.append(
            (
                name,
                "2, one turned over" if both else "1",
                f"{size(chord)} × {size(span)}",
                size(p.plate.thickness),
                shown(m.area, "area"),
                size(perimeter(p.plate.outline)),
                shown(plate_mass(p.plate).mass, "mass") + _how(p.plate),
            )
        )
    head = ("panel", "cut", "chord × span", "thickness", "area", "edge to cut", "mass")
    return Table(
        PANELS,
        (head, *rows),
        "Flat: the outline is the developed outline, nothing is bent. Area and mass from the outline's "
        "exact moments; holes for fasteners not taken off.",
    )


def _how(plate: Plate) -> str:
    return (", as given" if plate.mass is not None else "") + (
        ", with what is fixed to it" if plate.lumps else ""
    )


def extent(outline: Outline) -> tuple[float, float]:
    """Give how far an outline reaches along the hinge and across it, m."""
    along, out = zip(*outline.exterior, strict=True)
    return max(along) - min(along), max(out) - min(out)


def perimeter(outline: Outline) -> float:
    """Give the length of all edges, m, those of holes too."""
    rings = (outline.exterior, *outline.holes)
    return sum(math.dist(a, b) for ring in rings for a, b in pairwise((*ring, ring[0])))


def corner_table(name: str, p: Panel) -> Table:
    """Give a panel's corners, from its own hinge line."""
    ring = p.plate.outline.exterior
    head = ("corner", "along the hinge, forward", "out from the hinge line", "edge to the next corner")
    rows = [
        (str(k), size(x), size(y), size(math.dist((x, y), ring[k % len(ring)])))
        for k, (x, y) in enumerate(ring, 1)
    ]
    if len(ring) > MOST:
        rows = [(f"{len(ring)} corners", "cut from the drawing that the description names", "", "")]
    holes = (
        f" {len(p.plate.outline.holes)} holes are cut out of it as described."
        if p.plate.outline.holes
        else ""
    )
    return Table(
        f"{CORNERS} '{name}'",
        (head, *rows),
        f"Origin on the hinge line; source: description.{holes} Yoke pin: {size(p.yoke_out)} out, "
        f"{size(p.yoke_forward)} forward, {size(p.yoke_below)} below the middle of the plate.",
    )


def hinge_edge(outline: Outline) -> tuple[float, float] | None:
    """Give where an outline's longest edge along the hinge line begins and ends, m forward, or None."""
    ring = outline.exterior
    found = [
        (min(a[0], b[0]), max(a[0], b[0]))
        for a, b in pairwise((*ring, ring[0]))
        if abs(a[1]) <= ON_LINE and abs(b[1]) <= ON_LINE and a[0] != b[0]
    ]
    return max(found, key=lambda e: e[1] - e[0], default=None)


def hole_table(name: str, p: Panel, before: str) -> Table:
    """Give the lines of holes along a panel's hinge, for several numbers of fasteners.

    Parameters
    ----------
    name, p, before : as `each` gives them.
    """
    title = f"{HOLES} '{name}'"
    edge = hinge_edge(p.plate.outline)
    if edge is None:
        row = ("no edge lies on the hinge line", "place the holes by hand", "")
        return Table(title, (_head(p, ""), row))
    return Table(title, (_head(p, before), *_lines(p, edge, before)), _note(edge))


def _head(p: Panel, before: str) -> tuple[str, ...]:
    own = ("fasteners", "pitch; first hole from the end", "holes, forward from the hinge line's origin")
    return (*own, f"the same on panel '{before}', {size(p.hinge_out)} out on it") if before else own


def _lines(p: Panel, edge: tuple[float, float], before: str) -> Iterator[tuple[str, ...]]:
    low, high = edge
    for count in COUNTS:
        at = hole_line(high - low, count)
        own = (str(count), f"{size((high - low) / count)}; {size(at[0])}", _millimetres(low, at))
        yield (*own, _millimetres(low + p.hinge_forward, at)) if before else own


def _millimetres(start: float, places: tuple[float, ...]) -> str:
    words = (f"{1e3 * (start + x):.1f}" for x in places)
    return ", ".join("0.0" if x == "-0.0" else x.replace("-", "−") for x in words) + " mm"


def _note(edge: tuple[float, float]) -> str:
    return (
        f"Hinge edge {size(edge[1] - edge[0])}. The description says no number of fasteners: choose one by "
        "what the hinge carries. Every fastener holds the same length of hinge, so the end holes are half "
        f"a pitch from the ends (assumption); {EDGE}. Across the edge the hinge leaf's own pattern holds."
    )
