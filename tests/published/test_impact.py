"""A mass that hits a strand of a chain, whose damping is that of Hunt and Crossley, with exponent 1.

For a force k d (1 + chi d') and nothing else, restitution e depends on s = chi v0 alone, v0 the speed of the hit:
s (1 + e) = ln[(1 + s) / (1 - e s)], from v dv / (1 + chi v) = -(k / m) d dd over the contact. So do the time of
contact times w and the greatest stretch times w / v0, with w = sqrt(k / m). The law is that of Hunt & Crossley,
J. Appl. Mech. 1975, 440-445 (form from memory, its first order e = 1 - c v for f = k x^n (1 + 3/2 c v) read); the
table below was worked out from it apart from this program, by a Runge-Kutta rule of order 8 at 1e-13.
"""

import numpy as np
import pytest
from evidence import Outside

from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import Motion, Rotor, Scene
from sim.transmission import Strands

SOURCE = "Hunt & Crossley, J. Appl. Mech. 1975, 440-445, exponent 1; integrated apart from this program"
TABLE = {
    0.01: (0.993377454, 3.14160566, 0.996685977),
    0.1: (0.937475580, 3.14282057, 0.968485436),
    0.5: (0.748434932, 3.16638938, 0.869643108),
    1.0: (0.593624260, 3.22239932, 0.783393668),
    2.0: (0.410719686, 3.38097106, 0.671337364),
    5.0: (0.196980245, 3.99429757, 0.506615478),
    10.0: (0.099981625, 5.02755591, 0.389925755),
}
"""By s: restitution, time of contact times w, greatest stretch times w / v0."""
STIFFNESS, INERTIA, RADIUS, SLACK, SPEED = 2e5, 0.02, 0.1, 2e-3, 0.3
NATURAL = np.sqrt(STIFFNESS * RADIUS**2 / INERTIA)
STEPS = 2000


def hit(s: float) -> tuple[float, float, float]:
    """Give restitution, contact time times w and stretch times w / v0 of a wheel that runs into its chain."""
    # It starts as far off the strand as it gets in a tenth of the contact, backwards: strand b takes the hit.
    near = SPEED / NATURAL * 0.3
    law = Strands("chain", "driver", "driven", 0.05, RADIUS, STIFFNESS, SLACK, s / SPEED,
                  start=-SLACK / 2 + near)  # fmt: skip
    scene = Scene(
        rotors=(Rotor("driver", 0.01), Rotor("driven", INERTIA, 0.0, SPEED / RADIUS)),
        strands=(law,),
        motions=(Motion("held", "driver", 0.0),),
    )
    # Until it has left: slow as it is by then, it does not reach the other strand.
    step = np.pi / NATURAL / STEPS
    end = (0.3 + TABLE[s][1] * 1.05) / NATURAL
    trace = ExudynEngine().simulate(scene, Stepping(step, end, relative=1e-10, absolute=1e-12))
    return measured(trace, law)


def measured(trace: Trace, law: Strands) -> tuple[float, float, float]:
    x = law.start - RADIUS * trace.spins["driven"].angle
    stretch = -x - SLACK / 2
    v0 = trace.spins["driven"].speed[0] * RADIUS
    off = trace.spins["driven"].speed[-1] * RADIUS
    rising = np.flatnonzero((stretch[:-1] <= 0) & (stretch[1:] > 0))[0]
    falling = np.flatnonzero((stretch[:-1] > 0) & (stretch[1:] <= 0))[0]
    times = [
        trace.time[k] - stretch[k] * (trace.time[k + 1] - trace.time[k]) / (stretch[k + 1] - stretch[k])
        for k in (rising, falling)
    ]
    return -off / v0, (times[1] - times[0]) * NATURAL, float(stretch.max()) * NATURAL / v0


@pytest.mark.parametrize("s", TABLE)
def test_restitution(outside: Outside, s: float) -> None:
    outside(
        f"restitution, contact time times w and greatest stretch times w / v0 of a hit on a strand with s = {s:g}",
        source=SOURCE, seen="computed", expected=TABLE[s], got=hit(s), absolute=2e-5,
        reason=f"{STEPS} steps in half a period, of second order, and the step in which the strand is touched",
    )  # fmt: skip


def test_light_damping_is_two_thirds_of_s() -> None:
    """Of second order: e = 1 - 2 s / 3 + 4 s^2 / 9."""
    e, _, _ = hit(0.01)
    assert e == pytest.approx(1 - 0.02 / 3 + 4e-4 / 9, abs=1e-5)
