"""The drive's shafts and the crankshafts with what sits on them, for their lateral frequencies.

The drive's shafts are straight bars. A built-up crankshaft bends and twists at once and at its throws far more than a
bar would, so its frequency is its frame's (`sim.shaft.modes`), on its bearings and its inner end kept from turning,
with half of each rod on its throw. As a least value the wings hang on the throws as well, as stiffly as if each rod
stood square to its arm: a panel's inertia about its hinge over the arm squared.

An elastic coupling passes no bending on. A clamp makes one bar of the crankshafts and the shaft between, over all
bearings; so it is without a stage, where the wheel sits on that bar. It counts as straight, with webs, pins and
counterweights as masses: a highest value, beside the frames', which know nothing of what they are clamped to.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from models.drive import DriveShaft
from models.materials import Material
from models.mechanism import Mechanism, Panel, Side
from sim import names
from sim.builders import Linkage
from sim.mass import MassProperties, crank_pieces, plate_mass, rod_mass, sprocket_mass, wheel_mass
from sim.shaft.modes import slowest
from sim.vibration.drive_line import TOUCH, chain_mass
from sim.vibration.lateral import Lump, Section, Support, lateral_modes


@dataclass(frozen=True)
class Shaft:
    """A shaft that turns as one.

    Attributes
    ----------
    name : of the shaft.
    after : number of the stage that it comes after, 0 for the wheel's shaft.
    sections, supports : the bar and its bearings, along y from the post's axis.
    lumps : what sits on it.
    wings : what hangs on its throws besides.
    """

    name: str
    after: int
    sections: tuple[Section, ...]
    supports: tuple[Support, ...]
    lumps: tuple[Lump, ...]
    wings: tuple[Lump, ...] = ()

    @property
    def highest(self) -> float:
        """First lateral frequency of the bar with what is fixed to it, rad/s."""
        return float(lateral_modes(self.sections, self.lumps, self.supports, 1).frequencies[0])

    @property
    def least(self) -> float:
        """The same with the wings on its throws, rad/s."""
        return float(
            lateral_modes(self.sections, (*self.lumps, *self.wings), self.supports, 1).frequencies[0]
        )


def shafts(closed: Linkage) -> tuple[Shaft, ...]:
    """Give the bars from the wheel's to the one at the middle, with the crankshafts where they are clamped to it."""
    m = closed.mechanism
    found: list[Shaft] = []
    for k in range(len(m.stages)):
        shaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        name = names.WHEEL_SHAFT if k == 0 else names.stage_shaft(k, len(m.stages))
        found.append(_straight(m, k, name, shaft))
    parted = bool(m.stages) and all(s.crank.coupling.stiffness is not None for s in m.sides)
    if parted:
        found.append(_straight(m, len(m.stages), names.CENTRE, m.stages[-1].shaft))
    else:
        found.append(_through(m))
    return tuple(found)


def _piece(at: float, piece: MassProperties) -> Lump:
    return Lump(at, piece.mass, float(piece.inertia[0, 0] + piece.inertia[2, 2]) / 2)


def _on(m: Mechanism, k: int) -> tuple[Lump, ...]:
    """Give what sits on the shaft after stage k, the wheel's where k is 0: wheel, sprockets, the chains on them."""
    found = [_piece(m.wheel.out, wheel_mass(m.wheel))] if k == 0 else []
    for number, driver in ((k, False), (k + 1, True)):
        if 1 <= number <= len(m.stages):
            stage = m.stages[number - 1]
            teeth = stage.driver if driver else stage.driven
            lump = _piece(stage.out, sprocket_mass(teeth, stage))
            found.append(replace(lump, mass=lump.mass + chain_mass(m, number, teeth)))
    return tuple(found)


def _bar(start: float, end: float, diameter: float, stock: Material) -> Section:
    return Section(start, end, diameter, stock.modulus, stock.density)


def _straight(m: Mechanism, k: int, name: str, shaft: DriveShaft) -> Shaft:
    lumps = _on(m, k)
    places = [*shaft.bearings, *(x.at for x in lumps)]
    if k == len(m.stages):
        places += [s.sign * s.crank.ends[0] for s in m.sides]
    bar = _bar(min(places), max(places), shaft.diameter, m.drive_stock)
    return Shaft(name, k, (bar,), tuple(Support(x) for x in shaft.bearings), lumps)


