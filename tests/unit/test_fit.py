"""From wanted motion to dimensions: answers move as wanted when written in, keep their limits, and are told honestly.

No published synthesis fits: charts and formulas for crank-rockers (Alt, Hall) have crank and rocker turn about parallel
axes, here they are crossed. Instead: triangles at both dead centres, the limit of long rods, and trials at random.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from saying import MANTA, MOTH

from analysis import motion
from analysis.fit_wishes import lag_behind
from models.loading import load
from models.mechanism import Panel, Side
from models.resolve import sides
from sim.arrays import Array
from sim.fit import fit
from sim.fit_family import distance, rounded, solutions
from sim.fit_panel import SAMPLES, Limits, Solution, Step, Task, Wish, solve
from sim.linkage import TURN, PanelCourse, SideLinkage, close
from sim.swivel import swivel

STEP = Step(5e-4, np.radians(0.5))
TENTH = np.radians(0.1)
CRANK = np.linspace(0, TURN, SAMPLES, endpoint=False)
WIDE = Limits(np.radians(35), np.radians(40), 0.02, (0.01, 0.4), (0.05, 1.5), (0.02, 0.6), (0.0, 0.2))


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def side_of(file: str) -> Side:
    return sides(load(file))[0]


def dimensions(p: Panel) -> Array:
    return np.array([p.throw_radius, p.throw_angle, p.rod.length, p.yoke_out, p.yoke_below])


def made(p: Panel, x: Array) -> Panel:
    radius, angle, rod, out, below = (float(v) for v in x)
    return replace(p, throw_radius=radius, throw_angle=angle, rod=replace(p.rod, length=rod), yoke_out=out,
                   yoke_below=below)  # fmt: skip


def innermost(side: Side, wish: Wish, bounds: Limits = WIDE) -> Task:
    p = side.panels[0]
    hinge = np.tile([p.hinge_forward, p.hinge_out, p.hinge_up], (SAMPLES, 1))
    return Task(p, side.crank, CRANK, hinge, None, wish, bounds)


def course(side: Side, s: Solution) -> PanelCourse:
    """Give an innermost panel's course over 1440 crank angles, apart from the search."""
    whole = replace(side, panels=(made(side.panels[0], s.x),))
    return SideLinkage(whole, (s.fold,)).course(motion.TURN)[0]


def span(c: PanelCourse) -> tuple[float, float]:
    return float(c.angle.value.min()), float(c.angle.value.max())


@pytest.mark.parametrize("seed", range(4))
def test_trials_are_what_closed_loops_say(seed: int) -> None:
    """Range, transmission and swivel of many trials at once against one linkage at a time at 20 times the angles."""
    side = side_of(MANTA)
    rng = np.random.default_rng(seed)
    x = dimensions(side.panels[0]) * rng.uniform(0.9, 1.1, (5, 5))
    tried = innermost(side, Wish(-0.3, 0.3, None)).trial(x, 1)
    for k in range(len(x)):
        c = course(side, Solution(x[k], 1, 0.0))
        assert (tried.low[k], tried.high[k]) == pytest.approx(span(c), abs=1e-5)
        assert tried.transmission[k] == pytest.approx(c.transmission.min(), abs=2e-4)
        assert tried.swivel[k] == pytest.approx(max(e.max() for e in swivel(c)), abs=2e-4)
        assert tried.reach[k] < 1


def test_solutions_stand_in_triangles_at_their_dead_centres() -> None:
    """With hinge and yoke pin straight above the shaft the panel turns back where its throw stands up and down.

    There shaft, throw, rod and yoke arm lie in one plane, and the cosine law gives the panel's angle by hand.
    """
    side = side_of(MOTH)
    wish = Wish(np.radians(-22), np.radians(31), None)
    p = side.panels[0]
    found = solutions(innermost(side, wish))
    assert len(found) > 3
    for s in found:
        radius, _, rod, out, below = s.x
        arm, seen = np.hypot(out, below), []
        for up in (radius, -radius):
            to_pin = np.array([p.throw_out - p.hinge_out, up - p.hinge_up])
            far = np.linalg.norm(to_pin)
            corner = np.arccos((arm**2 + far**2 - rod**2) / (2 * arm * far))
            toward = np.arctan2(to_pin[1], to_pin[0])
            seen.append(toward + s.fold * corner + np.arctan2(below, out))
        assert (min(seen), max(seen)) == pytest.approx((wish.low, wish.high), abs=np.radians(0.03))


def test_long_rods_swing_by_the_sine() -> None:
    """A rod far longer than its throw lifts the yoke pin by the throw either way: r = arm sin(half the range)."""
    side = side_of(MOTH)
    high = replace(side, panels=(replace(side.panels[0], hinge_up=200.0),))
    bounds = replace(WIDE, rod=(150.0, 250.0), below=(0.0, 1e-6), aside=1.0)
    task = innermost(high, Wish(np.radians(-25), np.radians(25), None), bounds)
    s = solve(task, np.array([0.05, 0.0, 200.0, 0.15, 0.0]), 1)
    assert s.reached
    assert s.x[0] == pytest.approx(s.x[3] * np.sin(np.radians(25)), rel=1e-3)


