"""How far the reduced model and the engine are apart, and the engine from itself."""

from dataclasses import dataclass, replace

import numpy as np

from sim import names
from sim.barrier import NEAR, nearest, swing
from sim.builders import Linkage
from sim.dynamics import dynamics
from sim.engines.base import Engine, Stepping, Trace
from sim.impact import take_ups
from sim.scene import Scene
from sim.transmission import Strands

SLOW = 0.05
"""Share of the wheel's largest speed below which it all but stands."""
ROUNDING = 1e-9
"""s by which a row may be later than a time and still count as there."""


@dataclass(frozen=True)
class Apart:
    """Two traces of the same scene.

    Attributes
    ----------
    until : time of the first near-stall, or the end, s; what follows is counted up to there.
    speed : difference of the wheel's largest speeds, as a share.
    joint, force : where the largest forces of a joint differ most, and by which share.
    stall : how near either run came to stalling at a top, J, and as a share of the potential energy's swing the nearer.
    """

    until: float
    speed: float
    joint: str
    force: float
    stall: tuple[float, float]
    share: float

    @property
    def near(self) -> bool:
        """Whether the run is named rather than compared beyond the near-stall."""
        return self.share < NEAR


def apart(closed: Linkage, full: Trace, other: Trace) -> Apart:
    """Give how far two traces are apart."""
    wheel = full.spins[names.WHEEL].speed
    slow = np.flatnonzero(np.abs(wheel) < SLOW * np.abs(wheel).max())
    until = float(full.time[slow[0]] if len(slow) else full.time[-1])
    theirs, ours = (peaks(t, until) for t in (full, other))
    off = {name: abs(ours[name] / most - 1) for name, most in theirs.items() if most > 0}
    joint = max(off, key=lambda name: off[name])
    fast, faster = (
        np.abs(t.spins[names.WHEEL].speed[t.time <= until + ROUNDING]).max() for t in (full, other)
    )
    stall = (_nearest(closed, full), _nearest(closed, other))
    return Apart(
        until, float(abs(faster / fast - 1)), joint, off[joint], stall, min(map(abs, stall)) / swing(closed)
    )


def _nearest(closed: Linkage, trace: Trace) -> float:
    cranks = [trace.spins[names.crankshaft(s.side.name)].angle for s in closed.sides]
    return nearest(closed, np.mean(cranks, axis=0), trace.spins[names.WHEEL].speed)


def panel_angles(closed: Linkage, trace: Trace) -> float:
    """Give how far a trace's panels are from where the tables have them at the same crank angle, deg, at most."""
    worst = 0.0
    for side in closed.sides:
        for course in side.course(trace.spins[names.crankshaft(side.side.name)].angle):
            turned = trace.poses[names.panel(side.side.name, course.panel.name)].quaternion
            off = side.side.sign * 2 * np.arctan2(turned[:, 1], turned[:, 0]) - course.angle.value
            worst = max(worst, float(np.abs((off + np.pi) % (2 * np.pi) - np.pi).max()))
    return float(np.degrees(worst))


def joint_forces(closed: Linkage, trace: Trace) -> tuple[float, str]:
    """Give how far a trace's joint forces are from the tables' at the same crank angle, speed and acceleration.

    As a share of the joint's largest, and which joint.
    """
    found: list[tuple[float, str]] = []
    for side in closed.sides:
        spin = trace.spins[names.crankshaft(side.side.name)]
        own = dynamics(side, spin.angle, spin.speed, spin.acceleration, closed.mechanism.gravity).forces
        mirror = np.array([1.0, side.side.sign, 1.0])
        for name, force in own.items():
            there = trace.joints[name].force
            off = np.linalg.norm(force * mirror - there, axis=1).max()
            found.append((float(off / np.linalg.norm(there, axis=1).max()), name))
    return max(found)


def varied(built: Scene, stiffness: float, damping: float) -> Scene:
    """Give a scene with other chains, so much as stiff and as damped, that carry at the start what they did."""

    def other(chain: Strands) -> Strands:
        pull = np.array([chain.force(chain.start, 0.0)])
        made = replace(chain, stiffness=chain.stiffness * stiffness, damping=chain.damping * damping)
        return replace(made, start=float(made.held(pull)[0]))

    return replace(built, strands=tuple(other(c) for c in built.strands))


VARIED = [
    *((1.0, 1.0, k) for k in (1, 2, 4)),
    *((s, 1.0, 1) for s in (0.5, 2.0)),
    *((1.0, d, 1) for d in (0.5, 2.0)),
]
"""What is known least where a chain is slack: so much as stiff and as damped, in so many parts of the step."""


def spread(engine: Engine, built: Scene, stepping: Stepping) -> list[Trace]:
    """Give the traces of all that `VARIED` says, the first as it is."""
    return [
        engine.simulate(varied(built, stiffness, damping), replace(stepping, step=stepping.step / parts))
        for stiffness, damping, parts in VARIED
    ]


def impacts(trace: Trace) -> dict[str, float]:
    """Give each chain's hardest take-up of its slack, N, 0 where there is none."""
    return {
        name: max((t.pull for strand in strands for t in take_ups(trace.time, strand)), default=0.0)
        for name, strands in trace.tensions.items()
    }


def peaks(trace: Trace, until: float = np.inf) -> dict[str, float]:
    """Give each joint's largest force, N, up to a time, s."""
    there = trace.time <= until + ROUNDING
    return {name: float(np.linalg.norm(j.force[there], axis=1).max()) for name, j in trace.joints.items()}
