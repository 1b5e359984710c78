"""Do the chains run clear? Of shafts, couplings, throws, each other and the post's wall.

Every chain runs in its own plane across the shafts. What it sweeps there is laid out in that plane, forward and
up from the crank's axis, and given its width; everything else is a cylinder along the shafts.

Usage: python -m analysis.chain_paths RUN...
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from analysis.finding import Finding, Limit
from analysis.script import script
from models.drive import DriveShaft, Stage
from models.mechanism import Mechanism, PostTube, Side, from_canonical
from sim import names
from sim.arrays import Array
from sim.chain import ChainFault, sideways_from_excess
from sim.layout import AGREEMENT, Place, centre_distance, chain_run, shaft_places
from sim.run import Run
from sim.sprocket import with_chain_outside_diameter

CASE = "geometry"
CHAIN_WIDTH = 1.3
"""Width over the pins at the connecting link, in pitches: 16.6 mm for half-inch pitch, No. 40 (memory)."""
PLATE = 0.95
"""Height of a link plate, in pitches, at most (ASME B29.1 series; memory)."""
SOURCE = "pitch circles, tangents and the strands' movement sideways; widths over pins of 1.3 pitch, memory"
CLEAR = Limit(0.0, "least", "must not touch")
FREE = Limit(0.0, "most", "it must run free")
TOUCH = 1e-9
"""Overlap and movement that are rounding, m."""
PIECES = 32
"""Straight pieces for one strand's bow: an even number, so that its middle is a corner."""


@dataclass(frozen=True)
class Part:
    """A cylinder along the shafts that no chain may run into.

    Attributes
    ----------
    name : in words.
    low, high : where it begins and ends, along y from the post's axis, m.
    at : forward and up from the crank's axis, m.
    radius : m.
    """

    name: str
    low: float
    high: float
    at: Place
    radius: float


@dataclass(frozen=True)
class Path:
    """What a chain sweeps.

    Attributes
    ----------
    number : of its stage.
    low, high : over its pins, along y from the post's axis, m.
    region : both strands and both sprockets with the chain on, forward and up from the crank's axis, m.
    """

    number: int
    low: float
    high: float
    region: BaseGeometry

    @property
    def name(self) -> str:
        """Its stage's name."""
        return names.stage(self.number)

    @property
    def half(self) -> float:
        """Half its width, m."""
        return (self.high - self.low) / 2


def findings(run: Run) -> list[Finding]:
    """Give what the chains of a run's sculpture run into."""
    return of_mechanism(from_canonical(run.description))


def of_mechanism(mechanism: Mechanism) -> list[Finding]:
    """Give everything that a chain runs into, and the least clearance of each chain that runs free.

    A chain that does not fit at all is left to `analysis.chain_fit`. Hubs, keys, bearings' housings, idlers and
    guards are not described and not looked at.
    """
    if all(s.kind == "direct" for s in mechanism.stages):
        return []
    places, note = shaft_places(mechanism)
    if note is not None:
        return [_unplaced(mechanism, note)]
    paths = [p for k in range(1, len(mechanism.stages) + 1) if (p := path(mechanism, k)) is not None]
    found: list[Finding] = []
    for a, b in combinations(paths, 2):
        if _meet(a, b.low, b.high, b.region):
            found.append(_chains_meet(a, b))
    for p in paths:
        others = list(parts(mechanism, places, p.number))
        for part in others:
            if _meet(p, part.low, part.high, _disc(part)):
                found.append(_runs_into(p, part))
        found += _least(p, others, [q for q in paths if q is not p])
        if mechanism.post is not None:
            found.append(_at_post(p, mechanism.post, mechanism.crank_height))
    return found


def path(mechanism: Mechanism, number: int) -> Path | None:
    """Give what the chain of a stage sweeps; None for a direct stage and a chain that does not fit."""
    stage = mechanism.stages[number - 1]
    if stage.kind == "direct":
        return None
    try:
        run = chain_run(mechanism, number)
    except ChainFault:
        return None
    aside = float(sideways_from_excess(run.excess, run.span))
    places = shaft_places(mechanism)[0][number - 1 : number + 1]
    pieces: list[BaseGeometry] = [_bow(ends[:, [0, 2]], aside, stage.pitch) for ends in run.ends]
    for place, teeth in zip(places, (stage.driver, stage.driven), strict=True):
        radius = with_chain_outside_diameter(float(teeth), stage.pitch) / 2
        pieces.append(Point(place).buffer(radius, quad_segs=64))
    half = CHAIN_WIDTH * stage.pitch / 2
    return Path(number, stage.out - half, stage.out + half, unary_union(pieces))


