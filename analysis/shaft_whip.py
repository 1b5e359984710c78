"""How far the built-up crankshafts move sideways: what turns with the shaft, and what comes from load.

Whip is the sideways movement of a shaft. Here the crankshaft is a frame in space on its bearings, its bars, webs and
pins elastic (`sim.shaft`), under the recorded forces of its rods, its own weight and its spin. What welding left, a
bow and throws off line, turns with it. At a throw the crank pin is meant, with what its webs bend and what the
shaft twists from the coupling outwards.

Usage: python -m analysis.shaft_whip RUN...
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analysis import centre_bearing, coupling_line
from analysis.coupling_line import Misaligned, unlimited
from analysis.finding import Finding, Limit
from analysis.script import script
from models.mechanism import Side, Station, from_canonical
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.run import Run
from sim.shaft.bending import Bent
from sim.shaft.crank import INNER, bearing, bearing_joints, middles, throw
from sim.shaft.loading import Loading, at_instants, of_run, recorded, standing_still, unloaded
from sim.shaft.stress import equivalent

DEFLECTION = "largest sideways deflection"
TURNING = "sideways deflection that turns with it"
ENGINE = "largest sideways deflection as the engine bends it"
LOADED = "largest sideways deflection from load"
SLOPE = "largest slope of the shaft"
FORCE = "largest force of the bent shaft on it"
SHAFT = "shaft"
"""Where the largest deflection on the shaft's axis is given, wherever along the shaft it is."""
SOURCE = "Timoshenko frame in space, webs and pins elastic, under the recorded loads"
STILL = "Timoshenko frame in space, webs and pins elastic, standing still in closed form"
LEFT_OUT = "whip: loads along the shaft that stiffen it, shrink fits, and what the joints of webs, pins and shaft give"
"""What the frame does not know."""
CASE = "standing still"
NOTHING = 1e-9
"""Deflections below it are rounding, m."""
Slopes = Callable[[Side, Station], Limit | None]
"""Gives the slope that a bearing of a side allows, or None."""


def no_slope(side: Side, station: Station) -> None:
    """Give no limit to any bearing's slope."""
    del side, station


@dataclass(frozen=True)
class When:
    """What a loading stands for: its load case in words, how its findings were made."""

    case: str
    source: str


def findings(run: Run, slopes: Slopes = no_slope, misaligned: Misaligned = unlimited) -> list[Finding]:
    """Give the whip of every crankshaft of a run, its slopes, and what its couplings have to take.

    Parameters
    ----------
    run : any; a side whose pins' forces it does not have is left out.
    slopes : what slope each bearing allows.
    misaligned : what misalignment each coupling allows.
    """
    mechanism = from_canonical(run.description)
    found: list[Finding] = []
    for side in mechanism.sides:
        if recorded(run, side):
            loading = of_run(run, side, mechanism.gravity)
            shape = loading.shape()
            when = When(run.label, SOURCE)
            found += of_shape(loading, shape, when, slopes)
            found += coupling_line.of_run(run, mechanism, loading, shape, when.source, misaligned)
        found += _engine(run, side)
    return found


def _engine(run: Run, side: Side) -> list[Finding]:
    """Give the largest deflections that the engine recorded, where it let the crankshaft bend."""
    crank = names.crankshaft(side.name)
    found: list[Finding] = []
    for name in run.names("shafts"):
        where, _, label = name.partition(", ")
        if where != crank or f"shafts/{name}/deflection" not in run.channels or label.startswith("bearing"):
            continue
        moved = np.linalg.norm(run[f"shafts/{name}/deflection"][:, [0, 2]], axis=1)
        n = int(np.argmax(moved))
        angle = float(run[f"angles/{crank}/angle"][n])
        found.append(
            Finding(ENGINE, float(moved[n]), "length", name, run.label, float(run.time[n]), angle,
                    source="multibody engine, the frame's shapes in a floating frame",
                    note="its own swings and loads at moved places counted in; among the steps that are kept")
        )  # fmt: skip
    return found


