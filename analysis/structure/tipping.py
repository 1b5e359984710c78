"""Whether a stand without a foundation stays on its feet: over every edge of them, by simple statics.

Restoring is the moment of the dead weight about an edge, overturning that of everything else at the same instant. The
floor is level and hard, the feet do not slide. Wind is left out: a stand for the shop is meant for indoors.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely import MultiPoint, Polygon

from analysis.loads import Loads
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table
from analysis.structure.acting import Wrench
from analysis.structure.situations import Dead, Situation, situations
from models.shown import shown
from models.structure import Stand
from sim.arrays import Array
from sim.weights import NOT_KNOWN

FAMILY = "shop stand"
STATICS = "moments about the edge of the feet, rigid, level floor"
WANTED = (
    "restoring over overturning at least the safety factor of the description; 1.5 is a usual least value (read, low "
    "authority)"
)


@dataclass(frozen=True)
class Edge:
    """An edge of the feet.

    Attributes
    ----------
    start, end : of it, forward and left, m, against the clock seen from above.
    """

    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def axis(self) -> Array:
        """Unit vector (3,) about which the piece tips outward over the edge."""
        along = np.array([self.end[0] - self.start[0], self.end[1] - self.start[1], 0.0])
        return along / np.linalg.norm(along)

    @property
    def outward(self) -> Array:
        """Unit vector (3,) across the edge, away from the feet."""
        x, y, _ = self.axis
        return np.array([y, -x, 0.0])

    @property
    def words(self) -> str:
        """Which edge it is."""
        x, y, _ = self.outward
        fore = "front" if x > 0.4 else "back" if x < -0.4 else ""
        side = "left" if y > 0.4 else "right" if y < -0.4 else ""
        return " ".join(w for w in (fore, side) if w)

    def over(self, load: Wrench) -> Array:
        """Give the moment (n,), N m, with which a load tips the piece over the edge; negative holds it."""
        about = load.moment - np.cross(np.array([*self.start, 0.0]), load.force)
        return about @ self.axis


@dataclass(frozen=True)
class Tips:
    """The worst over one edge.

    Attributes
    ----------
    edge : over which.
    restoring, overturning : N m at the worst instant; restoring is negative where the weight itself tips it.
    case : the load case.
    """

    edge: Edge
    restoring: float
    overturning: float
    case: str

    def check(self, margin: float) -> Check:
        """Give the check of overturning against restoring over a margin: what tips by its weight alone fails."""
        by_weight = max(0.0, -self.restoring)
        return Check(f"overturning over its {self.edge.words} edge", self.overturning + by_weight,
                     max(0.0, self.restoring) / margin, "torque", self.case, f"{STATICS}; {WANTED}",
                     note="it falls over this edge by its own weight" if by_weight else "")  # fmt: skip


def edges(stand: Stand) -> tuple[Edge, ...]:
    """Give the edges of the convex hull of a stand's feet, against the clock."""
    hull = MultiPoint(list(stand.feet)).convex_hull
    assert isinstance(hull, Polygon)  # a description's feet enclose an area
    ring = [(float(x), float(y)) for x, y in hull.exterior.coords]
    ring = ring if hull.exterior.is_ccw else ring[::-1]
    return tuple(Edge(a, b) for a, b in pairwise(ring))


def tips(loads: Loads, stand: Stand) -> Iterator[Tips]:
    """Give for each edge the case and instant at which restoring over overturning is the least."""
    dead, every = Dead(loads.linkage), list(situations(loads))
    for edge in edges(stand):
        found: list[Tips] = []
        for s in (s for s in every if s.kind != "wind"):
            holds = -edge.over(dead.at(s.crank))
            for live in _either(s, loads.mirrored):
                pushes = edge.over(live)
                k = int(np.argmin(_ratio(holds, pushes)))
                found.append(Tips(edge, float(holds[k]), max(0.0, float(pushes[k])), s.name))
        yield min(found, key=lambda t: float(_ratio(np.array(t.restoring), np.array(t.overturning))))


def _either(s: Situation, mirrored: bool) -> tuple[Wrench, ...]:
    """Give what a case puts on the base, and its mirror image where it may as well happen on the other side."""
    if not mirrored or s.kind == "operating":
        return (s.live,)
    return s.live, Wrench(s.live.force * [1.0, -1.0, 1.0], s.live.moment * [-1.0, 1.0, -1.0])


def _ratio(holds: Array, pushes: Array) -> Array:
    """Give restoring over overturning; without overturning only what already stands over its edge counts."""
    free = np.where(holds > 0, np.inf, -np.inf)
    return np.where(pushes > 0, holds / np.where(pushes > 0, pushes, 1.0), free)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the line of the stand: a check for each edge."""
    m = basis.mechanism
    stand = m.structure.stand
    if stand is None:
        return ()
    checks = tuple(t.check(m.use.margin) for t in tips(basis.loads, stand))
    notes = [
        "for information; wind, a crowd, a slope and a step in the floor are not in it: it is meant for indoors; "
        "people hang still in it: swinging and jumping come on top"
    ]
    notes.append(
        "its own mass is not described and counts as nothing, which is on the safe side"
        if stand.mass is None
        else f"stand of {shown(stand.mass, 'mass')}; left out: {NOT_KNOWN[0]}"
    )
    described = Sizing(f"{len(stand.feet)} feet", checks, "description")
    return (Line(FAMILY, "on its feet", 1, "", None, None, described, tuple(notes)),)


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give by how much it leans before it falls by itself, over each edge."""
    stand = basis.mechanism.structure.stand
    if stand is None or stand.mass is None or stand.height is None:
        return ()
    dead = Dead(basis.linkage)
    weight = dead.mass * basis.mechanism.gravity
    height = np.max(
        np.sum([p.mass * np.broadcast_to(p.at, (len(dead.crank), 3))[:, 2] for p in dead.parts], axis=0)
    )
    high = float(height) / dead.mass
    rows = [("edge", "least distance of the centre of gravity", "lean at which it falls")]
    for edge in edges(stand):
        near = float(np.min(-edge.over(dead.whole))) / weight
        rows.append((edge.words, shown(near, "length"), shown(math.atan2(near, high), "angle")))
    note = f"centre of gravity at most {shown(high, 'length')} over the floor; standing still, wheel locked"
    return (Table("Lean at which the stand falls over", tuple(rows), note),)
