"""The drive line in torsion: wheel, shafts, sprockets, chains, couplings and crankshafts with their wings.

Every shaft is a bar of its diameter between the places of what sits on it, its own inertia lumped at their ends; the
shafts of the drive are of the crankshafts' stock. Sprockets count as the solid discs that they are elsewhere, each
with the chain on it and one strand of the two. A side's wings move with its throws, by an inertia that changes over
the turn: the modes are those at its mean, with the range of each frequency over the turn.

A chain joins its sprockets by one strand while the other hangs slack, and by both where it is set tight. So the modes
hold while a strand is taut: in the slack of a loose chain the line falls in two, and swings as slowly as its amplitude
and slack make it. Weights, which swing a piece about its lowest point, are left out: on the demo their torque changes
by at most 24 N m/rad a side, a coupling's by 900.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from models.drive import Stage
from models.mechanism import Mechanism
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.builders.drive import LIMITER_GIVE
from sim.layout import chain_run
from sim.linkage import SideLinkage
from sim.mass import sprocket_mass, wheel_mass
from sim.sprocket import travel_radius
from sim.vibration.rotors import Disc, Fixed, Line, Link, Modes, Together, modes, shaft_stiffness
from sim.vibration.side import (
    crank_stiffness,
    own_inertia,
    throw_inertia,
    throw_order,
)

Taut = Literal["one", "both"]
POSES = 72
"""Crank angles over the turn at which the wings' inertia counts."""
TOUCH = 1e-6
"""Distance, m, below which two things sit in one place."""


@dataclass(frozen=True)
class Built:
    """The drive line without its wings.

    Attributes
    ----------
    line : rotors and what joins them.
    turns : by rotor, its turns for one of the crank.
    paths : rotors in a row from the wheel to each side's outermost throw.
    """

    line: Line
    turns: dict[str, float]
    paths: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class DriveModes:
    """The modes of a drive line.

    Attributes
    ----------
    built : what it was made of.
    modes : with the wings' mean inertia, and both strands of the chains that are set tight.
    least, greatest : (m,) rad/s, of each elastic mode over the turn, with one strand taut and with both.
    """

    built: Built
    modes: Modes
    least: Array
    greatest: Array

    def referred(self, mode: int, path: tuple[str, ...]) -> Array:
        """Give the angles of a path's rotors in an elastic mode, each over its turns for one of the crank's."""
        turns = np.array([self.built.turns[n] for n in path])
        return self.modes.shape(mode, path) / turns


def drive_modes(closed: Linkage) -> DriveModes:
    """Give the modes of a sculpture's drive line; `sim.layout.chain_run` says what is raised."""
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    wings = [throw_inertia(s, crank) for s in closed.sides]
    built = drive_line(closed, "both")
    mean = modes(_with_wings(closed, built.line, [w.mean(axis=0) for w in wings]))
    over = [
        modes(_with_wings(closed, drive_line(closed, taut).line, [w[n] for w in wings])).elastic
        for taut in ("one", "both") for n in range(POSES)
    ]  # fmt: skip
    return DriveModes(built, mean, np.min(over, axis=0), np.max(over, axis=0))


def _with_wings(closed: Linkage, line: Line, wings: list[Array]) -> Line:
    shared: list[Together] = []
    for side, inertia in zip(closed.sides, wings, strict=True):
        order = throw_order(side.side)
        shared.append(Together(_throws(side), inertia[np.ix_(order, order)]))
    return replace(line, together=tuple(shared))


def throw(side: str, panel: str) -> str:
    """Name a throw."""
    return f"{side} {panel} throw"


def driver(number: int) -> str:
    """Name a stage's driving sprocket."""
    return f"stage {number} driving sprocket"


def shaft_end(side: str) -> str:
    """Name the drive's end at an elastic coupling."""
    return f"drive at {names.coupling(side)}"


