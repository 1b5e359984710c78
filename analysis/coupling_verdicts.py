"""What each kind of coupling would make of the misalignment that a crankshaft's bow and bending give it.

The bow's part turns with the shaft, that of load mostly stands still; they add as they lie at each crank angle of a
turn standing still.
"""

from dataclasses import dataclass, replace

import numpy as np

from analysis.coupling_fit import Misaligned, Verdict, allowed, verdicts
from analysis.coupling_line import inner_line
from analysis.finding import Finding, Limit
from analysis.shaft_bow import Bow, bow
from models.coupling_kinds import coupling_kinds
from models.materials import material
from models.mechanism import Mechanism, Off, Side
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.beam import round_second_moment
from sim.builders import Linkage
from sim.linkage import SideLinkage
from sim.shaft.ends import InnerEnd, inner_end
from sim.shaft.loading import standing_still
from sim.statics import statics

CASE = "standing still"
SHARE = "share of the misalignment that it allows"
FORCE = "force of a rigid clamp on the shaft's end"
MOMENT = "moment of a rigid clamp on the shaft's end"
BEARING = "force of a rigid clamp on a bearing"
SOURCE = "frame in space: the ends' flexibilities and their misalignment by bow and by weights, added"
OFFER = "in its place"
STEEL = "A36 steel"
"""Stock of the drive's centre shaft: descriptions do not say; assumption. Its modulus hardly differs between steels."""


@dataclass(frozen=True)
class Joining:
    """A crankshaft's inner end as its coupling finds it, over a turn standing still.

    Attributes
    ----------
    side : whose.
    bowed : what the bow does.
    off : largest misalignment, angular and parallel, by bow and by load together.
    by_load : the same by load alone.
    clamp : (n, 4) what a rigid clamp would put on the end: force forward and up, N, and moments toward them, N m.
    on_bearings : by joint, the most that the clamp puts on each bearing, N.
    kinds : the verdict on the description's own kind, and after it on the others.
    """

    side: Side
    bowed: Bow
    off: Misaligned
    by_load: Misaligned
    clamp: Array
    on_bearings: dict[str, float]
    kinds: tuple[Verdict, ...]


def joinings(
    closed: Linkage, runout: float | None = None, toward: float | None = None
) -> tuple[Joining, ...]:
    """Judge the kinds of couplings at every side's inner end.

    Parameters
    ----------
    closed : the sculpture.
    runout, toward : of the bow at mid-span, m and rad, as for `analysis.shaft_bow.bow`.
    """
    ends = [_end(s, closed.mechanism, runout, toward) for s in closed.sides]
    found: list[Joining] = []
    for k, (linkage, end) in enumerate(zip(closed.sides, ends, strict=True)):
        other = None if closed.mechanism.stages or len(ends) < 2 else ends[1 - k]
        found.append(_joined(linkage, closed.mechanism, end, other))
    return tuple(found)


@dataclass(frozen=True)
class _End:
    """An inner end over a turn, in standing axes: off line (n, 4) by bow and load and by load alone, and its
    flexibility (n, 4, 4).
    """  # noqa: D205

    bowed: Bow
    angle: Array
    off: Array
    by_load: Array
    flexibility: Array


def _end(closed: SideLinkage, mechanism: Mechanism, runout: float | None, toward: float | None) -> _End:
    made = bow(closed, runout, toward)
    # Throws and bearings off line come with the load's part; the bow is counted by itself.
    straight = replace(closed.side, crank=replace(closed.side.crank, runout=0.0))
    shape = standing_still(replace(closed, side=straight), mechanism).shape()
    line = inner_line(shape)
    by_load = np.concatenate([line.place, line.slope], 1)
    turn = _turns(shape.angle)
    whole = replace(
        made.side.crank, stations=tuple(replace(s, forward=0.0, up=0.0) for s in made.side.crank.stations)
    )
    plain = tuple(replace(p, off=Off()) for p in made.side.panels)
    own = inner_end(replace(made.side, crank=whole, panels=plain)).off
    off = by_load + turn @ own
    flexibility: Array = np.asarray(turn @ made.end.flexibility @ np.swapaxes(turn, 1, 2), dtype=float)
    return _End(made, shape.angle, off, by_load, flexibility)


def _turns(angle: Array) -> Array:
    """Give what turns (4,) of turning axes, forward and up twice, into standing ones, (n, 4, 4)."""
    c, s = np.cos(angle), np.sin(angle)
    pair = np.stack([np.stack([c, s], -1), np.stack([-s, c], -1)], -2)
    found = np.zeros((len(angle), 4, 4))
    found[:, :2, :2] = found[:, 2:, 2:] = pair
    return found


def _joined(closed: SideLinkage, mechanism: Mechanism, end: _End, other: _End | None) -> Joining:
    clamp = _clamp(mechanism, closed.side, end, other)
    back = np.einsum("nji,nj->ni", _turns(end.angle), clamp)
    on_bearings = {
        joint: float(np.linalg.norm(back @ unit.T, axis=1).max())
        for joint, unit in _per_load(end.bowed.end).items()
    }
    off, by_load = (Misaligned(_largest(x[:, 2:]), _largest(x[:, :2])) for x in (end.off, end.by_load))
    turn = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    torque = float(np.max(np.abs(statics(closed, turn, mechanism.gravity, mechanism.friction).torque)))
    coupling = closed.side.crank.coupling
    soft = (np.eye(2), np.zeros((2, 2)))
    kinds = tuple(
        replace(v, force=_largest(clamp[:, :2]), moment=_largest(clamp[:, 2:])) if v.kind == "clamp" else v
        for v in verdicts(coupling, off, soft, torque)
    )
    return Joining(closed.side, end.bowed, off, by_load, clamp, on_bearings, kinds)


