"""Hinge lines: where their groups are, what each carries, and what is chosen for them."""

from pathlib import Path

import numpy as np
import pytest
from parts_basis import demo
from parts_changed import judged

from analysis.parts import hinges
from analysis.parts.hinge_lines import hinge_edge, hinge_lines, in_use, of_run, shared
from analysis.parts.hinges import GREASED, lines, pin_load, tables, wear_depth
from analysis.parts.worst import met
from models.loading import load
from models.mechanism import Mechanism
from models.resolve import mechanism

MODELS = Path(__file__).parents[2] / "models"


def settled(name: str = "manta", **changes: object) -> Mechanism:
    return mechanism(load(MODELS / f"{name}.toml", {k.replace("__", "."): v for k, v in changes.items()}))


def test_two_groups_balance_force_and_moment() -> None:
    rng = np.random.default_rng(7)
    places = (-0.2, 0.35)
    first, second = rng.normal(size=(2, 50, 3)) * 100
    first[:, 0] = second[:, 0] = 0.0
    along = rng.normal(size=50)
    force = first + second
    force[:, 0] = along
    levers = [np.tile([x, 0.0, 0.0], (50, 1)) for x in places]
    moment = np.cross(levers[0], first) + np.cross(levers[1], second)
    found = shared(force, moment, places)
    sizes = np.stack([np.linalg.norm(r[:, 1:], axis=1) for r in (first, second)], axis=-1)
    assert found.radial == pytest.approx(sizes)
    assert found.thrust == pytest.approx(np.abs(along))
    assert found.worst == pytest.approx(sizes.max(axis=1))


def test_a_force_in_the_middle_is_shared_evenly_and_a_moment_adds_over_the_span() -> None:
    force, none = np.array([[0.0, 0.0, 800.0]]), np.zeros((1, 3))
    assert shared(force, none, (-0.3, 0.3)).radial == pytest.approx(np.array([[400.0, 400.0]]))
    # 120 N m about up and down the line's left: 200 N more over .6 m, square to the first.
    turned = np.array([[0.0, 120.0, 0.0]])
    assert sorted(shared(force, turned, (-0.3, 0.3)).radial[0]) == pytest.approx([200.0, 600.0])


def test_the_edge_is_what_both_panels_have() -> None:
    m = settled()
    inner, outer = m.sides[0].panels
    assert hinge_edge(inner, None) == pytest.approx((-0.38, 0.42))
    # Its own edge is 620 mm; the far edge of the panel before is the same.
    assert hinge_edge(outer, inner) == pytest.approx((-0.26, 0.36), abs=1e-5)
    moved = settled(panel__outer__hinge={"forward": "100 mm"})
    edge = hinge_edge(moved.sides[0].panels[1], moved.sides[0].panels[0])
    assert edge == pytest.approx((-0.26, 0.26), abs=1e-5)


def test_an_outline_off_the_line_has_no_edge_there() -> None:
    away = {"unit": "mm", "points": [[-200, 60], [200, 60], [100, 600], [-100, 600]]}
    m = settled("moth", panel__wing__outline=away)
    line = hinge_lines(m, m.sides[0])[0]
    assert line.edge is None
    assert line.places == pytest.approx((-0.16, 0.16))


def test_the_span_is_that_of_the_description_or_four_fifths_of_the_edge() -> None:
    m = settled()
    assert [x.span for x in hinge_lines(m, m.sides[0])] == pytest.approx([0.64, 0.496], abs=1e-5)
    given = settled(hinges__span="300 mm")
    assert [x.span for x in hinge_lines(given, given.sides[0])] == pytest.approx([0.3, 0.3])
    assert hinge_lines(given, given.sides[0])[0].places == pytest.approx((-0.13, 0.17))


