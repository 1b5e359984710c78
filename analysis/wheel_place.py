"""Where a wheel is: how high for whom, over the ground, and beside the other parts."""

from dataclasses import dataclass

from analysis.allowances import Deduction, standard
from analysis.reach import RANGES, share_within
from models.shown import shown
from sim.builders import Linkage
from sim.clearance import Pair, mirrors, of_pairs, pairs, travels
from sim.clearance.solids import GRIP, POST, Solid, solids


@dataclass(frozen=True)
class Place:
    """Where the wheel is, for people and for other parts.

    Attributes
    ----------
    low, high : of the rim or what the grip sweeps, above ground, m.
    reach : by range of a standard, the share of the circle between its limits; 1 passes.
    room : least clearance to another part over the turn less its allowance, m; nan where none comes near.
    nearest : which that is, in words.
    faults : what is wrong with the place, in words.
    """

    low: float
    high: float
    reach: dict[str, float]
    room: float
    nearest: str
    faults: tuple[str, ...]


def place(closed: Linkage) -> Place:
    """Give how high the wheel reaches, for whom that is in reach, and what it comes near to."""
    m = closed.mechanism
    wheel = m.wheel
    outside = wheel.radius + (GRIP if wheel.kind == "handle" else wheel.bar) / 2
    low, high = wheel.height - outside, wheel.height + outside
    reach = {name: share_within(wheel.height, wheel.radius, *limits) for name, *limits in RANGES}
    room, nearest = _room(closed)
    faults: list[str] = []
    if low < 0:
        faults.append(f"it would run {shown(-low, 'length')} below the ground; raise wheel.height")
    if room <= 0:
        faults.append(f"it runs into the {nearest}; move wheel.out or wheel.height")
    return Place(low, high, reach, room, nearest, tuple(faults))


def _room(closed: Linkage) -> tuple[float, str]:
    """Give the least clearance of the wheel to other parts, as `analysis.clearances` gives it, and which part."""
    m = closed.mechanism
    parts = solids(m)
    near = of_pairs(closed.sides, _wheel_pairs(closed, parts))
    speeds = {t.part.name: t.fastest for t in travels(closed.sides, parts)}
    deduction = Deduction(closed.sides, standard(m), speeds)
    found = [(c.bound - deduction.of(c.pair), c.pair) for c in near]
    if not found:
        return float("nan"), ""
    room, pair = min(found, key=lambda f: f[0])
    other = pair.first if pair.second.kind == "wheel" else pair.second
    return room, other.name


def _wheel_pairs(closed: Linkage, parts: tuple[Solid, ...]) -> tuple[Pair, ...]:
    """Give the pairs of the wheel with other parts; with chains also with the post, beside which it then stands."""
    found = [p for p in pairs(parts, mirrors(closed.sides)) if "wheel" in (p.first.kind, p.second.kind)]
    wheel = next(s for s in parts if s.kind == "wheel")
    post = next((s for s in parts if s.name == POST), None)
    if closed.mechanism.stages and post is not None:
        found.append(Pair(post, wheel, (post.shapes, wheel.shapes), joined=False))
    return tuple(found)
