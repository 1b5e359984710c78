"""Chains, couplings and limiters between rotors, against closed forms. Its numbers are worked out here."""

from dataclasses import replace

import numpy as np
import pytest

from sim.arrays import Array
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.friction import Drag
from sim.scene import Constant, Load, Motion, Rotor, Scene
from sim.sprocket import pitch_radius, travel_radius
from sim.transmission import Soft, Strands, Twist, polygon
from sim.travel import ahead, wound

ENGINE = ExudynEngine()
PITCH = 12.7e-3
SMALL, LARGE = travel_radius(14, PITCH), travel_radius(42, PITCH)
K = 1e6
"""Stiffness of one strand, N/m: a metre of chain No. 40 (computed from a rigidity of about 1 MN)."""


def run(scene: Scene, step: float, end: float) -> Trace:
    return ENGINE.simulate(scene, Stepping(step, end, relative=1e-10, absolute=1e-12))


def chain(slack: float = 0.0, damping: float = 5.0, **changes: object) -> Strands:
    plain = Strands("chain", "driver", "driven", SMALL, LARGE, K, slack, damping)
    return replace(plain, **changes)  # pyright: ignore[reportArgumentType]


def held(law: Strands, force: float) -> float:
    """Give where a chain carries a steady force, m."""
    return float(law.held(np.array([force]))[0])


# The laws by hand


def test_a_slack_chain_by_hand() -> None:
    """8 mm of slack: nothing within 4 mm either way, 1 kN/mm beyond, on the strand that is stretched."""
    slack = chain(8e-3)
    assert slack.tensions(3.9e-3, 0.0) == (0, 0)
    assert slack.tensions(5e-3, 0.0) == pytest.approx((1000, 0))
    assert slack.tensions(-4.5e-3, 0.0) == pytest.approx((0, 500))
    assert slack.force(-4.5e-3, 0.0) == pytest.approx(-500)
    # 5 s/m: at .1 m/s half as much again, and half as much less on the way back.
    assert slack.tensions(5e-3, 0.1)[0] == pytest.approx(1500)
    assert slack.tensions(5e-3, -0.1)[0] == pytest.approx(500)
    assert slack.tensions(5e-3, -0.3) == (0, 0)  # it never pushes
    assert slack.tensions(-5e-3, -0.1)[1] == pytest.approx(1500)


def test_a_tight_chain_by_hand() -> None:
    """Set with 50 N: both strands at 50 N; 100 N of force are 50 um ahead; beyond, one strand alone."""
    tight = chain(-2 * 50 / K)
    assert tight.tensions(0.0, 0.0) == pytest.approx((50, 50))
    assert tight.force(20e-6, 0.0) == pytest.approx(2 * K * 20e-6)
    assert tight.tensions(50e-6, 0.0) == pytest.approx((100, 0), abs=1e-9)
    assert tight.force(80e-6, 0.0) == pytest.approx(100 + K * 30e-6)


def test_a_tensioner_by_hand() -> None:
    """60 N at rest, 4 N/mm of chain, 10 mm to the stop: soft until the stop, then as stiff as any strand."""
    soft = chain(-2 * 60 / K, soft=Soft(60.0, 4e3, 10e-3))
    assert soft.tensions(0.0, 0.0) == pytest.approx((60, 60))
    # Driven backwards by 5 mm: strand a is slack, the idler gives way with 20 N more.
    assert soft.tensions(-5e-3, 0.0) == pytest.approx((0, 80))
    assert soft.tensions(-10.5e-3, 0.0) == pytest.approx((0, 100 + K * 0.5e-3))
    # Driven forwards strand a takes it, and the idler takes up what strand b has over.
    assert soft.tensions(1e-3, 0.0) == pytest.approx((60 + K * 1e-3, 56))
    assert soft.tensions(20e-3, 0.0)[1] == 0


@pytest.mark.parametrize(
    "law",
    [
        chain(8e-3),
        chain(-1e-4),
        chain(-1.2e-4, soft=Soft(60.0, 4e3, 1e-2)),
        chain(-1.2e-4, soft=Soft(60.0, 0.0, 1e-2)),
    ],
    ids=["slack", "tight", "sprung", "weighted"],
)
def test_where_a_force_holds_and_what_it_stores(law: Strands) -> None:
    for force in (-900.0, -3.0, 2.0, 70.0, 2000.0):
        assert law.force(held(law, force), 0.0) == pytest.approx(force, rel=1e-6)
    # The strain's slope is the force: central differences, exact for a parabola, on points off the kinks.
    x, d = np.linspace(-0.02, 0.02, 401) + 3.3e-7, 1e-8
    slope = (law.strain(x + d) - law.strain(x - d)) / (2 * d)
    np.testing.assert_allclose(slope, law.force(x, np.zeros_like(x)), atol=1e-2)  # N of 2e4: rounding over d


