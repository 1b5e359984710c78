"""What the drive's straight shafts carry: the wheel's, those between stages, and the centre shaft.

Each lies on two bearings. The wheel's force, the chains' pulls and weights and the sprockets' weights act at their
places along it; bending and the bearings' shares follow by levers, the torque from the chains and couplings. A hand at
the rim or grip pushes with its torque over the radius: the runs turn the wheel by a torque alone, so the push is
added here, in whatever direction is worst; where the wheel is locked, so is the locking pin's. What two wheels of a
stage without a chain put on each other is not known, so that nothing is chosen for the shafts beside it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analysis.drive_line import stage_torque
from analysis.parts.lock import LOCKED, as_usual
from models.drive import DriveShaft
from models.mechanism import Mechanism
from sim import names
from sim.arrays import Array
from sim.beam import moment_influence, round_second_moment, slope_influence
from sim.builders.bearings import lever
from sim.builders.drive import wheel_piece
from sim.chain import ChainFault
from sim.layout import ChainRun, chain_run
from sim.mass import sprocket_mass
from sim.run import Run
from sim.shaft.loading import LEANING

PUSH = (
    "the hand's push at the rim or grip, torque over radius, added in the worst direction; where the wheel is locked "
    "the locking pin's, at its own radius"
)
UNKNOWN = (
    "not chosen: what the two wheels of a direct stage put on each other, and so on this shaft, is not known"
)
LEVERS = "levers on a straight shaft on two bearings"
TOUCH = 1e-9
"""Places nearer than this are one, m."""


@dataclass(frozen=True)
class Acting:
    """What acts on a shaft at a place, m: force (n, 3), forward, left and up, N."""

    at: float
    force: Array


@dataclass(frozen=True)
class Segment:
    """A length of shaft from one place to another, m, with its torque (n,), N m."""

    start: float
    end: float
    torque: Array


@dataclass(frozen=True)
class Carried:
    """What a shaft carries over n instants of a run.

    Attributes
    ----------
    shaft : its bearings and diameter.
    run : which.
    crank, angle : of the crank and of the shaft itself (n,), rad; the second None where the run stands.
    acting, segments : forces, and where it is twisted.
    push : (n,) of the hand, N, at `hub`.
    hub : place of the wheel, m; of a shaft without one any.
    """

    shaft: DriveShaft
    run: Run
    crank: Array
    angle: Array | None
    acting: tuple[Acting, ...]
    segments: tuple[Segment, ...]
    push: Array
    hub: float

    def bearing(self, which: int) -> Array:
        """Give the force (n, 3) on the first (0) or second (1) bearing, N."""
        return self._summed([lever(self.shaft, at, which) for at in self._places])

    def bending(self, at: float) -> Array:
        """Give the bending moments (n, 3) at a place by forces forward, along and up, N m; along is none."""
        share = moment_influence([at], self._places, self.shaft.bearings)[0]
        return self._summed(list(share), across=True)

    def torque(self, at: float) -> Array:
        """Give the torque (n,) at a place, N m: of the segments that meet there that with the larger peak."""
        found = [s.torque for s in self.segments if s.start - TOUCH <= at <= s.end + TOUCH]
        return max(found, key=lambda t: float(np.max(np.abs(t))), default=np.zeros(len(self.push)))

    def slope(self, which: int, diameter: float, modulus: float) -> Array:
        """Give the slope (n,) of the shaft in a bearing, rad, for a diameter, m, and its stock's modulus, Pa."""
        EI = modulus * round_second_moment(diameter)
        share = slope_influence([self.shaft.bearings[which]], self._places, self.shaft.bearings, EI)[0]
        return np.linalg.norm(self._summed(list(share), across=True), axis=1)

    @property
    def _places(self) -> list[float]:
        return [*(a.at for a in self.acting), self.hub]

    def _summed(self, share: list[float], *, across: bool = False) -> Array:
        """Give the shares of all forces summed (n, 3), made longer by the push's, the last; without what is along."""
        total = np.zeros((len(self.push), 3))
        for part, acting in zip(share, self.acting, strict=False):
            total += part * acting.force
        if across:
            total[:, 1] = 0.0
        length = np.linalg.norm(total, axis=1)[:, None]
        way = np.divide(total, length, out=np.tile([0.0, 0.0, -1.0], (len(total), 1)), where=length > 0)
        return total + abs(share[-1]) * self.push[:, None] * way


def drive_shafts(mechanism: Mechanism) -> tuple[tuple[str, DriveShaft], ...]:
    """Give the names of the drive's shafts and the shafts, the wheel's first; none without a stage."""
    stages = mechanism.stages
    if not stages:
        return ()
    rest = ((names.stage_shaft(k, len(stages)), s.shaft) for k, s in enumerate(stages, 1))
    return ((names.WHEEL_SHAFT, mechanism.wheel.shaft), *rest)


