"""Lines of the schedule for bushes, rolling bearings and bars, of the examples."""

from dataclasses import replace

import numpy as np
import pytest
from parts_basis import demo

from analysis import shaft_stock
from analysis.bearing_loads import LARGEST
from analysis.coupling_verdicts import joinings
from analysis.envelope import envelope
from analysis.loads import Loads
from analysis.parts import bushes, rolling, shafts
from analysis.parts.choice import Line
from analysis.parts.driving import carried
from analysis.parts.journals import journals
from analysis.strength.stock import Choice
from models.stock import System
from sim import names
from sim.builders import Linkage

pytestmark = pytest.mark.slow


def _chosen_is_the_smallest(line: Line) -> None:
    if line.chosen is not None:
        assert all(c.holds for c in line.chosen.checks)
        assert line.nearest is None or not line.nearest.holds
    elif line.nearest is not None:
        assert not line.nearest.holds
    for sizing in (line.chosen, line.nearest, line.described):
        for c in sizing.checks if sizing else ():
            assert c.case
            assert c.source
            assert np.isfinite(c.demand)


def test_lines_hold_what_they_say() -> None:
    for basis in (demo(), demo("moth")):
        found = (*bushes.lines(basis), *rolling.lines(basis))
        for x in found:
            _chosen_is_the_smallest(x)
        assert len({(x.family, x.where, x.system) for x in found}) == len(found)


def test_a_shaft_bears_on_its_bearings_as_the_runs_say() -> None:
    basis = demo()
    checked = 0
    for group in basis.loads.campaign.groups:
        for run in group.runs[:2]:
            for k in range(3):
                held = carried(basis.mechanism, run, k)
                for which in (0, 1):
                    channel = f"joints/{names.shaft_bearing(k, 2, which)}/force"
                    if held is None or channel not in run.channels:
                        continue
                    # The push of the hand comes on top, by its lever.
                    off = np.linalg.norm(held.bearing(which) - run[channel], axis=1)
                    share = abs(shafts_lever(held.shaft.bearings, held.hub, which))
                    assert off == pytest.approx(share * held.push, abs=1e-9)
                    checked += 1
    assert checked > 20


def shafts_lever(bearings: tuple[float, float], at: float, which: int) -> float:
    """Share of a force at a place that a bearing takes, from moments about the other."""
    here, other = bearings[which], bearings[1 - which]
    return (at - other) / (here - other)


def test_crankshaft_bearings_of_mirrored_sides_are_one_line_with_the_worse_load() -> None:
    basis = demo()
    found = {j.where: j for j in journals(basis)}
    assert set(found) == {"locating bearing", "radial bearing"}
    for where, j in found.items():
        worst = max(basis.loads.met[f"{side} {where}", LARGEST].value for side in ("left", "right"))
        assert (j.count, j.met.value) == (2, worst)
        assert j.bound is not None
        assert j.bound.value > j.met.value
        assert j.slope is not None
    # The radial bearing lets the shaft move: it takes no thrust.
    assert found["radial bearing"].thrust == 0 < found["locating bearing"].thrust