def test_groups_that_overlap_or_reach_past_the_edge_are_findings() -> None:
    m = settled()
    assert all(c.holds for c in hinges.fits(m, hinge_lines(m, m.sides[0])[0]))
    many = settled(hinges__count=9)
    apart, edge = hinges.fits(many, hinge_lines(many, many.sides[0])[0])
    assert (apart.demand, apart.allowed) == pytest.approx((0.092, 0.08))
    assert not apart.holds
    assert edge.holds
    wide = settled(hinges__span="760 mm")
    apart, edge = hinges.fits(wide, hinge_lines(wide, wide.sides[0])[0])
    assert apart.holds
    assert not edge.holds
    assert (edge.demand, edge.allowed) == pytest.approx((0.852, 0.8), abs=1e-5)


def test_groups_without_room_need_a_change_whatever_their_pins() -> None:
    assert not [x for x in lines(demo("moth")) if x.family == hinges.GROUPS]
    found = [x for x in lines(judged("moth", {"hinges.knuckle": "200 mm"})) if x.family == hinges.GROUPS]
    assert [(x.where, x.count) for x in found] == [("wing hinge", 4)]
    assert len([f for f in found[0].findings if f.beyond]) == 2
    assert found[0].shown is found[0].described


def test_a_bolt_of_the_description_is_judged_in_its_own_system() -> None:
    for text, system in (("8 mm", "metric"), ("5/16 in", "inch")):
        found = [x for x in lines(judged("moth", {"hinges.bolt": text})) if x.family == hinges.BOLT]
        given = [x for x in found if x.described is not None]
        assert [x.system for x in given] == [system]
        assert not [f for f in given[0].findings if f.beyond]
    thin = [x for x in lines(judged("moth", {"hinges.bolt": "4 mm"})) if x.described is not None]
    assert [f.what.split(",")[0] for f in thin[0].findings if f.beyond]


def test_more_knuckles_share_the_force() -> None:
    three, five = (pin_load(settled(hinges__knuckles=n), 1000.0) for n in (3, 5))
    assert (three.plane, five.plane) == (500.0, 250.0)
    assert five.moment == pytest.approx(three.moment / 2)
    # b = a = 30 mm, c = 1 mm: F / 8 x 94 mm.
    assert three.moment == pytest.approx(1000 / 8 * 0.094)


def test_wear_goes_with_force_and_turning_and_not_with_the_pin() -> None:
    m = settled()
    assert wear_depth(m, 200.0, GREASED) == pytest.approx(2 * wear_depth(m, 100.0, GREASED))
    # K F s / (L d) for a 10 mm pin, 30 mm knuckle, 100 N through 1 rad.
    assert wear_depth(m, 100.0, 1e-15) == pytest.approx(1e-15 * 100 * 0.005 / (0.03 * 0.01))


def test_groups_of_the_demo_carry_what_its_joints_do() -> None:
    basis = demo()
    m = basis.mechanism
    inner = hinge_lines(m, m.sides[0])[0]
    run = next(g for g in basis.loads.campaign.groups if g.name == "gust-locked").runs[0]
    loads = of_run(run, inner)
    assert loads is not None
    across = np.linalg.norm(run["joints/left inner hinge/force"][:, 1:], axis=1)
    assert np.all(loads.radial.sum(axis=1) >= across - 1e-9)
    worst = met(basis.loads, lambda r: None if (x := of_run(r, inner)) is None else x.worst)
    assert worst is not None
    assert worst.case == "gust-locked"
    # Never more than half the worst force, the worst moment over the span and the edge's middle 20 mm off.
    force, moment = (basis.loads.met["left inner hinge", f"largest {w}"].value for w in ("force", "moment"))
    assert force / 4 < worst.value < force / 2 + (moment + force * 0.02) / inner.span


def test_steady_turning_in_closed_form_is_near_the_slow_turn() -> None:
    basis = demo()
    m = basis.mechanism
    line = hinge_lines(m, m.sides[0])[0]
    run = next(g for g in basis.loads.campaign.groups if g.name == "slow-turn").runs[0]
    slow = of_run(run, line)
    assert slow is not None
    steady = in_use(basis.linkage, {line.joint: line})[line.joint]
    assert float(steady.worst.max()) == pytest.approx(float(slow.worst.max()), rel=0.25)


