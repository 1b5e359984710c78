"""Couplings and torque limiters between rotors, against closed forms. Its numbers are worked out here."""

from dataclasses import replace

import numpy as np
import pytest

from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import Constant, Load, Motion, Rotor, Scene
from sim.transmission import Limiter, Twist
from sim.travel import wound

ENGINE = ExudynEngine()


def run(scene: Scene, step: float, end: float) -> Trace:
    return ENGINE.simulate(scene, Stepping(step, end, relative=1e-10, absolute=1e-12))


# Limiters


def limited(pull: float) -> tuple[Scene, Trace]:
    scene = Scene(
        rotors=(Rotor("a", 0.3, 0.0, 1.0), Rotor("b", 0.5, 0.0, 1.0)),
        limiters=(Limiter("clutch", "a", "b", 20.0, 1e4),),
        loads=(Load("pull", "a", Constant(pull)),),
    )
    return scene, run(scene, 1e-3, 0.5)


def test_a_limiter_holds_below_its_torque() -> None:
    """15 N m on .3 and .5 kg m2 together: 9.375 N m through it, .94 mrad of give, 18.75 rad/s2 for both.

    Pulled at all of a sudden it carries twice that at first, which is still below 20.
    """
    _, trace = limited(15.0)
    a, b = trace.spins["a"], trace.spins["b"]
    # It rings at 231 rad/s, damped by 13 /s: in the mean over its last periods.
    late = trace.time > 0.36
    assert np.mean(trace.torques["clutch"][late]) == pytest.approx(9.375, rel=1e-3)
    assert np.mean((a.angle - b.angle)[late]) == pytest.approx(0.9375e-3, rel=1e-3)
    assert np.abs(trace.torques["clutch"][late] - 9.375).max() < 0.02 * 9.375
    assert b.speed[-1] == pytest.approx(1 + 18.75 * 0.5, rel=1e-3)


@pytest.mark.parametrize("way", [1, -1])
def test_a_limiter_slips_at_its_torque_and_takes_torque_times_slip(way: int) -> None:
    """40 N m would send 25 through it: it slips at 20; both accelerate evenly, and heat is 20 N m times the slip."""
    _, trace = limited(40.0 * way)
    a, b = trace.spins["a"], trace.spins["b"]
    late = trace.time > 0.05
    np.testing.assert_allclose(trace.torques["clutch"][late], 20.0 * way, rtol=1e-9)
    assert np.diff(b.speed[late]) == pytest.approx(way * 20 / 0.5 * 1e-3, rel=1e-6)
    assert np.diff(a.speed[late]) == pytest.approx(way * 20 / 0.3 * 1e-3, rel=1e-6)
    slip = a.angle - b.angle
    gained = 0.15 * (a.speed**2 - 1) + 0.25 * (b.speed**2 - 1)
    lost = 40.0 * way * a.angle - gained
    assert abs(slip[-1]) > 2
    # What it takes until it slips is stored, 20^2 / 2e4 J, and given back or lost at the end.
    assert lost[-1] == pytest.approx(20 * abs(slip[-1]), abs=0.05)


def test_a_limiter_that_starts_wound_up_does_not_ring() -> None:
    scene, _ = limited(15.0)
    wound_up = replace(scene, limiters=(replace(scene.limiters[0], start=0.9375e-3),))
    torque = run(wound_up, 1e-3, 0.2).torques["clutch"]
    np.testing.assert_allclose(torque, 9.375, rtol=1e-6)


# Couplings


def test_a_coupling_by_hand() -> None:
    """900 N m/rad with .02 rad of backlash: free within .01 rad, and with its full damping from .02 rad on."""
    twist = Twist("t", "a", "b", 900.0, 4.0, 0.02)
    assert twist.torque(0.0099, 3.0) == 0
    assert twist.torque(0.03, 0.0) == pytest.approx(18)
    assert twist.torque(-0.03, 0.0) == pytest.approx(-18)
    assert twist.torque(0.03, 0.5) == pytest.approx(18 + 2)
    assert twist.torque(0.015, 0.5) == pytest.approx(4.5 + 1)
    assert twist.torque(0.011, -5.0) == 0  # it does not pull
    assert twist.held(18.0) == pytest.approx(0.03)
    assert twist.held(0.0) == 0
    tight = Twist("t", "a", "b", 900.0, 4.0)
    assert tight.torque(-0.01, 0.5) == pytest.approx(-9 + 2)