@pytest.mark.parametrize("seed", range(6))
def test_any_motion_that_there_is_is_found_again(seed: int) -> None:
    """Dimensions at random give a range; the search finds others of it that keep limits just wider than theirs."""
    side = side_of(MOTH)
    rng = np.random.default_rng(seed)
    while True:
        out = rng.uniform(0.1, 0.3)
        x = np.array(
            [out * rng.uniform(0.2, 0.5), 0.0, 0.38 * rng.uniform(0.9, 1.1), out, rng.uniform(0, 0.08)]
        )
        t = innermost(side, Wish(0.0, 0.1, None)).trial(x[None], 1)
        if t.reach[0] < 0.97 and t.transmission[0] > WIDE.transmission and t.aside[0] < 0.012:
            break
    wish = Wish(*span(course(side, Solution(x, 1, 0.0))), None)
    bounds = replace(
        WIDE, transmission=float(t.transmission[0]) - 0.02, swivel=float(t.swivel[0]) + 0.02, aside=0.013
    )
    task = innermost(side, wish, bounds)
    found = solutions(task)
    whole = [w for w in (rounded(task, s, STEP) for s in found) if w is not None]
    assert len(whole) >= 3
    for s in whole:
        assert s.reached
        c = course(side, s)
        assert span(c) == pytest.approx((wish.low, wish.high), abs=TENTH)
        assert c.transmission.min() >= bounds.transmission
        assert max(e.max() for e in swivel(c)) <= bounds.swivel
        low, high = task.bounds
        assert np.all((s.x >= low) & (s.x <= high))
        steps = s.x[[0, 2, 3, 4]] / STEP.length
        np.testing.assert_allclose(steps, np.round(steps), atol=1e-6)


@pytest.mark.parametrize("seed", range(2))
def test_a_lag_is_found_again_on_a_moving_hinge(seed: int) -> None:
    side = side_of(MANTA)
    rng = np.random.default_rng(seed)
    inner, outer = side.panels
    x = dimensions(outer) * rng.uniform(0.95, 1.05, 5)
    x[1] += rng.uniform(-0.3, 0.3)
    moved = replace(side, panels=(inner, made(outer, x)))
    first, second = close(moved).course(motion.TURN)
    wanted = [
        Wish(*span(first), None),
        Wish(*span(second), lag_behind(second.angle.value, first.angle.value)),
    ]
    bounds = [replace(WIDE, transmission=np.radians(20), rod=(0.4, 0.9))] * 2
    found = [f for f in fit(side, wanted, bounds, STEP) if f.reached]
    assert len(found) >= 4
    off: list[float] = []
    for f in found:
        courses = close(f.side).course(motion.TURN)
        lag = lag_behind(courses[1].angle.value, courses[0].angle.value)
        ends = [
            a - b
            for c, w in zip(courses, wanted, strict=True)
            for a, b in zip(span(c), (w.low, w.high), strict=True)
        ]
        off.append(float(np.abs([*ends, lag - wanted[1].lag]).max()))
    # Steps of .5 mm and .5 deg leave few neighbours to choose among where a solution lies at several limits.
    assert max(off) < 1.5 * TENTH
    assert np.quantile(off, 0.8) < TENTH


def test_nothing_at_random_comes_nearer_than_the_nearest() -> None:
    """A throw of at most 50 mm for 130 deg, within the moth's limits: nothing does, and 40,000 trials agree."""
    side = side_of(MOTH)
    bounds = replace(WIDE, throw=(0.01, 0.05), swivel=np.radians(20), aside=0.0085)
    task = innermost(side, Wish(np.radians(-60), np.radians(70), None), bounds)
    (nearest,) = solutions(task)
    assert not nearest.reached
    assert "longest throw" in task.binding(nearest)
    at = np.linalg.norm(task.off(task.trial(nearest.x[None], nearest.fold))[0])
    low, high = (np.where(np.isfinite(b), b, 0.0) for b in task.bounds)
    rng = np.random.default_rng(1)
    best, count = np.inf, 0
    for fold in (1, -1):
        x = np.zeros((20000, 5))
        x[:, [0, 3, 4]] = (low + rng.random((20000, 5)) * (high - low))[:, [0, 3, 4]]
        x[:, 2] = rng.uniform(0.25, 0.6, len(x))
        t = task.trial(x, fold)
        within = np.all(task.beyond(t) == 0, -1)
        count += int(within.sum())
        best = min(best, np.linalg.norm(task.off(t)[within], axis=-1).min(initial=np.inf))
    assert count > 100
    assert best > at


def test_distance_is_of_the_dimension_that_differs_most() -> None:
    one = Solution(np.array([0.08, 0.0, 0.6, 0.3, 0.0]), 1, 0.0)
    for x, apart in (
        ([0.1, 0.0, 0.6, 0.3, 0.0], 0.2),
        ([0.08, 0.0, 0.75, 0.3, 0.0], 0.2),
        ([0.08, 0.0, 0.6, 0.3, 0.04], 0.04 / np.hypot(0.3, 0.04)),
        ([0.08, np.radians(345), 0.6, 0.3, 0.0], 0.1),
    ):
        assert distance(one, Solution(np.array(x), 1, 0.0)) == pytest.approx(apart)
