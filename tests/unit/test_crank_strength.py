"""Strength of the built-up crankshaft: stresses by hand, both sides alike, and what a run and its description say."""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis import shaft_strength
from analysis.shaft_cuts import cuts
from analysis.shaft_limits import deflection_limit, grounds, notch, slope_limit, span
from analysis.shaft_stations import KEY, Stressed, stations
from analysis.shaft_strength import CASE, FATIGUE, WELD, YIELD, last_turn
from analysis.strength.endurance import endurance
from analysis.strength.section import Web
from analysis.strength.weld_curves import curves
from models.bearing_kinds import bearing_kinds
from models.loading import load
from models.mechanism import Mechanism, Station
from models.resolve import mechanism
from models.strengths import strength
from sim.builders import linkage
from sim.scenarios import LetGo, Turn
from sim.shaft.loading import Loading, standing_still
from sim.simulate import simulate

MODELS = Path(__file__).parents[2] / "models"
TURN = np.linspace(0, 2 * np.pi, 360, endpoint=False)
ALL = slice(None)
D, PIN = 0.0254, 0.012
"""Diameters of the moth's shaft and pin, m."""


def settled(name: str = "moth", **changes: Any) -> Mechanism:
    """Settle an example; `crank__pin` stands for `crank.pin`."""
    named = {field.replace("__", "."): value for field, value in changes.items()}
    return mechanism(load(MODELS / f"{name}.toml", named))


def pushed(made: Mechanism, force: tuple[float, float, float], crank: np.ndarray) -> Loading:
    """Push the moth's left pin with a force that stays as it is, nothing else having weight."""
    n = len(crank)
    return Loading(made.sides[0], crank, {"wing": np.tile(force, (n, 1))}, np.zeros(n), np.zeros(n), 0.0)


def at(rows: tuple[Stressed, ...], label: str) -> Stressed:
    (found,) = (r for r in rows if r.label == label)
    return found


def bent(moment: float, d: float = D) -> float:
    return 32 * moment / (math.pi * d**3)


def twisted(torque: float, d: float = D) -> float:
    return 16 * torque / (math.pi * d**3)


def around(a: float, b: float) -> float:
    """Give how far two angles are apart, rad."""
    return abs((a - b + math.pi) % (2 * math.pi) - math.pi)


# --- Stresses by hand. The moth's left shaft runs in bearings at 150 and 330 mm, its throw of 75 mm stands at 240 mm
# --- with webs of 50 by 10 mm, whose outer faces are at 210 and 270 mm and inner ones at 220 and 260 mm.


def test_a_push_across_and_along_with_the_throw_up() -> None:
    """Bearing 2 carries (.09 x 100 + .075 x 20) / .18 = 58.3 N, the first 41.7 N and 20 N along the shaft."""
    rows = stations(pushed(settled(), (0.0, 20.0, -100.0), np.zeros(1)), settled(), None)
    inner, outer = (at(rows, f"shaft at the {w} web of panel 'wing'") for w in ("inner", "outer"))
    along = 4 * 20 / (math.pi * D**2)
    assert inner.out == pytest.approx(0.21)
    # It sags: the bottom is pulled, and pulled more as the push along pulls at all of it.
    assert inner.yielding.stress == pytest.approx(bent(125 / 3 * 0.06) + along, rel=1e-6)
    assert inner.yielding.angle == pytest.approx(math.pi)
    assert inner.normal == (0.0, pytest.approx(inner.yielding.stress))
    assert inner.yielding.factor == pytest.approx(250e6 / inner.yielding.stress)
    assert outer.yielding.stress == pytest.approx(bent(175 / 3 * 0.06), rel=1e-6)
    back = stations(pushed(settled(), (0.0, -20.0, -100.0), np.zeros(1)), settled(), None)
    pressed = at(back, "shaft at the inner web of panel 'wing'")
    assert pressed.yielding.stress == pytest.approx(bent(175 / 3 * 0.06) + along, rel=1e-6)
    assert pressed.yielding.angle == pytest.approx(0.0)


