"""What every eye goes through: pull, push and what acts across, from runs."""

import math
from functools import cache
from typing import Any

import numpy as np
import pytest
from rod_eyes import settled

from analysis.parts.rod_loads import Load, drawing, extents
from sim import names
from sim.builders import Linkage, linkage
from sim.run import Channel, Run, extrema
from sim.statics import statics


@cache
def manta() -> Linkage:
    return linkage(settled("manta"))


def made_up(case: str, side: str, panel: str, at: str, force: Any, crank: Any) -> Run:
    joint = names.crank_eye(side, panel) if at == "crank" else names.yoke_eye(side, panel)
    time = np.arange(len(crank), dtype=float)
    channels = {
        f"joints/{joint}/force": Channel(force, "N", "force", "world"),
        f"angles/{names.crankshaft(side)}/angle": Channel(crank, "rad", "angle"),
    }
    return Run("0" * 12, "made up", case, "made up", {}, {}, {}, "", "", "finished", "", True, time, channels,
               extrema(channels, time, crank), ())  # fmt: skip


@pytest.mark.parametrize("number", [0, 1])
@pytest.mark.parametrize("at", ["crank", "yoke"])
def test_pull_push_and_across_are_told_apart_on_both_sides(number: int, at: Any) -> None:
    side, crank = manta().sides[number], np.array([0.3, 1.7, 4.0])
    line = drawing(side, crank)[1, at]
    aside = np.cross(line, [0.0, 0.0, 1.0])
    aside /= np.linalg.norm(aside, axis=1)[:, None]
    force = line * np.array([200.0, -900.0, 30.0])[:, None] + 7 * aside
    world = force * np.array([1.0, side.side.sign, 1.0])
    found = extents(made_up("turn", side.side.name, "outer", at, world, crank), "slow", side)[1, at]
    assert found.pull == Load(pytest.approx(200.0), "slow", 0.3)
    assert found.push == Load(pytest.approx(900.0), "slow", 1.7)
    assert found.across.value == pytest.approx(7.0)
    assert found.along == found.push


def test_a_rod_in_balance_is_pulled_at_both_ends_alike() -> None:
    """The outer rod hangs between its eyes: what pulls at one pulls at the other, but for its own weight."""
    side, crank = manta().sides[0], np.linspace(0, 2 * np.pi, 24, endpoint=False)
    push = {"outer": (np.array([0.0, 0.0, 400.0]), np.array([0.0, 1.0, 0.9]))}
    held = statics(side, crank, 9.81, manta().mechanism.friction, push).forces
    lines = drawing(side, crank)
    at_crank = np.sum(held[names.crank_eye("left", "outer")] * lines[1, "crank"], axis=1)
    at_yoke = np.sum(held[names.yoke_eye("left", "outer")] * lines[1, "yoke"], axis=1)
    rod = manta().mechanism.sides[0].panels[1].rod
    weight = (math.pi / 4 * rod.diameter**2 * rod.length * rod.density + 2 * rod.end_mass) * 9.81
    assert np.max(np.abs(at_crank)) > 100
    assert at_crank == pytest.approx(at_yoke, abs=weight)
    # Lifted by its far edge the panel pulls its rod, and held down it pushes.
    assert np.all(at_crank > 0)


def test_a_broken_linkage_counts_the_largest_force_both_ways() -> None:
    side, crank = manta().sides[0], np.array([0.3, 1.7])
    run = made_up("broken", "left", "outer", "crank", np.array([[0.0, 0.0, 50.0], [30.0, 0.0, 0.0]]), crank)
    found = extents(run, "broken", side)[1, "crank"]
    assert (found.pull.value, found.push.value) == (50.0, 50.0)
