"""Arms that carry crankshaft bearings: stress, weld, and how far they let the bearings move and lean.

Each side has one arm, which carries all its bearings that no post holds. What the arm does to the post's wall is not
judged.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analysis import shaft_limits
from analysis.loads import BOUND, USED, Loads
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing
from analysis.structure.cantilever import Cantilever
from analysis.structure.situations import own_wind, still
from analysis.structure.tube import TABLES, weld_checks, yielding
from models.mechanism import Crankshaft, Mechanism, Side, Station, Weight
from models.shown import shown
from models.structure import Arm
from sim.arrays import Array
from sim.shaft.crank import bearing_joints
from sim.weights import arm_root, arm_stations

FAMILY = "bearing arm"
WALL = "the post's wall where the arm is welded to it gives and is not judged: ask the structural engineer"
Found = tuple[float, str]
"""The largest of something, and the load case."""


@dataclass(frozen=True)
class Held:
    """An arm with the bearings on it.

    Attributes
    ----------
    side : whose bearings.
    way : 1 where it reaches out to its own side, -1 where it reaches across.
    stations, joints : the bearings, and their joints' names.
    beam : the arm.
    """

    side: Side
    way: float
    stations: tuple[Station, ...]
    joints: tuple[str, ...]
    beam: Cantilever

    @property
    def own_names(self) -> tuple[str, ...]:
        """The bearings' names without their side's."""
        return tuple(j.removeprefix(f"{self.side.name} ") for j in self.joints)


def held(m: Mechanism) -> Iterator[Held]:
    """Give every arm with its bearings; those within the post's wall are none of an arm's."""
    arm = m.structure.arm
    if arm is None:
        return
    root = arm_root(m)
    for side in m.sides:
        named = dict(zip((s.out for s in side.crank.stations), bearing_joints(side), strict=True))
        for way, stations in arm_stations(side).items():
            beyond = tuple(s for s in stations if abs(s.out) > root)
            if beyond:
                beam = Cantilever(arm, tuple(abs(s.out) - root for s in beyond), m.gravity)
                yield Held(side, way, beyond, tuple(named[s.out] for s in beyond), beam)


def forces(loads: Loads, x: Held, *, used: bool, bound: bool = False) -> Iterator[tuple[str, list[Array]]]:
    """Give the names of load cases and the forces (n, 3), N, on an arm's bearings in their runs, out along the arm.

    Parameters
    ----------
    loads : with all runs.
    x : the arm.
    used : only cases in which everything runs as it should.
    bound : only those that are an upper bound; else all but those.
    """
    mirror = np.array([1.0, x.side.sign * x.way, 1.0])
    for group in loads.campaign.groups:
        kind = group.case.kind
        if (kind == BOUND) is not bound or (used and kind not in USED):
            continue
        for run in group.runs:
            found = [run.channels.get(f"joints/{joint}/force") for joint in x.joints]
            known = [c.values * mirror for c in found if c is not None]
            if len(known) == len(found):
                yield group.name, known


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give a line for each arm, or for both sides' where they are mirror images."""
    found: dict[str, list[Line]] = {}
    for x in held(basis.mechanism):
        where = "" if basis.loads.mirrored else f"{x.side.name} "
        where = f"{where}arm" if x.way > 0 else f"{where}arm across"
        found.setdefault(where, []).append(_line(basis, x, where))
    return tuple(
        Line(FAMILY, where, len(both), "", None, None, _worse([b.described for b in both if b.described]),
             both[0].notes)
        for where, both in found.items()
    )  # fmt: skip


def _worse(sizings: list[Sizing]) -> Sizing:
    """Give of several sides' checks the worse of each."""
    each = zip(*(s.checks for s in sizings), strict=True)
    return Sizing(sizings[0].size, tuple(min(c, key=lambda x: x.margin) for c in each), sizings[0].source)


def _line(basis: Basis, x: Held, where: str) -> Line:
    m, arm, beam = basis.mechanism, x.beam.arm, x.beam
    welds, notes = _welds(basis, x)
    clear = _clear(m, x)
    checks = (*_strong(basis, x), *_stiff(basis, x), *welds, *(() if clear is None else (clear,)))
    bounds = [float(np.max(beam.stress(f))) for _, f in forces(basis.loads, x, used=False, bound=True)]
    return Line(FAMILY, where, 1, "", None, None, Sizing(_size(arm), checks, "description"),
                (*notes, *_notes(x, max(bounds, default=0.0)), *own_wind(basis.loads)))  # fmt: skip


def _size(arm: Arm) -> str:
    across = shown(arm.outside, "length")
    size = f"tube {across} x {shown(arm.wall, 'length')}" if arm.wall else f"bar {across}"
    return f"{size}, {arm.material.name}"


def _notes(x: Held, bound: float) -> tuple[str, ...]:
    arm = x.beam.arm
    found = [WALL, f"it carries: {', '.join(x.own_names)}", *_stiffness(x)]
    if bound > 0:
        found.append(
            f"with a panel blocked at most {shown(bound, 'stress')}, an upper bound: only the blocked panel's rod "
            "gives in it; a torque limiter or a slipping hub bounds it"
        )
    if arm.bracket is None and (arm.up or arm.forward):
        found.append(
            "the bracket between arm and bearing is not described: it counts as rigid, the bearing moves more"
        )
    return tuple(found)