def test_a_wheel_on_the_crankshafts_hands_them_the_push_of_hand_and_lock_and_a_clamp_its_force() -> None:
    basis = demo("moth")
    m = basis.mechanism
    # The wheel sits midway between both locating bearings: half each.
    shares = {"locating bearing": 0.5, "radial bearing": 0.0}
    clamp = {j: f for x in joinings(basis.linkage) for j, f in x.on_bearings.items()}
    locked, means = 0.0, list[float]()
    for group in basis.loads.campaign.groups:
        for run in group.runs:
            body = np.linalg.norm(run[f"joints/{names.WHEEL_BEARINGS}/force"], axis=1) if (
                f"joints/{names.WHEEL_BEARINGS}/force" in run.channels) else None  # fmt: skip
            if group.name == "hanging-locked" and body is not None:
                # A pin in the wheel at .8 of its radius.
                locked = max(locked, float(np.max(body + np.abs(run["torques/hand/torque"]) / (0.8 * 0.22))))
            if group.case.kind in ("turn", "crank") and body is not None:
                means.append(float(np.max(body + np.abs(run["torques/hand/torque"]) / 0.22)))
    assert m.lock is None
    assert locked > 3000
    for j in journals(basis):
        joints = [f"{s.name} {j.where}" for s in m.sides]
        own = max(basis.loads.met[joint, LARGEST].value for joint in joints)
        forced = max(clamp[joint] for joint in joints)
        assert forced > 0
        assert j.clamp == forced
        assert j.met.value == pytest.approx(own + shares[j.where] * locked + forced)
        # Wear goes by the mean over a turn, not by the kick after letting go.
        assert j.wheel <= shares[j.where] * max(means) + 1e-9
        assert (j.wheel > 0) == (shares[j.where] > 0)


def test_the_blocked_bound_is_told_and_does_not_choose_a_bush() -> None:
    basis = demo()
    for x in bushes.lines(basis):
        assert any("upper bound" in n for n in x.notes)
        for sizing in (x.nearest, x.described):
            assert all(c.case != "blocked" for c in (sizing.checks if sizing else ()))


def test_the_described_shaft_leans_too_much_for_a_bush_and_what_takes_it_is_told() -> None:
    basis = demo()
    described = [x for x in bushes.lines(basis) if x.described is not None]
    # The description names neither system nor kind: one line for each bearing.
    assert [(x.where, x.system) for x in described] == [("locating bearing", "inch"),
                                                        ("radial bearing", "inch")]  # fmt: skip
    for x in described:
        assert x.described is not None
        assert [c.what for c in x.described.checks if not c.holds] == ["slope of the shaft in it"]
        slope = next(f for f in x.findings if "slope" in f.what)
        assert slope.beyond
    instead = [x for x in rolling.lines(basis) if "in place of the plain bush" in x.where]
    assert len(instead) == 2
    assert all(x.chosen is not None for x in instead)


def test_drive_shafts_count_the_blocked_bound() -> None:
    basis = demo()
    found = [x for x in shafts.lines(basis) if x.family == "shaft"]
    assert [(x.where, x.system) for x in found] == [
        (n, s) for n in ("wheel shaft", "stage 1 shaft", "centre shaft") for s in ("metric", "inch")
    ]
    for x in found:
        _chosen_is_the_smallest(x)
        assert x.chosen is not None
        blocked = next(c for c in x.chosen.checks if c.case == "blocked")
        assert blocked.what == "stress with a panel blocked"
    described = [x.described for x in found if x.described is not None]
    assert len(described) == 3
    # The centre shaft passes what one coupling's bound says, at its hub by torsion alone and more.
    torque = basis.loads.bound["left coupling", "peak torque"].value
    least = shafts.peak_stress(np.sqrt(3) * torque, basis.mechanism.stages[-1].shaft.diameter)
    assert next(c for c in described[2].checks if c.case == "blocked").demand > least


def test_crankshaft_bars_come_from_the_analysis_of_shafts() -> None:
    basis = demo()
    found = {(x.where, x.system): x for x in shafts.lines(basis) if x.family.startswith("crankshaft")}
    for system in ("metric", "inch"):
        stock = next(f for f in basis.shafts.stock if system in f.where and "for the shaft" in f.what)
        chosen = found["shafts", system].chosen
        assert chosen is not None
        assert stock.note.startswith(f"{chosen.size} with pins")
    pins = found["pins", "metric"].described
    assert pins is not None
    # What the description's pins lack is told there as it is in the findings of their strength.
    fatigue = next(f for f in basis.shafts.strength if "fatigue" in f.what)
    asked = next(c for c in pins.checks if c.what == "fatigue of the pins, share used")
    assert 1 / asked.demand == pytest.approx(fatigue.value / basis.mechanism.use.margin, rel=0.01)
    webs = found["webs", ""]
    assert (webs.count, webs.described is not None) == (8, True)


