"""What a crankshaft's bearings carry: worst loads, a turn in ordinary use, the shaft's slope, and the wheel's share.

Without a stage the wheel sits on the crankshafts. Then its force, with the hand's push or the locking pin's, is shared
by levers between the bearings next to it, and is added to theirs by size, as if both always pulled the same way. So is
what a rigid clamp puts on them, which forces shafts in line that miss each other.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analysis.bearing_loads import LARGEST
from analysis.coupling_verdicts import joinings
from analysis.finding import Finding
from analysis.parts import worst
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Sizing
from analysis.parts.driving import hand_push
from analysis.parts.duty import crank_speed
from analysis.shaft_strength import REPEATING, whole_turn
from analysis.shaft_whip import FORCE, SLOPE
from models.mechanism import Side, Station
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.run import Run
from sim.shaft.crank import bearing_joints

WHEEL = (
    "the wheel sits on the crankshafts: its share, with the push of the hand or the locking pin, is added by levers "
    "and by size"
)
CLAMP = "the rigid clamp forces the shafts in line: what that puts on the bearing is added by size"


@dataclass(frozen=True)
class Turning:
    """What a bearing goes through in a turn of the crank in ordinary use.

    Attributes
    ----------
    force : (n, 3) N; the second component is along the shaft.
    turned : (n,) rad, or in proportion, that the shaft turns by at each.
    case : in words.
    """

    force: Array
    turned: Array
    case: str

    @property
    def size(self) -> Array:
        """The force (n,), N."""
        return np.linalg.norm(self.force, axis=1)

    @property
    def radial(self) -> Array:
        """The force across the shaft (n,), N."""
        return np.hypot(self.force[:, 0], self.force[:, 2])

    @property
    def thrust(self) -> Array:
        """The force along the shaft (n,), N."""
        return np.abs(self.force[:, 1])

    @property
    def mean(self) -> float:
        """Mean force over the way turned, N: what wear goes by."""
        return float(np.average(self.size, weights=self.turned))


@dataclass(frozen=True)
class OnCrank:
    """What a wheel that sits on the crankshafts puts on them, N: its body's force and the push of hand or pin.

    Attributes
    ----------
    met, used : worst over all cases but blocked panels, and in use.
    turning : mean over a turn in ordinary use, or as in use where no run has a whole turn.
    """

    met: float
    used: float
    turning: float


@dataclass(frozen=True)
class Journal:
    """A crankshaft's bearing, or both sides' where they are alike: the worse of them.

    Attributes
    ----------
    where, count : its name, without the side's where it stands for both, and how many it stands for.
    side, station : of the first.
    met, used : its worst loads over all cases but blocked panels, and in use, with what wheel and clamp add.
    bound : the upper bound with a panel blocked, or None.
    slope : the shaft's worst, as a finding, or None where none was found.
    turning : a turn in ordinary use, without what the wheel and a clamp add.
    wheel : the wheel's share over a turn in ordinary use, mean, N.
    clamp : what a rigid clamp puts on it, N.
    """

    where: str
    count: int
    side: Side
    station: Station
    met: Finding
    used: Finding
    bound: Finding | None
    slope: Finding | None
    turning: Turning
    wheel: float
    clamp: float = 0.0

    @property
    def beside(self) -> float:
        """What comes on top of the turn in ordinary use, N."""
        return self.wheel + self.clamp

    @property
    def words(self) -> tuple[str, ...]:
        """What was added to the crankshaft's own loads."""
        return (*((WHEEL,) if self.wheel > 0 else ()), *((CLAMP,) if self.clamp > 0 else ()))

    @property
    def shaft(self) -> float:
        """Diameter of the shaft, m."""
        return self.side.crank.shaft

    @property
    def thrust(self) -> float:
        """Largest thrust along the shaft over a turn in ordinary use, N; the locating bearing alone takes it."""
        locating = self.station.out == self.side.crank.stations[0].out
        return float(self.turning.thrust.max()) if locating else 0.0


