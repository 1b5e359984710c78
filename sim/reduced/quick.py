"""One let go after another of the same sculpture: peaks alone, no records, for maps and sweeps."""

from dataclasses import dataclass

import numpy as np

from sim import names
from sim.barrier import nearest
from sim.builders import Linkage, stiff
from sim.builders.windup import start_torque
from sim.engines.base import EngineError, Stepping
from sim.reduced.method import Run
from sim.reduced.system import system
from sim.scenarios import LetGo
from sim.whole import unbalance


@dataclass(frozen=True)
class Gone:
    """What came of one let go.

    Attributes
    ----------
    speed, release : wheel speed, rad/s, and crank angle, rad, at the release.
    peak, back : largest wheel speed in the direction of the turn, and against it, rad/s.
    kick : torque with which the wheel drives the hand at the release, N m; 0 where the hand drives.
    rest : time to rest, s; NaN where it was still moving.
    nearest : how near it came to another course, J, as `sim.barrier.nearest` says.
    joints : by joint, its largest force, N.
    chains, couplings : by name, largest tension, N, and torque, N m.
    """

    speed: float
    release: float
    peak: float
    back: float
    kick: float
    rest: float
    nearest: float
    joints: dict[str, float]
    chains: dict[str, float]
    couplings: dict[str, float]


def let_go(closed: Linkage, speed: float, release: float, step: float | None = None) -> Gone:
    """Let a piece go and give the peaks.

    Parameters
    ----------
    closed : the sculpture.
    speed : of the wheel at the release, rad/s.
    release : crank angle there, rad.
    step : s; by default the one that a whole run would have.

    Raises
    ------
    EngineError
        Where a step could not be taken.
    NotReduced
        Where the drive has what the reduced model knows nothing of.
    """
    doing = LetGo(speed, release)
    closed = stiff(closed)  # angles alone know nothing of bending
    scene = doing.scene(closed)
    size = doing.step(closed) if step is None else step
    made = system(scene, closed)
    run = Run(made, scene, Stepping(size, doing.end(closed)), recorded=False)
    last, ended = run.follow(None)
    if ended == 2:
        raise EngineError(f"the reduced model could not go on after {last * run.h:.4g} s of {doing.label}")
    at, kept = made.names.index(names.WHEEL), slice(0, last + 1)
    wheel = made.share[at] * run.out_v[kept, made.coordinate[at]]
    ahead = wheel if speed >= 0 else -wheel
    cranks = (
        made.start[made.side_at] + made.share[made.side_at] * run.out_u[kept, made.coordinate[made.side_at]]
    )
    carried = run.carried.tolist()
    first = len(scene.strands)
    return Gone(
        speed,
        release,
        float(np.max(ahead)),
        max(0.0, -float(np.min(ahead))),
        kick(closed, speed, release),
        last * run.h if ended == 1 else float("nan"),
        nearest(closed, np.mean(cranks, axis=1), wheel),
        {j: float(run.peaks[s, k]) for s, own in enumerate(made.joints) for k, j in enumerate(own)},
        {c.name: carried[k] for k, c in enumerate(scene.strands)},
        {t.name: carried[first + k] for k, t in enumerate(scene.twists)},
    )


def kick(closed: Linkage, speed: float, release: float) -> float:
    """Give the torque with which the wheel, at a steady speed, drives the hand at a crank angle, N m.

    -(V' + M' w^2 / 2) over the reduction where that is positive in the direction of the turn; friction, which
    takes from it, left out: it is the most.
    """
    m = closed.mechanism
    needed = sum(start_torque(s, m, release, speed / m.reduction)[0] for s in closed.sides)
    forward, up = unbalance(m)
    wheel = release * m.reduction
    torque = needed / m.reduction - forward * float(np.cos(wheel)) - up * float(np.sin(wheel))
    return max(0.0, -torque if speed >= 0 else torque)