def test_where_no_bar_will_do_the_thickest_that_was_tried_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    basis = demo()
    lost = Choice(None, {"fatigue of the pins": -0.2}, "fatigue of the pins", None, {})

    def none(closed: Linkage, system: System) -> shaft_stock.Bars:
        del closed
        return shaft_stock.Bars(system, "", lost, lost, None, lost, lost.governs)

    monkeypatch.setattr(shaft_stock, "thinnest", none)
    found = {(x.where, x.system): x for x in shafts.lines(basis) if x.family == "crankshaft bar"}
    # Webs 50 mm wide leave room for a weld round 45 mm and 1 3/4 in; four throws have four pins.
    for system, label in (("metric", "45 mm"), ("inch", "1 3/4 in")):
        for part, count in (("shafts", 2), ("pins", 4)):
            x = found[part, system]
            assert x.nearest is not None
            assert (x.count, x.nearest.size, x.nearest.holds) == (count, label, False)


def test_with_blocked_panels_alone_the_drives_bearings_are_not_chosen() -> None:
    basis = demo()
    blocked = [g for g in basis.loads.campaign.groups if g.case.kind == "blocked"]
    campaign = replace(basis.loads.campaign, groups=tuple(blocked))
    over = envelope((g.name, g.runs) for g in blocked)
    alone = replace(basis, loads=Loads(basis.linkage, campaign, over))
    found = [x for x in rolling.lines(alone) if "shaft bearings" in x.where]
    assert [(x.count, x.shown) for x in found] == [(2, None)] * 3
    assert all("not chosen" in x.notes[0] for x in found)
    bars = [x for x in shafts.lines(alone) if x.family == "shaft"]
    assert len(bars) == 6
    assert all("fatigue is not judged" in x.notes[0] for x in bars)


def test_the_edge_of_a_bush_carries_by_all_of_the_shafts_slope() -> None:
    basis = demo()
    x = next(x for x in bushes.lines(basis) if x.described is not None)
    assert x.described is not None
    j = next(j for j in journals(basis) if x.where.startswith(j.where))
    assert j.slope is not None
    edge = next(c for c in x.described.checks if c.what == "pressure at its edge turning")
    # sqrt(2 F k slope / d), worked out by hand: a wedge of pressure k slope a, a long, whose sum is F.
    wedge = np.sqrt(2 * j.used.value * 1e13 * j.slope.value / 0.0254)
    assert edge.demand == pytest.approx(wedge)


def test_a_wheel_on_the_crankshafts_kicks_their_inner_bearings_in_use() -> None:
    basis = demo("moth")
    found = {j.where: j for j in journals(basis)}
    kick = basis.loads.used[names.WHEEL_BEARINGS, LARGEST].value
    # It sits midway between the two inner ones: half each, and none on the outer ones.
    inner = found["locating bearing"]
    assert found["radial bearing"].wheel == 0
    own = max(basis.loads.used[f"{s} locating bearing", LARGEST].value for s in ("left", "right"))
    assert inner.used.value == pytest.approx(own + kick / 2 + inner.clamp)
    assert all(x.family != "shaft" for x in shafts.lines(basis))


def test_tables_tell_lives_and_strength() -> None:
    basis = demo()
    wear = bushes.tables(basis)[0]
    assert len(wear.rows) == 5
    assert all(len(r) == len(wear.rows[0]) for r in wear.rows)
    assert [r[-1] for r in wear.rows[1:] if r[1] == "oil-filled"] == ["not known"] * 2
    lives = rolling.tables(basis)[0]
    assert len(lives.rows) - 1 == sum(x.chosen is not None for x in rolling.lines(basis))
    strength = shafts.tables(basis)[0]
    assert len(strength.rows) - 1 == len(basis.shafts.strength)
