"""Any number of panels a side: a tip panel added to the demo, hinged to a hinge that moves itself."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import loads
from models.resolve import mechanism
from sim import names
from sim.builders import Linkage, linkage, scene
from sim.closed_form import momentum_rate, moving_parts
from sim.engines.base import Stepping
from sim.engines.exudyn import ExudynEngine
from sim.scene import GROUND, Motion
from sim.whole import holding_torque

TIP = """
[[panel]]
name = "tip"
outline = { unit = "mm", points = [[-60, 0], [120, 0], [40, 400]] }
thickness = "2 mm"
hinge = { out = "620 mm" }
yoke_pin = { out = "150 mm", below = "40 mm" }
throw = { radius = "320 mm", angle = "-60 deg", out = "1360 mm" }
rod = "640 mm"
"""


@pytest.fixture(scope="module")
def long_wings() -> Linkage:
    text = Path(str(files("models").joinpath("manta.toml"))).read_text("utf-8")
    text = text.replace('bearings = ["250 mm", "930 mm"]', 'bearings = ["250 mm", "1460 mm"]')
    return linkage(mechanism(loads(text + TIP)))


def test_three_loops_leave_one_movement(long_wings: Linkage) -> None:
    assert [p.name for p in long_wings.mechanism.sides[0].panels] == ["inner", "outer", "tip"]
    found = ExudynEngine().freedom(scene(long_wings, 1.0, 0.0, ideal=True))
    assert (found.movements, found.redundant) == (1, 0)
    # On chains and couplings wheel, two shafts and two cranks move each for itself.
    found = ExudynEngine().freedom(scene(long_wings, 1.0, 0.0))
    assert (found.movements, found.redundant) == (5, 0)


def test_three_panels_agree_with_closed_form(long_wings: Linkage) -> None:
    held = (Motion(names.HAND, names.WHEEL, 2.0),)
    built = scene(long_wings, 0.0, 2.0, motions=held, friction=False, ideal=True)
    trace = ExudynEngine().simulate(built, Stepping(0.01, 4.0))
    spin = trace.spins[names.crankshaft("left")]
    # .26 rad/s of the crank: inertia is below 1 % of the weights' peak over the turn.
    peak = np.abs(holding_torque(long_wings, np.linspace(0, 2 * np.pi, 720))).max()
    assert np.abs(trace.torques[names.HAND] - holding_torque(long_wings, spin.angle)).max() < 0.01 * peak
    for side, course in zip(long_wings.sides, (s.course(spin.angle) for s in long_wings.sides), strict=True):
        for panel in course:
            pose = trace.poses[names.panel(side.side.name, panel.panel.name)].quaternion
            angle = side.side.sign * 2 * np.arctan2(pose[:, 1], pose[:, 0])
            np.testing.assert_allclose(angle, panel.angle.value, atol=1e-5)  # the drift of the loops
    grounded = sum(trace.joints[j.name].force for j in built.joints if j.a == GROUND)
    carried = sum(b.mass for b in built.bodies) * built.gravity
    for side in long_wings.sides:
        rate = momentum_rate(moving_parts(side, spin.angle), spin.speed, spin.acceleration)
        carried = carried - rate * np.array([1.0, side.side.sign, 1.0])
    # .1 % of the weight.
    assert np.abs(grounded - carried).max() < 1e-3 * np.linalg.norm(
        sum(b.mass for b in built.bodies) * built.gravity
    )