def _bow(ends: Array, aside: float, pitch: float) -> BaseGeometry:
    """Give what a strand (2, 2) sweeps when its middle moves to either side: two parabolas, with its plates."""
    swept: BaseGeometry = LineString(ends)
    if aside > TOUCH:
        along = ends[1] - ends[0]
        across = np.array([-along[1], along[0]]) / np.linalg.norm(along)
        t = np.linspace(0.0, 1.0, PIECES + 1)[:, None]
        straight, bowed = ends[0] + t * along, 4 * aside * t * (1 - t) * across
        swept = Polygon(np.concatenate([straight + bowed, (straight - bowed)[-2:0:-1]]))
    return swept.buffer(PLATE * pitch / 2, quad_segs=16)


def parts(mechanism: Mechanism, places: tuple[Place, ...], number: int) -> Iterator[Part]:
    """Give what the chain of a stage must pass: every shaft but its own two, wheel, couplings, crankshafts.

    Parameters
    ----------
    mechanism : the sculpture.
    places : of its shafts, as `sim.layout.shaft_places` gives them.
    number : of the stage, 1 at the wheel's end.
    """
    for k, place in enumerate(places):
        if k not in (number - 1, number):
            yield _shaft(mechanism, k, place)
    wheel = mechanism.wheel
    half = max(wheel.thickness, wheel.bar) / 2
    what = "wheel" if wheel.kind == "disc" else "handle"
    yield Part(what, wheel.out - half, wheel.out + half, places[0], wheel.radius + wheel.bar / 2)
    for side in mechanism.sides:
        yield from _crank(side, places[-1])


def _shaft(mechanism: Mechanism, k: int, place: Place) -> Part:
    """Give a shaft of the drive, from the outermost to the outermost of what it carries and rests on."""
    stages = mechanism.stages
    shaft: DriveShaft = mechanism.wheel.shaft if k == 0 else stages[k - 1].shaft
    on = [*shaft.bearings, *(s.out for s in stages[max(0, k - 1) : k + 1])]
    if k == 0:
        on.append(mechanism.wheel.out)
    if k == len(stages):
        on += [s.sign * s.crank.ends[0] for s in mechanism.sides]
    name = "wheel's shaft" if k == 0 else names.stage_shaft(k, len(stages))
    return Part(name, min(on), max(on), place, shaft.diameter / 2)


def _crank(side: Side, place: Place) -> Iterator[Part]:
    """Give a side's coupling, crankshaft and throws."""
    crank = side.crank
    inner, outer = crank.ends
    name = names.crankshaft(side.name)
    if crank.coupling.mass > 0:
        radius = crank.coupling.diameter / 2
        # As where masses are computed: a coupling as long as it is thick, about the end of the bar.
        yield _mirrored(names.coupling(side.name), side, inner - radius, inner + radius, place, radius)
    yield _mirrored(name, side, inner, outer, place, crank.shaft / 2)
    for panel in side.panels:
        half, reach = crank.cheek.half, panel.throw_radius + crank.cheek.width / 2
        words = f"{panel.name} throw of the {name}"
        yield _mirrored(words, side, panel.throw_out - half, panel.throw_out + half, place, reach)


def _mirrored(name: str, side: Side, inner: float, outer: float, place: Place, radius: float) -> Part:
    low, high = sorted((side.sign * inner, side.sign * outer))
    return Part(name, low, high, place, radius)


def _disc(part: Part) -> BaseGeometry:
    return Point(part.at).buffer(part.radius, quad_segs=64)


def _gap(p: Path, low: float, high: float) -> float:
    """Give the distance along the shafts, m; negative where they overlap."""
    return max(low - p.high, p.low - high)


def _meet(p: Path, low: float, high: float, region: BaseGeometry) -> bool:
    return _gap(p, low, high) < -TOUCH and p.region.intersects(region)


