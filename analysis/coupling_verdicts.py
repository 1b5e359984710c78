"""What each kind of coupling would make of the misalignment that a crankshaft's bow and bending give it.

The bow's part turns with the shaft, that of load mostly stands still; they add as they lie at each crank angle of a
turn standing still.
"""

from dataclasses import dataclass, replace

import numpy as np

from analysis.coupling_fit import Misaligned, Verdict, allowed, verdicts
from analysis.coupling_line import inner_line
from analysis.finding import Finding, Limit
from analysis.shaft_bow import DIRECTIONS, Bow, bow
from models.coupling_kinds import coupling_kinds
from models.mechanism import Mechanism, Off, Side
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.beam import round_second_moment
from sim.builders import Linkage
from sim.linkage import SideLinkage
from sim.shaft.ends import InnerEnd, inner_end
from sim.shaft.loading import bowed, standing_still
from sim.statics import statics

CASE = "standing still"
SHARE = "share of the misalignment that it allows"
FORCE = "force of a rigid clamp on the shaft's end"
MOMENT = "moment of a rigid clamp on the shaft's end"
BEARING = "force of a rigid clamp on a bearing"
SOURCE = "frame in space: the ends' flexibilities and their misalignment by bow and by weights, added"
OFFER = "in its place"


@dataclass(frozen=True)
class Joining:
    """A crankshaft's inner end as its coupling finds it, over a turn standing still.

    Attributes
    ----------
    side : whose.
    bowed : what the bow does.
    off : largest misalignment, angular and parallel, by bow and by load together.
    by_load : the same by load, throws and bearings off line, without the bow.
    clamps : (d, n, 4) what a rigid clamp would put on the end, for each direction of the bow: force forward and up, N,
        and moments toward them, N m.
    on_bearings : by joint, the most that the clamp puts on each bearing, N.
    kinds : the verdict on the description's own kind, and after it on the others.
    """

    side: Side
    bowed: Bow
    off: Misaligned
    by_load: Misaligned
    clamps: Array
    on_bearings: dict[str, float]
    kinds: tuple[Verdict, ...]


def joinings(
    closed: Linkage, runout: float | None = None, toward: float | None = None
) -> tuple[Joining, ...]:
    """Judge the kinds of couplings at every side's inner end.

    Parameters
    ----------
    closed : the sculpture.
    runout, toward : of the bow at mid-span, m and rad, as for `analysis.shaft_bow.bow`. Where the bow's direction is
        not known each figure is that of its worst direction, together with the load; where two crankshafts meet
        without a stage between them, of the worst two, each by itself.
    """
    ends = [_end(s, closed.mechanism, runout, toward) for s in closed.sides]
    found: list[Joining] = []
    for k, (linkage, end) in enumerate(zip(closed.sides, ends, strict=True)):
        other = None if closed.mechanism.stages or len(ends) < 2 else ends[1 - k]
        found.append(_joined(linkage, closed.mechanism, end, other))
    return tuple(found)


@dataclass(frozen=True)
class _End:
    """An inner end over a turn, in standing axes.

    Attributes
    ----------
    bowed : what the bow does.
    angle : (n,) of the turning axes.
    by_load : (n, 4) off line by load, throws and bearings.
    by_bow : (d, n, 4) off line by the bow, for each of its directions.
    flexibility : (n, 4, 4).
    """

    bowed: Bow
    angle: Array
    by_load: Array
    by_bow: Array
    flexibility: Array


def _end(closed: SideLinkage, mechanism: Mechanism, runout: float | None, toward: float | None) -> _End:
    made = bow(closed, runout, toward)
    # Throws and bearings off line come with the load's part; the bow is counted by itself.
    straight = replace(closed.side, crank=replace(closed.side.crank, runout=0.0))
    shape = standing_still(replace(closed, side=straight), mechanism).shape()
    line = inner_line(shape)
    turn = _turns(shape.angle)
    ways = np.array([made.side.crank.runout_angle]) if made.known else DIRECTIONS
    if made.runout == 0:
        ways = ways[:1]
    true = tuple(replace(s, forward=0.0, up=0.0) for s in straight.crank.stations)
    plain = replace(
        straight,
        crank=replace(straight.crank, stations=true),
        panels=tuple(replace(p, off=Off()) for p in straight.panels),
    )
    own = np.array([inner_end(bowed(plain, made.runout, float(way))).off for way in ways])
    return _End(
        made,
        shape.angle,
        np.concatenate([line.place, line.slope], 1),
        np.einsum("nij,dj->dni", turn, own),
        np.asarray(turn @ made.end.flexibility @ np.swapaxes(turn, 1, 2), dtype=float),
    )