def _strong(basis: Basis, x: Held) -> list[Check]:
    """Give the stress of the arm and of its brackets under the worst loads met."""
    use, beam = basis.mechanism.use, x.beam
    worst: Found = (0.0, "none")
    bracket: Found = (0.0, "none")
    for name, force in forces(basis.loads, x, used=False):
        worst = max(worst, (float(np.max(beam.stress(force))), name))
        for each in force:
            stress = beam.bracket_stress(each)
            if stress is not None:
                bracket = max(bracket, (float(np.max(stress)), name))
    strength = beam.arm.material.strength
    found = [yielding("stress at the post, bending and twist", worst[0], strength, use, worst[1],
                      f"cantilever tube, von Mises; {TABLES}", still(basis.loads, worst[1]))]  # fmt: skip
    if beam.arm.bracket is not None and beam.offset.any():
        found.append(yielding("stress at a bracket's foot", bracket[0], strength, use, bracket[1],
                              f"cantilever flat bar; {TABLES}", still(basis.loads, bracket[1])))  # fmt: skip
    return found


def _stiff(basis: Basis, x: Held) -> list[Check]:
    """Give how far each bearing moves and leans in use."""
    m, found = basis.mechanism, list[Check]()
    for which, (station, name) in enumerate(zip(x.stations, x.own_names, strict=True)):
        far: Found = (0.0, "none")
        lean: Found = (0.0, "none")
        for case, force in forces(basis.loads, x, used=True):
            moved, turned = x.beam.moved(force, which)
            # What moves along the shaft or turns about it does nothing to it.
            far = max(far, (float(np.max(np.hypot(moved[:, 0], moved[:, 2]))), case))
            lean = max(lean, (float(np.max(np.hypot(turned[:, 0], turned[:, 2]))), case))
        slope = shaft_limits.slope_limit(x.side, station)
        bend = shaft_limits.deflection_limit(m, x.side, station.out)
        found += [
            Check(f"movement of the {name} in use", far[0], bend.value, "length", far[1],
                  f"as much as the shaft may bend, {bend.source}; cantilever, {TABLES}"),
            Check(f"lean of the {name} in use", lean[0], slope.value, "angle", lean[1], slope.source,
                  note="the shaft's own slope comes on top"),
        ]  # fmt: skip
    return found


def _welds(basis: Basis, x: Held) -> tuple[tuple[Check, ...], tuple[str, ...]]:
    duties = [basis.duty[j] for j in x.joints if j in basis.duty]
    if len(duties) < len(x.joints):
        return (), (
            "its loads over a turn hang on how the shaft bends over more than two bearings: its weld is not judged",
        )
    force = [d.force * np.array([1.0, x.way, 1.0]) for d in duties]
    return weld_checks(
        x.beam.tube, x.beam.arm.weld, x.beam.root(force), x.beam.axial(force), duties[0].turns,
        basis.mechanism.use,
    )  # fmt: skip


def _clear(m: Mechanism, x: Held) -> Check | None:
    """Give how far what turns beside it swings against where the arm is; None where nothing does."""
    arm, c = x.beam.arm, x.side.crank
    inner, outer = arm_root(m), max(abs(s.out) for s in x.stations)
    beside = [p for p in x.side.panels if inner - c.cheek.half < x.way * p.throw_out < outer + c.cheek.half]
    outline = c.cheek.outline
    swings = [
        max(
            p.throw_radius + p.rod.ball / 2,
            math.hypot(p.throw_radius + c.cheek.width / 2, c.cheek.width / 2)
            if outline is None
            else max(math.hypot(*point) for point in outline.exterior),
        )
        for p in beside
    ]
    swings += [w.radius + _ball(w, c) for w in c.weights if inner < x.way * w.out < outer]
    if not swings:
        return None
    free = math.hypot(arm.up, arm.forward) - arm.outside / 2
    return Check("radius that webs and counterweights sweep beside it", max(swings), max(0.0, free), "length",
                 "geometry", "distance of the arm from the crank's axis less half its outside",
                 note="a counterweight is a ball of its mass: a plate reaches farther; rods and panels are not looked "
                 "at")  # fmt: skip


def _ball(w: Weight, c: Crankshaft) -> float:
    """Give the radius of a ball of a counterweight's mass, m: the least that it can be, as in the clearances."""
    return (3 * w.mass / (4 * math.pi * c.material.density)) ** (1 / 3)


def _stiffness(x: Held) -> list[str]:
    """Say how stiffly the arm holds each bearing by itself, and what the description says of that."""
    found: list[str] = []
    for which, (station, name) in enumerate(zip(x.stations, x.own_names, strict=True)):
        alone = [np.zeros((2, 3)) for _ in x.stations]
        alone[which] = np.eye(3)[[0, 2]]
        moved, _ = x.beam.moved(alone, which)
        said = (
            "the description gives none, so it counts as rigid in the motion"
            if station.stiffness is None
            else f"the description says {shown(station.stiffness, 'stiffness')}"
        )
        found.append(
            f"it holds the {name} with {shown(float(1 / moved[0, 0]), 'stiffness')} forward and "
            f"{shown(float(1 / moved[1, 2]), 'stiffness')} up; {said}"
        )
    return found
