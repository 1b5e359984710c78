"""How far parts come toward each other because crankshafts bend: over the instants of runs, by closing the loops anew.

A part is stood for by the points between which what it is moved by runs straight: a panel by its edges along the
hinge, a rod by its eyes, a throw, the shaft and counterweights by the frame's nodes. Two parts of one side are moved
together; what brings them nearer is no more than the largest difference between any two of those points. All is kept
by crank angle, since where a shaft bends most need not be where two parts are near.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.mechanism import Panel, Weight
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.clearance import POSES
from sim.clearance.solids import ROD_END, Solid, counterweight_name, shaft_name, throw_name
from sim.linkage import TURN, SideLinkage
from sim.run import Run
from sim.shaft.bending import Bent, standing
from sim.shaft.crank import INNER, CrankFrame
from sim.shaft.loading import of_run, recorded
from sim.shaft.wings import pins_moved, wing_errors

RIGID = ("throw", "shaft", "counterweight")
"""Kinds of parts that are one piece with each other."""


@dataclass(frozen=True)
class Give:
    """How far parts are moved at most in each of `POSES` cells of the turn; nan where no run has been.

    Attributes
    ----------
    alone : by a part's name, (POSES,) from its place on a rigid crankshaft, m.
    apart : by two parts of one side, (POSES,) against each other, m.
    """

    alone: Mapping[str, Array]
    apart: Mapping[frozenset[str], Array]

    def of(self, first: Solid, second: Solid) -> Array:
        """Give by how much two parts may come nearer to each other in each cell or beside it (POSES,), m."""
        both = frozenset({first.name, second.name})
        found = self.apart.get(both)
        if found is None:
            found = np.sum([self.alone[name] for name in sorted(both) if name in self.alone], axis=0)
            found = np.zeros(POSES) + found
        # A cell that no run has come to counts as the worst of all.
        known = np.where(np.isnan(found), np.max(found, initial=0.0, where=~np.isnan(found)), found)
        return np.max([np.roll(known, k) for k in (-1, 0, 1)], axis=0)


def of_runs(closed: Linkage, runs: Iterable[Run]) -> Give:
    """Give how far the parts of a sculpture are moved over runs; nothing of sides whose pins' forces a run lacks."""
    alone: dict[str, Array] = {}
    apart: dict[frozenset[str], Array] = {}
    for run in runs:
        for side in closed.sides:
            if not recorded(run, side.side):
                continue
            loading = of_run(run, side.side, closed.mechanism.gravity)
            shape = loading.shape()
            points = moved_points(side, loading.crank, shape)
            where = cells(loading.crank)
            kinds = _kinds(side)
            if not closed.mechanism.stages:
                points[names.WHEEL] = points[_INNER]
            for name, moved in points.items():
                _raise(alone, name, where, np.linalg.norm(moved, axis=-1).max(axis=1))
            for a, b in combinations(kinds, 2):
                if kinds[a] in RIGID and kinds[b] in RIGID:
                    continue
                own, other = points[a], points[b]
                if (kinds[a], kinds[b]) == ("rod", "shaft"):
                    other = other[:, _beside(side, a, shape.crank)]
                away = np.linalg.norm(own[:, :, None] - other[:, None], axis=-1)
                _raise(apart, frozenset({a, b}), where, away.max(axis=(1, 2)))
    return Give(alone, apart)


def cells(crank: ArrayLike) -> NDArray[np.int_]:
    """Give the cells of the turn (...) that crank angles (...), rad, are in."""
    return np.floor(np.asarray(crank) / TURN * POSES).astype(int) % POSES


def _raise(found: dict[Any, Array], key: Hashable, where: NDArray[np.int_], sizes: Array) -> None:
    """Raise what is kept of each cell to the largest that comes up in it."""
    np.fmax.at(found.setdefault(key, np.full(POSES, np.nan)), where, sizes)


_INNER = "inner end"


def _kinds(side: SideLinkage) -> dict[str, str]:
    """Give the kinds of a side's moving parts by their names."""
    own = side.side
    found = {names.panel(own.name, p.name): "panel" for p in own.panels}
    found |= {names.rod(own.name, p.name): "rod" for p in own.panels}
    found |= {throw_name(own.name, p.name): "throw" for p in own.panels}
    found |= {counterweight_name(own.name, k): "counterweight" for k in range(len(own.crank.weights))}
    return {**found, shaft_name(own.name): "shaft"}