def test_damping_takes_and_never_gives_and_vanishes_at_first_touch() -> None:
    rng = np.random.default_rng(2)
    x, rate = rng.uniform(-0.01, 0.01, 500), rng.uniform(-1, 1, 500)
    for law in (chain(8e-3), chain(-1e-4), chain(-1.2e-4, soft=Soft(60.0, 4e3, 1e-2))):
        assert np.all(law.lost(x, rate) >= -1e-9)
        assert all(np.all(t >= 0) for t in law.tensions(x, rate))
    assert chain(8e-3).tensions(4e-3 + 1e-12, 1.0)[0] < 1e-5
    twist = Twist("t", "a", "b", 900.0, 4.0, 0.02)
    assert np.all(twist.lost(x * 3, rate) >= 0)
    assert twist.torque(0.01 + 1e-12, 1.0) < 1e-6


# The ratio


def two_stages(slack: float, off: float = 0.0) -> Scene:
    """Give two stages of 14:42; the wheel turns `off` faster than the others."""
    first = Strands("lower", "wheel", "between", SMALL, LARGE, K, slack, 5.0)
    return Scene(
        rotors=(
            Rotor("wheel", 0.3, 0.0, 40.0 + off),
            Rotor("between", 0.01, 0.0, 40.0 / 3),
            Rotor("crank", 2.0, 0.0, 40.0 / 9),
        ),
        strands=(first, replace(first, name="upper", driver="between", driven="crank")),
    )


def test_two_stages_of_14_to_42_on_tight_chains_turn_9_to_1() -> None:
    trace = ENGINE.simulate(two_stages(-1e-4), Stepping(5e-3, 20.0))
    wheel, crank = trace.spins["wheel"].angle, trace.spins["crank"].angle
    assert wheel[-1] / (2 * np.pi) > 100
    np.testing.assert_allclose(crank, wheel / 9, atol=1e-9)
    assert wheel[-1] / crank[-1] == pytest.approx(9, rel=1e-9)


def test_two_stages_that_swing_turn_9_to_1_in_the_mean() -> None:
    """Started off its ratio the train swings by its chains' give; in the mean over the turns that is nothing."""
    trace = ENGINE.simulate(two_stages(-1e-4, 0.05), Stepping(2e-3, 30.0))
    wheel, crank = trace.spins["wheel"].angle, trace.spins["crank"].angle
    late = trace.time > 10
    swing = np.abs(crank - wheel / 9)
    assert swing.max() > 1e-5  # it did swing
    slope = np.polyfit(crank[late], wheel[late], 1)[0]
    assert slope == pytest.approx(9, rel=1e-9)


# One chain


def test_strands_carry_the_torque_over_the_travel_radius() -> None:
    """30 N m on 42 teeth of 12.7 mm: 353.4 N in one strand, none in the other; a third of the torque before."""
    scene = Scene(
        rotors=(Rotor("driver", 0.01, 0.0, 3.0), Rotor("driven", 0.02, 0.0, 1.0)),
        strands=(chain(5e-3, start=held(chain(5e-3), 30 / LARGE)),),
        motions=(Motion("hand", "driver", 3.0),),
        loads=(Load("brake", "driven", Constant(-30.0)),),
    )
    trace = run(scene, 1e-3, 0.5)
    a, b = trace.tensions["chain"]
    np.testing.assert_allclose(a, 2 * np.pi * 30 / (42 * PITCH), rtol=1e-6)
    np.testing.assert_array_equal(b, 0)
    np.testing.assert_allclose(trace.torques["hand"], 10.0, rtol=1e-6)
    np.testing.assert_allclose(trace.torques["chain"], 30.0, rtol=1e-6)