def test_a_push_down_with_the_throw_forward_twists_shaft_and_pin() -> None:
    """Each bearing carries 50 N, the coupling holds 7.5 N m; half of it passes through each half of the pin."""
    made = settled()
    rows = stations(pushed(made, (0.0, 0.0, -100.0), np.full(1, np.pi / 2)), made, None)
    inner = at(rows, "shaft at the inner web of panel 'wing'")
    assert inner.yielding.stress == pytest.approx(
        math.hypot(bent(3.0), math.sqrt(3) * twisted(7.5)), rel=1e-6
    )
    # What is below with the throw forward is a quarter turn before it, or opposite, where it is pressed as much.
    assert min(around(inner.yielding.angle, a) for a in (np.pi / 2, -np.pi / 2)) < 1e-9
    assert at(rows, "shaft, keyseat").yielding.stress == pytest.approx(math.sqrt(3) * twisted(7.5), rel=1e-6)
    assert abs(at(rows, "shaft at the outer web of panel 'wing'").shear[1]) < 1.0
    middle = at(rows, "pin of panel 'wing', middle")
    assert middle.yielding.stress == pytest.approx(
        math.hypot(bent(4.5, PIN), math.sqrt(3) * twisted(3.75, PIN)), rel=1e-6
    )
    assert abs(middle.shear[1]) == pytest.approx(twisted(3.75, PIN), rel=1e-6)


def test_a_web_bends_across_its_thickness_and_is_pressed() -> None:
    rows = stations(pushed(settled(), (0.0, 0.0, -100.0), np.zeros(1)), settled(), None)
    for which in ("inner", "outer"):
        for end in ("shaft", "pin"):
            web = at(rows, f"{which} web of panel 'wing' at the {end}")
            # 50 N at 65 mm from the middle of its thickness, and 50 N along it.
            assert web.yielding.stress == pytest.approx(
                6 * 50 * 0.065 / (0.05 * 0.01**2) + 50 / (0.05 * 0.01), rel=1e-6
            )


def test_a_web_pushed_in_its_plane_bends_by_the_height_of_the_cut_and_is_twisted() -> None:
    """Pushed forward with the throw up, the outer bearing's 50 N act 65 mm beside the outer web."""
    rows = stations(pushed(settled(), (100.0, 0.0, 0.0), np.zeros(1)), settled(), None)
    shear = 50 * 0.065 / Web(0.05, 0.01).torsion_modulus
    for end, height in (("shaft", D / 2), ("pin", 0.075 - PIN / 2)):
        web = at(rows, f"outer web of panel 'wing' at the {end}")
        bending = 6 * 50 * height / (0.01 * 0.05**2)
        assert web.yielding.stress == pytest.approx(math.hypot(bending, math.sqrt(3) * shear), rel=1e-6)
        assert abs(web.normal[1]) == pytest.approx(bending, rel=1e-6)


def test_fatigue_of_pin_and_keyseat_over_a_turn_by_hand() -> None:
    made = settled()
    rows = stations(pushed(made, (0.0, 0.0, -100.0), TURN), made, ALL)
    shaft, pin = (endurance(strength("A36 steel"), d, "cold drawn").limit for d in (D, PIN))
    assert pin > shaft
    seat, middle = at(rows, "shaft, keyseat").fatigue, at(rows, "pin of panel 'wing', middle").fatigue
    assert seat is not None
    assert middle is not None
    # The torque goes with the sine of the crank angle: 7.5 N m to and fro.
    raised = notch(made.sides[0]).torsion.value * twisted(7.5)
    assert raised > 2 * twisted(7.5)
    assert seat.factor == pytest.approx(shaft / (math.sqrt(3) * raised), rel=1e-6)
    assert middle.factor == pytest.approx(
        pin / math.hypot(bent(4.5, PIN), math.sqrt(3) * twisted(3.75, PIN)), rel=1e-6
    )
    assert at(rows, "shaft, bearing 1").fatigue is not None
    assert at(rows, "shaft at the inner web of panel 'wing'").fatigue is None
    none = replace(made.sides[0].crank, making=replace(made.sides[0].crank.making, keyseat="none"))
    bare = replace(made.sides[0], crank=none)
    assert "shaft, keyseat" not in [c.label for c in cuts(bare)]


def test_the_weld_between_shaft_and_web_by_hand() -> None:
    """A shaft that turns under 3 N m has a range of twice the stress; its torque one of 15 N m."""
    made = settled(use__hours=100, use__years=5, use__speed="60 rpm", crank__weld__toe="EN toe")
    rows = stations(pushed(made, (0.0, 0.0, -1000.0), TURN), made, ALL)
    found = at(rows, "shaft at the inner web of panel 'wing'").toe
    assert found is not None
    assert (found.normal, found.shear) == pytest.approx((2 * bent(30.0), 2 * twisted(75.0)), rel=1e-4)
    normal, shear = curves(found.weld, 1.35)
    damage = 100 * 3600 * (1 / normal.lives(found.normal) + 1 / shear.lives(found.shear))
    assert damage > 0
    assert found.years == pytest.approx(1 / damage)
    assert (found.turns, found.wanted) == (pytest.approx(360_000), 5)


