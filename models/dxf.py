"""Plate outlines from DXF drawings.

Every closed line of the modelspace is a loop: the largest bounds the plate, the others are its holes.
Arcs, circles and bulges become chords of at most 0.01 mm error that enclose the same area as the arc
(`models.outline.arc`). Ellipses and splines become chords between points on the curve, also within 0.01 mm:
on a bulging edge at most (2/3) 0.01 mm of area per length is lost, 7 mm2 on a metre.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from models.loops import FARTHEST, DrawingUnit, Line, closed_loops, nested
from models.outline import Outline, OutlineError, Point, arc, circle, outline
from models.units import UnitError, size_of

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_LARGEST_FILE = 10_000_000
# A drawing of repeated blocks can unfold without end; no plate has so many edges.
_MOST_ENTITIES = 50_000
_DEEPEST_BLOCK = 16

# Group code 70 of $INSUNITS (DXF Reference, HEADER section; memory). Sizes in m; the survey foot is
# 1200/3937 m (NIST Special Publication 811, appendix B.6).
_FILE_UNITS = {
    1: ("in", Fraction("0.0254")),
    2: ("ft", Fraction("0.3048")),
    3: ("mi", Fraction("1609.344")),
    4: ("mm", Fraction(1, 10**3)),
    5: ("cm", Fraction(1, 100)),
    6: ("m", Fraction(1)),
    7: ("km", Fraction(1000)),
    8: ("microinch", Fraction("0.0254") / 10**6),
    9: ("thou", Fraction("0.0254") / 1000),
    10: ("yd", Fraction("0.9144")),
    11: ("angstrom", Fraction(1, 10**10)),
    12: ("nm", Fraction(1, 10**9)),
    13: ("um", Fraction(1, 10**6)),
    14: ("dm", Fraction(1, 10)),
    15: ("dam", Fraction(10)),
    16: ("hm", Fraction(100)),
    21: ("US survey foot", Fraction(1200, 3937)),
    22: ("US survey inch", Fraction(100, 3937)),
    23: ("US survey yard", Fraction(3600, 3937)),
}
_ASTRONOMICAL = range(17, 21)

_NOT_AN_EDGE = {
    *("TEXT", "MTEXT", "ATTRIB", "ATTDEF", "RTEXT", "ARCALIGNEDTEXT", "ACAD_TABLE", "TOLERANCE"),
    *("DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MULTILEADER", "MLEADER"),
    *("HATCH", "MPOLYGON", "POINT", "RAY", "XLINE", "VIEWPORT", "IMAGE", "WIPEOUT", "LIGHT", "SUN"),
    *("OLEFRAME", "OLE2FRAME", "PDFUNDERLAY", "DGNUNDERLAY", "DWFUNDERLAY", "GEOPOSITIONMARKER"),
}
_EDGES = "LWPOLYLINE, POLYLINE, LINE, ARC, CIRCLE, ELLIPSE or SPLINE"


def read_outline(path: Path, unit: str | None = None) -> Outline:
    """Return the outline a DXF drawing shows in its modelspace.

    Lines that are hidden (layer off or frozen, or the entity invisible), texts, dimensions, hatches and
    points are not read; blocks are. Edges need not be drawn in order; ends within 0.01 mm are joined.

    Parameters
    ----------
    path : Path
        The drawing, text or binary DXF of at most 10 MB.
    unit : str, optional
        Unit of its numbers, "mm" for instance. Needed if the drawing does not say ($INSUNITS).

    Returns
    -------
    Outline
        In m.

    Raises
    ------
    OutlineError
        If there is no such drawing, it cannot be read, its unit is unknown or contradicts `unit`, a line is
        left open, crosses another or branches, or there is not exactly one plate.
    """
    try:
        return _outline(path, unit)
    except OutlineError as fault:
        raise OutlineError(f"drawing {path.name!r}: {fault.what}", fault.instead) from None


def _outline(path: Path, stated: str | None) -> Outline:
    drawing = _drawing(path)
    unit = _unit(drawing, stated)
    try:
        lines = list(_lines(drawing, unit))
    except OutlineError:
        raise
    except Exception as fault:  # the reader's curves raise many kinds on malformed entities
        raise _unreadable(fault, path) from fault
    if not lines:
        raise OutlineError(
            "it shows no lines in its modelspace", f"draw the plate's edge as {_EDGES} on a visible layer"
        )
    exterior, holes = nested(closed_loops(lines, unit), unit)
    return outline(_metres(exterior, unit), [_metres(hole, unit) for hole in holes])


def _drawing(path: Path) -> Drawing:
    """Return the drawing in a file, or refuse the file."""
    try:
        if path.is_dir():
            raise OutlineError("it is a folder", "name the DXF file in it")
        if not path.is_file():
            raise OutlineError(
                f"there is no file {str(path)!r}", "check the name; it counts from the description"
            )
        size = path.stat().st_size
        with path.open("rb") as file:
            beginning = file.read(6)
    except OSError as fault:
        raise OutlineError(f"it cannot be opened ({fault.strerror})", "make it a readable file") from fault
    if size > _LARGEST_FILE:
        raise OutlineError(
            f"it has {size / 1e6:.1f} MB, more than the {_LARGEST_FILE / 1e6:g} MB read",
            "export the plate's edge alone",
        )
    if beginning[:4] == b"AC10":
        raise OutlineError("it is a DWG file", "export it as DXF")

    # Slow, and needed only where a description names a drawing. Its annotation leaves PathLike open.
    from ezdxf.filemanagement import readfile  # pyright: ignore[reportUnknownVariableType]

    try:
        return readfile(path)
    except Exception as fault:  # rubbish makes it raise almost anything
        raise _unreadable(fault, path) from fault


def _unreadable(fault: Exception, path: Path) -> OutlineError:
    reason = " ".join(str(fault).replace(str(path), path.name).split())[:120] or type(fault).__name__
    return OutlineError(
        f"it is not a DXF drawing, or damaged ({reason})", "export it again as DXF 2000 or later"
    )


def _unit(drawing: Drawing, stated: str | None) -> DrawingUnit:
    """Return the unit of the drawing, from itself and from the description."""
    code = cast("object", drawing.header.get("$INSUNITS", 0))
    own = _FILE_UNITS.get(code) if isinstance(code, int) else None
    if own is None and code in _ASTRONOMICAL:
        raise OutlineError(f"its unit is astronomical ($INSUNITS = {code})", "set the drawing's unit to mm")
    if stated is None:
        if own is None:
            raise OutlineError("it does not say its unit", 'state it beside the file: unit = "mm"')
        return DrawingUnit(*own)
    try:
        size = size_of(stated, "length")
    except UnitError as fault:
        raise OutlineError(
            f"the unit stated for it is wrong: {fault.what}", 'write unit = "mm", or "in"'
        ) from None
    if own is not None and own[1] != size:
        raise OutlineError(
            f"its own unit is {own[0]} ($INSUNITS = {code}), but {stated!r} is stated",
            "leave the stated unit out, or correct the drawing's",
        )
    return DrawingUnit(stated.strip(), size)


def _metres(points: Iterable[Point], unit: DrawingUnit) -> Line:
    """Return points in m, rounded once, so that 7 drawn in mm is the float of "7 mm"."""
    return [(float(Fraction(x) * unit.size), float(Fraction(y) * unit.size)) for x, y in points]


def _lines(drawing: Drawing, unit: DrawingUnit) -> Iterator[Line]:
    """Yield each visible edge as points in the drawing's unit; a closed one ends where it begins."""
    hidden = {layer.dxf.name.casefold() for layer in drawing.layers if layer.is_off() or layer.is_frozen()}
    unknown: set[str] = set()
    for count, entity in enumerate(_unfolded(drawing.modelspace(), hidden, 0)):
        if count > _MOST_ENTITIES:
            raise OutlineError(f"it has more than {_MOST_ENTITIES} entities", "export the plate's edge alone")
        kind: str = entity.dxftype()
        if kind in _NOT_AN_EDGE or kind == "INSERT":
            continue
        points = _points(entity, kind, unit)
        if points is None:
            unknown.add(kind)
        elif max(math.dist(points[0], point) for point in points) > unit.tolerance:
            yield points
    if unknown:
        raise OutlineError(
            f"it shows {', '.join(sorted(unknown))}, which cannot be read as an edge",
            f"redraw as {_EDGES}, or hide the layer",
        )


