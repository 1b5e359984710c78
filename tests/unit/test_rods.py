"""Rods: struts in closed form, threads and cut lengths, and the bars that are chosen."""

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from parts_basis import demo
from rod_eyes import eye, settled, size

from analysis.parts import rods
from analysis.parts.choice import line
from analysis.parts.rod_ends import Asked
from analysis.parts.rod_fitting import fitting
from analysis.parts.rod_loads import Extent, Eye, Load
from analysis.parts.rods import Bar, Wanted, checks
from analysis.strength.columns import round_strut
from models.rod_making import RodMaking
from models.stock import shaft_stock

STEEL = 200e9
BARS = [Bar(s.label, "metric", s.diameter, s.source) for s in shaft_stock("metric")]


def test_eulers_load_in_closed_form() -> None:
    strut = round_strut(0.6, 0.012, STEEL)
    assert strut.euler == pytest.approx(math.pi**3 * STEEL * 0.012**4 / (64 * 0.36), rel=1e-12)
    assert round_strut(1.2, 0.012, STEEL).euler == pytest.approx(strut.euler / 4)


def test_a_short_strut_is_bent_by_the_moment_alone() -> None:
    strut = round_strut(1e-4, 0.02, STEEL)
    area, section = math.pi * 1e-4, math.pi * 0.02**3 / 32
    assert strut.stress(5e3, 0.003) == pytest.approx(5e3 / area + 15 / section, rel=1e-6)


def test_a_push_in_the_middle_goes_to_eulers_or_to_crushing() -> None:
    slender, stout = round_strut(2.0, 0.01, STEEL), round_strut(0.05, 0.01, STEEL)
    assert slender.load(1e-12, 250e6) == pytest.approx(slender.euler, rel=1e-6)
    assert stout.load(0.0, 250e6) == pytest.approx(250e6 * stout.area, rel=1e-9)


@pytest.mark.parametrize("off", [1e-4, 1e-3, 1e-2])
def test_the_load_of_a_strut_is_where_its_stress_is_the_strength(off: float) -> None:
    strut = round_strut(0.6, 0.012, STEEL)
    found = strut.load(off, 207e6)
    assert strut.stress(found, off) == pytest.approx(207e6, rel=1e-6)
    assert found < min(strut.euler, 207e6 * strut.area)
    assert strut.stress(strut.euler, off) == math.inf
    assert strut.load(2 * off, 207e6) < found


def test_the_bend_of_a_strut_against_its_differential_equation() -> None:
    """EI y'' + P (y + e) = 0 between pins, by finite differences."""
    length, off, push = 0.6, 0.002, 2000.0
    strut = round_strut(length, 0.012, STEEL)
    n = 2000
    h = length / n
    main = np.full(n - 1, -2 * STEEL * strut.inertia / h**2 + push)
    beside = np.full(n - 2, STEEL * strut.inertia / h**2)
    y = np.linalg.solve(np.diag(main) + np.diag(beside, 1) + np.diag(beside, -1), np.full(n - 1, -push * off))
    by_hand = push / strut.area + push * (y.max() + off) * strut.edge / strut.inertia
    assert strut.stress(push, off) == pytest.approx(by_hand, rel=1e-5)


@pytest.mark.parametrize("push", [0.0, 1.0, 2000.0, 4000.0])
def test_a_load_across_a_strut_against_its_differential_equation(push: float) -> None:
    """EI y'' + P (y + e) + w x (L - x) / 2 = 0 between pins, by finite differences."""
    length, off, spread = 0.6, 0.002, 50.0
    strut = round_strut(length, 0.012, STEEL)
    n = 2000
    h = length / n
    x = np.linspace(0, length, n + 1)[1:-1]
    bent = spread / length * x * (length - x) / 2
    main = np.full(n - 1, -2 * STEEL * strut.inertia / h**2 + push)
    beside = np.full(n - 2, STEEL * strut.inertia / h**2)
    y = np.linalg.solve(np.diag(main) + np.diag(beside, 1) + np.diag(beside, -1), -push * off - bent)
    by_hand = push / strut.area + np.max(push * (y + off) + bent) * strut.edge / strut.inertia
    assert strut.stress(push, off, spread * length / 8) == pytest.approx(by_hand, rel=1e-5)


