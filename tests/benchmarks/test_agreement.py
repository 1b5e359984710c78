"""How far the reduced model is from the engine: the table of README.md beside this file.

Run by name: python -m pytest tests/benchmarks/test_agreement.py -s. Ten sculptures are drawn as the properties draw
them, with fixed seeds.
"""

from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.resolve import mechanism
from sim.builders import Linkage, linkage
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.reduced.method import Reduced
from sim.scenarios import LetGo, Moving, Turn
from tests.agreement import apart, impacts, joint_forces, panel_angles, spread
from tests.properties.sculptures import drawn

MODELS = Path(str(files("models")))
RPM = np.pi / 30
DRAWN = range(1, 11)
NAMED = {
    "demo": ("manta", 300.0, 60.0),
    "demo, 135 deg, 61 rpm": ("manta", 135.0, 61.0),
    "demo on its stand": ("manta_stand", 300.0, 60.0),
    "moth": ("moth", 300.0, 60.0),
}
"""Description, release angle, deg, and wheel speed, rpm."""
FOLLOWED, SLACK = 20.0, 4.0
"""s of a let go, and of one that is made seven times."""


@cache
def piece(name: str) -> tuple[Linkage, float, float]:
    if name not in NAMED:
        return drawn(int(name.split()[-1]))
    file, degrees, rpm = NAMED[name]
    return linkage(mechanism(load(MODELS / f"{file}.toml"))), float(np.radians(degrees)), rpm * RPM


PIECES = [*NAMED, *(f"drawn {seed}" for seed in DRAWN)]


def both(closed: Linkage, doing: Moving, end: float) -> tuple[Trace, Trace]:
    built, stepping = doing.scene(closed), Stepping(doing.step(closed), min(end, doing.end(closed)))
    return ExudynEngine().simulate(built, stepping), Reduced(closed).simulate(built, stepping)


@pytest.mark.parametrize("name", PIECES)
def test_agreement(name: str) -> None:
    """One line of the table: turned at 60 rpm through a turn of the crank, and let go for 20 s."""
    closed, release, speed = piece(name)
    turned, _ = both(closed, Turn(60 * RPM), FOLLOWED)
    full, reduced = both(closed, LetGo(speed, release), FOLLOWED)
    found = apart(closed, full, reduced)
    angle = max(panel_angles(closed, turned), panel_angles(closed, full))
    force = max(joint_forces(closed, turned)[0], joint_forces(closed, full)[0])
    theirs, ours = found.stall
    print(f"\n| {name} | {angle:.1e} | {100 * force:.3f} | {found.until:.1f} | {100 * found.speed:.4f} | "
          f"{100 * found.force:.3f} | {theirs:.3f} | {ours:.3f} | {100 * found.share:.1f}"
          f"{', near' if found.near else ''} |")  # fmt: skip
    assert angle <= 0.01
    assert force <= 5e-3
    assert found.speed <= 2e-3


@pytest.mark.parametrize("name", PIECES)
def test_slack(name: str) -> None:
    """One line for each chain that takes up its slack: the engine's own spread, and the reduced model."""
    closed, release, speed = piece(name)
    doing = LetGo(speed, release)
    built, stepping = doing.scene(closed), Stepping(doing.step(closed), SLACK)
    full, reduced = spread(ExudynEngine(), built, stepping), Reduced(closed).simulate(built, stepping)
    for chain, pull in impacts(reduced).items():
        pulls = [impacts(t)[chain] for t in full]
        if max(pulls) == 0:
            continue
        step, stiff, damped = ([pulls[0], *pulls[k]] for k in (slice(1, 3), slice(3, 5), slice(5, 7)))
        print(f"\n| {name}, {chain} | {min(step):.1f} to {max(step):.1f} | {min(stiff):.1f} to {max(stiff):.1f} | "
              f"{min(damped):.1f} to {max(damped):.1f} | {pulls[0]:.1f} | {pull:.1f} |")  # fmt: skip
        assert min(pulls) <= pull <= max(pulls)