def _beside(side: SideLinkage, rod: str, crank: CrankFrame) -> slice:
    """Give which of the nodes on the shaft's axis a rod can be beside, its rod ends' bodies and the next nodes too."""
    course = next(
        c
        for c in side.course(np.linspace(0, TURN, POSES, endpoint=False))
        if names.rod(side.side.name, c.panel.name) == rod
    )
    out = np.concatenate([course.pin.value[:, 1], course.yoke.value[:, 1]])
    body = ROD_END * course.panel.rod.ball / 2
    places = crank.frame.nodes[[k for k, on in enumerate(crank.on_shaft) if on], 1]
    first, last = np.searchsorted(places, [out.min() - body, out.max() + body])
    return slice(max(0, int(first) - 1), int(last) + 1)


def moved_points(side: SideLinkage, crank: Array, shape: Bent) -> dict[str, Array]:
    """Give by part how far its points are moved (n, k, 3), in the side's coordinates, m.

    Parameters
    ----------
    side : with its loops closed.
    crank : (n,) crank angles, rad.
    shape : of its crankshaft at those instants.
    """
    own, frame = side.side, shape.crank
    pins = pins_moved(shape, own.key_angle, crank)
    found: dict[str, Array] = {}
    hinge = np.zeros((len(crank), 3))
    errors = wing_errors(side, crank, pins)
    for number, course in enumerate(side.course(crank)):
        panel, angle, error = course.panel, course.angle.value, errors[course.panel.name]
        edges = np.array(panel.plate.outline.exterior)[:, 1]
        ends = [hinge + _turned(angle, error, float(y), 0.0) for y in (edges.min(), edges.max())]
        found[names.panel(own.name, panel.name)] = np.stack(ends, 1)
        yoke = hinge + _turned(angle, error, panel.yoke_out, -panel.yoke_below)
        found[names.rod(own.name, panel.name)] = np.stack([pins[panel.name], yoke], 1)
        found[throw_name(own.name, panel.name)] = _nodes(shape, _throw_nodes(shape, panel))
        if number + 1 < len(own.panels):
            after: Panel = own.panels[number + 1]
            hinge = hinge + _turned(angle, error, after.hinge_out, after.hinge_up)
    found[shaft_name(own.name)] = _nodes(shape, [k for k, on in enumerate(frame.on_shaft) if on])
    for k, weight in enumerate(own.crank.weights):
        found[counterweight_name(own.name, k)] = _weight(shape, weight)[:, None]
    found[_INNER] = _nodes(shape, [frame.node(INNER)])
    return found


def _turned(angle: Array, error: Array, out: float, above: float) -> Array:
    """Give how far a point of a panel (out and above from its hinge line) is moved (n, 3) by an error of its angle."""

    def place(at: Array) -> Array:
        c, s = np.cos(at), np.sin(at)
        return np.stack([0 * at, c * out - s * above, s * out + c * above], -1)

    return place(angle + error) - place(angle)


def _throw_nodes(shape: Bent, panel: Panel) -> list[int]:
    members = [m for m in shape.crank.frame.members if m.name.endswith(f" of panel '{panel.name}'")]
    return sorted({k for m in members for k in (m.a, m.b)})


def _nodes(shape: Bent, nodes: list[int]) -> Array:
    return np.stack([shape.deflection(k) for k in nodes], 1)


def _weight(shape: Bent, weight: Weight) -> Array:
    """Give how far a counterweight is moved (n, 3), rigid on the node nearest to it."""
    nodes = shape.crank.frame.nodes
    shaft = [k for k, on in enumerate(shape.crank.on_shaft) if on]
    node = min(shaft, key=lambda k: abs(float(nodes[k, 1]) - weight.out))
    arm = np.array([weight.radius * np.sin(weight.angle), 0.0, weight.radius * np.cos(weight.angle)])
    own = shape.moved[:, 6 * node : 6 * node + 6]
    return standing(own[:, :3] + np.cross(own[:, 3:], arm), shape.angle)