def of_linkage(
    closed: Linkage, slopes: Slopes = no_slope, misaligned: Misaligned = unlimited
) -> list[Finding]:
    """Give the static whip: the same over a turn standing still, without any run.

    Parameters
    ----------
    closed : the sculpture.
    slopes, misaligned : as for `findings`.
    """
    found: list[Finding] = []
    for linkage in closed.sides:
        loading = standing_still(linkage, closed.mechanism)
        shape = loading.shape()
        found += of_shape(loading, shape, When(CASE, STILL), slopes)
        found += coupling_line.of_shape(closed.mechanism, loading, shape, CASE, STILL, misaligned)
    return found


def by_case(groups: Iterable[tuple[str, Sequence[Run]]]) -> list[tuple[str, Finding]]:
    """Give for each load case the largest deflection on a shaft's axis and at each throw, on the worse side.

    Parameters
    ----------
    groups : name of a case and its runs.
    """
    found: list[tuple[str, Finding]] = []
    for name, runs in groups:
        worst: dict[str, Finding] = {}
        for run in runs:
            for side in from_canonical(run.description).sides:
                if not recorded(run, side):
                    continue
                loading = of_run(run, side, from_canonical(run.description).gravity)
                for f in deflections(loading, loading.shape(), When(run.label, SOURCE)):
                    place = f.where.partition(", ")[2]
                    if f.what == DEFLECTION and (place not in worst or f.value > worst[place].value):
                        worst[place] = f
        found += [(name, f) for f in worst.values()]
    return found


def of_shape(loading: Loading, shape: Bent, when: When, slopes: Slopes = no_slope) -> list[Finding]:
    """Give what a bent crankshaft shows: deflections, slopes, bearing forces, what a centre bearing does."""
    return [
        *deflections(loading, shape, when),
        *_slopes(loading, shape, when, slopes),
        *_forces(loading, shape, when),
        *centre_bearing.of_shape(loading, shape, when.case, when.source),
    ]


# --- Deflections ---


def deflections(loading: Loading, shape: Bent, when: When) -> list[Finding]:
    """Give the largest deflections of a crankshaft, where something turns with it in both parts as well."""
    side = loading.side
    turns = unloaded(side)
    moved = {place: _sideways(shape, nodes) for place, nodes in places(shape).items()}
    worst = {place: _largest(m) for place, m in moved.items()}
    yields = _yields(shape, [n for n, _ in worst.values()])
    found: list[Finding] = []
    for (place, nodes), beyond in zip(places(shape).items(), yields, strict=True):
        n, k = worst[place]
        words: list[str] = []
        if place == SHAFT:
            words.append(f"{1000 * float(shape.crank.frame.nodes[nodes[k], 1]):.0f} mm out")
        elif nodes[k] in (shape.crank.node(throw(p.name)) for p in side.panels):
            words.append("of the pin, webs' bending and the shaft's twist from the coupling on counted in")
        where = f"{names.crankshaft(side.name)}, {place}"
        still = _sideways(turns, nodes)[0]
        turning = np.linalg.norm(still, axis=1)
        apart: list[Finding] = []
        if float(turning.max()) > NOTHING:
            loaded = moved[place] - standing_parts(still, shape.angle)
            words.append(f"{shown(turning[k], 'length')} of it turns with the shaft, "
                         f"{shown(float(np.linalg.norm(loaded[n, k])), 'length')} comes from load")  # fmt: skip
            j = int(np.argmax(turning))
            apart.append(Finding(TURNING, float(turning[j]), "length", where, when.case, source=when.source,
                                 note="bow and throws off line as welded, on its bearings, no load"))  # fmt: skip
            m, j = _largest(loaded)
            apart.append(Finding(LOADED, float(np.linalg.norm(loaded[m, j])), "length", where, when.case,
                                 *loading.when(m), source=when.source, note=_standing(side)))  # fmt: skip
        size = float(np.linalg.norm(moved[place][n, k]))
        found.append(Finding(DEFLECTION, size, "length", where, when.case, *loading.when(n), source=when.source,
                             note="; ".join([*words, *beyond])))  # fmt: skip
        found += apart
    return found


