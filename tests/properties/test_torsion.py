"""What must hold of any sculpture's drive line in torsion."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from sculptures import closed_sculptures

from sim.builders import Linkage
from sim.closed_form import moving_parts, reduced_inertia
from sim.vibration.drive_line import drive_modes
from sim.vibration.shafts import shafts
from sim.vibration.side import own_inertia, throw_inertia

TURN = np.linspace(0, 2 * np.pi, 12, endpoint=False)


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(closed=closed_sculptures())
def test_one_way_to_turn_and_the_sides_whole_inertia(closed: Linkage) -> None:
    """The piece turns as one in just one way, every rotor at its ratio; throws share the side's inertia."""
    found = drive_modes(closed)
    assert found.modes.rigid == 1
    turns = np.array([found.built.turns[name] for name in found.modes.rotors])
    np.testing.assert_allclose(found.modes.shapes[0], turns / turns.max(), atol=1e-6)
    assert np.all(found.least > 0)
    for side in closed.sides:
        whole = reduced_inertia(moving_parts(side, TURN))
        shared = throw_inertia(side, TURN).sum(axis=(1, 2)) + own_inertia(side.side).sum()
        np.testing.assert_allclose(shared, whole, rtol=1e-5)
    for shaft in shafts(closed):
        assert 0 < shaft.least <= shaft.highest * (1 + 1e-12)
        if not shaft.wings:
            assert shaft.least == pytest.approx(shaft.highest)