def journals(basis: Basis) -> tuple[Journal, ...]:
    """Give all bearings of the crankshafts, those of both sides as one where the sides are alike."""
    sides = basis.mechanism.sides
    shares, wheel, clamps = _wheel_shares(basis), on_crank(basis), _clamps(basis)
    first = sides[:1] if basis.loads.mirrored else sides
    found: list[Journal] = []
    for side in first:
        alike = sides if basis.loads.mirrored else (side,)
        for k, station in enumerate(side.crank.stations):
            joints = tuple(bearing_joints(s)[k] for s in alike)
            where = joints[0].removeprefix(f"{side.name} ") if len(alike) > 1 else joints[0]
            share = max(shares.get((s.name, k), 0.0) for s in alike)
            part = OnCrank(share * wheel.met, share * wheel.used, share * wheel.turning)
            clamp = max(clamps.get(joint, 0.0) for joint in joints)
            found.append(_journal(basis, where, side, station, joints, part, clamp))
    return tuple(found)


def _journal(
    basis: Basis, where: str, side: Side, station: Station, joints: tuple[str, ...], wheel: OnCrank, clamp: float
) -> Journal:  # fmt: skip
    loads = basis.loads
    met, used, bound = (_worst(loads_of, joints) for loads_of in (loads.met, loads.used, loads.bound))
    assert met is not None, f"{where} has no load in any case"
    used = met if used is None else used
    whip = [f for f in basis.whip or basis.shafts.whip if f.where in joints]
    slopes = [f for f in whip if f.what == SLOPE]
    # On more than two bearings a shaft that is forced straight presses on them more than its loads do.
    for f in whip:
        if f.what == FORCE:
            met, used = (max(x, f, key=lambda y: y.value) for x in (met, used))
    turning = max((_turning(basis, joint) for joint in joints), key=lambda t: t.mean)
    return Journal(
        where, len(joints), side, station, _with(met, wheel.met, clamp), _with(used, wheel.used, clamp), bound,
        max(slopes, key=lambda f: f.value, default=None), turning, wheel.turning, clamp,
    )  # fmt: skip


def _worst(of: dict[tuple[str, str], Finding], joints: tuple[str, ...]) -> Finding | None:
    found = [of[j, LARGEST] for j in joints if (j, LARGEST) in of]
    return max(found, key=lambda f: f.value, default=None)


def _with(own: Finding, wheel: float, clamp: float) -> Finding:
    """Give a bearing's load with what wheel and clamp add, N."""
    parts = [(part, word) for part, word in ((wheel, "the wheel"), (clamp, "the clamp")) if part > 0]
    if not parts:
        return own
    value = own.value + wheel + clamp
    note = ", ".join(f"{shown(part, 'force')} of it from {word}" for part, word in parts)
    return Finding(
        own.what, value, own.dimension, own.where, own.case, own.time, own.crank, own.limit, own.source, note
    )


def on_crank(basis: Basis) -> OnCrank:
    """Give what the wheel puts on the crankshafts that it sits on; nothing where it has a shaft of its own."""
    m, loads = basis.mechanism, basis.loads
    if m.stages:
        return OnCrank(0.0, 0.0, 0.0)
    name = names.WHEEL_BEARINGS

    def series(run: Run) -> Array | None:
        if f"joints/{name}/force" not in run.channels:
            return None
        body = np.linalg.norm(run[f"joints/{name}/force"], axis=1)
        return body + hand_push(m, run, len(body))

    found = [worst.met(loads, series), worst.used(loads, series)]
    # The envelope knows peaks between the instants that are kept.
    own = [of.get((name, LARGEST)) for of in (loads.met, loads.used)]
    met, used = (max(0.0 if x is None else x.value for x in pair) for pair in zip(found, own, strict=True))
    means = [mean for kind in REPEATING for run in loads.campaign.of(kind)
             if (mean := _mean_over_turn(run, m.sides[0].name, series(run))) is not None]  # fmt: skip
    return OnCrank(met, used, max(means, default=used))