def places(shape: Bent) -> dict[str, tuple[int, ...]]:
    """Give where a crankshaft's deflection is wanted, with its nodes: on its axis, throws, mid-span, inner end."""
    crank = shape.crank
    shaft = tuple(k for k, on in enumerate(crank.on_shaft) if on)
    named = {s.label: (s.node,) for s in crank.stations}
    wanted = [*(throw(p.name) for p in crank.side.panels), *(x for x, _ in middles(crank.side)), INNER]
    return {SHAFT: shaft, **{label: named[label] for label in wanted if label in named}}


def standing_parts(still: Array, angle: Array) -> Array:
    """Give what turns with the shaft (k, 2) in standing axes (n, k, 2), forward and up, at angles (n,), rad."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    return np.stack([c * still[:, 0] + s * still[:, 1], c * still[:, 1] - s * still[:, 0]], -1)


def _standing(side: Side) -> str:
    """Say what else than load moves a shaft without turning with it."""
    askew = any(s.forward or s.up or s.clearance for s in side.crank.stations)
    return "bearings off line and their clearance counted in" if askew else ""


def _sideways(shape: Bent, nodes: tuple[int, ...]) -> Array:
    """Give the sideways displacements (n, k, 2), forward and up, m, of nodes."""
    return np.stack([shape.deflection(k)[:, [0, 2]] for k in nodes], 1)


def _largest(moved: Array) -> tuple[int, int]:
    """Give the instant and the number of the node with the largest of displacements (n, k, 2)."""
    size = np.linalg.norm(moved, axis=2)
    n, k = np.unravel_index(np.argmax(size), size.shape)
    return int(n), int(k)


def _yields(shape: Bent, instants: Sequence[int]) -> list[list[str]]:
    """Say for each instant where the shaft bends for good: what is elastic here is not then."""
    members = shape.crank.frame.members
    loads = at_instants(shape, instants).end_loads
    material = shape.crank.side.crank.material
    found: list[list[str]] = []
    for stress in equivalent(members, loads).max(axis=2):
        k = int(np.argmax(stress))
        words = f"{members[k].name} at {shown(stress[k], 'stress')} nominal stress is beyond what {material.name} "
        words += f"yields at, {shown(material.strength, 'stress')}: it bends farther, and for good"
        found.append([words] if stress[k] > material.strength else [])
    return found


# --- Slopes and forces at the bearings ---


def _slopes(loading: Loading, shape: Bent, when: When, slopes: Slopes) -> list[Finding]:
    side = loading.side
    ends = [
        (joint, shape.crank.node(bearing(k)), slopes(side, station))
        for k, (joint, station) in enumerate(
            zip(bearing_joints(side), side.crank.stations, strict=True), 1
        )
    ]  # fmt: skip
    ends.append((f"{names.crankshaft(side.name)}, {INNER}", shape.crank.node(INNER), None))
    found: list[Finding] = []
    for where, node, limit in ends:
        slope = shape.slope(node)
        n = int(np.argmax(slope))
        found.append(Finding(SLOPE, float(slope[n]), "angle", where, when.case, *loading.when(n), limit, when.source,
                             "against the crank's axis"))  # fmt: skip
    return found


def _forces(loading: Loading, shape: Bent, when: When) -> list[Finding]:
    """Give the bearings' forces where there are more than two: then they hang on how the shaft bends."""
    side = loading.side
    if len(side.crank.stations) <= 2:
        return []
    found: list[Finding] = []
    for k, joint in enumerate(bearing_joints(side), 1):
        force = shape.bearing_force(k)
        size = np.linalg.norm(force, axis=1)
        n = int(np.argmax(size))
        x, y, z = force[n]
        found.append(Finding(FORCE, float(size[n]), "force", joint, when.case, *loading.when(n), source=when.source,
                             note=f"on it: forward {x:.0f} N, out {y:.0f} N, up {z:.0f} N"))  # fmt: skip
    return found


if __name__ == "__main__":
    script(findings, __doc__)
