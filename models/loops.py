"""Lines of a drawing joined end to end into loops, and loops sorted into a plate's edge and its holes."""

import math
from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from shapely import Polygon, STRtree
from shapely import points as shapely_points
from shapely.validation import explain_validity

from models.outline import OutlineError, Point

Line = list[Point]

# m. Ends closer than this are joined, and chords stay this close to their curve.
_TOLERANCE = 1e-5
# m. A wrong unit, or rubbish; it also keeps curves from unfolding into millions of chords.
FARTHEST = 1000.0
_LISTED = 3


@dataclass(frozen=True)
class DrawingUnit:
    """The unit of a drawing.

    Attributes
    ----------
    name : str
        As messages give it.
    size : Fraction
        m.
    """

    name: str
    size: Fraction

    @property
    def tolerance(self) -> float:
        """How close ends must meet, in this unit."""
        return _TOLERANCE / float(self.size)

    @property
    def farthest(self) -> float:
        """How far from the origin a drawing may reach, in this unit."""
        return FARTHEST / float(self.size)

    def at(self, point: Point) -> str:
        """Write a place."""
        return f"({point[0]:.6g}, {point[1]:.6g}) {self.name}"


def closed_loops(lines: list[Line], unit: DrawingUnit) -> list[Line]:
    """Return the closed lines, and those the open ones make when joined end to end."""
    closed = [line for line in lines if math.dist(line[0], line[-1]) <= unit.tolerance]
    loose = [line for line in lines if math.dist(line[0], line[-1]) > unit.tolerance]
    return [line[:-1] for line in closed] + (_joined(loose, unit) if loose else [])


def _joined(lines: list[Line], unit: DrawingUnit) -> list[Line]:
    """Return the loops of open lines. End 2 k begins line k and end 2 k + 1 ends it."""
    ends = [point for line in lines for point in (line[0], line[-1])]
    meeting = _meeting(ends, unit.tolerance)
    for joint in meeting:
        if len(joint) > 2:
            raise OutlineError(
                f"{len(joint)} lines meet at {unit.at(ends[joint[0]])}",
                "let an edge pass through each point once; delete branches and lines drawn twice",
            )
    partner = {a: b for joint in meeting if len(joint) == 2 for a, b in (joint, joint[::-1])}
    free = [end for end in range(len(ends)) if end not in partner]
    if free:
        raise _left_open(free, partner, ends, unit)
    loops: list[Line] = []
    unused = set(range(len(lines)))
    while unused:
        end = 2 * min(unused)
        loop: Line = []
        while end // 2 in unused:
            unused.remove(end // 2)
            line = lines[end // 2]
            loop += (line if end % 2 == 0 else line[::-1])[:-1]
            end = partner[end ^ 1]
        loops.append(loop)
    return loops


def _meeting(ends: list[Point], tolerance: float) -> list[list[int]]:
    """Return the ends grouped by where they meet."""
    where = shapely_points(ends)
    group = list(range(len(ends)))

    def head(end: int) -> int:
        while group[end] != end:
            group[end] = group[group[end]]
            end = group[end]
        return end

    near = STRtree(where).query(where, predicate="dwithin", distance=tolerance)
    for one, other in near.T.tolist():
        group[head(one)] = head(other)
    gathered: defaultdict[int, list[int]] = defaultdict(list)
    for end in range(len(ends)):
        gathered[head(end)].append(end)
    return list(gathered.values())


def _left_open(
    free: list[int], partner: dict[int, int], ends: list[Point], unit: DrawingUnit
) -> OutlineError:
    """Return the fault of lines that do not close, each named by its two loose ends."""
    gaps: list[str] = []
    seen: set[int] = set()
    for start in free:
        if start in seen:
            continue
        end = start ^ 1
        while end in partner:
            end = partner[end] ^ 1
        seen.add(end)
        apart = math.dist(ends[start], ends[end])
        gaps.append(f"from {unit.at(ends[start])} to {unit.at(ends[end])}, {apart:.4g} {unit.name} apart")
    listed = "; ".join(gaps[:_LISTED])
    more = f" and {len(gaps) - _LISTED} more" if len(gaps) > _LISTED else ""
    return OutlineError(
        f"{len(gaps)} line{'s are' if len(gaps) > 1 else ' is'} left open: {listed}{more}",
        f"close the edge; its ends must meet within {unit.tolerance:.3g} {unit.name}",
    )


def nested(loops: list[Line], unit: DrawingUnit) -> tuple[Line, list[Line]]:
    """Return the exterior and the holes in it, or refuse loops that are no single plate."""
    plates = [_polygon(loop, unit) for loop in loops]
    largest = max(range(len(plates)), key=lambda index: plates[index].area)
    holes = [index for index in range(len(plates)) if index != largest]
    for index in holes:
        where = f"the loop through {unit.at(loops[index][0])}"
        if plates[index].equals(plates[largest]):
            raise OutlineError(f"{where} is drawn twice", "delete one of the two")
        if not plates[largest].intersects(plates[index]):
            raise OutlineError(
                f"{where} lies outside the largest, so it shows two plates", "keep one plate to a drawing"
            )
        if not plates[largest].covers(plates[index]):
            raise OutlineError(f"{where} crosses the largest", "draw the plate's edge as one loop")
    tree = STRtree([plates[index] for index in holes])
    for one in holes:
        for found in tree.query(plates[one], predicate="intersects"):
            other = holes[int(found)]
            if other != one:
                raise _not_apart(loops[one], loops[other], plates[one], plates[other], unit)
    return loops[largest], [loops[index] for index in holes]


def _polygon(loop: Line, unit: DrawingUnit) -> Polygon:
    polygon = Polygon(loop) if len(loop) > 2 else Polygon()
    # Not the polygon's own area: that of a bow tie is zero too, and its fault is the crossing.
    if polygon.convex_hull.area <= unit.tolerance**2:
        raise OutlineError(
            f"the lines through {unit.at(loop[0])} enclose no area",
            "delete what is drawn twice, or draw it larger",
        )
    if not polygon.is_valid:
        reason, _, place = explain_validity(polygon).partition("[")
        raise OutlineError(
            f"a loop crosses or touches itself ({reason.lower()} at {place.rstrip(']')} {unit.name})",
            "draw the edge so that it passes each point once",
        )
    return polygon


def _not_apart(one: Line, other: Line, first: Polygon, second: Polygon, unit: DrawingUnit) -> OutlineError:
    """Return the fault of two loops inside the exterior that meet."""
    both = f"the loops through {unit.at(one[0])} and {unit.at(other[0])}"
    if first.equals(second):
        return OutlineError(f"{both} are the same hole", "delete one of the two")
    if first.covers(second) or second.covers(first):
        return OutlineError(
            f"{both} lie one within the other, inside the plate",
            "keep one plate to a drawing: its edge, and holes that hold nothing",
        )
    return OutlineError(f"{both} overlap or touch", "draw them as one hole, or apart")
