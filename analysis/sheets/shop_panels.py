"""The shop's tables of the panels: outlines, and lines of holes along their hinges."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from analysis.parts.choice import Table
from analysis.parts.hinge_lines import HingeLine, hinge_lines
from analysis.parts.hinges import BOLT
from analysis.sheets.facts import Facts, size
from analysis.sheets.shop_shaft import sides
from models.mechanism import Panel, Plate
from models.outline import Outline, moments
from models.shown import shown
from sim.mass import plate_mass

PANELS = "Panels"
CORNERS = "Corners of panel"
HOLES = "Hinge holes of panel"
MOST = 60
"""Corners beyond which an outline is an arc's chords, to be cut from its drawing."""
EDGE = "holes at least two diameters from every edge (common practice, no source)"


def each(facts: Facts) -> Iterator[tuple[str, HingeLine, str]]:
    """Give the panels to cut by their hinge lines, each with what to call it and what it hangs on, "" for the post."""
    own = sides(facts)
    for side in own:
        before = ""
        for hinge in hinge_lines(facts.mechanism, side):
            name = hinge.panel.name if len(own) == 1 else f"{side.name} {hinge.panel.name}"
            yield name, hinge, before
            before = name


def panel_table(facts: Facts) -> Table:
    """Give the panels' sizes, areas and masses."""
    rows: list[tuple[str, ...]] = []
    both = facts.loads.mirrored and len(facts.mechanism.sides) == 2
    for name, hinge, _ in each(facts):
        p = hinge.panel
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


def hole_table(facts: Facts, name: str, hinge: HingeLine, before: str) -> Table:
    """Give the holes for a hinge's leaves on its panel, and on the panel that it hangs on: those the schedule judges.

    Parameters
    ----------
    facts : with the hinges as described or by default.
    name, hinge, before : as `each` gives them.
    """
    h, p = facts.mechanism.hinges, hinge.panel
    rows_out = sorted({away for _, away in h.pattern})
    along = sorted({x for x, _ in h.pattern})
    head = ("group", "its middle, forward", "holes of each row, forward", *(
        (f"the same on panel '{before}'",) if before else ()))  # fmt: skip
    rows = [
        (str(k), size(middle), _millimetres(middle, along),
         *((_millimetres(middle + p.hinge_forward, along),) if before else ()))
        for k, middle in enumerate(np.linspace(*hinge.places, h.count), 1)
    ]  # fmt: skip
    return Table(f"{HOLES} '{name}'", (head, *rows), _note(facts, hinge, rows_out, before))


def _millimetres(start: float, places: Sequence[float]) -> str:
    words = (f"{1e3 * (start + x):.1f}" for x in places)
    return ", ".join("0.0" if x == "-0.0" else x.replace("-", "−") for x in words) + " mm"


def _note(facts: Facts, hinge: HingeLine, rows_out: Sequence[float], before: str) -> str:
    p = hinge.panel
    words = [
        f"Two rows, {' and '.join(size(x) for x in rows_out)} out from the hinge line: the leaf, its bolts and its "
        "groups are those of [hinges], as described or assumed (see what is assumed)"
    ]
    if before:
        there = " and ".join(size(p.hinge_out - x) for x in rows_out)
        words.append(
            f"on panel '{before}' the hinge line lies {size(p.hinge_out)} out, and the rows {there} out"
        )
    bolts = [x for x in facts.schedule.of(BOLT) if x.where in (hinge.joint, f"{p.name} hinge") and x.chosen]
    if bolts:
        words.append(
            "bolts: " + " or ".join(x.chosen.size for x in bolts if x.chosen) + ", by the parts schedule"
        )
    if hinge.edge is None:
        words.append("no edge of this outline lies on the hinge line: look where the leaves can go")
    return "; ".join([*words, EDGE]) + "."
