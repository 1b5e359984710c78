"""Where gaps that open and close could squeeze people, by published sizes.

A gap between two parts is their least distance at a crank angle. Where it narrows below a size of ISO 13854
after it has been wider, that part of the body can be crushed in it. Sizes above the gap's largest width do not
count, though a part of the body may get into a gap narrower than its size there. The wedges beside hinges, in
which every width is found, are judged by the opening angles that they reach.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from analysis.finding import Finding, Limit
from models.mechanism import Mechanism, Panel
from models.shown import shown
from sim.arrays import Array
from sim.clearance import Clearance, Travel
from sim.linkage import TURN, PanelCourse, SideLinkage, extreme

CASE = "geometry"
SIZES = (
    ("body", 0.500),
    ("head", 0.300),
    ("leg", 0.180),
    ("foot", 0.120),
    ("arm", 0.120),
    ("hand", 0.100),
    ("finger", 0.025),
)
CRUSHING = "ISO 13854 (read): crushing only, adults"
"""Gaps that a part of the body must be left; the largest first."""
FINGER = 0.025
CHILD = (0.007, 0.018)
CHILDREN = "a European standard for children's tables (read)"
"""A gap of this width during movement shears or squeezes children's fingers."""
HEAD = (0.089, 0.229)
ENTRAPMENT = "3.5 to 9 in, CPSC playground handbook (read)"
"""An opening that may hold a child's head."""
REACH = 2.7
REACHED = (
    "ISO 13857 (read in a summary): upward reach at high risk, standing on the ground; 2.5 m at low risk"
)
"""Height above which nothing is reached."""
PRESSED = 1e-3
"""Squeezing by less than this beside a hinge is not held against it, m (assumption)."""
ANGLES = np.linspace(0, TURN, 1440, endpoint=False)


@dataclass(frozen=True)
class Gap:
    """A gap over the turn.

    Attributes
    ----------
    label : kinds of the two parts.
    where : the two parts.
    least, largest : width, m.
    crank : where it is least, rad.
    height : lowest place above ground at which it is narrower than the largest size that it closes on, m.
    """

    label: str
    where: str
    least: float
    largest: float
    crank: float
    height: float

    @property
    def closes_on(self) -> tuple[tuple[str, float], ...]:
        """The parts of the body, with their sizes, m, that the gap closes on; the largest first."""
        return closes_on(self.least, self.largest)

    @property
    def squeezes_children(self) -> bool:
        """Whether it moves through widths at which children's fingers are squeezed."""
        return self.least < CHILD[1] and self.largest > CHILD[0] and self.largest - self.least > PRESSED


def closes_on(least: float, largest: float) -> tuple[tuple[str, float], ...]:
    """Give the parts of the body that a gap closes on, which is `least` to `largest` wide, m."""
    return tuple((name, size) for name, size in SIZES if least < size <= largest)


def gap(clearance: Clearance, label: str, where: str, crank_height: float) -> Gap:
    """Give a pair's clearance as a gap, with the height above ground at which it closes."""
    sizes = closes_on(clearance.bound, clearance.largest)
    narrow = sizes[0][1] if sizes else CHILD[1]
    low = np.where(clearance.course < narrow, clearance.heights, np.nan)
    at_least = float(clearance.points[:, 2].min())
    lowest = float(np.nanmin(np.append(low, at_least)))
    return Gap(label, where, clearance.bound, clearance.largest, clearance.crank, crank_height + lowest)


def over_ground(travel: Travel, kind: str, crank_height: float) -> Gap:
    """Give the gap between the lowest point of a part of some kind and the ground."""
    k = int(np.argmin(travel.low))
    least, largest = crank_height + float(travel.low[k]), crank_height + float(travel.low.max())
    return Gap(f"{kind} and ground", f"{travel.part.name} and ground", least, largest,
               float(travel.crank[k]), 0.0)  # fmt: skip


def of_gaps(gaps: Iterable[Gap]) -> list[Finding]:
    """Give the findings: how high the lowest narrowing is, and for each kind of pair in reach the worst."""
    closing = [g for g in gaps if g.closes_on or g.squeezes_children]
    if not closing:
        return []
    lowest = min(closing, key=lambda g: g.height)
    found = [
        Finding("lowest place above ground at which a gap closes on a part of the body", lowest.height, "length",
                lowest.where, CASE, crank=lowest.crank, limit=Limit(REACH, "least", REACHED),
                source="least distances over the turn, see sim.clearance",
                note=f"{len(closing)} pairs of parts close on something; nobody climbs or is carried")
    ]  # fmt: skip
    groups: dict[str, list[Gap]] = {}
    for g in closing:
        if g.height <= REACH:
            groups.setdefault(g.label, []).append(g)
    worst_first = sorted(groups.values(), key=lambda group: max(map(_severity, group)), reverse=True)
    return found + [_closing(group) for group in worst_first]


def _severity(g: Gap) -> tuple[float, float]:
    return (g.closes_on[0][1] if g.closes_on else 0.0), -g.least


