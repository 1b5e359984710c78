"""What a centre bearing between the throws does to a crankshaft: its deflection with and without."""

from dataclasses import dataclass, replace

import numpy as np

from analysis.finding import Finding
from models.mechanism import Side, Station
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.shaft.bending import Bent
from sim.shaft.crank import bearing, throw
from sim.shaft.loading import Loading

WITHOUT = "largest deflection of its axis without a centre bearing"
WITH = "largest deflection of its axis with a centre bearing"
CARRIES = "largest force that a centre bearing carries"
SHORTEST = 1.0
"""Length of bar, in diameters of the shaft, that a bearing needs to sit on; assumption."""


@dataclass(frozen=True)
class Centre:
    """A crankshaft with its centre bearings and without.

    Attributes
    ----------
    described : whether the description has them; else one is proposed.
    stations : they, with their numbers from 1 among the bearings of `given`.
    given, bare : the side with them and without.
    """

    described: bool
    stations: tuple[tuple[int, Station], ...]
    given: Side
    bare: Side

    @property
    def words(self) -> str:
        """Where they are."""
        places = ", ".join(f"{1000 * s.out:.0f}" for _, s in self.stations)
        return f"centre bearing{'s' * (len(self.stations) > 1)} at {places} mm"

    @property
    def why(self) -> str:
        """Where they come from."""
        if self.described:
            return "the description's"
        return "the description has none: one is tried, rigid and in line, in the middle of the bar nearest to mid-span"


def centre(side: Side) -> Centre | None:
    """Give a side's centre bearings, or propose one; None where no bar between the main bearings has room for it."""
    stations, main = side.crank.stations, side.crank.bearings
    own = tuple((k, s) for k, s in enumerate(stations, 1) if s.out not in main)
    if own:
        bare = replace(side.crank, stations=tuple(s for s in stations if s.out in main))
        return Centre(True, own, side, replace(side, crank=bare))
    out = proposed(side)
    if out is None:
        return None
    added = (*stations, Station(out, "arm", None))
    given = replace(side, crank=replace(side.crank, stations=added))
    return Centre(False, ((len(added), added[-1]),), given, side)


def proposed(side: Side) -> float | None:
    """Give the middle, m out, of the bar nearest to mid-span of the main bearings, webs taken off; None for none."""
    near, far = sorted(side.crank.bearings)
    half = side.crank.cheek.half
    faces = sorted(p.throw_out for p in side.panels if near < p.throw_out < far)
    edges = [near, *(y + s * half for y in faces for s in (-1, 1)), far]
    bars = [
        (a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= SHORTEST * side.crank.shaft
    ]
    middles = [(a + b) / 2 for a, b in bars]
    return min(middles, key=lambda out: abs(out - (near + far) / 2), default=None)


def sideways(shape: Bent) -> tuple[Array, Array]:
    """Give the places (k,), m out, of the nodes on a shaft's axis and their sideways deflections (n, k), m."""
    nodes = [k for k, on in enumerate(shape.crank.on_shaft) if on]
    moved = np.stack([shape.deflection(k) for k in nodes], 1)
    return shape.crank.frame.nodes[nodes, 1], np.hypot(moved[:, :, 0], moved[:, :, 2])


def pin_sideways(shape: Bent, panel: str) -> Array:
    """Give the sideways deflection (n,), m, of a panel's crank pin."""
    moved = shape.deflection(shape.crank.node(throw(panel)))
    return np.hypot(moved[:, 0], moved[:, 2])


def of_shape(loading: Loading, shape: Bent, case: str, source: str) -> list[Finding]:
    """Give a crankshaft's largest deflection with and without a centre bearing, and what that carries.

    Parameters
    ----------
    loading : what acts on it.
    shape : of the crankshaft as described.
    case, source : of the findings.
    """
    found = centre(loading.side)
    if found is None:
        return []
    shapes = {True: shape, False: loading.shape(found.bare if found.described else found.given)}
    given, bare = shapes[found.described], shapes[not found.described]
    where = f"{names.crankshaft(loading.side.name)}, {found.words}"
    pins = ", ".join(
        f"'{p.name}' {shown(float(pin_sideways(bare, p.name).max()), 'length')} without, "
        f"{shown(float(pin_sideways(given, p.name).max()), 'length')} with"
        for p in loading.side.panels
    )
    findings: list[Finding] = []
    for what, of in ((WITHOUT, bare), (WITH, given)):
        outs, size = sideways(of)
        n, k = (int(i) for i in np.unravel_index(np.argmax(size), size.shape))
        note = f"{1000 * outs[k]:.0f} mm out; {f'pins: {pins}' if of is given else found.why}"
        findings.append(Finding(what, float(size[n, k]), "length", where, case, *loading.when(n), source=source,
                                note=note))  # fmt: skip
    forces = [given.bearing_force(number) for number, _ in found.stations]
    sizes = np.stack([np.linalg.norm(f, axis=1) for f in forces])
    k, n = (int(i) for i in np.unravel_index(np.argmax(sizes), sizes.shape))
    x, _, z = forces[k][n]
    findings.append(
        Finding(CARRIES, float(sizes[k, n]), "force", where, case, *loading.when(n), source=source,
                note=f"on {bearing(found.stations[k][0])}: forward {x:.0f} N, up {z:.0f} N")
    )  # fmt: skip
    return findings
