"""A wing side by MuJoCo, by the engine and by the reduced model, each at the cheapest step that is .2 % right.

Run by name: python -m pytest tests/benchmarks/test_peer.py -s. Forces are compared with the closed form at the run's
own crank angle; the times are of the steps alone, on one core, the best of several. Of the reduced model it is asked
beside that the peaks that it keeps are as right.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.resolve import mechanism
from sim import names
from sim.arrays import vector
from sim.builders import linkage, scene
from sim.builders.drive import drive_inertia
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.reduced.method import Reduced, Run
from sim.reduced.system import System, system
from sim.scene import Motion, Scene

mujoco_side = pytest.importorskip("mujoco_side", reason="mujoco is not installed")

MANTA = Path(str(files("models").joinpath("manta.toml")))
ONE_SIDE = {"sides": 1, "stage": [], "wheel.height": "3 m"}
"""The demo's left side with its wheel on the crankshaft: no stages."""
SPEED = 2 * np.pi
"""Of the crank, rad/s: 60 rpm."""
WITHIN = 2e-3
SECONDS, AFTER = 2.0, 0.25
"""What is compared, s: two turns, without the first quarter of one, in which constraints settle."""
STEPS = (0.020, 0.016, 0.012, 0.010, 0.008, 0.006, 0.004, 0.003, 0.002, 0.0015, 0.001)


def cost(run: Callable[[], object], seconds: float, rounds: int = 7) -> float:
    """Give processor seconds for each simulated one, the best of several rounds."""
    best = float("inf")
    for _ in range(rounds):
        began = time.process_time()
        run()
        best = min(best, time.process_time() - began)
    return best / seconds


def peer(moved: "mujoco_side.Moved") -> tuple[float, float, "mujoco_side.Settings"]:
    """Give cost, error and settings of MuJoCo at its cheapest of those that are right."""
    found: list[tuple[float, float, mujoco_side.Settings]] = []
    for integrator in ("Euler", "implicitfast", "RK4"):
        for step in STEPS:
            tried = [
                mujoco_side.Settings(step, integrator, time_, hard)
                for time_ in (2.0, 2.5, 3.0, 4.0)
                for hard in (0.99, 0.999, 0.9999)
            ]
            errors = [mujoco_side.error(moved, t, SECONDS, AFTER) for t in tried]
            if min(errors) <= WITHIN:
                settings = tried[int(np.argmin(errors))]
                side = mujoco_side.Side(moved, settings)
                found.append((cost(lambda: side.follow(20.0), 20.0), min(errors), settings))  # noqa: B023
                break
    return min(found, key=lambda f: f[0])


def right(error: Callable[[float], float]) -> tuple[float, float]:
    """Give the longest step that is right, s, and its error."""
    errors = ((step, error(step)) for step in STEPS)
    return next((step, off) for step, off in errors if off <= WITHIN)


def forces_off(moved: "mujoco_side.Moved", trace: Trace) -> float:
    """Give the largest error of a joint's force in a trace."""
    side = moved.side.side
    after = trace.time >= AFTER
    joints = [
        f(side.name, p.name) for p in side.panels for f in (names.hinge, names.crank_eye, names.yoke_eye)
    ]
    return moved.error(
        trace.spins[names.crankshaft(side.name)].angle[after],
        {name: trace.joints[name].force[after] for name in joints},
    )


def peaks_off(moved: "mujoco_side.Moved", made: System, built: Scene, step: float) -> float:
    """Give the largest error of the peaks that the reduced steps keep over some turns."""
    run = Run(made, built, Stepping(step, SECONDS), recorded=False)
    run.follow(None)
    exact = moved.exact(np.linspace(0, 2 * np.pi, 3600))
    peaks = {name: float(np.max(np.linalg.norm(f, axis=1))) for name, f in exact.items()}
    return max(abs(float(run.peaks[0, k]) / peaks[name] - 1) for k, name in enumerate(made.joints[0]))


@pytest.mark.parametrize("motion", ["held", "free"])
def test_against_a_peer(motion: str) -> None:
    """At a held speed the reduced model has nothing to integrate; free, it has what MuJoCo has."""
    closed = linkage(mechanism(load(MANTA, ONE_SIDE)))
    (side,), gravity = closed.sides, closed.mechanism.gravity
    hand = (Motion(names.HAND, names.WHEEL, SPEED),) if motion == "held" else ()
    built = scene(closed, 0.0, SPEED, motions=hand, friction=False, ideal=True)
    flywheel = mujoco_side.HELD if motion == "held" else drive_inertia(closed.mechanism)
    moved = mujoco_side.Moved(side, gravity, SPEED, flywheel)
    theirs, off, settings = peer(moved)
    print(f"\n{motion}: MuJoCo {settings}: {1e3 * theirs:.3f} ms a second, forces {100 * off:.2f} % off")

    alone = built
    if motion == "held":
        made = moved.parts()
        alone = Scene(made.bodies, joints=made.joints, gravity=vector(0, 0, -gravity),
                      motions=(replace(hand[0], on=names.crankshaft(side.side.name)),))  # fmt: skip
    engine = ExudynEngine()
    step, off = right(lambda h: forces_off(moved, engine.simulate(alone, Stepping(h, SECONDS))))
    full = cost(lambda: engine.simulate(alone, Stepping(step, 10.0)), 10.0, 3)
    print(f"engine, {1e3 * step:g} ms: {1e3 * full:.2f} ms a second, forces {100 * off:.2f} % off")

    reduced, small = Reduced(closed), system(built, closed)
    step, off = right(
        lambda h: max(
            forces_off(moved, reduced.simulate(built, Stepping(h, SECONDS))),
            peaks_off(moved, small, built, h),
        )
    )
    ours = cost(lambda: Run(small, built, Stepping(step, 200.0), recorded=False).follow(None), 200.0)
    whole = cost(lambda: reduced.simulate(built, Stepping(step, 60.0)), 60.0)
    print(f"reduced, {1e3 * step:g} ms: {1e3 * ours:.4f} ms a second with every joint's peak, {1e3 * whole:.3f} with "
          f"every joint's force at every step, forces and peaks {100 * off:.2f} % off")  # fmt: skip
    print(f"MuJoCo over reduced: {theirs / ours:.0f} with peaks, {theirs / whole:.1f} with everything; "
          f"engine over reduced: {full / ours:.0f}")  # fmt: skip
    assert theirs > ours