def blocked(damping: float, backlash: float = 0.0) -> Trace:
    """Let a wheel of 2 kg m2 at 5 rad/s run into a shaft that is held, over 900 N m/rad."""
    scene = Scene(
        rotors=(Rotor("wheel", 2.0, 0.0, 5.0), Rotor("shaft", 0.01)),
        twists=(Twist("coupling", "wheel", "shaft", 900.0, damping, backlash),),
        motions=(Motion("block", "shaft", 0.0),),
    )
    return run(scene, 5e-4, 0.3)


def test_a_blocked_wheel_pulls_w_sqrt_jk() -> None:
    trace = blocked(0.0)
    expected = 5 * np.sqrt(2 * 900)  # 212.13 N m
    # (w h)^2 / 8 of the peak is between two steps at worst: 1e-5.
    assert trace.torques["coupling"].max() == pytest.approx(expected, rel=1e-4)
    assert -trace.torques["block"][1:].min() == pytest.approx(expected, rel=1e-4) or trace.torques[
        "block"
    ].min() == pytest.approx(-expected, rel=1e-4)
    assert trace.time[trace.torques["coupling"].argmax()] == pytest.approx(
        np.pi / 2 * np.sqrt(2 / 900), abs=5e-4
    )


def test_damping_lowers_a_blocked_wheels_pull() -> None:
    """With zeta = c / 2 sqrt(J k): x = (w / wd) exp(-zeta w0 t) sin(wd t), torque k x + c x'."""
    found = [blocked(c).torques["coupling"].max() for c in (0.0, 4.0, 8.0)]
    assert found[0] > found[1] > found[2]
    for damping, peak in zip((4.0, 8.0), found[1:], strict=True):
        natural, zeta = np.sqrt(450.0), damping / (2 * np.sqrt(1800))
        swing = natural * np.sqrt(1 - zeta**2)
        t = np.linspace(0, 0.15, 150001)
        decay = np.exp(-zeta * natural * t)
        x = 5 / swing * decay * np.sin(swing * t)
        rate = 5 * decay * (np.cos(swing * t) - zeta * natural / swing * np.sin(swing * t))
        assert peak == pytest.approx(np.max(900 * x + damping * rate), rel=1e-4)


def test_backlash_is_dead() -> None:
    """.04 rad of free angle: nothing for .02 rad, which take 4 ms; then the same pull, and nothing on the way back."""
    trace = blocked(0.0, 0.04)
    x, torque = trace.spins["wheel"].angle, trace.torques["coupling"]
    inside = np.abs(x) < 0.02
    assert inside.sum() > 10
    np.testing.assert_array_equal(torque[inside], 0)
    assert torque.max() == pytest.approx(
        5 * np.sqrt(2 * 900), rel=1e-3
    )  # touched within a step: 2.5 mrad of it
    np.testing.assert_allclose(trace.spins["wheel"].speed[inside & (trace.time < 0.05)], 5.0, atol=1e-9)


def test_a_coupling_with_backlash_keeps_its_energy() -> None:
    scene = Scene(
        rotors=(Rotor("a", 2.0, 0.0, 5.0), Rotor("b", 0.5)),
        twists=(Twist("coupling", "a", "b", 900.0, 3.0, 0.04),),
    )
    trace = run(scene, 1e-4, 1.0)
    x, rate = wound(scene.twists[0], trace.spins)
    lost = scene.twists[0].lost(x, rate)
    spent = np.concatenate([[0], np.cumsum((lost[1:] + lost[:-1]) / 2 * np.diff(trace.time))])
    moving = trace.spins["a"].speed ** 2 + 0.25 * trace.spins["b"].speed ** 2
    total = moving + scene.twists[0].strain(x) + spent
    assert spent[-1] > 0.1
    np.testing.assert_allclose(total, total[0], rtol=2e-4)
    # 2 kg m2 at 5 rad/s end up shared: momentum is kept to rounding.
    momentum = 2 * trace.spins["a"].speed + 0.5 * trace.spins["b"].speed
    np.testing.assert_allclose(momentum, 10.0, rtol=1e-9)