def _turns(angle: Array) -> Array:
    """Give what turns (4,) of turning axes, forward and up twice, into standing ones, (n, 4, 4)."""
    c, s = np.cos(angle), np.sin(angle)
    pair = np.stack([np.stack([c, s], -1), np.stack([-s, c], -1)], -2)
    found = np.zeros((len(angle), 4, 4))
    found[:, :2, :2] = found[:, 2:, 2:] = pair
    return found


def _joined(closed: SideLinkage, mechanism: Mechanism, end: _End, other: _End | None) -> Joining:
    clamps = _clamps(mechanism, closed.side, end, other)
    back = np.einsum("nji,dnj->dni", _turns(end.angle), clamps)
    on_bearings = {joint: _largest(back @ unit.T) for joint, unit in _per_load(end.bowed.end).items()}
    off = end.by_load + end.by_bow
    misaligned, by_load = (Misaligned(_largest(x[..., 2:]), _largest(x[..., :2])) for x in (off, end.by_load))
    turn = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    torque = float(np.max(np.abs(statics(closed, turn, mechanism.gravity, mechanism.friction).torque)))
    coupling = closed.side.crank.coupling
    soft = (np.eye(2), np.zeros((2, 2)))
    kinds = tuple(
        replace(v, force=_largest(clamps[..., :2]), moment=_largest(clamps[..., 2:]))
        if v.kind == "clamp"
        else v
        for v in verdicts(coupling, misaligned, soft, torque)
        # One crankshaft alone, without a stage, is joined to nothing.
        if v.kind != "clamp" or mechanism.stages or other is not None
    )
    return Joining(closed.side, end.bowed, misaligned, by_load, clamps, on_bearings, kinds)


def _clamps(mechanism: Mechanism, side: Side, end: _End, other: _End | None) -> Array:
    """Give what a clamp puts on an end (d, n, 4): ends meet in place and line, (S1 + S2) f = - u (compatibility).

    With a stage the centre shaft's end lies on the other side, straight and true. Without one it is the other
    crankshaft's: its slopes outwards are the other way, and so are the parts between place and slope. The wheel
    between them bends nothing.
    """
    if mechanism.stages:
        plane: Array = np.asarray(np.kron(centre_end(mechanism, side), np.eye(2)), dtype=float)
        return np.array([met(end.flexibility, plane, -(end.by_load + bow)) for bow in end.by_bow])
    if other is None:
        return np.zeros_like(end.by_bow)
    mirror = np.diag([1.0, 1.0, -1.0, -1.0])
    facing: Array = np.asarray(mirror @ other.flexibility @ mirror, dtype=float)
    loads = met(end.flexibility, facing, other.by_load @ mirror - end.by_load)
    own = [met(end.flexibility, facing, -bow) for bow in end.by_bow]
    theirs = [met(end.flexibility, facing, bow @ mirror) for bow in other.by_bow]
    return np.array([loads + a + b for a in own for b in theirs])


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

    A straight bar on two bearings that reaches over the nearer one to the coupling, its other end left alone: what the
    other coupling's moment adds is some per cent (4 % on the demo). Overhang a beyond a span L:
    a^2 (L + a) / 3EI, a (2 L + 3 a) / 6EI, (L + 3 a) / 3EI (mechanics of materials, memory).
    """
    shaft = mechanism.stages[-1].shaft
    near = max(shaft.bearings) if side.sign > 0 else -min(shaft.bearings)
    span = abs(shaft.bearings[1] - shaft.bearings[0])
    over = max(side.crank.ends[0] - near, 0.0)
    stiffness = mechanism.drive_stock.modulus * round_second_moment(shaft.diameter)
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
        f"{shown(made.by_load.angular, 'angle')} and {shown(made.by_load.parallel, 'length')} without the bow"
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
    return float(np.linalg.norm(v, axis=-1).max())