def _unfolded(entities: Iterable[Any], hidden: set[str], depth: int) -> Iterator[Any]:
    """Yield visible entities and those of blocks in place of their references.

    References are yielded too, so that whoever counts also counts empty ones.
    """
    if depth > _DEEPEST_BLOCK:
        raise OutlineError(f"blocks are nested more than {_DEEPEST_BLOCK} deep", "explode the blocks")
    for entity in entities:
        if entity.dxf.layer.casefold() in hidden or entity.dxf.get("invisible", 0):
            continue
        yield entity
        if entity.dxftype() != "INSERT":
            continue
        if entity.block() is None:
            raise OutlineError(
                f"block {entity.dxf.get('name', '')!r} is missing", "explode the blocks and save it"
            )
        if entity.mcount > 1:
            yield from _unfolded(entity.multi_insert(), hidden, depth + 1)
        else:
            yield from _unfolded(entity.virtual_entities(), hidden, depth + 1)


def _points(entity: Any, kind: str, unit: DrawingUnit) -> Line | None:
    """Return the points along an entity, or None if it is of a kind that is no edge."""
    dxf = entity.dxf
    if kind == "LINE":
        return _flat([dxf.start, dxf.end], kind, unit)
    if kind in ("CIRCLE", "ARC"):
        return _round(entity, kind, unit)
    if kind == "LWPOLYLINE":
        corners = entity.get_points("xyb")
        return _bulged(corners, bool(entity.closed), _seen_from_below(entity, kind), unit)
    if kind == "POLYLINE" and entity.is_2d_polyline:
        # Flag 16 marks the frame of a fitted curve, whose own points follow as vertices without it.
        drawn = [vertex.dxf for vertex in entity.vertices if not vertex.dxf.flags & 16]
        corners = [(vertex.location.x, vertex.location.y, vertex.get("bulge", 0.0)) for vertex in drawn]
        return _bulged(corners, bool(entity.is_closed), _seen_from_below(entity, kind), unit)
    if kind == "POLYLINE" and entity.is_3d_polyline:
        points = list(entity.points())
        return _flat(points + points[:1] if entity.is_closed else points, kind, unit)
    if kind == "ELLIPSE":
        _near([dxf.center, dxf.center + dxf.major_axis], kind, unit)
        return _flat(entity.flattening(unit.tolerance), kind, unit)
    if kind == "SPLINE":
        _near([*entity.control_points, *entity.fit_points], kind, unit)
        return _flat(entity.flattening(unit.tolerance), kind, unit)
    return None