def carried(mechanism: Mechanism, run: Run, number: int) -> Carried | None:
    """Give what the shaft after a stage carries in a run, the wheel's for 0; None where the run does not say.

    Parameters
    ----------
    mechanism : with stages.
    run : of it; one in which the piece hangs askew is left out, since its weights pull askew too.
    number : of the shaft.
    """
    count = len(mechanism.stages)
    crank = next((n for n in run.names("angles") if n.endswith("crankshaft")), None)
    if crank is None or run.case in LEANING or len(run[f"angles/{crank}/angle"]) == 0:
        return None
    n = len(run[f"angles/{crank}/angle"])
    acting: list[Acting] = []
    if number == 0:
        acting.append(Acting(mechanism.wheel.out, _wheel(mechanism, run, n)))
    for at, force in _stages(mechanism, run, number, n):
        acting.append(Acting(at, force))
    shaft = mechanism.wheel.shaft if number == 0 else mechanism.stages[number - 1].shaft
    own = f"angles/{names.WHEEL if number == 0 else names.stage_shaft(number, count)}/angle"
    push = hand_push(mechanism, run, n) if number == 0 else np.zeros(n)
    return Carried(shaft, run, run[f"angles/{crank}/angle"], run[own] if own in run.channels else None,
                   tuple(acting), tuple(_segments(mechanism, run, number, n)), push, mechanism.wheel.out)  # fmt: skip


def hand_push(mechanism: Mechanism, run: Run, n: int) -> Array:
    """Give the force (n,) that holds or turns the wheel, N: at its rim or grip, or of the pin that locks it.

    Parameters
    ----------
    mechanism, run : as of `carried`.
    n : instants of the run; nothing acts where the run tells of no hand.
    """
    hand = f"torques/{names.HAND}/torque"
    if hand not in run.channels:
        return np.zeros(n)
    locked = run.case in LOCKED
    radius = as_usual(mechanism, "wheel", 1).radius if locked else mechanism.wheel.radius
    return np.abs(run[hand]) / radius


def beside_direct(mechanism: Mechanism, number: int) -> bool:
    """Say whether the shaft after a stage, the wheel's for 0, is turned by a stage without a chain or turns one."""
    return any(s.kind == "direct" for s in mechanism.stages[max(0, number - 1) : number + 1])


def chain_of(mechanism: Mechanism, number: int) -> ChainRun | None:
    """Give how a stage's chain runs, or None where it has none or it does not fit."""
    if not 1 <= number <= len(mechanism.stages) or mechanism.stages[number - 1].kind == "direct":
        return None
    try:
        return chain_run(mechanism, number)
    except ChainFault:
        return None


def _wheel(m: Mechanism, run: Run, n: int) -> Array:
    """Give the force (n, 3) of the wheel's body on its shaft; its weight where the run has no more."""
    name = f"joints/{names.WHEEL_BEARINGS}/force"
    if name in run.channels:
        return run[name]
    return np.tile([0.0, 0.0, -m.gravity * wheel_piece(m).mass], (n, 1))


def _stages(m: Mechanism, run: Run, k: int, n: int) -> Iterator[tuple[float, Array]]:
    """Give place and force (n, 3) of the driven sprocket of stage k and the driver of the next, with their chains."""
    for number, driver in ((k, False), (k + 1, True)):
        if not 1 <= number <= len(m.stages):
            continue
        stage, chain = m.stages[number - 1], chain_of(m, number)
        force = np.zeros((n, 3))
        # The wheel's body has its driver's weight, unless a torque limiter parts them.
        if k > 0 or m.wheel_parted:
            force[:, 2] -= m.gravity * sprocket_mass(stage.driver if driver else stage.driven, stage).mass
        strands = _strands(run, number)
        if chain is not None:
            way = 1.0 if driver else -1.0
            force[:, 2] -= m.gravity * chain.weights[0 if driver else 1]
            if strands is not None:
                for tension, direction in zip(strands, chain.directions, strict=True):
                    force += way * tension[:, None] * direction
        yield stage.out, force


def _strands(run: Run, number: int) -> tuple[Array, Array] | None:
    channels = [f"chains/{names.stage(number)}/tension {s}" for s in "ab"]
    if any(c not in run.channels for c in channels):
        return None
    return run[channels[0]], run[channels[1]]


def _driven(m: Mechanism, run: Run, number: int, n: int) -> Array:
    """Give the torque (n,), N m, on the driven side of a stage; nothing where the run does not say."""
    chain, strands = chain_of(m, number), _strands(run, number)
    if chain is not None and strands is not None:
        return (strands[0] - strands[1]) * chain.travel[1]
    found = stage_torque(run, number, len(m.stages))
    return np.zeros(n) if found is None else found


def _segments(m: Mechanism, run: Run, k: int, n: int) -> Iterator[Segment]:
    stages = m.stages
    if k < len(stages):
        after = stages[k]
        start = m.wheel.out if k == 0 else stages[k - 1].out
        torque = _driven(m, run, k, n) if k > 0 else _driven(m, run, 1, n) * after.driver / after.driven
        yield Segment(min(start, after.out), max(start, after.out), torque)
        return
    here = stages[k - 1].out
    for side in m.sides:
        end, channel = side.sign * side.crank.ends[0], f"torques/{names.coupling(side.name)}/torque"
        # Where a coupling's own torque is not recorded, no more than the whole can go through it.
        torque = run[channel] if channel in run.channels else _driven(m, run, k, n)
        yield Segment(min(here, end), max(here, end), torque)
