"""What hits what, how near it comes, and where people could be squeezed.

Usage: python -m analysis.clearances RUN...
"""

from collections.abc import Iterable

from analysis.allowances import Allowance, Deduction, standard
from analysis.finding import Finding, Limit
from analysis.script import script
from analysis.squeezing import CASE, Gap, gap, of_gaps, of_hinges, over_ground
from models.mechanism import Mechanism, Side, from_canonical
from models.shown import shown
from sim.builders import Linkage, linkage
from sim.clearance import Clearance, Pair, Travel, clearances, mirrors, travels
from sim.clearance.solids import Kind, solids
from sim.linkage import SideLinkage
from sim.run import Run

NEAR = 0.1
"""Pairs of parts that stay farther apart than this, m, are not listed."""
BALL_WIDTH = 0.75
"""Width of a rod end's ball over its diameter: .71 to .76 in ISO 12240-4's dimension series K (memory)."""
SOURCE = "least distance of the parts' shapes over the turn, bounded between poses; see sim.clearance"
TOUCH = Limit(0.0, "least", "parts must not touch")
NOT_JUDGED = (
    "clearances of yoke brackets, hinges, the arms that carry bearings, guards, lumps on panels, nuts, cables",
    "clearances and in-running nips of chains and sprockets, wherever they run",
    "wedges beside joints other than hinges between panels: a rod with its own panel or webs, a panel with what "
    "carries its inner hinge",
    "people who climb, stand on something, reach with a stick or sit on somebody's shoulders",
    "people struck by a moving part, caught by clothes, or squeezed against what stands around the piece",
)
"""What the findings of this analysis do not cover."""


def findings(run: Run) -> list[Finding]:
    """Give the clearances of a run's sculpture."""
    return of_linkage(linkage(from_canonical(run.description)))


def of_linkage(closed: Linkage, allowance: Allowance | None = None) -> list[Finding]:
    """Give clearances less allowances, heights above ground, and gaps that close; worst first in each.

    Parameters
    ----------
    closed : the sculpture.
    allowance : for whip, slack and tolerances; None for `analysis.allowances.standard`.
    """
    mechanism = closed.mechanism
    parts = solids(mechanism)
    allowance = standard(mechanism) if allowance is None else allowance
    near = clearances(closed.sides, parts)
    moves = travels(closed.sides, parts)
    deduction = Deduction(closed.sides, allowance, {t.part.name: t.fastest for t in moves})
    found = of_clearances(near, deduction, mechanism.crank_height)
    found += [_rod_ends(side) for side in _distinct(closed.sides)]
    found += of_heights(moves, mechanism)
    found += of_gaps(_gaps(near, moves, mechanism.crank_height))
    return found + of_hinges([s for s in closed.sides if s.side in _distinct(closed.sides)], mechanism)


def label(pair: Pair) -> str:
    """Name the kinds of a pair's parts, and how they belong together."""
    words = f"{pair.first.kind} and {pair.second.kind}"
    if pair.across:
        return f"{words} across the sides"
    if pair.joined:
        return f"{words} away from their joint"
    return words


def where(pair: Pair) -> str:
    """Name a pair's parts."""
    return f"{pair.first.name} and {pair.second.name}"


def of_clearances(near: Iterable[Clearance], deduction: Deduction, crank_height: float) -> list[Finding]:
    """Give for each kind of pair the least clearance less its allowance, worst first."""
    groups: dict[str, list[tuple[float, Clearance]]] = {}
    for c in near:
        groups.setdefault(label(c.pair), []).append((deduction.left(c), c))
    found = [_least(*min(g, key=lambda x: x[0]), len(g), crank_height) for g in groups.values()]
    return sorted((f for f in found if f.value < NEAR), key=lambda f: f.value)