@dataclass(frozen=True)
class _Parts:
    """Rotors with their turns for one of the crank, and what joins them."""

    discs: tuple[tuple[Disc, float], ...] = ()
    links: tuple[Link, ...] = ()
    fixed: tuple[Fixed, ...] = ()

    def __add__(self, more: "_Parts") -> "_Parts":
        """Add parts to these."""
        return _Parts(self.discs + more.discs, self.links + more.links, self.fixed + more.fixed)


def drive_line(closed: Linkage, taut: Taut) -> Built:
    """Build the line.

    Parameters
    ----------
    closed : the sculpture.
    taut : strands of the chains that are set tight or have a tensioner; of any other one pulls at a time.
    """
    m = closed.mechanism
    made = _Parts()
    before: list[str] = []
    left = m.reduction
    for k in range(len(m.stages) + 1):
        if k > 0:
            left *= m.stages[k - 1].driver / m.stages[k - 1].driven
            made += _joined_by_stage(m, k, taut)
        held, on = _on_shaft(m, k)
        if held is not None:
            made += _Parts(((held, left),), (_limiter(m, held.name, on[0].name),))
            before.append(held.name)
        before += [x.name for x in on]
        ends = [_end(s) for s in closed.sides] if k == len(m.stages) else []
        made += _shaft(m, k, (*on, *ends), left)
    paths: list[tuple[str, ...]] = []
    for side in closed.sides:
        made += _crankshaft(side)
        paths.append((*before, *_along(side)))
    discs = tuple(d for d, _ in made.discs)
    return Built(Line(discs, made.links, made.fixed), {d.name: n for d, n in made.discs}, tuple(paths))


@dataclass(frozen=True)
class _On:
    """A rotor on a shaft: its place along it, m, its name and its inertia, kg m2."""

    place: float
    name: str
    inertia: float


def _on_shaft(m: Mechanism, k: int) -> tuple[Disc | None, tuple[_On, ...]]:
    """Give what a torque limiter holds at the shaft after stage k, or None, and what sits on the shaft itself.

    The wheel's shaft where k is 0; the couplings at the last one's ends are left to `_end`.
    """
    if k == 0:
        piece = wheel_mass(m.wheel)
        # About its axis, a handle's centre of mass lying beside it.
        inertia = float(piece.inertia[1, 1] + piece.mass * piece.com @ piece.com)
        first, hub = _On(m.wheel.out, names.WHEEL, inertia), names.WHEEL_SHAFT
    else:
        stage = m.stages[k - 1]
        first = _On(stage.out, names.driven_sprocket(k), _sprocket(m, k, stage.driven))
        hub = names.stage_shaft(k, len(m.stages))
    held = None
    if m.limiter is not None and m.limiter.at == k:
        held = Disc(first.name, first.inertia)
        first = _On(first.place, hub, 0.0)
    if k == len(m.stages):
        return held, (first,)
    after = m.stages[k]
    return held, (first, _On(after.out, driver(k + 1), _sprocket(m, k + 1, after.driver)))


def _limiter(m: Mechanism, held: str, shaft: str) -> Link:
    """Give the limiter while it holds, as stiff as it is simulated."""
    assert m.limiter is not None
    return Link(names.LIMITER, held, shaft, m.limiter.torque / LIMITER_GIVE)


def _end(side: SideLinkage) -> _On:
    """Give the drive's end at a side's coupling: with a clamp the crankshaft's own."""
    crank, name = side.side.crank, side.side.name
    place = side.side.sign * crank.ends[0]
    if crank.coupling.stiffness is not None:
        return _On(place, shaft_end(name), 0.0)
    return _On(place, names.coupling(name), float(own_inertia(side.side)[0]))


def _sprocket(m: Mechanism, number: int, teeth: int) -> float:
    """Give a sprocket's inertia with the chain on it and one of its strands, kg m2."""
    stage = m.stages[number - 1]
    own = float(sprocket_mass(teeth, stage).inertia[1, 1])
    return own + chain_mass(m, number, teeth) * travel_radius(float(teeth), stage.pitch) ** 2


