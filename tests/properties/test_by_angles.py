"""The reduced model against the engine on sculptures that nobody chose."""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sculptures import closed_sculptures

from sim import names
from sim.builders import Linkage
from sim.engines.base import Stepping
from sim.engines.exudyn import ExudynEngine
from sim.reduced.method import Reduced
from sim.scenarios import LetGo


@given(closed_sculptures(), st.floats(0, 6.2), st.floats(1.0, 6.0))
@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
def test_let_go_by_angles_alone_is_let_go_in_the_engine(
    closed: Linkage, release: float, speed: float
) -> None:
    """Joint forces within .5 % of their peak and speeds within .2 % until the first near-stall, as asked."""
    doing = LetGo(speed, release)
    built, stepping = doing.scene(closed), Stepping(doing.step(closed), 2.0)
    full, reduced = ExudynEngine().simulate(built, stepping), Reduced(closed).simulate(built, stepping)
    wheel = full.spins[names.WHEEL].speed
    slow = np.flatnonzero(np.abs(wheel) < 0.05 * np.abs(wheel).max())
    until = full.time[slow[0]] if len(slow) else full.time[-1]
    ours, theirs = reduced.time <= until, full.time <= until
    most = np.abs(wheel[theirs]).max()
    assert abs(np.abs(reduced.spins[names.WHEEL].speed[ours]).max() - most) <= 2e-3 * most
    for name, load in full.joints.items():
        peak = np.linalg.norm(load.force[theirs], axis=1).max()
        other = np.linalg.norm(reduced.joints[name].force[ours], axis=1).max()
        assert abs(other - peak) <= 5e-3 * peak, name