@pytest.mark.parametrize("slack", [2e-3, 8e-3])
def test_reversal_takes_up_the_slack_at_the_driver(slack: float) -> None:
    """Between the last pull of one strand and the first of the other the driver turns by slack over its radius."""
    law = chain(slack)
    scene = Scene(
        rotors=(Rotor("driver", 0.01, 0.0, -0.5), Rotor("driven", 0.02)),
        strands=(replace(law, start=held(law, 2.0 / LARGE)),),
        motions=(Motion("hand", "driver", -0.5),),
        drags=(Drag("bearing", "driven", 3.0),),
    )
    trace = run(scene, 1e-3, 1.5)
    a, b = trace.tensions["chain"]
    angle = trace.spins["driver"].angle
    free = (a == 0) & (b == 0)
    # A step is 5e-4 rad of the driver; the driven rests on its friction, whose bristle straightens by 7e-5 rad.
    assert np.ptp(angle[free]) == pytest.approx(slack / SMALL, abs=2 * 5e-4 + 7e-5 * LARGE / SMALL)
    # Then strand b pulls the driven round against its friction.
    assert trace.spins["driven"].speed[-1] == pytest.approx(-0.5 * SMALL / LARGE, rel=0.05)
    assert b[-1] == pytest.approx(3.0 / LARGE, rel=0.05)


def period(trace: Trace, name: str) -> float:
    """Give the mean period between rising passages of the speed through zero, by linear interpolation."""
    v, t = trace.spins[name].speed, trace.time
    up = np.flatnonzero((v[:-1] < 0) & (v[1:] >= 0))
    at = t[up] - v[up] * (t[up + 1] - t[up]) / (v[up + 1] - v[up])
    return float(np.diff(at).mean())


@pytest.mark.parametrize(
    ("law", "pull", "rate"),
    [
        (chain(-2 * 100 / K, damping=0.0), 0.0, 2 * K),  # both strands of a tight chain
        (chain(-2 * 100 / K, damping=0.0), 40.0, K),  # one strand, the other slack
        (chain(3e-3, damping=0.0), 40.0, K),
        (chain(-2 * 60 / K, damping=0.0, soft=Soft(60.0, 4e3, 1e-2)), 40.0, K + 4e3),
        # One strand slack, the idler carries: its rate alone.
        (chain(-2 * 60 / K, damping=0.0, soft=Soft(60.0, 4e3, 1e-2)), -80 * LARGE, 4e3),
        # Against its stop.
        (chain(-2 * 60 / K, damping=0.0, soft=Soft(60.0, 4e3, 1e-2)), -40.0, K),
    ],
    ids=["tight", "tight loaded", "slack loaded", "idler forward", "idler backward", "idler at its stop"],
)
def test_period_of_a_wheel_on_its_chain(law: Strands, pull: float, rate: float) -> None:
    """2 pi sqrt(J / k R2^2) about where the load holds it, k as many strands as pull."""
    inertia = 0.05
    # N m / (N m2): a swing small enough that no strand changes its state.
    small = 0.2 * np.sqrt(rate * LARGE**2 / inertia) * 20 / (rate * LARGE)
    scene = Scene(
        rotors=(Rotor("driver", 0.01), Rotor("driven", inertia, 0.0, small)),
        strands=(replace(law, start=held(law, pull / LARGE)),),
        motions=(Motion("hand", "driver", 0.0),),
        loads=(Load("pull", "driven", Constant(-pull)),),
    )
    expected = 2 * np.pi * np.sqrt(inertia / (rate * LARGE**2))
    trace = run(scene, expected / 200, 12 * expected)
    # The trapezoidal rule lengthens a period by (w h)^2 / 12, 8e-5 with 200 steps in it.
    assert period(trace, "driven") == pytest.approx(expected, rel=2e-4)


def energies(scene: Scene, trace: Trace) -> Array:
    """Give kinetic energy, strain and what damping has taken, (n,) J."""
    total = np.sum([r.inertia * trace.spins[r.name].speed ** 2 / 2 for r in scene.rotors], axis=0)
    lost = np.zeros(len(trace.time))
    for s in scene.strands:
        x, rate = ahead(s, trace.spins)
        total, lost = total + s.strain(x), lost + s.lost(x, rate)
    for t in scene.twists:
        x, rate = wound(t, trace.spins)
        total, lost = total + t.strain(x), lost + t.lost(x, rate)
    return total + np.concatenate([[0], np.cumsum((lost[1:] + lost[:-1]) / 2 * np.diff(trace.time))])


def test_energy_of_a_rattling_chain() -> None:
    """A wheel that bounces between both strands of its slack chain loses what damping takes and nothing else."""
    scene = Scene(
        rotors=(Rotor("driver", 0.02), Rotor("driven", 0.05, 0.0, 1.0)),
        strands=(chain(2e-3, damping=2.0),),
    )
    trace = run(scene, 1e-5, 0.5)
    touches = np.count_nonzero(np.diff((trace.tensions["chain"][0] > 0).astype(int)) > 0)
    assert touches >= 5
    total = energies(scene, trace)
    lost = total[0] - np.sum([r.inertia * trace.spins[r.name].speed[-1] ** 2 / 2 for r in scene.rotors])
    assert lost > 1e-3
    np.testing.assert_allclose(total, total[0], rtol=1e-3)  # some 100 steps in a touch, of second order