def _unplaced(mechanism: Mechanism, note: str) -> Finding:
    """Say why nothing is known of the paths: a fault where the lengths contradict each other."""
    stages: tuple[Stage, ...] = mechanism.stages
    wrong = len(stages) <= 2 and all(centre_distance(s) is not None for s in stages)
    up = abs(mechanism.wheel.height - mechanism.crank_height)
    wrong = wrong or sum(centre_distance(s) or up for s in stages) < up - AGREEMENT
    return Finding("the chains' paths are not known:", 1.0, "fault", "chains", CASE,
                   limit=FREE if wrong else None, source=SOURCE, note=note)  # fmt: skip


def _runs_into(p: Path, part: Part) -> Finding:
    above, below = part.high + p.half, part.low - p.half
    note = (
        f"the {part.name}, which lies {_from_to(part.low, part.high)}; write stage.{p.number}.out at least "
        f"{_mm(above)} or at most {_mm(below)}, or move what is in the way"
    )
    return Finding("runs into", 1.0, "fault", p.name, CASE, limit=FREE, source=SOURCE, note=note)


def _chains_meet(a: Path, b: Path) -> Finding:
    apart = a.half + b.half
    note = (
        f"the {b.name}: their planes lie {_mm(abs(a.low - b.low + a.half - b.half))} apart; "
        f"write stage.{a.number}.out and stage.{b.number}.out at least {_mm(apart)} apart"
    )
    return Finding("runs into", 1.0, "fault", a.name, CASE, limit=FREE, source=SOURCE, note=note)


def _least(p: Path, others: list[Part], chains: list[Path]) -> list[Finding]:
    """Give the least clearance of a chain to whatever it does not run into."""
    solids = [(x.name, x.low, x.high, _disc(x)) for x in others]
    solids += [(q.name, q.low, q.high, q.region) for q in chains]
    clear = [
        (float(np.hypot(max(0.0, _gap(p, low, high)), p.region.distance(region))), name)
        for name, low, high, region in solids
        if not _meet(p, low, high, region)
    ]
    if not clear:
        return []
    least, name = min(clear)
    return [
        Finding("least clearance to what it passes", least, "length", p.name, CASE, limit=CLEAR,
                source=SOURCE, note=f"to the {name}; hubs, housings and guards are not described")
    ]  # fmt: skip


def _at_post(p: Path, post: PostTube, ground: float) -> Finding:
    """Give a chain's clearance to the post's wall, or that it crosses the wall.

    A plane at y cuts the bore at sqrt(b^2 - y^2) either side of the axis and the outside at sqrt(o^2 - y^2); over
    the width of a chain the narrower of the bore's and the wider of the outside's count.
    """
    near = 0.0 if p.low < 0 < p.high else min(abs(p.low), abs(p.high))
    far = max(abs(p.low), abs(p.high))
    radius, bore = post.outside / 2, post.bore / 2
    if near >= radius:
        return _clear_of_post("beside the post", near - radius, p)
    outer = float(np.sqrt(radius**2 - near**2))
    inner = float(np.sqrt(max(0.0, bore**2 - far**2)))
    solid = box(-outer, -ground, outer, post.above)
    wall = unary_union([box(-outer, -ground, -inner, post.above), box(inner, -ground, outer, post.above)])
    cut = p.region.intersection(wall)
    if cut.area > 0:
        return _crosses(p, cut, ground)
    if p.region.intersects(solid):
        return _clear_of_post("to the post's bore", p.region.distance(wall), p)
    return _clear_of_post("to the post's outside", p.region.distance(solid), p)


def _clear_of_post(what: str, clearance: float, p: Path) -> Finding:
    return Finding(f"clearance {what}", float(clearance), "length", p.name, CASE, limit=CLEAR, source=SOURCE)


def _crosses(p: Path, cut: BaseGeometry, ground: float) -> Finding:
    back, low, front, high = cut.bounds
    side = "front" if back > 0 else "rear" if front < 0 else "front and rear"
    note = (
        f"on its {side}, between {_mm(low + ground)} and {_mm(high + ground)} above ground; a slot there lets it "
        f"through, {_mm(p.high - p.low)} wide and more {_from_to(p.low, p.high)}, which the post's strength has "
        f"to allow; or move the plane (stage.{p.number}.out) or the shafts"
    )
    return Finding(
        "crosses the post's wall", 1.0, "fault", p.name, CASE, limit=FREE, source=SOURCE, note=note
    )


def _from_to(low: float, high: float) -> str:
    return f"from {_mm(low)} to {_mm(high)} along y"


def _mm(length: float) -> str:
    return f"{1000 * length:.0f} mm"


if __name__ == "__main__":
    script(findings, __doc__)