def test_pins_and_bolts_of_the_demo() -> None:
    found = lines(demo())
    by = {(x.family, x.where, x.system): x for x in found}
    assert len(found) == len(by) == 2 * 2 * 2
    pin = by[hinges.PIN, "inner hinge", "metric"]
    assert pin.count == 4
    assert pin.chosen is not None
    assert pin.chosen.size == "10 mm"
    # The demo does not give it: nothing to judge.
    assert pin.described is None
    assert any("58 kN" in n and "upper bound" in n for n in pin.notes)
    bolt = by[hinges.BOLT, "outer hinge", "inch"]
    assert bolt.count == 2 * 4 * 2 * 2
    assert bolt.chosen is not None
    assert bolt.chosen.size == "1/4-20"


def test_a_pin_too_thin_for_the_moth_is_found_and_a_thick_one_is_not() -> None:
    thin = lines(judged("moth", {"hinges.pin": "10 mm"}))
    pins = [x for x in thin if x.family == hinges.PIN and x.described is not None]
    assert [x.system for x in pins] == ["metric"]
    beyond = [f for f in pins[0].findings if f.beyond]
    assert "bending of the pin to and fro, hinge pin 10 mm (0.394 in)" in [f.what for f in beyond]
    chosen = pins[0].chosen
    assert chosen is not None
    assert chosen.size == "16 mm"
    assert pins[0].nearest is not None
    assert not pins[0].nearest.holds


def test_wear_is_checked_where_a_bush_is_given_and_tabled_anyway() -> None:
    basis = judged("moth", {"hinges.pin": "10 mm"})
    table = next(t for t in tables(basis) if t.title.startswith("Wear"))
    assert len(table.rows) == 2
    assert table.rows[0][2:] == ("steel on steel, dry", "steel on steel, kept greased (assumption)",
                                 "lined or polymer bush (assumption)")  # fmt: skip
    assert not any("wear" in c.what for x in lines(basis) for s in (x.chosen,) if s for c in s.checks)
    worn = judged("moth", {"hinges.wear": "1e-3 mm3/(N m)"})
    pin = next(x for x in lines(worn) if x.family == hinges.PIN)
    assert pin.chosen is None
    assert pin.nearest is not None
    assert any(c.what.startswith("wear") and not c.holds for c in pin.nearest.checks)


def test_both_plates_of_a_hinge_bear_its_bolts() -> None:
    """Each group has a leaf on either panel: the thinner one tears first, whichever it is."""

    def borne(thickness: str) -> dict[str, float]:
        found = lines(judged("manta", {"panel.inner.thickness": thickness}))
        bolts = next(x for x in found if (x.family, x.where) == (hinges.BOLT, "outer hinge"))
        assert bolts.shown is not None
        return {c.what: c.allowed for c in bolts.shown.checks if "bearing" in c.what}

    thick, thin = borne("4 mm"), borne("1 mm")
    own, before = (
        "bolt on the panel, bearing or tearing out",
        "bolt on the panel before it, bearing or tearing out",
    )
    assert thick[before] == pytest.approx(thick[own] * 4 / 3)
    assert thin[own] == pytest.approx(thick[own])
    assert thin[before] == pytest.approx(thick[before] / 4)


def test_the_body_bears_the_bolts_of_the_inner_hinge() -> None:
    bolts = next(x for x in lines(demo()) if (x.family, x.where) == (hinges.BOLT, "inner hinge"))
    assert bolts.chosen is not None
    by = {c.what.split(",")[0]: c.allowed for c in bolts.chosen.checks}
    # 15 mm of the stock that the 4 mm panel is of.
    assert by["bolt on the body"] == pytest.approx(by["bolt on the panel"] * 15 / 4)