def _least(left: float, c: Clearance, count: int, crank_height: float) -> Finding:
    x, y, z = c.points.mean(0)
    apart = f"{shown(c.least, 'length')} apart as drawn, never less than {shown(c.bound, 'length')}"
    words = [
        apart if c.least > 0 else "they overlap as drawn",
        f"{shown(c.bound - left, 'length')} taken off for whip, slack and tolerance",
        f"at {shown(float(x), 'length')} forward, {shown(float(y), 'length')} to the left, "
        f"{shown(crank_height + float(z), 'length')} above ground",
    ]
    if count > 1:
        words.append(f"nearest of {count} such pairs")
    words += sorted({_ASSUMED[s.kind] for s in (c.pair.first, c.pair.second) if s.kind in _ASSUMED})
    return Finding(f"least clearance, {label(c.pair)}", left, "length", where(c.pair), CASE, crank=c.crank,
                   limit=TOUCH, source=SOURCE, note="; ".join(words))  # fmt: skip


_ASSUMED = {
    "counterweight": "the counterweight taken for a steel ball, the least it can take up",
    "rod": "rod ends taken for balls of twice their ball's diameter",
    "bearing": "the bearing's housing taken for twice the shaft's diameter and 30 mm long",
}


def _distinct(sides: tuple[SideLinkage, ...]) -> tuple[Side, ...]:
    """Give the sides, without a second one that mirrors the first."""
    return tuple(s.side for s in (sides[:1] if mirrors(sides) else sides))


def _rod_ends(side: Side) -> Finding:
    """Give the room lengthwise of a side's widest rod end between its webs."""
    widest = max(side.panels, key=lambda p: p.rod.ball)
    room = side.crank.cheek.gap - BALL_WIDTH * widest.rod.ball
    return Finding("room along the pin for a rod end between its webs", room, "length",
                   f"{side.name} {widest.name} throw", CASE, limit=TOUCH,
                   source="web gap less the ball's width, .75 of its diameter (ISO 12240-4, memory)",
                   note="both sides together; spacers take it up")  # fmt: skip


def of_heights(moves: Iterable[Travel], mechanism: Mechanism) -> list[Finding]:
    """Give the lowest and the highest point above ground of all that moves but the wheel."""
    parts = [t for t in moves if t.part.kind != "wheel"]
    low = min(parts, key=lambda t: float(t.low.min()))
    high = max(parts, key=lambda t: float(t.high.max()))
    ground = mechanism.crank_height
    return [
        Finding("lowest point above ground of all that moves but the wheel", ground + float(low.low.min()),
                "length", low.part.name, CASE, crank=float(low.crank[low.low.argmin()]),
                limit=Limit(0.0, "least", "the ground"), source="poses half a degree apart",
                note="over a path 2010 ADA Standards 307.4 ask for 2030 mm (read); whether they apply is for "
                "the local authority"),
        Finding("highest point above ground of all that moves", ground + float(high.high.max()), "length",
                high.part.name, CASE, crank=float(high.crank[high.high.argmax()]),
                source="poses half a degree apart"),
    ]  # fmt: skip


def _gaps(near: Iterable[Clearance], moves: Iterable[Travel], crank_height: float) -> list[Gap]:
    """Give all gaps: between parts, but for panels at their hinge, and between parts and the ground."""
    found = [
        gap(c, _broadly(c.pair), where(c.pair), crank_height)
        for c in near
        if not (c.pair.joined and c.pair.first.kind == c.pair.second.kind == "panel")
    ]
    return found + [
        over_ground(t, _BROAD[t.part.kind], crank_height) for t in moves if t.part.kind != "wheel"
    ]


def _broadly(pair: Pair) -> str:
    """Name the kinds of a pair's parts as people see them."""
    words = f"{_BROAD[pair.first.kind]} and {_BROAD[pair.second.kind]}"
    return f"{words} across the sides" if pair.across else words


_BROAD: dict[Kind, str] = {
    "panel": "panel",
    "rod": "rod",
    "throw": "crankshaft",
    "shaft": "crankshaft",
    "counterweight": "crankshaft",
    "post": "what stands still",
    "bearing": "what stands still",
    "wheel": "wheel",
}


if __name__ == "__main__":
    script(findings, __doc__)