def test_a_weld_whose_ranges_grow_by_its_reserve_lasts_just_as_long_as_wanted() -> None:
    made = settled()
    once = at(
        stations(pushed(made, (30.0, 0.0, -100.0), TURN), made, ALL), "pin of panel 'wing' at its inner web"
    ).toe
    assert once is not None
    f = once.reserve
    again = at(
        stations(pushed(made, (30.0 * f, 0.0, -100.0 * f), TURN), made, ALL),
        "pin of panel 'wing' at its inner web",
    ).toe
    assert again is not None
    assert again.reserve == pytest.approx(1.0, rel=1e-6)
    assert again.years == pytest.approx(made.use.years, rel=1e-3)


def test_the_root_is_judged_once_the_throat_is_known() -> None:
    made = settled(crank__weld__throat="4 mm")
    rows = stations(pushed(made, (0.0, 0.0, -100.0), TURN), made, ALL)
    shaft = at(rows, "shaft at the inner web of panel 'wing'")
    assert shaft.root is not None
    assert shaft.root.normal == pytest.approx(2 * 3.0 / (math.pi * D**2 * 0.004 / 4), rel=1e-4)
    assert shaft.root.weld.name == "IIW root"
    both = settled(crank__weld__throat="4 mm", crank__weld__faces=2)
    halved = at(stations(pushed(both, (0.0, 0.0, -100.0), TURN), both, ALL), shaft.label).root
    assert halved is not None
    assert halved.normal == pytest.approx(shaft.root.normal / 2)
    assert at(rows, "inner web of panel 'wing' at the shaft").root is None
    assert shaft.weld is min((shaft.toe, shaft.root), key=lambda w: w.reserve if w else np.inf)


def test_twice_the_load_leaves_half_the_factors() -> None:
    made = settled("moth")
    one, two = (stations(pushed(made, (40.0 * k, 10.0 * k, -100.0 * k), TURN), made, ALL) for k in (1, 2))
    for a, b in zip(one, two, strict=True):
        assert b.yielding.factor == pytest.approx(a.yielding.factor / 2)
        if a.fatigue is not None and b.fatigue is not None:
            assert b.fatigue.factor == pytest.approx(a.fatigue.factor / 2)
        if a.toe is not None and b.toe is not None:
            assert b.toe.reserve == pytest.approx(a.toe.reserve / 2, rel=1e-6)


# --- Sides, runs ---


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_both_sides_are_alike(name: str) -> None:
    closed = linkage(settled(name))
    found = shaft_strength.of_linkage(closed)
    assert [f.what for f in found] == 2 * [FATIGUE, YIELD, WELD]
    for left, right in zip(found[:3], found[3:], strict=True):
        assert right.value == pytest.approx(left.value, rel=1e-9)
        assert right.where == left.where.replace("left", "right")
        assert left.case == CASE
        assert left.limit is not None
    by_hand = [stations(standing_still(s, closed.mechanism), closed.mechanism, ALL) for s in closed.sides]
    for a, b in zip(*by_hand, strict=True):
        assert (a.label, a.out) == (b.label, b.out)
        assert (b.normal, b.shear) == (
            pytest.approx(a.normal, rel=1e-6, abs=1),
            pytest.approx(a.shear, abs=1),
        )


def test_a_slow_turn_says_what_standing_still_does(tmp_path: Path) -> None:
    moth = load(MODELS / "moth.toml")
    run = simulate(moth, Turn(0.5), method="reduced", runs=tmp_path, check=False)
    found = shaft_strength.findings(run)
    still = shaft_strength.of_linkage(linkage(mechanism(moth)))
    assert [(f.what, f.where) for f in found if f.what != WELD] == [
        (f.what, f.where) for f in still if f.what != WELD
    ]
    # Spinning at half a radian a second adds a thousandth of the weights.
    assert [f.value for f in found] == pytest.approx([f.value for f in still], rel=5e-3)
    assert all(f.time is not None for f in found if f.what == YIELD)