def crankshaft_frequencies(side: Side) -> tuple[float, float]:
    """Give the slowest natural frequency of a crankshaft by itself, rad/s: with the wings on its throws, and alone."""
    alone = tuple(rod_mass(p.rod).mass / 2 for p in side.panels)
    wings = tuple(apparent_mass(p, side.panels[k + 1 :]) for k, p in enumerate(side.panels))
    return slowest(side, tuple(a + b for a, b in zip(alone, wings, strict=True))), slowest(side, alone)


Parts = tuple[tuple[Section, ...], tuple[Support, ...], tuple[Lump, ...], tuple[Lump, ...]]


def _crank(side: Side) -> Parts:
    """Give bar, bearings, what is fixed to it and the wings of a crankshaft, a right one's places negative."""
    c, way = side.crank, side.sign
    half = c.cheek.half
    edges = [c.ends[0]]
    for panel in sorted(side.panels, key=lambda p: p.throw_out):
        edges += [panel.throw_out - half, panel.throw_out + half]
    edges.append(c.ends[1])
    sections: list[Section] = []
    for k, (a, b) in enumerate(pairwise(edges)):
        if b - a > TOUCH:
            bar = _bar(min(way * a, way * b), max(way * a, way * b), c.shaft, c.material)
            # Within a throw the webs and the pin have the mass.
            sections.append(replace(bar, density=0.0) if k % 2 else bar)
    supports = tuple(Support(way * s.out, s.stiffness) for s in c.stations)
    # Without a bar what is left of the pieces is what sits on it.
    fixed = crank_pieces(replace(side, crank=replace(c, shaft=0.0)))
    lumps = [_piece(way * at, piece) for at, piece in fixed]
    lumps += [Lump(way * p.throw_out, rod_mass(p.rod).mass / 2) for p in side.panels]
    wings = tuple(
        Lump(way * p.throw_out, apparent_mass(p, side.panels[k + 1 :])) for k, p in enumerate(side.panels)
    )
    return tuple(sections), supports, tuple(lumps), wings


def apparent_mass(panel: Panel, carried: tuple[Panel, ...]) -> float:
    """Give a panel as a mass at the end of its rod, the rod square to its arm, kg.

    Parameters
    ----------
    panel : whose inertia about its own hinge counts.
    carried : the panels beyond, whose masses ride at their hinge's distance.
    """
    plate = plate_mass(panel.plate)
    about = plate.inertia[0, 0] + plate.mass * (plate.com[1] ** 2 + plate.com[2] ** 2)
    for p in carried[:1]:
        about = about + sum(plate_mass(x.plate).mass for x in carried) * p.hinge_out**2
    return float(about / (panel.yoke_out**2 + panel.yoke_below**2))


def _through(m: Mechanism) -> Shaft:
    """Give the crankshafts and what lies between as one bar."""
    stock = m.drive_stock
    lumps = list(_on(m, len(m.stages)))
    supports: list[Support] = []
    diameter = m.sides[0].crank.shaft
    if m.stages:
        diameter = m.stages[-1].shaft.diameter
        supports += [Support(x) for x in m.stages[-1].shaft.bearings]
    sections: list[Section] = []
    wings: list[Lump] = []
    middle = [x.at for x in (*lumps, *supports)]
    start, end = min(middle), max(middle)
    for side in m.sides:
        bar, held, on, hung = _crank(side)
        sections += bar
        supports += held
        lumps += on
        wings += hung
        # The crankshaft goes on where what lies between ends, whatever that carries.
        inner = side.sign * side.crank.ends[0]
        start, end = (start, inner) if side.sign > 0 else (inner, end)
    if end - start > TOUCH:
        sections.append(_bar(start, end, diameter, stock))
    # A wheel may sit beyond the crankshaft's outer end: the bar goes on to it.
    first, last = min(x.start for x in sections), max(x.end for x in sections)
    sections += [
        _bar(a, b, diameter, stock) for a, b in ((min(middle), first), (last, max(middle))) if b - a > TOUCH
    ]
    name = "crankshaft as a straight bar" if len(m.sides) == 1 else "crankshafts as one straight bar"
    return Shaft(name, len(m.stages), tuple(sections), tuple(supports), tuple(lumps), tuple(wings))