def _closing(group: list[Gap]) -> Finding:
    g = max(group, key=_severity)
    sizes = g.closes_on
    if sizes:
        limit = Limit(sizes[0][1], "least", f"{CRUSHING}, {sizes[0][0]}")
    else:
        limit = Limit(CHILD[1], "least", f"{CHILDREN}, fingers")
    names = ", ".join(f"{name} {1000 * size:.0f}" for name, size in sizes)
    words = [f"opens to {_width(g.largest)}", f"from {shown(g.height, 'length')} above ground up"]
    if names:
        words.append(f"closes on: {names} mm")
    if g.squeezes_children:
        words.append("passes 7 to 18 mm: children's fingers")
    if g.least < HEAD[1] and g.largest > HEAD[0]:
        words.append(f"passes widths that may hold a child's head ({ENTRAPMENT})")
    narrowest = min(group, key=lambda x: x.least)
    if narrowest is not g:
        words.append(f"{len(group)} such pairs, the narrowest {narrowest.where}, "
                     f"{_width(narrowest.largest)} to {shown(narrowest.least, 'length')}")  # fmt: skip
    return Finding(f"gap that closes, {g.label}", g.least, "length", g.where, CASE, crank=g.crank, limit=limit,
                   source="least distance over the turn, bounded between poses", note="; ".join(words))  # fmt: skip


def _width(largest: float) -> str:
    return "over 500 mm" if largest > SIZES[0][1] else shown(largest, "length")


@dataclass(frozen=True)
class Wedge:
    """The wedge between two panels on one face of their hinge.

    Attributes
    ----------
    face : "above" or "below".
    least, largest : opening angle, rad, at most half a turn.
    crank : where it is least, rad.
    start, end : distances from the hinge line between which a finger put in at the widest is squeezed, m.
    pressed : width to which a 25 mm finger is pressed there, at the least, m.
    child : distances from the hinge line between which the gap is at some time 7 to 18 mm, m.
    """

    face: str
    least: float
    largest: float
    crank: float
    start: float
    end: float
    pressed: float
    child: tuple[float, float]

    @property
    def length(self) -> float:
        """Length along the panels on which a finger is squeezed, m."""
        return max(0.0, self.end - self.start)


def wedge_place(width: float, opening: float, thickness: float) -> float:
    """Give how far from the hinge line a wedge is so wide.

    Of two plates that turn about a line in their middles, the points of both inner faces at a distance s from
    it are 2 s sin(a/2) - t cos(a/2) apart, a the opening and t the mean thickness.

    Parameters
    ----------
    width, thickness : m.
    opening : rad, above 0 and at most half a turn.
    """
    return (width + thickness * float(np.cos(opening / 2))) / (2 * float(np.sin(opening / 2)))


def wedges(inner: PanelCourse, outer: PanelCourse) -> tuple[Wedge, Wedge]:
    """Give the wedges above and below the hinge of two panels, from their courses over the whole turn."""
    fold = outer.angle.value - inner.angle.value
    room = min(_depth(inner.panel, outer.panel.hinge_out), _depth(outer.panel, 0.0))
    thickness = (inner.panel.plate.thickness + outer.panel.plate.thickness) / 2
    above, below = (_wedge(face, np.pi - sense * fold, thickness, room)
                    for face, sense in (("above", 1), ("below", -1)))  # fmt: skip
    return above, below


def _wedge(face: str, opening: Array, thickness: float, room: float) -> Wedge:
    k = int(np.argmin(opening))
    largest = float(np.clip(extreme(opening), 0.0, np.pi))
    least = float(np.clip(-extreme(-opening), 1e-3, np.pi))
    largest = max(largest, least)
    start, end = (min(room, wedge_place(FINGER, a, thickness)) for a in (largest, least))
    at_start = 2 * start * float(np.sin(least / 2)) - thickness * float(np.cos(least / 2))
    child = (min(room, wedge_place(CHILD[0], largest, thickness)),
             min(room, wedge_place(CHILD[1], least, thickness)))  # fmt: skip
    return Wedge(face, least, largest, float(ANGLES[k]), start, end, max(0.0, min(FINGER, at_start)), child)


def _depth(panel: Panel, line: float) -> float:
    """Give how far a panel's plate reaches from a line out from its hinge."""
    out = np.array(panel.plate.outline.exterior)[:, 1]
    return float(np.abs(out - line).max())


def of_hinges(sides: Iterable[SideLinkage], mechanism: Mechanism) -> list[Finding]:
    """Give for each hinge between two panels the worse of its two wedges."""
    found: list[Finding] = []
    for side in sides:
        courses = side.course(ANGLES)
        for inner, outer in pairwise(courses):
            height = mechanism.crank_height + float(outer.hinge.value[:, 2].min())
            found.append(_hinge(f"{side.side.name} {outer.panel.name} hinge", wedges(inner, outer), height))
    return found


def _hinge(where: str, both: tuple[Wedge, Wedge], height: float) -> Finding:
    worse = max(both, key=lambda w: w.length)
    limit = None
    if height <= REACH:
        limit = Limit(PRESSED, "most", f"{CRUSHING}, finger; 1 mm is an assumption")
    angles = ", ".join(f"{np.degrees(w.least):.0f} to {np.degrees(w.largest):.0f} deg {w.face}" for w in both)
    words = [
        f"opening {angles}; 180 deg is flat or more",
        f"{worse.face}, from {shown(worse.start, 'length')} off the hinge line, where a 25 mm finger is "
        f"pressed to {1000 * worse.pressed:.0f} mm",
        f"7 to 18 mm wide, for children's fingers, from {shown(worse.child[0], 'length')} to "
        f"{shown(worse.child[1], 'length')}",
        f"hinge line down to {shown(height, 'length')} above ground",
    ]
    return Finding("length beside the hinge on which a finger is squeezed", worse.length, "length", where, CASE,
                   crank=worse.crank, limit=limit, source="2 s sin(a/2) - t cos(a/2) with the opening a",
                   note="; ".join(words))  # fmt: skip
