"""Work in is change of energy and losses, whatever is done: chains, couplings, friction and a hand together."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.cases import cases
from models.loading import load
from models.resolve import mechanism
from sim import names
from sim.arrays import matrices
from sim.builders import Linkage, linkage
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.expanding import expanded
from sim.recording import channels
from sim.run import Channel
from sim.scenarios import Crank, LetGo, Moving, Turn
from sim.scene import Scene

MODELS = Path(str(files("models")))
RPM = np.pi / 30
KINDS = ("kinetic", "potential", "strain", "lost")
Doing = Turn | Crank | LetGo
ENDS = {"manta": 6.0, "manta_stand": 4.0, "moth": 4.0}
"""Followed until then, s."""

DOINGS: list[Doing] = [
    Turn(60 * RPM),
    Crank("child", start=1.0),
    Crank("adult"),
    LetGo(60 * RPM, np.radians(300)),
]


def balance(closed: Linkage, doing: Moving, end: float) -> tuple[float, float, float]:
    """Give the worst that is missing in the balance, the gross work and what was lost, J, at the scenario's step.

    Gross is the work of hand and wind without regard to its sign, and what falls, where that is more.
    """
    built = doing.scene(closed)
    trace = ExudynEngine().simulate(built, Stepping(doing.step(closed), min(end, doing.end(closed))))
    found = channels(closed.mechanism, built, trace)
    total = sum(energy(found, kind) for kind in KINDS)
    each = worked(built, trace) + blown(built, trace)
    work = np.concatenate([[0.0], np.cumsum(each)])
    falls = float(np.ptp(energy(found, "potential")) + np.ptp(energy(found, "kinetic"))) / 2
    steady = isinstance(doing, Turn | Crank)  # the hand is there all the time
    gross = float(np.abs(each).sum()) if steady else max(float(np.abs(each).sum()), falls)
    lost = energy(found, "lost")
    assert np.all(np.diff(lost) > -1e-3)  # J; friction and damping never give, but for a bristle's spring
    return float(np.abs(total - total[0] - work).max()), gross, float(lost[-1])


def energy(found: dict[str, Channel], kind: str) -> np.ndarray:
    return found[f"energy/{kind}/energy"].values


def worked(built: Scene, trace: Trace) -> np.ndarray:
    """Give the hand's work in each step (n - 1,), J.

    A torque is held over a step, but the rule takes the mean of both ends of one, so that does the work; of a hand
    that stops the wheel that mean is what is recorded.
    """
    if names.HAND not in trace.torques:
        return np.zeros(len(trace.time) - 1)
    torque, turn = trace.torques[names.HAND], np.diff(trace.spins[names.WHEEL].angle)
    stops = any(m.name == names.HAND and m.stop is not None for m in built.motions)
    return torque[1:] * turn if stops else (torque[1:] + torque[:-1]) / 2 * turn


def blown(built: Scene, trace: Trace) -> np.ndarray:
    """Give the wind's work in each step (n - 1,), J: its wrench is asked once a step, at its beginning."""
    work = np.zeros(len(trace.time) - 1)
    bodies = {b.name: b for b in built.bodies}
    for push in (p for p in built.pushes if p.flow is not None):
        pose = trace.poses[push.body]
        turned = matrices(pose.quaternion) @ bodies[push.body].rotation.T
        states = zip(turned, pose.position, pose.velocity, pose.angular_velocity, strict=True)
        wrenches = np.array([np.concatenate(push.flow.wrench(*state)) for state in states])
        held = np.concatenate([wrenches[:1], wrenches[:-1]])
        mean = (held[1:] + held[:-1]) / 2
        spin = (pose.angular_velocity[1:] + pose.angular_velocity[:-1]) / 2 * np.diff(trace.time)[:, None]
        moved = np.concatenate([np.diff(pose.position, axis=0), spin], axis=1)
        work += np.sum(mean * moved, axis=1)
    return work


@pytest.mark.parametrize("doing", DOINGS, ids=lambda d: f"{d.case} {getattr(d, 'person', '')}".strip())
@pytest.mark.parametrize("name", ["manta", "manta_stand", "moth"])
def test_work_in_is_energy_and_losses(name: str, doing: Doing) -> None:
    """At every record, within .5 % of the gross work as asked.

    Measured at the accepted steps, the worst of all records: .006 % on the demo, .01 % where a hand turns the moth,
    .1 % for a moment as the moth falls past its lowest point. With the torque at a step's end alone in place of the
    mean the hand's work would be out by .02 and .12 %.
    """
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    missing, gross, lost = balance(closed, doing, ENDS[name])
    assert gross > 10
    assert lost > 0.5
    assert missing < 5e-3 * gross


OTHERS = [("manta", n) for n in ("keeps-hold", "grabbed", "stopped", "jammed", "gust", "broken")]
OTHERS += [("moth", n) for n in ("grabbed", "gust", "broken")] + [("manta_stand", "hanging-free")]


@pytest.mark.parametrize(("name", "case"), OTHERS)
def test_work_in_is_energy_and_losses_in_every_other_case(name: str, case: str) -> None:
    """A run of each kind that moves."""
    sculpture = load(MODELS / f"{name}.toml")
    closed = linkage(mechanism(sculpture))
    made = expanded(cases(sculpture)[case], closed).scenarios
    doing = made[-1] if case == "broken" else made[0]
    assert isinstance(doing, Moving)
    missing, gross, _ = balance(closed, doing, 12.0 if case == "gust" else ENDS[name])
    assert gross > 0.2
    assert missing < 5e-3 * gross, f"{missing:.3g} J of {gross:.3g} J"


@pytest.mark.parametrize(
    "changes",
    [
        {"limiter": {"at": "stage 2", "torque": "12 N m"}},
        {"crank.coupling.backlash": "1 deg"},
        {"stage.2": {"teeth": [15, 40], "pitch": "12.7 mm", "centres": "406.4 mm", "chordal": True}},
        {"stage.1": {"teeth": [13, 38], "pitch": "12.7 mm", "centres": "2450 mm",
                     "tensioner": {"force": "60 N", "rate": "2 N/mm", "travel": "15 mm"}}},
    ],
    ids=["slipping limiter", "backlash", "pitch polygons", "tensioner"],
)  # fmt: skip
def test_work_in_is_energy_and_losses_with_every_part_of_a_drive(changes: dict[str, object]) -> None:
    closed = linkage(mechanism(load(MODELS / "manta.toml", changes)))
    missing, gross, _ = balance(closed, Turn(60 * RPM), 2.0)
    assert missing < 5e-3 * gross


def test_the_balance_can_fail() -> None:
    """Without what friction takes it is out by a tenth of the work and more."""
    closed = linkage(mechanism(load(MODELS / "moth.toml")))
    doing = Turn(60 * RPM)
    built = doing.scene(closed)
    trace = ExudynEngine().simulate(built, Stepping(doing.step(closed), 1.0))
    found = channels(closed.mechanism, built, trace)
    total = sum(energy(found, kind) for kind in KINDS if kind != "lost")
    each = worked(built, trace)
    work, gross = np.concatenate([[0.0], np.cumsum(each)]), float(np.abs(each).sum())
    assert np.abs(total - total[0] - work).max() > 0.05 * gross