def chain_mass(m: Mechanism, number: int, teeth: int) -> float:
    """Give the chain on half of a sprocket and one of its strands, kg; nothing for a direct stage."""
    stage = m.stages[number - 1]
    if stage.kind != "chain":
        return 0.0
    return chain_run(m, number).weight + stage.weight * stage.pitch * teeth / 2


def _shaft(m: Mechanism, k: int, on: tuple[_On, ...], turns: float) -> _Parts:
    """Give the rotors of a shaft, its bar lumped at them, and what winds up between them."""
    stock = m.drive_stock
    reach = [x.place for x in on]
    bar = m.sides[0].crank.shaft
    if m.stages:
        shaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        bar, reach = shaft.diameter, [*reach, *shaft.bearings]
    per_length = float(stock.density * np.pi * bar**4 / 32)
    ordered = sorted(on, key=lambda x: x.place)
    inertia = {x.name: x.inertia for x in ordered}
    inertia[ordered[0].name] += per_length * (ordered[0].place - min(reach))
    inertia[ordered[-1].name] += per_length * (max(reach) - ordered[-1].place)
    made = _Parts()
    for a, b in pairwise(ordered):
        length = b.place - a.place
        if length < TOUCH:
            made += _Parts(fixed=(Fixed(a.name, b.name),))
            continue
        stiffness = shaft_stiffness(bar, length, stock.shear_modulus)
        made += _Parts(links=(Link(f"shaft between {a.name} and {b.name}", a.name, b.name, stiffness),))
        for x in (a, b):
            inertia[x.name] += per_length * length / 2
    return made + _Parts(tuple((Disc(name, own), turns) for name, own in inertia.items()))


def _joined_by_stage(m: Mechanism, k: int, taut: Taut) -> _Parts:
    stage = m.stages[k - 1]
    if stage.kind != "chain":
        return _Parts(fixed=(Fixed(driver(k), names.driven_sprocket(k), stage.driven / stage.driver),))
    run = chain_run(m, k)
    stiffness = run.stiffness + (further_strand(stage, run.stiffness) if taut == "both" else 0.0)
    return _Parts(links=(Link(names.stage(k), driver(k), names.driven_sprocket(k), stiffness, run.travel),))


def further_strand(stage: Stage, stiffness: float) -> float:
    """Give what a chain's other strand adds to a strand's stiffness, N/m: as much where both are tight, else 0.

    On a sprung idler it is the spring's rate as the strand feels it, force and movement over 2 sin(lean) each.
    """
    if stage.tensioner is not None:
        return float(stage.tensioner.rate / (2 * np.sin(stage.tensioner.lean)) ** 2)
    return stiffness if stage.tight > 0 else 0.0


def _throws(side: SideLinkage) -> tuple[str, ...]:
    return tuple(throw(side.side.name, side.side.panels[k].name) for k in throw_order(side.side))


def _along(side: SideLinkage) -> tuple[str, ...]:
    """Name a side's rotors from the drive's end to the outermost throw."""
    name = side.side.name
    start = () if side.side.crank.coupling.stiffness is None else (shaft_end(name),)
    return (*start, names.coupling(name), *_throws(side))


def _crankshaft(side: SideLinkage) -> _Parts:
    """Give a side's crankshaft; where it is clamped on, its inner end is the drive's."""
    name, coupling = side.side.name, side.side.crank.coupling
    own = own_inertia(side.side)
    throws = _throws(side)
    row = (names.coupling(name), *throws)
    discs = tuple((Disc(n, float(x)), 1.0) for n, x in zip(throws, own[1:], strict=True))
    links = tuple(
        Link(f"crankshaft between {a} and {b}", a, b, k)
        for (a, b), k in zip(pairwise(row), crank_stiffness(side.side), strict=True)
    )
    if coupling.stiffness is None:
        return _Parts(discs, links)
    winds = Link(names.coupling(name), shaft_end(name), row[0], coupling.stiffness)
    return _Parts(((Disc(row[0], float(own[0])), 1.0), *discs), (winds, *links))