def test_what_happens_once_is_judged_for_yielding_alone(tmp_path: Path) -> None:
    run = simulate(load(MODELS / "moth.toml"), LetGo(4.0, 1.0), method="reduced", runs=tmp_path, check=False)
    assert {f.what for f in shaft_strength.findings(run)} == {YIELD}


def test_the_last_whole_turn() -> None:
    def turned(crank: np.ndarray) -> slice | None:
        return last_turn(replace(pushed(settled(), (0.0, 0.0, -1.0), crank)))

    step = np.radians(1)
    assert turned(np.arange(361) * step) == slice(1, None)
    assert turned(np.arange(360) * step) == slice(0, None)
    assert turned(np.arange(1000) * step) == slice(640, None)
    assert turned(-np.arange(1000) * step) == slice(640, None)
    assert turned(np.arange(350) * step) is None
    assert turned(np.zeros(2)) is None


# --- Cuts and limits ---


def test_every_throw_bearing_and_end_is_looked_at() -> None:
    side = settled("manta").sides[0]
    labels = [c.label for c in cuts(side)]
    assert len(set(labels)) == len(labels)
    for p in side.panels:
        assert sum(f"panel '{p.name}'" in label for label in labels) == 9
    for words in (
        "keyseat",
        "inner end",
        "bearing 1",
        "mid-span",
        "counterweight 1",
        "bearing 2",
        "outer end",
    ):
        assert f"shaft, {words}" in labels
    # A counterweight in a web's own thickness is looked at where its weld ends.
    inside = replace(side.crank, weights=(replace(side.crank.weights[0], out=0.8),))
    assert "shaft, counterweight 1" not in [c.label for c in cuts(replace(side, crank=inside))]


def test_a_keyseat_reaches_to_the_first_bearing_or_web() -> None:
    made = settled("moth", crank__bearings=["20 mm", "330 mm"], crank__ends=["0 mm", "340 mm"])
    near = next(c for c in cuts(made.sides[0]) if c.kind == "keyseat")
    assert near.out == pytest.approx(0.02)
    far = settled("moth", crank__bearings=["300 mm", "330 mm"], crank__ends=["100 mm", "340 mm"])
    webs = next(c for c in cuts(far.sides[0]) if c.kind == "keyseat")
    assert webs.out == pytest.approx(0.215)  # the middle of the inner web


def test_a_keyseat_whose_place_is_known_is_looked_at_there() -> None:
    made = settled("moth", keyways={"left": "70 deg", "right": "70 deg", "measured": "1 deg"})
    row = at(stations(pushed(made, (50.0, 5.0, -100.0), TURN), made, ALL), "shaft, keyseat")
    assert around(row.angle, np.radians(70)) <= KEY + np.radians(1) + 1e-9


def test_slopes_that_bearings_allow() -> None:
    side = settled().sides[0]
    loose = slope_limit(side, Station(0.2, "arm", None, clearance=1e-4, length=0.04))
    assert loose.value == pytest.approx(0.0025)
    assert "assumption" not in loose.source
    open_ = slope_limit(side, Station(0.2, "arm", None, length=0.0508))
    assert open_.value == pytest.approx(0.0005)
    assert "assumption" in open_.source
    ball = slope_limit(side, Station(0.2, "arm", None, kind="self-aligning ball"))
    assert ball.value == bearing_kinds()["self-aligning ball"].allowed


def test_deflection_goes_with_the_distance_of_the_bearings_around_it() -> None:
    made = settled("manta", crank__bearings=["250 mm", "590 mm", "930 mm"], use__deflection=0.001)
    side = made.sides[0]
    assert span(side, 0.6) == pytest.approx(0.34)
    assert span(settled("manta").sides[0], 2.0) == pytest.approx(0.68)
    assert deflection_limit(made, side, 0.4).value == pytest.approx(0.34e-3)


def test_grounds_name_every_factor_with_its_source() -> None:
    found = grounds(settled("manta", crank__weld__throat="5 mm"))
    assert all(g.source and math.isfinite(g.value) for g in found)
    pin = {g.name: g.value for g in found if g.of == "pin"}
    made = math.prod(v for n, v in pin.items() if not n.startswith("amplitude"))
    assert pin["amplitude that it stands without end"] == pytest.approx(made)
    assert {"weld's toe", "weld's root", "end-milled keyseat", "bearing 2"} <= {g.of for g in found}