# Pitch polygons


def test_the_polygon_by_hand() -> None:
    """14 teeth: in the middle of a tooth the lever is the pitch radius, at its ends cos(pi / 14) of it."""
    r, mean = pitch_radius(14.0, PITCH), 14 * PITCH / (2 * np.pi)
    travel, lever = polygon(np.array([0.0, np.pi / 14 - 1e-12, 2 * np.pi / 14]), 14, r)
    np.testing.assert_allclose(lever, [r - mean, r * np.cos(np.pi / 14) - mean, r - mean], atol=1e-12)
    np.testing.assert_allclose(travel, 0, atol=1e-12)
    # The lever is the slope of the travel, and both are nothing in the mean.
    u = np.linspace(0, 2 * np.pi, 140001)
    travel, lever = polygon(u, 14, r)
    assert np.trapezoid(lever, u) == pytest.approx(0, abs=1e-7)
    np.testing.assert_allclose(np.gradient(travel, u)[50:9950], lever[50:9950], atol=1e-6)


def chordal(step: float, end: float, inertia: float, pull: float = 0.0) -> Trace:
    law = chain(-2 * 400 / K, damping=20.0, teeth=(14, 42))
    scene = Scene(
        rotors=(Rotor("driver", 0.01, 0.1, 6.0), Rotor("driven", inertia, 0.05, 2.0)),
        strands=(replace(law, start=held(law, pull / LARGE)),),
        motions=(Motion("hand", "driver", 6.0),),
        loads=(Load("brake", "driven", Constant(-pull)),),
    )
    return ENGINE.simulate(scene, Stepping(step, end))


def test_chordal_action_swings_the_driven_speed_as_its_polygons_say() -> None:
    """Levers R1 cos(u1) and R2 cos(u2): a driven without much inertia follows w2 = w1 R1 cos(u1) / R2 cos(u2)."""
    trace = chordal(2e-4, 4 * np.pi / 6, 1e-4)
    angle, speed = trace.spins["driver"].angle, trace.spins["driven"].speed
    r1, r2 = pitch_radius(14.0, PITCH), pitch_radius(42.0, PITCH)
    share1, share2 = 2 * np.pi / 14, 2 * np.pi / 42
    u1 = (angle + share1 / 2) % share1 - share1 / 2
    driven = trace.spins["driven"].angle
    u2 = (driven + share2 / 2) % share2 - share2 / 2
    expected = 6.0 * r1 * np.cos(u1) / (r2 * np.cos(u2))
    # At a tooth's end the levers' slopes jump, and the wheel rings there; elsewhere it follows.
    smooth = (np.abs(u1) < 0.4 * share1) & (np.abs(u2) < 0.4 * share2) & (trace.time > 0.2)
    ripple = np.ptp(expected)
    # 1 - cos(pi/14) is .0251 and of 42 teeth .0028: between their difference and their sum, as the teeth stand.
    assert 0.0223 < ripple / 2.0 < 0.0279
    assert smooth.sum() > 3000
    # The chain is not quite stiff and the levers are those of the step's beginning: .8 % of the ripple.
    assert np.abs(speed - expected)[smooth].max() < 0.02 * ripple
    assert np.ptp(speed[trace.time > 0.2]) < 1.01 * ripple


def test_chordal_action_keeps_the_ratio_and_does_no_work() -> None:
    """Over whole turns of both: a third of the turns, and under a load no more work in than out."""
    turns = 2 * np.pi * 3 / 6.0
    trace = chordal(5e-4, 4 * turns, 0.02, pull=20.0)
    driver, driven = trace.spins["driver"], trace.spins["driven"]
    late = trace.time >= turns - 1e-9
    assert np.ptp(driven.angle[late]) == pytest.approx(np.ptp(driver.angle[late]) / 3, abs=1e-4)
    torque = trace.torques["hand"]
    middle, turn = (torque[1:] + torque[:-1]) / 2, np.diff(driver.angle)
    work = np.sum((middle * turn)[late[1:]])
    out = 20.0 * np.ptp(driven.angle[late])
    assert np.ptp(torque[late]) > 0.1  # N m: it does swing
    assert work == pytest.approx(out, rel=3e-4)  # .5 ms against 75 ms from tooth to tooth, of second order