def _clamp(mechanism: Mechanism, side: Side, end: _End, other: _End | None) -> Array:
    """Give what a clamp puts on an end (n, 4): ends meet in place and line, (S1 + S2) f = - u (compatibility).

    With a stage the centre shaft's end lies on the other side, straight and true. Without one it is the other
    crankshaft's: its slopes outwards are the other way, and so are the parts between place and slope. The wheel
    between them bends nothing.
    """
    if mechanism.stages:
        plane: Array = np.asarray(np.kron(centre_end(mechanism, side), np.eye(2)), dtype=float)
        return met(end.flexibility, plane, -end.off)
    if other is None:
        return np.zeros_like(end.off)
    mirror = np.diag([1.0, 1.0, -1.0, -1.0])
    facing: Array = np.asarray(mirror @ other.flexibility @ mirror, dtype=float)
    return met(end.flexibility, facing, other.off @ mirror - end.off)


def met(own: Array, other: Array, apart: Array) -> Array:
    """Give the load (n, 4) on an end that brings it and another together: (S1 + S2) f = u.

    Parameters
    ----------
    own, other : flexibilities (n, 4, 4) or (4, 4), place and slope by force and moment, each forward and up.
    apart : (n, 4) how far the other end is from the own one.
    """
    found: Array = np.asarray(np.linalg.solve(own + other, apart[:, :, None])[:, :, 0], dtype=float)
    return found


def _per_load(end: InnerEnd) -> dict[str, Array]:
    """Give by joint what each unit of load at the end puts on the bearing (2, 4)."""
    columns = [end.on_bearings(unit) for unit in np.eye(4)]
    return {joint: np.stack([c[joint] for c in columns], -1) for joint in columns[0]}


def centre_end(mechanism: Mechanism, side: Side) -> Array:
    """Give the flexibility (2, 2) of the centre shaft's end at a coupling: force and moment to place and slope.

    A straight bar on two bearings that reaches over the nearer one to the coupling. Overhang a beyond a span L:
    a^2 (L + a) / 3EI, a (2 L + 3 a) / 6EI, (L + 3 a) / 3EI (mechanics of materials, memory).
    """
    shaft = mechanism.stages[-1].shaft
    near = max(shaft.bearings) if side.sign > 0 else -min(shaft.bearings)
    span = abs(shaft.bearings[1] - shaft.bearings[0])
    over = max(side.crank.ends[0] - near, 0.0)
    stiffness = material(STEEL).modulus * round_second_moment(shaft.diameter)
    both = over * (2 * span + 3 * over) / 6
    return np.array([[over**2 * (span + over) / 3, both], [both, (span + 3 * over) / 3]]) / stiffness


def allowances(side: Side) -> tuple[Limit | None, Limit | None]:
    """Give what a side's coupling allows, angular and parallel; nothing for a clamp, which forces the shafts."""
    kind = allowed(side.crank.coupling)
    if kind.name == "clamp":
        return None, None
    own = coupling_kinds()[kind.name]
    sources = (own.sources["angular"] if kind.angular == own.angular else "the description",
               own.sources.get("parallel", "the description"))  # fmt: skip
    offset = kind.offset(side.crank.coupling.length)
    return Limit(kind.angular, "most", sources[0]), Limit(offset, "most", sources[1])


def of_linkage(closed: Linkage, runout: float | None = None, toward: float | None = None) -> list[Finding]:
    """Give the verdict on each kind of coupling at every side, and what a clamp would put on the shaft."""
    return [f for made in joinings(closed, runout, toward) for f in _of(made)]


def _of(made: Joining) -> list[Finding]:
    where = names.coupling(made.side.name)
    found: list[Finding] = []
    own = made.side.crank.coupling.kind
    bow = f"bow of {shown(made.bowed.runout, 'length')} runout" if made.bowed.runout > 0 else "no bow"
    reading = (
        f"{shown(made.off.angular, 'angle')} and {shown(made.off.parallel, 'length')} off by load and {bow}, "
        f"{shown(made.by_load.angular, 'angle')} and {shown(made.by_load.parallel, 'length')} by load alone"
    )
    for verdict in made.kinds:
        mine = verdict.kind == own
        label = verdict.label if mine else f"{verdict.label}, {OFFER}"
        if verdict.share is not None:
            limit = Limit(1.0, "most", "the limits of its kind or of the description") if mine else None
            words = f"{label}: {'fits' if verdict.fits else 'does not fit'}; {reading}; {verdict.note}"
            what = SHARE if mine else f"{SHARE}, {verdict.label} {OFFER}"
            found.append(
                Finding(what, verdict.share, "ratio", where, CASE, limit=limit, source=SOURCE, note=words)
            )
            continue
        note = f"{label}: {reading}; {verdict.note}"
        found.append(Finding(FORCE, verdict.force or 0.0, "force", where, CASE, source=SOURCE, note=note))
        found.append(Finding(MOMENT, verdict.moment or 0.0, "torque", where, CASE, source=SOURCE, note=note))
        joint = max(made.on_bearings, key=lambda j: made.on_bearings[j])
        found.append(
            Finding(BEARING, made.on_bearings[joint], "force", joint, CASE, source=SOURCE,
                    note=f"{label}: the most that it puts on any bearing of the crankshaft, beside its other loads")
        )  # fmt: skip
    return found


def _largest(v: Array) -> float:
    return float(np.linalg.norm(v, axis=1).max())