def _flat(points: Iterable[Any], kind: str, unit: DrawingUnit) -> Line:
    """Return points of space without their height, which has to be the same for all."""
    spatial = [(float(x), float(y), float(z)) for x, y, z in points]
    _near(spatial, kind, unit)
    heights = [z for _, _, z in spatial]
    if max(heights) - min(heights) > unit.tolerance:
        raise OutlineError(
            f"one {kind} at {unit.at(spatial[0][:2])} rises out of the plane",
            "draw the plate flat in x and y",
        )
    return [(x, y) for x, y, _ in spatial]


def _near(points: Iterable[Iterable[float]], kind: str, unit: DrawingUnit) -> None:
    """Refuse points that no plate has, before a curve through them unfolds into millions."""
    empty = True
    for point in points:
        empty = False
        if not all(abs(coordinate) <= unit.farthest for coordinate in point):
            raise OutlineError(
                f"one {kind} has a point that is not a number or farther off than {FARTHEST:g} m",
                f"check the drawing and its unit ({unit.name})",
            )
    if empty:
        raise OutlineError(f"one {kind} has no points", "delete it")


def _seen_from_below(entity: Any, kind: str) -> bool:
    """Say whether an entity's own plane looks down, so that its x runs backwards (DXF Reference, OCS)."""
    normal = entity.dxf.extrusion
    # The plane's normal is a direction; a mirrored block leaves roundings in it.
    if math.hypot(normal.x, normal.y) > 1e-9 * abs(normal.z):
        raise OutlineError(f"one {kind} lies in a tilted plane", "draw the plate flat in x and y")
    return normal.z < 0


def _round(entity: Any, kind: str, unit: DrawingUnit) -> Line:
    """Return the points of a CIRCLE or ARC."""
    radius = float(entity.dxf.radius)
    x, y, _ = entity.dxf.center
    _near([(x, y, radius)], kind, unit)
    if radius <= 0:
        raise OutlineError(f"one {kind} at {unit.at((x, y))} has no radius", "delete it or give it one")
    below = _seen_from_below(entity, kind)
    centre = (-x, y) if below else (x, y)
    if kind == "CIRCLE":
        points = list(circle(centre, radius, unit.tolerance))
        return [*points, points[0]]
    start = math.radians(entity.dxf.start_angle)
    sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0) or 2 * math.pi
    if not math.isfinite(start + sweep):
        raise OutlineError(f"an ARC at {unit.at(centre)} has no angles", "draw it again")
    if below:
        start, sweep = math.pi - start, -sweep
    return list(arc(centre, radius, start, sweep, unit.tolerance))


def _bulged(corners: Iterable[Any], closed: bool, below: bool, unit: DrawingUnit) -> Line:
    """Return the points of a flat polyline; a corner's bulge bends the edge to the next one."""
    sense = -1.0 if below else 1.0
    bends = [(sense * float(x), float(y), sense * float(bulge)) for x, y, bulge in corners]
    _near(((x, y) for x, y, _ in bends), "polyline", unit)
    if closed:
        bends.append((*bends[0][:2], 0.0))
    points = [bends[0][:2]]
    for (x0, y0, bulge), (x1, y1, _) in pairwise(bends):
        points += _bent((x0, y0), (x1, y1), bulge, unit)[1:]
    return points


def _bent(start: Point, end: Point, bulge: float, unit: DrawingUnit) -> Line:
    """Return the points of one edge; the bulge is the tangent of a quarter of its sweep, + to the left.

    DXF Reference, LWPOLYLINE, group code 42. The rise over the chord is bulge times half the chord.
    """
    chord = math.dist(start, end)
    if abs(bulge) * chord / 2 <= unit.tolerance / 1000:
        return [start, end]
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
    _near([(radius if abs(bulge) > 1 else 0.0, bulge)], "polyline", unit)
    # From the chord's middle to the centre, along the chord's left normal, as a share of the chord.
    offset = (1 - bulge * bulge) / (4 * bulge)
    dx, dy = end[0] - start[0], end[1] - start[1]
    centre = ((start[0] + end[0]) / 2 - offset * dy, (start[1] + end[1]) / 2 + offset * dx)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    between = arc(centre, radius, first, 4 * math.atan(bulge), unit.tolerance)[1:-1]
    return [start, *between, end]