def test_a_load_across_a_strut_takes_of_what_it_stands() -> None:
    strut = round_strut(2.0, 0.016, STEEL)
    found = strut.load(0.001, 250e6, 8.0)
    assert strut.stress(found, 0.001, 8.0) == pytest.approx(250e6, rel=1e-6)
    assert found < strut.load(0.001, 250e6)
    # What bends it beyond its strength by itself leaves nothing for a push.
    assert strut.load(0.001, 250e6, 1e3) == pytest.approx(0, abs=1e-9)


# --- Cut and set ---


def test_a_tapped_rod_is_cut_so_that_its_eyes_come_out_right() -> None:
    """M12, 32 mm of thread and 54 mm to the eye; a nut of 6 mm; 18 mm at least, so 18 to 26 mm and 22 as cut."""
    found = fitting(size("12 mm"), RodMaking(engagement=1.5), 0.6)
    assert found is not None
    assert (found.least, found.most, found.engaged) == pytest.approx((0.018, 0.026, 0.022))
    assert found.bar == pytest.approx(0.6 - 2 * 0.032)
    assert found.bar + 2 * (0.054 - found.engaged) == pytest.approx(0.6)
    assert found.cut == pytest.approx(0.026 + 2 * 0.00175)
    # At its longest both ends hang by the least thread, at its shortest both nuts' threads are used up.
    longest = found.bar + 2 * (0.054 - found.least)
    shortest = found.bar + 2 * (0.054 - found.most)
    assert (longest - 0.6, 0.6 - shortest) == pytest.approx((found.each_way, found.each_way))
    assert found.per_turn == pytest.approx(0.0035)


def test_a_threaded_rod_goes_into_tapped_shanks() -> None:
    found = fitting(size("12 mm"), RodMaking(ends="threaded", engagement=1.5), 0.6)
    assert found is not None
    assert (found.least, found.most) == pytest.approx((0.018, 0.022))
    assert found.bar == pytest.approx(0.6 - 2 * (0.050 - 0.020))
    assert found.each_way == pytest.approx(0.004)
    none = fitting(replace(size("12 mm"), female_depth=None), RodMaking(ends="threaded"), 0.6)
    assert none is None


def test_more_thread_wanted_leaves_less_to_set() -> None:
    ways = [fitting(size("12 mm"), RodMaking(engagement=e), 0.6) for e in (1.0, 1.5, 2.0)]
    each = [f.each_way for f in ways if f is not None]
    assert each[0] > each[1] > each[2] > 0
    short = fitting(size("12 mm"), RodMaking(engagement=3.0), 0.6)
    assert short is not None
    assert not short.holds
    assert short.each_way == 0


# --- Bars ---


def wanted(push: float = 500.0, end: str | None = "12 mm", changes: Any = (), length: float = 0.38) -> Wanted:
    made = settled("moth", changes)
    load = Load(push, "gust", 1.0)
    ever = Extent(pull=Load(push / 2, "gust", 2.0), push=load)
    sitting: Eye = eye(changes={"ever": ever})
    rod = replace(sitting.panel.rod, length=length)
    sitting = replace(sitting, panel=replace(sitting.panel, rod=rod))
    return Wanted(
        sitting, replace(sitting, at="yoke"), Asked(sitting, made, "metric"), size(end) if end else None
    )


def judged(want: Wanted, bar: Bar) -> dict[str, Any]:
    return {c.what: c for c in checks(want, bar)}


def test_a_bar_is_judged_by_what_its_balls_rub() -> None:
    smooth = judged(wanted(changes=(("friction.rod_end", 0.0),)), BARS[5])
    rough = judged(wanted(), BARS[5])
    assert rough[rods.BUCKLING].allowed < smooth[rods.BUCKLING].allowed
    assert rough[rods.STRESS].demand > smooth[rods.STRESS].demand
    # mu r: .12, high 2 and static 1.2 on a ball of 22.225 mm.
    assert wanted().rubbing == pytest.approx(0.12 * 2 * 1.2 * 0.022225 / 2)
    assert rough[rods.EULER].demand == pytest.approx(1500.0)
    assert rough[rods.BUCKLING].demand == pytest.approx(750.0)


