"""A hand that turns the wheel at a speed: its law by hand, and what it does to whole sculptures."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.people import people
from models.resolve import mechanism
from sim import names
from sim.builders import Linkage, linkage, mean_friction
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.operators.steady import SteadyHand
from sim.scenarios import Crank
from sim.whole import holding_torque

MODELS = Path(str(files("models")))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return linkage(mechanism(load(MODELS / "manta.toml")))


def run(closed: Linkage, scenario: Crank, step: float, end: float) -> Trace:
    return ExudynEngine().simulate(scenario.scene(closed), Stepping(step, end))


# The law by hand


def hand(**changes: object) -> SteadyHand:
    plain = SteadyHand(people()["adult"], 2.0, 0.4, 3.0, 4.0, np.zeros(8), (0.0, 0.0), 0.0)
    return replace(plain, **changes)  # pyright: ignore[reportArgumentType]


def test_hand_pushes_with_all_its_strength_from_rest() -> None:
    assert hand(wanted=50.0).torque(0, 0, 0) == pytest.approx(110 * 0.4)


def test_hand_weakens_with_speed_and_power() -> None:
    # At 5 rad/s the hand moves at 2 m/s: strength 110 (1 - 2/3) = 36.7 N, power 75 / 2 = 37.5 N.
    assert hand(wanted=50.0).torque(0, 0, 5.0) == pytest.approx(110 / 3 * 0.4)
    assert hand(wanted=50.0).torque(0, 0, 4.0) == pytest.approx(75 / 1.6 * 0.4)
    assert hand(wanted=50.0).torque(0, 0, 8.0) == 0


def test_hand_is_odd_in_direction() -> None:
    there = hand(wanted=2.0).torque(0, 0, 1.5)
    back = hand(wanted=-2.0).torque(0, 0, -1.5)
    assert there == pytest.approx(-back)
    assert hand(wanted=2.0).torque(0, 0, 20.0) == pytest.approx(-110 * 0.4)  # it holds back


def test_hand_carries_the_felt_load() -> None:
    weight = 5 * np.sin(2 * np.pi * np.arange(8) / 8)
    feeling = hand(weight=weight, friction=0.5)
    # At the wanted speed it gives the load and no more; a wheel angle of pi is an eighth of a crank's turn.
    assert feeling.torque(0, np.pi, 2.0) == pytest.approx(5 * np.sin(np.pi / 4) + 0.5)
    assert feeling.torque(0, 3 * np.pi / 2, 2.0) == pytest.approx((weight[1] + weight[2]) / 2 + 0.5)
    assert feeling.torque(0, -np.pi, 2.0) == pytest.approx(-5 * np.sin(np.pi / 4) + 0.5)


def test_hand_carries_a_handle_of_its_own() -> None:
    heavy = hand(unbalance=(1.0, 3.0))
    assert heavy.torque(0, np.pi / 2, 2.0) == pytest.approx(-3.0)  # the grip forward falls on by itself
    assert heavy.torque(0, 0.0, 2.0) == pytest.approx(-1.0)


# In a sculpture


@pytest.mark.parametrize("person", ["child", "adult"])
def test_a_person_comes_to_the_wanted_speed_within_strength_and_power(manta: Linkage, person: str) -> None:
    """The hand feels the wings' weights and friction; what the drive's own bearings and chains rub it does not.

    Over the last turn it lags by that friction over its gain.
    """
    scenario = Crank(person)
    built = scenario.scene(manta)
    law = built.loads[0].law
    assert isinstance(law, SteadyHand)
    turn = 2 * np.pi * manta.mechanism.reduction / (0.97 * scenario.wanted(manta))
    trace = run(manta, scenario, 4e-3, turn + 7.0)
    who, radius, m = people()[person], manta.mechanism.wheel.radius, manta.mechanism
    wheel, torque = trace.spins[names.WHEEL], trace.torques[names.HAND]
    last = wheel.angle > wheel.angle[-1] - 2 * np.pi * m.reduction
    assert trace.time[last][0] > 5
    # 1.5 % of lag in the mean for a child, and the reaction's gain times the weights' change: 3 %.
    np.testing.assert_allclose(wheel.speed[last], scenario.wanted(manta), rtol=0.03)
    turns = {names.WHEEL_DRAG: 1.0, names.shaft_friction(1, 2): m.stages[0].driven / m.stages[0].driver}
    turns |= {names.shaft_friction(2, 2): m.reduction}
    turns |= {names.friction(s.side.name): m.reduction for s in manta.sides}
    assert set(turns) == {d.name for d in built.drags}
    rubbed = -sum(float(np.mean(trace.torques[name][last])) / share for name, share in turns.items())
    lack = law.wanted - float(np.mean(wheel.speed[last]))
    # 5 %: weights are felt at the wheel's angle, which slack and give let run ahead of the crank's.
    assert lack * law.gain == pytest.approx(rubbed - law.friction, rel=0.05)
    assert rubbed > law.friction
    assert np.abs(torque).max() <= who.push * radius * (1 + 1e-9)
    # The torque is held over a step, so power may pass its limit by the change of speed in one.
    assert (torque * wheel.speed).max() <= who.power * 1.01


def test_who_is_too_weak_gets_stuck() -> None:
    moth = linkage(mechanism(load(MODELS / "moth.toml")))
    trace = run(moth, Crank("child"), 1e-3, 6.0)
    crank = trace.spins[names.crankshaft("left")]
    assert np.abs(crank.angle - crank.angle[0]).max() < 2 * np.pi
    assert abs(crank.speed[-1]) < 0.01


def test_a_handle_behind_chains_is_turned_by_who_can_turn_it() -> None:
    """Turning slowly needs some 35 N, below a child's strength: nobody may be called stuck."""
    changes = {"wheel": {"kind": "handle", "radius": "250 mm", "height": "900 mm", "grip": {"mass": "1 kg"}}}
    closed = linkage(mechanism(load(MODELS / "manta.toml", changes)))
    crank = np.linspace(0, 2 * np.pi, 7200)
    m = closed.mechanism
    rubs = sum(mean_friction(s, m) for s in closed.sides) / m.reduction + m.friction.wheel_drag
    needed = (np.abs(holding_torque(closed, crank)).max() + rubs) / 0.25
    assert needed < 40 < people()["child"].push
    trace = run(closed, Crank("child"), 4e-3, 32.0)
    spin = trace.spins[names.crankshaft("left")]
    assert spin.angle[-1] - spin.angle[0] > 2 * np.pi