def _mean_over_turn(run: Run, side: str, size: Array | None) -> float | None:
    """Give the mean of a size (n,) over the way of a whole turn of the crank; None where the run has none."""
    name = f"angles/{names.crankshaft(side)}/angle"
    if size is None or name not in run.channels:
        return None
    turn = whole_turn(run[name])
    if turn is None:
        return None
    return float(np.average(size[turn], weights=np.abs(np.gradient(run[name]))[turn]))


def _clamps(basis: Basis) -> Mapping[str, float]:
    """Give what rigid clamps put on the crankshafts' bearings, N, by joint; nothing where couplings give."""
    if all(s.crank.coupling.kind != "clamp" for s in basis.mechanism.sides):
        return {}
    return {joint: force for made in joinings(basis.linkage) if made.side.crank.coupling.kind == "clamp"
            for joint, force in made.on_bearings.items()}  # fmt: skip


def _turning(basis: Basis, joint: str) -> Turning:
    """Give a turn of one bearing: in closed form, or from the runs where its load hangs on how the shaft bends."""
    m = basis.mechanism
    side = next(s for s in m.sides if joint in bearing_joints(s))
    if len(side.crank.stations) == 2 and joint in basis.duty:
        duty = basis.duty[joint]
        return Turning(duty.force, duty.turn, "in use")
    name, channel = f"angles/{names.crankshaft(side.name)}/angle", f"joints/{joint}/force"
    best: list[Turning] = []
    for kind in REPEATING:
        for run in basis.loads.campaign.of(kind):
            turn = whole_turn(run[name]) if name in run.channels and channel in run.channels else None
            if turn is not None:
                turned = np.abs(np.gradient(run[name]))[turn]
                best.append(Turning(run[channel][turn], turned, basis.loads.names[run.label]))
    if best:
        return max(best, key=lambda t: t.mean)
    most = basis.loads.used.get((joint, LARGEST)) or basis.loads.met[joint, LARGEST]
    force = np.array([[0.0, 0.0, most.value]])
    return Turning(force, np.ones(1), f"{basis.loads.case(most)}, its largest force all the way round")


def _wheel_shares(basis: Basis) -> dict[tuple[str, int], float]:
    """Give what share of the wheel's force bearings carry, by side and number, where it has none of its own."""
    m = basis.mechanism
    if m.stages:
        return {}
    places = [(s.sign * x.out, (s.name, k)) for s in m.sides for k, x in enumerate(s.crank.stations)]
    below = [p for p in places if p[0] <= m.wheel.out]
    above = [p for p in places if p[0] > m.wheel.out]
    pair = (
        (max(below), min(above))
        if below and above
        else sorted(places, key=lambda p: abs(p[0] - m.wheel.out))[:2]
    )
    (a, first), (b, second) = pair
    far = (m.wheel.out - a) / (b - a)
    return {first: abs(1 - far), second: abs(far)}


def turns(basis: Basis) -> float:
    """Give the turns of the crank over the wished years."""
    use = basis.mechanism.use
    return use.turns(basis.mechanism.reduction) * use.years


def quickest(basis: Basis) -> float:
    """Give the highest speed of the crank, rad/s: in use, or running down after letting go where that is known."""
    reduction = basis.mechanism.reduction
    return max(crank_speed(basis.mechanism), basis.shafts.speeds.fastest / reduction)


def too_small(size: str, bore: float, shaft: float) -> Sizing:
    """Give a catalogue's largest size as one that does not take a shaft: its bore, m, is less than the shaft, m."""
    check = Check(
        "diameter of the shaft in its bore", shaft, bore, "length", "geometry", "it has to go over the shaft"
    )
    return Sizing(size, (check,))


def blocked_note(bound: Finding | None) -> tuple[str, ...]:
    """Say in words how large the upper bound with a panel blocked is; nothing where there is none."""
    if bound is None:
        return ()
    return (
        f"with a panel or crank blocked up to {shown(bound.value, 'force')}, an upper bound in which the blocked rod "
        "alone gives; it does not choose the size: a torque limiter or a hub that slips bounds it",
    )