def test_thicker_bars_stand_more() -> None:
    want = wanted(end=None)
    for thin, thick in pairwise(BARS):
        few, many = judged(want, thin), judged(want, thick)
        assert set(few) == {rods.BUCKLING, rods.EULER, rods.STRESS}
        for what in few:
            assert many[what].margin > few[what].margin


@pytest.mark.parametrize(
    ("want", "reason"),
    [
        (wanted(10.0), rods.TAPPED),
        (wanted(10.0, changes=(("rods.ends", "threaded"),)), rods.THREADED),
        (wanted(6e3, None, (("friction.rod_end", 0.0), ("rods.eccentric", "10 mm"))), rods.BUCKLING),
        (wanted(2e3, None, (("friction.rod_end", 0.0), ("rods.eccentric", "0 mm")), 2.5), rods.EULER),
        (wanted(20e3, None, (("friction.rod_end", 0.0), ("rods.eccentric", "0 mm"), ("use.margin", 3.0)), 0.02),
         rods.STRESS),
    ],
)  # fmt: skip
def test_the_thinner_bar_fails_for_the_named_reason(want: Wanted, reason: str) -> None:
    found = line("rod", "here", BARS, lambda b: checks(want, b), system="metric")
    assert found.chosen is not None
    assert found.governs is not None
    if reason == rods.STRESS:
        # A stout bar in the middle yields by its push and by its stress alike.
        assert found.governs.what in (rods.BUCKLING, rods.STRESS)
    else:
        assert found.governs.what == reason


def test_a_rods_own_weight_and_inertia_bend_it() -> None:
    """20 N at either eye of a rod of 2 m: Q L / 8 is 10 N m at its middle."""
    light = wanted(length=2.0)
    across = Load(20.0, "let-go", 1.0)
    heavy = replace(light, crank=replace(light.crank, ever=replace(light.crank.ever, across=across)),
                    yoke=replace(light.yoke, ever=replace(light.yoke.ever, across=across)))  # fmt: skip
    assert heavy.across == pytest.approx(10.0)
    few, many = judged(light, BARS[5])[rods.BUCKLING], judged(heavy, BARS[5])[rods.BUCKLING]
    assert many.allowed < few.allowed
    assert many.demand == few.demand


def test_a_hole_for_the_thread_weakens_the_end() -> None:
    assert (
        judged(wanted(), BARS[5])[rods.STRESS].demand > judged(wanted(end=None), BARS[5])[rods.STRESS].demand
    )
    # No bar is left around a hole as thick as itself: then there is nothing to stress.
    assert rods.STRESS not in judged(wanted(), BARS[1])
    assert not judged(wanted(), BARS[1])[rods.TAPPED].holds


@pytest.mark.slow
def test_the_demos_rods() -> None:
    basis = demo()
    found = rods.lines(basis)
    assert [(x.where, x.system, x.count) for x in found] == [
        (f"{p} rod", s, 2) for p in ("inner", "outer") for s in ("metric", "inch")
    ]
    assert [x.chosen.size if x.chosen else None for x in found] == ["12 mm", "1/2 in", "12 mm", "1/2 in"]
    own = found[0].described
    assert own is not None
    assert own.holds
    assert found[1].described is None
    push = {c.what: c for c in own.checks}[rods.BUCKLING]
    assert push.case == "gust-locked"
    assert push.demand == pytest.approx(1.5 * 791.7, rel=1e-3)
    metric, inch = rods.tables(basis)
    heading = metric.rows[0]
    row = dict(zip(heading, metric.rows[1], strict=True))
    assert row["cut bar to"].startswith("540 mm")
    assert row["for one turn of the rod"].startswith("3.5 mm")
    assert inch.rows[1][4] == "1/2-20 UNF"
    assert "mark the rod" in metric.note


def test_a_bar_much_heavier_than_that_of_the_loads_is_told() -> None:
    """The moth's rods were reckoned with 12 mm; around an M30 it takes 45 mm, 14 times as heavy."""
    metric, inch = rods.lines(demo("moth"))
    assert metric.chosen is not None
    assert metric.chosen.size == "45 mm"
    assert metric.notes[0].startswith(
        "all loads were found with rods of 12 mm (0.472 in); this bar is 14 times"
    )
    # Without a rod end there is no bar to tell of.
    assert inch.chosen is inch.nearest is None
    assert not any("times as heavy" in n for x in rods.lines(demo()) for n in x.notes)
