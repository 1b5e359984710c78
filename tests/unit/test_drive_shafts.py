"""The drive's straight shafts: levers, bending, torque, slope, stress and fatigue in closed form."""

import math

import numpy as np
import pytest
from parts_basis import MODELS

from analysis.parts.driving import Acting, Carried, Segment, beside_direct
from analysis.parts.shafts import (
    Peak,
    Section,
    Strained,
    Turn,
    checks,
    own_system,
    peak_stress,
    turned_moment,
)
from analysis.strength.endurance import endurance
from analysis.strength.goodman import Limits, diameter
from analysis.strength.notches import keyseat
from models.drive import DriveShaft
from models.loading import changed, load
from models.resolve import mechanism
from models.strengths import strengths
from sim.beam import round_second_moment

SHAFT = DriveShaft((-0.1, 0.1), 0.025)
RUN = None
"""No run: what is asked here does not read one."""


def _carried(*acting: Acting, push: float = 0.0, segments: tuple[Segment, ...] = ()) -> Carried:
    n = 4
    return Carried(SHAFT, RUN, np.zeros(n), None, acting, segments, np.full(n, push), -0.3)  # type: ignore[arg-type]


def _force(at: float, x: float, z: float) -> Acting:
    return Acting(at, np.tile([x, 0.0, z], (4, 1)))


def test_an_overhung_weight_lifts_the_far_bearing() -> None:
    held = _carried(_force(-0.3, 0.0, -100.0))
    # Moments about the far and the near bearing: 100 x .4 / .2 and 100 x .2 / .2.
    assert held.bearing(0)[0] == pytest.approx([0, 0, -200])
    assert held.bearing(1)[0] == pytest.approx([0, 0, 100])
    assert np.linalg.norm(held.bending(-0.1)[0]) == pytest.approx(100 * 0.2)
    assert np.linalg.norm(held.bending(0.1)[0]) == pytest.approx(0, abs=1e-12)
    # Overhung by a: slope at the near bearing F a l / (3 E I).
    EI = 200e9 * round_second_moment(0.025)
    assert held.slope(0, 0.025, 200e9)[0] == pytest.approx(100 * 0.2 * 0.2 / (3 * EI))


def test_a_force_between_the_bearings() -> None:
    held = _carried(_force(0.0, 60.0, 80.0))
    assert held.bearing(0)[0] == pytest.approx([30, 0, 40])
    # F l / 4, in the force's own plane.
    assert np.abs(held.bending(0.0)[0]) == pytest.approx([60 * 0.05, 0, 80 * 0.05])


def test_the_push_acts_in_the_worst_direction() -> None:
    without, pushed = _carried(_force(-0.3, 30.0, -40.0)), _carried(_force(-0.3, 30.0, -40.0), push=50.0)
    for which in (0, 1):
        lengths = [float(np.linalg.norm(c.bearing(which)[0])) for c in (without, pushed)]
        # As much as the force of 50 N: it doubles everything.
        assert lengths[1] == pytest.approx(2 * lengths[0])
    assert np.linalg.norm(pushed.bending(-0.1)[0]) == pytest.approx(
        2 * np.linalg.norm(without.bending(-0.1)[0])
    )
    # A shaft without any other force is bent by the push alone.
    alone = _carried(push=50.0)
    assert np.linalg.norm(alone.bending(-0.1)[0]) == pytest.approx(50 * 0.2)


def test_torque_is_where_it_goes_through() -> None:
    held = _carried(segments=(Segment(-0.3, 0.0, np.full(4, 5.0)), Segment(0.0, 0.2, np.full(4, -7.0))))
    assert [float(held.torque(y)[0]) for y in (-0.3, -0.1, 0.0, 0.1, 0.21)] == [5, 5, -7, -7, 0]


def test_peak_stress_of_bending_and_of_torsion_alone() -> None:
    d = 0.02
    assert peak_stress(2 * 50.0, d) == pytest.approx(32 * 50 / (math.pi * d**3))
    assert peak_stress(math.sqrt(3) * 50.0, d) == pytest.approx(math.sqrt(3) * 16 * 50 / (math.pi * d**3))


def _strained(bending: float, torque: float) -> Strained:
    angle = np.linspace(0, 6 * math.pi, 1080, endpoint=False)
    steady = np.tile([0.0, 0.0, bending], (1080, 1))
    moment = turned_moment(steady, np.full(1080, torque), angle)
    return Strained((Turn(Section("hub", 0.0, True), "slow", moment),), Peak(400.0, "hub", "gust", 0.0),
                    Peak(900.0, "hub", "blocked", 0.0), (0.001, "slow"))  # fmt: skip


def test_a_weight_that_stands_still_bends_a_turning_shaft_to_and_fro() -> None:
    turn = _strained(60.0, 25.0).turns[0].moment
    assert np.hypot(turn[:, 0], turn[:, 2]) == pytest.approx(np.full(len(turn), 60.0))
    assert turn[:, [0, 2]].mean(axis=0) == pytest.approx([0, 0], abs=1e-9)
    assert turn[:, 1] == pytest.approx(np.full(len(turn), 25.0))


def test_fatigue_is_goodmans_with_the_keyseat() -> None:
    m = mechanism(load(MODELS / "manta.toml"))
    known = strengths()[m.drive_stock.name]
    d = 0.025
    # The textbook's formula for amplitude and mean gives the diameter that has the factor wanted.
    limits = Limits(
        endurance(known, d, m.sides[0].crank.making.surface).limit, known.ultimate, m.drive_stock.strength
    )
    seat = keyseat("end-milled", d, known)
    found = checks(m, _strained(60.0, 25.0), d, d)[0]
    assert diameter("Goodman", (60.0, 0.0), (0.0, 25.0), limits, found.allowed, seat) == pytest.approx(
        d, rel=1e-4
    )
    assert found.demand == m.use.margin


def test_what_is_asked_of_a_straight_shaft() -> None:
    m = mechanism(load(MODELS / "manta.toml"))
    _, met, bound, slope = checks(m, _strained(60.0, 25.0), 0.025, 0.05)
    assert met.demand == pytest.approx(1.5 * peak_stress(400.0, 0.05))
    assert met.allowed == m.drive_stock.strength
    # The upper bound counts once, without the safety factor.
    assert bound.demand == pytest.approx(peak_stress(900.0, 0.05))
    # Twice as thick: a sixteenth of the slope.
    assert slope.demand == pytest.approx(0.001 / 16)


def test_the_system_that_has_a_bar() -> None:
    assert (own_system(0.0254), own_system(0.025), own_system(0.0261)) == ("inch", "metric", "metric")


def test_shafts_beside_a_direct_stage_are_known_as_such() -> None:
    given = load(MODELS / "manta.toml")
    for stage, beside in ((None, []), (1, [0, 1]), (2, [1, 2])):
        changes = {} if stage is None else {f"stage.{stage}.kind": "direct"}
        m = mechanism(changed(given, changes))
        assert [k for k in range(3) if beside_direct(m, k)] == beside
